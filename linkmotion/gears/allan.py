"""Allan link motion: a straight link and its radius rod, shifted opposite ways by one weighshaft.

The assembly: the link ahead of the axle, roughly upright; each lifting link hanging from its arm's end
when that is above the driving pin's level, standing on it when below; the radius rod running forward.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from linkmotion.gears import book
from linkmotion.gears.book import RADIAN, Number
from linkmotion.gears.drive import declare_drive
from linkmotion.gears.eccentrics import EccentricLink, LinkMotion
from linkmotion.gears.frame import (
    arm_end,
    arm_to,
    declare_arm,
    declare_hanging,
    ends_holding,
    hung_from,
)
from linkmotion.gears.keys import Fault, in_degrees, in_mm
from linkmotion.gears.radius_rod import RadiusRod
from linkmotion.gears.reverser import Arm, DieHeight, DieHeld, ReverserPosition
from linkmotion.gears.shop_work import lengthened
from linkmotion.gears.slots import StraightSlot
from linkmotion.linkage import Linkage, LinkageError, Solution
from linkmotion.linkage.parts import XY, real_point
from linkmotion.linkage.solve import solve_sketched


@dataclass(frozen=True, kw_only=True)
class TwoArmReversing(book.Reversing):
    """Weighshaft with two arms: `arm` carries the link, `rod_arm` the radius rod."""

    rod_arm: Number = in_mm("arm that carries the radius rod, weighshaft to lifting-link pin")
    rod_arm_angle: Number = in_degrees("that arm ahead of the link's arm, + anticlockwise")
    rod_lifting_link: Number = in_mm(
        "lifting link of the radius rod, centres",
        rod="rod lifting link",
        work=lengthened("radius rod's lifting link", 4, 3.0),
    )

    def faults(self, rod: RadiusRod) -> Iterator[Fault]:
        """What is wrong with the suspension's figures, if anything.

        Parameters
        ----------
        rod : RadiusRod
            Which hangs from the second arm.
        """
        for key in ("shaft_x", "shaft_y", "arm", "lifting_link"):
            if getattr(self, key) is None:
                yield Fault("reversing", key, "the lifting links need it", "give it")
        if rod.lift_pin is None:
            yield Fault("radius_rod", "lift_pin", "its lifting link needs its pin on the rod", "give lift_pin")

    def rod_end(self, setting: Arm) -> XY:
        """End of the arm that carries the radius rod, mm from the axle.

        Parameters
        ----------
        setting : Arm
            Of the link's arm; the rod's stands ``rod_arm_angle`` ahead of it.
        """
        angle = (setting.angle + self.rod_arm_angle) * RADIAN
        return self.shaft_x + self.rod_arm * np.cos(angle), self.shaft_y + self.rod_arm * np.sin(angle)


@dataclass(frozen=True)
class Allan(LinkMotion):
    """Dimensions of an Allan link motion, table by table; lengths mm, angles degrees."""

    reversing: TwoArmReversing
    expansion_link: EccentricLink
    radius_rod: RadiusRod

    name: ClassVar[str] = "allan"
    arms: ClassVar[tuple[tuple[str, str, str], ...]] = (
        *LinkMotion.arms,
        ("rod lifting arm", "weighshaft", "rod-arm pin"),
    )

    def own_faults(self) -> Iterator[Fault]:
        """What is wrong with the link's and the suspension's figures, if anything."""
        yield from super().own_faults()
        yield from self.reversing.faults(self.radius_rod)

    @property
    def slot(self) -> StraightSlot:
        """The link's slot."""
        link = self.expansion_link
        return StraightSlot(link.pins, "die pin", link.slot_top, link.slot_bottom, link.slot_offset)

    def declare(self, setting: ReverserPosition) -> Linkage:
        """Declare the linkage with the reverser as set."""
        gear, link, rod, shaft = self.declare_wheel(), self.expansion_link, self.radius_rod, self.reversing
        front = self.valve.driven_at(self.eccentric_rods.forward + rod.length)
        lift, height = self._sketch(setting, front[1])
        origin = link.origin(self.eccentric_rods, height)
        self.declare_link_pins(gear, link, origin)
        gear.pin("die pin", (origin[0], lift[1] - rod.lift_pin_rise))
        self.slot.declare(gear, origin, DieHeld(setting.height) if isinstance(setting, DieHeight) else setting)
        gear.pin("rod pin", (np.real(origin[0] + rod.length), front[1]))
        declare_drive(gear, self.valve, "rod pin")
        gear.pin("lift pin", (np.real(origin[0] + rod.lift_pin), lift[1]))
        places = {"die pin": (0.0, 0.0), "rod pin": (rod.length, 0.0), "lift pin": (rod.lift_pin, rod.lift_pin_rise)}
        gear.plate("radius rod", places)
        self._declare_arms(gear, setting, (origin[0] + link.saddle_x, height + link.saddle_y))
        declare_hanging(gear, "lifting link", "arm pin", link.saddle_pin, shaft.lifting_link)
        declare_hanging(gear, "rod lifting link", "rod-arm pin", "lift pin", shaft.rod_lifting_link)
        gear.facing("radius rod", "die pin", "rod pin", (1.0, 0.0))
        return gear

    def _sketch(self, setting: ReverserPosition, level: Any) -> tuple[XY, Any]:
        """Sketch of the lift pin, and of mid slot's height."""
        shaft, link = self.reversing, self.expansion_link
        if isinstance(setting, Arm):
            lift = hung_from(shaft.rod_end(setting), shaft.rod_lifting_link, level)
            return lift, hung_from(arm_end(shaft, setting), shaft.lifting_link, level)[1] - link.saddle_y
        assert isinstance(setting, DieHeight)  # the die's place is shared between link and rod
        half = np.real(setting.height) / 2
        return (0.0, level + half), level - half

    def _declare_arms(self, gear: Linkage, setting: ReverserPosition, saddle: XY) -> None:
        """Declare both arms; while the weighshaft's angle is sought they turn as one plate."""
        shaft = self.reversing
        if isinstance(setting, Arm):
            declare_arm(gear, shaft, setting)
            gear.fixed("rod-arm pin", *shaft.rod_end(setting))
            return
        sketch = arm_to(shaft, ends_holding(shaft, real_point(*saddle))[0], 0.0, "")
        gear.fixed("weighshaft", shaft.shaft_x, shaft.shaft_y)
        gear.pin("arm pin", arm_end(shaft, sketch))
        gear.pin("rod-arm pin", shaft.rod_end(sketch))
        turned = shaft.rod_arm_angle * RADIAN
        arm = (shaft.rod_arm * np.cos(turned), shaft.rod_arm * np.sin(turned))
        gear.plate("lifting arm", {"weighshaft": (0.0, 0.0), "arm pin": (shaft.arm, 0.0), "rod-arm pin": arm})

    def held(self, notch: DieHeight) -> ReverserPosition:
        """The die at its place, link and rod on the weighshaft's arms, which turn together until both fit."""
        return notch

    def arms_carrying(self, at_front: Solution) -> list[Arm]:
        """The angles to which the arms can have turned, first the one with both links more nearly upright.

        Link, rod and arms close in one loop, so there may be several: looked for with the arms sketched all round.
        """
        found = [at_front]
        for turn in range(60, 360, 60):
            with suppress(LinkageError):
                found.append(solve_sketched(self._arms_turned(at_front, turn), at_front))
        found.sort(key=self._leaning)
        return [Arm(np.degrees(np.angle(each["arm pin"] - each["weighshaft"]))) for each in found]

    def _arms_turned(self, at_front: Solution, turn: float) -> Linkage:
        """The linkage sketched as it stands, but with the arms turned, degrees."""
        own, shaft = at_front.linkage, at_front["weighshaft"]
        places = {name: at_front[name] for name in own.names}
        for pin in ("arm pin", "rod-arm pin"):
            places[pin] = shaft + (places[pin] - shaft) * np.exp(1j * turn * RADIAN)
        near: list[XY] = [(place.real, place.imag) for place in places.values()]
        return Linkage(own.names, near, own.parts, own.facings)

    def _leaning(self, at_front: Solution) -> float:
        """How far both lifting links lean, sum of the cosines of their slopes."""
        shaft = self.reversing
        link = at_front["arm pin"] - at_front[self.expansion_link.saddle_pin]
        rod = at_front["rod-arm pin"] - at_front["lift pin"]
        return float(np.max(np.abs(link.real) / shaft.lifting_link + np.abs(rod.real) / shaft.rod_lifting_link))
