"""The radial gears written a second time, in Cartesian pins, as a casadi graph solved position after position.

No angle is unknown here: rods are squared distances between pins, further points of a rigid part are the similar figure
drawn on two of its pins, and a slide is a distance from a line or from its centre. Unknown pairs (x, y), mm::

    L  led pin (die or swinging pin)    Q  far end of the valve rod    F, E  Joy's foot and lever pin

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

from .casadi_eccentric import drawn
from .casadi_loop import Pair, apart, on_line
from .trial_gears import Tables

PINS = {"hackworth": "LQ", "marshall": "LQ", "joy": "LQFE"}


@dataclass(frozen=True)
class Sketch:
    """The gear's tables and kind."""

    dims: Tables
    kind: str

    @property
    def pins(self) -> str:
        """Letters of the unknown pairs."""
        return PINS[self.kind]

    @property
    def shaft(self) -> Pair:
        rev = self.dims["reversing"]
        return rev["shaft_x"], rev["shaft_y"]

    def on_shaft(self, turn: Any, ahead: Any, up: Any) -> Pair:
        """A point fixed on the weighshaft, the arm ``turn`` radians up."""
        x, y = self.shaft
        return x + ahead * ca.cos(turn) - up * ca.sin(turn), y + ahead * ca.sin(turn) + up * ca.cos(turn)

    def led(self, pin: Pair, turn: Any) -> Any:
        """Closure of what leads the led pin."""
        if "length" in self.dims.get("swinging_link", {}):
            upper = self.on_shaft(turn, self.dims["reversing"]["arm"], 0.0)
            return apart(pin, upper, self.dims["swinging_link"]["length"])
        slide = self.dims["slide"]
        turn += math.radians(slide.get("lean", 0.0))
        if "radius" in slide:
            ahead = slide["radius"] * (1.0 if slide["concave_to"] == "valve" else -1.0)
            return apart(pin, self.on_shaft(turn, slide["offset"] + ahead, 0.0), slide["radius"])
        x, y = self.shaft
        return (pin[0] - x) * ca.cos(turn) + (pin[1] - y) * ca.sin(turn) - slide["offset"]

    def closures(self, x: Any, phi: Any, turn: Any) -> Any:
        """All closures in mm, for the unknowns s, g and the pins of `PINS`."""
        at: dict[str, Pair] = {name: (x[2 + 2 * k], x[3 + 2 * k]) for k, name in enumerate(self.pins)}
        r, length = self.dims["cylinder"]["crank_radius"], self.dims["connecting_rod"]["length"]
        crank_pin = (r * ca.cos(phi), r * ca.sin(phi))
        crosshead = on_line(self.dims, x[0], self.dims["cylinder"]["line_height"])
        found = [apart(crosshead, crank_pin, length), self.led(at["L"], turn)]
        if self.kind == "joy":
            more, taken = self.joy(at, crank_pin, crosshead)
        else:
            more, taken = self.from_eccentric(at["L"], phi)
        return ca.vertcat(
            *found, *more, apart(taken, at["Q"], self.dims["valve_rod"]["length"]), *self.drive(at["Q"], x[1])
        )

    def from_eccentric(self, led: Pair, phi: Any) -> tuple[list[Any], Pair]:
        rod, throw = self.dims["eccentric_rod"], self.dims["eccentric"]["throw"]
        at = phi - math.radians(self.dims["eccentric"]["angle"])
        centre = (throw * ca.cos(at), throw * ca.sin(at))
        aside = -math.copysign(1.0, self.shaft[1]) * rod["valve_pin_offset"]
        taken = drawn(centre, led, complex(rod["valve_pin"], aside) / rod["length"])
        return [apart(led, centre, rod["length"])], taken

    def joy(self, at: dict[str, Pair], crank_pin: Pair, crosshead: Pair) -> tuple[list[Any], Pair]:
        rod, link, lever, anchor = (
            self.dims[name] for name in ("connecting_rod", "correcting_link", "valve_lever", "anchor")
        )
        pin = drawn(crosshead, crank_pin, complex(rod["pin"], -rod["pin_rise"]) / rod["length"])
        f, e = at["F"], at["E"]
        up = math.copysign(1.0, lever["lower_arm"])
        lever_pin = drawn(pin, f, complex(link["lever_pin"], up * link["lever_pin_offset"]) / link["length"])
        if "guide" in anchor:
            guide, lean = anchor["guide"], math.radians(anchor["guide"]["lean"])
            held = (f[0] - guide["point_x"]) * math.cos(lean) - (f[1] - guide["point_y"]) * math.sin(lean)
        else:
            held = apart(f, (anchor["pivot_x"], anchor["pivot_y"]), anchor["length"])
        found = [apart(f, pin, link["length"]), held, e[0] - lever_pin[0], e[1] - lever_pin[1]]
        found.append(apart(at["L"], e, abs(lever["lower_arm"])))
        upper = complex(lever["offset"], lever["lower_arm"] + lever["upper_arm"]) / complex(0.0, lever["lower_arm"])
        return found, drawn(e, at["L"], upper)

    def drive(self, driving: Pair, g: Any) -> list[Any]:
        """Two closures from the valve rod's far end to the spindle pin."""
        valve = self.dims["valve"]
        lean = math.radians(valve["guide_inclination"])
        end = (g * math.cos(lean), valve["guide_height"] + g * math.sin(lean))
        if "rocker" not in valve:
            return [driving[0] - end[0], driving[1] - end[1]]
        rocker = valve["rocker"]
        pivot = (rocker["pivot_x"], rocker["pivot_y"])
        share = -rocker["upper_arm"] / rocker["lower_arm"] * cmath.exp(-1j * math.radians(rocker["angle"]))
        near = apart(driving, pivot, rocker["lower_arm"])
        return [near, apart(drawn(pivot, driving, share), end, valve["spindle_rod"])]

    def rough(self) -> NDArray[np.float64]:
        """Engine on front dead centre, the led pin at the weighshaft, everything else plumb or level."""
        cylinder, rod = self.dims["cylinder"], self.dims["connecting_rod"]
        x, y = self.shaft
        far = x + self.dims["valve_rod"]["length"]
        g, level = far, self.dims["valve"]["guide_height"]
        if "rocker" in self.dims["valve"]:
            rocker = self.dims["valve"]["rocker"]
            g, level = far + self.dims["valve"]["spindle_rod"], rocker["pivot_y"] - rocker["lower_arm"]
        start = [cylinder["crank_radius"] + rod["length"], g, x, y, far, level]
        if self.kind == "joy":
            along = cylinder["crank_radius"] + rod["length"] - rod["pin"]
            start += [along - cylinder["crank_radius"], -0.85 * self.dims["correcting_link"]["length"]]
            start += [along - 100.0, y - 0.9 * self.dims["valve_lever"]["lower_arm"]]
        return np.array(start)


