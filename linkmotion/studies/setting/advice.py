"""Setting advice worked out: what to alter, by how many steps, in order of work, and what will then be held."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from linkmotion.studies.figures.figure import Figure
from linkmotion.studies.setting.adjustments import Adjustment
from linkmotion.studies.setting.goals import Goal
from linkmotion.studies.setting.known import PutBack
from linkmotion.studies.setting.problem import SettingProblem
from linkmotion.studies.setting.search import linearised, reachable
from linkmotion.studies.setting.side import Array, Off, Steps

STEPS, RANGE, SOUND_PARTS, GEAR = "steps", "range", "sound parts", "gear"
_MORE_ROOM = 5.0  # times the limits, when it is asked whether more range would do
_APART = 7  # pieces of work of which every choice is looked at; of more, only those with up to three left out


@dataclass(frozen=True, eq=False)
class Work:
    """One piece of work.

    Attributes
    ----------
    adjustment : Adjustment
        What is altered.
    steps : int
        By how many of its steps, signed.
    alone, after : dict of float arrays, shape (F,)
        By side: change of the figures by it alone, and the figures once it is done after those before it.
    if_need_be : bool
        Whether all that it mends is less than the readings can see: to be done only if a target is still out when
        everything before it is done and read again.
    undoes : Off or None
        What it puts back to its drawing; None where it trims.
    """

    adjustment: Adjustment
    steps: int
    alone: dict[str, Array]
    after: dict[str, Array]
    if_need_be: bool = False
    undoes: Off | None = None

    @property
    def amount(self) -> float:
        """By how much the part is altered, mm or degrees, signed (+ longer, ahead, higher)."""
        return self.steps * self.adjustment.step


@dataclass(frozen=True, eq=False)
class Advice:
    """One choice: what to do, and what will come of it.

    Attributes
    ----------
    names : tuple of str
        The choices that it is.
    works : tuple of Work
        In order of work, what is to be done only if need be after the rest; empty when everything is best left alone.
    not_put_back : tuple of PutBack
        What could be put back, and is left as it stands by this choice.
    figures : dict of tuple of Figure
        By side, F of them: lead and opening (mm), events (percent of stroke), travel (mm).
    before, after : dict of float arrays, shape (F,)
        By side: the figures as it stands, and with all the work done.
    goals : tuple of Goal
        The K targets looked at.
    held_before, held_after : float array, shape (K,)
        What each holds: a difference, or a figure less what is wanted; mm or percent of stroke.
    barrier : str
        Why targets are still out: "steps" (finer ones would do), "range" (more of it would do), "sound parts" (it would
        do to move parts that stand at their figures), "gear" (these adjustments cannot do it); "" when all are met.
    at_limit : tuple of Adjustment
        Those taken as far as they go.
    problem : SettingProblem
        What was asked: its ``adjustments``, A of them.
    stages : int array, shape (W + 1, A)
        Steps of all adjustments as it stands, and after each piece of work.
    """

    names: tuple[str, ...]
    works: tuple[Work, ...]
    not_put_back: tuple[PutBack, ...]
    figures: dict[str, tuple[Figure, ...]]
    before: dict[str, Array]
    after: dict[str, Array]
    goals: tuple[Goal, ...]
    held_before: Array
    held_after: Array
    barrier: str
    at_limit: tuple[Adjustment, ...]
    problem: SettingProblem
    stages: Steps

    def out(self, held: Array) -> list[int]:
        """Numbers of the targets that are out, worst first.

        Parameters
        ----------
        held : array, shape (K,)
            ``held_before``, ``held_after`` or the like: mm or percent of stroke; NaN counts as out.
        """
        count = len(self.goals)
        over = np.nan_to_num((np.abs(held) - self.problem.limit[:count]) / self.problem.scale[:count], nan=np.inf)
        return [int(k) for k in np.argsort(-over, kind="stable") if over[k] > self.problem.over[k]]

    @property
    def newly_out(self) -> list[int]:
        """Numbers of the targets that are out by the work alone: others are mended for them."""
        before = set(self.out(self.held_before))
        return [k for k in self.out(self.held_after) if k not in before]

    @property
    def met(self) -> bool:
        """Whether every target looked at is met once the work is done."""
        return not self.out(self.held_after)

    @property
    def steps(self) -> Steps:
        """Steps of all adjustments, shape (A,)."""
        return np.asarray(self.stages[-1])

    @property
    def hours(self) -> float:
        """What all the work costs."""
        return float(sum(work.adjustment.hours for work in self.works))


def worked_out(
    problem: SettingProblem, steps: Steps, names: tuple[str, ...], backs: tuple[PutBack, ...], free: NDArray[np.bool_]
) -> Advice:
    """What some steps come to.

    Parameters
    ----------
    problem : SettingProblem
        With A adjustments.
    steps : int array, shape (A,)
        Of each.
    names : tuple of str
        The choices that it is.
    backs : tuple of PutBack
        What can be put back.
    free : bool array, shape (A,)
        What can be moved besides.
    """
    undone = {own.number: own.off for own in backs if steps[own.number] == own.steps}
    works, stages = _works(problem, steps, undone)
    values = {side.side.side: side.values(stages[[0, -1]]) for side in problem.sides}
    held = problem.misses(stages[[0, -1]])[:, : len(problem.goals)]
    ends = (steps == problem.most) & (steps > 0) | (steps == problem.least) & (steps < 0)
    return Advice(
        names=names,
        works=works,
        not_put_back=tuple(own for own in backs if not steps[own.number]),
        stages=stages,
        figures={side.side.side: side.figures for side in problem.sides},
        before={name: own[0] for name, own in values.items()},
        after={name: own[1] for name, own in values.items()},
        goals=problem.goals,
        held_before=held[0],
        held_after=held[1],
        barrier=_barrier(problem, steps, free, ~np.isin(range(steps.size), list(undone))),
        at_limit=tuple(each for each, there in zip(problem.adjustments, ends, strict=True) if there),
        problem=problem,
    )


def _works(problem: SettingProblem, steps: Steps, undone: dict[int, Off]) -> tuple[tuple[Work, ...], Steps]:
    """The work in order, and the steps of all adjustments before it and after each piece.

    What is put back comes first, then what trims, each in the order in which it upsets what comes after.
    """
    back = np.isin(range(steps.size), list(undone))
    later = _not_seen(problem, steps, ~back)
    order = np.concatenate([np.flatnonzero(steps * own) for own in (back, ~back & ~later, later)])
    alone = np.diag(steps)[order]
    stages = np.concatenate([problem.nothing[None], np.cumsum(alone, axis=0)])
    works: list[Work] = []
    values = {side.side.side: (side.values(alone), side.values(stages)) for side in problem.sides if len(order)}
    for i, j in enumerate(order.tolist()):
        own = {name: single[i] - every[0] for name, (single, every) in values.items()}
        after = {name: every[i + 1] for name, (_single, every) in values.items()}
        works.append(Work(problem.adjustments[j], int(steps[j]), own, after, bool(later[j]), undone.get(j)))
    return tuple(works), stages


def _not_seen(problem: SettingProblem, steps: Steps, trims: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which trims can wait: without them nothing is over its limit by more than its doubt, shape (A,).

    Of the choices for which that is so, the one that leaves least work to be done at once.
    """
    moved = np.flatnonzero((steps != 0) & trims)
    if not np.any(problem.doubt > 0):
        return np.zeros(steps.size, bool)
    sizes = range(moved.size + 1 if moved.size <= _APART else min(moved.size, 3) + 1)
    left_out = np.array([np.isin(range(steps.size), some) for n in sizes for some in combinations(moved.tolist(), n)])
    held = np.abs(problem.misses(np.where(left_out, 0, steps)))
    bearable = np.all(held <= np.maximum(problem.limit + 2 * problem.doubt, held[0]) + 1e-9, axis=1)
    at_once = (~left_out & (steps != 0)) @ problem.hours
    return np.asarray(left_out[np.argmin(np.where(bearable, at_once, np.inf))])


def _barrier(problem: SettingProblem, steps: Steps, free: NDArray[np.bool_], others: NDArray[np.bool_]) -> str:
    """What stands in the way of the targets that are told as out; ``others`` are all that are not put back."""
    if not problem.goals or problem.out(problem.misses(steps[None]), problem.over)[0] == 0:
        return ""
    if not problem.adjustments:
        return GEAR
    linear = linearised(problem, steps, np.ones_like(steps))
    ways = [(STEPS, free, 1.0), (RANGE, free, _MORE_ROOM)]
    if np.any(others & ~free):
        ways.append((SOUND_PARTS, others, 1.0))
    return next((told for told, own, room in ways if reachable(problem, linear, steps, own, room)), GEAR)
