"""Port events found apart from the product: a scan by degrees, Brent's method on single solutions."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

from .assembly import first_solution
from .drawing import Dims, read_drawing
from .joint_angles import VALVE, AngleGear, Floats, S

KINDS = {
    "admission": ("steam", 1),
    "cutoff": ("steam", -1),
    "release": ("exhaust", 1),
    "compression": ("exhaust", -1),
}


@dataclass(frozen=True)
class Event:
    """Crank angle in degrees from that end's dead centre, [0, 360), and percent of the stroke from there."""

    angle: float
    percent: float


@dataclass(frozen=True)
class EndEvents:
    """Events of one end of the cylinder: kind -> all crossings found; ``lead`` the signed opening in mm."""

    lead: float
    found: dict[str, tuple[Event, ...]]


def lap(dims: Dims, kind: str, end: str) -> float:
    """``steam_lap`` or ``exhaust_lap`` of one end, mm."""
    table = dims["valve"]
    return float(table[f"{kind}_lap_{end}"] if f"{kind}_lap_{end}" in table else table.get(f"{kind}_lap", 0.0))


def opening(dims: Dims, port: str, end: str, v: float) -> float:
    """Signed opening in mm of one port at valve displacement ``v`` (mm from central, + forward)."""
    forward = v if dims["valve"]["admission"] == "inside" else -v
    towards_steam = forward if end == "front" else -forward
    return (towards_steam if port == "steam" else -towards_steam) - lap(dims, port, end)


class Revolution:
    """One notch and direction of running, solved by whole degrees; other angles are solved from a curve through these.

    ``scan`` (361, n) are all unknowns at whole degrees. A few degrees apart they are followed one after the other;
    those between are polished all at once, from a curve through these.
    """

    step = 5  # degrees

    def __init__(self, dims: Dims, arm: float, direction: str) -> None:
        self.gear = AngleGear(read_drawing(dims), arm)
        self.sense = {"forward": -1, "backward": 1}[direction]
        self.front = self.gear.drawing.front_dead_centre
        self.scan = self.turned(first_solution(self.gear))

    def turned(self, x: Floats) -> Floats:
        """All unknowns at whole degrees, followed from front dead centre."""
        kept, whole = [x], np.arange(361.0)
        for degree in range(self.step, 361, self.step):
            x = self.followed(x, self.direction_of(degree - self.step), self.direction_of(degree))
            kept.append(x)
        directions = self.direction_of(whole)
        scan = self.polished(CubicSpline(whole[:: self.step], kept)(whole).T, directions).T
        for k in range(1, 361):
            self.unbroken(scan[k - 1], scan[k], float(directions[k]))
        return scan

    def followed(self, x: Floats, start: float, end: float) -> Floats:
        """All unknowns, carried from one direction of the crank to another."""
        return self.gear.follow(x, start, end)

    def polished(self, x: Floats, directions: Floats) -> Floats:
        """All unknowns (n, N) in N directions of the crank, from near solutions."""
        return self.gear.polish(x, directions)

    def unbroken(self, before: Floats, x: Floats, direction: float) -> None:
        """Refuse a jump to another assembly."""
        self.gear.unbroken(before, x, direction)

    @cached_property
    def between(self) -> CubicSpline:
        """Near all unknowns at any angle."""
        return CubicSpline(np.arange(361.0), self.scan)

    def direction_of(self, angle: Any) -> Any:
        """Direction of the crank in radians at ``angle`` degrees from front dead centre."""
        return self.front + self.sense * (angle * math.pi / 180.0)

    def at(self, angle: float) -> Floats:
        """All unknowns at ``angle`` degrees from front dead centre."""
        there = self.direction_of(angle % 360.0)
        return self.followed(self.between(angle % 360.0), there, there)

    def back_angle(self) -> float:
        """Crank angle of the back dead centre, degrees from the front one in the direction of running."""
        d = self.gear.drawing
        return math.degrees(self.sense * (d.back_dead_centre - d.front_dead_centre)) % 360.0

    def percent(self, angle: float, end: str) -> float:
        """Piston's distance from one end's dead centre over the stroke, percent."""
        back, front = self.gear.drawing.piston_limits
        s = float(self.at(angle)[S])
        return 100.0 * ((front - s) if end == "front" else (s - back)) / (front - back)

    def crossings(self, signed: Callable[[Floats], float], rising: int) -> list[float]:
        """Crank angles in [0, 360) at which ``signed`` passes zero in the sense ``rising``.

        Two crossings within one whole degree are not seen.
        """
        values = np.array([signed(x) for x in self.scan]) * rising
        steps = np.nonzero((values[:-1] < 0.0) & (values[1:] >= 0.0))[0]
        return [
            float(brentq(lambda a: signed(self.at(a)), k, k + 1, xtol=1e-12, rtol=1e-14)) % 360.0
            for k in map(int, steps)
        ]


def port_events(
    dims: Dims, arm: float, direction: str = "forward", kinds: Collection[str] = tuple(KINDS)
) -> dict[str, EndEvents]:
    """Events of some kinds, and lead, of both ends ("front", "back"); ``valve.central_at`` must be given."""
    return events_of(Revolution(dims, arm, direction), dims, VALVE, kinds)


def events_of(turn: Revolution, dims: Dims, valve: int, kinds: Collection[str]) -> dict[str, EndEvents]:
    """The same of a revolution; ``valve`` is the valve's number among the unknowns."""
    ends, central = {}, float(dims["valve"]["central_at"])
    for end, dead in (("front", 0.0), ("back", turn.back_angle())):
        found = {}
        for kind in kinds:
            port, rising = KINDS[kind]

            def signed(x: Floats, port: str = port, end: str = end) -> float:
                return opening(dims, port, end, float(x[valve]) - central)

            found[kind] = tuple(
                Event((angle - dead) % 360.0, turn.percent(angle, end)) for angle in turn.crossings(signed, rising)
            )
        ends[end] = EndEvents(opening(dims, "steam", end, float(turn.at(dead)[valve]) - central), found)
    return ends
