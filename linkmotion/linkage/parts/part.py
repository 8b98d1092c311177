"""What a part of a linkage is: a statement about pins that owns all that follows from it.

A kind of part is one class in a file of its own. It says which pins it joins and what its dimensions
are; what is left over when it is not met, with the exact gradient; where it lets a pin lie when the
others are placed (a circle, a line, or one place); and how an output goes with its dimensions. The
order of solution, closed-form steps, loops, velocities, derivatives, equations and refusals follow.

What the methods are given, if they do not say otherwise:

==========================  =======================================================================================
``pin``, ``pins``, ``by``   numbers of pins, in the order in which the linkage declared them
``names``                   the pins' names, by number
``x``, ``sketch``           places of the pins by number, complex mm, of shapes that broadcast together: at the wheel's
                            positions, (N,) or (S, N) for S variants; in the sketch
``moves``                   movements of the pins by number, complex mm per unit of anything; None for those at rest
``placed``                  numbers of the pins that are placed
==========================  =======================================================================================
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Set
from typing import TYPE_CHECKING, Any, ClassVar, NamedTuple

import numpy as np

from linkmotion.linkage.plane import Gradient, Points, Real, dot

Push = Callable[[int], Any]
"""Pin number to the derivative of an output to a shift of the part's hole for it, complex, mm per mm."""
Slopes = dict[str, Callable[[], Any]]
"""Dimension to what works out the derivative of the output to it."""


class Circle(NamedTuple):
    """The pin lies at ``radius`` (mm) from the place ``centre`` (complex, mm)."""

    centre: Any
    radius: Any


class Line(NamedTuple):
    """The pin lies on the line through ``origin`` along the unit vector ``along``.

    ``lacks`` is by how much, mm, such a line is out of reach where it is positive.
    """

    origin: Any
    along: Any
    lacks: Any = None


def along_axes(pin: int, push: Push) -> Slopes:
    """Derivatives to a shift of a pin's hole along x and along y, by "x" and "y"."""
    return {"x": lambda: np.real(push(pin)), "y": lambda: np.imag(push(pin))}


Locus = Callable[[Points], Circle | Line]
"""Places of the other pins to where the pin may lie."""


class Carriage(NamedTuple):
    """A pin goes with others: it stands at ``on + offset``, or at ``on + (by - on) * turn`` (``turn`` complex)."""

    on: int
    offset: Any
    by: int | None = None
    turn: Any = 0.0

    def place(self, x: Points) -> Any:
        """Where the pin stands."""
        return x[self.on] + (self.offset if self.by is None else (x[self.by] - x[self.on]) * self.turn)

    def shares(self) -> tuple[tuple[int, Any], ...]:
        """Each pin it goes with, and the complex number by which it follows that pin's movement."""
        return ((self.on, 1.0),) if self.by is None else ((self.on, 1 - self.turn), (self.by, self.turn))

    def equations(self, pin: int, x: Points) -> Iterator[tuple[Any, Gradient]]:
        """What is left over for the pin along x and along y, mm, and the gradient of each."""
        left = x[pin] - self.place(x)
        for unit, part in ((1.0 + 0j, left.real), (1j, left.imag)):
            yield part, ((pin, unit), *((other, -unit * np.conj(share)) for other, share in self.shares()))


class Part:
    """Any part; ``pins`` are the numbers of those that it joins."""

    __slots__ = ()
    if TYPE_CHECKING:  # fields or properties of each kind

        @property
        def name(self) -> str: ...
        @property
        def pins(self) -> tuple[int, ...]: ...

    @property
    def joined(self) -> tuple[Any, ...]:
        """What it joins, without any dimension: the order of solution is sought by that."""
        return (type(self), self.name, self.pins)

    def owner(self, names: list[str]) -> str:
        """The name under which its dimensions are known: its own, or its pin's."""
        return self.name

    def dimensions(self, names: list[str]) -> dict[str, Real]:
        """Its dimensions by name, mm and radians."""
        raise NotImplementedError

    def slopes(self, names: list[str], x: Points, push: Push) -> Slopes:
        """Derivatives of an output to each of its dimensions, each worked out when it is called.

        Parameters
        ----------
        names, x
            The pins' names and places.
        push : callable
            Pin number to the derivative of the output to a shift of the part's hole for that pin, complex.
        """
        raise NotImplementedError


class Driven(Part):
    """A part that places its pin by itself, from the wheel alone."""

    __slots__ = ()
    if TYPE_CHECKING:

        @property
        def pin(self) -> int: ...

    @property
    def joined(self) -> tuple[Any, ...]:
        return (type(self), self.pins)

    def owner(self, names: list[str]) -> str:
        return names[self.pin]

    def place(self, x: Points, turn: Any) -> None:
        """Place the pin.

        Parameters
        ----------
        x : list
            Places of the pins; its own is written.
        turn : complex array, shape (N,)
            ``exp(i wheel angle)``, anticlockwise.
        """
        raise NotImplementedError

    def move(self, x: Points, moves: Points) -> Any:
        """Velocity of the pin per radian of the wheel turning clockwise, complex mm; None where it stands still."""
        raise NotImplementedError


