"""Closed-form steps with a part that slides along another: a straight slot, a rod through a swivel block."""

from __future__ import annotations

from typing import Any

import numpy as np

from linkmotion.linkage.parts import Abreast, Guide, Linkage, Plate, Rod, Slide
from linkmotion.linkage.steps import (
    Placed,
    Points,
    Riding,
    RodGuide,
    RodRod,
    Shifts,
    add,
    cross,
    dot,
    length_of,
    pull,
    sign_of,
)


class Threaded:
    """The far end a of a rod a-b, b placed, whose line passes a placed pin (a rod through a swivel block)."""

    def __init__(self, linkage: Linkage, pin: int, slide: int, rod: int, b: int) -> None:
        line, held = linkage.parts[slide], linkage.parts[rod]
        assert isinstance(line, Slide)
        assert isinstance(held, Rod | Plate)
        self.pin, self.b, self.block = pin, b, line.pin
        self.parts = (held.name, line.name)
        self.length = length_of(held, pin, b)
        self.forth = 1.0 if line.a == pin else -1.0
        self.offset = line.offset * self.forth
        along = linkage.sketch(b) - linkage.sketch(pin)
        behind = dot(along, linkage.sketch(self.b) - linkage.sketch(self.block))
        self.side = sign_of(behind)

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
        assert isinstance(rod, Rod | Plate)
        assert isinstance(line, Slide)
        self.parts = (rod.name, line.name)
        self.a, self.b, self.offset = line.a, line.b, line.offset
        self.length = length_of(rod, self.c, pin)
        base = linkage.sketch(self.b) - linkage.sketch(self.a)
        self.side = sign_of(dot(base, linkage.sketch(pin) - linkage.sketch(self.c)))

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


class Foot:
    """A pin on a guide, abreast of a placed pin: where a line square to the block meets the guide."""

    def __init__(self, linkage: Linkage, pin: int, first: tuple[int, int], second: tuple[int, int]) -> None:
        self.pin, self.by = pin, first[1]
        block, guide = linkage.parts[first[0]], linkage.parts[second[0]]
        assert isinstance(block, Abreast)
        assert isinstance(guide, Guide)
        self.parts = (block.name, guide.name)
        self.origin = guide.origin[0] + 1j * guide.origin[1]
        self.line, self.along = np.exp(1j * guide.direction), np.exp(1j * block.direction)
        self.share = dot(self.line, self.along)

    def place(self, x: Points) -> bool:
        x[self.pin] = self.origin + self.line * (dot(self.along, x[self.by] - self.origin) / self.share)
        return True

    def short(self, x: Points) -> Any:
        return np.zeros(np.shape(x[self.by]))

    def tangent(self, x: Points, moves: Points) -> None:
        if moves[self.by] is not None:
            moves[self.pin] = self.line * (dot(self.along, moves[self.by]) / self.share)

    def adjoint(self, x: Points, bar: Points, shifts: Shifts) -> None:
        push = self.along * (dot(bar[self.pin], self.line) / self.share)
        add(bar, self.by, push)
        add(shifts, (self.parts[0], self.pin), push)
        add(shifts, (self.parts[0], self.by), -push)
        add(shifts, (self.parts[1], self.pin), bar[self.pin] - push)


Step = RodRod | RodGuide | RodSlide | Placed | Riding | Threaded | Foot
