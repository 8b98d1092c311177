"""A link rocked on fixed trunnions, whose motion a radius rod takes to a combination lever.

What drives the foot of the link is each gear's own: a return crank (Walschaerts), an eccentric, or the other side's
crosshead.

The assembly: the die in the part of the slot near the trunnion; the radius rod running toward the side from which the
slot is concave; the lever upright, its union pin under the radius-rod pin; the lifting link hanging when the arm's end
is above the rod, standing when it is below.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from linkmotion.gears import book
from linkmotion.gears.book import RADIAN, Number
from linkmotion.gears.combination_lever import LEVER_PIN, CombinationLever, LeverTrain, UnionLink
from linkmotion.gears.drive import DrivenValve
from linkmotion.gears.frame import declare_crank
from linkmotion.gears.gear import ShiftedGear
from linkmotion.gears.keys import Fault, in_mm, one_of
from linkmotion.gears.radius_rod import RadiusRod, RadiusRodReversing, arms_carrying, declare_radius_rod
from linkmotion.gears.reverser import Arm, DieHeight, ReverserPosition
from linkmotion.gears.shop_work import ShopWork
from linkmotion.gears.slots import PINS_APART, CurvedSlot, StraightSlot
from linkmotion.linkage import Linkage, Solution
from linkmotion.linkage.parts import XY

FOOT = "foot"
_PACKED_FORWARD = ShopWork(
    "link bracket", "pack the link bracket forward by {}", "pack the link bracket back by {}", 1, 5.0
)
_PACKED_UP = ShopWork(
    "link bracket", "pack the link bracket up by {}", "let the link bracket down by {}", 1, 5.0, offered=False
)


@dataclass(frozen=True, kw_only=True)
class ExpansionLink:
    """Expansion link on its trunnions; axes of the link upright."""

    trunnion_x: Number = in_mm("trunnion ahead of the axle", signed=True, frame="x", work=_PACKED_FORWARD)
    trunnion_y: Number = in_mm("trunnion above the axle", signed=True, frame="y", work=_PACKED_UP)
    foot_drop: Number = in_mm("foot pin below the trunnion (negative above)", signed=True, pin=("foot", "below"))
    foot_backset: Number = in_mm("foot pin behind the trunnion", 0.0, signed=True, pin=("foot", "behind"))
    slot_form: str = one_of("form of the slot", ("curved", "straight"), "curved")
    slot_radius: Number = in_mm("radius of the slot's centre line, where it is curved", None, slot="radius")
    slot_offset: Number = in_mm("slot centre line ahead of the trunnion at mid link", 0.0, signed=True, slot="offset")
    slot_concave_to: str = one_of(
        "side from which the slot looks hollow, to which the radius rod runs", ("valve", "axle"), "valve"
    )
    slot_top: Number = in_mm("reach of the die pin above the trunnion, along the slot", slot="top")
    slot_bottom: Number = in_mm("reach of the die pin below the trunnion, along the slot", slot="bottom")

    def faults(self) -> Iterator[Fault]:
        """What is wrong with the slot's form, if anything."""
        if self.slot_form == "curved" and self.slot_radius is None:
            yield Fault(
                "expansion_link",
                "slot_radius",
                "a curved slot needs it",
                "give it, or say by slot_form that it is straight",
            )
        if self.slot_form == "straight" and self.slot_radius is not None:
            yield Fault("expansion_link", "slot_radius", "a straight slot has none", "leave it out, or slot_form")


class RockedLinkGear(ShiftedGear):
    """A gear with such a link. Each declares the tables itself, in the order in which its parts follow one another."""

    valve: DrivenValve
    crosshead: book.Crosshead
    reversing: RadiusRodReversing
    expansion_link: ExpansionLink
    radius_rod: RadiusRod
    combination_lever: CombinationLever
    union_link: UnionLink

    die_read: ClassVar[str] = "die pin above the trunnion"

    def own_faults(self) -> Iterator[Fault]:
        """What is wrong with the gear's own tables, if anything."""
        yield from self.reversing.faults(self.radius_rod)
        yield from self.expansion_link.faults()
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
    def slot(self) -> CurvedSlot | StraightSlot:
        """The link's slot, with the trunnion as origin of the link's axes."""
        link = self.expansion_link
        pins: dict[str, XY] = {"trunnion": (0.0, 0.0), FOOT: (-link.foot_backset, -link.foot_drop)}
        if link.slot_form == "straight":
            return StraightSlot(pins, "die pin", link.slot_top, link.slot_bottom, link.slot_offset)
        centre = (link.slot_offset + self._forth * link.slot_radius, 0.0)
        return CurvedSlot(pins, "die pin", link.slot_top, link.slot_bottom, centre, link.slot_radius, self._forth > 0)

    @property
    def _forth(self) -> int:
        """+1 when the radius rod runs toward the valve, −1 when it runs toward the axle."""
        return 1 if self.expansion_link.slot_concave_to == "valve" else -1

    @abstractmethod
    def declare_driver(self, gear: Linkage) -> tuple[str, str, Number]:
        """Declare the pin that works the link's foot; gives the rod's name, that pin, and the rod's length, mm.

        Parameters
        ----------
        gear : Linkage
            With crank and crosshead declared.
        """

    def declare(self, setting: ReverserPosition) -> Linkage:
        """Declare the linkage with the reverser as set."""
        gear = Linkage()
        self.declare_in(gear, setting)
        return gear

    def declare_in(self, gear: Linkage, setting: ReverserPosition) -> None:
        """Declare the gear on a linkage that has none of its pins.

        Parameters
        ----------
        gear : Linkage
            Where its pins and parts go.
        setting : ReverserPosition
            As for :meth:`declare`.
        """
        link = self.expansion_link
        crosshead = declare_crank(gear, self.crank)
        rod, driver, length = self.declare_driver(gear)
        gear.fixed("trunnion", link.trunnion_x, link.trunnion_y)
        gear.pin(FOOT, (link.trunnion_x - link.foot_backset, link.trunnion_y - link.foot_drop))
        gear.rod(rod, driver, FOOT, length)
        die = (link.trunnion_x + link.slot_offset, link.trunnion_y)
        gear.pin("die pin", die)
        self.slot.declare(gear, (link.trunnion_x, link.trunnion_y), setting)
        self.lever_train.declare(gear, self.crank, crosshead, die, self._forth * self.radius_rod.length)
        if isinstance(setting, DieHeight):
            gear.guide("die height", "die pin", (0.0, link.trunnion_y + setting.height), 0.0)
        declare_radius_rod(gear, self.radius_rod, self.reversing, setting, die, LEVER_PIN, self._forth)

    def held(self, notch: DieHeight) -> ReverserPosition:
        """The die on a level line: its height, not its place along the slot, is given."""
        return notch

    def die_height(self, solution: Solution) -> Any:
        """Of the die pin above the trunnion."""
        return np.imag(solution["die pin"] - solution["trunnion"])

    def arms_carrying(self, at_front: Solution) -> list[Arm]:
        """The arm angles that carry the radius rod where it stands on front dead centre."""
        return arms_carrying(self.radius_rod, self.reversing, at_front["die pin"], at_front[LEVER_PIN], self._forth)
