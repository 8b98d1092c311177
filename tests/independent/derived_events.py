"""Events of a derived middle valve: both outside gears followed by joint angles, the levers by crossing circles."""

from __future__ import annotations

import cmath
import math

import numpy as np

from .derived_levers import SIDES, front_dead_centre, levers, outside_tables
from .drawing import Dims, crank_radius
from .joint_angles import VALVE, Floats, S
from .port_events import KINDS, EndEvents, Revolution, events_of


class MiddleRevolution(Revolution):
    """The middle cylinder's revolution, its valve and piston where a single gear's unknowns have theirs."""

    def __init__(self, dims: Dims, arm: float, direction: str) -> None:
        self.dims, self.sense = dims, {"forward": -1, "backward": 1}[direction]
        self.front = front_dead_centre(dims)
        self.outside = {side: Revolution(outside_tables(dims, side), arm, direction) for side in SIDES}
        self.scan = np.array([self.at(float(degree)) for degree in range(361)])

    def at(self, angle: float) -> Floats:
        """Valve and piston at ``angle`` degrees of the middle crank from its front dead centre; the rest is nought."""
        crank, along = self.direction_of(angle), {}
        for side, own in self.outside.items():
            turned = crank - math.radians(self.dims[f"{side}_engine"]["crank_angle"]) - own.front
            along[side] = np.asarray(own.at(math.degrees(own.sense * turned) % 360.0)[VALVE])
        x = np.zeros(max(VALVE, S) + 1)
        x[VALVE], x[S] = float(levers(self.dims, along)), self._piston(crank)
        return x

    def _piston(self, crank: float) -> float:
        """Crosshead pin along the middle cylinder's line, mm."""
        cylinder = self.dims["cylinder"]
        pin = cmath.rect(crank_radius(self.dims), crank - math.radians(cylinder.get("inclination", 0.0)))
        rod, height = self.dims["connecting_rod"]["length"], cylinder.get("line_height", 0.0)
        return float(pin.real + math.sqrt(rod**2 - (height - pin.imag) ** 2))

    def back_angle(self) -> float:
        """Of the middle crank, degrees from the front dead centre in the direction of running."""
        r, rod, height = crank_radius(self.dims), self.dims["connecting_rod"]["length"], self._height
        turned = math.pi + math.asin(height / (rod - r)) - math.asin(height / (rod + r))
        return math.degrees(self.sense * turned) % 360.0

    def percent(self, angle: float, end: str) -> float:
        """Piston's distance from one end's dead centre over the stroke, percent."""
        r, rod = crank_radius(self.dims), self.dims["connecting_rod"]["length"]
        back, front = (math.sqrt(reach**2 - self._height**2) for reach in (rod - r, rod + r))
        s = float(self.at(angle)[S])
        return 100.0 * ((front - s) if end == "front" else (s - back)) / (front - back)

    @property
    def _height(self) -> float:
        return float(self.dims["cylinder"].get("line_height", 0.0))


def middle_events(dims: Dims, arm: float, direction: str = "forward") -> dict[str, EndEvents]:
    """Events and lead of both ends of the middle cylinder; ``valve.central_at`` must be given."""
    return events_of(MiddleRevolution(dims, arm, direction), dims, VALVE, tuple(KINDS))
