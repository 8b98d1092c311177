"""Southern gear: a stationary link, and no combination lever.

The eccentric rod is hung near its front end by a radius hanger from a block in a level link that is fixed to the frame;
the reverser shifts the block. As the return crank goes round, the hanger's pin swings fore and aft on an arc, tilted as
far as the block stands off the link's middle, and the rod's front end rises and falls: from the hanger pin's own rise,
and from the return crank's, by the lever that the rod is. The second is the lap and lead. A yoke takes the rise to a
bell crank, and the valve rod from there goes to the spindle.

With the link struck from the hanger pin's place at both dead centres, to the hanger's length, the lead is the same in
every notch.

The assembly: the eccentric rod running forward, the hanger running from its block to the slot's hollow side, the yoke
standing up to the bell crank (or hanging, where that is below the rod's front end), the valve rod forward.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import MISSING, dataclass, replace
from typing import Any, ClassVar

import numpy as np

from linkmotion.gears.bell_crank import DRIVEN_PIN, BellCrank
from linkmotion.gears.book import Number
from linkmotion.gears.drive import DrivenValve
from linkmotion.gears.frame import CRANK, declare_crank
from linkmotion.gears.gear import Gear
from linkmotion.gears.keys import Fault, in_degrees, in_form, in_mm, one_of
from linkmotion.gears.radial import ROD_PIN, ValveRod, declare_valve_rod
from linkmotion.gears.return_crank import RETURN_CRANK, RETURN_CRANK_PIN, ReturnCrank
from linkmotion.gears.reverser import DieHeight, DieHeld, Notch, ReverserPosition, figure
from linkmotion.gears.shop_work import ShopWork, lengthened
from linkmotion.gears.slides import tilted
from linkmotion.gears.slots import PART, CurvedSlot
from linkmotion.linkage import Linkage
from linkmotion.linkage.parts import XY, real_point

HANGER_PIN, YOKE_PIN, BLOCK = "hanger pin", "yoke pin", "die pin"
MIDDLE = "slot middle"
_BEHIND, _AHEAD = "slot back", "slot front"
_SHIFTED = ShopWork(
    "reach rod",
    "alter the reach rod so that the blocks stand {} further ahead",
    "alter the reach rod so that the blocks stand {} further back",
    3,
    2.0,
    shared=True,
)
_FORWARD = ShopWork("link bracket", "pack the link forward by {}", "pack the link back by {}", 1, 5.0)
_UP = ShopWork("link bracket", "pack the link up by {}", "let the link down by {}", 1, 5.0)


@dataclass(frozen=True, kw_only=True)
class BlockReversing:
    """Notches."""

    notches: Any = in_form(
        "named positions of the reverser: { die = place of the block along the link, + forward of its middle }",
        "notches",
        MISSING,
        work=_SHIFTED,
    )

    def faults(self) -> Iterator[Fault]:
        """What is wrong with the notches, if anything."""
        angles = [name for name, notch in self.notches.items() if not isinstance(notch, DieHeight)]
        if angles:
            problem = f"notch {angles[0]!r} is an angle, but the reverser shifts a block along a link"
            yield Fault("reversing", "notches", problem, "give { die = place ahead of the link's middle }")


@dataclass(frozen=True, kw_only=True)
class EccentricRod:
    """Eccentric rod."""

    length: Number = in_mm("eccentric rod, return-crank pin to hanger pin", work=lengthened("eccentric rod", 5, 2.0))
    yoke_pin: Number = in_mm("return-crank pin to the yoke's pin, along the rod")
    yoke_pin_rise: Number = in_mm("yoke's pin above the rod's line", 0.0, signed=True)


@dataclass(frozen=True, kw_only=True)
class RadiusHanger:
    """Radius hanger."""

    length: Number = in_mm(
        "radius hanger, block to the eccentric rod", rod="radius hanger", work=lengthened("radius hanger", 4, 3.0)
    )


@dataclass(frozen=True)
class LevelSlot(CurvedSlot):
    """A slot along the engine: its own axes lie a quarter turn back, x down, so that + along it is ahead.

    ``lean``: its front end up, degrees.
    """

    lean: Any
    link: ClassVar[str] = "stationary link"

    def faults(self) -> Iterator[Fault]:
        """What is wrong with the slot's figures, if anything."""
        return (Fault("stationary_link", each.key, each.problem, each.remedy) for each in super().faults())

    def declare(self, gear: Linkage, sketch: XY, setting: ReverserPosition) -> None:
        """Declare the link, fixed to the frame with its middle at ``sketch``, and the block held at a place of it."""
        level = self.lean - 90
        gear.fixed(MIDDLE, *sketch)
        for name, place in self.pins.items():
            x, y = tilted(level, place)
            gear.fixed(name, sketch[0] + x, sketch[1] + y)
        block: Any = tilted(level, self.at(figure(setting)))
        gear.pin(self.die, (sketch[0] + np.real(block[0]), sketch[1] + np.real(block[1])))
        gear.carried(PART, self.die, MIDDLE, block)


