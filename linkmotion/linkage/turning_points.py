r"""Where periodic motions turn back, and where they are greatest: every such place, found for certain.

A series is sampled at even steps, and the circle is cut into cells, each reaching half a step h/2 to either side of its
sample. Two bounds, taken from the coefficients, tell which cells matter:

* With ``|f''| <= B = sum(k² |c[k]|)`` a turning point lies within ``B (h/2)² / 2`` of the sample of its cell
  (Taylor's theorem about the turning point, where ``f' = 0``). This is :func:`reach`. So the greatest value of all
  stands in the cell of a sample that is less than the greatest sample by no more than that, and however many turning
  points are nearly level, none is passed over.
* With ``|f'''| <= C = sum(k³ |c[k]|)`` the second derivative keeps its sign in a cell of half-width w where
  ``|f''| > C w`` in the middle: there is one turning point at most, and f' at the cell's two ends tells whether. Other
  cells are halved until that is so, or until the whole cell is level to 1e-11.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.linkage.periodic import Harmonics

Array = NDArray[Any]
_LEVEL = 1e-11  # of the signal's unit: a cell in which nothing differs by more is not cut up further
_DOUBLES = 1e-8  # radians: Newton's error after a step this small is its square
_MOST_STEPS = 80
_HELD = 4_000_000  # coefficients looked at together, 64 MB


def grid_size(signal: Harmonics) -> int:
    """Samples round the circle at which signals are looked at: four or more to the shortest wave kept, 96 at least.

    Parameters
    ----------
    signal : Harmonics
        Shape (S, K).
    """
    return int(max(96, 4 * signal.c.shape[-1]))


def reach(signal: Harmonics, count: int) -> Array:
    """How far a turning point can lie above or below the nearest of even samples, shape (S,), in the signal's unit.

    ``sum(k² |c[k]|) (h/2)² / 2`` with the step h = 2 pi / count.

    Parameters
    ----------
    signal : Harmonics
        Shape (S, K).
    count : int
        Samples round the circle.
    """
    return np.abs(signal.c) @ np.arange(signal.c.shape[-1]) ** 2 * ((np.pi / count) ** 2 / 2)


def greatest(signal: Harmonics, samples: Array | None = None) -> tuple[Array, Array]:
    """Angle (radians) and value of the greatest place of each of S signals.

    Parameters
    ----------
    signal : Harmonics
        Shape (S, K).
    samples : array, shape (S, N), optional
        Its values on the grid of :func:`grid_size`, where they are at hand.

    Examples
    --------
    >>> angle, value = greatest(Harmonics(np.array([[1.0, 0.0, -2.0]], complex)))  # 1 - 2 cos 2t
    >>> bool(abs(value[0] - 3) < 1e-14)
    True
    """
    f = signal.on_grid(grid_size(signal)) if samples is None else samples
    rows, at = np.arange(len(f)), np.argmax(f, axis=-1)
    angle, most = at * (2 * np.pi / f.shape[-1]), f[rows, at]
    row, turn = turning_points(signal, f >= (most - reach(signal, f.shape[-1]))[:, None])
    value = signal[row](turn)
    order = np.argsort(value, kind="stable")  # the last one written to a row is its greatest
    order = order[value[order] >= most[row[order]]]
    angle[row[order]], most[row[order]] = turn[order], value[order]
    return angle, most


def extremes(signal: Harmonics) -> tuple[Array, Array]:
    """Least and greatest value of each of S signals, to rounding.

    Parameters
    ----------
    signal : Harmonics
        Shape (S, K).

    Returns
    -------
    least, greatest : arrays, shape (S,)
        In the signal's unit.
    """
    f = signal.on_grid(grid_size(signal))
    return -greatest(Harmonics(-signal.c), -f)[1], greatest(signal, f)[1]


def turning_points(signal: Harmonics, near: NDArray[np.bool_]) -> tuple[NDArray[np.intp], Array]:
    """Every turning point of S signals in the cells of some samples.

    Parameters
    ----------
    signal : Harmonics
        Shape (S, K).
    near : bool array, shape (S, N)
        The samples, of N even ones from angle nought, whose cells are to be searched.

    Returns
    -------
    row : int array, shape (Z,)
        Which signal.
    angle : array, shape (Z,)
        Radians, from half a step before nought to half a step before the full turn.
    """
    row, sample = np.nonzero(near)
    parts = int(np.ceil(row.size * signal.c.shape[-1] / _HELD)) or 1
    split = (np.array_split(own, parts) for own in (row, sample))
    found = [_of_cells(signal, rows, cells, near.shape[-1]) for rows, cells in zip(*split, strict=True)]
    return np.concatenate([rows for rows, _angle in found]), np.concatenate([angle for _row, angle in found])


def _of_cells(
    signal: Harmonics, row: NDArray[np.intp], sample: NDArray[np.intp], count: int
) -> tuple[NDArray[np.intp], Array]:
    """Every turning point in some cells."""
    half = np.pi / count
    place = 2 * sample  # of a cell's middle, in its half-widths: ends that cells share are one number
    third = np.abs(signal.c) @ np.arange(signal.c.shape[-1], dtype=float) ** 3
    found: list[tuple[NDArray[np.intp], Array]] = []
    while row.size:
        own = signal[row]
        _value, rate, bend = own.jet(place * half, 2)
        most = np.abs(bend) + third[row] * half  # of |f''| in the cell
        may = np.abs(rate) <= most * half
        single = (np.abs(bend) > third[row] * half) | (most * half**2 <= _LEVEL)
        found.append(_alone(signal, row[may & single], place[may & single], half, count))
        row, place = row[may & ~single], place[may & ~single]
        row, place = np.concatenate([row, row]), np.concatenate([2 * place - 1, 2 * place + 1])
        half, count = half / 2, 2 * count
    return (
        np.concatenate([np.empty(0, np.intp), *(rows for rows, _angle in found)]),
        np.concatenate([np.empty(0), *(angle for _row, angle in found)]),
    )


def _alone(
    signal: Harmonics, row: NDArray[np.intp], place: NDArray[np.intp], half: float, count: int
) -> tuple[NDArray[np.intp], Array]:
    """The turning points of cells that have one or none."""
    own = signal[row]
    before, after = (own.jet((place + by) % (2 * count) * half, 1)[1] for by in (-1, 1))
    turns = (before > 0) != (after > 0)
    low, high = (place[turns] - 1) * half, (place[turns] + 1) * half
    ends = before[turns], after[turns]
    return row[turns], crossing(own[turns], low, high, ends, order=1)


def crossing(signal: Harmonics, low: Array, high: Array, ends: tuple[Array, Array], order: int = 0) -> Array:
    """Where each of Z signals, or its derivative of an order, passes through nothing, to about 1e-13 rad.

    Newton's method from where the straight line between the ends passes; halving where a step leaves the bracket.

    Parameters
    ----------
    signal : Harmonics
        Shape (Z, K).
    low, high : arrays, shape (Z,)
        Ends of the brackets, radians.
    ends : pair of arrays, shape (Z,)
        Values there, on either side of nothing.
    order : int
        0 for the signal itself, 1 for its derivative.

    Returns
    -------
    array, shape (Z,)
        Radians.
    """
    rising = ~(ends[0] > 0)
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.nan_to_num(ends[0] / (ends[0] - ends[1]), nan=0.5)
    found = low + np.clip(part, 0.0, 1.0) * (high - low)
    going, t = np.arange(len(found)), found.copy()
    for _ in range(_MOST_STEPS):
        value, slope = signal.jet(t, order + 1)[order:]
        before = (value > 0) != rising
        low, high = np.where(before, t, low), np.where(before, high, t)
        with np.errstate(divide="ignore", invalid="ignore"):
            new = t - value / slope
        inside = (new >= low) & (new <= high)
        new = np.where(inside, new, (low + high) / 2)
        found[going] = new
        left = ~((inside & (np.abs(new - t) < _DOUBLES)) | (high - low < 1e-14))
        if not np.any(left):
            break
        t = new
        if np.count_nonzero(left) < left.size / 2:
            signal, going = signal[left], going[left]
            t, low, high, rising = t[left], low[left], high[left], rising[left]
    return np.asarray(found)
