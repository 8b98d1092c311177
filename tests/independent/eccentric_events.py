"""Port events of the gears with eccentrics, by the search of `port_events` on their own loops."""

from __future__ import annotations

import math
from collections.abc import Collection

from .drawing import Dims
from .eccentric_assembly import first_solution
from .eccentric_gears import follow, polish, solve, unbroken
from .eccentric_loops import EccentricGear
from .plane_vectors import Floats
from .port_events import KINDS, EndEvents, Revolution, events_of, lap, opening

PISTON, VALVE = 0, 1


class EccentricRevolution(Revolution):
    """One setting and direction of running of a gear with eccentrics."""

    def __init__(self, dims: Dims, setting: float, direction: str, kind: str) -> None:
        self.eccentric_gear = EccentricGear(dims, kind, setting)
        self.sense = {"forward": -1, "backward": 1}[direction]
        self.front = self.eccentric_gear.front_dead_centre
        self.scan = self.turned(first_solution(self.eccentric_gear))

    def followed(self, x: Floats, start: float, end: float) -> Floats:
        """All unknowns, carried from one direction of the crank to another."""
        return follow(self.eccentric_gear, x, start, end)

    def polished(self, x: Floats, directions: Floats) -> Floats:
        """All unknowns (n, N) in N directions of the crank, from near solutions."""
        return polish(self.eccentric_gear, x, directions)

    def unbroken(self, before: Floats, x: Floats, direction: float) -> None:
        """Refuse a jump to another assembly."""
        unbroken(self.eccentric_gear, before, x, direction)

    def back_angle(self) -> float:
        """Crank angle of the back dead centre, degrees from the front one in the direction of running."""
        gear = self.eccentric_gear
        return math.degrees(self.sense * (gear.back_dead_centre - gear.front_dead_centre)) % 360.0

    def percent(self, angle: float, end: str) -> float:
        """Piston's distance from one end's dead centre over the stroke, percent."""
        back, front = self.eccentric_gear.piston_limits
        s = float(self.at(angle)[PISTON])
        return 100.0 * ((front - s) if end == "front" else (s - back)) / (front - back)


def leads(dims: Dims, setting: float, direction: str = "forward", kind: str = "stephenson") -> dict[str, float]:
    """Signed steam opening in mm of each end at its own dead centre."""
    front, back = dead_centre_places(dims, setting, direction, kind) - float(dims["valve"]["central_at"])
    return {"front": opening(dims, "steam", "front", front), "back": opening(dims, "steam", "back", back)}


def dead_centre_places(dims: Dims, setting: float, direction: str, kind: str) -> Floats:
    """Place of the spindle pin along the guide, mm, at the front and at the back dead centre."""
    gear = EccentricGear(dims, kind, setting)
    sense = {"forward": -1, "backward": 1}[direction]
    back = math.degrees(sense * (gear.back_dead_centre - gear.front_dead_centre)) % 360.0
    return solve(dims, setting, [0.0, back], direction, kind).valve


def eccentric_events(
    dims: Dims,
    setting: float,
    direction: str = "forward",
    kind: str = "stephenson",
    kinds: Collection[str] = tuple(KINDS),
) -> dict[str, EndEvents]:
    """Events of some kinds, and lead, of both ends ("front", "back"); ``valve.central_at`` must be given."""
    return events_of(EccentricRevolution(dims, setting, direction, kind), dims, VALVE, kinds)


def central_for_equal_lead(dims: Dims, setting: float, kind: str = "stephenson") -> float:
    """Place of the spindle pin along the guide, mm, with the valve central, that makes both leads equal."""
    front, back = dead_centre_places(dims, setting, "forward", kind)
    steam = (lap(dims, "steam", "front") - lap(dims, "steam", "back")) / 2
    return float(front + back) / 2 + (steam if dims["valve"]["admission"] == "outside" else -steam)