def build(sketch: Sketch, positions: int) -> Callable[[float, NDArray[np.float64]], NDArray[np.float64]]:
    """Build the solver once; called with the setting and ``positions`` crank angles it gives the valve; degrees."""
    dims, count = sketch.dims, 2 + 2 * len(sketch.pins)
    x, phi, turn = ca.SX.sym("x", count), ca.SX.sym("phi"), ca.SX.sym("turn")
    equations = {"x": x, "p": ca.vertcat(phi, turn), "g": sketch.closures(x, phi, turn)}
    first = ca.rootfinder("first", "newton", equations, {"abstol": 1e-11, "max_iter": 60})
    options = {"abstol": 1e-12, "abstolStep": 1e-12, "max_iter": 12}
    step = ca.rootfinder("step", "fast_newton", equations, options)
    before, given = ca.MX.sym("before", count), ca.MX.sym("given", 2)
    chain = ca.Function("one", [before, given], [step(before, given)]).mapaccum("revolution", positions)
    cylinder = dims["cylinder"]
    reach = cylinder["crank_radius"] + dims["connecting_rod"]["length"]
    front = math.radians(cylinder["inclination"]) + math.asin(cylinder["line_height"] / reach)

    def revolution(setting: float, crank_angles: NDArray[np.float64]) -> NDArray[np.float64]:
        directions = front - np.radians(crank_angles)
        begin = first(sketch.rough(), [directions[0], math.radians(setting)])
        given = np.vstack([directions, np.full(positions, math.radians(setting))])
        solved: NDArray[np.float64] = np.array(chain(begin, given), dtype=np.float64)
        return solved[1]

    return revolution
