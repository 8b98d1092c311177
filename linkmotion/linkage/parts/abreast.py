"""The block square to a spindle: a pin level with another along a direction."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.linkage.parts.part import Line, Locus, Push, Slopes, Tie
from linkmotion.linkage.plane import Gradient, Points, Real, dot


@dataclass(frozen=True, slots=True)
class Abreast(Tie):
    """A pin kept level with another along a ``direction`` (a block square to a spindle): the same place along it."""

    name: str
    pin: int
    by: int
    direction: Real

    @property
    def pins(self) -> tuple[int, ...]:
        return (self.pin, self.by)

    @property
    def along(self) -> Any:
        """Unit vector of the direction."""
        return np.exp(1j * self.direction)

    def dimensions(self, names: list[str]) -> dict[str, Real]:
        return {"direction": self.direction}

    def slopes(self, names: list[str], x: Points, push: Push) -> Slopes:
        apart = x[self.pin] - x[self.by]
        return {"direction": lambda: -dot(1j * self.along, apart) * dot(self.along, push(self.pin))}

    def left(self, x: Points) -> Any:
        return dot(self.along, x[self.pin] - x[self.by])

    def gradient(self, x: Points) -> Gradient:
        along = self.along
        return (self.pin, along), (self.by, -along)

    def locus(self, pin: int, sketch: Points) -> Locus:
        other, square = self.by if pin == self.pin else self.pin, 1j * self.along
        return lambda x: Line(x[other], square)
