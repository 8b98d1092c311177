"""Walschaerts gear with an eccentric on the axle in place of the return crank, as between the frames.

The eccentric turns upon the axle where a return crank turns upon the crank pin: slipped or keyed afresh it keeps its
throw. All else is a Walschaerts gear.

The assembly: as in :mod:`~.walschaerts`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from linkmotion.gears.book import RADIAN, Crosshead, Number
from linkmotion.gears.combination_lever import CombinationLever, UnionLink
from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.gears.drive import DrivenValve
from linkmotion.gears.eccentrics import advance
from linkmotion.gears.frame import CRANK, LIFTING_ARM
from linkmotion.gears.keys import in_degrees, in_mm
from linkmotion.gears.radius_rod import RadiusRod, RadiusRodReversing
from linkmotion.gears.rocked_link import ExpansionLink, RockedLinkGear
from linkmotion.gears.shop_work import lengthened, turned_upon
from linkmotion.linkage import Linkage

ECCENTRIC = "eccentric"


@dataclass(frozen=True, kw_only=True)
class Eccentric:
    """Eccentric on the axle."""

    throw: Number = in_mm("eccentric's centre from the axle")
    angle: Number = in_degrees(
        "eccentric ahead of the crank pin, + leading in forward running",
        slips=ECCENTRIC,
        work=turned_upon("eccentric", "axle"),
    )

    def derived(self, crank: CrankMotion) -> dict[str, tuple[Any, str]]:
        """Angular advance."""
        return advance("", self.angle)


@dataclass(frozen=True, kw_only=True)
class EccentricRod:
    """Eccentric rod."""

    length: Number = in_mm(
        "eccentric rod, eccentric's centre to link foot", rod="eccentric rod", work=lengthened("eccentric rod", 5, 2.0)
    )


@dataclass(frozen=True, kw_only=True)
class EccentricWalschaerts(RockedLinkGear):
    """Dimensions of such a gear, table by table; lengths mm, angles degrees."""

    valve: DrivenValve
    crosshead: Crosshead
    reversing: RadiusRodReversing
    eccentric: Eccentric
    eccentric_rod: EccentricRod
    expansion_link: ExpansionLink
    radius_rod: RadiusRod
    combination_lever: CombinationLever
    union_link: UnionLink

    name: ClassVar[str] = "eccentric walschaerts"
    arms: ClassVar[tuple[tuple[str, str, str], ...]] = (CRANK, (ECCENTRIC, "axle", ECCENTRIC), LIFTING_ARM)

    def declare_driver(self, gear: Linkage) -> tuple[str, str, Number]:
        """Declare the eccentric's centre."""
        gear.crank(ECCENTRIC, "axle", self.eccentric.throw, self.crank.front_direction - self.eccentric.angle * RADIAN)
        return "eccentric rod", ECCENTRIC, self.eccentric_rod.length
