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

from linkmotion.linkage.parts import Carried, Guide, Linkage, Plate, Real, Rod, Slide

Points = list[Any]
Shifts = dict[tuple[str, int], Any]
Array = NDArray[Any]


def dot(u: Any, w: Any) -> Any:
    """Scalar product of two plane vectors written as complex numbers."""
    return u.real * w.real + u.imag * w.imag


def cross(u: Any, w: Any) -> Any:
    """Turning of w out of u: positive when w lies to the left of u."""
    return u.real * w.imag - u.imag * w.real


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


def pull(part: str, a: int, p: int, force: Any, bar: Points, shifts: Shifts) -> None:
    """Book the force with which a rod a-p answers a wish at p, and pass it on to a."""
    add(bar, a, force)
    add(shifts, (part, p), force)
    add(shifts, (part, a), -force)


class RodRod:
    """A pin at known distances from two placed pins (two rods; a plate may serve as either)."""

    def __init__(self, linkage: Linkage, pin: int, first: tuple[int, int], second: tuple[int, int]) -> None:
        self.pin, self.a, self.b = pin, first[1], second[1]
        one, two = linkage.parts[first[0]], linkage.parts[second[0]]
        assert isinstance(one, Rod | Plate) and isinstance(two, Rod | Plate)
        self.parts = (one.name, two.name)
        self.l1, self.l2 = length_of(one, self.a, pin), length_of(two, self.b, pin)
        base, arm = linkage.sketch(self.b) - linkage.sketch(self.a), linkage.sketch(pin) - linkage.sketch(self.a)
        self.side = np.where(cross(base, arm) < 0, -1.0, 1.0)[()]
        self.square, self.half = self.l1**2, (self.l1**2 - self.l2**2) / 2

    def place(self, x: Points) -> bool:
        """Place the pin; false where the parts do not meet (there the pin is put nearest)."""
        base = x[self.b] - x[self.a]
        d2 = base.real**2 + base.imag**2
        along = self.half / d2 + 0.5
        rise = self.square / d2 - along * along
        meets = rise.min() >= 0
        if not meets:
            rise = np.maximum(rise, 0.0)
        turn = np.empty(rise.shape, complex)
        turn.real = along
        turn.imag = self.side * np.sqrt(rise)
        x[self.pin] = x[self.a] + base * turn
        return bool(meets)

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
        assert isinstance(rod, Rod | Plate) and isinstance(guide, Guide)
        self.parts = (rod.name, guide.name)
        self.length = length_of(rod, self.a, pin)
        self.origin = guide.origin[0] + 1j * guide.origin[1]
        self.line = np.exp(1j * guide.direction)
        ahead = dot(self.line, linkage.sketch(pin) - linkage.sketch(self.a))
        self.side = np.where(ahead < 0, -1.0, 1.0)[()]

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
        add(shifts, (self.part, self.by if self.back else self.pin), bar[self.pin] * (-1 if self.back else 1))


class Threaded:
    """The far end a of a rod a-b, b placed, whose line passes a placed pin (a rod through a swivel block)."""

    def __init__(self, linkage: Linkage, pin: int, slide: int, rod: int, b: int) -> None:
        line, held = linkage.parts[slide], linkage.parts[rod]
        assert isinstance(line, Slide) and isinstance(held, Rod | Plate)
        self.pin, self.b, self.block = pin, b, line.pin
        self.parts = (held.name, line.name)
        self.length = length_of(held, pin, b)
        self.forth = 1.0 if line.a == pin else -1.0
        self.offset = line.offset * self.forth
        along = linkage.sketch(b) - linkage.sketch(pin)
        behind = dot(along, linkage.sketch(self.b) - linkage.sketch(self.block))
        self.side = np.where(behind < 0, -1.0, 1.0)[()]

    def _line(self, x: Points) -> tuple[Any, Any]:
        """Direction of the rod from a to b, and the block's distance behind b along it."""
        arm = x[self.block] - x[self.b]
        back = self.side * np.sqrt(np.maximum(arm.real**2 + arm.imag**2 - self.offset**2, 0.0))
        return arm / (-back + 1j * self.offset), back

    def place(self, x: Points) -> bool:
        line, back = self._line(x)
        x[self.pin] = x[self.b] - self.length * line
        return bool(np.abs(back).min() > 0)

    def short(self, x: Points) -> Any:
        return -np.maximum(np.abs(self.offset) - np.abs(x[self.block] - x[self.b]), 0.0)

    def tangent(self, x: Points, moves: Points) -> None:
        db, dp = moves[self.b], moves[self.block]
        if db is None and dp is None:
            return
        line, back = self._line(x)
        db, dp = (0j if d is None else d for d in (db, dp))
        share = back / self.length
        across = (cross(line, dp) - (1 - share) * cross(line, db)) / share
        moves[self.pin] = line * (dot(line, db) + 1j * across)

    def adjoint(self, x: Points, bar: Points, shifts: Shifts) -> None:
        line, back = self._line(x)
        wish, square = bar[self.pin], 1j * line
        share = back / self.length
        pull(self.parts[0], self.b, self.pin, line * dot(line, wish), bar, shifts)
        press = square * (cross(line, wish) / share)
        add(bar, self.block, press)
        add(bar, self.b, -press * (1 - share))
        for pin, force in ((self.block, -press), (self.pin, press * share), (self.b, press * (1 - share))):
            add(shifts, (self.parts[1], pin), force)


