"""A link rocked by the other side's crosshead: no eccentric and no return crank.

The cranks of a two-cylinder engine stand a right angle apart, so that each crosshead is where the other side's link
ought to be: a rod from an arm of that crosshead rocks this side's link, and the rest is as in a Walschaerts gear. The
other side's rod, crosshead and crank angle are then dimensions of this side.

The assembly: the foot on its own side of the line from the other crosshead's arm to the trunnion; the rest as in
:mod:`~.rocked_link`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from linkmotion.gears.book import RADIAN, Crosshead, Number
from linkmotion.gears.combination_lever import CombinationLever, UnionLink
from linkmotion.gears.drive import DrivenValve
from linkmotion.gears.frame import CRANK, LIFTING_ARM, in_frame_axes
from linkmotion.gears.keys import Fault, in_degrees, in_mm
from linkmotion.gears.radius_rod import RadiusRod, RadiusRodReversing
from linkmotion.gears.rocked_link import ExpansionLink, RockedLinkGear
from linkmotion.gears.shop_work import lengthened
from linkmotion.linkage import Linkage

OTHER_CRANK_PIN, OTHER_CROSSHEAD, OTHER_ARM = "other crank pin", "other crosshead pin", "other crosshead-arm pin"


@dataclass(frozen=True, kw_only=True)
class OtherSide:
    """The other side's crank, connecting rod and crosshead, as far as they work this side's link."""

    crank_angle: Number = in_degrees(
        "the other crank pin ahead of this side's, + leading in forward running", hand=True
    )
    crank_radius: Number = in_mm("the other side's crank radius")
    connecting_rod: Number = in_mm("the other side's connecting rod, centres", rod="other connecting rod")
    line_height: Number = in_mm(
        "height of the other cylinder's line above the axle, square to the line", 0.0, signed=True, frame="line"
    )
    arm_x: Number = in_mm("drive rod's pin ahead of the other crosshead pin", 0.0, signed=True)
    arm_y: Number = in_mm("drive rod's pin above the other crosshead pin (negative below)", signed=True)


@dataclass(frozen=True, kw_only=True)
class DriveRod:
    """Drive rod."""

    length: Number = in_mm(
        "drive rod, the other crosshead's arm to link foot", rod="drive rod", work=lengthened("drive rod", 5, 2.0)
    )


@dataclass(frozen=True, kw_only=True)
class CrossheadDriven(RockedLinkGear):
    """Dimensions of a gear driven by the other side's crosshead, table by table; lengths mm, angles degrees."""

    valve: DrivenValve
    crosshead: Crosshead
    reversing: RadiusRodReversing
    other_side: OtherSide
    drive_rod: DriveRod
    expansion_link: ExpansionLink
    radius_rod: RadiusRod
    combination_lever: CombinationLever
    union_link: UnionLink

    name: ClassVar[str] = "crosshead driven"
    arms: ClassVar[tuple[tuple[str, str, str], ...]] = (CRANK, ("other crank", "axle", OTHER_CRANK_PIN), LIFTING_ARM)

    def own_faults(self) -> Iterator[Fault]:
        """What is wrong with the gear's own tables, if anything."""
        other = self.other_side
        if not other.crank_radius + abs(other.line_height) < other.connecting_rod:
            problem = "the other side's rod is too short to pass its crank"
            remedy = "it must be longer than the crank radius and the line height together"
            yield Fault("other_side", "connecting_rod", problem, remedy)
        yield from super().own_faults()

    def declare_driver(self, gear: Linkage) -> tuple[str, str, Number]:
        """Declare the other side's crank, connecting rod and crosshead, with the drive rod's pin on it."""
        other, crank = self.other_side, self.crank
        at = in_frame_axes(crank, other.connecting_rod, other.line_height)
        arm = in_frame_axes(crank, other.arm_x, other.arm_y)
        gear.crank(OTHER_CRANK_PIN, "axle", other.crank_radius, crank.front_direction - other.crank_angle * RADIAN)
        gear.pin(OTHER_CROSSHEAD, at)
        gear.rod("other connecting rod", OTHER_CRANK_PIN, OTHER_CROSSHEAD, other.connecting_rod)
        gear.guide("other slidebars", OTHER_CROSSHEAD, in_frame_axes(crank, 0.0, other.line_height), crank.slope)
        gear.pin(OTHER_ARM, (at[0] + arm[0], at[1] + arm[1]))
        gear.carried("other crosshead", OTHER_ARM, OTHER_CROSSHEAD, arm)
        return "drive rod", OTHER_ARM, self.drive_rod.length
