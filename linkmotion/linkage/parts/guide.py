"""The guide: a pin on a straight line of the frame."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from linkmotion.linkage.parts.part import Line, Locus, Push, Slopes, Tie, along_axes
from linkmotion.linkage.plane import XY, Gradient, Points, Real, dot


@dataclass(frozen=True, slots=True)
class Guide(Tie):
    """A pin on the straight line of the frame through ``origin`` (mm), ``direction`` in radians."""

    name: str
    pin: int
    origin: XY
    direction: Real
    leads: ClassVar[bool] = True

    @property
    def pins(self) -> tuple[int, ...]:
        return (self.pin,)

    @property
    def line(self) -> Line:
        """The line."""
        return Line(self.origin[0] + 1j * self.origin[1], np.exp(1j * self.direction))

    def dimensions(self, names: list[str]) -> dict[str, Real]:
        return {"x": self.origin[0], "y": self.origin[1], "direction": self.direction}

    def slopes(self, names: list[str], x: Points, push: Push) -> Slopes:
        origin, along, _lacks = self.line
        return along_axes(self.pin, push) | {
            "direction": lambda: dot(along, x[self.pin] - origin) * dot(1j * along, push(self.pin))
        }

    def left(self, x: Points) -> Any:
        origin, along, _lacks = self.line
        return dot(1j * along, x[self.pin] - origin)

    def gradient(self, x: Points) -> Gradient:
        return ((self.pin, 1j * np.exp(1j * self.direction)),)

    def locus(self, pin: int, sketch: Points) -> Locus:
        line = self.line
        return lambda x: line
