"""What a setting must meet, as functions of the steps by which the adjustments are moved: exact, many at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from linkmotion.engine import Targets
from linkmotion.studies.held import Hold, holds
from linkmotion.studies.setting_adjustments import BOTH, Adjustment
from linkmotion.studies.setting_side import Array, Belief, SettingSide, Steps

ROOM = (0.25, 0.5)  # of a target: kept between it and what is aimed at, by the doubt of what was read
CARE = 10.0  # what passing the aim costs where the doubt is known, in targets; 1 where it is not
EFFORT, SMALL = 0.5, 0.1  # what touching a locknut must gain, in targets; a step beside touching the part at all
_FINEST = {"mm": 0.02, "percent": 0.1}  # a target of nothing is measured against these


@dataclass(frozen=True)
class Goal:
    """A target on one side, or between the sides (``side`` "")."""

    hold: Hold
    side: str

    @property
    def limit(self) -> float:
        """What is allowed, mm or percent of stroke."""
        return self.hold.limit

    @property
    def scale(self) -> float:
        """What an amount over the limit is measured by."""
        return max(self.hold.limit, _FINEST[self.hold.unit])


class SettingProblem:
    """Adjustments, targets, and the sides on which they act.

    Attributes
    ----------
    sides : tuple of SettingSide
        One or both.
    adjustments : tuple of Adjustment
        A of them.
    goals : tuple of Goal
        The K targets that the events allow to be looked at.
    limit, aim, doubt : float array, shape (K,)
        What each allows, what is aimed at, and how sure what it holds is known (standard deviation).
    """

    def __init__(self, beliefs: Sequence[Belief], adjustments: Sequence[Adjustment], targets: Targets) -> None:
        names = {belief.side.side for belief in beliefs}
        self.adjustments = tuple(each for each in adjustments if each.side in names or each.side == BOTH)
        self.sides = tuple(SettingSide(belief, self.adjustments) for belief in beliefs)
        self.least = np.array([each.least for each in self.adjustments], int)
        self.most = np.array([each.most for each in self.adjustments], int)
        self.goals = tuple(self._goals(targets))
        there = np.isfinite(self.misses(self.nothing[None])[0])
        self.goals = tuple(goal for goal, known in zip(self.goals, there, strict=True) if known)
        self.limit = np.array([goal.limit for goal in self.goals])
        self.scale = np.array([goal.scale for goal in self.goals])
        self.doubt = np.array([self._doubt(goal) for goal in self.goals])
        known = [side.spread is not None for side in self.sides]
        self.care = CARE if any(known) else 1.0
        self.aim = self.limit - np.clip(2 * self.doubt, *(part * self.limit for part in ROOM))

    @property
    def nothing(self) -> Steps:
        """Leave everything as it is."""
        return np.zeros(len(self.adjustments), int)

    def _goals(self, targets: Targets) -> Iterator[Goal]:
        for hold in self._holds(targets):
            if hold.between == "sides":
                yield Goal(hold, "")
            else:
                yield from (Goal(hold, side.side.side) for side in self.sides)

    def _holds(self, targets: Targets) -> tuple[Hold, ...]:
        """The targets of the figures that all sides have (a notch near mid gear may drive one side otherwise)."""
        first = self.sides[0].figures
        common = tuple(figure for figure in first if all(figure in side.figures for side in self.sides))
        self._where = [[side.figures.index(figure) for figure in common] for side in self.sides]
        found = holds(targets, common)
        return found if len(self.sides) == 2 else tuple(hold for hold in found if hold.between != "sides")

    def _doubt(self, goal: Goal) -> float:
        """Standard deviation of what a goal holds, by the doubt of the figures; nothing where that is not known."""
        hold, found = goal.hold, 0.0
        for side, where in zip(self.sides, self._where, strict=True):
            if side.spread is not None and goal.side in ("", side.side.side):
                found += float(np.sum(hold.along(side.spread[where]) ** 2))
        return float(np.sqrt(found))

    def misses(self, steps: Steps) -> Array:
        """What each target holds (a difference, or a figure less what is wanted), signed, shape (S, K)."""
        values = [side.values(steps)[:, where] for side, where in zip(self.sides, self._where, strict=True)]
        pair = values if len(values) == 2 else values * 2
        at = {side.side.side: i for i, side in enumerate(self.sides)}
        found = [goal.hold.of(pair[0], pair[1])[..., at.get(goal.side, 0)] for goal in self.goals]
        return np.stack(found, axis=-1) if found else np.zeros((len(steps), 0))

    def excess(self, steps: Steps) -> Array:
        """How far each target is passed, as a multiple of it, shape (S, K); infinite where an event is lost."""
        over = np.maximum(np.abs(self.misses(steps)) - self.limit, 0.0) / self.scale
        return np.where(np.isfinite(over), over, np.inf)

    def cost(self, steps: Steps) -> Array:
        """What is looked for, of the exact gear, shape (S, 2); see :meth:`price`."""
        return self.price(self.misses(steps), steps)

    def price(self, missed: Array, steps: Steps) -> Array:
        """The sum of the excesses first, then what the work costs, shape (S, 2).

        The work's cost counts every part touched, a little every step, and what is left beyond the aims.
        """
        over = np.maximum(np.abs(missed) - self.limit, 0.0) / self.scale
        left = self.care * np.maximum(np.abs(missed) - self.aim, 0.0) / self.scale
        first, rest = (np.where(np.isfinite(each), each, np.inf).sum(axis=-1) for each in (over, left))
        work = (steps != 0) @ self.efforts + np.abs(steps) @ self.per_step
        return np.stack([np.round(first, 7), rest + work], axis=-1)

    @cached_property
    def efforts(self) -> Array:
        """Cost of touching each part."""
        return EFFORT * np.array([each.usual.effort for each in self.adjustments])

    @cached_property
    def per_step(self) -> Array:
        """Cost of a step of each."""
        return SMALL * self.efforts
