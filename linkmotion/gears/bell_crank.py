"""The bell crank, which turns a movement up and down into one along the engine."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from linkmotion.gears.book import RADIAN, Number
from linkmotion.gears.keys import Fault, in_degrees, in_mm
from linkmotion.gears.shop_work import ShopWork
from linkmotion.linkage import Linkage
from linkmotion.linkage.parts import XY

SHAFT, DRIVEN_PIN = "bell-crank shaft", "bell-crank pin"
_FORWARD = ShopWork("gear frame", "pack the bell crank's bearing forward by {}", "pack it back by {}", 1, 5.0)
_UP = ShopWork("gear frame", "pack the bell crank's bearing up by {}", "let it down by {}", 1, 5.0)


@dataclass(frozen=True, kw_only=True)
class BellCrank:
    """Bell crank; its axes with the driven arm level."""

    shaft_x: Number = in_mm("bell crank's shaft ahead of the axle", signed=True, frame="x", work=_FORWARD)
    shaft_y: Number = in_mm("bell crank's shaft above the axle", signed=True, frame="y", work=_UP)
    driven_arm: Number = in_mm("shaft to the driven pin: + ahead of the shaft, − behind", signed=True)
    valve_arm: Number = in_mm("shaft to the valve rod's pin: + below the shaft, − above", signed=True)
    angle: Number = in_degrees("valve arm's pin ahead of square to the driven arm", 0.0)

    def faults(self) -> Iterator[Fault]:
        """What is wrong with these figures, if anything."""
        for key in ("driven_arm", "valve_arm"):
            if getattr(self, key) == 0:
                yield Fault("bell_crank", key, "the arm has no length", "give the distance from the shaft to the pin")

    @property
    def driven_at(self) -> XY:
        """The driven pin with its arm level, mm from the axle."""
        return self.shaft_x + self.driven_arm, self.shaft_y

    def declare(self, gear: Linkage, taken: str) -> XY:
        """Declare the crank, and the pin ``taken`` of the valve rod on it; gives that pin's sketch.

        Parameters
        ----------
        gear : Linkage
            Without any of these.
        taken : str
            Name of the valve rod's pin.
        """
        lean = self.angle * RADIAN
        arm = (self.valve_arm * np.sin(lean), -self.valve_arm * np.cos(lean))
        gear.fixed(SHAFT, self.shaft_x, self.shaft_y)
        gear.pin(DRIVEN_PIN, self.driven_at)
        at = (self.shaft_x + arm[0], self.shaft_y + arm[1])
        gear.pin(taken, at)
        gear.plate("bell crank", {SHAFT: (0.0, 0.0), DRIVEN_PIN: (self.driven_arm, 0.0), taken: arm})
        gear.facing("bell crank", SHAFT, DRIVEN_PIN, (np.real(self.driven_arm), 0.0))
        return at
