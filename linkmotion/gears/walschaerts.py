"""Walschaerts gear.

A return crank swings a link on fixed trunnions through an eccentric rod; a radius rod takes the
link's motion from a die at the height chosen by the reverser to a combination lever, which adds
to it the lap-and-lead movement taken from the crosshead.

The assembly: the foot on its own side of the line from the axle to the trunnion; the die in the
part of the slot's circle near the trunnion; the radius rod running toward the side from which the
slot is concave; the lever upright, its union pin under the radius-rod pin; the lifting link
hanging when the arm's end is above the rod, standing when it is below.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from linkmotion.gears import book
from linkmotion.gears.book import RADIAN, CrankMotion, Fault, Instead, Number, in_degrees, in_mm, one_of
from linkmotion.gears.reverser import Arm, DieHeight, DieHeld, Setting, Slot
from linkmotion.linkage import Linkage, Wheel, solve
from linkmotion.linkage.parts import XY


@dataclass(frozen=True, kw_only=True)
class ReturnCrank:
    """Return crank on the main crank pin."""

    pin_radius: Number = in_mm("radius of the return-crank pin's circle about the axle", None)
    angle: Number = in_degrees("return-crank pin ahead of the crank pin, + leading in forward running", None)
    length: Number = in_mm("crank pin to return-crank pin", None)
    sense: str | None = one_of(
        "whether the pin leads or follows, when only length and pin_radius are given", ("leads", "follows"), None
    )

    INSTEAD: ClassVar[Instead] = (
        (("pin_radius", "angle"), ("length", "sense")),
        (("length", "angle"), ("pin_radius", "sense")),
        (("length", "pin_radius"), ("angle",)),
    )

    def faults(self, crank_radius: Number) -> Iterator[Fault]:
        """What is wrong with these figures, if anything."""
        given = [key for key in ("pin_radius", "angle", "length") if getattr(self, key) is not None]
        if len(given) != 2:
            yield Fault(
                "return_crank",
                "pin_radius",
                f"two figures are wanted, {len(given)} are given",
                "give two of pin_radius, angle and length",
            )
            return
        if "angle" not in given and self.sense is None:
            yield Fault(
                "return_crank",
                "sense",
                "length and pin_radius leave two places for the pin",
                'say sense = "leads" or "follows" (seen in forward running)',
            )
        if not np.isfinite(self._pin(crank_radius)):
            yield Fault(
                "return_crank",
                "length",
                "no return-crank pin fits these figures",
                "the length must reach from the crank pin to the pin's circle",
            )

    def _pin(self, crank_radius: Number) -> Number:
        with np.errstate(invalid="ignore"):
            radius, angle = self.polar(crank_radius)
        return radius * np.exp(1j * angle)

    def polar(self, crank_radius: Number) -> tuple[Number, Number]:
        """Pin radius (mm) and angle ahead of the crank pin (radians), from either pair of figures."""
        if self.pin_radius is not None and self.angle is not None:
            return self.pin_radius, self.angle * RADIAN
        if self.angle is not None:
            angle = self.angle * RADIAN
            across = crank_radius * np.sin(angle)
            return crank_radius * np.cos(angle) + np.sqrt(self.length**2 - across**2), angle
        cosine = (crank_radius**2 + self.pin_radius**2 - self.length**2) / (2 * crank_radius * self.pin_radius)
        return self.pin_radius, np.arccos(cosine) * (-1 if self.sense == "follows" else 1)


@dataclass(frozen=True, kw_only=True)
class EccentricRod:
    """Eccentric rod."""

    length: Number = in_mm("eccentric rod, return-crank pin to link foot")


@dataclass(frozen=True, kw_only=True)
class ExpansionLink:
    """Expansion link on its trunnions; axes of the link upright."""

    trunnion_x: Number = in_mm("trunnion ahead of the axle", signed=True)
    trunnion_y: Number = in_mm("trunnion above the axle", signed=True)
    foot_drop: Number = in_mm("foot pin below the trunnion (negative above)", signed=True)
    foot_backset: Number = in_mm("foot pin behind the trunnion", 0.0, signed=True)
    slot_radius: Number = in_mm("radius of the slot's centre line")
    slot_offset: Number = in_mm("slot centre line ahead of the trunnion at mid link", 0.0, signed=True)
    slot_concave_to: str = one_of("side from which the slot looks hollow", ("valve", "axle"), "valve")
    slot_top: Number = in_mm("reach of the die pin above the trunnion, along the slot")
    slot_bottom: Number = in_mm("reach of the die pin below the trunnion, along the slot")


@dataclass(frozen=True, kw_only=True)
class RadiusRod:
    """Radius rod."""

    length: Number = in_mm("die pin to combination-lever pin")
    lift_pin: Number = in_mm(
        "lift pin from the die pin toward the lever (negative: tail behind the link)", None, signed=True
    )
    lift_pin_rise: Number = in_mm("lift pin above the rod's line", 0.0, signed=True)


@dataclass(frozen=True, kw_only=True)
class CombinationLever:
    """Combination lever."""

    lower_arm: Number = in_mm("union-link pin to radius-rod pin")
    upper_arm: Number = in_mm(
        "radius-rod pin to valve pin: + valve pin above (outside admission), − below (inside)", signed=True
    )
    offset: Number = in_mm("valve pin ahead of the lever's line", 0.0, signed=True)


@dataclass(frozen=True, kw_only=True)
class UnionLink:
    """Union link."""

    length: Number = in_mm("union link, centres")


@dataclass(frozen=True, kw_only=True)
class RadiusRodReversing(book.Reversing):
    """Weighshaft, and how it carries the radius rod."""

    suspension: str = one_of(
        "how the radius rod is carried", ("lifting link", "sliding block", "ideal"), "lifting link"
    )


@dataclass(frozen=True, kw_only=True)
class Walschaerts:
    """Dimensions of a Walschaerts gear, table by table; lengths mm, angles degrees."""

    cylinder: book.Cylinder
    connecting_rod: book.ConnectingRod
    crosshead: book.Crosshead
    valve: book.Valve
    reversing: RadiusRodReversing
    return_crank: ReturnCrank
    eccentric_rod: EccentricRod
    expansion_link: ExpansionLink
    radius_rod: RadiusRod
    combination_lever: CombinationLever
    union_link: UnionLink

    name: ClassVar[str] = "walschaerts"
    valve_pin: ClassVar[str] = "valve pin"
    crosshead_pin: ClassVar[str] = "crosshead pin"
    valve_guide: ClassVar[str] = "valve guide"
    frame_bars: ClassVar[tuple[tuple[str, str, str], ...]] = (("lifting arm", "weighshaft", "arm pin"),)

    def faults(self) -> Iterator[Fault]:
        """What is wrong with the figures before anything is turned: key, problem, remedy."""
        crank = list(self.cylinder.faults(self.connecting_rod))
        yield from crank
        yield from self.valve.faults(self.reversing.notches)
        if not crank:
            yield from self.return_crank.faults(self.crank.radius)
        suspension = self.reversing.suspension
        wanted = {
            "lifting link": ("shaft_x", "shaft_y", "arm", "lifting_link"),
            "sliding block": ("shaft_x", "shaft_y", "arm"),
            "ideal": (),
        }[suspension]
        for key in wanted:
            if getattr(self.reversing, key) is None:
                yield Fault(
                    "reversing", key, f"the suspension {suspension!r} needs it", "give it, or change suspension"
                )
        if suspension == "lifting link" and self.radius_rod.lift_pin is None:
            yield Fault("radius_rod", "lift_pin", "the lifting link needs its pin on the rod", "give lift_pin")
        arms = [name for name, notch in self.reversing.notches.items() if isinstance(notch, Arm)]
        if suspension == "ideal" and arms and None in (self.reversing.lifting_link, self.radius_rod.lift_pin):
            yield Fault(
                "reversing",
                "notches",
                f"notch {arms[0]!r} is an arm angle, but no lifting link is given",
                "give { die = height } with the ideal suspension",
            )
        total = self.combination_lever.lower_arm + self.combination_lever.upper_arm
        if total <= 0:
            yield Fault(
                "combination_lever",
                "upper_arm",
                "the valve pin is at or below the union pin",
                "upper_arm may be negative, but less than lower_arm",
            )

    @property
    def crank(self) -> CrankMotion:
        """Crank, connecting rod and cylinder line."""
        return CrankMotion.of(self.cylinder, self.connecting_rod)

    @property
    def slot(self) -> Slot:
        """The link's slot, with the trunnion as origin of the link's axes."""
        link = self.expansion_link
        ahead = link.slot_offset + self._forth * link.slot_radius
        return Slot(
            "trunnion",
            "foot",
            (0.0, 0.0),
            (-link.foot_backset, -link.foot_drop),
            (ahead, 0.0),
            "die pin",
            link.slot_radius,
            self._forth > 0,
            link.slot_top,
            link.slot_bottom,
        )

    @property
    def _forth(self) -> int:
        """+1 when the radius rod runs toward the valve, −1 when it runs toward the axle."""
        return 1 if self.expansion_link.slot_concave_to == "valve" else -1

    def declare(self, setting: Setting) -> Linkage:
        """Declare the linkage with the reverser as set."""
        gear = Linkage()
        near = self._sketch()
        link, rod = self.expansion_link, self.radius_rod
        self._declare_crank_side(gear, near)
        gear.fixed("trunnion", link.trunnion_x, link.trunnion_y)
        gear.pin("foot", near["foot"])
        gear.rod("eccentric rod", "return-crank pin", "foot", self.eccentric_rod.length)
        gear.pin("die pin", near["die pin"])
        plate = {"trunnion": (0.0, 0.0), "foot": (-link.foot_backset, -link.foot_drop)}
        if isinstance(setting, DieHeld):
            gear.plate("expansion link", plate | {"die pin": self.slot.at(setting.place)})
        else:
            gear.pin("slot centre", near["slot centre"])
            centre = (link.slot_offset + self._forth * link.slot_radius, 0.0)
            gear.plate("expansion link", plate | {"slot centre": centre})
            gear.rod("slot", "die pin", "slot centre", link.slot_radius)
        for pin in ("lever pin", "union pin", self.valve_pin):
            gear.pin(pin, near[pin])
        self._declare_lever(gear)
        if isinstance(setting, DieHeld):
            gear.rod("radius rod", "die pin", "lever pin", rod.length)
        else:
            self._declare_suspension(gear, near, setting)
        return gear

    def _declare_crank_side(self, gear: Linkage, near: dict[str, XY]) -> None:
        crank, slope = self.crank, self.cylinder.inclination * RADIAN
        radius, ahead = self.return_crank.polar(crank.radius)
        gear.fixed("axle", 0.0, 0.0)
        gear.crank("crank pin", "axle", crank.radius, crank.front)
        gear.crank("return-crank pin", "axle", radius, crank.front - ahead)
        gear.pin(self.crosshead_pin, near[self.crosshead_pin])
        gear.rod("connecting rod", "crank pin", self.crosshead_pin, self.connecting_rod.length)
        gear.guide("slidebars", self.crosshead_pin, self._line_foot(), slope)
        gear.pin("crosshead-arm pin", near["crosshead-arm pin"])
        gear.carried("crosshead", "crosshead-arm pin", self.crosshead_pin, self._arm())

    def _declare_lever(self, gear: Linkage) -> None:
        lever, valve = self.combination_lever, self.valve
        gear.plate(
            "combination lever",
            {
                "union pin": (0.0, 0.0),
                "lever pin": (0.0, lever.lower_arm),
                self.valve_pin: (lever.offset, lever.lower_arm + lever.upper_arm),
            },
        )
        gear.rod("union link", "crosshead-arm pin", "union pin", self.union_link.length)
        gear.guide(self.valve_guide, self.valve_pin, (0.0, valve.guide_height), valve.guide_inclination * RADIAN)

    def _declare_suspension(self, gear: Linkage, near: dict[str, XY], setting: Setting) -> None:
        rod, shaft = self.radius_rod, self.reversing
        if isinstance(setting, DieHeight):
            height = self.expansion_link.trunnion_y + setting.height
            gear.guide("die height", "die pin", (0.0, height), 0.0)
        if shaft.suspension == "ideal":
            gear.rod("radius rod", "die pin", "lever pin", rod.length)
            return
        hung = shaft.suspension != "sliding block"
        places: dict[str, XY] = {"die pin": (0.0, 0.0), "lever pin": (rod.length, 0.0)}
        rise = rod.lift_pin_rise * self._forth
        if hung:
            gear.pin("lift pin", near["lift pin"])
            places["lift pin"] = (rod.lift_pin, rise)
        gear.plate("radius rod", places)
        self._declare_arm(gear, near, setting)
        if hung:
            gear.rod("lifting link", "arm pin", "lift pin", shaft.lifting_link)
        else:
            gear.slide("swivel block", "arm pin", "die pin", "lever pin", rise)

    def _declare_arm(self, gear: Linkage, near: dict[str, XY], setting: Setting) -> None:
        shaft = self.reversing
        gear.fixed("weighshaft", shaft.shaft_x, shaft.shaft_y)
        if isinstance(setting, Arm):
            angle = setting.angle * RADIAN
            x, y = shaft.shaft_x + shaft.arm * np.cos(angle), shaft.shaft_y + shaft.arm * np.sin(angle)
            gear.fixed("arm pin", x, y)
            if shaft.suspension == "lifting link":
                below = np.where(np.real(y) > np.real(near["lift pin"][1]), -1.0, 1.0)
                gear.near[gear.names["lift pin"]] = (np.real(x), np.real(y) + below * np.real(shaft.lifting_link))
            return
        assert isinstance(setting, DieHeight)
        gear.pin("arm pin", self._arm_sketch(near, setting))
        gear.rod("lifting arm", "weighshaft", "arm pin", shaft.arm)

    def _arm_sketch(self, near: dict[str, XY], setting: DieHeight) -> XY:
        """Sketch of the arm's end where a die height asks for it.

        Of its two places, the one with the lifting link more nearly upright; with a sliding block,
        the one nearer the die.
        """
        shaft = self.reversing
        if shaft.suspension == "sliding block":
            return near["die pin"]
        pivot = np.real(shaft.shaft_x) + 1j * np.real(shaft.shaft_y)
        place = near["lift pin"]
        hung = np.real(place[0]) + 1j * (np.real(place[1]) + np.real(setting.height))
        base = hung - pivot
        along = (np.abs(base) ** 2 + shaft.arm**2 - shaft.lifting_link**2) / (2 * np.abs(base))
        rise = np.sqrt(np.maximum(shaft.arm**2 - along**2, 0.0))
        both = [pivot + base / np.abs(base) * (along + 1j * side * rise) for side in (1, -1)]
        lean = [np.abs(end.real - hung.real) for end in both]
        end = np.where(lean[0] <= lean[1], both[0], both[1])
        return end.real, end.imag

    def _line_foot(self) -> XY:
        """Point of the cylinder line nearest the axle."""
        slope, height = self.cylinder.inclination * RADIAN, self.cylinder.line_height
        return -height * np.sin(slope), height * np.cos(slope)

    def _arm(self) -> XY:
        """Crosshead arm in the frame's axes."""
        slope, arm = self.cylinder.inclination * RADIAN, self.crosshead
        return (
            arm.arm_x * np.cos(slope) - arm.arm_y * np.sin(slope),
            arm.arm_x * np.sin(slope) + arm.arm_y * np.cos(slope),
        )

    def _sketch(self) -> dict[str, XY]:
        """Where the pins stand, roughly, with the link upright and the piston at mid-stroke."""
        link, rod, lever, valve = self.expansion_link, self.radius_rod, self.combination_lever, self.valve
        slope, foot = self.cylinder.inclination * RADIAN, self._line_foot()
        x, y = (
            foot[0] + self.connecting_rod.length * np.cos(slope),
            foot[1] + self.connecting_rod.length * np.sin(slope),
        )
        arm = self._arm()
        die = (link.trunnion_x + link.slot_offset, link.trunnion_y)
        spindle = valve.guide_height + np.tan(valve.guide_inclination * RADIAN) * (die[0] + self._forth * rod.length)
        fall = np.real(spindle - lever.upper_arm - die[1]) + 0.0
        pin_x = np.real(die[0]) + self._forth * np.sqrt(np.maximum(np.real(rod.length) ** 2 - fall**2, 0.0))
        near = {
            self.crosshead_pin: (x, y),
            "crosshead-arm pin": (x + arm[0], y + arm[1]),
            "foot": (link.trunnion_x - link.foot_backset, link.trunnion_y - link.foot_drop),
            "slot centre": (die[0] + self._forth * link.slot_radius, die[1]),
            "die pin": die,
            "lever pin": (pin_x, die[1] + fall),
            "union pin": (pin_x, die[1] + fall - lever.lower_arm),
            self.valve_pin: (pin_x + lever.offset, spindle),
        }
        if rod.lift_pin is not None:
            near["lift pin"] = (die[0] + self._forth * rod.lift_pin, die[1] + rod.lift_pin_rise)
        return near

    def arm_setting(self, notch: Arm | DieHeight) -> Setting:
        """The reverser's setting in a notch: a die height is turned into the arm angle that gives it.

        With the ideal suspension the die is held where it stands at front dead centre.
        """
        ideal = self.reversing.suspension == "ideal"
        if isinstance(notch, Arm) and not ideal:
            return notch
        gear = self.hung() if isinstance(notch, Arm) else self
        at_front = solve(gear.declare(notch), Wheel.at(0.0), alone=True)
        if ideal:
            return DieHeld(self.slot.die_place(at_front))
        arm = at_front["arm pin"] - at_front["weighshaft"]
        return Arm(np.degrees(np.angle(arm)))

    def hung(self) -> Walschaerts:
        """The same gear with its real lifting link (to find where an ideal suspension holds the die)."""
        return replace(self, reversing=replace(self.reversing, suspension="lifting link"))
