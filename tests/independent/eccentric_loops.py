"""Vector loops of the gears with eccentrics: Stephenson, Gooch, Allan and the plain eccentric.

Every gear is put together from the same loops, each of two real closures::

    axle - crank pin - crosshead pin - axle                                     connecting rod
    axle - forward eccentric - link - backward eccentric - axle                 the two eccentric rods
    link origin - saddle pin - lifting link (or hanger) = arm end (or bracket)  what hangs the link
    link origin - slot - radius rod - lifting link = arm end                    what hangs the radius rod
    link origin - slot (- radius rod) = guide, rocker arm or swing link         the drive's near end
    rocker arm or swing link - spindle rod = guide                              the drive's far end

`link origin` is the point of the slot's centre line at mid link. Lengths in mm, angles in radians inside.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from .drawing import Dims, crank_radius
from .plane_vectors import Unknowns, Vector, turned

KINDS = ("stephenson", "gooch", "allan", "eccentric")


def cis(degrees: float) -> complex:
    """Unit vector at an angle given in degrees."""
    return cmath.exp(1j * math.radians(degrees))


@dataclass(frozen=True)
class EccentricGear:
    """One gear, set.

    ``setting``: the weighshaft arm's angle in degrees; with suspension "ideal" the die place in mm; for the
    plain eccentric its angle ahead of the crank pin in degrees (one figure for each stop if it slips).
    """

    dims: Dims
    kind: str
    setting: float

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"unknown gear {self.kind!r}")
        if self.kind == "allan" and self.suspension != "lifting link":
            raise ValueError("an Allan gear hangs from its two lifting links")

    @cached_property
    def suspension(self) -> str:
        """What holds the link (Stephenson) or the radius rod (Gooch, Allan)."""
        return str(self.dims.get("reversing", {}).get("suspension", "lifting link"))

    @cached_property
    def drive(self) -> str:
        """ "direct", "rocker" or "hanger"."""
        return next((name for name in ("rocker", "hanger") if name in self.dims["valve"]), "direct")

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Unknowns: piston, valve, die in mm; turning parts in radians; a few in either, by the gear."""
        link = ("backward rod", "link", "link hung", "die")
        rod = ("radius rod", "rod hung")
        chain: tuple[str, ...] = {
            "stephenson": link, "gooch": link + rod, "allan": link + rod, "eccentric": (),
        }[self.kind]  # fmt: skip
        ends = {"direct": (), "rocker": ("rocker", "spindle"), "hanger": ("swing", "spindle")}[self.drive]
        return ("piston", "valve", "connecting rod", "forward rod", *chain, *ends)

    @cached_property
    def line_turn(self) -> complex:
        """Direction of the cylinder line."""
        return cis(float(self.dims["cylinder"].get("inclination", 0.0)))

    @cached_property
    def guide_turn(self) -> complex:
        """Direction of the valve guide."""
        return cis(float(self.dims["valve"].get("guide_inclination", 0.0)))

    @cached_property
    def reach(self) -> tuple[float, float, float]:
        """Crank radius, connecting rod, height of the cylinder line, mm."""
        height = float(self.dims["cylinder"].get("line_height", 0.0))
        return crank_radius(self.dims), float(self.dims["connecting_rod"]["length"]), height

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
    def slot_side(self) -> int:
        """+1 concave to the valve, -1 to the axle, 0 straight."""
        if self.kind == "allan":
            return 0
        return {"valve": 1, "axle": -1}[self.dims["expansion_link"]["slot_concave_to"]]

    @property
    def rod_side(self) -> int:
        """+1 when the radius rod runs forward from the die, -1 when it runs toward the axle."""
        return -1 if self.slot_side < 0 else 1

    def of_link(self, pin: str) -> complex:
        """The pin "forward_pin", "backward_pin" or "saddle" in link axes."""
        table = self.dims["expansion_link"]
        return complex(table[f"{pin}_x"], table[f"{pin}_y"])

    def eccentric(self, which: str) -> complex:
        """Centre of an eccentric over the direction of the crank."""
        if self.kind == "eccentric":
            return float(self.dims["eccentric"]["throw"]) * cis(-self.setting)
        table = self.dims["eccentrics"]
        return float(table[f"{which}_throw"]) * cis(-float(table[f"{which}_angle"]))

    def arm_end(self, arm: str = "arm") -> complex:
        """End of the weighshaft's arm; ``arm`` "rod_arm" is the Allan gear's second one."""
        table = self.dims["reversing"]
        angle = self.setting + (float(table["rod_arm_angle"]) if arm == "rod_arm" else 0.0)
        return complex(table["shaft_x"], table["shaft_y"]) + float(table[arm]) * cis(angle)

    def link_hangs_from(self) -> tuple[complex, float]:
        """Point that carries the saddle pin, and the length of the link between them."""
        if self.kind == "gooch":
            table = self.dims["expansion_link"]
            return complex(table["hanger_x"], table["hanger_y"]), float(table["hanger"])
        return self.arm_end(), float(self.dims["reversing"]["lifting_link"])

    def rod_hangs_from(self) -> tuple[complex, float]:
        """Arm end that carries the radius rod, and the length of the lifting link between them."""
        if self.kind == "allan":
            return self.arm_end("rod_arm"), float(self.dims["reversing"]["rod_lifting_link"])
        return self.arm_end(), float(self.dims["reversing"]["lifting_link"])

    def loops(self, at: Any, crank: Any) -> tuple[list[Vector], dict[str, Vector]]:
        """All closures, and the pins by name, with the crank in direction ``crank`` (radians)."""
        heading = turned(crank)  # one direction, or many at once
        r, length, height = self.reach
        crosshead = (at.length("piston") + 1j * height) * self.line_turn
        closures = [r * heading + length * at.turn("connecting rod") - crosshead]
        pins = {"crosshead pin": crosshead}
        if self.kind == "eccentric":
            rod = float(self.dims["eccentric_rod"]["length"]) * at.turn("forward rod")
            pins["driving pin"] = self.eccentric("forward") * heading + rod
        else:
            closures += self.link(at, heading, pins)
        return closures + self.to_spindle(at, pins), pins

    def link(self, at: Any, heading: Any, pins: dict[str, Vector]) -> list[Vector]:
        """Close the eccentric rods, the link's hanging and, where there is one, the radius rod."""
        rods, turn = self.dims["eccentric_rods"], at.turn("link")
        forward = self.eccentric("forward") * heading + float(rods["forward"]) * at.turn("forward rod")
        backward = self.eccentric("backward") * heading + float(rods["backward"]) * at.turn("backward rod")
        origin = forward - turn * self.of_link("forward_pin")
        saddle, die = origin + turn * self.of_link("saddle"), origin + turn * self.slot(at)
        pins |= {"forward pin": forward, "backward pin": backward, "saddle pin": saddle, "die pin": die}
        pins |= {"mid link": origin, "driving pin": die}
        closures = [backward - origin - turn * self.of_link("backward_pin")]
        if self.kind == "stephenson" and self.suspension == "ideal":
            closures.append(self.held(at, "link hung"))
        else:
            bracket, hanger = self.link_hangs_from()
            closures.append(saddle + hanger * at.turn("link hung") - bracket)
        if self.kind != "stephenson":
            closures.append(self.radius_rod(at, pins))
        return closures

    def slot(self, at: Unknowns) -> Vector:
        """Die pin in link axes at the unknown place along the slot."""
        ahead = self.dims["expansion_link"].get("slot_offset", 0.0)  # one figure, or one for each place of the crank
        if self.kind == "allan":
            return 1j * at.length("die") + ahead
        side, radius = self.slot_side, float(self.dims["expansion_link"]["slot_radius"])
        return ahead + side * radius - side * radius * at.turn("die", -side / radius)

    def held(self, at: Unknowns, idle: str) -> Vector:
        """Suspension "ideal": the die kept at its place, the unknown of the missing part kept at nought."""
        return at.length("die") - self.setting + 1j * at.length(idle)

    def radius_rod(self, at: Unknowns, pins: dict[str, Vector]) -> Vector:
        """Place the radius rod's front pin, and close what holds the rod up."""
        table, along, die = self.dims["radius_rod"], at.turn("radius rod"), pins["die pin"]
        rise = 1j * self.rod_side * float(table.get("lift_pin_rise", 0.0))
        pins["driving pin"] = die + float(table["length"]) * along
        if self.suspension == "ideal":
            return self.held(at, "rod hung")
        end, hanger = self.rod_hangs_from()
        if self.suspension == "sliding block":
            return die + along * (at.length("rod hung") + rise) - end
        pins["lift pin"] = die + along * (float(table["lift_pin"]) + rise)
        return pins["lift pin"] + hanger * at.turn("rod hung") - end

    def to_spindle(self, at: Unknowns, pins: dict[str, Vector]) -> list[Vector]:
        """Close the drive from the driving pin to the spindle pin on its guide."""
        valve, driving = self.dims["valve"], pins["driving pin"]
        foot = 1j * float(valve["guide_height"])
        pins["valve pin"] = spindle = foot + at.length("valve") * self.guide_turn
        if self.drive == "direct":
            return [driving - spindle]
        table = valve[self.drive]
        pivot, upper = complex(table["pivot_x"], table["pivot_y"]), driving
        if self.drive == "hanger":
            near = driving - pivot - float(table["length"]) * at.turn("swing")
        else:
            turn = at.turn("rocker")
            near = driving - pivot + 1j * float(table["lower_arm"]) * turn
            pins["rocker pin"] = upper = pivot + 1j * float(table["upper_arm"]) * cis(-float(table["angle"])) * turn
        if "spindle_rod" in valve:
            return [near, upper + float(valve["spindle_rod"]) * at.turn("spindle") - spindle]
        # the rocker's pin works in a block square to the spindle: "spindle" is its height over the guide
        return [near, upper - spindle - 1j * self.guide_turn * at.length("spindle")]
