"""Hackworth gear.

One eccentric, opposite the crank or with it; its rod stands across the engine, and the die at the rod's end runs in a
straight (or curved) slide that the weighshaft tilts. The valve rod takes its movement from a point of the eccentric
rod, between eccentric and die or beyond the die.

The assembly: the eccentric rod running from the axle to the weighshaft's side, the valve rod forward.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from linkmotion.gears.book import RADIAN, Number
from linkmotion.gears.frame import CRANK, declare_crank
from linkmotion.gears.keys import Fault, in_degrees, in_mm
from linkmotion.gears.radial import ROD_PIN, RadialGear, declare_valve_rod
from linkmotion.gears.reverser import ReverserPosition
from linkmotion.gears.shop_work import lengthened, turned_upon
from linkmotion.gears.slides import CurvedSlide, Slide, StraightSlide
from linkmotion.linkage import Linkage
from linkmotion.linkage.parts import real_point

_NEAR = 0.01  # of the rod: a valve-rod pin nearer to its end than that takes up no lap and lead


@dataclass(frozen=True, kw_only=True)
class Eccentric:
    """Eccentric; angle of its centre ahead of the crank pin, + leading in forward running."""

    throw: Number = in_mm("eccentric's centre from the axle")
    angle: Number = in_degrees(
        "eccentric ahead of the crank pin (180: opposite it; 0: with it)",
        slips="eccentric",
        work=turned_upon("eccentric", "axle"),
    )


@dataclass(frozen=True, kw_only=True)
class EccentricRod:
    """Eccentric rod, which stands across the engine."""

    length: Number = in_mm(
        "eccentric's centre to the pin that is led along the tilted path",
        rod="eccentric rod",
        work=lengthened("eccentric rod", 5, 2.0),
    )
    valve_pin: Number = in_mm("eccentric's centre to the valve rod's pin (more than length: beyond the led pin)")
    valve_pin_offset: Number = in_mm("valve rod's pin ahead of the rod's line", 0.0, signed=True)

    def faults(self, throw: Number) -> Iterator[Fault]:
        """What is wrong with the rod's figures, if anything."""
        if not self.length > throw:
            problem = "the rod is no longer than the eccentric's throw"
            yield Fault("eccentric_rod", "length", problem, "give the distance between its centres")
        if not abs(self.valve_pin - self.length) > _NEAR * self.length:
            problem = "the valve rod's pin stands at the led pin: there is no lap and lead"
            yield Fault("eccentric_rod", "valve_pin", problem, "it stands short of the rod's length, or beyond it")


@dataclass(frozen=True)
class EccentricRadialGear(RadialGear):
    """What Hackworth's and Marshall's gears have in common: an eccentric, its rod, and the valve rod from it."""

    eccentric: Eccentric
    eccentric_rod: EccentricRod

    led_by: ClassVar[str] = "eccentric"
    arms: ClassVar[tuple[tuple[str, str, str], ...]] = (CRANK, ("eccentric", "axle", "eccentric"))

    @property
    def led(self) -> Number:
        """From the eccentric to the end of its rod."""
        return self.eccentric_rod.length

    def own_faults(self) -> Iterator[Fault]:
        """What is wrong with the gear's own tables, if anything."""
        yield from self.eccentric_rod.faults(self.eccentric.throw)
        away: Any = np.abs(real_point(*self.reversing.shaft))
        if not away > self.eccentric.throw:
            problem = "the weighshaft stands within the eccentric's circle"
            yield Fault("reversing", "shaft_y", problem, "give its place from the axle: shaft_x ahead, shaft_y above")

    def declare_rod(self, led: str) -> Linkage:
        """Begin a linkage with crank and eccentric, its rod to the ``led`` pin, and the valve's drive from the rod."""
        gear, rod, shaft = Linkage(), self.eccentric_rod, self.reversing.shaft
        declare_crank(gear, self.crank)
        phase = self.crank.front_direction - self.eccentric.angle * RADIAN
        gear.crank("eccentric", "axle", self.eccentric.throw, phase)
        gear.pin(led, shaft)
        away: Any = real_point(*shaft)
        aside = np.where(away.imag < 0, 1.0, -1.0) * rod.valve_pin_offset  # to the left of the rod
        at = away / np.abs(away) * (np.real(rod.valve_pin) + 1j * np.real(aside))
        gear.pin(ROD_PIN, (at.real, at.imag))
        gear.plate("eccentric rod", {"eccentric": (0.0, 0.0), led: (rod.length, 0.0), ROD_PIN: (rod.valve_pin, aside)})
        gear.facing("eccentric rod", "eccentric", led, shaft)
        declare_valve_rod(gear, self.valve, self.valve_rod)
        return gear


@dataclass(frozen=True)
class Hackworth(EccentricRadialGear):
    """Dimensions of a Hackworth gear, table by table; lengths mm, angles degrees."""

    slide: Slide

    name: ClassVar[str] = "hackworth"

    @property
    def slot(self) -> StraightSlide | CurvedSlide:
        """The slide's slot."""
        return self.slide.slot

    def declare(self, setting: ReverserPosition) -> Linkage:
        """Declare the linkage with the reverser as set."""
        gear = self.declare_rod("die pin")
        self.slot.declare(gear, self.reversing.shaft, setting)
        return gear
