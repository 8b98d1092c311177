r"""A bush pressed into a bore, and the pin that runs in it: what to bore and turn before pressing.

Housing and bush are thick rings (Lamé), free to lengthen, elastic. With interface d, housing outside D, bush bore b
(all diameters), pressure p:

====================  ===============================================================
interference          δ = p d [((D² + d²)/(D² − d²) + ν_h)/E_h + ((d² + b²)/(d² − b²) − ν_b)/E_b]
bore closes in by     2 p b d² / (E_b (d² − b²))
outside grows by      2 p D d² / (E_h (D² − d²))
hoop in the housing   p (D² + d²)/(D² − d²), at its bore
hoop in the bush      −2 p d²/(d² − b²), at its bore
push                  friction × p × π d × length
====================  ===============================================================

Lamé's equations are in every book on the strength of materials; ``tests/test_bushes.py`` derives them anew by
sympy and by a boundary-value solver. Lengths mm, stresses MPa, forces N, temperatures °C.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.wear.fits import Fit, Span
from linkmotion.wear.materials import Material

Values = Any  # float, or an array of interferences
FRICTION = (0.08, 0.2)
"""Least and greatest coefficient of a bush pressed in, oiled to dry (from memory)."""
OSCILLATING_CLEARANCE = 0.0015
"""Running clearance over bore for oscillating bushes, as RBC Bearings prints it: a figure to compare with."""


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


def press(rings: Rings, interference: Values) -> Pressed:
    """Pressure, movements and stresses; no interference, no pressure.

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
    d, big, b, housing, bush = rings.seat, rings.outside, rings.bore, rings.housing, rings.bush
    around = (big**2 + d**2) / (big**2 - d**2)
    within = (d**2 + b**2) / (d**2 - b**2)
    pressure = tight / d / ((around + housing.poisson) / housing.young + (within - bush.poisson) / bush.young)
    at_bore = 2 * pressure * d**2 / (d**2 - b**2)
    return Pressed(
        interference=tight,
        pressure=pressure,
        closing=at_bore * b / bush.young,
        growth=2 * pressure * d**2 / (big**2 - d**2) * big / housing.young,
        housing_hoop=pressure * around,
        bush_hoop=-at_bore,
        housing_shear=pressure * (around + 1),
        bush_shear=at_bore,
    )


def push(rings: Rings, pressure: Values, friction: Values) -> Values:
    """Force at the end of the stroke, N: friction over the whole seat."""
    return friction * pressure * math.pi * rings.seat * rings.length


@dataclass(frozen=True)
class Assembly:
    """What is left of the interference when the bush is cold and the housing warm.

    Attributes
    ----------
    bush_at, housing_at : float
        Temperatures, °C.
    shrinks, grows : float
        Bush outside and housing bore, on the diameter, mm, both positive.
    left : Span
        Interference left, mm; negative: the bush drops in with that clearance.
    """

    bush_at: float
    housing_at: float
    shrinks: float
    grows: float
    left: Span


def assembly(rings: Rings, interference: Span, bush_at: float, housing_at: float) -> Assembly:
    """Interference left at the moment of assembly, parts at these temperatures."""
    shrinks = -rings.bush.strain(bush_at) * rings.seat
    grows = rings.housing.strain(housing_at) * rings.seat
    return Assembly(bush_at, housing_at, shrinks, grows, interference.plus(-shrinks - grows))


@dataclass(frozen=True, kw_only=True)
class BushPlan:
    """What to bore and turn, and what to expect.

    Attributes
    ----------
    outer, inner : Fit
        Bush in housing, as turned and bored; pin in bush, after pressing.
    pressed : Pressed
        At the least and the greatest interference.
    closing : Span
        Of the bush's bore, mm on the diameter.
    closing_rate : float
        mm of closing per mm of interference.
    bore_before : Span or None
        Bush bore before pressing, mm, that comes within the wanted limits whatever the interference within its
        own; None where the closing varies by more than those limits are wide.
    force : Span
        Least interference with least friction, greatest with greatest, N.
    friction : Span
    assemblies : tuple of Assembly
        Bush cold, housing warm, both, as asked for.
    """

    rings: Rings
    outer: Fit
    inner: Fit
    pressed: Pressed
    closing: Span
    closing_rate: float
    bore_before: Span | None
    force: Span
    friction: Span
    assemblies: tuple[Assembly, ...]

    def bore_for(self, interference: float) -> Span:
        """Bush bore before pressing, mm, for one interference that was measured on the two parts, mm."""
        return self.inner.hole.plus(self.closing_rate * max(interference, 0.0))

    @property
    def may_be_loose(self) -> bool:
        """Whether parts within their limits can meet without interference."""
        return self.outer.interference.least <= 0

    @property
    def overstressed(self) -> dict[str, float]:
        """Housing and bush where the greatest interference goes beyond elastic: stress over what it bears."""
        pressed, rings = self.pressed, self.rings
        shares = {
            "housing": float(pressed.housing_shear[1]) / rings.housing.yields,
            "bush": float(pressed.bush_shear[1]) / rings.bush.yields,
        }
        return {part: share for part, share in shares.items() if share > 1}

    @property
    def clearance_per_bore(self) -> Span:
        """Running clearance over the bush's bore."""
        return Span(*(clearance / self.rings.bore for clearance in self.inner.clearance))


def plan(
    rings: Rings, outer: Fit, inner: Fit, friction: Span, temperatures: tuple[tuple[float, float], ...] = ()
) -> BushPlan:
    """Plan a bush.

    The rings' stiffness is that of their nominal sizes: of sizes within limits the closing differs by less than
    0.001 mm (measured in the tests: 0.0006).

    Parameters
    ----------
    rings
        Nominal sizes; ``outer`` and ``inner`` hold their limits.
    temperatures
        Pairs of bush and housing temperature at assembly, °C.

    Raises
    ------
    BushError
        No interference at any limit, or a pin that would not always run.
    """
    if outer.interference.most <= 0:
        raise BushError(f"{outer.name} leaves no interference anywhere: the bush would be loose in its bore")
    if inner.clearance.least <= 0:
        raise BushError(f"{inner.name} can leave no clearance: the pin would not run")
    pressed = press(rings, np.array(outer.interference))
    rate = float(press(rings, 1.0).closing)
    closing = Span(*map(float, pressed.closing))
    before = Span(inner.hole.least + closing.most, inner.hole.most + closing.least)
    force = Span(*map(float, push(rings, pressed.pressure, np.array(friction))))
    return BushPlan(
        rings=rings,
        outer=outer,
        inner=inner,
        pressed=pressed,
        closing=closing,
        closing_rate=rate,
        bore_before=before if before.width > 0 else None,
        force=force,
        friction=friction,
        assemblies=tuple(assembly(rings, outer.interference, *pair) for pair in temperatures),
    )
