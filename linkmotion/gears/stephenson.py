"""Stephenson link motion.

Two eccentrics rock a link that is itself raised and lowered; a die that stays at the height of the
valve drive takes the motion of whatever part of the link is opposite to it.

The assembly: the link ahead of the axle, roughly upright; its saddle pin hanging from the arm's end
when that is above the driving pin's level, standing on it when below; the die in the part of the
slot's circle near the link.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from linkmotion.gears import book
from linkmotion.gears.book import Fault, one_of
from linkmotion.gears.drive import DrivenValve, declare_drive
from linkmotion.gears.eccentrics import (
    CurvedEccentricLink,
    EccentricRods,
    Eccentrics,
    curved_slot,
    declare_eccentrics,
    declare_link_pins,
)
from linkmotion.gears.frame import (
    CRANK,
    ECCENTRICS,
    LIFTING_ARM,
    arm_end,
    declare_arm,
    declare_crank,
    hung_from,
    plumb_end,
)
from linkmotion.gears.gear import ShiftedGear
from linkmotion.gears.reverser import Arm, DieHeight, DieHeld, Setting
from linkmotion.gears.slots import CurvedSlot
from linkmotion.linkage import Linkage
from linkmotion.linkage.parts import XY


@dataclass(frozen=True, kw_only=True)
class LinkReversing(book.Reversing):
    """Weighshaft, and how it carries the link."""

    suspension: str = one_of("how the link is carried", ("lifting link", "ideal"), "lifting link")

    def faults(self) -> Iterator[Fault]:
        """What is wrong with the suspension's figures, if anything."""
        wanted = ("shaft_x", "shaft_y", "arm", "lifting_link")
        missing = [key for key in wanted if getattr(self, key) is None]
        if self.suspension == "lifting link" and missing:
            yield Fault("reversing", missing[0], "the lifting link needs it", "give it, or change suspension")
        arms = [name for name, notch in self.notches.items() if isinstance(notch, Arm)]
        if self.suspension == "ideal" and arms:
            problem = f"notch {arms[0]!r} is an arm angle, but the die is held"
            yield Fault("reversing", "notches", problem, "give { die = place } with the ideal suspension")


@dataclass(frozen=True)
class Stephenson(ShiftedGear):
    """Dimensions of a Stephenson link motion, table by table; lengths mm, angles degrees."""

    valve: DrivenValve
    reversing: LinkReversing
    eccentrics: Eccentrics
    eccentric_rods: EccentricRods
    expansion_link: CurvedEccentricLink

    name: ClassVar[str] = "stephenson"
    arms: ClassVar[tuple[tuple[str, str, str], ...]] = (CRANK, *ECCENTRICS, LIFTING_ARM)

    def own_faults(self) -> Iterator[Fault]:
        """What is wrong with the suspension's figures, if anything."""
        yield from self.reversing.faults()

    @property
    def slot(self) -> CurvedSlot:
        """The link's slot."""
        return curved_slot(self.expansion_link)

    def declare(self, setting: Setting) -> Linkage:
        """Declare the linkage with the reverser as set."""
        gear, link = Linkage(), self.expansion_link
        declare_crank(gear, self.crank)
        declare_eccentrics(gear, self.crank, self.eccentrics)
        die = self.valve.driven_at(self.eccentric_rods.forward)
        origin = link.origin(self.eccentric_rods, self._height(setting, die[1]))
        declare_link_pins(gear, link, self.eccentric_rods, origin)
        gear.pin("die pin", (origin[0], die[1]))
        if isinstance(setting, DieHeight):
            self.slot.declare(gear, origin, DieHeld(setting.height))
        else:
            self.slot.declare(gear, origin, setting)
        declare_drive(gear, self.valve, "die pin")
        if not isinstance(setting, DieHeld):
            shaft = self.reversing
            hung = (origin[0] + link.saddle_x, origin[1] + link.saddle_y)
            declare_arm(gear, shaft, setting, plumb_end(shaft, hung) if isinstance(setting, DieHeight) else hung)
            gear.rod("lifting link", "arm pin", link.saddle_pin, shaft.lifting_link)
        return gear

    def _height(self, setting: Setting, die: Any) -> Any:
        """Sketch of mid slot's height: from the hanging link, or from the die's place in the slot."""
        if isinstance(setting, Arm):
            hung: XY = hung_from(arm_end(self.reversing, setting), self.reversing.lifting_link, die)
            return hung[1] - self.expansion_link.saddle_y
        place = setting.height if isinstance(setting, DieHeight) else setting.place  # type: ignore[union-attr]
        return die - np.real(place)
