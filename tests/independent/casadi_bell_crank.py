"""The gears with a bell crank in Cartesian pins, for :mod:`.casadi_radial`. Unknown pairs (x, y), mm::

F, T  foot and top of the gear connecting rod    U, P  union pin and lever pin    (Baker)
H, T  hanger pin and the yoke's top              Q  far end of the valve rod      (Southern)
"""

from __future__ import annotations

import math
from typing import Any

import casadi as ca
import numpy as np
from numpy.typing import NDArray

from .casadi_eccentric import drawn
from .casadi_loop import Pair, apart, on_line
from .casadi_radial import Sketch


class BellCrankSketch(Sketch):
    """The gear's tables and kind."""

    @property
    def pins(self) -> str:
        """Letters of the unknown pairs."""
        return "FTUP" if self.kind == "baker" else "HTQ"

    @property
    def bell_shaft(self) -> Pair:
        bell = self.dims["bell_crank"]
        return bell["shaft_x"], bell["shaft_y"]

    def closures(self, x: Any, phi: Any, turn: Any) -> Any:
        """All closures in mm; ``turn`` is the yoke's angle in radians, or the block's place as if it were degrees."""
        at: dict[str, Pair] = {name: (x[2 + 2 * k], x[3 + 2 * k]) for k, name in enumerate(self.pins)}
        r, length = self.dims["cylinder"]["crank_radius"], self.dims["connecting_rod"]["length"]
        crosshead = on_line(self.dims, x[0], self.dims["cylinder"]["line_height"])
        returned, bell = self.dims["return_crank"], self.dims["bell_crank"]
        ahead = phi - math.radians(returned["angle"])
        taken_from = (returned["pin_radius"] * ca.cos(ahead), returned["pin_radius"] * ca.sin(ahead))
        lean = math.radians(bell["angle"])
        arm = bell["valve_arm"] / bell["driven_arm"] * complex(math.sin(lean), -math.cos(lean))
        taken = drawn(self.bell_shaft, at["T"], arm)
        found = [apart(crosshead, (r * ca.cos(phi), r * ca.sin(phi)), length)]
        found.append(apart(at["T"], self.bell_shaft, bell["driven_arm"]))
        own = self.baker if self.kind == "baker" else self.southern
        return ca.vertcat(*found, *own(at, taken_from, taken, turn, crosshead, x[1]))

    def baker(self, at: dict[str, Pair], eccentric: Pair, taken: Pair, turn: Any, crosshead: Pair, g: Any) -> list[Any]:
        rod, lever, arm = (self.dims[name] for name in ("gear_connecting_rod", "combination_lever", "crosshead"))
        aside = math.copysign(1.0, self.bell_shaft[1] - self.shaft[1]) * rod["bar_pin_offset"]
        bar_pin = drawn(at["F"], at["T"], complex(rod["bar_pin"], -aside) / rod["length"])
        bars_end = self.on_shaft(turn, self.dims["reversing"]["arm"], 0.0)
        slope = math.radians(self.dims["cylinder"]["inclination"])
        hung = (
            crosshead[0] + arm["arm_x"] * math.cos(slope) - arm["arm_y"] * math.sin(slope),
            crosshead[1] + arm["arm_x"] * math.sin(slope) + arm["arm_y"] * math.cos(slope),
        )
        upper = complex(lever["lower_arm"] + lever["upper_arm"], -lever["offset"]) / lever["lower_arm"]
        return [
            apart(at["F"], eccentric, self.dims["eccentric_rod"]["length"]),
            apart(at["F"], at["T"], rod["length"]),
            apart(bar_pin, bars_end, self.dims["radius_bars"]["length"]),
            apart(at["P"], taken, self.dims["valve_rod"]["length"]),
            apart(at["U"], hung, self.dims["union_link"]["length"]),
            apart(at["U"], at["P"], lever["lower_arm"]),
            *self.drive(drawn(at["U"], at["P"], upper), g),
        ]

    def southern(
        self, at: dict[str, Pair], eccentric: Pair, taken: Pair, turn: Any, _crosshead: Pair, g: Any
    ) -> list[Any]:
        rod, link = self.dims["eccentric_rod"], self.dims["stationary_link"]
        radius = link["slot_radius"]
        along = turn * 180 / math.pi / radius
        below = link.get("slot_offset", 0.0) + radius - radius * ca.cos(along)
        tilt = math.radians(link.get("lean", 0.0))
        x, y = radius * ca.sin(along), -below
        block = (
            link["middle_x"] + x * math.cos(tilt) - y * math.sin(tilt),
            link["middle_y"] + x * math.sin(tilt) + y * math.cos(tilt),
        )
        yoke_pin = drawn(eccentric, at["H"], complex(rod["yoke_pin"], rod["yoke_pin_rise"]) / rod["length"])
        return [
            apart(at["H"], eccentric, rod["length"]),
            apart(at["H"], block, self.dims["radius_hanger"]["length"]),
            apart(yoke_pin, at["T"], self.dims["yoke"]["length"]),
            apart(at["Q"], taken, self.dims["valve_rod"]["length"]),
            *self.drive(at["Q"], g),
        ]

    def rough(self) -> NDArray[np.float64]:
        """Engine on front dead centre, every part plumb or level."""
        cylinder, bell, valve = self.dims["cylinder"], self.dims["bell_crank"], self.dims["valve"]
        piston = cylinder["crank_radius"] + self.dims["connecting_rod"]["length"]
        top = [bell["shaft_x"] + bell["driven_arm"], bell["shaft_y"]]
        far = bell["shaft_x"] + self.dims["valve_rod"]["length"]
        level = bell["shaft_y"] - bell["valve_arm"]
        g = far
        if "rocker" in valve:
            g = valve["rocker"]["pivot_x"] + valve["spindle_rod"]
        if self.kind == "southern":
            link = self.dims["stationary_link"]
            hung = [link["middle_x"], link["middle_y"] - self.dims["radius_hanger"]["length"]]
            return np.array([piston, g, *hung, *top, far, valve["guide_height"]])
        foot = [self.shaft[0], self.shaft[1] - self.dims["gear_connecting_rod"]["bar_pin"]]
        low = level - self.dims["combination_lever"]["lower_arm"]
        return np.array([piston, g, *foot, *top, far + 20.0, low, far, level])
