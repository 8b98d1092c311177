"""The radial gears solved one crank position at a time, and what their ports do.

The loops of `radial_loops` are closed by ``scipy.optimize`` at front dead centre, and followed from there by Newton's
method in small steps of the crank; what jumps, or no longer runs the way it is drawn, is refused.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from scipy.optimize import root

from .bell_crank_loops import KINDS as BELL_CRANKED
from .bell_crank_loops import BellCrankGear
from .closing import NotClosed, polished
from .drawing import Dims
from .eccentric_crossings import TurnedOnce
from .plane_vectors import Floats, Unknowns, residual_and_jacobian
from .radial_loops import RadialGear

LARGEST_STEP = 5.0  # degrees of crank
LARGEST_TURN = 0.4  # radians any part may turn in one such step; a crank turns 0.09
IN_MM = ("piston", "valve", "led", "foot")


def loops_of(dims: Dims, kind: str, setting: float) -> RadialGear:
    """The loops of a gear, set."""
    return (BellCrankGear if kind in BELL_CRANKED else RadialGear)(dims, kind, setting)


def polish(gear: RadialGear, x: Floats, crank: float) -> Floats:
    """Newton's method from a near solution; refuses what does not close to rounding."""
    return polished(lambda x: residual_and_jacobian(gear.loops(Unknowns(gear.names, x), crank)[0]), x, crank)


def seen(gear: RadialGear, x: Floats) -> Floats:
    """The solution, if every part runs the way it is drawn."""
    if not gear.faces(dict(zip(gear.names, x, strict=True))):
        raise NotClosed("a part runs the other way")
    return x


def first(gear: RadialGear) -> Floats:
    """The assembly at front dead centre."""
    crank = gear.front_dead_centre

    def closures(x: Floats) -> tuple[Floats, Floats]:
        return residual_and_jacobian(gear.loops(Unknowns(gear.names, x), crank)[0])

    x = np.asarray(root(closures, gear.sketch(), jac=True, options={"xtol": 1e-10}).x, dtype=np.float64)
    return seen(gear, polish(gear, x, crank))


def follow(gear: RadialGear, x: Floats, crank: float, target: float) -> Floats:
    """Carry a solution from one direction of the crank to another (radians), refusing jumps of assembly."""
    turning = [k for k, name in enumerate(gear.names) if name not in IN_MM]
    steps = max(1, math.ceil(abs(target - crank) / math.radians(LARGEST_STEP) - 1e-9))
    for k in range(1, steps + 1):
        there = crank + (target - crank) * k / steps
        new = polish(gear, x, there)
        if np.abs(new - x)[turning].max() > LARGEST_TURN:
            raise NotClosed(f"assembly lost with the crank at {math.degrees(there):.3f} degrees")
        x = seen(gear, new)
    return x


def solve(
    dims: Dims, setting: float, crank_angles: Sequence[float] | Floats, kind: str, direction: str = "forward"
) -> dict[str, Floats]:
    """Every unknown at each crank angle (degrees); the valve in mm along its guide, "die" in mm along the slide.

    Raises `NotClosed` where the gear cannot pass.
    """
    gear, sense = loops_of(dims, kind, setting), {"forward": -1.0, "backward": 1.0}[direction]
    crank, x, rows = gear.front_dead_centre, first(gear), []
    for target in gear.front_dead_centre + sense * np.radians(np.asarray(crank_angles, float)):
        x, crank = follow(gear, x, crank, float(target)), float(target)
        rows.append(x)
    table = dict(zip(gear.names, np.array(rows).T, strict=True))
    return table | {"die": np.array([gear.die_place(led) for led in table.get("led", table["valve"])])}


class TurnedRadial(TurnedOnce):
    """A radial gear in one setting, followed through forward running; ``valve.central_at`` must be given."""

    def made(self, setting: float, kind: str) -> RadialGear:
        """The gear, set."""
        return loops_of(self.dims, kind, setting)

    def first(self) -> Floats:
        """All unknowns at front dead centre."""
        return first(self.gear)

    def followed(self, x: Floats, start: float, end: float) -> Floats:
        """All unknowns, carried from one direction of the crank to another."""
        return follow(self.gear, x, start, end)
