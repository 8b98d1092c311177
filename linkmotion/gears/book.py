"""The dimension book: tables shared by every gear, with the meaning and unit of each key.

A table is a frozen dataclass; a key is a field declared as in :mod:`linkmotion.gears.keys`. Engine files,
starter files and messages are made from these fields. Lengths are millimetres and angles degrees; a value
may be an array for many variants at once. ``None`` stands for 'not given'.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import MISSING, dataclass
from typing import Any, ClassVar

import numpy as np

from linkmotion.gears.keys import Fault, in_degrees, in_form, in_mm, one_of
from linkmotion.gears.shop_work import ShopWork, lengthened

RADIAN = np.pi / 180
SHORTEST, LONGEST = 5.0, 1000.0  # mm: cranks from the smallest models to the largest engines
STEEPEST = 60.0  # degrees
Number = Any  # float, or an array of variants
Instead = tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]  # keys given, keys they stand instead of
REACH_ROD = ShopWork(
    "reach rod",
    "alter the reach rod so that the lifting arms stand {} higher",
    "alter the reach rod so that the lifting arms stand {} lower",
    3,
    2.0,
    shared=True,
)


@dataclass(frozen=True, kw_only=True)
class Cylinder:
    """Crank and cylinder line."""

    crank_radius: Number = in_mm("crank radius (half the stroke when the line passes through the axle)", None)
    stroke: Number = in_mm(
        "piston stroke, instead of the crank radius", None, how="Crosshead scribed on a slide bar at both dead centres."
    )
    line_height: Number = in_mm(
        "height of the cylinder line above the axle, square to the line", 0.0, signed=True, frame="line"
    )
    inclination: Number = in_degrees("slope of the cylinder line, + rising to the front", 0.0)

    INSTEAD: ClassVar[Instead] = ((("crank_radius",), ("stroke",)), (("stroke",), ("crank_radius",)))

    def faults(self, rod: ConnectingRod, valve: Valve) -> Iterator[Fault]:
        """What is wrong with the crank's figures, and with the valve's beside them, if anything.

        Parameters
        ----------
        rod, valve : ConnectingRod, Valve
            The tables that must go with the crank in size.
        """
        if self.crank_radius is None and self.stroke is None:
            yield Fault("cylinder", "crank_radius", "neither crank_radius nor stroke is given", "give one of the two")
            return
        if self.crank_radius is not None and self.stroke is not None:
            yield Fault("cylinder", "crank_radius", "both crank_radius and stroke are given", "keep one of the two")
            return
        radius = self.crank_radius or crank_radius(self.stroke, rod.length, self.line_height)
        key = "stroke" if self.crank_radius is None else "crank_radius"
        if not SHORTEST <= radius <= LONGEST:
            problem = f"a crank of {radius:.6g} mm is no steam engine's"
            yield Fault("cylinder", key, problem, "is the unit right?")
        if not radius + abs(self.line_height) < rod.length:
            problem = "the rod is too short to pass the crank"
            remedy = "it must be longer than the crank radius and the line height together"
            yield Fault("connecting_rod", "length", problem, remedy)
        if not abs(self.inclination) <= STEEPEST:
            yield Fault(
                "cylinder",
                "inclination",
                f"{self.inclination:g}° is no cylinder ahead of the axle",
                "look at the figure",
            )
        if not radius / 250 <= valve.port_width <= radius:
            problem = f"a port of {valve.port_width:.6g} mm does not go with a crank of {radius:.6g} mm"
            yield Fault("valve", "port_width", problem, "is the unit right?")


@dataclass(frozen=True, kw_only=True)
class ConnectingRod:
    """Connecting rod."""

    length: Number = in_mm("connecting rod, centres", rod="connecting rod")


@dataclass(frozen=True, kw_only=True)
class Crosshead:
    """Crosshead arm, in the cylinder line's own axes."""

    arm_x: Number = in_mm("union-link pin ahead of the crosshead pin", 0.0, signed=True)
    arm_y: Number = in_mm("union-link pin above the crosshead pin (negative below)", 0.0, signed=True)


_ENDS = ("", "_front", "_back")  # of a key's name: both ends, or one


