"""Joy gear.

No eccentric: a pin on the connecting rod carries the correcting link, whose foot is led by the anchor link (or a fixed
guide). From the correcting link the valve lever rises to the die in a curved slide that the weighshaft tilts; just
beyond the die (or short of it) the valve rod takes its movement from the lever.

The assembly: the valve lever upright, its die above or below the lever pin as its lower arm says, the correcting link
running the other way (hanging where the die is above); the anchor link running from its fixed pin toward the connecting
rod's; the valve rod forward.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from linkmotion.gears import book
from linkmotion.gears.book import RADIAN, Instead, Number
from linkmotion.gears.frame import CRANK, declare_crank, in_frame_axes
from linkmotion.gears.keys import Fault, in_degrees, in_mm, in_table
from linkmotion.gears.marshall import REVERSING_ARM
from linkmotion.gears.radial import ROD_PIN, RadialGear, TiltReversing, declare_swinging_link, declare_valve_rod
from linkmotion.gears.reverser import ReverserPosition
from linkmotion.gears.shop_work import lengthened
from linkmotion.gears.slides import CurvedSlide, Slide, StraightSlide
from linkmotion.linkage import Linkage
from linkmotion.linkage.parts import XY

JOY_PIN, FOOT, LEVER_PIN, DIE_PIN = "connecting-rod pin", "foot", "lever pin", "die pin"


@dataclass(frozen=True, kw_only=True)
class ConnectingRod(book.ConnectingRod):
    """Connecting rod, with the pin that drives the gear."""

    pin: Number = in_mm("crosshead pin to the correcting link's pin, along the rod")
    pin_rise: Number = in_mm("correcting link's pin above the rod's line", 0.0, signed=True)


@dataclass(frozen=True, kw_only=True)
class CorrectingLink:
    """Correcting link."""

    length: Number = in_mm("correcting link, connecting-rod pin to foot", rod="correcting link")
    lever_pin: Number = in_mm("connecting-rod pin to the valve lever's pin, along the link toward its foot")
    lever_pin_offset: Number = in_mm("valve lever's pin ahead of the link's line", 0.0, signed=True)


@dataclass(frozen=True, kw_only=True)
class FootGuide:
    """Upright guide of the correcting link's foot."""

    point_x: Number = in_mm("a point of its line ahead of the axle", signed=True, frame="x")
    point_y: Number = in_mm("that point above the axle", signed=True, frame="y")
    lean: Number = in_degrees("its lean, + top forward", 0.0)


@dataclass(frozen=True, kw_only=True)
class Anchor:
    """What leads the correcting link's foot: an anchor link, or a fixed guide."""

    pivot_x: Number = in_mm("anchor link's fixed pin ahead of the axle", None, signed=True, frame="x")
    pivot_y: Number = in_mm("anchor link's fixed pin above the axle", None, signed=True, frame="y")
    length: Number = in_mm(
        "anchor link, fixed pin to foot", None, rod="anchor link", work=lengthened("anchor link", 4, 3.0, offered=False)
    )
    guide: FootGuide | None = in_table("upright guide of the foot, instead of the anchor link", FootGuide)

    INSTEAD: ClassVar[Instead] = (
        (("pivot_x", "pivot_y", "length"), ("guide",)),
        (("guide",), ("pivot_x", "pivot_y", "length")),
    )

    def faults(self) -> Iterator[Fault]:
        """What is wrong with these figures, if anything."""
        keys = ("pivot_x", "pivot_y", "length")
        given = [key for key in keys if getattr(self, key) is not None]
        if self.guide is not None and given:
            problem = "the foot has a fixed guide, and an anchor link too"
            yield Fault("anchor", given[0], problem, f"keep guide, or {', '.join(keys)}")
        elif self.guide is None and len(given) < len(keys):
            missing = next(key for key in keys if key not in given)
            yield Fault(
                "anchor",
                missing,
                "nothing leads the correcting link's foot",
                f"give {', '.join(keys)}, or guide",
            )


@dataclass(frozen=True, kw_only=True)
class ValveLever:
    """Valve lever; its axes with the lever upright."""

    lower_arm: Number = in_mm("lever pin to die pin, + die above", signed=True)
    upper_arm: Number = in_mm(
        "die pin to the valve rod's pin: + above (outside admission), − below (inside)", signed=True
    )
    offset: Number = in_mm("valve rod's pin ahead of the lever's line", 0.0, signed=True)

    def faults(self) -> Iterator[Fault]:
        """What is wrong with the lever's figures, if anything."""
        if self.lower_arm == 0:
            yield Fault("valve_lever", "lower_arm", "the die stands at the lever pin", "give the distance between them")
        elif not self.upper_arm or self.upper_arm / self.lower_arm <= -1:
            problem = "the valve rod's pin stands at the die, or not between it and the lever pin"
            yield Fault("valve_lever", "upper_arm", problem, "it may be negative, but less than lower_arm")


@dataclass(frozen=True, kw_only=True)
class Reversing(TiltReversing):
    """Weighshaft, reversing arm (where the die hangs from a swinging link) and notches."""

    arm: Number = in_mm("reversing arm, weighshaft to the swinging link's pin", None)


@dataclass(frozen=True, kw_only=True)
class JoySlide(Slide):
    """Slide on the weighshaft, if no swinging link replaces it; axes as it stands upright, origin at the weighshaft."""

    top: Number = in_mm("reach of the die pin up the slide from the weighshaft", None, slot="top")
    bottom: Number = in_mm("reach of the die pin down the slide from the weighshaft", None, slot="bottom")


