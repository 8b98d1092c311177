"""The rod: two pins at a constant distance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from linkmotion.linkage.parts.part import Circle, Locus, Push, Slopes, Tie
from linkmotion.linkage.plane import Gradient, Points, Real, dot


@dataclass(frozen=True, slots=True)
class Rod(Tie):
    """Two pins at a constant distance, mm (also a pin in a curved slot: distance from its centre)."""

    name: str
    a: int
    b: int
    length: Real
    leads: ClassVar[bool] = True

    @property
    def pins(self) -> tuple[int, ...]:
        return (self.a, self.b)

    @property
    def size(self) -> Real:
        return self.length

    def dimensions(self, names: list[str]) -> dict[str, Real]:
        return {"length": self.length}

    def slopes(self, names: list[str], x: Points, push: Push) -> Slopes:
        return {"length": lambda: dot(x[self.b] - x[self.a], push(self.b)) / self.length}

    def left(self, x: Points) -> Any:
        arm = x[self.b] - x[self.a]
        return np.sqrt(arm.real**2 + arm.imag**2) - self.length

    def gradient(self, x: Points) -> Gradient:
        arm = x[self.b] - x[self.a]
        unit = arm / np.abs(arm)
        return (self.b, unit), (self.a, -unit)

    def pulls(self, x: Points) -> Gradient:
        arm = x[self.b] - x[self.a]
        return (self.b, arm), (self.a, -arm)

    def forces(self, pulls: Gradient, strength: Any) -> tuple[tuple[int, Any], ...]:
        """As of any part, at half the cost: both ends pull alike."""
        force = pulls[0][1] * strength
        return (self.b, force), (self.a, -force)

    def drift(self, pin: int, x: Points, moves: Points) -> tuple[Any, Any]:
        """As of any part, at half the cost: both ends pull alike."""
        other = self.a if pin == self.b else self.b
        arm = x[pin] - x[other]
        return arm, None if moves[other] is None else dot(arm, moves[other])

    def locus(self, pin: int, sketch: Points) -> Locus:
        other = self.a if pin == self.b else self.b
        return lambda x: Circle(x[other], self.length)
