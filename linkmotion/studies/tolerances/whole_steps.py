r"""The whole steps, within their limits, that bring what is held nearest to what it should be; for many gears at once.

With what is held out by w, a step of each adjustment worth the columns of K, and G = K'K (with a little added to each
step's own, so that of settings that do alike the one of less work is taken), the steps n sought make

    n' G n + 2 p' n,   p = K' w,

least. The best parts of steps are -G⁻¹ p. They are rounded one after another, each making up for what rounding those
before it has left; then one step or a pair of them is moved by as many steps as gain most, until nothing gains.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
_SWEEPS = 30
_HALF = 0.5 + 1e-9  # of a step: at just half nothing is gained


def whole_steps(gram: Array, pull: Array, least: Array, most: Array) -> Array:
    """Steps of S gears.

    Parameters
    ----------
    gram : float array, shape (A, A)
        G.
    pull : float array, shape (S, A)
        p of each gear.
    least, most : float array, shape (A,)
        Limits, whole numbers.

    Returns
    -------
    float array, shape (S, A)
        Whole numbers.

    Examples
    --------
    Two works that do the same: 2.6 steps are wanted, the first can go but one.

    >>> same = np.ones((2, 2)) + 0.001 * np.eye(2)
    >>> whole_steps(same, np.array([[-2.6, -2.6]]), np.array([-1.0, -9.0]), np.array([1.0, 9.0]))
    array([[1., 2.]])
    """
    steps = _rounded(gram, pull, least, most)
    rest, moves = steps @ gram + pull, list(_moves(len(gram)))
    for _ in range(_SWEEPS):
        before = steps.copy()
        for move in moves:
            _moved(steps, rest, move, gram @ move, least, most)
        if np.array_equal(before, steps):
            break
    return steps


def _rounded(gram: Array, pull: Array, least: Array, most: Array) -> Array:
    root, best = np.linalg.cholesky(gram).T, -np.linalg.solve(gram, pull.T).T
    steps, off = np.zeros_like(best), np.zeros_like(best)
    for j in reversed(range(len(gram))):
        wanted = best[:, j] - off[:, j + 1 :] @ (root[j, j + 1 :] / root[j, j])
        steps[:, j] = np.clip(np.round(wanted), least[j], most[j])
        off[:, j] = steps[:, j] - best[:, j]
    return steps


def _moves(count: int) -> Iterator[Array]:
    unit = np.eye(count)
    yield from unit
    for one, two in combinations(unit, 2):
        yield one + two
        yield one - two


def _moved(steps: Array, rest: Array, move: Array, felt: Array, least: Array, most: Array) -> None:
    """Move every gear along ``move`` by what gains most, in place; ``rest`` is half the gradient, ``felt`` G move."""
    own = np.flatnonzero(move)
    by = -(rest @ move) / (move @ felt)
    rows = np.flatnonzero(np.abs(by) > _HALF)
    if not rows.size:
        return
    ends = [np.stack([least[j] - steps[rows, j], most[j] - steps[rows, j]]) * move[j] for j in own]
    low, high = np.max([np.min(end, axis=0) for end in ends], axis=0), np.min([np.max(end, axis=0) for end in ends], 0)
    by = np.clip(np.round(by[rows]), low, high)
    steps[np.ix_(rows, own)] += by[:, None] * move[own]
    rest[rows] += by[:, None] * felt
