"""Pins that need no solving: those of the frame and those of the wheel."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.linkage.parts.part import Driven, Push, Slopes, along_axes
from linkmotion.linkage.plane import Points, Real, dot


@dataclass(frozen=True, slots=True)
class Fixed(Driven):
    """A pin that stands still on the frame at (x, y), mm."""

    pin: int
    x: Real
    y: Real

    @property
    def pins(self) -> tuple[int, ...]:
        return (self.pin,)

    def dimensions(self, names: list[str]) -> dict[str, Real]:
        return {"x": self.x, "y": self.y}

    def slopes(self, names: list[str], x: Points, push: Push) -> Slopes:
        return along_axes(self.pin, push)

    def place(self, x: Points, turn: Any) -> None:
        x[self.pin] = np.asarray(self.x + 1j * self.y)

    def move(self, x: Points, moves: Points) -> Any:
        return None


@dataclass(frozen=True, slots=True)
class Crank(Driven):
    """A pin turned by the wheel: ``about + radius * exp(i (wheel + phase))``; mm, phase in radians."""

    pin: int
    about: int
    radius: Real
    phase: Real

    @property
    def pins(self) -> tuple[int, ...]:
        return (self.pin, self.about)

    def dimensions(self, names: list[str]) -> dict[str, Real]:
        return {"radius": self.radius, "phase": self.phase}

    def slopes(self, names: list[str], x: Points, push: Push) -> Slopes:
        arm = x[self.pin] - x[self.about]
        return {
            "radius": lambda: dot(arm, push(self.pin)) / self.radius,
            "phase": lambda: dot(1j * arm, push(self.pin)),
        }

    def place(self, x: Points, turn: Any) -> None:
        x[self.pin] = x[self.about] + self.radius * np.exp(1j * self.phase) * turn

    def move(self, x: Points, moves: Points) -> Any:
        own = -1j * (x[self.pin] - x[self.about])
        return own if moves[self.about] is None else moves[self.about] + own
