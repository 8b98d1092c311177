"""The radius rod and the three ways of carrying it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.gears import book
from linkmotion.gears.book import Number
from linkmotion.gears.frame import arm_end, arm_to, arms_holding, declare_arm, declare_hanging, hung_from
from linkmotion.gears.keys import Fault, in_mm, one_of
from linkmotion.gears.reverser import Arm, ReverserPosition
from linkmotion.gears.shop_work import lengthened
from linkmotion.linkage import Linkage
from linkmotion.linkage.parts import XY


@dataclass(frozen=True, kw_only=True)
class RadiusRod:
    """Radius rod."""

    length: Number = in_mm(
        "die pin to the pin at its valve end (the combination lever's, where there is one)",
        rod="radius rod",
        work=lengthened("radius rod", 5, 4.0, offered=False),
    )
    lift_pin: Number = in_mm(
        "lift pin from the die pin toward its valve end (negative: tail behind the link)", None, signed=True
    )
    lift_pin_rise: Number = in_mm("lift pin above the rod's line", 0.0, signed=True)


@dataclass(frozen=True, kw_only=True)
class RadiusRodReversing(book.Reversing):
    """Weighshaft, and how it carries the radius rod."""

    suspension: str = one_of(
        "how the radius rod is carried", ("lifting link", "sliding block", "ideal"), "lifting link"
    )

    def faults(self, rod: RadiusRod) -> Iterator[Fault]:
        """What is wrong with the suspension's figures, if anything.

        Parameters
        ----------
        rod : RadiusRod
            Which it carries.
        """
        needs = {
            "lifting link": ("shaft_x", "shaft_y", "arm", "lifting_link"),
            "sliding block": ("shaft_x", "shaft_y", "arm"),
            "ideal": (),
        }
        for key in needs[self.suspension]:
            if getattr(self, key) is None:
                remedy = "give it, or change suspension"
                yield Fault("reversing", key, f"the suspension {self.suspension!r} needs it", remedy)
        if self.suspension == "lifting link" and rod.lift_pin is None:
            yield Fault("radius_rod", "lift_pin", "the lifting link needs its pin on the rod", "give lift_pin")
        arms = [name for name, notch in self.notches.items() if isinstance(notch, Arm)]
        hung = {key: getattr(self, key) for key in needs["lifting link"]} | {"lift_pin": rod.lift_pin}
        missing = [key for key, value in hung.items() if value is None]
        if self.suspension == "ideal" and arms and missing:
            problem = f"notch {arms[0]!r} is an arm angle, which needs {' and '.join(missing)}"
            yield Fault("reversing", "notches", problem, "give { die = height } with the ideal suspension")


def declare_radius_rod(
    gear: Linkage,
    rod: RadiusRod,
    shaft: RadiusRodReversing,
    setting: ReverserPosition,
    die: XY,
    far_pin: str,
    forth: int,
) -> None:
    """Declare the rod, and the lifting link or swivel block that carries it.

    Where the die itself is held, nothing carries the rod.

    Parameters
    ----------
    gear : Linkage
        With "die pin" and the far pin declared.
    rod, shaft : RadiusRod, RadiusRodReversing
        Their tables.
    setting : ReverserPosition
        As :meth:`linkmotion.gears.Gear.declare` was given it.
    die : (x, y)
        Sketch of the die pin at mid gear, mm from the axle.
    far_pin : str
        The rod's other end.
    forth : int
        +1 when the rod runs forward, −1 backward.
    """
    gear.facing("radius rod", "die pin", far_pin, (float(forth), 0.0))
    if not isinstance(setting, Arm):
        gear.rod("radius rod", "die pin", far_pin, rod.length)
        return
    rise = rod.lift_pin_rise * forth
    places: dict[str, XY] = {"die pin": (0.0, 0.0), far_pin: (rod.length, 0.0)}
    declare_arm(gear, shaft, setting)
    if shaft.suspension == "sliding block":
        gear.plate("radius rod", places)
        gear.slide("swivel block", "arm pin", "die pin", far_pin, rise)
        return
    gear.pin("lift pin", hung_from(arm_end(shaft, setting), shaft.lifting_link, die[1] + rod.lift_pin_rise))
    gear.plate("radius rod", places | {"lift pin": (rod.lift_pin, rise)})
    declare_hanging(gear, "lifting link", "arm pin", "lift pin", shaft.lifting_link)


def arms_carrying(rod: RadiusRod, shaft: RadiusRodReversing, die: Any, far: Any, forth: int) -> list[Arm]:
    """The arm angles that carry the rod where it stands.

    First the one with the lifting link more nearly upright; with a sliding block the one nearer to the die.

    Parameters
    ----------
    rod, shaft : RadiusRod, RadiusRodReversing
        Their tables.
    die, far : complex or arrays
        Places of the rod's ends, mm from the axle.
    forth : int
        +1 when the rod runs forward, −1 backward.

    Raises
    ------
    UnreachableError
        The arm does not reach the rod.
    """
    line, rise = (far - die) / np.abs(far - die), 1j * rod.lift_pin_rise * forth
    if shaft.suspension != "sliding block":
        return arms_holding(shaft, die + line * (rod.lift_pin + rise))
    pivot = (shaft.shaft_x + 1j * shaft.shaft_y - die) / line - rise  # as seen from the block's line
    reach = np.copysign(np.sqrt(np.maximum(shaft.arm**2 - pivot.imag**2, 0.0)), pivot.real)
    short = np.maximum(np.abs(pivot.imag) - shaft.arm, 0.0)
    ends = (die + line * (pivot.real + along + rise) for along in (-reach, reach))
    return [arm_to(shaft, end, short, "swivel block") for end in ends]
