"""Gears written by their pins, every joint with a gap in it: for clearances, worn slots and a raised axle.

Unknown are only the places of pins and the two slides, mm; a rigid part is the similar figure drawn on two of its
pins, a rod the squared distance between its holes. Where two parts meet in a pin, the hole of the second stands off
the hole of the first by that pin's *gap* (x, y); with no gaps this is the drawing. The slot's centre line may stand
at any distance from its centre of curvature, and the axle above its place. Nothing here is shared with the product.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import casadi as ca
import numpy as np
from numpy.typing import NDArray

from . import casadi_loop
from .casadi_eccentric import Sketch, drawn
from .casadi_loop import Pair, apart, on_line, runs_forward
from .trial_gears import Tables

Gap = Callable[[str], Pair]
Floats = NDArray[np.float64]
CRANK_PINS = ("crank pin", "crosshead pin")
WALSCHAERTS_PINS = (
    *CRANK_PINS, "return-crank pin", "foot", "trunnion", "crosshead-arm pin", "union pin", "lever pin", "valve pin",
    "die pin", "arm pin",
)  # fmt: skip
STEPHENSON_PINS = (
    *CRANK_PINS, "forward eccentric", "forward pin", "backward eccentric", "backward pin", "saddle pin", "arm pin",
    "die pin", "rocker shaft", "rocker pin",
)  # fmt: skip


def moved(point: Pair, by: Pair) -> Pair:
    """A point set over by a gap."""
    return point[0] + by[0], point[1] + by[1]


@dataclass(frozen=True)
class Stand:
    """How the engine stands.

    ``phi`` is the direction of the crank and ``turn`` the lifting arm's (radians; the die's place, mm, when it is
    held), ``rise`` the axle above its place (mm), ``ahead`` the pin's path ahead of the drawn slot (mm) as a function
    of the sine of the place's angle seen from the centre of curvature.
    """

    phi: Any
    turn: Any
    gap: Gap = lambda _pin: (0.0, 0.0)
    rise: Any = 0.0
    ahead: Callable[[Any], Any] = lambda _sine: 0.0

    def about_axle(self, radius: float, behind: float = 0.0) -> Pair:
        """A pin of the wheel, ``behind`` radians behind the crank pin."""
        return radius * ca.cos(self.phi - behind), self.rise + radius * ca.sin(self.phi - behind)


def front_dead_centre(dims: Tables, rise: float = 0.0) -> float:
    """Direction of the crank with the piston farthest ahead, the axle ``rise`` above its place, radians."""
    cyl, slope = dims["cylinder"], math.radians(dims["cylinder"]["inclination"])
    over = cyl["line_height"] - rise * math.cos(slope)
    return slope + math.asin(over / (cyl["crank_radius"] + dims["connecting_rod"]["length"]))


def _connecting_rod(dims: Tables, s: Any, at: Stand) -> Any:
    """Closure of the connecting rod."""
    crank_pin = moved(at.about_axle(dims["cylinder"]["crank_radius"]), at.gap("crank pin"))
    crosshead = moved(on_line(dims, s, dims["cylinder"]["line_height"]), at.gap("crosshead pin"))
    return apart(crank_pin, crosshead, dims["connecting_rod"]["length"])


def _in_slot(die: Pair, centre: Pair, along: Pair, radius: float, hollow: float, at: Stand) -> Any:
    """Closure of the die in the slot; ``along`` is the link's own + y, ``hollow`` + 1 with the centre ahead."""
    x, y = die[0] - centre[0], die[1] - centre[1]
    far = ca.sqrt(x**2 + y**2)
    return far - radius + hollow * at.ahead((x * along[0] + y * along[1]) / far)


