"""A smooth curve through readings that overshoots none of them.

Cubics between the readings, whose slopes there are the harmonic means of the slopes of the straight lines on either
side, weighted by their lengths, or nothing where those differ in sign (F. N. Fritsch and J. Butland, SIAM Journal on
Scientific and Statistical Computing 5 (1984) 300-304, cited from memory); at the ends the parabola's slope through
three readings, held within what overshoots nothing. Written out because scipy.interpolate, which has the same
curve, takes some 0.3 s to load, a quarter of what the page may take; ``tests/test_smooth.py`` holds the two together.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def through(at: Array, value: Array, place: Any) -> Any:
    """The curve through N readings at a place.

    Parameters
    ----------
    at, value : float arrays, shape (N,)
        Where, increasing, and what was read: two readings or more.
    place : array
        Anywhere; beyond the readings the curve stays at the last of them.
    """
    step = np.diff(at)
    line = np.diff(value) / step
    slope = _slopes(step, line)
    place = np.clip(place, at[0], at[-1])
    k = np.clip(np.searchsorted(at, place, side="right") - 1, 0, len(step) - 1)
    u, h = place - at[k], step[k]
    bend = (3 * line[k] - 2 * slope[k] - slope[k + 1]) / h
    twist = (slope[k] + slope[k + 1] - 2 * line[k]) / h**2
    return value[k] + u * (slope[k] + u * (bend + u * twist))


def _slopes(step: Array, line: Array) -> Array:
    """Slopes at the readings from the steps between them and the slopes of the straight lines."""
    if len(step) == 1:
        return np.repeat(line, 2)
    before, after = line[:-1], line[1:]
    near, far = step[:-1] + 2 * step[1:], 2 * step[:-1] + step[1:]
    same = before * after > 0
    part = near / np.where(same, before, 1.0) + far / np.where(same, after, 1.0)
    within = np.where(same, (near + far) / part, 0.0)
    ends = [_end(*own) for own in ((step[0], step[1], line[0], line[1]), (step[-1], step[-2], line[-1], line[-2]))]
    return np.array([ends[0], *within, ends[1]])


def _end(step: float, next_step: float, line: float, next_line: float) -> float:
    slope = ((2 * step + next_step) * line - step * next_line) / (step + next_step)
    if slope * line <= 0:
        return 0.0
    if line * next_line < 0 and abs(slope) > 3 * abs(line):
        return 3 * line
    return slope
