"""What radial gears have in common (Hackworth, Marshall, Joy): one movement, led along a path that the reverser tilts.

The end of a rod or lever runs along a slide on the weighshaft, or hangs from a swinging link on its arm. Tilted, the
path turns the end's movement across the engine into one along it, which is added to the lap and lead. Where the end
stands at the weighshaft at both dead centres, the lead is the same whatever the tilt.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import MISSING, dataclass
from typing import Any, ClassVar

import numpy as np

from linkmotion.gears.book import Number
from linkmotion.gears.drive import DrivenValve, declare_drive
from linkmotion.gears.gear import Gear
from linkmotion.gears.keys import in_form, in_mm
from linkmotion.gears.reverser import Arm, Notch, ReverserPosition
from linkmotion.gears.shop_work import ShopWork, lengthened
from linkmotion.gears.slides import declare_tilted, tilted
from linkmotion.linkage import Linkage, LinkageError, Wheel, solve
from linkmotion.linkage.parts import XY, real_point

ROD_PIN, UPPER_PIN = "valve-rod pin", "arm pin"
_TILT = ShopWork(
    "reach rod",
    "alter the reach rod so that the reversing arms stand {} higher",
    "alter the reach rod so that the reversing arms stand {} lower",
    3,
    2.0,
    shared=True,
)
_FORWARD = ShopWork(
    "weighshaft bracket",
    "pack the weighshaft's bracket forward by {}",
    "pack the weighshaft's bracket back by {}",
    1,
    5.0,
)
_UP = ShopWork(
    "weighshaft bracket", "pack the weighshaft's bracket up by {}", "let the weighshaft's bracket down by {}", 1, 5.0
)


@dataclass(frozen=True, kw_only=True)
class TiltReversing:
    """Weighshaft and notches."""

    notches: Any = in_form(
        "named positions of the reverser: arm angle in degrees (0 = pointing forward, any slide upright; + up)",
        "notches",
        MISSING,
        work=_TILT,
        die_places=False,
    )
    shaft_x: Number = in_mm("weighshaft ahead of the axle", signed=True, frame="x", work=_FORWARD)
    shaft_y: Number = in_mm("weighshaft above the axle", signed=True, frame="y", work=_UP)

    @property
    def shaft(self) -> XY:
        """The weighshaft."""
        return self.shaft_x, self.shaft_y


@dataclass(frozen=True, kw_only=True)
class ValveRod:
    """Valve rod."""

    length: Number = in_mm(
        "valve rod, its pin on the gear to the driven pin", rod="valve rod", work=lengthened("valve rod", 5, 2.0)
    )


@dataclass(frozen=True)
class RadialGear(Gear):
    """A gear whose reverser tilts the path of a rod's or lever's end."""

    valve: DrivenValve
    reversing: TiltReversing
    valve_rod: ValveRod

    led_by: ClassVar[str]
    """The pin at the other end of what runs along the tilted path."""

    @property
    def notches(self) -> dict[str, Notch]:
        """Named positions of the reverser."""
        return self.reversing.notches  # type: ignore[no-any-return]

    @property
    def led(self) -> Number:
        """From the pin ``led_by`` to the end that runs along the tilted path, mm."""
        raise NotImplementedError

    def derived(self) -> dict[str, tuple[float, str]]:
        """As of any gear; and where the weighshaft would leave the lead the same in every notch."""
        found = super().derived()
        with suppress(LinkageError):
            place = self.constant_lead_shaft()
            found["weighshaft for constant lead, ahead of the axle"] = (float(place.real), "length")
            found["weighshaft for constant lead, above the axle"] = (float(place.imag), "length")
        return found

    def constant_lead_shaft(self) -> complex:
        """Where the led end can stand at both dead centres, complex mm; of two such places the nearer one.

        With the weighshaft there the led end passes through it at both, whatever the tilt. (With an eccentric of throw
        t in line with the crank, a rod l and a level cylinder line, that is at the height sqrt(l² − t²).)
        """
        first = next(iter(self.notches.values()))
        assert isinstance(first, Arm)
        ends = Wheel.at([0.0, -float(self.crank.back_crank_angle)])
        front, back = solve(self.declare(first), ends)[self.led_by]
        half, middle = (back - front) / 2, (front + back) / 2
        square = 1j * half / np.abs(half) * np.sqrt(max(float(self.led) ** 2 - np.abs(half) ** 2, 0.0))
        shaft = complex(*self.reversing.shaft)
        return complex(min((middle + square, middle - square), key=lambda place: abs(place - shaft)))


def declare_swinging_link(
    gear: Linkage, shaft: XY, arm: Any, length: Any, setting: ReverserPosition, pin: str, link: str = "swinging link"
) -> None:
    """Declare the weighshaft, its arm, and the link from the arm's end on which a pin swings about the weighshaft."""
    assert isinstance(setting, Arm)
    declare_tilted(gear, shaft, setting.angle, {UPPER_PIN: (arm, 0.0)})
    gear.rod(link, UPPER_PIN, pin, length)
    gear.facing(link, UPPER_PIN, pin, tilted(np.real(setting.angle), (-1.0, 0.0)))


def declare_valve_rod(gear: Linkage, valve: DrivenValve, rod: ValveRod) -> None:
    """Declare the valve rod forward from its pin (declared), and what stands between it and the spindle."""
    x = real_point(*gear.near[gear.names[ROD_PIN]]).real + np.real(rod.length)
    gear.pin("driving pin", valve.driven_at(x))
    gear.rod("valve rod", ROD_PIN, "driving pin", rod.length)
    gear.facing("valve rod", ROD_PIN, "driving pin", (1.0, 0.0))
    declare_drive(gear, valve, "driving pin")
