"""Port events of the gears with eccentrics, by the search of `port_events` on their own loops."""

from __future__ import annotations

import math

from .drawing import Dims
from .eccentric_assembly import first_solution
from .eccentric_gears import follow, solve
from .eccentric_loops import EccentricGear
from .plane_vectors import Floats
from .port_events import KINDS, EndEvents, Event, Revolution, lap, opening

PISTON, VALVE = 0, 1


class EccentricRevolution(Revolution):
    """One setting and direction of running: solved by whole degrees, other angles from the nearest of these."""

    def __init__(self, dims: Dims, setting: float, direction: str, kind: str) -> None:
        self.eccentric_gear = EccentricGear(dims, kind, setting)
        self.sense = {"forward": -1, "backward": 1}[direction]
        self.front = self.eccentric_gear.front_dead_centre
        x, self.scan = first_solution(self.eccentric_gear), list[Floats]()
        for degree in range(361):
            x = follow(self.eccentric_gear, x, self.direction_of(max(degree - 1, 0)), self.direction_of(degree))
            self.scan.append(x)

    def at(self, angle: float) -> Floats:
        """All unknowns at ``angle`` degrees from front dead centre."""
        nearest = round(angle % 360.0)
        there = self.direction_of(nearest), self.direction_of(angle % 360.0)
        return follow(self.eccentric_gear, self.scan[nearest], *there)

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
    dims: Dims, setting: float, direction: str = "forward", kind: str = "stephenson"
) -> dict[str, EndEvents]:
    """Events and lead of both ends ("front", "back"); ``valve.central_at`` must be given."""
    turn, central = EccentricRevolution(dims, setting, direction, kind), float(dims["valve"]["central_at"])
    lead, ends = leads(dims, setting, direction, kind), {}
    for end, dead in (("front", 0.0), ("back", turn.back_angle())):
        found = {}
        for event, (port, rising) in KINDS.items():

            def signed(x: Floats, port: str = port, end: str = end) -> float:
                return opening(dims, port, end, float(x[VALVE]) - central)

            found[event] = tuple(
                Event((angle - dead) % 360.0, turn.percent(angle, end)) for angle in turn.crossings(signed, rising)
            )
        ends[end] = EndEvents(lead[end], found)
    return ends


def central_for_equal_lead(dims: Dims, setting: float, kind: str = "stephenson") -> float:
    """Place of the spindle pin along the guide, mm, with the valve central, that makes both leads equal."""
    front, back = dead_centre_places(dims, setting, "forward", kind)
    steam = (lap(dims, "steam", "front") - lap(dims, "steam", "back")) / 2
    return float(front + back) / 2 + (steam if dims["valve"]["admission"] == "outside" else -steam)