@dataclass(frozen=True, kw_only=True)
class Valve:
    """Valve, ports, and the line on which the valve-spindle pin moves."""

    admission: str = one_of("which edges admit steam", ("outside", "inside"))
    port_width: Number = in_mm("width of the steam ports", edge=("port", "front"))
    steam_lap: Number = in_mm("steam lap, both ends", None, zero=True, edge=("steam", ""))
    steam_lap_front: Number = in_mm("steam lap, front end, if they differ", None, zero=True, edge=("steam", "front"))
    steam_lap_back: Number = in_mm("steam lap, back end, if they differ", None, zero=True, edge=("steam", "back"))
    exhaust_lap: Number = in_mm("exhaust lap, both ends (negative: clearance)", None, signed=True, edge=("exhaust", ""))
    exhaust_lap_front: Number = in_mm("exhaust lap at the front end", None, signed=True, edge=("exhaust", "front"))
    exhaust_lap_back: Number = in_mm("exhaust lap at the back end", None, signed=True, edge=("exhaust", "back"))
    guide_height: Number = in_mm("height of the spindle pin's line, where it crosses x = 0", signed=True, frame="y")
    guide_inclination: Number = in_degrees("slope of the spindle pin's line, + rising to the front", 0.0)
    central_at: Number = in_mm(
        "place of the spindle pin along its line with the valve central",
        None,
        signed=True,
        work=lengthened("valve spindle", 6, 0.5, way=-1),
        how="Valve central over the ports: along the spindle's line from abreast of the axle to the pin, tape or rule.",
    )
    set_by: str | None = one_of(
        "rule by which the valve is set, instead of where it stands central",
        ("equal lead", "equal cutoff", "equal opening"),
        default=None,
    )
    set_in: Any = in_form("notch and direction in which it is set by that rule", "setting")

    INSTEAD: ClassVar[Instead] = (
        (("steam_lap",), ("steam_lap_front", "steam_lap_back")),
        (("steam_lap_front", "steam_lap_back"), ("steam_lap",)),
        (("exhaust_lap",), ("exhaust_lap_front", "exhaust_lap_back")),
        (("exhaust_lap_front", "exhaust_lap_back"), ("exhaust_lap",)),
        (("central_at",), ("set_by", "set_in")),
        (("set_by",), ("central_at",)),
    )

    def faults(self, notches: Any) -> Iterator[Fault]:
        """What is wrong with the valve's figures, if anything.

        Parameters
        ----------
        notches : names
            Those that ``set_in`` may name.
        """
        for which in ("steam", "exhaust"):
            both = getattr(self, f"{which}_lap")
            own = [getattr(self, f"{which}_lap_{end}") for end in ("front", "back")]
            pair = f"{which}_lap_front and {which}_lap_back"
            if both is not None and own != [None, None]:
                end = "front" if own[0] is not None else "back"
                problem = f"{which}_lap for both ends is given too"
                yield Fault("valve", f"{which}_lap_{end}", problem, f"keep {which}_lap, or {pair}")
            if both is None and None in own and (which == "steam" or own != [None, None]):
                yield Fault("valve", f"{which}_lap", f"no {which} lap for both ends", f"give {which}_lap, or {pair}")
        if self.central_at is None and self.set_by is None:
            yield Fault(
                "valve", "central_at", "neither central_at nor set_by is given", "give central_at, or set_by and set_in"
            )
        elif self.central_at is not None and self.set_by is not None:
            yield Fault("valve", "central_at", "both central_at and set_by are given", "keep one of the two")
        elif self.set_by is not None and self.set_in is None:
            remedy = 'give set_in = { notch = "NAME", direction = "forward" }'
            yield Fault("valve", "set_in", "set_by needs set_in", remedy)
        if self.set_in is not None and self.set_in["notch"] not in notches:
            yield Fault(
                "valve",
                "set_in",
                f"there is no notch {self.set_in['notch']!r}",
                f"the notches are {', '.join(notches)}",
            )

    def beyond(self, crank: Number) -> Iterator[Fault]:
        """Laps and ports that no valve of an engine with such a crank comes to.

        Parameters
        ----------
        crank : float
            Its radius, mm.
        """
        for key in ("port_width", *(f"{which}_lap{end}" for which in ("steam", "exhaust") for end in _ENDS)):
            size = getattr(self, key)
            if size is not None and not abs(size) < crank:
                yield Fault("valve", key, "as much as the crank's own radius, or more", "is the unit right?")

    def laps(self, which: str, end: str) -> Number:
        """Lap of an edge, mm: the end's own, or that of both ends; nothing where none is given.

        Parameters
        ----------
        which, end : str
            "steam" or "exhaust"; "front" or "back".
        """
        own = getattr(self, f"{which}_lap_{end}")
        both = getattr(self, f"{which}_lap")
        return own if own is not None else 0.0 if both is None else both


@dataclass(frozen=True, kw_only=True)
class Reversing:
    """Weighshaft, lifting arm and link, notches."""

    notches: Any = in_form(
        "named positions of the reverser: arm angle in degrees, or { die = height }", "notches", MISSING, work=REACH_ROD
    )
    shaft_x: Number = in_mm("weighshaft ahead of the axle", None, signed=True, frame="x")
    shaft_y: Number = in_mm("weighshaft above the axle", None, signed=True, frame="y")
    arm: Number = in_mm("lifting arm, weighshaft to lifting-link pin", None)
    lifting_link: Number = in_mm(
        "lifting link, centres", None, rod="lifting link", work=lengthened("lifting link", 4, 3.0)
    )


def crank_radius(stroke: Number, rod: Number, height: Number) -> Number:
    """Crank radius that gives the stroke, all mm.

    With a, b the limits, a - b = S and a^2 + b^2 = 2 (L^2 + r^2 - h^2), a^2 - b^2 = 4 L r, so
    a + b = 4 L r / S and r^2 (16 L^2/S^2 - 4) = 4 (L^2 - h^2) - S^2.
    """
    return np.sqrt((4 * (rod**2 - height**2) - stroke**2) / (16 * rod**2 / stroke**2 - 4))
