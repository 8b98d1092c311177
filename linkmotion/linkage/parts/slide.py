"""The slide: a straight slot, or a rod through a swivel block."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.linkage.parts.part import Line, Locus, Push, Slopes, Tie
from linkmotion.linkage.plane import Gradient, Points, Real, cross, dot, sign_of


@dataclass(frozen=True, slots=True)
class Slide(Tie):
    """A pin that slides along the straight line a-b of a part, ``offset`` (mm) to the left of it."""

    name: str
    pin: int
    a: int
    b: int
    offset: Real

    @property
    def pins(self) -> tuple[int, ...]:
        return (self.pin, self.a, self.b)

    def dimensions(self, names: list[str]) -> dict[str, Real]:
        return {"offset": self.offset}

    def slopes(self, names: list[str], x: Points, push: Push) -> Slopes:
        base = x[self.b] - x[self.a]
        return {"offset": lambda: dot(1j * base, push(self.pin)) / np.abs(base)}

    def left(self, x: Points) -> Any:
        base, arm = x[self.b] - x[self.a], x[self.pin] - x[self.a]
        return cross(base, arm) / np.sqrt(base.real**2 + base.imag**2) - self.offset

    def gradient(self, x: Points) -> Gradient:
        base, arm = x[self.b] - x[self.a], x[self.pin] - x[self.a]
        size = np.abs(base)
        line = base / size
        square, share = 1j * line, dot(line, arm) / size
        return (self.pin, square), (self.a, -square * (1 - share)), (self.b, -square * share)

    def meets(self, pin: int, other: tuple[int, ...]) -> bool:
        """An end of the line only together with what keeps the ends apart: else it could pass through the block."""
        return pin == self.pin or {self.a, self.b} == set(other)

    def locus(self, pin: int, sketch: Points) -> Locus:
        return self._along_the_part if pin == self.pin else self._through_the_block(pin, sketch)

    def _along_the_part(self, x: Points) -> Line:
        base = x[self.b] - x[self.a]
        line = base / np.abs(base)
        return Line(x[self.a] + line * (1j * self.offset), line)

    def _through_the_block(self, pin: int, sketch: Points) -> Locus:
        """For one end of the line a-b: through the other end, past the block."""
        end = self.b if pin == self.a else self.a
        offset = self.offset if pin == self.a else -self.offset
        side = sign_of(dot(sketch[end] - sketch[pin], sketch[end] - sketch[self.pin]))

        def line(x: Points) -> Line:
            arm = x[self.pin] - x[end]
            far = np.sqrt(arm.real**2 + arm.imag**2)
            behind = side * np.sqrt(np.maximum(far**2 - offset**2, 0.0))  # the block is so far behind the end
            return Line(x[end], arm / (-behind + 1j * offset), np.abs(offset) - far)

        return line
