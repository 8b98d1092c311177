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
from typing import Any, ClassVar

import numpy as np

from linkmotion.gears import book
from linkmotion.gears.book import RADIAN, CrankMotion, Instead, Number
from linkmotion.gears.frame import (
    CRANK,
    CROSSHEAD_PIN,
    LIFTING_ARM,
    VALVE_GUIDE,
    VALVE_PIN,
    declare_crank,
    in_frame_axes,
)
from linkmotion.gears.gear import ShiftedGear
from linkmotion.gears.keys import Fault, in_degrees, in_mm, one_of
from linkmotion.gears.radius_rod import RadiusRod, RadiusRodReversing, arms_carrying, declare_radius_rod
from linkmotion.gears.return_crank_angle import BY_FOOT
from linkmotion.gears.reverser import Arm, DieHeight, ReverserPosition
from linkmotion.gears.shop_work import ShopWork, lengthened
from linkmotion.gears.slots import PINS_APART, CurvedSlot
from linkmotion.linkage import Linkage, Solution
from linkmotion.linkage.parts import XY

_KEYED_AFRESH = ShopWork(
    "return crank",
    "turn the return crank on the crank pin, its pin {} further ahead",
    "turn the return crank on the crank pin, its pin {} further back",
    2,
    6.0,
    degrees=(0.1, 10),
)
_PACKED_FORWARD = ShopWork(
    "link bracket", "pack the link bracket forward by {}", "pack the link bracket back by {}", 1, 5.0
)
_PACKED_UP = ShopWork(
    "link bracket", "pack the link bracket up by {}", "let the link bracket down by {}", 1, 5.0, offered=False
)


@dataclass(frozen=True, kw_only=True)
class ReturnCrank:
    """Return crank on the main crank pin."""

    pin_radius: Number = in_mm("radius of the return-crank pin's circle about the axle", None)
    angle: Number = in_degrees(
        "return-crank pin ahead of the crank pin, + leading in forward running",
        None,
        slips="return crank",
        work=_KEYED_AFRESH,
        readings=BY_FOOT,
    )
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

    def derived(self, crank: CrankMotion) -> dict[str, tuple[Any, str]]:
        """Pin's circle, angle, and length between the pins: two of them are given."""
        radius, angle = self.polar(crank.radius)
        return {
            "return-crank pin's circle": (radius, "length"),
            "return crank ahead of the crank pin": (np.degrees(angle), "angle"),
            "return crank, crank pin to its pin": (np.abs(crank.radius - radius * np.exp(1j * angle)), "length"),
        }

    def _pin(self, crank_radius: Number) -> Number:
        with np.errstate(invalid="ignore"):
            radius, angle = self.polar(crank_radius)
        return radius * np.exp(1j * angle)

    def polar(self, crank_radius: Number) -> tuple[Number, Number]:
        """Pin radius (mm) and angle ahead of the crank pin (radians), from either pair of figures.

        ``crank_radius`` in mm, here and in the other methods.
        """
        if self.pin_radius is not None and self.angle is not None:
            return self.pin_radius, self.angle * RADIAN
        if self.angle is not None:
            angle = self.angle * RADIAN
            across = crank_radius * np.sin(angle)
            return crank_radius * np.cos(angle) + np.sqrt(self.length**2 - across**2), angle
        cosine = (crank_radius**2 + self.pin_radius**2 - self.length**2) / (2 * crank_radius * self.pin_radius)
        return self.pin_radius, np.arccos(cosine) * (-1 if self.sense == "follows" else 1)

    def slipped(self, degrees: float, crank_radius: Number) -> ReturnCrank:
        """Turned on the main crank pin, + the way the wheel turns running forward: it keeps its length.

        Its pin goes round the crank pin, so both its radius about the axle and its angle change.
        """
        radius, angle = self.polar(crank_radius)
        pin = crank_radius + (radius * np.exp(-1j * angle) - crank_radius) * np.exp(-1j * np.radians(degrees))
        return replace(self, pin_radius=np.abs(pin), angle=-np.degrees(np.angle(pin)), length=None, sense=None)

    def as_set(self, crank_radius: Number) -> ReturnCrank:
        """By length and angle, as it is set: turned on the crank pin, it keeps its length."""
        if self.pin_radius is None:
            return self
        radius, angle = self.polar(crank_radius)
        length = np.sqrt(crank_radius**2 + radius**2 - 2 * crank_radius * radius * np.cos(angle))
        own = replace(self, length=length, angle=np.degrees(angle), pin_radius=None, sense=None)
        other_root = abs(own.polar(crank_radius)[0] - radius) > 1e-6  # between axle and crank pin: no engine has that
        return self if other_root else own


