"""Where periodic signals pass the line, found exactly.

Between two neighbouring turning points of a Fourier series there is one zero or none: samples bracket the zeros,
turning points near the line are found first (a signal that just fails to reach it, or passes it twice between two
samples), and every zero is polished by Newton's method kept inside its bracket.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.linkage.periodic import Harmonics
from linkmotion.linkage.turning_points import crossing, grid_size, reach, turning_points

TOUCH = 1e-6  # mm: a turning point this near the line is told as touching
_TURN = 2 * np.pi
_SAME = 1e-12  # radians


@dataclass(frozen=True)
class Zeros:
    """Zeros of S signals.

    Attributes
    ----------
    row : int array, shape (Z,)
        Which signal.
    angle : float array, shape (Z,)
        Radians in [0, 2 pi), increasing within a row.
    rising : bool array, shape (Z,)
        True where the signal goes from below zero to above it.
    touching : tuple of (row, angle)
        Turning points within TOUCH of zero (not counted as zeros).
    positive : bool array, shape (S,)
        Whether the signal is above zero where it is farthest from it (tells 'always' from 'never').
    """

    row: NDArray[np.intp]
    angle: NDArray[np.float64]
    rising: NDArray[np.bool_]
    touching: tuple[tuple[int, float], ...]
    positive: NDArray[np.bool_]

    def reversed(self) -> Zeros:
        """Zeros of the same signals run the other way."""
        angle = _on_the_circle(-self.angle)
        order = np.lexsort((angle, self.row))
        touching = tuple(sorted((row, -angle % _TURN) for row, angle in self.touching))
        return Zeros(self.row[order], angle[order], ~self.rising[order], touching, self.positive)


def zeros(signal: Harmonics) -> Zeros:
    """All zeros of S signals, polished to about 1e-12 rad.

    A turning point within TOUCH of zero is told as touching, and makes no zeros. Between two neighbours among the
    samples and the turning points near the line a signal passes it once, or not at all.

    Parameters
    ----------
    signal : Harmonics
        Shape (S, K), mm.

    Examples
    --------
    >>> found = zeros(Harmonics(np.array([[1.0, 0.0, -2.0]], complex)))  # 1 - 2 cos 2t
    >>> print(np.degrees(found.angle).round(9), found.rising)
    [ 30. 150. 210. 330.] [ True False  True False]
    """
    f = signal.on_grid(grid_size(signal))
    near = np.abs(f) <= reach(signal, f.shape[-1])[:, None] + TOUCH
    turn_row, turn = turning_points(signal, near)
    value = signal[turn_row](turn)
    touches = np.abs(value) <= TOUCH
    apart = np.zeros(len(f), bool)  # rows with turning points among their samples, or with samples on the line itself
    apart[turn_row] = True
    apart |= np.any(near & (np.abs(f) <= TOUCH), axis=-1)
    brackets = _between_samples(f, ~apart), _between_nodes(f, apart, turn_row, turn, value)
    row, low, high, before, after = (np.concatenate(pair) for pair in zip(*brackets, strict=True))
    angle = _on_the_circle(crossing(signal[row], low, high, (before, after)))
    order = np.lexsort((angle, row))
    touching = zip(turn_row[touches].tolist(), (turn[touches] % _TURN).tolist(), strict=True)
    positive = np.max(f, axis=-1) > -np.min(f, axis=-1)
    return Zeros(row[order], angle[order], (after > before)[order], tuple(sorted(touching)), positive)


def _on_the_circle(angle: NDArray[Any]) -> NDArray[Any]:
    """Angles in [0, 2 pi); a hair before the full turn is the start of it."""
    angle = angle % _TURN
    angle[_TURN - angle < _SAME] = 0.0
    return angle


_Brackets = tuple[NDArray[np.intp], NDArray[Any], NDArray[Any], NDArray[Any], NDArray[Any]]
"""Row, both ends, and the values at the ends."""


def _between_samples(f: NDArray[Any], wanted: NDArray[np.bool_]) -> _Brackets:
    """Brackets of the zeros of some rows from their samples alone."""
    over = f > 0
    changes = np.empty(f.shape, bool)
    np.not_equal(over[:, 1:], over[:, :-1], out=changes[:, :-1])
    np.not_equal(over[:, 0], over[:, -1], out=changes[:, -1])
    row, at = np.nonzero(changes & wanted[:, None])
    step = _TURN / f.shape[-1]
    return row, at * step, (at + 1) * step, f[row, at], f[row, (at + 1) % f.shape[-1]]


def _between_nodes(
    f: NDArray[Any], wanted: NDArray[np.bool_], turn_row: NDArray[np.intp], turn: NDArray[Any], value: NDArray[Any]
) -> _Brackets:
    """The same from samples and turning points together, those within TOUCH of the line left out."""
    rows = np.flatnonzero(wanted)
    row = np.concatenate([np.repeat(rows, f.shape[-1]), turn_row])
    angle = np.concatenate([np.tile(np.arange(f.shape[-1]) * (_TURN / f.shape[-1]), len(rows)), turn % _TURN])
    value = np.concatenate([f[rows].ravel(), value])
    kept = np.lexsort((angle, row))
    kept = kept[np.abs(value[kept]) > TOUCH]
    row, angle, value = row[kept], angle[kept], value[kept]
    last = np.append(row[1:] != row[:-1], True)[: len(row)]
    after = np.arange(len(row)) + 1
    after[last] = np.searchsorted(row, row[last])  # round the circle to the row's first
    at = np.flatnonzero((value > 0) != (value[after] > 0))
    after = after[at]
    return row[at], angle[at], angle[after] + _TURN * last[at], value[at], value[after]
