"""A setting as a problem: how good any steps of the adjustments are, by the exact gear or by its linear picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from linkmotion.engine import Targets
from linkmotion.sides import BOTH
from linkmotion.studies.setting.adjustments import Adjustment
from linkmotion.studies.setting.goals import Goal, goal_rows, level_rows
from linkmotion.studies.setting.side import Array, SettingSide, SideEstimate, Steps

ROOM = (0.25, 0.5)  # of a target: kept between it and what is aimed at, by the doubt of what was read
SLIGHT = 1 / 20  # of a target: passed by less, and by less than is known of it, it is not counted as out
CARE = 10.0  # what passing an aim costs where the doubt is known, in targets; 1 where it is not
WEIGHT = 20.0  # what passing a target costs, where not all of them can be met
LESSER = 0.1  # what a row counts, beside those that a choice puts first
AN_HOUR, SMALL = 0.5, 0.1  # what an hour's work must gain, in targets; a step beside touching the part at all
THRIFT = 1e4  # times that where the least work is wanted: fewer hours before all else
OVER = 1e-6  # of a target: what is over by less is met


@dataclass(frozen=True)
class Wish:
    """What a choice is to be best in.

    Attributes
    ----------
    first : str
        "lead" or "cutoff": whose targets are put first; "" for both alike.
    within : int
        So many targets out will do: fewer are not sought.
    thrift : float
        Times which an hour's work counts.
    """

    first: str = ""
    within: int = 0
    thrift: float = 1.0


class SettingProblem:
    """Adjustments, targets, and the sides on which they act.

    Parameters
    ----------
    estimates : sequence of SideEstimate
        One or both sides.
    adjustments : sequence of Adjustment
        Those of other sides are left out.
    targets : Targets
        To be met.

    Attributes
    ----------
    sides : tuple of SettingSide
        One or both, and how each is believed to stand (``estimates``).
    targets : Targets
        As given.
    adjustments : tuple of Adjustment
        A of them.
    goals : tuple of Goal
        The K targets that the events allow to be looked at.
    rows : tuple of Row
        What is held, R of them: the targets first, then the levels.
    limit, aim, scale, doubt : float array, shape (R,)
        What each allows, what is aimed at, what passing it is measured by, and how sure what it holds is known
        (standard deviation).
    over : float array, shape (K,)
        By how much of its scale a target must be passed to be counted as out: more than rounding and, where it is
        not known better, more than is known of it.
    """

    def __init__(self, estimates: Sequence[SideEstimate], adjustments: Sequence[Adjustment], targets: Targets) -> None:
        names = {estimate.side.side for estimate in estimates}
        self.adjustments = tuple(each for each in adjustments if each.side in names or each.side == BOTH)
        self.estimates, self.targets = tuple(estimates), targets
        self.sides = tuple(SettingSide(estimate, self.adjustments) for estimate in estimates)
        self.least = np.array([each.least for each in self.adjustments], int)
        self.most = np.array([each.most for each in self.adjustments], int)
        now = self._figures(self.nothing[None])[0]
        drawn = [estimate.drawn for estimate in estimates]
        targeted = [
            row for row in goal_rows(self.sides, drawn, targets) if np.all(np.isfinite([now[n] for n, _ in row.terms]))
        ]
        self.rows = (*targeted, *level_rows(self.sides, drawn, now, targets))
        self.goals: tuple[Goal, ...] = tuple(row.goal for row in targeted if row.goal is not None)
        self._number, self._factor = (
            np.array([[term[part] for term in (*row.terms, (row.terms[0][0], 0.0))[:2]] for row in self.rows])
            for part in (0, 1)
        )
        self.wanted, self.limit, self.scale = (
            np.array([getattr(row, name) for row in self.rows]) for name in ("wanted", "limit", "scale")
        )
        self.doubt = self._doubts()
        self.over = np.maximum(OVER, np.minimum(self.doubt, SLIGHT * self.limit) / self.scale)[: len(self.goals)]
        self.care = CARE if any(side.spread is not None for side in self.sides) else 1.0
        self.aim = self.limit - np.clip(2 * self.doubt, *(part * self.limit for part in ROOM))
        self.aim[len(self.goals) :] = self.limit[len(self.goals) :]
        self.out_at_start = int(self.out(self.misses(self.nothing[None]), self.over)[0])

    @property
    def nothing(self) -> Steps:
        """Leave everything as it is."""
        return np.zeros(len(self.adjustments), int)

    def _figures(self, steps: Steps) -> Array:
        return np.concatenate([side.values(steps) for side in self.sides], axis=-1)

    def of_side(self, which: int) -> NDArray[np.bool_]:
        """Which rows are of one side alone, shape (R,).

        Parameters
        ----------
        which : int
            Its number.
        """
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

    def along(self, slopes: Array) -> Array:
        """What each row changes, shape (R, D).

        Parameters
        ----------
        slopes : array, shape (F, D)
            Changes of the figures, the sides' one after another.
        """
        return np.asarray(np.einsum("rt,rtd->rd", self._factor, slopes[self._number]))

    def misses(self, steps: Steps) -> Array:
        """What each row holds (a difference, or a figure less what is wanted), signed, mm or percent, shape (S, R).

        Parameters
        ----------
        steps : int array, shape (S, A)
            Rows of steps; here and below.
        """
        if not self.rows:
            return np.zeros((len(steps), 0))
        return np.asarray(np.sum(self._figures(steps)[:, self._number] * self._factor, axis=-1) - self.wanted)

    def excess(self, steps: Steps) -> Array:
        """How far each target is over its limit, as a multiple of it, shape (S, K); infinite where an event is lost."""
        return self._over(self.misses(steps), self.limit)[:, : len(self.goals)]

    def out(self, missed: Array, over: Array | float = OVER) -> NDArray[np.int_]:
        """How many targets are passed, shape (S,).

        Parameters
        ----------
        missed : array, shape (S, R)
            As of :meth:`misses`.
        over : float or array, shape (K,)
            By more than so much of their scale.
        """
        return np.asarray(np.sum(self._over(missed, self.limit)[:, : len(self.goals)] > over, axis=-1))

    def all_met(self, steps: Steps) -> bool:
        """Whether no target is out with some steps, shape (A,)."""
        return bool(self.out(self.misses(steps[None]))[0] == 0)

    def _over(self, missed: Array, limit: Array) -> Array:
        over = np.maximum(np.abs(missed) - limit, 0.0) / self.scale
        return np.where(np.isfinite(over), over, np.inf)

    def cost(self, steps: Steps, wish: Wish) -> Array:
        """How good steps are on the exact gear, shape (S, 2).

        Parameters
        ----------
        steps, wish
            As for :meth:`price`.
        """
        return self.price(self.misses(steps), steps, wish)

    def price(self, missed: Array, steps: Steps, wish: Wish) -> Array:
        """Grade first, then what it costs, shape (S, 2).

        Grade 0: as few targets are out as will do; 1: no more than as it stands; 2: more. The cost counts what is
        over, what is left beyond the aims, the hours, and a little every step.

        Parameters
        ----------
        missed : array, shape (S, R)
            What the rows hold with these steps, exact or linearised.
        steps : int array, shape (S, A)
            The steps.
        wish : Wish
            What is to be best.
        """
        out, weight = self.out(missed), self.weight(wish)
        no_more = self.out(missed, self.over) <= self.out_at_start
        grade = np.where(out <= wish.within, 0.0, np.where(no_more, 1.0, 2.0))
        over = self._over(missed, self.limit) @ weight
        left = self.care * (self._over(missed, self.aim) @ weight)
        work = (steps != 0) @ self.efforts + np.abs(steps) @ self.per_step
        return np.stack([grade, WEIGHT * over + left + wish.thrift * work], axis=-1)

    def weight(self, wish: Wish) -> Array:
        """What each row counts, shape (R,); a level always in full.

        Parameters
        ----------
        wish : Wish
            What is put first.
        """
        return np.array([1.0 if row.goal is None or wish.first in ("", row.what) else LESSER for row in self.rows])

    @cached_property
    def hours(self) -> Array:
        """Cost of touching each part, hours."""
        return np.array([each.hours for each in self.adjustments], float)

    @cached_property
    def efforts(self) -> Array:
        """Cost of touching each part, in targets."""
        return AN_HOUR * self.hours

    @cached_property
    def per_step(self) -> Array:
        """Cost of a step of each, in targets: of works of equal hours the least amounts."""
        return SMALL * self.efforts
