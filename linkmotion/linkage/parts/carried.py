"""The arm: a pin carried by another without turning."""

from __future__ import annotations

from collections.abc import Iterator, Set
from dataclasses import dataclass
from typing import Any

from linkmotion.linkage.parts.part import Carriage, Holder, Push, Slopes, along_axes
from linkmotion.linkage.plane import XY, Gradient, Points, Real


@dataclass(frozen=True, slots=True)
class Carried(Holder):
    """A pin carried by another without turning (an arm on a crosshead): ``by + offset``, mm."""

    name: str
    pin: int
    by: int
    offset: XY

    @property
    def pins(self) -> tuple[int, ...]:
        return (self.pin, self.by)

    def dimensions(self, names: list[str]) -> dict[str, Real]:
        return {"x": self.offset[0], "y": self.offset[1]}

    def slopes(self, names: list[str], x: Points, push: Push) -> Slopes:
        return along_axes(self.pin, push)

    def holding(self, pin: int, placed: Set[int]) -> None:
        return None

    def closing(self, placed: Set[int]) -> list[tuple[int, ...]]:
        return 2 * [self.pins] if {self.pin, self.by} <= placed else []  # along x and along y

    def takes(self, placed: Set[int], posed: tuple[int, ...] | None) -> tuple[int, tuple[int, ...]] | None:
        if (self.pin in placed) == (self.by in placed):
            return None
        return (self.by, (self.pin,)) if self.pin in placed else (self.pin, (self.by,))

    def carriage(self, pin: int, by: tuple[int, ...]) -> Carriage:
        offset = self.offset[0] + 1j * self.offset[1]
        return Carriage(by[0], offset if pin == self.pin else -offset)

    def equations(self, x: Points) -> Iterator[tuple[Any, Gradient]]:
        yield from self.carriage(self.pin, (self.by,)).equations(self.pin, x)
