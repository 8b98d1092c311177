"""A bush pressed into a bore, and the pin that runs in it: what to bore and turn before pressing.

Lengths mm, stresses MPa, forces N, temperatures °C.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linkmotion.wear.fits import Fit, Span
from linkmotion.wear.rings import BushError, Pressed, Rings, press, push

FRICTION = (0.08, 0.2)
"""Least and greatest coefficient of a bush pressed in, oiled to dry (from memory)."""
MOTION_PRESSURE = 7.0
"""Greatest pressure on the bore of a motion pin, load over bore and length, MPa: 1000 psi (from memory)."""
FLATTENED = 0.8
"""Of the sum of both surfaces' roughness Rz, what is flattened in pressing, on the diameter (from memory, DIN 7190)."""
TURNED_FLATTENS = FLATTENED * 2 * 6.3e-3
"""What two turned seats of roughness Rz 6.3 µm (from memory) flatten by in pressing, mm on the diameter."""
OSCILLATING_CLEARANCE = 0.0015
"""Running clearance over bore for oscillating bushes, as RBC Bearings prints it: a figure to compare with."""


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
    """Interference left at the moment of assembly, parts at these temperatures.

    Parameters
    ----------
    rings : Rings
        Housing and bush, by their nominal sizes and materials.
    interference : Span
        Least and greatest at 20 °C, mm on the diameter.
    bush_at, housing_at : float
        Temperatures, °C, each part warm or cold throughout.
    """
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
    flattened : float
        Of the interference, what is roughness flattened in pressing, mm on the diameter.
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
    flattened: float = 0.0

    def bore_for(self, interference: float) -> Span:
        """Least and greatest bore of the bush before pressing, mm, for one interference.

        Parameters
        ----------
        interference : float
            As measured on the two parts, mm on the diameter.
        """
        return self.inner.hole.plus(self.closing_rate * max(interference - self.flattened, 0.0))

    @property
    def felt(self) -> Span:
        """Interference less what is flattened, mm."""
        return self.outer.interference.plus(-self.flattened)

    @property
    def may_be_loose(self) -> bool:
        """Whether parts within their limits can meet without interference."""
        return self.felt.least <= 0

    @property
    def loose_as_turned(self) -> bool:
        """Whether turned seats, whose roughness was not counted, may flatten all of the least interference."""
        return not self.flattened and 0 < self.outer.interference.least <= TURNED_FLATTENS

    @property
    def holds(self) -> Span:
        """Torque that turns the bush in its housing, N mm: the press force's friction at the seat's radius."""
        return Span(*(force * self.rings.seat / 2 for force in self.force))

    @property
    def turning_load(self) -> float:
        """Load on the pin, N, under which it drags the bush round at worst: pin dry, bush held least."""
        return self.holds.least / (self.friction.most * self.rings.bore / 2)

    @property
    def pin_load(self) -> float:
        """Load on the pin, N, at the greatest pressure usual in a motion."""
        return MOTION_PRESSURE * self.rings.bore * self.rings.length

    @property
    def may_turn(self) -> bool:
        """Whether the least interference may let the bush turn under such a load."""
        return self.turning_load < self.pin_load

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
    rings: Rings,
    outer: Fit,
    inner: Fit,
    friction: Span,
    temperatures: tuple[tuple[float, float], ...] = (),
    roughness: tuple[float, float] = (0.0, 0.0),
) -> BushPlan:
    """Plan a bush.

    The rings' stiffness is that of their nominal sizes: within limits the closing differs by 0.0006 mm in the tests.

    Parameters
    ----------
    rings, outer, inner
        Nominal sizes; limits of the bush in its housing and of the pin in the pressed bush.
    friction, temperatures, roughness
        Least and greatest coefficient; pairs of bush and housing temperature at assembly, °C; Rz of the bush's outside
        and of the housing's bore, mm (0: not counted).

    Raises
    ------
    BushError
        No interference at any limit, or a pin that would not always run.
    """
    flattened = FLATTENED * sum(roughness)
    felt = outer.interference.plus(-flattened)
    if felt.most <= 0:
        rough = " beyond its roughness" if flattened else ""
        raise BushError(f"{outer.name} leaves no interference{rough} anywhere: the bush would be loose in its bore")
    if inner.clearance.least <= 0:
        raise BushError(f"{inner.name} can leave no clearance: the pin would not run")
    pressed = press(rings, np.array(felt))
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
        flattened=flattened,
    )
