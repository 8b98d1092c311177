r"""Thick rings pressed together: a housing and the bush in it, by Lamé's equations.

The rings are elastic, their ends free to lengthen (plane stress). With interface d, interference δ, housing outside D,
bush bore b (all diameters), pressure p:

====================  ===============================================================
interference          δ = p d [((D² + d²)/(D² − d²) + ν_h)/E_h + ((d² + b²)/(d² − b²) − ν_b)/E_b]
bore closes in by     2 p b d² / (E_b (d² − b²))
outside grows by      2 p D d² / (E_h (D² − d²))
hoop in the housing   p (D² + d²)/(D² − d²), at its bore
hoop in the bush      −2 p d²/(d² − b²), at its bore
push                  friction × p × π d × length
====================  ===============================================================

Ends held from lengthening (plane strain) make each ring as stiff as one of E/(1 − ν²) and ν/(1 − ν): two steel parts
then press 9 or 10 per cent harder, bronze in steel 14 to 19. A bush has nothing to hold its ends but friction along the
seat, which needs the length ν d/(2 × friction) from each end to do so: 2 to 4 diameters in all. Usual bushes are
shorter, so free ends are right for them, within what :func:`friction_adds` tells.

Lamé's equations are in every book on the strength of materials; ``tests/test_bushes.py`` derives them anew by
sympy and by a boundary-value solver. Lengths mm, stresses MPa, forces N.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.wear.materials import Material

Values = Any  # float, or an array of interferences


class BushError(ValueError):
    """Rings that cannot be pressed together as asked."""


@dataclass(frozen=True, kw_only=True)
class Rings:
    """The housing and the bush in it.

    Attributes
    ----------
    seat, outside, bore, length : float
        Diameter of the bore in the housing; of the housing (of an eye or boss: the bore plus twice the least metal
        around it); of the bush's own bore; length pressed in; mm.
    """

    seat: float
    outside: float
    bore: float
    length: float
    housing: Material
    bush: Material

    def __post_init__(self) -> None:
        sizes = f"bush bore {self.bore:g}, seat {self.seat:g}, housing {self.outside:g} mm"
        if not 0 < self.bore < self.seat < self.outside < math.inf:
            raise BushError(f"{sizes}: each must be larger than the one before")
        if not 0 < self.length < math.inf:
            raise BushError(f"a bush {self.length:g} mm long cannot be pressed in")


@dataclass(frozen=True, kw_only=True)
class Pressed:
    """Rings pressed together, each figure for every interference given.

    Attributes
    ----------
    interference, closing, growth : array
        On the diameter: of the fit; of the bush's bore; of the housing's outside; mm.
    pressure : array
        Between the rings, MPa.
    housing_hoop, bush_hoop : array
        At the bores, MPa; tension +.
    housing_shear, bush_shear : array
        Twice the greatest shear stress there, MPa: to be held against the yield stress.
    """

    interference: Values
    pressure: Values
    closing: Values
    growth: Values
    housing_hoop: Values
    bush_hoop: Values
    housing_shear: Values
    bush_shear: Values


def press(rings: Rings, interference: Values, *, held: bool = False) -> Pressed:
    """Pressure, movements and stresses; no interference, no pressure.

    Parameters
    ----------
    rings
        Housing and bush.
    interference
        On the diameter, mm.
    held
        Both rings kept from lengthening (plane strain), instead of free to (plane stress).

    Examples
    --------
    >>> from linkmotion.wear.materials import material
    >>> rings = Rings(seat=40, outside=80, bore=30, length=45,
    ...               housing=material("mild steel"), bush=material("phosphor bronze"))
    >>> pressed = press(rings, 0.04)
    >>> round(float(pressed.pressure), 2), round(float(pressed.closing), 4)
    (24.44, 0.0325)
    """
    tight = np.maximum(interference, 0.0)
    d, big, b = rings.seat, rings.outside, rings.bore
    (housing, housing_poisson), (bush, bush_poisson) = (_in_plane(own, held) for own in (rings.housing, rings.bush))
    around = (big**2 + d**2) / (big**2 - d**2)
    within = (d**2 + b**2) / (d**2 - b**2)
    pressure = tight / d / ((around + housing_poisson) / housing + (within - bush_poisson) / bush)
    at_bore = 2 * pressure * d**2 / (d**2 - b**2)
    return Pressed(
        interference=tight,
        pressure=pressure,
        closing=at_bore * b / bush,
        growth=2 * pressure * d**2 / (big**2 - d**2) * big / housing,
        housing_hoop=pressure * around,
        bush_hoop=-at_bore,
        housing_shear=pressure * (around + 1),
        bush_shear=at_bore,
    )


def _in_plane(stuff: Material, held: bool) -> tuple[float, float]:
    """Young's modulus and Poisson's ratio that act across the ring."""
    if not held:
        return stuff.young, stuff.poisson
    return stuff.young / (1 - stuff.poisson**2), stuff.poisson / (1 - stuff.poisson)


def push(rings: Rings, pressure: Values, friction: Values) -> Values:
    """Force at the end of the stroke, N: ``friction × pressure × π d × length``, over the whole seat.

    Parameters
    ----------
    rings : Rings
        Of which seat and length are looked at.
    pressure : float or array
        Between the rings, MPa.
    friction : float or array
        Coefficient.
    """
    return friction * pressure * math.pi * rings.seat * rings.length


def held_adds(rings: Rings) -> float:
    """By what part pressure and stresses would be more if the ends were held from lengthening.

    Parameters
    ----------
    rings : Rings
        Whatever their interference.
    """
    return float(press(rings, 1.0, held=True).pressure / press(rings, 1.0).pressure - 1)


def friction_adds(rings: Rings, friction: float) -> float:
    """What friction along the seat can add to the pressure by holding the bush from lengthening, as a part of it.

    Held, the bush bears the end load ν p π d²/2 (d the seat), whatever its bore, and friction brings up μ p π d for
    each mm from an end: the length ν d/(2 μ) for all of it. Mean over the length.

    Parameters
    ----------
    rings : Rings
        Whatever their interference.
    friction : float
        Coefficient μ, above nothing.
    """
    reach = rings.bush.poisson * rings.seat / (2 * friction)
    share = rings.length / (4 * reach) if rings.length < 2 * reach else 1 - reach / rings.length
    return held_adds(rings) * share
