"""The plain eccentric: one eccentric, fixed or slipping between two stops, direct or by a rocker.

The assembly: the driving pin ahead of the eccentric.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from linkmotion.gears.book import RADIAN, Number
from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.gears.drive import DrivenValve, declare_drive
from linkmotion.gears.eccentrics import advance
from linkmotion.gears.frame import CRANK, declare_crank
from linkmotion.gears.gear import Gear
from linkmotion.gears.keys import in_degrees, in_mm
from linkmotion.gears.reverser import Notch, ReverserPosition, Stop
from linkmotion.gears.shop_work import lengthened, turned_upon
from linkmotion.linkage import Linkage


@dataclass(frozen=True, kw_only=True)
class Eccentric:
    """Eccentric; angles of its centre ahead of the crank pin, + leading in forward running."""

    throw: Number = in_mm("centre from axle, half the travel it gives")
    angle: Number = in_degrees(
        "ahead of the crank pin (a slip eccentric: running forward)",
        slips="eccentric",
        work=turned_upon("eccentric", "shaft"),
    )
    backward_angle: Number = in_degrees(  # both stops are on the one eccentric
        "a slip eccentric's angle running backward",
        None,
        slips="eccentric",
        work=turned_upon("backward stop of the eccentric", "shaft", offered=False),
    )

    def derived(self, crank: CrankMotion) -> dict[str, tuple[Any, str]]:
        """Angular advance of each stop."""
        if self.backward_angle is None:
            return advance("", self.angle)
        return advance("fore-gear ", self.angle) | advance("back-gear ", self.backward_angle)


@dataclass(frozen=True, kw_only=True)
class EccentricRod:
    """Eccentric rod."""

    length: Number = in_mm(
        "eccentric's centre to driving pin", rod="eccentric rod", work=lengthened("eccentric rod", 5, 2.0)
    )


@dataclass(frozen=True)
class PlainEccentric(Gear):
    """Dimensions of a valve driven by one eccentric; lengths mm, angles degrees."""

    valve: DrivenValve
    eccentric: Eccentric
    eccentric_rod: EccentricRod

    name: ClassVar[str] = "plain eccentric"
    arms: ClassVar[tuple[tuple[str, str, str], ...]] = (CRANK, ("eccentric", "axle", "eccentric"))

    @property
    def notches(self) -> dict[str, Notch]:
        """The stops of the eccentric: "forward" and "backward", or "fixed"."""
        if self.eccentric.backward_angle is None:
            return {"fixed": Stop(self.eccentric.angle)}
        return {"forward": Stop(self.eccentric.angle), "backward": Stop(self.eccentric.backward_angle)}

    def declare(self, setting: ReverserPosition) -> Linkage:
        """Declare the linkage with the eccentric against a stop."""
        assert isinstance(setting, Stop)
        gear, rod = Linkage(), self.eccentric_rod.length
        declare_crank(gear, self.crank)
        gear.crank("eccentric", "axle", self.eccentric.throw, self.crank.front_direction - setting.angle * RADIAN)
        level: Any = np.real(self.valve.driven_at(rod)[1])
        ahead = np.sqrt(np.maximum(np.real(rod) ** 2 - level**2, 0.0))
        gear.pin("driving pin", (ahead, level))
        gear.rod("eccentric rod", "eccentric", "driving pin", rod)
        gear.facing("eccentric rod", "eccentric", "driving pin", (1.0, 0.0))
        declare_drive(gear, self.valve, "driving pin")
        return gear
