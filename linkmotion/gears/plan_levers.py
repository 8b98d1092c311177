"""The two levers that make a third valve's movement of two: in plan, ahead of the cylinders or behind them.

The 2:1 lever turns on a pin of the frame. One outside spindle works its long arm; its short arm, which goes half as far
and the other way, carries the equal lever. The other outside spindle works one end of that, and its other end the
middle spindle: which so goes as far as both outside ones together, and the other way. With harmonic movements a third
of a turn apart that is the third movement itself (see ``tests/test_derived_valve_facts.py``).

The plan is laid down in the plane of the side elevation, the middle spindle on its own line and the left above it: only
movements along the spindles, which are parallel, pass from one to the other.

The assembly: both levers about square to the spindles, each link on the side on which its spindle's pin stands.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.gears.book import RADIAN, Number, Valve
from linkmotion.gears.frame import VALVE_GUIDE, VALVE_PIN
from linkmotion.gears.keys import Fault, in_mm, one_of
from linkmotion.gears.outside_sides import ACROSS
from linkmotion.gears.shop_work import lengthened
from linkmotion.linkage import Linkage
from linkmotion.linkage.parts import XY, real_point

PIVOT, LONG_PIN, SHORT_PIN = "2:1 lever pivot", "long-arm pin", "short-arm pin"
OUTER_PIN, MIDDLE_PIN = "outer-arm pin", "middle-arm pin"
LONG_LEVER, EQUAL_LEVER = "2:1 lever", "equal lever"


@dataclass(frozen=True, kw_only=True)
class TwoToOneLever:
    """The lever on the frame."""

    worked_by: str = one_of("outside spindle that works its long arm", ("left", "right"))
    pivot_x: Number = in_mm("pivot on the frame ahead of the axle, along the spindles", signed=True, frame="x")
    pivot_across: Number = in_mm("pivot from the engine's middle plane, + to the left", 0.0, signed=True, how=ACROSS)
    long_arm: Number = in_mm("pivot to the long arm's pin, across")
    short_arm: Number = in_mm("pivot to the short arm's pin, across the other way")
    short_pin_ahead: Number = in_mm("short arm's pin ahead of the line of the other two", 0.0, signed=True)
    link: Number = in_mm(
        "link from the outside spindle to the long arm, centres",
        rod="long-arm link",
        work=lengthened("long arm's link", 5, 2.0),
    )


@dataclass(frozen=True, kw_only=True)
class EqualLever:
    """The lever that floats on the short arm of the other."""

    outer_arm: Number = in_mm("pin on the 2:1 lever to the outside spindle's arm pin, across")
    middle_arm: Number = in_mm("pin on the 2:1 lever to the middle spindle's arm pin, across the other way")
    pivot_ahead: Number = in_mm("pin on the 2:1 lever ahead of the line of the other two", 0.0, signed=True)
    outer_link: Number = in_mm(
        "link from the other outside spindle, centres",
        rod="outer-arm link",
        work=lengthened("equal lever's outside link", 5, 2.0),
    )
    middle_link: Number = in_mm(
        "link to the middle spindle, centres",
        rod="middle-arm link",
        work=lengthened("equal lever's middle link", 5, 2.0),
    )
    spindle_across: Number = in_mm(
        "middle spindle from the engine's middle plane, + to the left", 0.0, signed=True, how=ACROSS
    )


@dataclass(frozen=True)
class PlanLevers:
    """Both levers, and where the spindles lie.

    Attributes
    ----------
    long, equal : TwoToOneLever, EqualLever
        Their tables.
    valve : Valve
        The middle valve's, with the line of its spindle, which is the other two's direction.
    across : dict
        The outside spindles' places, by side, mm to the left of the engine's middle plane.
    """

    long: TwoToOneLever
    equal: EqualLever
    valve: Valve
    across: dict[str, Number]

    @property
    def other(self) -> str:
        """Side of the spindle that works the equal lever."""
        return "right" if self.long.worked_by == "left" else "left"

    def at(self, along: Number, across: Number) -> XY:
        """Where a point of the plan lies in the side elevation, mm from the axle.

        Parameters
        ----------
        along, across : float or array
            From the axle along the spindles; to the left of the engine's middle plane, mm.
        """
        line = self.valve.guide_inclination * RADIAN
        cosine, sine = np.cos(line), np.sin(line)
        off = across - self.equal.spindle_across
        return along * cosine - off * sine, self.valve.guide_height + along * sine + off * cosine

    def offset(self, side: str, reach: Number, guide_height: Number) -> XY:
        """From the pin that drives an outside spindle to its lever link's pin, in the side elevation, mm.

        Parameters
        ----------
        side : str
            "left" or "right".
        reach, guide_height : float or array
            How far the one is ahead of the other along the spindle; the height of the spindle's line, mm.
        """
        x, y = self.at(reach, self.across[side])
        return x, y - guide_height

    def faults(self) -> Iterator[Fault]:
        """What is wrong with the levers' figures, if anything."""
        toward = {side: place - self.long.pivot_across for side, place in self.across.items()}
        worked, other = toward[self.long.worked_by], toward[self.other]
        if not worked * other < 0:
            problem = "both outside spindles lie on one side of the 2:1 lever's pivot"
            yield Fault("two_to_one_lever", "pivot_across", problem, "give places + to the left, − to the right")
        short = self.long.pivot_across - np.sign(worked) * self.long.short_arm
        if not (self.across[self.other] - short) * (short - self.equal.spindle_across) > 0:
            problem = "the middle spindle does not lie on the other side of the equal lever's pin"
            remedy = f"that pin is {short:g} mm across; look at the arms of both levers"
            yield Fault("equal_lever", "spindle_across", problem, remedy)
        for table, arm, link, key in self._links():
            if not link > arm / 50:
                problem = "the link is too short for its lever's arc"
                yield Fault(table, key, problem, "give its centres")

    def _links(self) -> Iterator[tuple[str, Number, Number, str]]:
        yield "two_to_one_lever", self.long.long_arm, self.long.link, "link"
        yield "equal_lever", self.equal.outer_arm, self.equal.outer_link, "outer_link"
        yield "equal_lever", self.equal.middle_arm, self.equal.middle_link, "middle_link"

    def declare(self, gear: Linkage, spindles: dict[str, str]) -> None:
        """Declare the levers with their links, and the middle spindle.

        Parameters
        ----------
        gear : Linkage
            With the lever links' pins on the outside spindles declared.
        spindles : dict
            Those pins, by side.
        """
        long, equal = self.long, self.equal
        out = np.sign(np.real(self.across[long.worked_by] - long.pivot_across))
        short = long.pivot_across - out * long.short_arm
        gear.fixed(PIVOT, *self.at(long.pivot_x, long.pivot_across))
        self._pin(gear, LONG_PIN, long.pivot_x, long.pivot_across + out * long.long_arm)
        self._pin(gear, SHORT_PIN, long.pivot_x + long.short_pin_ahead, short)
        arms: dict[str, XY] = {PIVOT: (0.0, 0.0), LONG_PIN: (0.0, out * long.long_arm)}
        gear.plate(LONG_LEVER, arms | {SHORT_PIN: (long.short_pin_ahead, -out * long.short_arm)})
        gear.rod("long-arm link", spindles[long.worked_by], LONG_PIN, long.link)
        line = long.pivot_x + long.short_pin_ahead - equal.pivot_ahead
        self._pin(gear, OUTER_PIN, line, short - out * equal.outer_arm)
        self._pin(gear, MIDDLE_PIN, line, short + out * equal.middle_arm)
        ends = {OUTER_PIN: (0.0, -out * equal.outer_arm), MIDDLE_PIN: (0.0, out * equal.middle_arm)}
        gear.plate(EQUAL_LEVER, {SHORT_PIN: (equal.pivot_ahead, 0.0), **ends})
        gear.rod("outer-arm link", spindles[self.other], OUTER_PIN, equal.outer_link)
        forth = self._forth(gear, spindles[self.other])
        gear.pin(VALVE_PIN, self._real(line - forth * equal.middle_link, equal.spindle_across))
        gear.rod("middle-arm link", MIDDLE_PIN, VALVE_PIN, equal.middle_link)
        gear.guide(VALVE_GUIDE, VALVE_PIN, (0.0, self.valve.guide_height), self.valve.guide_inclination * RADIAN)
        self._facings(gear, spindles, out, forth)

    def _facings(self, gear: Linkage, spindles: dict[str, str], out: Any, forth: Any) -> None:
        (x, y), (left_x, left_y) = (self._real(0.0, place) for place in (0.0, 1.0))
        square = left_x - x, left_y - y  # to the left in plan
        ahead = square[1], -square[0]
        gear.facing(LONG_LEVER, PIVOT, LONG_PIN, _times(out, square))
        gear.facing(EQUAL_LEVER, SHORT_PIN, OUTER_PIN, _times(-out, square))
        gear.facing("outer-arm link", spindles[self.other], OUTER_PIN, _times(forth, ahead))
        own = self._forth(gear, spindles[self.long.worked_by])
        gear.facing("long-arm link", spindles[self.long.worked_by], LONG_PIN, _times(own, ahead))
        gear.facing("middle-arm link", MIDDLE_PIN, VALVE_PIN, _times(-forth, ahead))

    def _pin(self, gear: Linkage, name: str, along: Any, across: Any) -> None:
        gear.pin(name, self._real(along, across))

    def _real(self, along: Any, across: Any) -> XY:
        place = real_point(*self.at(along, across))
        return place.real, place.imag

    def _forth(self, gear: Linkage, spindle: str) -> Any:
        """+1 where the levers stand ahead of an outside spindle's pin, −1 where behind it."""
        line = np.real(self.valve.guide_inclination) * RADIAN
        x, y = gear.near[gear.names[spindle]]
        along = np.real(x) * np.cos(line) + (np.real(y) - np.real(self.valve.guide_height)) * np.sin(line)
        return np.where(np.real(self.long.pivot_x) > along, 1.0, -1.0)


def _times(way: Any, toward: XY) -> XY:
    return way * toward[0], way * toward[1]
