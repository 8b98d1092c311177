"""What every gear is: crank, connecting rod and valve, and whatever stands between them."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, fields, replace
from typing import Any, ClassVar, Self

import numpy as np

from linkmotion.gears.book import ConnectingRod, Cylinder, Reversing, Valve
from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.gears.frame import CRANK
from linkmotion.gears.keys import Fault
from linkmotion.gears.reverser import Arm, DieHeight, DieHeld, Notch, ReverserPosition
from linkmotion.gears.slots import Slot
from linkmotion.linkage import Linkage, LinkageError, Solution, Wheel, solve
from linkmotion.linkage.solve import NODES
from linkmotion.sides import PAIR

_THERE = 1e-6  # mm: the die is where it was asked to be


@dataclass(frozen=True)
class Gear(ABC):
    """Dimensions of a gear, table by table; lengths mm, angles degrees (numbers, or arrays of variants).

    A gear adds its own tables, says how they make a linkage (``declare``) and what is wrong with their
    figures, if anything (``own_faults``).

    Attributes
    ----------
    name : str
        As in an engine file.
    arms : tuple of (name, pin, pin)
        Stiff arms that are no rods, for drawing.
    sides : tuple of str
        The sides of an engine that have each such a gear; of a gear that an engine has but once, the one name.
    die_read : str
        From where the height of its die is read, where it has one.
    """

    cylinder: Cylinder
    connecting_rod: ConnectingRod
    valve: Valve

    name: ClassVar[str]
    sides: ClassVar[tuple[str, ...]] = PAIR
    die_read: ClassVar[str] = "die along the slot from mid link, + up"
    arms: ClassVar[tuple[tuple[str, str, str], ...]] = (CRANK,)

    @property
    def crank(self) -> CrankMotion:
        """Crank, connecting rod and cylinder line."""
        return CrankMotion.of(self.cylinder, self.connecting_rod)

    @property
    def slot(self) -> Slot | None:
        """The link's slot, where there is a link."""
        return None

    def die_height(self, solution: Solution) -> Any:
        """Where the die stands, as it is read (``die_read`` says it in words), mm.

        Parameters
        ----------
        solution : Solution
            Of the gear's linkage; the result has its shape.

        Raises
        ------
        ValueError
            A gear without a link.
        """
        if self.slot is None:
            raise ValueError(f"a {self.name} gear has no die")
        return self.slot.die_place(solution)

    @property
    def slots(self) -> tuple[Slot, ...]:
        """The slots of all its links: its own, or one of each side."""
        return () if self.slot is None else (self.slot,)

    def derived(self) -> dict[str, tuple[float, str]]:
        """Figures that follow from those given, in words: value (mm, degrees), and "length" or "angle".

        A table of the gear adds its own by a method ``derived(crank)``.
        """
        crank = self.crank
        front, back = crank.limits
        found: dict[str, tuple[float, str]] = {
            "crank radius": (crank.radius, "length"),
            "stroke": (front - back, "length"),
            "front to back dead centre, running forward": (np.degrees(crank.back_crank_angle), "angle"),
        }
        for own in (getattr(self, table.name) for table in fields(self)):
            found |= own.derived(crank) if hasattr(own, "derived") else {}
        return {words: (float(value), kind) for words, (value, kind) in found.items()}

    @property
    @abstractmethod
    def notches(self) -> dict[str, Notch]:
        """Named positions of the reverser."""

    @abstractmethod
    def declare(self, setting: ReverserPosition) -> Linkage:
        """Declare the linkage with the reverser as set.

        Parameters
        ----------
        setting : ReverserPosition
            Of a kind that the gear knows; its figure a number, or an array of shape (S, 1) for S notches at once.
        """

    def as_set(self) -> Self:
        """The gear by the figures that setting it keeps, table by table (a method ``as_set(crank_radius)``)."""
        radius, tables = self.crank.radius, {table.name: getattr(self, table.name) for table in fields(self)}
        return replace(self, **{name: own.as_set(radius) for name, own in tables.items() if hasattr(own, "as_set")})

    def setting(self, notch: Notch) -> ReverserPosition:
        """Position of the reverser in a notch as written.

        Parameters
        ----------
        notch : Notch
            One of ``notches``, or the like of it.

        Raises
        ------
        TypeError
            A die height, in a gear that has no die.
        """
        if isinstance(notch, DieHeight):
            raise TypeError(f"a {self.name} gear has no die to bring to a place")
        return notch

    def faults(self) -> Iterator[Fault]:
        """What is wrong with the figures before anything is turned: key, problem, remedy."""
        crank = list(self.cylinder.faults(self.connecting_rod, self.valve))
        yield from crank
        yield from self.valve.faults(self.notches)
        if not crank:
            yield from self.valve.beyond(self.crank.radius)
            yield from self.own_faults()
            yield from self.slot.faults() if self.slot is not None else ()

    def own_faults(self) -> Iterator[Fault]:
        """What is wrong with the gear's own tables, if anything."""
        yield from ()


@dataclass(frozen=True)
class ShiftedGear(Gear):
    """A gear with a link and a weighshaft that shifts link or rod."""

    reversing: Reversing

    @property
    def notches(self) -> dict[str, Notch]:
        """Named positions of the reverser."""
        return self.reversing.notches  # type: ignore[no-any-return]

    @property
    @abstractmethod
    def slot(self) -> Slot:
        """The link's slot."""

    def held(self, notch: DieHeight) -> ReverserPosition:
        """The die held, with nothing to carry link or rod, where a notch wants it on front dead centre.

        Parameters
        ----------
        notch : DieHeight
            The place, mm.
        """
        return DieHeld(notch.height)

    @abstractmethod
    def arms_carrying(self, at_front: Solution) -> list[Arm]:
        """The arm angles that can carry link or rod where it stands on front dead centre, the best first.

        Parameters
        ----------
        at_front : Solution
            With the die held there and nothing to carry it.

        Raises
        ------
        UnreachableError
            Arm and lifting link do not reach it.
        """

    def setting(self, notch: Notch) -> ReverserPosition:
        """Position of the reverser in a notch: a die place is turned into the arm angle that gives it.

        With the ideal suspension the die is held where it stands at front dead centre; an arm angle then says
        where it would stand on its real lifting link.

        Parameters
        ----------
        notch : Notch
            As written.

        Raises
        ------
        LinkageError
            The parts do not meet with the die there, or no arm angle holds it.
        """
        reversing: Any = self.reversing
        ideal = getattr(reversing, "suspension", "") == "ideal"
        setting = self.held(notch) if isinstance(notch, DieHeight) else notch
        if isinstance(setting, DieHeld if ideal else Arm):
            return setting
        at_front = solve(self.declare(setting), Wheel.at(0.0), alone=True)
        place = self.slot.die_place(at_front)
        if ideal:
            return DieHeld(place)
        arm = self._arm_for(place, self.arms_carrying(at_front))
        if arm is None:
            solve(self.declare(setting), Wheel.revolution(NODES))  # parts that do not meet even so are the reason
            raise LinkageError("no arm angle holds the die there: the lifting link would hang the wrong way up")
        return arm

    def _arm_for(self, place: Any, arms: list[Arm]) -> Arm | None:
        """The first of several arm angles with which the die, carried by link or rod as it is, comes to its place."""
        for arm in arms:
            with suppress(LinkageError):
                carried = solve(self.declare(arm), Wheel.at(0.0), alone=True)
                if np.all(np.abs(self.slot.die_place(carried) - place) < _THERE):
                    return arm
        return None
