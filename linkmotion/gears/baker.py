"""Baker gear: no link and no slide; every joint is a pin.

The return crank swings the foot of the gear connecting rod fore and aft. That rod hangs by radius bars from the
reversing yoke, so that its middle pin runs on an arc through the yoke's trunnion; the yoke tilts the arc, and the rod's
top then rises and falls as its foot swings. A bell crank turns that into a movement along the engine, which the valve
rod takes to the combination lever.

With the yoke as long as the radius bars the middle pin coincides with the trunnion in mid gear: at both dead centres,
if the lead is to be the same in every notch.

The assembly: the eccentric rod running forward, the gear connecting rod standing with its top toward the bell crank (or
hanging, where that is below the yoke), the radius bars from the yoke's end back to the trunnion, the valve rod forward.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from linkmotion.gears import book
from linkmotion.gears.bell_crank import DRIVEN_PIN, BellCrank
from linkmotion.gears.book import Number
from linkmotion.gears.combination_lever import LEVER_PIN, CombinationLever, LeverTrain, UnionLink
from linkmotion.gears.drive import DrivenValve
from linkmotion.gears.frame import CRANK, declare_crank
from linkmotion.gears.gear import Gear
from linkmotion.gears.keys import Fault, in_mm
from linkmotion.gears.marshall import ArmReversing
from linkmotion.gears.radial import ROD_PIN, ValveRod, declare_swinging_link
from linkmotion.gears.return_crank import RETURN_CRANK, RETURN_CRANK_PIN, ReturnCrank
from linkmotion.gears.reverser import Notch, ReverserPosition
from linkmotion.gears.shop_work import lengthened
from linkmotion.linkage import Linkage
from linkmotion.linkage.parts import real_point

FOOT, BAR_PIN = "foot", "radius-bar pin"


@dataclass(frozen=True, kw_only=True)
class EccentricRod:
    """Eccentric rod."""

    length: Number = in_mm(
        "eccentric rod, return-crank pin to the gear connecting rod's foot",
        rod="eccentric rod",
        work=lengthened("eccentric rod", 5, 2.0),
    )


@dataclass(frozen=True, kw_only=True)
class GearConnectingRod:
    """Gear connecting rod."""

    length: Number = in_mm("foot to the bell crank's pin, centres")
    bar_pin: Number = in_mm("foot to the radius bars' pin, along the rod")
    bar_pin_offset: Number = in_mm("radius bars' pin ahead of the rod's line", 0.0, signed=True)


@dataclass(frozen=True, kw_only=True)
class RadiusBars:
    """Radius bars."""

    length: Number = in_mm(
        "radius bars, centres (as the yoke: their pin swings through its trunnion)",
        rod="radius bars",
        work=lengthened("radius bars", 4, 3.0),
    )


@dataclass(frozen=True)
class Baker(Gear):
    """Dimensions of a Baker gear, table by table; lengths mm, angles degrees."""

    valve: DrivenValve
    crosshead: book.Crosshead
    reversing: ArmReversing
    return_crank: ReturnCrank
    eccentric_rod: EccentricRod
    gear_connecting_rod: GearConnectingRod
    radius_bars: RadiusBars
    bell_crank: BellCrank
    valve_rod: ValveRod
    combination_lever: CombinationLever
    union_link: UnionLink

    name: ClassVar[str] = "baker"
    arms: ClassVar[tuple[tuple[str, str, str], ...]] = (
        CRANK,
        (RETURN_CRANK, "crank pin", RETURN_CRANK_PIN),
        ("reversing yoke", "weighshaft", "arm pin"),
    )

    @property
    def notches(self) -> dict[str, Notch]:
        """Named positions of the reverser."""
        return self.reversing.notches  # type: ignore[no-any-return]

    @property
    def lever_train(self) -> LeverTrain:
        """From the crosshead to the spindle."""
        return LeverTrain(self.crosshead, self.union_link, self.combination_lever, self.valve)

    def own_faults(self) -> Iterator[Fault]:
        """What is wrong with the gear's own tables, if anything."""
        yield from self.return_crank.faults(self.crank.radius)
        yield from self.bell_crank.faults()
        yield from self.lever_train.faults()
        rod = self.gear_connecting_rod
        if not rod.bar_pin < rod.length:
            remedy = "it stands between the foot and the bell crank's pin"
            yield Fault(
                "gear_connecting_rod", "bar_pin", "the radius bars' pin stands at the top, or beyond it", remedy
            )

    def declare(self, setting: ReverserPosition) -> Linkage:
        """Declare the linkage with the reverser as set."""
        gear, shaft, rod = Linkage(), self.reversing.shaft, self.gear_connecting_rod
        crosshead = declare_crank(gear, self.crank)
        self.return_crank.declare(gear, self.crank)
        start = self.bell_crank.declare(gear, ROD_PIN)
        up = real_point(*self.bell_crank.driven_at) - real_point(*shaft)
        up = up / np.abs(up)
        foot = real_point(*shaft) - np.real(rod.bar_pin) * up
        gear.pin(FOOT, (foot.real, foot.imag))
        gear.pin(BAR_PIN, shaft)
        places = {FOOT: (0.0, 0.0), DRIVEN_PIN: (0.0, rod.length)}
        ahead = np.where(up.imag < 0, -1.0, 1.0) * rod.bar_pin_offset  # to the right of the rod, seen from its foot
        gear.plate("gear connecting rod", places | {BAR_PIN: (ahead, rod.bar_pin)})
        gear.facing("gear connecting rod", FOOT, DRIVEN_PIN, (up.real, up.imag))
        gear.rod("eccentric rod", RETURN_CRANK_PIN, FOOT, self.eccentric_rod.length)
        gear.facing("eccentric rod", RETURN_CRANK_PIN, FOOT, (1.0, 0.0))
        bars = self.radius_bars.length
        declare_swinging_link(gear, shaft, self.reversing.arm, bars, setting, BAR_PIN, "radius bars")
        self.lever_train.declare(gear, self.crank, crosshead, start, self.valve_rod.length)
        gear.rod("valve rod", ROD_PIN, LEVER_PIN, self.valve_rod.length)
        gear.facing("valve rod", ROD_PIN, LEVER_PIN, (1.0, 0.0))
        return gear