@dataclass(frozen=True, kw_only=True)
class SwingingLink:
    """Swinging link that replaces the slide, if there is one."""

    length: Number = in_mm(
        "swinging link, reversing arm to the lever's pin (as the arm: that swings through the weighshaft)",
        None,
        rod="swinging link",
        work=lengthened("swinging link", 4, 3.0, offered=False),
    )


@dataclass(frozen=True)
class Joy(RadialGear):
    """Dimensions of a Joy gear, table by table; lengths mm, angles degrees."""

    connecting_rod: ConnectingRod
    reversing: Reversing
    correcting_link: CorrectingLink
    anchor: Anchor
    valve_lever: ValveLever
    slide: JoySlide
    swinging_link: SwingingLink

    name: ClassVar[str] = "joy"
    led_by: ClassVar[str] = LEVER_PIN
    arms: ClassVar[tuple[tuple[str, str, str], ...]] = (CRANK, REVERSING_ARM)

    @property
    def led(self) -> Number:
        """From the lever pin to the die."""
        return np.abs(self.valve_lever.lower_arm)

    @property
    def slot(self) -> StraightSlide | CurvedSlide | None:
        """The slide's slot, where there is a slide."""
        lacks = self.slide.top is None or self.slide.bottom is None
        return None if self.swinging_link.length is not None or lacks else self.slide.slot

    def own_faults(self) -> Iterator[Fault]:
        """What is wrong with the gear's own tables, if anything."""
        yield from self.anchor.faults()
        yield from self.valve_lever.faults()
        rod, link, swinging = self.connecting_rod, self.correcting_link, self.swinging_link.length
        if not rod.pin < rod.length:
            remedy = "it stands between crosshead pin and crank pin"
            yield Fault("connecting_rod", "pin", "the pin stands at the crank pin, or beyond it", remedy)
        if not link.lever_pin < link.length:
            remedy = "it stands between the connecting-rod pin and the foot"
            yield Fault("correcting_link", "lever_pin", "the lever pin stands at the foot, or beyond it", remedy)
        if swinging is not None and self.reversing.arm is None:
            yield Fault("reversing", "arm", "the swinging link needs it", "give it, or leave out swinging_link.length")
        missing = [key for key in ("top", "bottom") if getattr(self.slide, key) is None]
        if swinging is None and missing:
            remedy = "give it, or swinging_link.length and reversing.arm where a swinging link carries the die"
            yield Fault("slide", missing[0], "the slide needs it", remedy)

    def declare(self, setting: ReverserPosition) -> Linkage:
        """Declare the linkage with the reverser as set."""
        gear = Linkage()
        self._declare_link(gear)
        lever, shaft = self.valve_lever, self.reversing.shaft
        gear.pin(DIE_PIN, shaft)
        gear.pin(ROD_PIN, (shaft[0] + lever.offset, shaft[1] + lever.upper_arm))
        places = {LEVER_PIN: (0.0, 0.0), DIE_PIN: (0.0, lever.lower_arm)}
        gear.plate("valve lever", places | {ROD_PIN: (lever.offset, lever.lower_arm + lever.upper_arm)})
        gear.facing("valve lever", LEVER_PIN, DIE_PIN, (0.0, lever.lower_arm))
        declare_valve_rod(gear, self.valve, self.valve_rod)
        if self.slot is not None:
            self.slot.declare(gear, shaft, setting)
        else:
            declare_swinging_link(gear, shaft, self.reversing.arm, self.swinging_link.length, setting, DIE_PIN)
        return gear

    def _declare_link(self, gear: Linkage) -> None:
        """Declare crank and connecting rod with its pin, the correcting link, and what leads its foot."""
        crank, rod, link, anchor = self.crank, self.connecting_rod, self.correcting_link, self.anchor
        along = rod.length - rod.pin
        at = in_frame_axes(crank, np.real(along), np.real(crank.height + rod.pin_rise))
        gear.pin(JOY_PIN, at)
        declare_crank(gear, crank, {JOY_PIN: (along, rod.pin_rise)})
        down = np.where(np.real(self.valve_lever.lower_arm) < 0, -1.0, 1.0)
        gear.pin(FOOT, (at[0], at[1] - down * np.real(link.length)))
        gear.pin(LEVER_PIN, (at[0] + link.lever_pin_offset, at[1] - down * link.lever_pin))
        places: dict[str, XY] = {JOY_PIN: (0.0, 0.0), FOOT: (link.length, 0.0)}
        gear.plate("correcting link", places | {LEVER_PIN: (link.lever_pin, down * link.lever_pin_offset)})
        gear.facing("correcting link", JOY_PIN, FOOT, (0.0, -down))
        if (guide := anchor.guide) is not None:
            gear.guide("anchor", FOOT, (guide.point_x, guide.point_y), np.pi / 2 - guide.lean * RADIAN)
            return
        gear.fixed("anchor pin", anchor.pivot_x, anchor.pivot_y)
        gear.rod("anchor link", "anchor pin", FOOT, anchor.length)
        ahead = np.where(np.real(anchor.pivot_x) < at[0], 1.0, -1.0)
        gear.facing("anchor link", "anchor pin", FOOT, (ahead, 0.0))
