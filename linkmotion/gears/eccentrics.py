"""Two eccentrics on the axle, their rods, and the link they rock."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar

import numpy as np

from linkmotion.gears.book import RADIAN, Number
from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.gears.drive import DrivenValve
from linkmotion.gears.frame import CRANK, ECCENTRICS, LIFTING_ARM, declare_crank
from linkmotion.gears.gear import ShiftedGear
from linkmotion.gears.keys import Fault, in_degrees, in_mm, one_of
from linkmotion.gears.shop_work import lengthened, turned_upon
from linkmotion.gears.slots import PART, PINS_APART, CurvedSlot
from linkmotion.linkage import Linkage
from linkmotion.linkage.parts import XY


def advance(which: str, angle: float) -> dict[str, tuple[Any, str]]:
    """Angular advance, degrees: by how much an eccentric stands beyond the right angle to the crank, or short of it.

    Parameters
    ----------
    which : str
        What the eccentric's name begins with, such as "fore-gear ".
    angle : float
        Of its centre ahead of the crank pin, degrees.

    Examples
    --------
    >>> advance("fore-gear ", 105.0)
    {"fore-gear eccentric's angular advance, beyond the right angle": (15.0, 'angle')}
    """
    beyond = abs(angle) - 90.0
    words = "angular advance, beyond" if beyond >= 0 else "negative advance, short of"
    return {f"{which}eccentric's {words} the right angle": (abs(beyond), "angle")}


@dataclass(frozen=True, kw_only=True)
class Eccentrics:
    """Eccentrics; angles of the eccentric's centre ahead of the crank pin in forward running."""

    forward_throw: Number = in_mm("fore-gear eccentric: centre from axle, half the travel it gives")
    forward_angle: Number = in_degrees(
        "fore-gear eccentric ahead of the crank pin",
        slips="forward eccentric",
        work=turned_upon("fore-gear eccentric", "axle"),
    )
    backward_throw: Number = in_mm("back-gear eccentric: centre from axle")
    backward_angle: Number = in_degrees(
        "back-gear eccentric ahead of the crank pin (negative: behind it)",
        slips="backward eccentric",
        work=turned_upon("back-gear eccentric", "axle"),
    )

    def derived(self, crank: CrankMotion) -> dict[str, tuple[Any, str]]:
        """Angular advances."""
        return advance("fore-gear ", self.forward_angle) | advance("back-gear ", self.backward_angle)


@dataclass(frozen=True, kw_only=True)
class EccentricRods:
    """Eccentric rods, eccentric's centre to link pin."""

    forward: Number = in_mm(
        "fore-gear eccentric rod", rod="forward eccentric rod", work=lengthened("fore-gear eccentric rod", 5, 2.0)
    )
    backward: Number = in_mm(
        "back-gear eccentric rod", rod="backward eccentric rod", work=lengthened("back-gear eccentric rod", 5, 2.0)
    )


@dataclass(frozen=True, kw_only=True)
class EccentricLink:
    """Link; axes of the link upright, origin on the slot centre line at mid link."""

    forward_pin_x: Number = in_mm(
        "fore-gear rod's pin ahead of mid slot (negative behind)", signed=True, pin=("forward pin", "ahead")
    )
    forward_pin_y: Number = in_mm("fore-gear rod's pin above mid slot", signed=True, pin=("forward pin", "above"))
    backward_pin_x: Number = in_mm("back-gear rod's pin ahead of mid slot", signed=True, pin=("backward pin", "ahead"))
    backward_pin_y: Number = in_mm(
        "back-gear rod's pin above mid slot (negative below)", signed=True, pin=("backward pin", "above")
    )
    saddle_x: Number = in_mm(
        "saddle pin ahead of mid slot (negative behind)", 0.0, signed=True, pin=("saddle pin", "ahead")
    )
    saddle_y: Number = in_mm("saddle pin above mid slot", 0.0, signed=True, pin=("saddle pin", "above"))
    slot_offset: Number = in_mm(
        "slot centre line ahead of that origin (a slot ground afresh)", 0.0, signed=True, slot="offset"
    )
    slot_top: Number = in_mm("reach of the die pin above mid slot, along the slot", slot="top")
    slot_bottom: Number = in_mm("reach of the die pin below mid slot, along the slot", slot="bottom")

    def faults(self) -> Iterator[Fault]:
        """What is wrong with the link's figures, if anything."""
        apart = np.hypot(self.forward_pin_x - self.backward_pin_x, self.forward_pin_y - self.backward_pin_y)
        if not apart > PINS_APART * (self.slot_top + self.slot_bottom):
            problem = "the pins of the two eccentric rods stand at one place"
            remedy = "give each its place from mid slot; one of the two lies below it, negative"
            yield Fault("expansion_link", "backward_pin_y", problem, remedy)

    @cached_property
    def saddle_pin(self) -> str:
        """Name of the saddle pin: an eccentric-rod pin's own, when the link is hung from that."""
        for name in ("forward", "backward"):
            place = (getattr(self, f"{name}_pin_x"), getattr(self, f"{name}_pin_y"))
            if np.all(np.real(place[0]) == np.real(self.saddle_x)) and np.all(
                np.real(place[1]) == np.real(self.saddle_y)
            ):
                return f"{name} pin"
        return "saddle pin"

    @property
    def pins(self) -> dict[str, XY]:
        """Pins of the link in its own axes."""
        return {
            "forward pin": (self.forward_pin_x, self.forward_pin_y),
            "backward pin": (self.backward_pin_x, self.backward_pin_y),
            self.saddle_pin: (self.saddle_x, self.saddle_y),
        }

    def origin(self, rods: EccentricRods, height: Any) -> XY:
        """Sketch of the link's origin, mm from the axle, the link upright and both eccentrics taken as on the axle.

        Parameters
        ----------
        rods : EccentricRods
            That reach the link.
        height : float or array
            Of mid slot above the axle, mm.
        """
        ends = (
            (rods.forward, self.forward_pin_x, self.forward_pin_y),
            (rods.backward, self.backward_pin_x, self.backward_pin_y),
        )
        y = np.real(height)
        reach = [
            np.sqrt(np.maximum(np.real(rod) ** 2 - (y + np.real(py)) ** 2, 0.0)) - np.real(px) for rod, px, py in ends
        ]
        return (reach[0] + reach[1]) / 2, y


