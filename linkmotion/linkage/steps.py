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

from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.linkage.parts import Carried, Guide, Linkage, Plate, Real, Rod

Points = list[Any]
Shifts = dict[tuple[str, int], Any]
Array = NDArray[Any]


def dot(u: Any, w: Any) -> Any:
    """Scalar product of two plane vectors written as complex numbers."""
    return u.real * w.real + u.imag * w.imag


def cross(u: Any, w: Any) -> Any:
    """Turning of w out of u: positive when w lies to the left of u."""
    return u.real * w.imag - u.imag * w.real


def sign_of(side: Any) -> Any:
    """Branch taken on a side of the sketch, ±1; one number where all variants take the same."""
    if np.ndim(side) == 0:
        return -1.0 if side < 0 else 1.0
    signs = np.where(side < 0, -1.0, 1.0)
    first = float(signs.flat[0])
    return first if np.all(signs == first) else signs


def add(store: Any, key: Any, value: Any) -> None:
    """Add to an entry that may not be there yet, or may be None."""
    old = store.get(key) if isinstance(store, dict) else store[key]
    store[key] = value if old is None else old + value


def place_in(plate: Plate, pin: int) -> Any:
    """Place of a pin in the part's own axes, complex mm."""
    x, y = plate.places[plate.pins.index(pin)]
    return x + 1j * y


def length_of(part: Rod | Plate, a: int, b: int) -> Real:
    """Distance that a rod or plate keeps between two of its pins, mm."""
    if isinstance(part, Rod):
        return part.length
    return np.abs(place_in(part, b) - place_in(part, a))  # type: ignore[no-any-return]


def reach(linkage: Linkage, pin: int, held: tuple[int, int]) -> Real:
    """Distance kept between a pin and the pin ``held[1]`` by the part ``held[0]``, mm."""
    part = linkage.parts[held[0]]
    assert isinstance(part, Rod | Plate)
    return length_of(part, held[1], pin)


def pull(part: str, a: int, p: int, force: Any, bar: Points, shifts: Shifts) -> None:
    """Book the force with which a rod a-p answers a wish at p, and pass it on to a."""
    add(bar, a, force)
    add(shifts, (part, p), force)
    add(shifts, (part, a), -force)


class RodRod:
    """A pin at known distances from two placed pins (two rods; a plate may serve as either)."""

    def __init__(self, linkage: Linkage, pin: int, first: tuple[int, int], second: tuple[int, int]) -> None:
        if np.max(reach(linkage, pin, first)) > np.max(reach(linkage, pin, second)):
            first, second = second, first  # measured from the near end: a long rod's arc would lose digits
        self.pin, self.a, self.b = pin, first[1], second[1]
        self.parts = (linkage.parts[first[0]].name, linkage.parts[second[0]].name)  # type: ignore[union-attr]
        self.l1, self.l2 = reach(linkage, pin, first), reach(linkage, pin, second)
        base, arm = linkage.sketch(self.b) - linkage.sketch(self.a), linkage.sketch(pin) - linkage.sketch(self.a)
        self.side = sign_of(cross(base, arm))
        self.square, self.half = self.l1**2, (self.l1**2 - self.l2**2) / 2

    def place(self, x: Points) -> bool:
        """Place the pin; false where the parts do not meet (there the pin is put nearest)."""
        base = x[self.b] - x[self.a]
        inverse = 1.0 / (base.real**2 + base.imag**2)
        along = self.half * inverse + 0.5
        rise = self.square * inverse - along * along
        meets = bool(rise.min() >= 0)
        if not meets:
            rise = np.maximum(rise, 0.0)
        turn = np.empty(rise.shape, complex)
        turn.real = along
        turn.imag = self.side * np.sqrt(rise)
        turn *= base
        turn += x[self.a]
        x[self.pin] = turn
        return meets

    def short(self, x: Points) -> Any:
        """How far the parts fall short (mm, +) or are too long (−); zero where they meet."""
        d = np.abs(x[self.b] - x[self.a])
        least = np.abs(self.l1 - self.l2)
        return np.maximum(d - (self.l1 + self.l2), 0.0) - np.maximum(least - d, 0.0)

    def tangent(self, x: Points, moves: Points) -> None:
        e1, e2 = x[self.pin] - x[self.a], x[self.pin] - x[self.b]
        da, db = moves[self.a], moves[self.b]
        if da is None and db is None:
            return
        across = cross(e1, e2)
        pull2 = 0.0 if db is None else dot(e2, db) / across
        pull1 = 0.0 if da is None else dot(e1, da) / across
        moves[self.pin] = 1j * (e1 * pull2 - e2 * pull1)

    def adjoint(self, x: Points, bar: Points, shifts: Shifts) -> None:
        wish = bar[self.pin]
        e1, e2 = x[self.pin] - x[self.a], x[self.pin] - x[self.b]
        across = cross(e1, e2)
        pull(self.parts[0], self.a, self.pin, e1 * (cross(wish, e2) / across), bar, shifts)
        pull(self.parts[1], self.b, self.pin, e2 * (cross(e1, wish) / across), bar, shifts)


