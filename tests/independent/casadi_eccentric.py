"""The gears with eccentrics written a second time, in Cartesian pins, as a casadi graph.

No angle is unknown here: rods are squared distances between pins, and every further point of a rigid part
(link, rocker) is the similar figure drawn on two of its pins, so that a slip in the angle loops of
`eccentric_loops` cannot be copied. Unknown pairs (x, y), mm::

    F, B  eccentric-rod pins of the link    D  die pin    Q  driving pin where it is not the die pin

with the piston s and the spindle's place g.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import casadi as ca
import numpy as np
from numpy.typing import NDArray

from .casadi_loop import apart, on_line
from .trial_gears import Tables

Pair = tuple[Any, Any]
Motion = tuple[NDArray[np.float64], NDArray[np.float64]]
PINS = {"stephenson": "FBD", "gooch": "FBDQ", "allan": "FBDQ", "eccentric": "Q"}


def pair(z: complex) -> Pair:
    """A fixed point as a pair."""
    return z.real, z.imag


def drawn(a: Pair, b: Pair, share: complex) -> Pair:
    """Third corner of the figure on ``a`` and ``b``: a + share (b - a), ``share`` a complex ratio."""
    x, y = b[0] - a[0], b[1] - a[1]
    return a[0] + share.real * x - share.imag * y, a[1] + share.imag * x + share.real * y


@dataclass(frozen=True)
class Sketch:
    """The gear's tables and kind. ``turn`` is the arm's angle or the plain eccentric's in radians, mm when ideal."""

    dims: Tables
    kind: str

    def link_pin(self, name: str) -> complex:
        link = self.dims["expansion_link"]
        return complex(link[f"{name}_x"], link[f"{name}_y"])

    def on_link(self, f: Pair, b: Pair, point: complex) -> Pair:
        """A point of the link's drawing, by its two eccentric-rod pins."""
        first, second = self.link_pin("forward_pin"), self.link_pin("backward_pin")
        return drawn(f, b, (point - first) / (second - first))

    def in_link(self, f: Pair, b: Pair, d: Pair) -> Pair:
        """Place of a point in the link's own axes, from mid link."""
        first = self.link_pin("forward_pin")
        unit = drawn((0.0, 0.0), (b[0] - f[0], b[1] - f[1]), 1.0 / (self.link_pin("backward_pin") - first))
        x, y = d[0] - f[0], d[1] - f[1]
        return first.real + x * unit[0] + y * unit[1], first.imag + y * unit[0] - x * unit[1]

    @property
    def concave(self) -> float:
        """+1 when the slot is concave to the valve, -1 to the axle."""
        return 1.0 if self.dims["expansion_link"].get("slot_concave_to") == "valve" else -1.0

    def arm(self, turn: Any, which: str = "arm") -> Pair:
        rev = self.dims["reversing"]
        angle = turn + (math.radians(rev["rod_arm_angle"]) if which == "rod_arm" else 0.0)
        return rev["shaft_x"] + rev[which] * ca.cos(angle), rev["shaft_y"] + rev[which] * ca.sin(angle)

    def slot(self, f: Pair, b: Pair, d: Pair) -> Any:
        if self.kind == "allan":
            return self.in_link(f, b, d)[0]
        radius = self.dims["expansion_link"]["slot_radius"]
        return apart(d, self.on_link(f, b, complex(self.concave * radius)), radius)

    def die_held(self, f: Pair, b: Pair, d: Pair, place: Any) -> Any:
        """Zero with the die at the arc place ``place`` from mid link."""
        radius = self.dims["expansion_link"]["slot_radius"]
        return self.in_link(f, b, d)[1] - radius * ca.sin(place / radius)

    def link_hung(self, f: Pair, b: Pair, d: Pair, turn: Any) -> Any:
        link, rev = self.dims["expansion_link"], self.dims["reversing"]
        saddle = self.on_link(f, b, self.link_pin("saddle"))
        if self.kind == "gooch":
            return apart(saddle, (link["hanger_x"], link["hanger_y"]), link["hanger"])
        if rev["suspension"] == "ideal":
            return self.die_held(f, b, d, turn)
        return apart(saddle, self.arm(turn), rev["lifting_link"])

    def rod_hung(self, f: Pair, b: Pair, d: Pair, q: Pair, turn: Any) -> Any:
        rod, rev = self.dims["radius_rod"], self.dims["reversing"]
        if rev["suspension"] == "ideal":
            return self.die_held(f, b, d, turn)
        up = self.concave if self.kind == "gooch" else 1.0
        if rev["suspension"] == "sliding block":
            end = self.arm(turn)
            across = (end[1] - d[1]) * (q[0] - d[0]) - (end[0] - d[0]) * (q[1] - d[1])
            return across / rod["length"] - up * rod["lift_pin_rise"]
        pin = drawn(d, q, complex(rod["lift_pin"], up * rod["lift_pin_rise"]) / rod["length"])
        if self.kind == "allan":
            return apart(pin, self.arm(turn, "rod_arm"), rev["rod_lifting_link"])
        return apart(pin, self.arm(turn), rev["lifting_link"])

    def spindle(self, g: Any) -> Pair:
        valve = self.dims["valve"]
        turn = math.radians(valve["guide_inclination"])
        return g * math.cos(turn), valve["guide_height"] + g * math.sin(turn)

    def drive(self, driving: Pair, g: Any) -> list[Any]:
        """Two closures from the driving pin to the spindle pin."""
        valve, end = self.dims["valve"], self.spindle(g)
        if "hanger" in valve:
            pivot = (valve["hanger"]["pivot_x"], valve["hanger"]["pivot_y"])
            return [
                apart(driving, pivot, valve["hanger"]["length"]),
                apart(driving, end, valve["spindle_rod"]),
            ]
        if "rocker" not in valve:
            return [driving[0] - end[0], driving[1] - end[1]]
        rocker = valve["rocker"]
        pivot = (rocker["pivot_x"], rocker["pivot_y"])
        share = -rocker["upper_arm"] / rocker["lower_arm"] * cmath.exp(-1j * math.radians(rocker["angle"]))
        upper = drawn(pivot, driving, share)
        near = apart(driving, pivot, rocker["lower_arm"])
        if "spindle_rod" in valve:
            return [near, apart(upper, end, valve["spindle_rod"])]
        base, ahead = self.spindle(0.0), self.spindle(1.0)
        along = [ahead[k] - base[k] for k in (0, 1)]
        return [near, (upper[0] - end[0]) * along[0] + (upper[1] - end[1]) * along[1]]

    def eccentric(self, which: str, phi: Any, turn: Any) -> Pair:
        """Centre of an eccentric; a plain one stands ``turn`` radians ahead of the crank pin."""
        if self.kind == "eccentric":
            throw, at = self.dims["eccentric"]["throw"], phi - turn
        else:
            table = self.dims["eccentrics"]
            throw, at = table[f"{which}_throw"], phi - math.radians(table[f"{which}_angle"])
        return throw * ca.cos(at), throw * ca.sin(at)

    def closures(self, x: Any, phi: Any, turn: Any) -> Any:
        """All closures in mm, for the unknowns s, g and the pins of `PINS`."""
        cyl, pins = self.dims["cylinder"], PINS[self.kind]
        at: dict[str, Pair] = {name: (x[2 + 2 * k], x[3 + 2 * k]) for k, name in enumerate(pins)}
        crank_pin = (cyl["crank_radius"] * ca.cos(phi), cyl["crank_radius"] * ca.sin(phi))
        crosshead = on_line(self.dims, x[0], cyl["line_height"])
        found = [apart(crosshead, crank_pin, self.dims["connecting_rod"]["length"])]
        front = self.eccentric("forward", phi, turn)
        if self.kind == "eccentric":
            found.append(apart(at["Q"], front, self.dims["eccentric_rod"]["length"]))
        else:
            f, b, d = at["F"], at["B"], at["D"]
            rods = self.dims["eccentric_rods"]
            between = abs(self.link_pin("forward_pin") - self.link_pin("backward_pin"))
            back = self.eccentric("backward", phi, turn)
            found += [apart(f, front, rods["forward"]), apart(b, back, rods["backward"]), apart(f, b, between)]
            found += [self.link_hung(f, b, d, turn), self.slot(f, b, d)]
            if "Q" in at:
                found += [apart(d, at["Q"], self.dims["radius_rod"]["length"])]
                found += [self.rod_hung(f, b, d, at["Q"], turn)]
        return ca.vertcat(*found, *self.drive(at[pins[-1]], x[1]))

    def rough(self, front: float, setting: float) -> NDArray[np.float64]:
        """Engine on front dead centre, as a fitter would sketch it: link upright, hanging links plumb."""
        level, cyl = self.level(), self.dims["cylinder"]
        start = [cyl["crank_radius"] + self.dims["connecting_rod"]["length"]]
        if self.kind == "eccentric":
            ends = [complex(self.dims["eccentric_rod"]["length"], level)]
        else:
            ends = self.rough_link(front, setting, level)
        driving = ends[-1]
        g = driving.real + self.dims["valve"].get("spindle_rod", 0.0)
        return np.array([*start, g, *(part for z in ends for part in pair(z))])

    def level(self) -> float:
        """Height at which the driving pin works."""
        valve = self.dims["valve"]
        if "rocker" in valve:
            return float(valve["rocker"]["pivot_y"] - valve["rocker"]["lower_arm"])
        if "hanger" in valve:
            return float(valve["hanger"]["pivot_y"] - valve["hanger"]["length"])
        reach = self.dims.get("eccentric_rods", self.dims.get("eccentric_rod", {}))
        return self.spindle(reach.get("forward", reach.get("length")))[1]

    def rough_link(self, front: float, setting: float, level: float) -> list[complex]:
        """Link pins, die and, with a radius rod, its front pin."""
        rev = self.dims["reversing"]
        ideal = rev["suspension"] == "ideal"
        end = 0.0 if ideal else rev["shaft_y"] + rev["arm"] * math.sin(math.radians(setting))
        if self.kind == "gooch":
            link = self.dims["expansion_link"]
            mid = link["hanger_y"] - math.copysign(link["hanger"], link["hanger_y"] - level)
        elif ideal:
            mid = level - setting
        else:
            mid = end - math.copysign(rev["lifting_link"], end - level)
        if not (self.kind == "stephenson" and ideal):
            mid -= self.dims["expansion_link"]["saddle_y"]
        ends = [self.link_pin(name) + 1j * mid for name in ("forward_pin", "backward_pin")]
        placed = []
        for pin, which in zip(ends, ("forward", "backward"), strict=True):
            ex, ey = (float(part) for part in self.eccentric(which, front, 0.0))
            reach = self.dims["eccentric_rods"][which]
            placed.append(complex(ex + math.sqrt(reach**2 - (pin.imag - ey) ** 2), pin.imag))
        across = (placed[0] + placed[1]).real / 2 - (ends[0] + ends[1]).real / 2
        if self.kind == "stephenson":
            return [*placed, complex(across, level)]
        rod = self.dims["radius_rod"]
        if ideal:
            die = mid + setting
        elif rev["suspension"] == "sliding block":
            die = end
        elif self.kind == "allan":
            die = level - (mid - level)  # the rod is lifted about as far as the link drops
        else:
            die = end - math.copysign(rev["lifting_link"], end - level)
        runs = self.concave if self.kind == "gooch" else 1.0
        return [*placed, complex(across, die), complex(across + runs * rod["length"], level)]