@dataclass(frozen=True, kw_only=True)
class EccentricRod:
    """Eccentric rod."""

    length: Number = in_mm(
        "eccentric rod, return-crank pin to link foot", rod="eccentric rod", work=lengthened("eccentric rod", 5, 2.0)
    )


@dataclass(frozen=True, kw_only=True)
class ExpansionLink:
    """Expansion link on its trunnions; axes of the link upright."""

    trunnion_x: Number = in_mm("trunnion ahead of the axle", signed=True, frame="x", work=_PACKED_FORWARD)
    trunnion_y: Number = in_mm("trunnion above the axle", signed=True, frame="y", work=_PACKED_UP)
    foot_drop: Number = in_mm("foot pin below the trunnion (negative above)", signed=True, pin=("foot", "below"))
    foot_backset: Number = in_mm("foot pin behind the trunnion", 0.0, signed=True, pin=("foot", "behind"))
    slot_radius: Number = in_mm("radius of the slot's centre line", slot="radius")
    slot_offset: Number = in_mm("slot centre line ahead of the trunnion at mid link", 0.0, signed=True, slot="offset")
    slot_concave_to: str = one_of("side from which the slot looks hollow", ("valve", "axle"), "valve")
    slot_top: Number = in_mm("reach of the die pin above the trunnion, along the slot", slot="top")
    slot_bottom: Number = in_mm("reach of the die pin below the trunnion, along the slot", slot="bottom")


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

    length: Number = in_mm("union link, centres", rod="union link")


