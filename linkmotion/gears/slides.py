"""What is fixed on the weighshaft of a radial gear, and the slide that it tilts, with the die in it.

The slide stands upright with the reversing arm pointing forward. The die runs to and fro in it in every turn: that
stroke is the working movement of the gear, and no slip.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from linkmotion.gears.book import RADIAN, Number
from linkmotion.gears.keys import Fault, in_degrees, in_mm, one_of
from linkmotion.gears.reverser import Arm, ReverserPosition
from linkmotion.gears.slots import TIE, CurvedSlot, StraightSlot
from linkmotion.linkage import Linkage
from linkmotion.linkage.parts import XY

WEIGHSHAFT, AXIS = "weighshaft", "slot axis"


def tilted(angle: Any, place: XY) -> XY:
    """A vector of what is fixed on the weighshaft, in the frame; ``angle`` is the reversing arm's, degrees."""
    cosine, sine = np.cos(angle * RADIAN), np.sin(angle * RADIAN)
    return cosine * place[0] - sine * place[1], sine * place[0] + cosine * place[1]


def declare_tilted(gear: Linkage, shaft: XY, angle: Any, places: Mapping[str, XY]) -> None:
    """Declare the weighshaft and pins fixed on it, turned by an angle, degrees."""
    gear.fixed(WEIGHSHAFT, *shaft)
    for name, place in places.items():
        x, y = tilted(angle, place)
        gear.fixed(name, shaft[0] + x, shaft[1] + y)


@dataclass(frozen=True)
class StraightSlide(StraightSlot):
    """A straight slide on the weighshaft, leaning back by ``lean`` degrees with the arm pointing forward."""

    lean: Any
    works: ClassVar[bool] = True

    def declare(self, gear: Linkage, sketch: XY, setting: ReverserPosition) -> None:
        """Declare the weighshaft and the slide; ``sketch`` is the weighshaft's place."""
        assert isinstance(setting, Arm)
        ends = {"slot bottom": self.at(-self.bottom), "slot top": self.at(self.top)}
        declare_tilted(gear, sketch, setting.angle + self.lean, {AXIS: self.pins[AXIS], **ends})
        gear.slide(TIE, self.die, "slot bottom", "slot top")


@dataclass(frozen=True)
class CurvedSlide(CurvedSlot):
    """A curved slide on the weighshaft: the die keeps the radius from a point fixed on it; ``lean`` as above."""

    lean: Any
    works: ClassVar[bool] = True

    def faults(self) -> Iterator[Fault]:
        """What is wrong with the slide's figures, if anything."""
        return (Fault("slide", "radius", each.problem, each.remedy) for each in super().faults())

    def declare(self, gear: Linkage, sketch: XY, setting: ReverserPosition) -> None:
        """Declare the weighshaft and the slide; ``sketch`` is the weighshaft's place."""
        assert isinstance(setting, Arm)
        angle = setting.angle + self.lean
        declare_tilted(gear, sketch, angle, {AXIS: self.pins[AXIS], "slot centre": self.centre})
        gear.rod(TIE, self.die, "slot centre", self.radius)
        hollow = (-1.0 if self.concave_forward else 1.0, 0.0)
        gear.facing(TIE, "slot centre", self.die, tilted(np.real(angle), hollow))


@dataclass(frozen=True, kw_only=True)
class Slide:
    """Slide on the weighshaft; its axes as it stands upright, origin at the weighshaft, x forward and y up."""

    radius: Number = in_mm("radius of the slide's centre line (not given: straight)", None, slot="radius")
    concave_to: str = one_of("side from which a curved slide looks hollow", ("valve", "axle"), "valve")
    offset: Number = in_mm("slide's centre line ahead of the weighshaft", 0.0, signed=True, slot="offset")
    lean: Number = in_degrees("slide leaning back from upright with the arm pointing forward", 0.0, slot="lean")
    top: Number = in_mm("reach of the die pin up the slide from the weighshaft", slot="top")
    bottom: Number = in_mm("reach of the die pin down the slide from the weighshaft", slot="bottom")

    @property
    def slot(self) -> StraightSlide | CurvedSlide:
        """The slot in it, with the weighshaft as origin of its axes."""
        pins: dict[str, XY] = {WEIGHSHAFT: (0.0, 0.0), AXIS: (self.top, 0.0)}
        if self.radius is None:
            return StraightSlide(pins, "die pin", self.top, self.bottom, self.offset, self.lean)
        forward = self.concave_to == "valve"
        centre = (self.offset + (self.radius if forward else -self.radius), 0.0)
        return CurvedSlide(pins, "die pin", self.top, self.bottom, centre, self.radius, forward, self.lean)
