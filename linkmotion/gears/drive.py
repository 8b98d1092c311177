"""From the die (or a rod's end) to the valve spindle: direct, by a rocker, or by a rod swung from a hanger."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.gears.book import RADIAN, Number, Valve
from linkmotion.gears.frame import VALVE_GUIDE, VALVE_PIN, declare_hanging, hung_from
from linkmotion.gears.keys import Fault, in_degrees, in_mm, in_table
from linkmotion.gears.shop_work import lengthened
from linkmotion.linkage import Linkage
from linkmotion.linkage.parts import XY


@dataclass(frozen=True, kw_only=True)
class Rocker:
    """Rocker between the die and the spindle; its pose with the lower arm plumb."""

    pivot_x: Number = in_mm("rocker shaft ahead of the axle", signed=True, frame="x")
    pivot_y: Number = in_mm("rocker shaft above the axle", signed=True, frame="y")
    lower_arm: Number = in_mm("shaft to the driving pin, below it (negative: above)", signed=True)
    upper_arm: Number = in_mm("shaft to the spindle arm's pin")
    angle: Number = in_degrees("spindle arm, + leaning forward; 0: arms in one line, 180: both on one side", 0.0)


@dataclass(frozen=True, kw_only=True)
class Hanger:
    """Swing link that carries the driven end of an intermediate rod."""

    pivot_x: Number = in_mm("fixed pivot ahead of the axle", signed=True, frame="x")
    pivot_y: Number = in_mm("fixed pivot above the axle", signed=True, frame="y")
    length: Number = in_mm("swing link, centres", rod="hanger")


@dataclass(frozen=True, kw_only=True)
class DrivenValve(Valve):
    """Valve, ports, the line on which the spindle pin moves, and what drives it (direct if nothing is given)."""

    rocker: Rocker | None = in_table("rocker between the driving pin and the spindle", Rocker)
    hanger: Hanger | None = in_table("swing link under the driven end of an intermediate rod (spindle_rod)", Hanger)
    spindle_rod: Number = in_mm(
        "rod from the rocker (or hanger) to the spindle pin; without it, a block",
        None,
        rod="spindle rod",
        work=lengthened("intermediate valve rod", 5, 2.0, offered=False),
    )

    def faults(self, notches: Any) -> Iterator[Fault]:
        """What is wrong with the valve's and its drive's figures, if anything."""
        yield from super().faults(notches)
        if self.rocker is not None and self.hanger is not None:
            yield Fault("valve", "hanger", "a rocker and a hanger are both given", "give one of the two")
        if self.hanger is not None and self.spindle_rod is None:
            yield Fault("valve", "spindle_rod", "the hanger needs its rod to the spindle", "give spindle_rod")
        if self.spindle_rod is not None and self.rocker is None and self.hanger is None:
            yield Fault("valve", "spindle_rod", "nothing drives the spindle rod", "give a rocker or a hanger")
        if self.rocker is not None and self.rocker.lower_arm == 0:
            yield Fault(
                "valve", "rocker", "lower_arm is nothing", "give the distance from the shaft to the driving pin"
            )

    @property
    def is_direct(self) -> bool:
        """Whether the gear works the spindle with nothing between."""
        return self.rocker is None and self.hanger is None

    @property
    def line(self) -> Number:
        """Direction of the spindle, radians."""
        return self.guide_inclination * RADIAN

    def height_at(self, x: Number) -> Number:
        """Height of the spindle pin's line above the axle, mm.

        Parameters
        ----------
        x : float or array
            Place ahead of the axle, mm.
        """
        return self.guide_height + np.tan(self.line) * x

    def driven_at(self, x: Number) -> XY:
        """Sketch of the driving pin, mm from the axle.

        Parameters
        ----------
        x : float or array
            About where it stands ahead of the axle where nothing else says, mm.
        """
        if self.rocker is not None:
            return self.rocker.pivot_x, self.rocker.pivot_y - self.rocker.lower_arm
        if self.hanger is not None:
            pivot = (self.hanger.pivot_x, self.hanger.pivot_y)
            return hung_from(pivot, self.hanger.length, self.height_at(self.hanger.pivot_x))
        return x, self.height_at(x)


def declare_drive(gear: Linkage, valve: DrivenValve, pin: str) -> None:
    """Declare what stands between the driving pin and the spindle.

    Parameters
    ----------
    gear : Linkage
        With the driving pin declared, its sketch where it stands.
    valve : DrivenValve
        Direct, by a rocker, or by a rod swung from a hanger.
    pin : str
        The driving pin.
    """
    driven = pin
    if valve.rocker is not None:
        driven = _declare_rocker(gear, valve.rocker, pin)
    elif valve.hanger is not None:
        gear.fixed("hanger pivot", valve.hanger.pivot_x, valve.hanger.pivot_y)
        declare_hanging(gear, "hanger", "hanger pivot", pin, valve.hanger.length)
    if driven == pin and valve.hanger is None:
        gear.guide(VALVE_GUIDE, pin, (0.0, valve.guide_height), valve.line)
        return
    x, _y = gear.near[gear.names[driven]]
    ahead = x if valve.spindle_rod is None else x + valve.spindle_rod
    gear.pin(VALVE_PIN, (ahead, valve.height_at(ahead)))
    if valve.spindle_rod is None:
        gear.abreast("spindle block", VALVE_PIN, driven, valve.line)
    else:
        gear.rod("spindle rod", driven, VALVE_PIN, valve.spindle_rod)
        gear.facing("spindle rod", driven, VALVE_PIN, (1.0, 0.0))
    gear.guide(VALVE_GUIDE, VALVE_PIN, (0.0, valve.guide_height), valve.line)


def _declare_rocker(gear: Linkage, rocker: Rocker, pin: str) -> str:
    arm = (rocker.upper_arm * np.sin(rocker.angle * RADIAN), rocker.upper_arm * np.cos(rocker.angle * RADIAN))
    gear.fixed("rocker shaft", rocker.pivot_x, rocker.pivot_y)
    gear.pin("rocker pin", (rocker.pivot_x + arm[0], rocker.pivot_y + arm[1]))
    gear.facing("rocker", "rocker shaft", pin, (0.0, -rocker.lower_arm))
    gear.plate("rocker", {"rocker shaft": (0.0, 0.0), pin: (0.0, -rocker.lower_arm), "rocker pin": arm})
    return "rocker pin"
