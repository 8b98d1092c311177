"""The choices between which a user has: equal leads, equal cutoffs, least work; each worked out.

What is known to be off its drawing is put back first, as long as no more targets are out for it than were; then the
valves are trimmed on their spindles, every place of them looked at. Nothing else is moved, unless the parts that stand
at their figures may be too.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray

from linkmotion.engine import Targets
from linkmotion.studies.setting.adjustments import Adjustment
from linkmotion.studies.setting.advice import Advice, worked_out
from linkmotion.studies.setting.known import PutBack, Repair, put_back, repairs
from linkmotion.studies.setting.problem import THRIFT, SettingProblem, Wish
from linkmotion.studies.setting.search import best_of, best_steps, linearised, settled
from linkmotion.studies.setting.side import Array, SideEstimate, Steps

LEADS, CUTOFFS, LEAST = CHOICES = ("equal leads", "equal cutoffs", "least work")
_WISHES = {LEADS: Wish("lead"), CUTOFFS: Wish("cutoff")}
_EVERY = 5  # parts to put back of which every selection is looked at; of more, only those with one or two left out
_MOST = 30_000  # settings looked at together: with more, the valves' places are thinned, and looked at closely at last


@dataclass(frozen=True, eq=False)
class Choices:
    """What may be done, and what must be mended otherwise.

    Attributes
    ----------
    every : tuple of Advice
        Those that differ, each with the names of the choices that it is.
    default : str
        Name of the one that is taken unless the user says: the fewest targets out, of equals the drawing's own rule.
    repairs : tuple of Repair
        What no adjustment puts back.
    moving_sound_parts : bool
        Whether parts at their figures may be moved, as the user asked.
    """

    every: tuple[Advice, ...]
    default: str
    repairs: tuple[Repair, ...]
    moving_sound_parts: bool

    def __getitem__(self, name: str) -> Advice:
        """A choice by its name."""
        return next(advice for advice in self.every if name in advice.names)

    @property
    def taken(self) -> Advice:
        """The default."""
        return self[self.default]


def advise(
    estimates: Sequence[SideEstimate],
    adjustments: Sequence[Adjustment],
    targets: Targets,
    *,
    move_sound_parts: bool = False,
) -> Choices:
    """Find what to put back and how to trim the rest.

    Parameters
    ----------
    estimates : sequence of SideEstimate
        One side or both, as they are believed to stand; their valves are left where they are.
    adjustments : sequence of Adjustment
        What can be altered; of a side whose readings do not fit only the valve on its spindle.
    targets : Targets
        What is to be held.
    move_sound_parts : bool
        Whether parts that stand at their figures may be moved to make up for others.
    """
    unfit = [estimate.side.side for estimate in estimates if not estimate.fits]
    allowed = [each for each in adjustments if each.trims or not any(each.on(side) for side in unfit)]
    problem = SettingProblem(estimates, allowed, targets)
    backs = put_back(problem)
    found = (_with_sound_parts if move_sound_parts else _with_known_parts)(problem, backs)
    names: dict[bytes, list[str]] = {}
    for name, steps in found.items():
        names.setdefault(steps.tobytes(), []).append(name)
    free = np.array([move_sound_parts or each.trims for each in problem.adjustments], bool)
    every = tuple(worked_out(problem, found[own[0]], tuple(own), backs, free) for own in names.values())
    return Choices(every, _default(problem, found), repairs(problem), move_sound_parts)


def _default(problem: SettingProblem, found: dict[str, Steps]) -> str:
    rule = next((each.valve_rule for each in problem.estimates if each.valve_rule), "")
    order = (CUTOFFS, LEADS) if rule == "equal cutoff" else (LEADS, CUTOFFS)
    out = problem.out(problem.misses(np.array([found[name] for name in order])))
    return order[int(np.argmin(out))]


# ---- what is known is put back, and the valves are trimmed ----------------------------------------------------------


def _with_known_parts(problem: SettingProblem, backs: tuple[PutBack, ...]) -> dict[str, Steps]:
    bases, left_out = _bases(problem, backs)
    stride = _stride(problem, len(bases))
    rows = np.concatenate([base + _trims(problem, stride) for base in bases])
    of_base = np.repeat(np.arange(len(bases)), len(rows) // len(bases))
    missed = problem.misses(rows)
    found = {}
    for name, wish in _WISHES.items():
        cost = problem.price(missed, rows, wish)
        base = _base(problem, bases, left_out, of_base, cost)
        own = np.flatnonzero(of_base == base)
        found[name] = _closely(problem, bases[base], rows[own[best_of(cost[own])]], stride, wish)
    fewest = int(np.min(problem.out(problem.misses(np.array(list(found.values()))))))
    wish = Wish(within=fewest, thrift=THRIFT)
    least = rows[best_of(problem.price(missed, rows, wish))]
    every = np.array([least, *found.values()])
    return found | {LEAST: every[best_of(problem.cost(every, wish))]}


def _bases(problem: SettingProblem, backs: tuple[PutBack, ...]) -> tuple[Steps, NDArray[np.int_]]:
    """Steps of every selection of what can be put back, fewest left out first, and how many each leaves out."""
    count = len(backs)
    sizes = range(count + 1) if count <= _EVERY else (0, 1, 2, count)
    rows, left = [], []
    for size in sizes:
        for out in combinations(range(count), size):
            rows.append(problem.nothing)
            left.append(size)
            for own in (own for i, own in enumerate(backs) if i not in out):
                rows[-1][own.number] = own.steps
    return np.array(rows), np.array(left)


def _base(
    problem: SettingProblem, bases: Steps, left_out: NDArray[np.int_], of_base: NDArray[np.int_], cost: Array
) -> int:
    """The selection that leaves out fewest without more targets out than before; of equals the best."""
    for size in np.unique(left_out):
        own = np.flatnonzero(np.isin(of_base, np.flatnonzero(left_out == size)))
        best = own[best_of(cost[own])]
        if cost[best, 0] < 2:
            return int(of_base[best])
    raise AssertionError("to leave everything as it is puts no more targets out")


def _closely(problem: SettingProblem, base: Steps, steps: Steps, stride: int, wish: Wish) -> Steps:
    """The best trim of a selection: none where nothing is out without, else the best near the best found."""
    if problem.all_met(base):
        return base
    if stride == 1:
        return steps
    near = steps + _trims(problem, 1, stride)
    near = near[np.all((near >= problem.least) & (near <= problem.most), axis=1)]
    return np.asarray(near[best_of(problem.cost(near, wish))])


def _stride(problem: SettingProblem, bases: int) -> int:
    """Steps between the places of the valves that are looked at, so that they are not too many."""
    stride = 1
    while bases * len(_trims(problem, stride)) > _MOST:
        stride += 1
    return stride


def _trims(problem: SettingProblem, stride: int, reach: int | None = None) -> Steps:
    """Every place of the valves on their spindles, or those as near as ``reach``; nothing altered else."""

    def places() -> Iterator[list[int]]:
        for each in problem.adjustments:
            low, high = (each.least, each.most) if reach is None else (-reach, reach)
            own = [*range(0, low - 1, -stride), *range(stride, high + 1, stride)] if each.trims else [0]
            yield own

    return np.array(list(product(*places())), int).reshape(-1, len(problem.adjustments))


# ---- every part may be moved, as the user asked ---------------------------------------------------------------------


def _with_sound_parts(problem: SettingProblem, backs: tuple[PutBack, ...]) -> dict[str, Steps]:
    """From what is put back, which stays so, with the other parts moved as targets that are still out ask for it."""
    known = _with_known_parts(problem, backs)
    every = np.ones(len(problem.adjustments), bool)
    found: dict[str, Steps] = {}
    for name, wish in _WISHES.items():
        met = next((own for own in (*found.values(), known[name]) if problem.all_met(own)), None)
        back = np.isin(range(every.size), [own.number for own in backs if known[name][own.number]])
        found[name] = best_steps(problem, wish, known[name], ~back) if met is None else met
    starts = np.array([*found.values(), known[LEAST]])
    wish = Wish(within=int(np.min(problem.out(problem.misses(starts[:-1])))), thrift=THRIFT)
    start = starts[best_of(problem.cost(starts, wish))]
    return found | {LEAST: settled(problem, linearised(problem, start, np.ones_like(start)), start, every, wish)}
