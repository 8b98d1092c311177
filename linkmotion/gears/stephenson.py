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
from linkmotion.gears.drive import declare_drive
from linkmotion.gears.eccentrics import CurvedEccentricLink, LinkMotion, curved_slot
from linkmotion.gears.frame import (
    arm_end,
    arms_holding,
    declare_arm,
    declare_hanging,
    hung_from,
)
from linkmotion.gears.keys import Fault, one_of
from linkmotion.gears.reverser import Arm, DieHeld, ReverserPosition
from linkmotion.gears.slots import CurvedSlot
from linkmotion.linkage import Linkage, Solution
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
class Stephenson(LinkMotion):
    """Dimensions of a Stephenson link motion, table by table; lengths mm, angles degrees."""

    reversing: LinkReversing
    expansion_link: CurvedEccentricLink

    name: ClassVar[str] = "stephenson"

    def own_faults(self) -> Iterator[Fault]:
        """What is wrong with the link's and the suspension's figures, if anything."""
        yield from super().own_faults()
        yield from self.reversing.faults()

    @property
    def slot(self) -> CurvedSlot:
        """The link's slot."""
        return curved_slot(self.expansion_link)

    def declare(self, setting: ReverserPosition) -> Linkage:
        """Declare the linkage with the reverser as set."""
        gear, link = self.declare_wheel(), self.expansion_link
        die = self.valve.driven_at(self.eccentric_rods.forward)
        origin = link.origin(self.eccentric_rods, self._height(setting, die[1]))
        self.declare_link_pins(gear, link, origin)
        gear.pin("die pin", (origin[0], die[1]))
        self.slot.declare(gear, origin, setting)
        declare_drive(gear, self.valve, "die pin")
        if isinstance(setting, Arm):
            declare_arm(gear, self.reversing, setting)
            declare_hanging(gear, "lifting link", "arm pin", link.saddle_pin, self.reversing.lifting_link)
        return gear

    def arms_carrying(self, at_front: Solution) -> list[Arm]:
        """The arm angles that carry the link where it stands on front dead centre."""
        return arms_holding(self.reversing, at_front[self.expansion_link.saddle_pin])

    def _height(self, setting: ReverserPosition, die: Any) -> Any:
        """Sketch of mid slot's height: from the hanging link, or from the die's place in the slot."""
        if isinstance(setting, Arm):
            hung: XY = hung_from(arm_end(self.reversing, setting), self.reversing.lifting_link, die)
            return hung[1] - self.expansion_link.saddle_y
        assert isinstance(setting, DieHeld)
        return die - np.real(setting.place)