def build(dims: Tables, positions: int, kind: str) -> Callable[[float, NDArray[np.float64]], Motion]:
    """Build the solver once; it is then called with the setting (degrees, or mm when ideal) and crank angles.

    The callable takes ``positions`` crank angles in degrees, forward running, each solved from the one before,
    and returns the valve position g (n,) and the driving or die pin (n, 2), mm.
    """
    sketch, count = Sketch(dims, kind), 2 + 2 * len(PINS[kind])
    x, phi, turn = ca.SX.sym("x", count), ca.SX.sym("phi"), ca.SX.sym("turn")
    equations = {"x": x, "p": ca.vertcat(phi, turn), "g": sketch.closures(x, phi, turn)}
    first = ca.rootfinder("first", "newton", equations, {"abstol": 1e-11, "max_iter": 60})
    options = {"abstol": 1e-12, "abstolStep": 1e-12, "max_iter": 12}
    step = ca.rootfinder("step", "fast_newton", equations, options)
    before, given = ca.MX.sym("before", count), ca.MX.sym("given", 2)
    chain = ca.Function("one", [before, given], [step(before, given)]).mapaccum("revolution", positions)
    cyl = dims["cylinder"]
    reach = cyl["crank_radius"] + dims["connecting_rod"]["length"]
    front = math.radians(cyl["inclination"]) + math.asin(cyl["line_height"] / reach)
    ideal = dims.get("reversing", {}).get("suspension") == "ideal"
    pin = 2 + 2 * PINS[kind].find("D") if "D" in PINS[kind] else 2

    def revolution(setting: float, crank_angles: NDArray[np.float64]) -> Motion:
        reverser = setting if ideal else math.radians(setting)
        directions = front - np.radians(crank_angles)
        begin = first(sketch.rough(front, setting), [directions[0], reverser])
        given = np.vstack([directions, np.full(positions, reverser)])
        solved: NDArray[np.float64] = np.array(chain(begin, given), dtype=np.float64)
        return solved[1], solved[pin : pin + 2].T

    return revolution
