"""A third cylinder's valve, its movement derived from the two outside valve spindles by a 2:1 and an equal lever.

Each outside cylinder has its Walschaerts gear; the middle one has none. With the cranks a third of a turn apart the
movements of three like gears add up to nothing, but for their means and every third harmonic: of these the middle valve
has minus twice what a gear of its own would give it, three times as much away from it. So a sound drawing may have it
far out in one notch, and it is to be judged against the drawing; and the play of both sides comes to it, with that of
the levers.

Cylinder, connecting rod and valve are the middle ones. The three cranks have one radius.

The assembly: of either outside gear as in :mod:`~.rocked_link`; of the levers as in :mod:`~.plan_levers`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import MISSING, dataclass, fields, replace
from typing import Any, ClassVar

from linkmotion.gears.book import (
    RADIAN,
    REACH_ROD,
    ConnectingRod,
    Crosshead,
    Cylinder,
    Number,
    Valve,
)
from linkmotion.gears.drive import DrivenValve
from linkmotion.gears.frame import CRANK, VALVE_PIN, declare_crank
from linkmotion.gears.gear import Gear
from linkmotion.gears.keys import Fault, in_form, in_mm
from linkmotion.gears.outside_sides import (
    LEFT,
    RIGHT,
    LeftCombinationLever,
    LeftEccentricRod,
    LeftEngine,
    LeftExpansionLink,
    LeftRadiusRod,
    LeftReturnCrank,
    LeftUnionLink,
    OutsideEngine,
    OutsideRod,
    RightCombinationLever,
    RightEccentricRod,
    RightEngine,
    RightExpansionLink,
    RightRadiusRod,
    RightReturnCrank,
    RightUnionLink,
)
from linkmotion.gears.plan_levers import EqualLever, PlanLevers, TwoToOneLever
from linkmotion.gears.radius_rod import RadiusRod, RadiusRodReversing
from linkmotion.gears.reverser import Notch, ReverserPosition
from linkmotion.gears.slots import Slot
from linkmotion.gears.walschaerts import Walschaerts
from linkmotion.linkage import Linkage
from linkmotion.linkage.within import Within
from linkmotion.sides import MIDDLE

SPINDLE = "spindle crosshead"
_OUTSIDE = (  # tables that a side has as a gear of its own would have them
    "return_crank", "eccentric_rod", "expansion_link", "combination_lever", "union_link",
)  # fmt: skip
_OWN = {"connecting_rod": ("engine", "connecting_rod"), "cylinder": ("engine", ""), "valve": ("engine", "guide_height")}


@dataclass(frozen=True, kw_only=True)
class SharedReversing:
    """The weighshaft of both outside gears, and its notches."""

    notches: Any = in_form(
        "named positions of the reverser: angle of both lifting arms in degrees (0 = pointing forward, + up)",
        "notches",
        MISSING,
        work=REACH_ROD,
        die_places=False,
    )
    shaft_x: Number = in_mm("weighshaft ahead of the axle", signed=True, frame="x")
    shaft_y: Number = in_mm("weighshaft above the axle", signed=True, frame="y")
    arm: Number = in_mm("lifting arms, weighshaft to lifting-link pin")


@dataclass(frozen=True, kw_only=True)
class DerivedValve(Gear):
    """Dimensions of a derived valve's gear, table by table; lengths mm, angles degrees."""

    reversing: SharedReversing
    two_to_one_lever: TwoToOneLever
    equal_lever: EqualLever
    left_engine: LeftEngine
    left_return_crank: LeftReturnCrank
    left_eccentric_rod: LeftEccentricRod
    left_expansion_link: LeftExpansionLink
    left_radius_rod: LeftRadiusRod
    left_combination_lever: LeftCombinationLever
    left_union_link: LeftUnionLink
    right_engine: RightEngine
    right_return_crank: RightReturnCrank
    right_eccentric_rod: RightEccentricRod
    right_expansion_link: RightExpansionLink
    right_radius_rod: RightRadiusRod
    right_combination_lever: RightCombinationLever
    right_union_link: RightUnionLink

    name: ClassVar[str] = "derived valve"
    sides: ClassVar[tuple[str, ...]] = MIDDLE
    arms: ClassVar[tuple[tuple[str, str, str], ...]] = (
        CRANK,
        *((f"{side} crank", f"{side} axle", f"{side} crank pin") for side in (LEFT, RIGHT)),
        *((f"{side} return crank", f"{side} crank pin", f"{side} return-crank pin") for side in (LEFT, RIGHT)),
        *((f"{side} lifting arm", f"{side} weighshaft", f"{side} arm pin") for side in (LEFT, RIGHT)),
    )

    @property
    def notches(self) -> dict[str, Notch]:
        """Named positions of the reverser."""
        return self.reversing.notches  # type: ignore[no-any-return]

    @property
    def levers(self) -> PlanLevers:
        """The levers between the spindles."""
        across = {side: self._engine(side).spindle_across for side in (LEFT, RIGHT)}
        return PlanLevers(self.two_to_one_lever, self.equal_lever, self.valve, across)

    def outside(self, side: str) -> Walschaerts:
        """The gear of an outside cylinder by itself, its valve's ports as the middle one's.

        Parameters
        ----------
        side : str
            "left" or "right".
        """
        own, rod, shaft = self._engine(side), self._rod(side), self.reversing
        valve = {key.name: getattr(self.valve, key.name) for key in fields(Valve)} | {"guide_height": own.guide_height}
        return Walschaerts(
            cylinder=Cylinder(crank_radius=self.crank.radius, line_height=own.line_height, inclination=own.inclination),
            connecting_rod=ConnectingRod(length=own.connecting_rod),
            crosshead=Crosshead(arm_x=own.arm_x, arm_y=own.arm_y),
            valve=DrivenValve(**valve),
            reversing=RadiusRodReversing(
                notches=shaft.notches,
                shaft_x=shaft.shaft_x,
                shaft_y=shaft.shaft_y,
                arm=shaft.arm,
                lifting_link=rod.lifting_link,
            ),
            radius_rod=RadiusRod(length=rod.length, lift_pin=rod.lift_pin, lift_pin_rise=rod.lift_pin_rise),
            **{table: getattr(self, f"{side}_{table}") for table in _OUTSIDE},
        )

    @property
    def slots(self) -> tuple[Slot, ...]:
        """The slot of either outside link."""
        return tuple(self.outside(side).slot.of_side(side) for side in (LEFT, RIGHT))

    def _engine(self, side: str) -> OutsideEngine:
        return getattr(self, f"{side}_engine")  # type: ignore[no-any-return]

    def _rod(self, side: str) -> OutsideRod:
        return getattr(self, f"{side}_radius_rod")  # type: ignore[no-any-return]

    def own_faults(self) -> Iterator[Fault]:
        """What is wrong with the gear's own tables, if anything."""
        yield from self.levers.faults()
        for side in (LEFT, RIGHT):
            gear = self.outside(side)
            crank = gear.cylinder.faults(gear.connecting_rod, gear.valve)
            for fault in (*crank, *gear.own_faults(), *gear.slot.faults()):
                table, key = _OWN.get(fault.table, (fault.table, fault.key))
                yield replace(fault, table=table if table == "reversing" else f"{side}_{table}", key=key or fault.key)

    def declare(self, setting: ReverserPosition) -> Linkage:
        """Declare both outside gears with the reverser as set, and the levers between the spindles."""
        gear, crank, levers = Linkage(), self.crank, self.levers
        declare_crank(gear, crank)
        ends = {}
        for side in (LEFT, RIGHT):
            outside, own = self.outside(side), self._engine(side)
            turned = crank.front_direction - own.crank_angle * RADIAN - outside.crank.front_direction
            outside.declare_in(Within(gear, side, turned), setting)
            driven, ends[side] = f"{side} {VALVE_PIN}", f"{side} spindle pin"
            offset = levers.offset(side, own.spindle_reach, own.guide_height)
            x, y = gear.near[gear.names[driven]]
            gear.pin(ends[side], (x + offset[0], y + offset[1]))
            gear.carried(f"{side} {SPINDLE}", ends[side], driven, offset)
        levers.declare(gear, ends)
        return gear
