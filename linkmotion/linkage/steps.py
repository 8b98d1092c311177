"""Closed-form steps: each places one pin from pins already placed.

Every step knows three things about its pin: where it is (``place``), how it moves when the pins
before it move (``tangent``), and how a wish at the pin is passed back to them (``adjoint``). The
last is statics: a wish ``bar[p]`` is a force on the pin, the step resolves it along its own parts.
For a part B and a pin p the entry ``shifts[B, p]`` collects the derivative of the output to a shift
of B's hole for p, as a complex number (its real and imaginary parts go with x and y), so that
``d(output) = Re(conj(shift) * displacement)``.

Positions are complex arrays; ``None`` in ``moves`` or ``bar`` stands for zero.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable
from typing import Any

import numpy as np

from linkmotion.linkage.parts import Holder, Tie
from linkmotion.linkage.parts.part import Circle, Line, Locus
from linkmotion.linkage.plane import Gradient, Points, Shifts, add, cross, dot, greatest, sign_of


def answer(tie: Tie, pulls: Gradient, pin: int, strength: Any, bar: Points, shifts: Shifts) -> None:
    """Book the force with which a tie answers a wish at a pin, and pass it on to its other pins.

    Parameters
    ----------
    tie, pulls : Tie, Gradient
        What answers, and how it pulls at each of its pins (``tie.pulls(x)``).
    pin : int
        Where.
    strength : array
        Of the answer, as a multiple of the tie's pull there.
    bar, shifts
        As for :meth:`Meeting.adjoint`.
    """
    for other, force in tie.forces(pulls, strength):
        add(shifts, (tie.name, other), force)
        if other != pin:
            add(bar, other, -force)


def pull_at(pulls: Gradient, pin: int) -> Any:
    """How a tie pulls at a pin: a complex vector along its gradient there, of any size.

    Parameters
    ----------
    pulls : Gradient
        At each of its pins.
    pin : int
        One of them.
    """
    return next(g for other, g in pulls if other == pin)


class Carrying:
    """A part takes a pin along wholly; its methods are as those of :class:`Meeting`.

    Parameters
    ----------
    part : Holder
        Which part.
    pin : int
        What it takes along.
    by : tuple of int
        The placed pins by which it does.
    """

    parts = ()
    """Parts that may fail to meet: none."""

    def __init__(self, part: Holder, pin: int, by: tuple[int, ...]) -> None:
        self.pin, self.part = pin, part.name
        self.carriage = part.carriage(pin, by)

    def place(self, x: Points) -> bool:
        x[self.pin] = self.carriage.place(x)
        return True

    def short(self, x: Points) -> Any:
        return np.zeros(np.shape(x[self.pin]))

    def tangent(self, x: Points, moves: Points) -> None:
        for other, share in self.carriage.shares():
            if moves[other] is not None:
                add(moves, self.pin, moves[other] * share)

    def adjoint(self, x: Points, bar: Points, shifts: Shifts) -> None:
        wish = bar[self.pin]
        add(shifts, (self.part, self.pin), wish)
        for other, share in self.carriage.shares():
            passed = wish * np.conj(share)
            add(bar, other, passed)
            add(shifts, (self.part, other), -passed)


class Meeting(ABC):
    """A pin where two ties let it lie: in two circles or lines at once, on the side of the sketch."""

    def __init__(self, pin: int, ties: tuple[Tie, Tie], loci: tuple[Locus, Locus], side: Any) -> None:
        self.pin, (self.first, self.second), (self.one, self.other) = pin, ties, loci
        self.side = sign_of(side)

    @staticmethod
    def of(pin: int, ties: Iterable[Tie], sketch: Points) -> Meeting:
        """The meeting of two ties, whichever they are, on the side of the sketch: circles first, then lines.

        Of two circles the smaller is first: measured from the end of a long rod, its arc would lose digits.

        Parameters
        ----------
        pin : int
            The pin that both hold.
        ties : two Ties
            In any order.
        sketch : list of complex arrays
            Places of all pins in the sketch, mm.
        """
        held = [(tie, locus, locus(sketch)) for tie in ties for locus in [tie.locus(pin, sketch)]]
        held.sort(key=lambda each: (isinstance(each[2], Line), greatest(each[0].size)))
        (first, one, near), (second, other, far) = held
        kind: type[Meeting] = TwoLines
        side = 1.0  # two lines cross but once
        if isinstance(far, Circle):
            kind, side = TwoCircles, cross(far.centre - near[0], sketch[pin] - near[0])
        elif isinstance(near, Circle):
            kind, side = CircleLine, dot(far.along, sketch[pin] - near.centre)
        return kind(pin, (first, second), (one, other), side)

    @property
    def parts(self) -> tuple[str, ...]:
        """Parts that may fail to meet."""
        return (self.first.name, self.second.name)

    @abstractmethod
    def place(self, x: Points) -> bool:
        """Place the pin; false where the parts do not meet at some position (there the pin is put nearest).

        Parameters
        ----------
        x : list of complex arrays
            Places of the pins, mm; the pin's is written.
        """

    @abstractmethod
    def short(self, x: Points) -> Any:
        """How far the parts fall short (mm, +) or are too long (−); zero where they meet.

        Parameters
        ----------
        x : list of complex arrays
            Places of the pins, mm, those before this one at least.
        """

    def tangent(self, x: Points, moves: Points) -> None:
        """How the pin moves when the pins before it move: both ties keep their measure.

        Parameters
        ----------
        x, moves : lists
            Places of the pins, mm; their movements, mm per unit of anything, into which the pin's is written.
        """
        pull1, drift1 = self.first.drift(self.pin, x, moves)
        pull2, drift2 = self.second.drift(self.pin, x, moves)
        if drift1 is None and drift2 is None:
            return
        across = cross(pull1, pull2)
        size1, size2 = (0.0 if each is None else each / across for each in (drift1, drift2))
        moves[self.pin] = 1j * (pull1 * size2 - pull2 * size1)

    def adjoint(self, x: Points, bar: Points, shifts: Shifts) -> None:
        """Pass the wish at the pin back: it is resolved along the two ties like a force.

        Parameters
        ----------
        x : list of complex arrays
            Places of the pins, mm.
        bar : list
            Derivative of the output to a shift of each pin, complex; those of the ties' other pins are added to.
        shifts : dict
            (part, pin) to derivative to a shift of the part's hole for the pin; added to.
        """
        wish = bar[self.pin]
        pulls1, pulls2 = self.first.pulls(x), self.second.pulls(x)
        pull1, pull2 = pull_at(pulls1, self.pin), pull_at(pulls2, self.pin)
        across = cross(pull1, pull2)
        answer(self.first, pulls1, self.pin, cross(wish, pull2) / across, bar, shifts)
        answer(self.second, pulls2, self.pin, cross(pull1, wish) / across, bar, shifts)


class TwoCircles(Meeting):
    """At known distances from two places (two rods; a plate may serve as either)."""

    def place(self, x: Points) -> bool:
        (a, l1), (b, l2) = self.one(x), self.other(x)  # type: ignore[misc]
        base = b - a
        inverse = 1.0 / (base.real**2 + base.imag**2)
        square = l1**2
        along = (square - l2**2) / 2 * inverse + 0.5
        rise = square * inverse - along * along
        meets = bool(rise.min() >= 0)
        if not meets:
            rise = np.maximum(rise, 0.0)
        turn = np.empty(
            np.broadcast_shapes(rise.shape, np.shape(self.side)), complex
        )  # variants may differ in side alone
        turn.real = along
        turn.imag = self.side * np.sqrt(rise)
        turn *= base
        turn += a
        x[self.pin] = turn
        return meets

    def short(self, x: Points) -> Any:
        (a, l1), (b, l2) = self.one(x), self.other(x)  # type: ignore[misc]
        d = np.abs(b - a)
        return np.maximum(d - (l1 + l2), 0.0) - np.maximum(np.abs(l1 - l2) - d, 0.0)


class CircleLine(Meeting):
    """On a line at a known distance from a place."""

    def place(self, x: Points) -> bool:
        (centre, radius), (origin, along, lacks) = self.one(x), self.other(x)  # type: ignore[misc]
        seen = (centre - origin) * np.conj(along)
        room = radius**2 - seen.imag**2
        meets = room.min() >= 0
        if not meets:
            room = np.maximum(room, 0.0)
        x[self.pin] = origin + along * (seen.real + self.side * np.sqrt(room))
        return bool(meets and (lacks is None or lacks.max() < 0))

    def short(self, x: Points) -> Any:
        (centre, radius), (origin, along, lacks) = self.one(x), self.other(x)  # type: ignore[misc]
        short = np.maximum(np.abs(cross(along, centre - origin)) - radius, 0.0)
        return short if lacks is None else short - np.maximum(lacks, 0.0)


class TwoLines(Meeting):
    """Where two lines cross."""

    def place(self, x: Points) -> bool:
        (at, along, short), (to, across, lacks) = self.one(x), self.other(x)  # type: ignore[misc]
        x[self.pin] = at + along * (cross(to - at, across) / cross(along, across))
        return all(each is None or bool(each.max() < 0) for each in (short, lacks))

    def short(self, x: Points) -> Any:
        lacks = (each(x)[2] for each in (self.one, self.other))  # type: ignore[misc]
        return -sum((np.maximum(each, 0.0) for each in lacks if each is not None), np.zeros(np.shape(x[self.pin])))


Step = Carrying | Meeting
