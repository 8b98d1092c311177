"""A setting as a problem: how good any steps of the adjustments are, by the exact gear or by its linear picture."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray

from linkmotion.engine import Targets
from linkmotion.studies.setting.adjustments import BOTH, Adjustment
from linkmotion.studies.setting.goals import Goal, goal_rows, level_rows
from linkmotion.studies.setting.side import Array, SettingSide, SideEstimate, Steps

ROOM = (0.25, 0.5)  # of a target: kept between it and what is aimed at, by the doubt of what was read
CARE = 10.0  # what passing an aim costs where the doubt is known, in targets; 1 where it is not
WEIGHT = 20.0  # what passing a target costs, where not all of them can be met
EFFORT, SMALL = 0.5, 0.1  # what touching a locknut must gain, in targets; a step beside touching the part at all
_NOTHING = 1e-7  # of a target
_MENDED = 4  # explanations of a side that are tried to be undone


class SettingProblem:
    """Adjustments, targets, and the sides on which they act.

    Attributes
    ----------
    sides : tuple of SettingSide
        One or both, and how each is believed to stand (``estimates``).
    adjustments : tuple of Adjustment
        A of them.
    goals : tuple of Goal
        The K targets that the events allow to be looked at.
    rows : tuple of Row
        What is held, R of them: the targets first, then the levels.
    limit, aim, scale, doubt : float array, shape (R,)
        What each allows, what is aimed at, what passing it is measured by, and how sure what it holds is known
        (standard deviation).
    """

    def __init__(self, estimates: Sequence[SideEstimate], adjustments: Sequence[Adjustment], targets: Targets) -> None:
        names = {estimate.side.side for estimate in estimates}
        self.adjustments = tuple(each for each in adjustments if each.side in names or each.side == BOTH)
        self.sides = tuple(SettingSide(estimate, self.adjustments) for estimate in estimates)
        self.least = np.array([each.least for each in self.adjustments], int)
        self.most = np.array([each.most for each in self.adjustments], int)
        now = self._figures(self.nothing[None])[0]
        targeted = [
            row for row in goal_rows(self.sides, targets) if np.all(np.isfinite([now[n] for n, _ in row.terms]))
        ]
        levels = level_rows(self.sides, [estimate.drawn for estimate in estimates], now, targets)
        self.rows = (*targeted, *levels)
        self.goals: tuple[Goal, ...] = tuple(row.goal for row in targeted if row.goal is not None)
        self._number, self._factor = (
            np.array([[term[part] for term in (*row.terms, (row.terms[0][0], 0.0))[:2]] for row in self.rows])
            for part in (0, 1)
        )
        self.wanted, self.limit, self.scale = (
            np.array([getattr(row, name) for row in self.rows]) for name in ("wanted", "limit", "scale")
        )
        self.doubt = self._doubts()
        self.care = CARE if any(side.spread is not None for side in self.sides) else 1.0
        self.aim = self.limit - np.clip(2 * self.doubt, *(part * self.limit for part in ROOM))
        self.aim[len(self.goals) :] = self.limit[len(self.goals) :]
        self.estimates = tuple(estimates)
        self.at_start = float(self._over_all(self.misses(self.nothing[None]))[0])

    @property
    def nothing(self) -> Steps:
        """Leave everything as it is."""
        return np.zeros(len(self.adjustments), int)

    def mending(self) -> Steps:
        """Steps that undo what may be wrong with each side, with nothing done to it or to the other among them."""
        rows = []
        for faults in product(*([{}, *estimate.faults[:_MENDED]] for estimate in self.estimates)):
            steps = self.nothing
            for j, each in enumerate(self.adjustments):
                own = [
                    fault.get(each.key, 0.0)
                    for side, fault in zip(self.sides, faults, strict=True)
                    if each.on(side.side.side)
                ]
                steps[j] = round(-float(np.mean(own)) / each.per_step)
            rows.append(np.clip(steps, self.least, self.most))
        return np.unique(rows, axis=0)

    def _figures(self, steps: Steps) -> Array:
        return np.concatenate([side.values(steps) for side in self.sides], axis=-1)

    def of_side(self, which: int) -> NDArray[np.bool_]:
        """Which rows are of one side alone, shape (R,)."""
        start = sum(len(side.figures) for side in self.sides[:which])
        own = (self._number >= start) & (self._number < start + len(self.sides[which].figures))
        return np.asarray(np.all(own, axis=-1))

    def _doubts(self) -> Array:
        """By the doubt of the sides' figures, which are independent of one another; nothing where it is not known."""
        found, start = np.zeros(len(self.rows)), 0
        for side in self.sides:
            end = start + len(side.figures)
            if side.spread is not None:
                own = np.where((self._number >= start) & (self._number < end), self._factor, 0.0)
                at = np.clip(self._number - start, 0, end - start - 1)
                found += np.sum(np.einsum("rt,rtd->rd", own, side.spread[at]) ** 2, axis=-1)
            start = end
        return np.sqrt(found)

    def misses(self, steps: Steps) -> Array:
        """What each row holds (a difference, or a figure less what is wanted), signed, shape (S, R)."""
        if not self.rows:
            return np.zeros((len(steps), 0))
        return np.asarray(np.sum(self._figures(steps)[:, self._number] * self._factor, axis=-1) - self.wanted)

    def excess(self, steps: Steps) -> Array:
        """How far each target is over its limit, as a multiple of it, shape (S, K); infinite where an event is lost."""
        return self._over(self.misses(steps), self.limit)[:, : len(self.goals)]

    def _over(self, missed: Array, limit: Array) -> Array:
        over = np.maximum(np.abs(missed) - limit, 0.0) / self.scale
        return np.where(np.isfinite(over), over, np.inf)

    def _over_all(self, missed: Array) -> Array:
        """Sum of what is over its limit, shape (S,)."""
        return np.asarray(self._over(missed, self.limit).sum(axis=-1))

    def cost(self, steps: Steps) -> Array:
        """How good steps are on the exact gear, shape (S, 2); see :meth:`price`."""
        return self.price(self.misses(steps), steps)

    def price(self, missed: Array, steps: Steps) -> Array:
        """Grade first, then what it costs, shape (S, 2).

        Grade 0: nothing is over; 1: no more than as it stands; 2: worse than to do nothing. The cost counts what is
        over, what is left beyond the aims, every part touched, and a little every step.
        """
        over = self._over_all(missed)
        grade = np.where(over <= _NOTHING, 0.0, np.where(over <= self.at_start + _NOTHING, 1.0, 2.0))
        left = self.care * self._over(missed, self.aim).sum(axis=-1)
        work = (steps != 0) @ self.efforts + np.abs(steps) @ self.per_step
        return np.stack([grade, WEIGHT * over + left + work], axis=-1)

    @cached_property
    def efforts(self) -> Array:
        """Cost of touching each part."""
        return EFFORT * np.array([each.work.effort for each in self.adjustments])

    @cached_property
    def per_step(self) -> Array:
        """Cost of a step of each."""
        return SMALL * self.efforts
