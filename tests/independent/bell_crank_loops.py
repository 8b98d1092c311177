"""Vector loops of the gears with a bell crank (Baker, Southern)::

    axle - crank pin - crosshead pin - axle                                          connecting rod
    return-crank pin - foot - bar pin = yoke's trunnion - yoke - radius bars         Baker
    foot - gear connecting rod's top = bell crank's shaft - driven arm               Baker
    valve rod = crosshead arm - union link - combination lever                       Baker
    return-crank pin - hanger pin = block in the link - radius hanger                Southern
    yoke pin - yoke = bell crank's shaft - driven arm                                Southern
    valve pin = guide (or rocker's lower pin, and on)                                both

The setting is the yoke's angle in degrees (Baker), or the block's place in mm along the link (Southern).
"""

from __future__ import annotations

import cmath
import math
from functools import cached_property

import numpy as np

from .plane_vectors import Unknowns, Vector
from .radial_loops import Loops, RadialGear, cis

KINDS = ("baker", "southern")


class BellCrankGear(RadialGear):
    """One gear, set."""

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Unknowns: piston and valve in mm; the rest angles."""
        own: tuple[str, ...] = ("hanger", "yoke")
        if self.kind == "baker":
            own = ("gear rod", "bars", "lever", "union")
        ends = ("rocker", "spindle rod") if self.rocked else ()
        return ("piston", "valve", "connecting rod", "eccentric rod", *own, "bell crank", "valve rod", *ends)

    @cached_property
    def shaft(self) -> complex:
        """The bell crank's shaft."""
        return complex(self.of("bell_crank", "shaft_x"), self.of("bell_crank", "shaft_y"))

    @cached_property
    def ahead(self) -> float:
        """Return-crank pin ahead of the crank pin in forward running, radians."""
        return math.radians(self.of("return_crank", "angle"))

    @cached_property
    def pivot(self) -> complex:
        """The yoke's trunnion, or the middle of the stationary link."""
        if self.kind == "baker":
            return complex(self.of("reversing", "shaft_x"), self.of("reversing", "shaft_y"))
        return complex(self.of("stationary_link", "middle_x"), self.of("stationary_link", "middle_y"))

    @cached_property
    def down(self) -> int:
        """+1 where the stationary link is hollow below."""
        return {"below": 1, "above": -1}[self.dims["stationary_link"].get("slot_hollow", "below")]

    def die_place(self, led: float) -> float:
        """Place of the block along the link, mm: where it was put."""
        return math.nan if self.kind == "baker" else self.setting

    def loops(self, x: Unknowns, crank: float) -> Loops:
        """Closures, and the pins."""
        r, length, height = self.reach
        crosshead = (x.length("piston") + 1j * height) * self.line_turn
        closures = [r * cmath.exp(1j * crank) + length * x.turn("connecting rod") - crosshead]
        returned = (
            self.of("return_crank", "pin_radius") * cmath.exp(1j * crank) * cis(-self.of("return_crank", "angle"))
        )
        bell, lean = x.turn("bell crank"), math.radians(self.of("bell_crank", "angle"))
        top = self.shaft + self.of("bell_crank", "driven_arm") * bell
        taken = self.shaft + self.of("bell_crank", "valve_arm") * complex(math.sin(lean), -math.cos(lean)) * bell
        far = taken + self.of("valve_rod", "length") * x.turn("valve rod")
        if self.kind == "southern":
            return closures + self.southern(x, returned, top) + self.drive(x, far), {"valve-rod pin": taken}
        lever, lower = x.turn("lever"), self.of("combination_lever", "lower_arm")
        arm = complex(self.of("crosshead", "arm_x"), self.of("crosshead", "arm_y"))
        union = crosshead + arm * self.line_turn + self.of("union_link", "length") * x.turn("union")
        above = complex(self.of("combination_lever", "offset"), lower + self.of("combination_lever", "upper_arm"))
        closures += [*self.baker(x, returned, top), far - (union + 1j * lower * lever)]
        return closures + self.drive(x, union + above * lever), {"valve-rod pin": taken}

    def baker(self, x: Unknowns, returned: complex, top: Vector) -> list[Vector]:
        """The gear connecting rod, at the radius bars and at the bell crank."""
        rod = x.turn("gear rod")
        foot = returned + self.of("eccentric_rod", "length") * x.turn("eccentric rod")
        bars_end = self.pivot + self.of("reversing", "arm") * cis(self.setting)
        held = bars_end + self.of("radius_bars", "length") * x.turn("bars")
        standing = 1 if self.shaft.imag > self.pivot.imag else -1
        aside = standing * self.of("gear_connecting_rod", "bar_pin_offset")
        at = complex(aside, self.of("gear_connecting_rod", "bar_pin"))
        return [foot + at * rod - held, foot + 1j * self.of("gear_connecting_rod", "length") * rod - top]

    def southern(self, x: Unknowns, returned: complex, top: Vector) -> list[Vector]:
        """The eccentric rod, at the hanger and at the yoke."""
        rod, radius = x.turn("eccentric rod"), self.of("stationary_link", "slot_radius")
        lean = self.setting / radius
        fall = self.of("stationary_link", "slot_offset") + self.down * radius * (1 - math.cos(lean))
        block = self.pivot + cis(self.of("stationary_link", "lean")) * complex(radius * math.sin(lean), -fall)
        held = block + self.of("radius_hanger", "length") * x.turn("hanger")
        at = complex(self.of("eccentric_rod", "yoke_pin"), self.of("eccentric_rod", "yoke_pin_rise"))
        hung = returned + self.of("eccentric_rod", "length") * rod
        return [hung - held, returned + at * rod + self.of("yoke", "length") * x.turn("yoke") - top]

    @cached_property
    def ways(self) -> dict[str, float]:
        """The way each part is drawn, radians."""
        up = math.pi / 2
        ways = {"eccentric rod": 0.0, "valve rod": 0.0, "spindle rod": 0.0, "rocker": 0.0, "bell crank": 0.0}
        if self.kind == "southern":
            foot = self.pivot.imag - self.down * self.of("radius_hanger", "length")
            at = foot * self.of("eccentric_rod", "yoke_pin") / abs(complex(self.pivot.real, foot))
            return ways | {"hanger": -self.down * up, "yoke": math.copysign(up, self.shaft.imag - at)}
        upright = cmath.phase(self.shaft + self.of("bell_crank", "driven_arm") - self.pivot) - up
        return ways | {"gear rod": upright, "bars": math.radians(self.setting) + math.pi, "lever": 0.0}

    def faces(self, x: dict[str, float]) -> bool:
        """Whether every part runs within a right angle of the way it is drawn."""
        return all(math.cos(x[name] - way) > 0 for name, way in self.ways.items() if name in x)

    def sketch(self) -> np.ndarray:
        """Rough unknowns at front dead centre."""
        r, length, _height = self.reach
        guess = dict.fromkeys(self.names, 0.0) | {"piston": length + r}
        guess |= {name: way for name, way in self.ways.items() if name in guess}
        guess["valve"] = self.shaft.real + self.of("valve_rod", "length")
        if self.rocked:
            rocker = self.dims["valve"]["rocker"]
            lean = rocker["upper_arm"] * math.sin(math.radians(rocker.get("angle", 0.0)))
            guess["valve"] = rocker["pivot_x"] + lean + self.dims["valve"]["spindle_rod"]
        return np.array([guess[name] for name in self.names])
