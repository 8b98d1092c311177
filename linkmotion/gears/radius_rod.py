"""The radius rod and the three ways of carrying it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from linkmotion.gears import book
from linkmotion.gears.book import Fault, Number, in_mm, one_of
from linkmotion.gears.frame import arm_end, declare_arm, hung_from, plumb_end
from linkmotion.gears.reverser import Arm, DieHeight, DieHeld, Setting
from linkmotion.linkage import Linkage
from linkmotion.linkage.parts import XY


@dataclass(frozen=True, kw_only=True)
class RadiusRod:
    """Radius rod."""

    length: Number = in_mm("die pin to combination-lever pin")
    lift_pin: Number = in_mm(
        "lift pin from the die pin toward the lever (negative: tail behind the link)", None, signed=True
    )
    lift_pin_rise: Number = in_mm("lift pin above the rod's line", 0.0, signed=True)


@dataclass(frozen=True, kw_only=True)
class RadiusRodReversing(book.Reversing):
    """Weighshaft, and how it carries the radius rod."""

    suspension: str = one_of(
        "how the radius rod is carried", ("lifting link", "sliding block", "ideal"), "lifting link"
    )

    def faults(self, rod: RadiusRod) -> Iterator[Fault]:
        """What is wrong with the suspension's figures, if anything."""
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
    gear: Linkage, rod: RadiusRod, shaft: RadiusRodReversing, setting: Setting, die: XY, far_pin: str, forth: int
) -> None:
    """Declare the rod from the die pin to ``far_pin``, and the lifting link or swivel block that carries it.

    ``die`` is the sketch of the die pin at mid gear; ``forth`` is +1 when the rod runs forward, −1 backward.
    """
    if isinstance(setting, DieHeld) or shaft.suspension == "ideal":
        gear.rod("radius rod", "die pin", far_pin, rod.length)
        return
    rise = rod.lift_pin_rise * forth
    places: dict[str, XY] = {"die pin": (0.0, 0.0), far_pin: (rod.length, 0.0)}
    if shaft.suspension == "sliding block":
        declare_arm(gear, shaft, setting, die)  # where a die height asks for it: the place nearer the die
        gear.plate("radius rod", places)
        gear.slide("swivel block", "arm pin", "die pin", far_pin, rise)
        return
    place = (die[0] + forth * rod.lift_pin, die[1] + rod.lift_pin_rise)
    if isinstance(setting, Arm):
        gear.pin("lift pin", hung_from(arm_end(shaft, setting), shaft.lifting_link, place[1]))
        end = place
    else:
        assert isinstance(setting, DieHeight)
        gear.pin("lift pin", place)
        end = plumb_end(shaft, (place[0], place[1] + setting.height))
    declare_arm(gear, shaft, setting, end)
    gear.plate("radius rod", places | {"lift pin": (rod.lift_pin, rise)})
    gear.rod("lifting link", "arm pin", "lift pin", shaft.lifting_link)
