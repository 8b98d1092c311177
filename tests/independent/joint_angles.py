"""The Walschaerts gear in joint angles, solved one crank position at a time.

Ten unknowns, all but three of them angles, and five plane vector loops::

    axle - crank pin - crosshead pin - axle                        connecting rod
    axle - return-crank pin - foot - trunnion - axle               eccentric rod and link
    axle - crosshead arm - union link - lever = trunnion - slot - radius rod
    axle - crosshead arm - union link - lever = valve guide
    trunnion - slot - radius rod - lifting link = arm end          suspension

Closed by ``scipy.optimize`` at first, then followed by Newton's method in small steps of the crank. Lengths in mm,
angles in radians inside, degrees at the surface.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import fsolve

from .closing import NotClosed, polished
from .drawing import Dims, Drawing, read_drawing

Floats = NDArray[np.float64]
S, ROD, ECC, PSI, SLOT, RADIUS, LEVER, UNION, LIFT, VALVE = range(10)
LARGEST_STEP = 5.0  # degrees of crank between two solutions on the way to a wanted position


@dataclass(frozen=True)
class Positions:
    """Motion of the gear at each crank angle (degrees from front dead centre in the direction of running).

    ``valve`` g in mm along the guide, ``piston`` s in mm along the cylinder line, ``link_angle`` psi in
    degrees, ``die_place`` sigma in mm along the slot, ``points`` name -> (n, 2) in mm, ``closure`` the worst
    loop error in mm.
    """

    crank_angle: Floats
    valve: Floats
    piston: Floats
    link_angle: Floats
    die_place: Floats
    points: dict[str, Floats]
    closure: float


@dataclass(frozen=True)
class AngleGear:
    """One gear with its reverser set: ``arm`` in degrees, or the die place in mm for suspension "ideal"."""

    drawing: Drawing
    arm: float

    @property
    def arm_end(self) -> complex:
        """End of the lifting arm."""
        return self.drawing.shaft + cmath.rect(self.drawing.arm, math.radians(self.arm))

    def die_from_centre(self, slot: Any) -> Any:
        """Die pin from the slot's centre of curvature, link upright; ``slot`` radians up from mid-slot."""
        d = self.drawing
        return -d.slot_side * rect(d.slot_radius, -d.slot_side * slot)

    def loops(self, x: Floats, crank: Any) -> tuple[list[Any], list[dict[int, Any]]]:
        """Vector closures of the five loops and, loop by loop, their derivatives to the unknowns.

        With ``x`` (10, N) and ``crank`` (N,) they are those of N positions at once.
        """
        d = self.drawing
        rod, ecc, turn = rect(d.rod, x[ROD]), rect(d.eccentric_rod, x[ECC]), rect(1.0, x[PSI])
        from_centre = turn * self.die_from_centre(x[SLOT])
        from_trunnion = turn * d.slot_centre + from_centre
        die = d.trunnion + from_trunnion
        along_rod, lever = rect(1.0, x[RADIUS]), rect(1.0, x[LEVER])
        union_link, heading = rect(d.union_link, x[UNION]), rect(1.0, crank)
        union = (x[S] + 1j * d.line_height + d.crosshead_arm) * d.line_turn + union_link
        by_slot, by_psi = -1j * d.slot_side * from_centre, 1j * from_trunnion
        closures = [
            d.crank * heading + rod - (x[S] + 1j * d.line_height) * d.line_turn,
            d.driver(heading) + ecc - d.trunnion - turn * d.foot,
            union + d.lower_arm * lever - die - d.radius_rod * along_rod,
            union + d.valve_pin * lever - d.guide_foot - x[VALVE] * d.guide_turn,
        ]
        slopes = [
            {S: -d.line_turn, ROD: 1j * rod},
            {ECC: 1j * ecc, PSI: -1j * turn * d.foot},
            {
                S: d.line_turn, UNION: 1j * union_link, LEVER: 1j * d.lower_arm * lever,
                RADIUS: -1j * d.radius_rod * along_rod, SLOT: -by_slot, PSI: -by_psi,
            },
            {S: d.line_turn, UNION: 1j * union_link, LEVER: 1j * d.valve_pin * lever, VALVE: -d.guide_turn},
        ]  # fmt: skip
        hung, hung_slopes = self.suspension(x, die, along_rod)
        if d.suspension != "ideal":
            hung_slopes |= {SLOT: by_slot, PSI: by_psi}
        return [*closures, hung], [*slopes, hung_slopes]

    def suspension(self, x: Floats, die: Any, along: Any) -> tuple[Any, dict[int, Any]]:
        """Give the fifth loop; LIFT is the lifting link's angle, or where along the rod the arm holds it."""
        d = self.drawing
        if d.suspension == "lifting link":
            pin, link = along * (d.lift_pin + 1j * d.lift_rise), rect(d.lifting_link, x[LIFT])
            return die + pin + link - self.arm_end, {RADIUS: 1j * pin, LIFT: 1j * link}
        if d.suspension == "sliding block":
            held = along * (x[LIFT] + 1j * d.lift_rise)
            return die + held - self.arm_end, {RADIUS: 1j * held, LIFT: along}
        if d.suspension == "ideal":  # LIFT idle
            return x[SLOT] * d.slot_radius - self.arm + 1j * x[LIFT], {SLOT: d.slot_radius + 0j, LIFT: 1j}
        raise ValueError(f"unknown suspension {d.suspension!r}")

    def residual(self, x: Floats, crank: Any) -> Floats:
        """Ten real closures in mm, (10,) or (10, N)."""
        return _real(np.array(self.loops(x, crank)[0]))

    def jacobian(self, x: Floats, crank: Any) -> Floats:
        """Differentiate `residual` with respect to the unknowns, (10, 10) or (10, 10, N)."""
        return self.residual_and_jacobian(x, crank)[1]

    def residual_and_jacobian(self, x: Floats, crank: Any) -> tuple[Floats, Floats]:
        """Both, of the same loops."""
        closures, slopes = self.loops(x, crank)
        by = np.zeros((5, *x.shape), dtype=complex)
        for row, own in zip(by, slopes, strict=True):
            for k, slope in own.items():
                row[k] = slope
        return _real(np.array(closures)), _real(by)

    def close(self, start: Floats, crank: float) -> Floats:
        """Solve at one crank direction (radians) by fsolve, then polish by Newton on the same equations."""
        x, _, _, _ = fsolve(self.residual, start, (crank,), self.jacobian, full_output=True, xtol=1e-12)
        return self.polish(np.asarray(x, dtype=np.float64), crank)

    def polish(self, x: Floats, crank: Any) -> Floats:
        """Newton's method from a near solution, or from many at once; refuses what does not close to rounding."""
        return polished(lambda x: self.residual_and_jacobian(x, crank), x, crank)

    def keeps_assembly(self, x: Floats, crank: float) -> bool:
        """Crosshead ahead, foot on its side of the eccentric rod's line, rods running their stated way."""
        d = self.drawing
        pin = d.driver(cmath.rect(1.0, crank))
        foot = cmath.rect(1.0, x[PSI]) * d.foot
        side = ((d.trunnion - pin).conjugate() * (d.trunnion + foot - pin)).imag
        return bool(
            math.cos(x[ROD] - cmath.phase(d.line_turn)) > 0
            and side * ((d.trunnion - d.driver_middle).conjugate() * d.foot).imag > 0
            and d.slot_side * math.cos(x[RADIUS]) > 0
            and abs(x[SLOT]) < math.pi / 2
        )

    def follow(self, x: Floats, crank: float, target: float) -> Floats:
        """Carry a solution at ``crank`` to ``target`` in small steps, refusing jumps of assembly."""
        steps = max(1, math.ceil(abs(target - crank) / math.radians(LARGEST_STEP) - 1e-9))
        for k in range(1, steps + 1):
            there = crank + (target - crank) * k / steps
            x = self.unbroken(x, self.polish(x, there), there)
        return x

    def unbroken(self, before: Floats, x: Floats, crank: float) -> Floats:
        """The next solution, if no part has jumped since the one ``before``."""
        turned = max(abs(x[k] - before[k]) for k in (ROD, ECC, PSI, SLOT, RADIUS, LEVER, UNION))
        if turned > 0.5 or not self.keeps_assembly(x, crank):
            raise NotClosed(f"assembly lost with the crank at {math.degrees(crank):.3f} degrees")
        return x

    def place_points(self, x: Floats, crank: float) -> dict[str, complex]:
        """All pins at one solution."""
        d = self.drawing
        heading, turn, along = cmath.rect(1.0, crank), cmath.rect(1.0, x[PSI]), cmath.rect(1.0, x[RADIUS])
        crosshead = (x[S] + 1j * d.line_height) * d.line_turn
        die = d.trunnion + turn * (d.slot_centre + self.die_from_centre(x[SLOT]))
        arm_pin = crosshead + d.crosshead_arm * d.line_turn
        union = arm_pin + cmath.rect(d.union_link, x[UNION])
        return {
            "crank_pin": d.crank * heading,
            "return_crank_pin": d.driver(heading),
            "crosshead_pin": crosshead,
            "crosshead_arm_pin": arm_pin,
            "foot": d.trunnion + turn * d.foot,
            "slot_centre": d.trunnion + turn * d.slot_centre,
            "die": die,
            "lever_pin": die + d.radius_rod * along,
            "lift_pin": die + along * (d.lift_pin + 1j * d.lift_rise),
            "arm_end": self.arm_end if d.suspension != "ideal" else complex(math.nan, math.nan),
            "union_pin": union,
            "valve_pin": union + cmath.rect(1.0, x[LEVER]) * d.valve_pin,
        }


