"""The slotted link, curved or straight, and the die in it."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar, Self

import numpy as np

from linkmotion.gears.keys import Fault
from linkmotion.gears.reverser import DieHeld, ReverserPosition
from linkmotion.linkage import Linkage, Solution
from linkmotion.linkage.parts import XY

PART = "expansion link"
TIE = "slot"  # the tie that only says that a die keeps to its slot
PINS_APART = 0.1  # of the slot's reach, at least: pins nearer to one another than that do not turn the link


def is_tie(part: str) -> bool:
    """Whether a part is only the tie of a die to its slot, or to that of one side.

    >>> is_tie("slot"), is_tie("left slot"), is_tie("slot rod")
    (True, True, False)
    """
    return f" {part}".endswith(f" {TIE}")


def is_seen(pin: str) -> bool:
    """Whether a pin is one that there is: the ends and the centre of a slot are none.

    >>> is_seen("slot centre"), is_seen("left slot centre"), is_seen("die pin")
    (False, False, True)
    """
    return f" {TIE} " not in f" {pin}"


@dataclass(frozen=True)
class Slot(ABC):
    """A slot in a link, as seen by its die.

    Attributes
    ----------
    pins : dict
        Pins of the link by name and their places in its own axes, mm; the first two give its pose.
    die : str
        The die pin.
    top, bottom : float
        Reach of the die pin above and below the middle, along the slot, mm.
    link : str
        What the link is called.
    works : bool
        Whether the gear works by the die's movement along the slot, which is then no slip.
    word : str
        Of the side of the engine, with a space after it, where a gear has a slot on either.
    """

    pins: dict[str, XY]
    die: str
    top: Any
    bottom: Any
    word: str = field(default="", kw_only=True)

    works: ClassVar[bool] = False
    link: ClassVar[str] = PART

    def of_side(self, side: str) -> Self:
        """The slot as one side's of two, its pins and die called so.

        Parameters
        ----------
        side : str
            "left" or "right".
        """
        pins = {f"{side} {pin}": at for pin, at in self.pins.items()}
        return replace(self, pins=pins, die=f"{side} {self.die}", word=f"{side} ")

    @abstractmethod
    def at(self, place: Any) -> XY:
        """Point of the slot's centre line, mm in the link's own axes.

        Parameters
        ----------
        place : float or array
            Along it from its middle, + up, mm.
        """

    @abstractmethod
    def place_of(self, point: Any) -> Any:
        """Place along the slot of a point, mm from its middle, + up.

        Parameters
        ----------
        point : complex or array
            In the link's own axes, mm.
        """

    @abstractmethod
    def square_at(self, place: Any) -> Any:
        """Direction square to the slot, unit complex in the link's own axes, pointing ahead.

        Parameters
        ----------
        place : float or array
            Along the slot, mm.
        """

    @abstractmethod
    def cut(self, gear: Linkage, sketch: XY) -> None:
        """Declare the link with its slot.

        Parameters
        ----------
        gear : Linkage
            With the link's pins and the die's declared.
        sketch : (x, y)
            The origin of the link's axes, upright, mm from the axle.
        """

    def faults(self) -> Iterator[Fault]:
        """What is wrong with the slot's figures, if anything."""
        yield from ()

    def declare(self, gear: Linkage, sketch: XY, setting: ReverserPosition) -> None:
        """Declare the link: with its slot, or with the die held fast at a place of it.

        Parameters
        ----------
        gear, sketch
            As for :meth:`cut`.
        setting : ReverserPosition
            A die is held where this is :class:`~.reverser.DieHeld`.
        """
        if isinstance(setting, DieHeld):
            gear.plate(PART, self.pins | {self.die: self.at(setting.place)})
        else:
            self.cut(gear, sketch)

    def turn(self, solution: Solution) -> Any:
        """Turning of the link from upright as a unit complex number.

        Parameters
        ----------
        solution : Solution
            Of the gear's linkage; the result has its shape.
        """
        (heel, one), (toe, two) = list(self.pins.items())[:2]
        return (solution[toe] - solution[heel]) / (_complex(two) - _complex(one))

    def swing(self, solution: Solution) -> Any:
        """Angle of the link from upright, degrees, + anticlockwise.

        Parameters
        ----------
        solution : Solution
            As for :meth:`turn`.
        """
        return np.degrees(np.angle(self.turn(solution)))

    def _seen_from_link(self, solution: Solution, pin: str) -> Any:
        """Path of a pin in the link's own axes, complex mm."""
        heel, place = next(iter(self.pins.items()))
        return _complex(place) + (solution[pin] - solution[heel]) / self.turn(solution)

    def die_place(self, solution: Solution) -> Any:
        """Place of the die along the slot's centre line from its middle, mm, + up.

        Parameters
        ----------
        solution : Solution
            As for :meth:`turn`.
        """
        return self.place_of(self._seen_from_link(solution, self.die))


