"""Setting advice: what to alter, by how many steps, in order of work, and what will then be read and held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from linkmotion.engine import Targets
from linkmotion.studies.event_figures import Figure
from linkmotion.studies.setting.adjustments import Adjustment
from linkmotion.studies.setting.goals import Goal
from linkmotion.studies.setting.problem import SettingProblem
from linkmotion.studies.setting.search import best_steps, linearised, reachable
from linkmotion.studies.setting.side import Array, Belief, Steps

STEPS, RANGE, GEAR = "steps", "range", "gear"
_MORE_ROOM = 5.0  # times the limits, when it is asked whether more range would do


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
    """

    adjustment: Adjustment
    steps: int
    alone: dict[str, Array]
    after: dict[str, Array]

    @property
    def amount(self) -> float:
        """By how much the part is altered, mm or degrees, signed (+ longer, ahead, higher)."""
        return self.steps * self.adjustment.step


@dataclass(frozen=True, eq=False)
class Advice:
    """What to do, and what will come of it.

    Attributes
    ----------
    works : tuple of Work
        In order of work; empty when everything is best left alone.
    figures : dict of tuple of Figure
        By side, F of them: lead and opening (mm), events (percent of stroke), travel (mm).
    before, after : dict of float arrays, shape (F,)
        By side: the figures as it stands, and with all the work done.
    goals : tuple of Goal
        The K targets looked at.
    held_before, held_after : float array, shape (K,)
        What each holds: a difference, or a figure less what is wanted; mm or percent of stroke.
    barrier : str
        Why targets are still out: "steps" (finer ones would do), "range" (more of it would do), "gear" (these
        adjustments cannot do it); "" when all are met.
    at_limit : tuple of Adjustment
        Those taken as far as they go.
    problem : SettingProblem
        What was asked: its ``adjustments``, A of them.
    stages : int array, shape (W + 1, A)
        Steps of all adjustments as it stands, and after each piece of work.
    """

    works: tuple[Work, ...]
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
        """Numbers of the targets that are out, worst first."""
        count = len(self.goals)
        over = (np.abs(held) - self.problem.limit[:count]) / self.problem.scale[:count]
        return [int(k) for k in np.argsort(-over, kind="stable") if over[k] > 1e-9]

    @property
    def met(self) -> bool:
        """Whether every target looked at is met once the work is done."""
        return not self.out(self.held_after)

    @property
    def steps(self) -> Steps:
        """Steps of all adjustments, shape (A,)."""
        return np.asarray(self.stages[-1])


def advise(beliefs: Sequence[Belief], adjustments: Sequence[Adjustment], targets: Targets) -> Advice:
    """Find the steps that meet the targets best, with few and small changes.

    Parameters
    ----------
    beliefs : sequence of Belief
        One side or both, as they are believed to stand; their valves are left where they are.
    adjustments : sequence of Adjustment
        What can be altered.
    targets : Targets
        What is to be held.
    """
    problem = SettingProblem(beliefs, adjustments, targets)
    steps = best_steps(problem)
    works, stages = _works(problem, steps)
    values = {side.side.side: side.values(stages[[0, -1]]) for side in problem.sides}
    held = problem.misses(stages[[0, -1]])[:, : len(problem.goals)]
    ends = (steps == problem.most) & (steps > 0) | (steps == problem.least) & (steps < 0)
    return Advice(
        works=works,
        stages=stages,
        figures={side.side.side: side.figures for side in problem.sides},
        before={name: own[0] for name, own in values.items()},
        after={name: own[1] for name, own in values.items()},
        goals=problem.goals,
        held_before=held[0],
        held_after=held[1],
        barrier=_barrier(problem, steps),
        at_limit=tuple(each for each, there in zip(problem.adjustments, ends, strict=True) if there),
        problem=problem,
    )


def _works(problem: SettingProblem, steps: Steps) -> tuple[tuple[Work, ...], Steps]:
    """The work in order, and the steps of all adjustments before it and after each piece."""
    order = np.flatnonzero(steps)
    alone = np.diag(steps)[order].reshape(-1, steps.size)
    stages = np.concatenate([problem.nothing[None], np.cumsum(alone, axis=0)])
    works: list[Work] = []
    values = {side.side.side: (side.values(alone), side.values(stages)) for side in problem.sides if len(order)}
    for i, j in enumerate(order):
        own = {name: single[i] - every[0] for name, (single, every) in values.items()}
        after = {name: every[i + 1] for name, (_single, every) in values.items()}
        works.append(Work(problem.adjustments[j], int(steps[j]), own, after))
    return tuple(works), stages


def _barrier(problem: SettingProblem, steps: Steps) -> str:
    """What stands in the way of the targets that are still out."""
    if not problem.goals or problem.cost(steps[None])[0, 0] == 0:
        return ""
    if not problem.adjustments:
        return GEAR
    linear = linearised(problem, steps, np.ones_like(steps))
    for told, room in ((STEPS, 1.0), (RANGE, _MORE_ROOM)):
        if reachable(problem, linear, steps, room):
            return told
    return GEAR
