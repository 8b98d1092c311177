"""Marshall gear: as Hackworth's, but the eccentric rod's end hangs from a swinging link on the reversing arm.

The link is as long as the arm, so that its pin swings through the weighshaft on an arc; whichever way the arm is turned
the arc bends to the same side, so that fore and back gear cannot both be equalised.

The assembly: the eccentric rod running from the axle to the weighshaft's side, the swinging link from the arm's end
back to the weighshaft, the valve rod forward.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from linkmotion.gears.book import Number
from linkmotion.gears.hackworth import EccentricRadialGear
from linkmotion.gears.keys import in_mm
from linkmotion.gears.radial import TiltReversing, declare_swinging_link
from linkmotion.gears.reverser import ReverserPosition
from linkmotion.gears.shop_work import lengthened
from linkmotion.linkage import Linkage

REVERSING_ARM = ("reversing arm", "weighshaft", "arm pin")


@dataclass(frozen=True, kw_only=True)
class ArmReversing(TiltReversing):
    """Weighshaft, reversing arm and notches."""

    arm: Number = in_mm("reversing arm, weighshaft to the swinging link's pin")


@dataclass(frozen=True, kw_only=True)
class SwingingLink:
    """Swinging link."""

    length: Number = in_mm(
        "swinging link, centres (as the arm: its pin swings through the weighshaft)",
        rod="swinging link",
        work=lengthened("swinging link", 4, 3.0),
    )


@dataclass(frozen=True)
class Marshall(EccentricRadialGear):
    """Dimensions of a Marshall gear, table by table; lengths mm, angles degrees."""

    reversing: ArmReversing
    swinging_link: SwingingLink

    name: ClassVar[str] = "marshall"
    arms: ClassVar[tuple[tuple[str, str, str], ...]] = (*EccentricRadialGear.arms, REVERSING_ARM)

    def declare(self, setting: ReverserPosition) -> Linkage:
        """Declare the linkage with the reverser as set."""
        gear, shaft = self.declare_rod("swinging pin"), self.reversing
        length = self.swinging_link.length
        declare_swinging_link(gear, shaft.shaft, shaft.arm, length, setting, "swinging pin")
        return gear
