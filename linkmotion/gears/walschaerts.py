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
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from linkmotion.gears import book
from linkmotion.gears.book import RADIAN, Number
from linkmotion.gears.combination_lever import LEVER_PIN, CombinationLever, LeverTrain, UnionLink
from linkmotion.gears.drive import DrivenValve
from linkmotion.gears.frame import CRANK, LIFTING_ARM, declare_crank
from linkmotion.gears.gear import ShiftedGear
from linkmotion.gears.keys import Fault, in_mm, one_of
from linkmotion.gears.radius_rod import RadiusRod, RadiusRodReversing, arms_carrying, declare_radius_rod
from linkmotion.gears.return_crank import RETURN_CRANK, RETURN_CRANK_PIN, ReturnCrank
from linkmotion.gears.reverser import Arm, DieHeight, ReverserPosition
from linkmotion.gears.shop_work import ShopWork, lengthened
from linkmotion.gears.slots import PINS_APART, CurvedSlot
from linkmotion.linkage import Linkage, Solution

_PACKED_FORWARD = ShopWork(
    "link bracket", "pack the link bracket forward by {}", "pack the link bracket back by {}", 1, 5.0
)
_PACKED_UP = ShopWork(
    "link bracket", "pack the link bracket up by {}", "let the link bracket down by {}", 1, 5.0, offered=False
)


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
class Walschaerts(ShiftedGear):
    """Dimensions of a Walschaerts gear, table by table; lengths mm, angles degrees."""

    valve: DrivenValve
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
        (RETURN_CRANK, "crank pin", RETURN_CRANK_PIN),
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
        yield from self.lever_train.faults()

    @property
    def lever_train(self) -> LeverTrain:
        """From the crosshead to the spindle."""
        return LeverTrain(self.crosshead, self.union_link, self.combination_lever, self.valve)

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
        self.return_crank.declare(gear, self.crank)
        gear.fixed("trunnion", link.trunnion_x, link.trunnion_y)
        gear.pin("foot", (link.trunnion_x - link.foot_backset, link.trunnion_y - link.foot_drop))
        gear.rod("eccentric rod", RETURN_CRANK_PIN, "foot", self.eccentric_rod.length)
        die = (link.trunnion_x + link.slot_offset, link.trunnion_y)
        gear.pin("die pin", die)
        self.slot.declare(gear, (link.trunnion_x, link.trunnion_y), setting)
        self.lever_train.declare(gear, self.crank, crosshead, die, self._forth * self.radius_rod.length)
        if isinstance(setting, DieHeight):
            gear.guide("die height", "die pin", (0.0, link.trunnion_y + setting.height), 0.0)
        declare_radius_rod(gear, self.radius_rod, self.reversing, setting, die, LEVER_PIN, self._forth)
        return gear

    def held(self, notch: DieHeight) -> ReverserPosition:
        """The die on a level line: its height, not its place along the slot, is given."""
        return notch

    def arms_carrying(self, at_front: Solution) -> list[Arm]:
        """The arm angles that carry the radius rod where it stands on front dead centre."""
        return arms_carrying(self.radius_rod, self.reversing, at_front["die pin"], at_front[LEVER_PIN], self._forth)