@dataclass(frozen=True, kw_only=True)
class CurvedEccentricLink(EccentricLink):
    """Link with a curved slot; axes of the link upright, origin on the slot centre line at mid link."""

    slot_radius: Number = in_mm("radius of the slot's centre line", slot="radius")
    slot_concave_to: str = one_of("side from which the slot looks hollow", ("axle", "valve"), "axle")


def curved_slot(link: CurvedEccentricLink) -> CurvedSlot:
    """The slot of a link rocked by two eccentrics.

    Parameters
    ----------
    link : CurvedEccentricLink
        Its pins, slot and hollow side.
    """
    forward = link.slot_concave_to == "valve"
    centre = (link.slot_offset + (link.slot_radius if forward else -link.slot_radius), 0.0)
    return CurvedSlot(link.pins, "die pin", link.slot_top, link.slot_bottom, centre, link.slot_radius, forward)


@dataclass(frozen=True)
class LinkMotion(ShiftedGear):
    """What link motions with two eccentrics have in common; a gear adds its reversing, its link and what follows it."""

    valve: DrivenValve
    eccentrics: Eccentrics
    eccentric_rods: EccentricRods
    expansion_link: EccentricLink

    arms: ClassVar[tuple[tuple[str, str, str], ...]] = (CRANK, *ECCENTRICS, LIFTING_ARM)

    def own_faults(self) -> Iterator[Fault]:
        """What is wrong with the link's figures, if anything."""
        yield from self.expansion_link.faults()

    def declare_wheel(self) -> Linkage:
        """Begin a linkage with the crank and both eccentrics."""
        gear, crank = Linkage(), self.crank
        declare_crank(gear, crank)
        for name in ("forward", "backward"):
            angle = getattr(self.eccentrics, f"{name}_angle") * RADIAN
            gear.crank(
                f"{name} eccentric", "axle", getattr(self.eccentrics, f"{name}_throw"), crank.front_direction - angle
            )
        return gear

    def declare_link_pins(self, gear: Linkage, link: EccentricLink, origin: XY) -> None:
        """Declare the link's pins about the sketch of its origin, and the rods that drive it.

        Parameters
        ----------
        gear : Linkage
            With both eccentrics declared.
        link : EccentricLink
            Upright in the sketch.
        origin : (x, y)
            Sketch of mid slot, mm from the axle.
        """
        for pin, (x, y) in link.pins.items():
            gear.pin(pin, (origin[0] + x, origin[1] + y))
        for name in ("forward", "backward"):
            ends = (f"{name} eccentric", f"{name} pin")
            gear.rod(f"{name} eccentric rod", *ends, getattr(self.eccentric_rods, name))
            gear.facing(f"{name} eccentric rod", *ends, (1.0, 0.0))
        upright = (link.forward_pin_x - link.backward_pin_x, link.forward_pin_y - link.backward_pin_y)
        gear.facing(PART, "backward pin", "forward pin", upright)
