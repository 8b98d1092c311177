"""Gooch link motion: the link hangs from a fixed point, the reverser shifts the radius rod.

The assembly: the link ahead of the axle, roughly upright, its saddle pin hanging from the fixed pivot
when that is above the driving pin's level, standing on it when below; the radius rod running toward the
side from which the slot is concave.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from linkmotion.gears.book import Number
from linkmotion.gears.drive import declare_drive
from linkmotion.gears.eccentrics import CurvedEccentricLink, LinkMotion, curved_slot
from linkmotion.gears.frame import declare_hanging, hung_from
from linkmotion.gears.keys import Fault, in_mm
from linkmotion.gears.radius_rod import RadiusRod, RadiusRodReversing, arms_carrying, declare_radius_rod
from linkmotion.gears.reverser import Arm, ReverserPosition
from linkmotion.gears.shop_work import lengthened
from linkmotion.gears.slots import CurvedSlot
from linkmotion.linkage import Linkage, Solution


@dataclass(frozen=True, kw_only=True)
class HungLink(CurvedEccentricLink):
    """Link hung from a fixed point; axes of the link upright, origin on the slot centre line at mid link."""

    hanger_x: Number = in_mm("fixed pivot of the suspension link ahead of the axle", signed=True, frame="x")
    hanger_y: Number = in_mm("fixed pivot of the suspension link above the axle", signed=True, frame="y")
    hanger: Number = in_mm(
        "suspension link, fixed pivot to saddle pin",
        rod="suspension link",
        work=lengthened("link's suspension link", 3, 3.0, offered=False),
    )


@dataclass(frozen=True)
class Gooch(LinkMotion):
    """Dimensions of a Gooch link motion, table by table; lengths mm, angles degrees."""

    reversing: RadiusRodReversing
    expansion_link: HungLink
    radius_rod: RadiusRod

    name: ClassVar[str] = "gooch"

    def own_faults(self) -> Iterator[Fault]:
        """What is wrong with the link's and the suspension's figures, if anything."""
        yield from super().own_faults()
        yield from self.reversing.faults(self.radius_rod)

    @property
    def slot(self) -> CurvedSlot:
        """The link's slot."""
        return curved_slot(self.expansion_link)

    def declare(self, setting: ReverserPosition) -> Linkage:
        """Declare the linkage with the reverser as set."""
        gear, link, rod = self.declare_wheel(), self.expansion_link, self.radius_rod
        pivot = (link.hanger_x, link.hanger_y)
        level = self.valve.driven_at(link.hanger_x + rod.length)[1]
        saddle = hung_from(pivot, link.hanger, level)
        origin = link.origin(self.eccentric_rods, saddle[1] - link.saddle_y)
        self.declare_link_pins(gear, link, origin)
        gear.fixed("link hanger", *pivot)
        declare_hanging(gear, "suspension link", "link hanger", link.saddle_pin, link.hanger)
        gear.pin("die pin", origin)
        self.slot.declare(gear, origin, setting)
        forth = self._forth
        end = np.real(origin[0] + forth * rod.length)
        gear.pin("rod pin", (end, self.valve.driven_at(end)[1]))
        declare_drive(gear, self.valve, "rod pin")
        declare_radius_rod(gear, rod, self.reversing, setting, origin, "rod pin", forth)
        return gear

    @property
    def _forth(self) -> int:
        """+1 when the radius rod runs toward the valve, −1 when it runs toward the axle."""
        return 1 if self.expansion_link.slot_concave_to == "valve" else -1

    def arms_carrying(self, at_front: Solution) -> list[Arm]:
        """The arm angles that carry the radius rod where it stands on front dead centre."""
        return arms_carrying(self.radius_rod, self.reversing, at_front["die pin"], at_front["rod pin"], self._forth)
