"""The rigid part of any number of pins."""

from __future__ import annotations

from collections.abc import Iterator, Set
from dataclasses import dataclass
from functools import cache
from itertools import combinations
from typing import Any, ClassVar

import numpy as np

from linkmotion.linkage.parts.part import Carriage, Holder, Push, Slopes
from linkmotion.linkage.parts.rod import Rod
from linkmotion.linkage.plane import XY, Gradient, Points, Real, real_point

_TELLING = 1e-3  # of a part's size: pins nearer each other than that would magnify rounding a thousandfold


@dataclass(frozen=True, slots=True)
class Plate(Holder):
    """A rigid part with its pin holes at ``places`` in its own axes, mm.

    Two of its pins keep their distance as by a rod; when both are placed it takes the others along.
    """

    name: str
    pins: tuple[int, ...]
    places: tuple[XY, ...]
    leads: ClassVar[bool] = True

    @property
    def joined(self) -> tuple[Any, ...]:
        return (Plate, self.name, self.pins, self.huddled)

    @property
    def huddled(self) -> frozenset[tuple[int, int]]:
        """Pairs of pins, both ways round, too near each other (or at one place) to tell how the part is turned."""
        if len(self.pins) == 2:
            return frozenset()
        holes = [real_point(*place) for place in self.places]
        apart = [abs(one - two) for one, two in combinations(holes, 2)]
        if not all(isinstance(distance, float) for distance in apart):  # of variants: the least of each distance
            apart = [float(np.min(distance)) for distance in apart]
        least = _TELLING * max(apart)
        if min(apart) >= least:
            return frozenset()
        pairs = zip(combinations(self.pins, 2), apart, strict=True)
        near = {pair for pair, distance in pairs if distance < least}
        return frozenset(near | {(b, a) for a, b in near})

    @property
    def ends(self) -> tuple[int, int]:
        """The first two pins that tell how the part is turned."""
        huddled = self.huddled
        return next(pair for pair in combinations(self.pins, 2) if pair not in huddled)

    def place_in(self, pin: int) -> Any:
        """Place of a pin in the part's own axes, complex mm.

        Parameters
        ----------
        pin : int
            By its number in the linkage.
        """
        x, y = self.places[self.pins.index(pin)]
        return x + 1j * y

    def dimensions(self, names: list[str]) -> dict[str, Real]:
        return {
            f"{names[pin]}.{axis}": value
            for pin, place in zip(self.pins, self.places, strict=True)
            for axis, value in zip("xy", place, strict=True)
        }

    def slopes(self, names: list[str], x: Points, push: Push) -> Slopes:
        a, b = self.ends

        @cache
        def back() -> Any:  # turning back into the part's own axes
            return (self.place_in(b) - self.place_in(a)) / (x[b] - x[a])

        @cache
        def own(pin: int) -> Any:
            return push(pin) * back()

        found: Slopes = {}
        for pin in self.pins:
            found[f"{names[pin]}.x"] = lambda pin=pin: np.real(own(pin))  # type: ignore[misc]
            found[f"{names[pin]}.y"] = lambda pin=pin: np.imag(own(pin))  # type: ignore[misc]
        return found

    def holding(self, pin: int, placed: Set[int]) -> tuple[int, ...] | None:
        found = [each for each in self.pins if each in placed]
        if pin not in self.pins or len(found) != 1 or (found[0], pin) in self.huddled:
            return None
        return (found[0], pin)

    def closing(self, placed: Set[int]) -> list[tuple[int, ...]]:
        found = [pin for pin in self.pins if pin in placed]
        pairs: list[tuple[int, ...]] = [(found[0], pin) for pin in found[1:]]
        return pairs + pairs[1:]  # each pin beyond the second is held twice

    def takes(self, placed: Set[int], posed: tuple[int, ...] | None) -> tuple[int, tuple[int, ...]] | None:
        lost = None if posed is None else next((pin for pin in self.pins if pin not in placed), None)
        return None if lost is None or posed is None else (lost, posed)

    def carriage(self, pin: int, by: tuple[int, ...]) -> Carriage:
        a, b = by
        foot = self.place_in(a)
        return Carriage(a, 0.0, b, (self.place_in(pin) - foot) / (self.place_in(b) - foot))

    def tie(self, pins: tuple[int, ...]) -> Rod:
        a, b = pins
        return Rod(self.name, a, b, np.abs(self.place_in(b) - self.place_in(a)))

    def tells(self, pins: tuple[int, ...]) -> bool:
        return pins not in self.huddled

    def equations(self, x: Points) -> Iterator[tuple[Any, Gradient]]:
        ends = self.ends
        yield from self.tie(ends).equations(x)
        for pin in self.pins:
            if pin not in ends:
                yield from self.carriage(pin, ends).equations(pin, x)