def rect(length: Any, angle: Any) -> Any:
    """A vector of some length at an angle, radians, or at each of an array of them."""
    return cmath.rect(length, angle) if isinstance(angle, float) else length * np.exp(1j * angle)


def _real(z: Any) -> Floats:
    return np.concatenate([z.real, z.imag])


def solve(dims: Dims, arm: float, crank_angles: Sequence[float] | Floats, direction: str = "forward") -> Positions:
    """Solve the gear of the tables ``dims`` at each crank angle (degrees), one after the other.

    ``arm`` is the lifting arm's angle in degrees, or the die place in mm where the suspension is "ideal".
    Raises `NotClosed` where the gear cannot pass.
    """
    from .assembly import first_solution

    gear = AngleGear(read_drawing(dims), arm)
    front, sense = gear.drawing.front_dead_centre, {"forward": -1.0, "backward": 1.0}[direction]
    angles = np.asarray(crank_angles, dtype=np.float64)
    x, crank, rows, points, closure = first_solution(gear), front, [], [], 0.0
    for angle in angles:
        target = front + sense * math.radians(angle)
        x = gear.follow(x, crank, target)
        crank = target
        rows.append(x)
        points.append(gear.place_points(x, crank))
        closure = max(closure, float(np.abs(gear.residual(x, crank)).max()))
    table = np.array(rows)
    named = {name: np.array([[p[name].real, p[name].imag] for p in points]) for name in points[0]}
    return Positions(
        crank_angle=angles,
        valve=table[:, VALVE],
        piston=table[:, S],
        link_angle=np.degrees(table[:, PSI]),
        die_place=table[:, SLOT] * gear.drawing.slot_radius,
        points=named,
        closure=closure,
    )