@dataclass(frozen=True, kw_only=True)
class Walschaerts(ShiftedGear):
    """Dimensions of a Walschaerts gear, table by table; lengths mm, angles degrees."""

    crosshead: book.Crosshead
    reversing: RadiusRodReversing
    return_crank: ReturnCrank
    eccentric_rod: EccentricRod
    expansion_link: ExpansionLink
    radius_rod: RadiusRod
    combination_lever: CombinationLever
    union_link: UnionLink

    name: ClassVar[str] = "walschaerts"
    arms: ClassVar[tuple[tuple[str, str, str], ...]] = (
        CRANK,
        ("return crank", "crank pin", "return-crank pin"),
        LIFTING_ARM,
    )

    def own_faults(self) -> Iterator[Fault]:
        """What is wrong with the gear's own tables, if anything."""
        yield from self.return_crank.faults(self.crank.radius)
        yield from self.reversing.faults(self.radius_rod)
        link = self.expansion_link
        if not np.hypot(link.foot_drop, link.foot_backset) > PINS_APART * (link.slot_top + link.slot_bottom):
            problem = "the foot stands at the trunnion"
            yield Fault("expansion_link", "foot_drop", problem, "give the foot pin's distance below the trunnion")
        if (self._lever_x - link.trunnion_x) * self._forth < 0:
            ahead = "ahead of" if self._forth < 0 else "behind"
            problem = (
                f"the rod would run to the side to which the slot is hollow, but the lever stands {ahead} the link"
            )
            other = "valve" if self._forth < 0 else "axle"
            yield Fault("expansion_link", "slot_concave_to", problem, f'is slot_concave_to = "{other}" meant?')
        if self.combination_lever.lower_arm + self.combination_lever.upper_arm <= 0:
            problem = "the valve pin is at or below the union pin"
            yield Fault("combination_lever", "upper_arm", problem, "upper_arm may be negative, but less than lower_arm")

    @property
    def _lever_x(self) -> float:
        """About where the combination lever stands at mid stroke, mm ahead of the axle."""
        return float(np.cos(self.cylinder.inclination * RADIAN) * self.connecting_rod.length + self.crosshead.arm_x)

    @property
    def slot(self) -> CurvedSlot:
        """The link's slot, with the trunnion as origin of the link's axes."""
        link = self.expansion_link
        pins = {"trunnion": (0.0, 0.0), "foot": (-link.foot_backset, -link.foot_drop)}
        centre = (link.slot_offset + self._forth * link.slot_radius, 0.0)
        return CurvedSlot(pins, "die pin", link.slot_top, link.slot_bottom, centre, link.slot_radius, self._forth > 0)

    @property
    def _forth(self) -> int:
        """+1 when the radius rod runs toward the valve, −1 when it runs toward the axle."""
        return 1 if self.expansion_link.slot_concave_to == "valve" else -1

    def declare(self, setting: ReverserPosition) -> Linkage:
        """Declare the linkage with the reverser as set."""
        gear, link = Linkage(), self.expansion_link
        crosshead = declare_crank(gear, self.crank)
        radius, ahead = self.return_crank.polar(self.crank.radius)
        gear.crank("return-crank pin", "axle", radius, self.crank.front_direction - ahead)
        gear.fixed("trunnion", link.trunnion_x, link.trunnion_y)
        gear.pin("foot", (link.trunnion_x - link.foot_backset, link.trunnion_y - link.foot_drop))
        gear.rod("eccentric rod", "return-crank pin", "foot", self.eccentric_rod.length)
        die = (link.trunnion_x + link.slot_offset, link.trunnion_y)
        gear.pin("die pin", die)
        self.slot.declare(gear, (link.trunnion_x, link.trunnion_y), setting)
        self._declare_lever(gear, crosshead, die)
        if isinstance(setting, DieHeight):
            gear.guide("die height", "die pin", (0.0, link.trunnion_y + setting.height), 0.0)
        declare_radius_rod(gear, self.radius_rod, self.reversing, setting, die, "lever pin", self._forth)
        return gear

    def _declare_lever(self, gear: Linkage, crosshead: XY, die: XY) -> None:
        """Declare the lever, upright in the sketch, the radius rod reaching it from the die."""
        lever, valve, rod = self.combination_lever, self.valve, np.real(self.radius_rod.length)
        arm = in_frame_axes(self.crank, self.crosshead.arm_x, self.crosshead.arm_y)
        gear.pin("crosshead-arm pin", (crosshead[0] + arm[0], crosshead[1] + arm[1]))
        gear.carried("crosshead", "crosshead-arm pin", CROSSHEAD_PIN, arm)
        slope = valve.guide_inclination * RADIAN
        spindle = np.real(valve.guide_height + np.tan(slope) * (die[0] + self._forth * rod))
        fall = spindle - np.real(lever.upper_arm + die[1])
        x = np.real(die[0]) + self._forth * np.sqrt(np.maximum(rod**2 - fall**2, 0.0))
        y = spindle - np.real(lever.upper_arm)
        gear.pin("lever pin", (x, y))
        gear.pin("union pin", (x, y - lever.lower_arm))
        gear.pin(VALVE_PIN, (x + lever.offset, spindle))
        pins = {"union pin": (0.0, 0.0), "lever pin": (0.0, lever.lower_arm)}
        gear.plate("combination lever", pins | {VALVE_PIN: (lever.offset, lever.lower_arm + lever.upper_arm)})
        gear.facing("combination lever", "union pin", "lever pin", (0.0, lever.lower_arm))
        gear.rod("union link", "crosshead-arm pin", "union pin", self.union_link.length)
        gear.guide(VALVE_GUIDE, VALVE_PIN, (0.0, valve.guide_height), slope)

    def held(self, notch: DieHeight) -> ReverserPosition:
        """The die on a level line: its height, not its place along the slot, is given."""
        return notch

    def arms_carrying(self, at_front: Solution) -> list[Arm]:
        """The arm angles that carry the radius rod where it stands on front dead centre."""
        return arms_carrying(self.radius_rod, self.reversing, at_front["die pin"], at_front["lever pin"], self._forth)