@dataclass(frozen=True)
class WalschaertsPins:
    """Unknown: piston s, valve g, foot F, die pin D, lever pin Q of the radius rod, union pin U of the lever."""

    dims: Tables
    count = 10

    @property
    def pins(self) -> tuple[str, ...]:
        """Pins that can have a gap."""
        match self.dims["reversing"]["suspension"]:
            case "lifting link":
                return (*WALSCHAERTS_PINS, "lift pin")
            case "ideal":
                return WALSCHAERTS_PINS[:-1]
        return WALSCHAERTS_PINS

    def closures(self, x: Any, at: Stand) -> list[Any]:
        """Ten closures, mm."""
        dims, s, g = self.dims, x[0], x[1]
        foot, die, rod_end, union = ((x[k], x[k + 1]) for k in (2, 4, 6, 8))
        link, cyl, pin, valve = (dims[k] for k in ("expansion_link", "cylinder", "return_crank", "valve"))
        trunnion = moved((link["trunnion_x"], link["trunnion_y"]), at.gap("trunnion"))
        crank = at.about_axle(pin["pin_radius"], math.radians(pin["angle"]))
        heel = complex(-link["foot_backset"], -link["foot_drop"])
        hollow = runs_forward(dims)
        centre = drawn(trunnion, foot, complex(link["slot_offset"] + hollow * link["slot_radius"]) / heel)
        upward = drawn((0.0, 0.0), (foot[0] - trunnion[0], foot[1] - trunnion[1]), 1j / heel)
        arm_pin = on_line(dims, s + dims["crosshead"]["arm_x"], cyl["line_height"] + dims["crosshead"]["arm_y"])
        lever, slope = dims["combination_lever"], math.radians(valve["guide_inclination"])
        joined = moved(rod_end, at.gap("lever pin"))
        share = (lever["lower_arm"] + lever["upper_arm"] - 1j * lever["offset"]) / lever["lower_arm"]
        top = moved(drawn(union, joined, complex(share)), at.gap("valve pin"))
        return [
            _connecting_rod(dims, s, at),
            apart(
                moved(foot, at.gap("foot")), moved(crank, at.gap("return-crank pin")), dims["eccentric_rod"]["length"]
            ),
            apart(foot, trunnion, abs(heel)),
            _in_slot(die, centre, upward, link["slot_radius"], hollow, at),
            apart(moved(die, at.gap("die pin")), rod_end, dims["radius_rod"]["length"]),
            self._carried(moved(die, at.gap("die pin")), rod_end, die, centre, upward, at),
            apart(union, joined, lever["lower_arm"]),
            apart(
                moved(union, at.gap("union pin")),
                moved(arm_pin, at.gap("crosshead-arm pin")),
                dims["union_link"]["length"],
            ),
            top[0] - g * math.cos(slope),
            top[1] - valve["guide_height"] - g * math.sin(slope),
        ]

    def _carried(self, rod: Pair, rod_end: Pair, die: Pair, centre: Pair, upward: Pair, at: Stand) -> Any:
        """What holds the radius rod up, or the die at its place."""
        dims, rev, link = self.dims, self.dims["reversing"], self.dims["expansion_link"]
        if rev["suspension"] == "ideal":
            along = (die[0] - centre[0]) * upward[0] + (die[1] - centre[1]) * upward[1]
            across = (die[0] - centre[0]) * upward[1] - (die[1] - centre[1]) * upward[0]
            angle = at.turn / link["slot_radius"]  # held in direction from the centre: slack is square to the slot
            return along * ca.cos(angle) + runs_forward(dims) * across * ca.sin(angle)
        end = (rev["shaft_x"] + rev["arm"] * ca.cos(at.turn), rev["shaft_y"] + rev["arm"] * ca.sin(at.turn))
        end = moved(end, at.gap("arm pin"))
        length, rise = dims["radius_rod"]["length"], runs_forward(dims) * dims["radius_rod"]["lift_pin_rise"]
        if rev["suspension"] == "sliding block":
            across = (end[1] - rod[1]) * (rod_end[0] - rod[0]) - (end[0] - rod[0]) * (rod_end[1] - rod[1])
            return across / length - rise
        lift = drawn(rod, rod_end, complex(dims["radius_rod"]["lift_pin"], rise) / length)
        return apart(moved(lift, at.gap("lift pin")), end, rev["lifting_link"])

    def rough(self, turn: float) -> Floats:
        """Sketch on front dead centre; ``turn`` in degrees, or mm when the die is held."""
        link = self.dims["expansion_link"]
        s, _psi, dx, dy, qx, qy, _tilt, g = casadi_loop.rough_start(self.dims, turn)
        foot = (link["trunnion_x"] - link["foot_backset"], link["trunnion_y"] - link["foot_drop"])
        return np.array([s, g, *foot, dx, dy, qx, qy, qx, qy - self.dims["combination_lever"]["lower_arm"]])