class RodGuide:
    """A pin on a fixed line at a known distance from a placed pin."""

    def __init__(self, linkage: Linkage, pin: int, first: tuple[int, int], second: tuple[int, int]) -> None:
        self.pin, self.a = pin, first[1]
        rod, guide = linkage.parts[first[0]], linkage.parts[second[0]]
        assert isinstance(rod, Rod | Plate)
        assert isinstance(guide, Guide)
        self.parts = (rod.name, guide.name)
        self.length = length_of(rod, self.a, pin)
        self.origin = guide.origin[0] + 1j * guide.origin[1]
        self.line = np.exp(1j * guide.direction)
        ahead = dot(self.line, linkage.sketch(pin) - linkage.sketch(self.a))
        self.side = sign_of(ahead)

    def place(self, x: Points) -> bool:
        from_line = (x[self.a] - self.origin) * np.conj(self.line)
        room = self.length**2 - from_line.imag**2
        meets = room.min() >= 0
        if not meets:
            room = np.maximum(room, 0.0)
        x[self.pin] = self.origin + self.line * (from_line.real + self.side * np.sqrt(room))
        return bool(meets)

    def short(self, x: Points) -> Any:
        return np.maximum(np.abs(cross(self.line, x[self.a] - self.origin)) - self.length, 0.0)

    def tangent(self, x: Points, moves: Points) -> None:
        if moves[self.a] is not None:
            e = x[self.pin] - x[self.a]
            moves[self.pin] = self.line * (dot(e, moves[self.a]) / dot(e, self.line))

    def adjoint(self, x: Points, bar: Points, shifts: Shifts) -> None:
        e = x[self.pin] - x[self.a]
        force = e * (dot(bar[self.pin], self.line) / dot(e, self.line))
        pull(self.parts[0], self.a, self.pin, force, bar, shifts)
        add(shifts, (self.parts[1], self.pin), bar[self.pin] - force)


class Placed:
    """A pin of a plate whose pose is given by two of its other pins."""

    def __init__(self, linkage: Linkage, pin: int, plate: int, a: int, b: int) -> None:
        part = linkage.parts[plate]
        assert isinstance(part, Plate)
        self.pin, self.a, self.b, self.part = pin, a, b, part.name
        foot = place_in(part, a)
        self.turn = (place_in(part, pin) - foot) / (place_in(part, b) - foot)

    def place(self, x: Points) -> bool:
        x[self.pin] = x[self.a] + (x[self.b] - x[self.a]) * self.turn
        return True

    def tangent(self, x: Points, moves: Points) -> None:
        da, db = moves[self.a], moves[self.b]
        if da is None and db is None:
            return
        if da is None:
            moves[self.pin] = db * self.turn
        else:
            moves[self.pin] = da * (1 - self.turn) if db is None else da + (db - da) * self.turn

    def adjoint(self, x: Points, bar: Points, shifts: Shifts) -> None:
        wish = bar[self.pin]
        at_b = wish * np.conj(self.turn)
        at_a = wish - at_b
        add(bar, self.a, at_a)
        add(bar, self.b, at_b)
        for pin, share in ((self.pin, wish), (self.a, -at_a), (self.b, -at_b)):
            add(shifts, (self.part, pin), share)


class Riding:
    """A pin carried by another without turning, or (``back``) the carrier from the carried pin."""

    def __init__(self, linkage: Linkage, pin: int, part: int, by: int) -> None:
        held = linkage.parts[part]
        assert isinstance(held, Carried)
        self.pin, self.by, self.part = pin, by, held.name
        self.back = held.pin != pin
        self.offset = (held.offset[0] + 1j * held.offset[1]) * (-1 if self.back else 1)

    def place(self, x: Points) -> bool:
        x[self.pin] = x[self.by] + self.offset
        return True

    def tangent(self, x: Points, moves: Points) -> None:
        moves[self.pin] = moves[self.by]

    def adjoint(self, x: Points, bar: Points, shifts: Shifts) -> None:
        add(bar, self.by, bar[self.pin])
        add(shifts, (self.part, self.pin), bar[self.pin])
        add(shifts, (self.part, self.by), -bar[self.pin])
