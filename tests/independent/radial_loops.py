"""Vector loops of the radial gears (Hackworth, Marshall, Joy), each of two real closures::

    axle - crank pin - crosshead pin - axle                                     connecting rod
    axle - eccentric - led pin = weighshaft - slide (or arm - swinging link)    Hackworth, Marshall
    crank pin - Joy's pin - foot = anchor link's fixed pin - foot (or guide)    Joy
    Joy's pin - lever pin - die = weighshaft - slide (or arm - swinging link)   Joy
    valve-rod pin - valve rod = guide (or rocker's lower pin)                   all
    rocker's upper pin - spindle rod = guide                                    where there is a rocker

Lengths in mm, angles in radians inside; the setting is the reversing arm's angle in degrees.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from .drawing import Dims, crank_radius
from .plane_vectors import Unknowns, Vector

KINDS = ("hackworth", "marshall", "joy")
Loops = tuple[list[Vector], dict[str, Vector]]


def cis(degrees: float) -> complex:
    """Unit vector at an angle given in degrees."""
    return cmath.exp(1j * math.radians(degrees))


@dataclass(frozen=True)
class RadialGear:
    """One gear, set."""

    dims: Dims
    kind: str
    setting: float

    def of(self, table: str, key: str) -> float:
        """A figure; nothing where it is not given."""
        return float(self.dims[table].get(key, 0.0))

    @cached_property
    def swings(self) -> bool:
        """Whether a swinging link carries the led pin."""
        return "length" in self.dims.get("swinging_link", {})

    @cached_property
    def rocked(self) -> bool:
        """Whether a rocker stands between the gear and the spindle."""
        return "rocker" in self.dims["valve"]

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Unknowns: piston and valve in mm, the led pin's place in mm or its link's angle; the rest angles."""
        own = ("link", "foot", "lever") if self.kind == "joy" else ("eccentric rod",)
        ends = ("rocker", "spindle rod") if self.rocked else ()
        return ("piston", "valve", "connecting rod", *own, "led", "valve rod", *ends)

    @cached_property
    def line_turn(self) -> complex:
        """Direction of the cylinder line."""
        return cis(self.of("cylinder", "inclination"))

    @cached_property
    def reach(self) -> tuple[float, float, float]:
        """Crank radius, connecting rod, height of the cylinder line, mm."""
        return crank_radius(self.dims), self.of("connecting_rod", "length"), self.of("cylinder", "line_height")

    @property
    def front_dead_centre(self) -> float:
        """Direction of the crank, radians, with the piston farthest from the axle."""
        r, length, height = self.reach
        return cmath.phase(self.line_turn) + math.asin(height / (length + r))

    @property
    def back_dead_centre(self) -> float:
        """Direction of the crank, radians, with the piston nearest to the axle."""
        r, length, height = self.reach
        return cmath.phase(self.line_turn) + math.pi + math.asin(height / (length - r))

    @property
    def piston_limits(self) -> tuple[float, float]:
        """Crosshead pin along the cylinder line, mm, at the back and at the front dead centre."""
        r, length, height = self.reach
        return math.sqrt((length - r) ** 2 - height**2), math.sqrt((length + r) ** 2 - height**2)

    @cached_property
    def shaft(self) -> complex:
        """The weighshaft."""
        return complex(self.of("reversing", "shaft_x"), self.of("reversing", "shaft_y"))

    @cached_property
    def standing(self) -> int:
        """+1 where the eccentric rod stands up or the valve lever's die is above its pin, else -1."""
        upright = self.of("valve_lever", "lower_arm") if self.kind == "joy" else self.shaft.imag
        return 1 if upright >= 0 else -1

    @cached_property
    def slide_radius(self) -> float:
        """+ with the centre of curvature ahead (hollow to the valve), - behind; 0 where the slide is straight."""
        slide = self.dims["slide"]
        return float(slide.get("radius", 0.0)) * {"valve": 1, "axle": -1}[slide.get("concave_to", "valve")]

    def led_pin(self, x: Unknowns) -> Vector:
        """Where the tilted path has the led pin."""
        tilt = cis(self.setting)
        if self.swings:
            upper = self.shaft + self.of("reversing", "arm") * tilt
            return upper + self.of("swinging_link", "length") * x.turn("led")
        offset, radius = self.of("slide", "offset"), self.slide_radius
        tilt *= cis(self.of("slide", "lean"))
        if not radius:
            return self.shaft + tilt * (offset + 1j * x.length("led"))
        return self.shaft + tilt * (offset + radius - radius * x.turn("led", -1 / radius))

    def die_place(self, led: float) -> float:
        """Place of the die along the slide, mm, + up."""
        return math.nan if self.swings else led

    def loops(self, x: Unknowns, crank: float) -> Loops:
        """Closures, and the pins."""
        r, length, height = self.reach
        heading = cmath.exp(1j * crank)
        rod = x.turn("connecting rod")
        closures = [r * heading + length * rod - (x.length("piston") + 1j * height) * self.line_turn]
        led = self.led_pin(x)
        more, pins = self.joy(x, r * heading, rod, led) if self.kind == "joy" else self.from_eccentric(x, heading, led)
        driven = pins["valve-rod pin"] + self.of("valve_rod", "length") * x.turn("valve rod")
        return closures + more + self.drive(x, driven), pins | {"led pin": led}

    def from_eccentric(self, x: Unknowns, heading: complex, led: Vector) -> Loops:
        """Eccentric rod, to the led pin and to the valve rod's."""
        eccentric = self.of("eccentric", "throw") * heading * cis(-self.of("eccentric", "angle"))
        along, aside = x.turn("eccentric rod"), -self.standing * self.of("eccentric_rod", "valve_pin_offset")
        taken = eccentric + along * complex(self.of("eccentric_rod", "valve_pin"), aside)
        return [eccentric + self.of("eccentric_rod", "length") * along - led], {"valve-rod pin": taken}

    def joy(self, x: Unknowns, crank_pin: complex, rod: Vector, led: Vector) -> Loops:
        """Correcting link with its foot, and the valve lever."""
        along = self.of("connecting_rod", "length") - self.of("connecting_rod", "pin")
        pin = crank_pin + rod * complex(along, self.of("connecting_rod", "pin_rise"))
        link, aside = x.turn("link"), self.standing * self.of("correcting_link", "lever_pin_offset")
        foot = pin + self.of("correcting_link", "length") * link
        lever_pin = pin + link * complex(self.of("correcting_link", "lever_pin"), aside)
        anchor = self.dims["anchor"]
        if "guide" in anchor:
            guide = anchor["guide"]
            held = complex(guide["point_x"], guide["point_y"]) + x.length("foot") * (1j * cis(-guide["lean"]))
        else:
            held = complex(anchor["pivot_x"], anchor["pivot_y"]) + anchor["length"] * x.turn("foot")
        lower, upper = self.of("valve_lever", "lower_arm"), self.of("valve_lever", "upper_arm")
        lever = x.turn("lever")
        taken = lever_pin + lever * complex(self.of("valve_lever", "offset"), lower + upper)
        return [foot - held, lever_pin + 1j * lower * lever - led], {"valve-rod pin": taken, "foot": foot}

    def drive(self, x: Unknowns, driven: Vector) -> list[Vector]:
        """From the valve rod's far end to the spindle."""
        valve = self.dims["valve"]
        spindle = 1j * float(valve["guide_height"]) + x.length("valve") * cis(float(valve.get("guide_inclination", 0)))
        if not self.rocked:
            return [driven - spindle]
        rocker = valve["rocker"]
        pivot, turn = complex(rocker["pivot_x"], rocker["pivot_y"]), x.turn("rocker")
        upper = pivot + turn * (1j * rocker["upper_arm"] * cis(-rocker.get("angle", 0.0)))
        rod = valve["spindle_rod"] * x.turn("spindle rod")
        return [driven - (pivot - 1j * rocker["lower_arm"] * turn), upper + rod - spindle]

    def faces(self, x: dict[str, float]) -> bool:
        """Whether every part runs within a right angle of the way it is drawn."""
        ways = {"valve rod": 0.0, "spindle rod": 0.0, "rocker": 0.0, "lever": 0.0}
        ways["eccentric rod"] = cmath.phase(self.shaft)
        ways["link"] = -self.standing * math.pi / 2
        if "guide" not in self.dims.get("anchor", {}):
            ways["foot"] = self.anchor_way
        if self.swings or self.slide_radius:
            ways["led"] = math.radians(self.setting) + math.pi if self.swings else 0.0
        scale = {} if self.swings else {"led": self.slide_radius or 1.0}
        return all(math.cos(x[name] / scale.get(name, 1.0) - way) > 0 for name, way in ways.items() if name in x)

    @cached_property
    def anchor_way(self) -> float:
        """The anchor link runs from its fixed pin toward Joy's pin with the crank at rest on the axle."""
        if "pivot_x" not in self.dims.get("anchor", {}):
            return 0.0
        along = self.of("connecting_rod", "length") - self.of("connecting_rod", "pin")
        rise = self.of("cylinder", "line_height") + self.of("connecting_rod", "pin_rise")
        pin = complex(along, rise) * self.line_turn
        return 0.0 if self.of("anchor", "pivot_x") < pin.real else math.pi

    def sketch(self) -> np.ndarray:
        """Rough unknowns at front dead centre."""
        r, length, height = self.reach
        guess = dict.fromkeys(self.names, 0.0) | {"piston": length + r}
        if "eccentric rod" in guess:
            guess["eccentric rod"] = cmath.phase(self.shaft)
        if self.kind == "joy":
            guess["link"] = -self.standing * math.pi / 2
            guess["foot"] = self.anchor_way
            if "guide" in self.dims["anchor"]:
                guess["foot"] = (
                    height
                    - self.dims["anchor"]["guide"]["point_y"]
                    - self.standing * self.of("correcting_link", "length")
                )
        if self.swings:
            guess["led"] = math.radians(self.setting) + math.pi
        guess["valve"] = self.shaft.real + self.of("valve_rod", "length")
        if self.rocked:
            rocker = self.dims["valve"]["rocker"]
            lean = rocker["upper_arm"] * math.sin(math.radians(rocker.get("angle", 0.0)))
            guess["valve"] = rocker["pivot_x"] + lean + self.dims["valve"]["spindle_rod"]
        return np.array([guess[name] for name in self.names])
