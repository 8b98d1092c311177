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

from linkmotion.gears.book import Fault, Number, in_mm
from linkmotion.gears.drive import DrivenValve, declare_drive
from linkmotion.gears.eccentrics import (
    CurvedEccentricLink,
    EccentricRods,
    Eccentrics,
    curved_slot,
    declare_eccentrics,
    declare_link_pins,
)
from linkmotion.gears.frame import CRANK, ECCENTRICS, LIFTING_ARM, declare_crank, hung_from
from linkmotion.gears.gear import ShiftedGear
from linkmotion.gears.radius_rod import RadiusRod, RadiusRodReversing, declare_radius_rod
from linkmotion.gears.reverser import DieHeight, DieHeld, Setting
from linkmotion.gears.slots import CurvedSlot
from linkmotion.linkage import Linkage


@dataclass(frozen=True, kw_only=True)
class HungLink(CurvedEccentricLink):
    """Link hung from a fixed point; axes of the link upright, origin on the slot centre line at mid link."""

    hanger_x: Number = in_mm("fixed pivot of the suspension link ahead of the axle", signed=True, frame="x")
    hanger_y: Number = in_mm("fixed pivot of the suspension link above the axle", signed=True, frame="y")
    hanger: Number = in_mm("suspension link, fixed pivot to saddle pin")


@dataclass(frozen=True)
class Gooch(ShiftedGear):
    """Dimensions of a Gooch link motion, table by table; lengths mm, angles degrees."""

    valve: DrivenValve
    reversing: RadiusRodReversing
    eccentrics: Eccentrics
    eccentric_rods: EccentricRods
    expansion_link: HungLink
    radius_rod: RadiusRod

    name: ClassVar[str] = "gooch"
    arms: ClassVar[tuple[tuple[str, str, str], ...]] = (CRANK, *ECCENTRICS, LIFTING_ARM)

    def own_faults(self) -> Iterator[Fault]:
        """What is wrong with the suspension's figures, if anything."""
        yield from self.reversing.faults(self.radius_rod)

    @property
    def slot(self) -> CurvedSlot:
        """The link's slot."""
        return curved_slot(self.expansion_link)

    def declare(self, setting: Setting) -> Linkage:
        """Declare the linkage with the reverser as set."""
        gear, link, rod = Linkage(), self.expansion_link, self.radius_rod
        declare_crank(gear, self.crank)
        declare_eccentrics(gear, self.crank, self.eccentrics)
        pivot = (link.hanger_x, link.hanger_y)
        level = self.valve.driven_at(link.hanger_x + rod.length)[1]
        saddle = hung_from(pivot, link.hanger, level)
        origin = link.origin(self.eccentric_rods, saddle[1] - link.saddle_y)
        declare_link_pins(gear, link, self.eccentric_rods, origin)
        gear.fixed("link hanger", *pivot)
        gear.rod("suspension link", "link hanger", link.saddle_pin, link.hanger)
        gear.pin("die pin", origin)
        held = DieHeld(setting.height) if isinstance(setting, DieHeight) else setting
        self.slot.declare(gear, origin, held)
        forth = 1 if link.slot_concave_to == "valve" else -1
        end = np.real(origin[0] + forth * rod.length)
        gear.pin("rod pin", (end, self.valve.driven_at(end)[1]))
        declare_drive(gear, self.valve, "rod pin")
        declare_radius_rod(gear, rod, self.reversing, setting, origin, "rod pin", forth)
        return gear