class Holder(Part):
    """A part that holds pins which are to be found.

    As it stands this is a part of one equation, which holds any of its pins once the others are placed; a part
    that takes pins along in more than one direction writes ``holding``, ``closing`` and ``takes`` of its own.
    """

    __slots__ = ()
    leads: ClassVar[bool] = False
    """Whether a pin may be led along its circle or line as the cut coordinate of a loop."""

    def holding(self, pin: int, placed: Set[int]) -> tuple[int, ...] | None:
        """The pins of the equation by which it holds a pin, not placed yet; None where it does not hold it now."""
        pins = self.pins
        return pins if pin in pins and all(other in placed for other in pins if other != pin) else None

    def meets(self, pin: int, other: tuple[int, ...]) -> bool:
        """Whether it places a pin together with an equation of another part.

        Parameters
        ----------
        pin : int
            Held by both.
        other : tuple of int
            The pins of the other's equation.
        """
        return True

    def closing(self, placed: Set[int]) -> list[tuple[int, ...]]:
        """The pins of each equation left between placed pins alone: it must then fit of itself."""
        return [self.pins] if all(pin in placed for pin in self.pins) else []

    def takes(self, placed: Set[int], posed: tuple[int, ...] | None) -> tuple[int, tuple[int, ...]] | None:
        """A pin that it takes along wholly, and the placed pins by which it does; None where there is none.

        Parameters
        ----------
        placed : set of int
            The pins that are placed.
        posed : tuple of int or None
            The pins of the equation by which it was last held or closed; None where it was not.
        """
        return None

    def carriage(self, pin: int, by: tuple[int, ...]) -> Carriage:
        """How it takes a pin along, by the pins that :meth:`takes` told."""
        raise NotImplementedError

    def tie(self, pins: tuple[int, ...]) -> Tie:
        """Its equation between some pins, as :meth:`holding` or :meth:`closing` told them."""
        assert isinstance(self, Tie)
        return self

    def tells(self, pins: tuple[int, ...]) -> bool:
        """Whether, closed by its equation between those pins, it is known how it stands."""
        return True

    def equations(self, x: Points) -> Iterator[tuple[Any, Gradient]]:
        """All its equations: what is left over of each, mm, and the gradient."""
        raise NotImplementedError


class Tie(Holder):
    """A part of one equation between its pins."""

    __slots__ = ()

    @property
    def size(self) -> Real:
        """Length, mm, by which rounding in it goes; 0 where it has none."""
        return 0.0

    def left(self, x: Points) -> Any:
        """What is left over, mm."""
        raise NotImplementedError

    def gradient(self, x: Points) -> Gradient:
        """Gradient of what is left over to each of its pins, exact: ``d(left) = sum of Re(conj(g) d(pin))``."""
        raise NotImplementedError

    def pulls(self, x: Points) -> Gradient:
        """The gradient but for its size, which is of no account in a step (and may cost something)."""
        return self.gradient(x)

    def forces(self, pulls: Gradient, strength: Any) -> Iterable[tuple[int, Any]]:
        """The force at each of its pins with which it pulls by a multiple of its pulls.

        Parameters
        ----------
        pulls : Gradient
            As :meth:`pulls` gives them.
        strength : array
            The multiple.
        """
        return ((pin, g * strength) for pin, g in pulls)

    def drift(self, pin: int, x: Points, moves: Points) -> tuple[Any, Any]:
        """How it pulls at a pin, and how far along that pull its other pins' movement takes it.

        Parameters
        ----------
        pin : int
            One of its pins.
        x, moves : lists
            Places of the pins, mm; their movements, mm per unit of anything, None for those that stand still.

        Returns
        -------
        pull : complex array
            Along the gradient there.
        along : array or None
            Scalar product of the movement with the pull; None: not at all.
        """
        pull, along = None, None
        for other, g in self.pulls(x):
            if other == pin:
                pull = g
            elif moves[other] is not None:
                moved = dot(g, moves[other])
                along = -moved if along is None else along - moved
        return pull, along

    def locus(self, pin: int, sketch: Points) -> Locus:
        """Where it lets a pin lie, as a function of where the other pins stand; of two branches the one of the sketch.

        Parameters
        ----------
        pin : int
            One of its pins.
        sketch : list of complex arrays
            Places of all pins in the sketch, mm.
        """
        raise NotImplementedError

    def equations(self, x: Points) -> Iterator[tuple[Any, Gradient]]:
        yield self.left(x), self.gradient(x)