@dataclass(frozen=True, kw_only=True)
class StationaryLink:
    """Stationary link."""

    middle_x: Number = in_mm("middle of the link ahead of the axle", signed=True, frame="x", work=_FORWARD)
    middle_y: Number = in_mm("middle of the link above the axle", signed=True, frame="y", work=_UP)
    slot_radius: Number = in_mm("radius of the slot's centre line (as the hanger)", slot="radius")
    slot_hollow: str = one_of("side to which the slot looks hollow: the hanger's", ("below", "above"), "below")
    slot_offset: Number = in_mm("slot centre line below the link's middle", 0.0, signed=True, slot="offset")
    slot_top: Number = in_mm("reach of the block's pin ahead of the middle, along the slot", slot="top")
    slot_bottom: Number = in_mm("reach of the block's pin behind the middle, along the slot", slot="bottom")
    lean: Number = in_degrees("link tilted, + front end up", 0.0, slot="lean")

    @property
    def down(self) -> int:
        """+1 where the slot looks hollow below and the hanger hangs, −1 where it stands."""
        return 1 if self.slot_hollow == "below" else -1


@dataclass(frozen=True, kw_only=True)
class Yoke:
    """Transmission yoke."""

    length: Number = in_mm(
        "transmission yoke, eccentric rod to bell crank", rod="yoke", work=lengthened("transmission yoke", 4, 3.0)
    )


@dataclass(frozen=True)
class Southern(Gear):
    """Dimensions of a Southern gear, table by table; lengths mm, angles degrees."""

    valve: DrivenValve
    reversing: BlockReversing
    return_crank: ReturnCrank
    eccentric_rod: EccentricRod
    radius_hanger: RadiusHanger
    stationary_link: StationaryLink
    yoke: Yoke
    bell_crank: BellCrank
    valve_rod: ValveRod

    name: ClassVar[str] = "southern"
    arms: ClassVar[tuple[tuple[str, str, str], ...]] = (CRANK, (RETURN_CRANK, "crank pin", RETURN_CRANK_PIN))

    @property
    def notches(self) -> dict[str, Notch]:
        """Named positions of the reverser."""
        return self.reversing.notches  # type: ignore[no-any-return]

    def setting(self, notch: Notch) -> ReverserPosition:
        """Position of the reverser in a notch: the block held in the link."""
        return self.held(notch) if isinstance(notch, DieHeight) else notch

    def held(self, notch: DieHeight) -> ReverserPosition:
        """The block held where a notch has it.

        Parameters
        ----------
        notch : DieHeight
            Its place ahead of the link's middle, mm.
        """
        return DieHeld(notch.height)

    @property
    def slot(self) -> LevelSlot:
        """The stationary link's slot."""
        link = self.stationary_link
        centre = (link.slot_offset + link.down * link.slot_radius, 0.0)
        reach = link.slot_top, link.slot_bottom
        slot = LevelSlot({}, BLOCK, *reach, centre, link.slot_radius, link.down > 0, link.lean)
        return replace(slot, pins={_BEHIND: slot.at(-link.slot_bottom), _AHEAD: slot.at(link.slot_top)})

    def own_faults(self) -> Iterator[Fault]:
        """What is wrong with the gear's own tables, if anything."""
        yield from self.reversing.faults()
        yield from self.return_crank.faults(self.crank.radius)
        yield from self.bell_crank.faults()
        rod = self.eccentric_rod
        if rod.yoke_pin == rod.length and not rod.yoke_pin_rise:
            problem = "the yoke's pin stands at the hanger's: there is no lap and lead"
            yield Fault("eccentric_rod", "yoke_pin", problem, "it stands beyond the rod's length, or short of it")

    def declare(self, setting: ReverserPosition) -> Linkage:
        """Declare the linkage with the reverser as set."""
        gear, rod, link = Linkage(), self.eccentric_rod, self.stationary_link
        declare_crank(gear, self.crank)
        self.return_crank.declare(gear, self.crank)
        self.slot.declare(gear, (link.middle_x, link.middle_y), setting)
        hung = real_point(link.middle_x, link.middle_y - link.down * self.radius_hanger.length)
        gear.pin(HANGER_PIN, (hung.real, hung.imag))
        at = hung / np.abs(hung) * (np.real(rod.yoke_pin) + 1j * np.real(rod.yoke_pin_rise))
        gear.pin(YOKE_PIN, (at.real, at.imag))
        places: dict[str, XY] = {RETURN_CRANK_PIN: (0.0, 0.0), HANGER_PIN: (rod.length, 0.0)}
        gear.plate("eccentric rod", places | {YOKE_PIN: (rod.yoke_pin, rod.yoke_pin_rise)})
        gear.facing("eccentric rod", RETURN_CRANK_PIN, HANGER_PIN, (1.0, 0.0))
        gear.rod("radius hanger", BLOCK, HANGER_PIN, self.radius_hanger.length)
        gear.facing("radius hanger", BLOCK, HANGER_PIN, (0.0, -link.down))
        self.bell_crank.declare(gear, ROD_PIN)
        gear.rod("yoke", YOKE_PIN, DRIVEN_PIN, self.yoke.length)
        gear.facing("yoke", YOKE_PIN, DRIVEN_PIN, (0.0, np.real(self.bell_crank.shaft_y) - at.imag))
        declare_valve_rod(gear, self.valve, self.valve_rod)
        return gear