class RodSlide:
    """A pin on the straight line through two placed pins, at a known distance from a third."""

    def __init__(self, linkage: Linkage, pin: int, first: tuple[int, int], second: tuple[int, int]) -> None:
        self.pin, self.c = pin, first[1]
        rod, line = linkage.parts[first[0]], linkage.parts[second[0]]
        assert isinstance(rod, Rod | Plate) and isinstance(line, Slide)
        self.parts = (rod.name, line.name)
        self.a, self.b, self.offset = line.a, line.b, line.offset
        self.length = length_of(rod, self.c, pin)
        base = linkage.sketch(self.b) - linkage.sketch(self.a)
        self.side = np.where(dot(base, linkage.sketch(pin) - linkage.sketch(self.c)) < 0, -1.0, 1.0)[()]

    def _line(self, x: Points) -> tuple[Any, Any, Any]:
        """Direction a-b, its length, and the third pin seen from the line: (along from a) + i (left of it)."""
        base = x[self.b] - x[self.a]
        size = np.abs(base)
        line = base / size
        return line, size, (x[self.c] - x[self.a]) * np.conj(line) - 1j * self.offset

    def place(self, x: Points) -> bool:
        line, _size, seen = self._line(x)
        room = self.length**2 - seen.imag**2
        along = seen.real + self.side * np.sqrt(np.maximum(room, 0.0))
        x[self.pin] = x[self.a] + line * (along + 1j * self.offset)
        return bool(room.min() >= 0)

    def short(self, x: Points) -> Any:
        return np.maximum(np.abs(self._line(x)[2].imag) - self.length, 0.0)

    def _shares(self, x: Points) -> tuple[Any, Any, Any]:
        line, size, _seen = self._line(x)
        return line, dot(line, x[self.pin] - x[self.a]) / size, x[self.pin] - x[self.c]

    def tangent(self, x: Points, moves: Points) -> None:
        if all(moves[p] is None for p in (self.a, self.b, self.c)):
            return
        da, db, dc = (0j if moves[p] is None else moves[p] for p in (self.a, self.b, self.c))
        line, share, e = self._shares(x)
        across = (1 - share) * cross(line, da) + share * cross(line, db)
        along = (dot(e, dc) - across * cross(line, e)) / dot(e, line)
        moves[self.pin] = line * (along + 1j * across)

    def adjoint(self, x: Points, bar: Points, shifts: Shifts) -> None:
        line, share, e = self._shares(x)
        force = e * (dot(bar[self.pin], line) / dot(e, line))
        press = bar[self.pin] - force
        pull(self.parts[0], self.c, self.pin, force, bar, shifts)
        add(bar, self.a, press * (1 - share))
        add(bar, self.b, press * share)
        for pin, part in ((self.pin, press), (self.a, -press * (1 - share)), (self.b, -press * share)):
            add(shifts, (self.parts[1], pin), part)


Step = RodRod | RodGuide | RodSlide | Placed | Riding | Threaded
