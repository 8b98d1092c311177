"""A die block of its own length in a slot worn unevenly: how far ahead and behind its pin can stand.

The slot is laid out straight along its centre line. With the block's middle at a place of it, moved ahead by u and
tilted by t, its edges are straight lines of its length; the front one may nowhere be ahead of the front face, the
back one nowhere behind the back face:

    u + t d <= front(d),     -u - t d <= back(d),     -length / 2 <= d <= length / 2,

front and back being the losses of the faces and half the block's own clearance each. The greatest u is a linear
programme in u and t: the block lies on the front face abreast of its pin, or across a hollow of it, or is locked as a
lever between the front face near the pin and the back face further out. The rearmost place is the same with the
faces exchanged.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Profile = Callable[[Any], Any]
_EDGE = 0.1  # mm between the places at which an edge of the block is looked at ...
_MOST = 400  # ... and how many there are in half of it at most
_COARSE, _HALVINGS = 1.6, 6  # mm between places of the slot looked at first, and how often that is halved ...
_NEAR = 5e-4  # mm: ... where a straight line between two of them misses the one midway
_ENOUGH = 1e-9  # mm: what a better tilt may still bring
_TRIALS = 100  # tilts tried


def pin_reach(front: Profile, back: Profile, length: float, span: tuple[float, float]) -> tuple[Profile, Profile]:
    """How far ahead, and how far behind (a negative figure), the pin of a block can stand at any place of the slot.

    Parameters
    ----------
    front, back : callable
        Room for the block's front and back edge from where they are with the block in its middle, mm, at places along
        the slot; neither below zero.
    length : float
        Of the block along the slot, its pin in the middle, mm.
    span : (low, high)
        Places beyond which both faces are level, mm.

    Returns
    -------
    tuple of callables
        Foremost and rearmost place of the pin, mm, at places along the slot.

    Examples
    --------
    >>> hollow = lambda at: 0.3 * (np.abs(at) < 5)  # a block of 40 mm lies across it
    >>> ahead, behind = pin_reach(hollow, lambda at: 0.0 * at, 40.0, (-5.0, 5.0))
    >>> abs(round(float(ahead(0.0)), 9)), abs(round(float(behind(0.0)), 9))
    (0.0, 0.0)
    """
    half = int(np.clip(np.ceil(length / 2 / _EDGE), 1, _MOST))
    edge = length / 2 * np.arange(-half, half + 1) / half
    low, high = span[0] - length / 2, span[1] + length / 2

    def curve(ahead: Profile, behind: Profile, sign: int) -> Profile:
        def reach(places: Floats) -> Floats:
            at = places[:, None] + edge
            return sign * _foremost(np.asarray(ahead(at), float), np.asarray(behind(at), float), edge)

        return _between(reach, low, high)

    return curve(front, back, 1), curve(back, front, -1)


def _between(reach: Callable[[Floats], Floats], low: float, high: float) -> Profile:
    """A curve through places chosen so close that a straight line between two would do; level beyond the last."""
    from scipy.interpolate import PchipInterpolator

    places = np.linspace(low, high, max(int(np.ceil((high - low) / _COARSE)), 1) + 1)
    values, left = reach(places), np.arange(len(places) - 1)  # intervals to be halved, by their left ends
    for _ in range(_HALVINGS):
        middle = (places[left] + places[left + 1]) / 2
        found = reach(middle)
        off = np.abs(found - (values[left] + values[left + 1]) / 2) > _NEAR
        places, values = np.insert(places, left + 1, middle), np.insert(values, left + 1, found)
        own = (left + np.arange(len(left)))[off]
        left = np.sort(np.concatenate([own, own + 1]))
        if not left.size:
            break
    fitted: Any = PchipInterpolator(places, values)
    return lambda place: fitted(np.clip(place, low, high))


def _foremost(ahead: Floats, behind: Floats, edge: Floats) -> Floats:
    """Foremost place of the block's middle, from the room ahead and behind its edges: shapes (P, D) → (P,).

    For a tilt it is the least of ``ahead - tilt · edge``; where the back edge is then in the metal that counts against
    it more than it can gain by it. Of the tilt this is a hill of straight lines: the next one tried is where the lines
    at the last two on either side of the top meet, until their crossing is no higher than what was found.
    """
    steepest = 2.0 * len(edge)

    def at(tilt: Floats, rows: Any) -> tuple[Floats, Floats]:
        fore, rear = ahead[rows] - tilt[:, None] * edge, behind[rows] + tilt[:, None] * edge
        i, j, own = fore.argmin(axis=1), rear.argmin(axis=1), np.arange(len(tilt))
        value, room = fore[own, i], fore[own, i] + rear[own, j]
        foul = np.where(room < 0.0, steepest, 0.0)
        return value + foul * room, -edge[i] + foul * (edge[j] - edge[i])

    most = ahead.max(axis=1) / edge[-1] + 1e-6  # tilted more than this an end is in the metal with the pin not ahead
    every = np.arange(len(ahead))
    low, high = -most, most
    (low_value, low_slope), (high_value, high_slope) = at(low, every), at(high, every)
    best = np.maximum(low_value, high_value)
    rows = every[(low_slope > 0) & (high_slope < 0)]
    for _ in range(_TRIALS):
        if not rows.size:
            break
        tilt = (high_value - high_slope * high - low_value + low_slope * low)[rows] / (low_slope - high_slope)[rows]
        crossing = low_value[rows] + low_slope[rows] * (tilt - low[rows])
        value, slope = at(tilt, rows)
        best[rows] = np.maximum(best[rows], value)
        up = slope > 0
        for side, ends in ((up, (low, low_value, low_slope)), (~up, (high, high_value, high_slope))):
            for held, new in zip(ends, (tilt, value, slope), strict=True):
                held[rows[side]] = new[side]
        rows = rows[(crossing - value > _ENOUGH) & (slope != 0)]
    return best
