"""Distances and places on a gear, each at its own moment: how they go with the wheel, with pins, with play."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears import Gear
from linkmotion.gears.sensitivity import Key
from linkmotion.linkage import Solution, gradient
from linkmotion.linkage.derivatives import Gradient
from linkmotion.studies.figures.figure import Figure
from linkmotion.studies.figures.spots import Spot, places_in
from linkmotion.wear.condition import Condition
from linkmotion.wear.lost_motion import DIE, free_by_joint

Array = NDArray[Any]


class Measured:
    """F distances and places, and what moves them to first order.

    Parameters
    ----------
    gear, solution : Gear, Solution
        The gear, solved at F positions, one for each.
    figures : sequence of F figures
        Each with its spot.
    """

    def __init__(self, gear: Gear, solution: Solution, figures: Sequence[Figure]) -> None:
        self.gear, self.solution = gear, solution
        self.spots: list[Spot] = [own.spot for own in figures if own.spot is not None]
        self.pins = places_in(solution)
        self._wishes: dict[str, Array] = {}
        for i, spot in enumerate(self.spots):
            for pin, weight in spot.wish(gear, self.pins).items():
                own = np.where(np.arange(len(self.spots)) == i, weight, 0.0)
                self._wishes[pin] = self._wishes.get(pin, 0.0) + own

    @cached_property
    def gradient(self) -> Gradient:
        """Of each at its own position."""
        return gradient(self.solution, self._wishes)

    @cached_property
    def rates(self) -> Array:
        """Mm per radian of the wheel turned forward, shape (F,)."""
        moves, found = self.solution.rates(), np.zeros(len(self.spots))
        for pin, weight in self._wishes.items():
            found = found + np.real(np.conj(weight) * moves[pin])
        return found

    def turning(self, key: Key) -> Array:
        """What an inclination does to places along the line that turns with it, mm per degree, shape (F,)."""
        found = np.zeros(len(self.spots))
        for i, spot in enumerate(self.spots):
            turned = spot.turning(self.gear, self.pins)
            if turned is not None and turned[0] == key:
                found[i] = turned[1][i]
        return found

    def loose(self, clearances: Mapping[str, float]) -> Array:
        """Standard deviation of what play does, (F,), mm: each pin hard over in its hole, the die either way."""
        pins = {joint: size for joint, size in clearances.items() if joint != DIE}
        condition = Condition(clearance=pins, die_clearance=clearances.get(DIE, 0.0))
        found = np.zeros(len(self.spots))
        for joint, free in free_by_joint(self.gear, condition, self.solution, self.gradient).items():
            found = found + (np.abs(free) / 2) ** 2 * (1.0 if joint == DIE else 0.5)
        return np.sqrt(found)
