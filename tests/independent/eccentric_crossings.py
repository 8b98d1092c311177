"""One revolution of a gear with eccentrics, kept at each fifth degree, and its openings at any angle asked for.

Where `eccentric_events` searches for the events, this answers what the opening is where someone else says they are,
at a twentieth of the cost.
"""

from __future__ import annotations

import math
from functools import cached_property
from typing import Any

import numpy as np
from scipy.interpolate import CubicSpline

from .drawing import Dims
from .eccentric_assembly import first_solution
from .eccentric_events import PISTON, VALVE
from .eccentric_gears import follow
from .eccentric_loops import EccentricGear
from .plane_vectors import Floats
from .port_events import opening

STEP = 5  # degrees


class TurnedOnce:
    """One setting, followed through forward running; ``valve.central_at`` must be given."""

    def __init__(self, dims: Dims, setting: float, kind: str) -> None:
        self.dims = dims
        self.gear = self.made(setting, kind)
        self.central = float(dims["valve"]["central_at"])
        self.kept = [self.first()]
        for degree in range(STEP, 360, STEP):
            self.kept.append(self._follow(self.kept[-1], degree - STEP, degree))

    def made(self, setting: float, kind: str) -> Any:
        """The gear, set."""
        return EccentricGear(self.dims, kind, setting)

    def first(self) -> Floats:
        """All unknowns at front dead centre; first those of `PISTON` and `VALVE`."""
        return first_solution(self.gear)

    def followed(self, x: Floats, start: float, end: float) -> Floats:
        """All unknowns, carried from one direction of the crank to another."""
        return follow(self.gear, x, start, end)

    def _follow(self, x: Floats, start: float, end: float) -> Floats:
        there = [self.gear.front_dead_centre - math.radians(angle) for angle in (start, end)]
        return self.followed(x, there[0], there[1])

    @cached_property
    def between(self) -> CubicSpline:
        """Near all unknowns at any angle, degrees."""
        return CubicSpline(np.arange(0, 361, STEP), [*self.kept, self.kept[0]], bc_type="periodic")

    def at(self, forward: float) -> Floats:
        """All unknowns at ``forward`` degrees from front dead centre in forward running."""
        angle = forward % 360.0
        return self._follow(self.between(angle), angle, angle)

    def dead_centre(self, end: str) -> float:
        """Dead centre of an end, degrees from the front one in forward running."""
        gear = self.gear
        return 0.0 if end == "front" else math.degrees(gear.front_dead_centre - gear.back_dead_centre) % 360.0

    def _forward(self, end: str, way: str, angle: float) -> float:
        return self.dead_centre(end) + (angle if way == "forward" else -angle)

    def opening(self, flow: str, end: str, way: str, angle: float) -> float:
        """Opening in mm of a port, ``angle`` degrees after its end's dead centre in the direction of running."""
        return opening(self.dims, flow, end, float(self.at(self._forward(end, way, angle))[VALVE]) - self.central)

    def lead(self, end: str) -> float:
        """Steam opening in mm at the end's dead centre."""
        return self.opening("steam", end, "forward", 0.0)

    def percent(self, end: str, way: str, angle: float) -> float:
        """Piston's distance from the end's dead centre, percent of stroke."""
        back, front = self.gear.piston_limits
        s = float(self.at(self._forward(end, way, angle))[PISTON])
        return 100.0 * ((front - s) if end == "front" else (s - back)) / (front - back)

    @cached_property
    def places(self) -> Floats:
        """Spindle's displacement, mm, at each fifth degree."""
        return np.array([x[VALVE] for x in self.kept]) - self.central

    def openings(self, flow: str, end: str) -> int:
        """How often a port opens in a revolution, as seen at each fifth degree."""
        over = np.array([opening(self.dims, flow, end, float(v)) > 0.0 for v in self.places])
        return int(np.count_nonzero(over & ~np.roll(over, 1)))
