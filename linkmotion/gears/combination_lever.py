"""The combination lever, which adds the lap-and-lead movement taken from the crosshead by the union link."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.gears import book
from linkmotion.gears.book import Number
from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.gears.drive import DrivenValve, declare_drive
from linkmotion.gears.frame import CROSSHEAD_PIN, VALVE_PIN, in_frame_axes
from linkmotion.gears.keys import Fault, in_mm
from linkmotion.linkage import Linkage
from linkmotion.linkage.parts import XY

LEVER_PIN = "lever pin"


@dataclass(frozen=True, kw_only=True)
class CombinationLever:
    """Combination lever."""

    lower_arm: Number = in_mm("union-link pin to radius-rod pin")
    upper_arm: Number = in_mm(
        "radius-rod pin to valve pin: + valve pin above (outside admission), − below (inside)", signed=True
    )
    offset: Number = in_mm("valve pin ahead of the lever's line", 0.0, signed=True)


@dataclass(frozen=True, kw_only=True)
class UnionLink:
    """Union link."""

    length: Number = in_mm("union link, centres", rod="union link")


@dataclass(frozen=True)
class LeverTrain:
    """Crosshead arm, union link, combination lever, and what stands between its valve pin and the spindle."""

    crosshead: book.Crosshead
    union_link: UnionLink
    lever: CombinationLever
    valve: DrivenValve

    def faults(self) -> Iterator[Fault]:
        """What is wrong with the lever's figures, if anything."""
        if self.lever.lower_arm + self.lever.upper_arm <= 0:
            problem = "the valve pin is at or below the union pin"
            yield Fault("combination_lever", "upper_arm", problem, "upper_arm may be negative, but less than lower_arm")

    def declare(self, gear: Linkage, crank: CrankMotion, at: XY, start: XY, reach: Any) -> None:
        """Declare the train, the lever upright in the sketch.

        Parameters
        ----------
        gear : Linkage
            With crank and crosshead declared.
        crank : CrankMotion
            For the cylinder line's own axes.
        at, start : (x, y)
            Sketch of the crosshead pin, and of the other end of the rod that works the lever's own pin, mm.
        reach : float or array
            That rod's length, mm, − where it runs toward the axle. (The rod itself is the caller's.)
        """
        lever, valve = self.lever, self.valve
        arm = in_frame_axes(crank, self.crosshead.arm_x, self.crosshead.arm_y)
        gear.pin("crosshead-arm pin", (at[0] + arm[0], at[1] + arm[1]))
        gear.carried("crosshead", "crosshead-arm pin", CROSSHEAD_PIN, arm)
        reach = np.real(reach)
        top: Any = np.real(valve.driven_at(start[0] + reach)[1])
        fall = top - np.real(lever.upper_arm + start[1])
        x = np.real(start[0]) + np.sign(reach) * np.sqrt(np.maximum(reach**2 - fall**2, 0.0))
        y = top - np.real(lever.upper_arm)
        gear.pin(LEVER_PIN, (x, y))
        gear.pin("union pin", (x, y - lever.lower_arm))
        driven = VALVE_PIN if valve.is_direct else "driving pin"
        gear.pin(driven, (x + lever.offset, top))
        pins = {"union pin": (0.0, 0.0), LEVER_PIN: (0.0, lever.lower_arm)}
        gear.plate("combination lever", pins | {driven: (lever.offset, lever.lower_arm + lever.upper_arm)})
        gear.facing("combination lever", "union pin", LEVER_PIN, (0.0, lever.lower_arm))
        gear.rod("union link", "crosshead-arm pin", "union pin", self.union_link.length)
        declare_drive(gear, valve, driven)