@dataclass(frozen=True)
class CurvedSlot(Slot):
    """A slot of constant radius.

    Attributes
    ----------
    centre : (x, y)
        Centre of curvature in the link's own axes, mm.
    radius : float
        Of the slot's centre line, mm.
    concave_forward : bool
        True when the slot is concave to the valve (centre of curvature ahead).
    """

    centre: XY
    radius: Any
    concave_forward: bool

    def faults(self) -> Iterator[Fault]:
        """What is wrong with the slot's figures, if anything."""
        if not max(self.top, self.bottom) < self.radius:
            problem = "the slot reaches further along its arc than the arc's radius"
            yield Fault("expansion_link", "slot_radius", problem, "is the unit right?")

    def at(self, place: Any) -> XY:
        """Point of the arc at a place along it."""
        angle = place / self.radius
        forth = -1.0 if self.concave_forward else 1.0
        x, y = self.centre
        return x + forth * self.radius * np.cos(angle), y + self.radius * np.sin(angle)

    def place_of(self, point: Any) -> Any:
        """Place along the arc, by the angle seen from its centre."""
        arm = point - _complex(self.centre)
        return -self.radius * np.angle(-arm) if self.concave_forward else self.radius * np.angle(arm)

    def square_at(self, place: Any) -> Any:
        """Along the radius."""
        angle = place / self.radius
        return np.exp(-1j * angle if self.concave_forward else 1j * angle)

    def cut(self, gear: Linkage, sketch: XY) -> None:
        """Keep the die at the slot radius from the centre of curvature, which moves with the link."""
        gear.pin("slot centre", (sketch[0] + self.centre[0], sketch[1] + self.centre[1]))
        gear.plate(PART, self.pins | {"slot centre": self.centre})
        gear.rod(TIE, self.die, "slot centre", self.radius)
        (heel, one), (toe, two) = list(self.pins.items())[:2]
        link = (heel, toe, (two[0] - one[0], two[1] - one[1]))
        gear.facing(TIE, "slot centre", self.die, (-1.0 if self.concave_forward else 1.0, 0.0), link)


@dataclass(frozen=True)
class StraightSlot(Slot):
    """A straight slot, square to the link's x axis at ``ahead`` mm before its origin."""

    ahead: Any

    def at(self, place: Any) -> XY:
        """Point of the line at a place along it."""
        return self.ahead + 0 * place, place

    def place_of(self, point: Any) -> Any:
        """Place along the line."""
        return np.imag(point)

    def square_at(self, place: Any) -> Any:
        """The link's own x axis."""
        return np.ones(np.shape(place), complex)

    def cut(self, gear: Linkage, sketch: XY) -> None:
        """Keep the die on the line through two points of the link."""
        ends = {"slot bottom": self.at(-self.bottom), "slot top": self.at(self.top)}
        for name, place in ends.items():
            gear.pin(name, (sketch[0] + place[0], sketch[1] + place[1]))
        gear.plate(PART, self.pins | ends)
        gear.slide(TIE, self.die, "slot bottom", "slot top")


def _complex(place: XY) -> Any:
    return place[0] + 1j * place[1]
