"""The steps that meet the targets best where every part may be moved, with few hours and small changes.

A mixed-integer programme on the linearised figures proposes; the exact gear disposes: what is near is tried exactly,
and the gear is linearised anew where that came to stand, until nothing better is found.

For the steps n and what is held g(n) ≈ g + J n, with limits l:

    least  weight sum(e) + care sum(m) + hours · touched + small · |n|
    with   |g + J n| ≤ l + e,   |g + J n| ≤ a + m,   e, m ≥ 0,   n whole and within its limits,

the aims a being the limits less some room, and what a choice does not put first counting less.

Both sides together make a programme too large to be solved to its end, so one side at a time is free, the other as it
came out last; all at once only where targets are still out. Nothing depends on the clock.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.studies.setting.problem import WEIGHT, SettingProblem, Wish
from linkmotion.studies.setting.side import Array, Steps

_HEAVY = 1e4  # price of what is over, where all can be held
_MET = 1e-3  # of a target
_NODES = 15  # of one programme's tree
_ROUNDS, _TRIED = 3, 12  # linearised so many times; neighbours that are tried exactly at a time, at most,
_SETTLED = 60  # such moves at most: each gains, and the last gain next to nothing
_PROMISING = 1.0  # and by how much more than as it stands they may cost in the linear figures
Mask = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Linear:
    """What is held, linear in the steps: g (K,) and J (K, A)."""

    base: Array
    slope: Array

    def misses(self, steps: Steps) -> Array:
        """As :meth:`SettingProblem.misses` has it, shape (S, K)."""
        return self.base + steps @ self.slope.T


def best_steps(problem: SettingProblem, wish: Wish, start: Steps, free: Mask) -> Steps:
    """The best steps found of those that are free, the others as they start; never worse than the start.

    Parameters
    ----------
    problem, wish : SettingProblem, Wish
        What is held; what is to be best.
    start : int array, shape (A,)
        Steps of all adjustments.
    free : bool array, shape (A,)
        Which may be altered.
    """
    best = start
    if not problem.rows or not np.any(free):
        return best
    linear = linearised(problem, best, np.maximum(1, (problem.most - problem.least) // 4))
    weights = (_HEAVY, WEIGHT) if reachable(problem, linear, best, free) else (WEIGHT,)
    for weight in weights:
        for attempt in range(_ROUNDS):
            proposed = (
                [best]
                if attempt and weight == WEIGHT
                else _proposals(problem, linear, best, free, wish, weight, not attempt)
            )
            found = [settled(problem, linear, each, free, wish) for each in proposed]
            new = better(problem, np.stack([best, *found]), wish)
            if np.array_equal(new, best):
                break
            best = new
            linear = linearised(problem, best, np.ones_like(best))
        if problem.cost(best[None], wish)[0, 0] == 0:
            break
    return best


def reachable(problem: SettingProblem, linear: Linear, start: Steps, free: Mask, room: float = 1.0) -> bool:
    """Whether all could be held with parts of steps of those that are free, in the linearised figures.

    Parameters
    ----------
    problem, linear, start, free
        As for :func:`programme`.
    room : float
        Times which the limits of the adjustments are allowed.
    """
    rows = np.ones(len(problem.rows), bool)
    steps = programme(problem, linear, start, free, rows, Wish(), weight=_HEAVY, room=room, whole=False)
    over = np.maximum(np.abs(linear.misses(steps[None])) - problem.limit, 0.0) / problem.scale
    return bool(np.sum(over) < _MET)


def better(problem: SettingProblem, steps: Steps, wish: Wish) -> Steps:
    """The best of some, by the exact gear; the first of equals.

    Parameters
    ----------
    problem, wish : SettingProblem, Wish
        What is held; what is to be best.
    steps : int array, shape (S, A)
        Those to choose from.
    """
    return np.asarray(steps[best_of(problem.cost(steps, wish))])


def best_of(cost: Array) -> int:
    """Number of the best of some by grade and cost, shape (S, 2); the first of equals."""
    return int(np.lexsort((np.round(cost[:, 1], 9), cost[:, 0]))[0])


def _proposals(
    problem: SettingProblem, linear: Linear, start: Steps, free: Mask, wish: Wish, weight: float, apart: bool
) -> Iterator[Steps]:
    """What the programmes propose; with both sides, each ``apart`` to begin with, and then as beside the other.

    All at once where something is still over that need not be.
    """
    every = np.ones(len(problem.rows), bool)
    if np.any(start) and problem.cost(start[None], wish)[0, 0] == 0:
        yield start
    if len(problem.sides) == 1:
        yield programme(problem, linear, start, free, every, wish, weight)
        return
    steps = start
    if apart:
        for i, name in enumerate(side.side.side for side in problem.sides):
            own = free & np.array([each.side == name for each in problem.adjustments])
            steps = programme(problem, linear, steps, own, problem.of_side(i), wish, weight)
        yield steps
    for side in problem.sides:
        own = free & np.array([each.on(side.side.side) for each in problem.adjustments])
        steps = programme(problem, linear, steps, own, every, wish, weight)
    yield steps
    if weight == _HEAVY and problem.price(linear.misses(steps[None]), steps[None], wish)[0, 0] > 0:
        yield programme(problem, linear, start, free, every, wish, weight)


def settled(problem: SettingProblem, linear: Linear, steps: Steps, free: Mask, wish: Wish) -> Steps:
    """The best near some steps: one or two parts moved by a step, or up to three left alone, as long as it gains.

    Parameters
    ----------
    problem, linear, free, wish
        As for :func:`programme`; the linear figures say what is worth trying exactly.
    steps : int array, shape (A,)
        Where it starts.
    """
    for _ in range(_SETTLED):
        near = _neighbours(problem, steps, free)
        own = linear.misses(near) + problem.misses(steps[None]) - linear.misses(steps[None])
        cost, now = problem.price(own, near, wish), problem.cost(steps[None], wish)[0, 1]
        promising = [i for i in np.lexsort((cost[:, 1], cost[:, 0])) if cost[i, 1] < now + _PROMISING]
        likely = near[promising[:_TRIED]]
        found = better(problem, np.concatenate([steps[None], likely]), wish)
        if np.array_equal(found, steps):
            break
        steps = found
    return steps


def _neighbours(problem: SettingProblem, steps: Steps, free: Mask) -> Steps:
    unit = np.eye(steps.size, dtype=int)[free]
    moves = [sign * own for own in unit for sign in (1, -1)]
    moves += [a * one + b * two for one, two in combinations(unit, 2) for a in (1, -1) for b in (1, -1)]
    moved = np.flatnonzero((steps != 0) & free).tolist()
    moves += [-steps * np.isin(range(steps.size), some) for n in (1, 2, 3) for some in combinations(moved, n)]
    rows = steps + np.array(moves)
    return np.asarray(rows[np.all((rows >= problem.least) & (rows <= problem.most), axis=-1)])


def linearised(problem: SettingProblem, at: Steps, reach: Steps) -> Linear:
    """As seen from some steps, by differences either way of them.

    Parameters
    ----------
    problem : SettingProblem
        What is held.
    at, reach : int arrays, shape (A,)
        The steps; how far either way the differences go, within the adjustments' limits.
    """
    low, high = np.maximum(at - reach, problem.least), np.minimum(at + reach, problem.most)
    rows = [at]
    for j in range(at.size):
        for end in (low, high):
            rows.append(at.copy())
            rows[-1][j] = end[j]
    held = problem.misses(np.array(rows))
    slope = np.nan_to_num(((held[2::2] - held[1::2]) / np.maximum(high - low, 1)[:, None]).T)
    return Linear(held[0] - slope @ at, slope)


def programme(
    problem: SettingProblem,
    linear: Linear,
    start: Steps,
    free: Mask,
    rows: Mask,
    wish: Wish,
    weight: float,
    room: float = 1.0,
    whole: bool = True,
) -> Steps:
    """Best steps for some rows of those that are free, the others as they start; the start where none were found.

    Parameters
    ----------
    problem, linear : SettingProblem, Linear
        What is held, and that linear in the steps.
    start, free : arrays, shape (A,)
        Steps of all adjustments; which may be altered.
    rows : bool array, shape (R,)
        Those looked at.
    wish, weight : Wish, float
        What is to be best; the price of what is over.
    room, whole : float, bool
        Times which the limits are allowed; whether steps are whole, or parts of steps will do.
    """
    from scipy.optimize import milp

    if not np.any(free):
        return start
    held = np.where(free, 0, start)
    most, least = (np.maximum(room * end[free], 0.0) for end in (problem.most, -problem.least))
    g = (linear.base + linear.slope @ held) / problem.scale
    a, limits = linear.slope[:, free] / problem.scale[:, None], np.array([problem.limit, problem.aim]) / problem.scale
    reach = np.abs(g) + np.abs(a) @ np.maximum(most, least)
    felt = rows & (reach > limits[1]) & np.any(a != 0, axis=1)  # the others stay within their aims, or as they are
    slack = problem.weight(wish)[felt] * np.array([[weight], [problem.care]])
    price, options = _programme(problem, free, g[felt], a[felt], limits[:, felt], (most, least), slack)
    with _silenced():
        integral = np.concatenate([np.full(3 * a.shape[1], int(whole)), np.zeros(price.size - 3 * a.shape[1])])
        limits_of = {"node_limit": _NODES, "mip_rel_gap": 1e-2}
        found = milp(price, integrality=integral, options=limits_of, **options).x
    if found is None:
        return start
    steps = start.astype(int if whole else float)
    count = a.shape[1]
    moved = found[:count] - found[count : 2 * count]
    steps[free] = np.round(moved) if whole else moved
    return steps


@contextmanager
def _silenced() -> Iterator[None]:
    """Nothing on the standard output: the solver writes a line there now and then, whatever it is asked to show."""
    sys.stdout.flush()
    kept, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    try:
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


def _programme(
    problem: SettingProblem,
    free: Mask,
    g: Array,
    a: Array,
    limits: Array,
    ends: tuple[Array, Array],
    slack: Array,
) -> tuple[Array, dict[str, Any]]:
    """The programme's prices and what bounds it: steps up, steps down, parts touched, then e and m of each target."""
    from scipy.optimize import Bounds, LinearConstraint
    from scipy.sparse import csr_array

    goals, count = a.shape
    eye, none, each = np.eye(goals), np.zeros((goals, goals)), np.eye(count)
    rows, upper = [], []
    for limit, over in zip(limits, ((-eye, none), (none, -eye)), strict=True):
        for sign in (1, -1):
            rows.append(np.hstack([sign * a, -sign * a, np.zeros((goals, count)), *over]))
            upper.append(limit - sign * g)
    rows.append(np.hstack([each, each, -np.diag(np.maximum(*ends)), np.zeros((count, 2 * goals))]))
    upper.append(np.zeros(count))
    small, effort = problem.per_step[free], problem.efforts[free]
    price = np.concatenate([small, small, effort, *slack])
    return price, {
        "constraints": LinearConstraint(csr_array(np.vstack(rows)), -np.inf, np.concatenate(upper)),
        "bounds": Bounds(0.0, np.concatenate([*ends, np.ones(count), np.full(2 * goals, np.inf)])),
    }
