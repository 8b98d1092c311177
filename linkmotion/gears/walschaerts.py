"""Walschaerts gear.

A return crank swings a link on fixed trunnions through an eccentric rod; a radius rod takes the
link's motion from a die at the height chosen by the reverser to a combination lever, which adds
to it the lap-and-lead movement taken from the crosshead.

The assembly: the foot on its own side of the line from the axle to the trunnion; the rest as in
:mod:`~.rocked_link`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from linkmotion.gears.book import Crosshead, Number
from linkmotion.gears.combination_lever import CombinationLever, UnionLink
from linkmotion.gears.drive import DrivenValve
from linkmotion.gears.frame import CRANK, LIFTING_ARM
from linkmotion.gears.keys import Fault, in_mm
from linkmotion.gears.radius_rod import RadiusRod, RadiusRodReversing
from linkmotion.gears.return_crank import RETURN_CRANK, RETURN_CRANK_PIN, ReturnCrank
from linkmotion.gears.rocked_link import ExpansionLink, RockedLinkGear
from linkmotion.gears.shop_work import lengthened
from linkmotion.linkage import Linkage


@dataclass(frozen=True, kw_only=True)
class EccentricRod:
    """Eccentric rod."""

    length: Number = in_mm(
        "eccentric rod, return-crank pin to link foot", rod="eccentric rod", work=lengthened("eccentric rod", 5, 2.0)
    )


@dataclass(frozen=True, kw_only=True)
class Walschaerts(RockedLinkGear):
    """Dimensions of a Walschaerts gear, table by table; lengths mm, angles degrees."""

    valve: DrivenValve
    crosshead: Crosshead
    reversing: RadiusRodReversing
    return_crank: ReturnCrank
    eccentric_rod: EccentricRod
    expansion_link: ExpansionLink
    radius_rod: RadiusRod
    combination_lever: CombinationLever
    union_link: UnionLink

    name: ClassVar[str] = "walschaerts"
    arms: ClassVar[tuple[tuple[str, str, str], ...]] = (
        CRANK,
        (RETURN_CRANK, "crank pin", RETURN_CRANK_PIN),
        LIFTING_ARM,
    )

    def own_faults(self) -> Iterator[Fault]:
        """What is wrong with the gear's own tables, if anything."""
        yield from self.return_crank.faults(self.crank.radius)
        yield from super().own_faults()

    def declare_driver(self, gear: Linkage) -> tuple[str, str, Number]:
        """Declare the return crank's pin."""
        self.return_crank.declare(gear, self.crank)
        return "eccentric rod", RETURN_CRANK_PIN, self.eccentric_rod.length