@dataclass(frozen=True)
class StephensonPins:
    """Unknown: piston s, spindle g, rod pins F and B of the link, die pin D; a rocker, and a block on the spindle."""

    dims: Tables
    count = 8
    pins = STEPHENSON_PINS

    def closures(self, x: Any, at: Stand) -> list[Any]:
        """Eight closures, mm."""
        dims, sketch = self.dims, Sketch(self.dims, "stephenson")
        f, b, d = ((x[k], x[k + 1]) for k in (2, 4, 6))
        link, rev, rocker = dims["expansion_link"], dims["reversing"], dims["valve"]["rocker"]
        between = abs(sketch.link_pin("forward_pin") - sketch.link_pin("backward_pin"))
        end = (rev["shaft_x"] + rev["arm"] * ca.cos(at.turn), rev["shaft_y"] + rev["arm"] * ca.sin(at.turn))
        saddle = moved(sketch.on_link(f, b, sketch.link_pin("saddle")), at.gap("saddle pin"))
        centre = sketch.on_link(f, b, complex(sketch.concave * link["slot_radius"]))
        zero, up = sketch.on_link(f, b, 0j), sketch.on_link(f, b, 1j)
        shaft = moved((rocker["pivot_x"], rocker["pivot_y"]), at.gap("rocker shaft"))
        lower = moved(d, at.gap("die pin"))
        angle = math.radians(rocker["angle"])
        share = -rocker["upper_arm"] / rocker["lower_arm"] * complex(math.cos(angle), -math.sin(angle))
        upper, spindle = moved(drawn(shaft, lower, share), at.gap("rocker pin")), sketch.spindle(x[1])
        slope = math.radians(dims["valve"]["guide_inclination"])
        return [
            _connecting_rod(dims, x[0], at),
            self._eccentric_rod("forward", f, at),
            self._eccentric_rod("backward", b, at),
            apart(f, b, between),
            apart(saddle, moved(end, at.gap("arm pin")), rev["lifting_link"]),
            _in_slot(d, centre, (up[0] - zero[0], up[1] - zero[1]), link["slot_radius"], sketch.concave, at),
            apart(lower, shaft, rocker["lower_arm"]),
            (upper[0] - spindle[0]) * math.cos(slope) + (upper[1] - spindle[1]) * math.sin(slope),
        ]

    def _eccentric_rod(self, which: str, pin: Pair, at: Stand) -> Any:
        table = self.dims["eccentrics"]
        centre = at.about_axle(table[f"{which}_throw"], math.radians(table[f"{which}_angle"]))
        ends = moved(centre, at.gap(f"{which} eccentric")), moved(pin, at.gap(f"{which} pin"))
        return apart(*ends, self.dims["eccentric_rods"][which])

    def rough(self, turn: float) -> Floats:
        """Sketch on front dead centre; ``turn`` in degrees."""
        return Sketch(self.dims, "stephenson").rough(front_dead_centre(self.dims), turn)


PinGear = WalschaertsPins | StephensonPins


def pin_gear(dims: Tables) -> PinGear:
    """The gear of some tables, by its pins."""
    dims = {**dims, "reversing": {"suspension": "lifting link", **dims["reversing"]}}
    return StephensonPins(dims) if "eccentrics" in dims else WalschaertsPins(dims)


def in_radians(gear: PinGear, turn: float) -> float:
    """The reverser's figure as the closures want it: the arm in radians, or mm with the die held."""
    return turn if gear.dims["reversing"]["suspension"] == "ideal" else math.radians(turn)


def drawn_places(gear: PinGear, turn: float, crank_angles: Floats, rise: float = 0.0) -> Floats:
    """The unknowns (angles, count) with nothing worn, crank angles in degrees; each solved from the one before."""
    x, phi, arm = ca.SX.sym("x", gear.count), ca.SX.sym("phi"), ca.SX.sym("arm")
    residual = ca.vertcat(*gear.closures(x, Stand(phi, arm, rise=rise)))
    options = {"abstol": 1e-11, "max_iter": 80}
    newton = ca.rootfinder("drawn", "newton", {"x": x, "p": ca.vertcat(phi, arm), "g": residual}, options)
    reverser, front = in_radians(gear, turn), front_dead_centre(gear.dims, rise)
    place, found = newton(gear.rough(turn), [front, reverser]), []
    for angle in np.radians(crank_angles):
        place = newton(place, [front - angle, reverser])
        found.append(np.array(place, dtype=float).ravel())
    return np.array(found)


def gaps_of(gear: PinGear, share: Mapping[str, Pair]) -> Gap:
    """Gap of each pin, from a table; those not named have none."""
    return lambda pin: share.get(pin, (0.0, 0.0))
