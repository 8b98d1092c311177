"""Radius of an arc: by chord and rise, by three points, and fitted to many."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.measuring.taken import NORMAL, Part, Source, Taken

Number = Any  # Fraction, float or complex
Floats = NDArray[np.float64]
_FLATTEST = 1e-6  # rise by chord: less is a straight line, whatever the gauge
_FARTHEST = 1e6  # centre or radius by the points' own spread
_MOST_STEPS = 50


class NoArc(ValueError):
    """Points through which no arc can be laid; says why."""


def by_chord_and_rise(chord: Number, rise: Number) -> Number:
    """Radius of an arc, c²/8h + h/2.

    >>> by_chord_and_rise(36.0, 1.25)  # 36 in, 1 1/4 in
    130.225
    """
    return chord * chord / (8 * rise) + rise / 2


@dataclass(frozen=True)
class FittedArc:
    """An arc through points, each as near to it square to it as can be.

    Attributes
    ----------
    centre : (float, float)
    radius : float
    spread : float
        Standard uncertainty of the radius for points that each are uncertain by one.
    misfit : float
        Root mean square of what the arc leaves, by the degrees of freedom left; 0 where none is.
    freedom : int
        Points more than three.
    """

    centre: tuple[float, float]
    radius: float
    spread: float
    misfit: float
    freedom: int


def arc_through(points: Sequence[tuple[float, float]]) -> FittedArc:
    """The arc through three points, or the nearest to more, by least squares square to it.

    Raises
    ------
    NoArc
        Fewer than three places, or points in a line.

    Examples
    --------
    >>> round(arc_through([(-155.0, 0.0), (0.0, 10.05), (155.0, 0.0)]).radius, 5)  # chord 310, rise 10.05
    1200.29863
    """
    places = np.array(points, float)
    if len({*map(tuple, places.tolist())}) < 3:
        raise NoArc(f"{len(points)} point{'s' * (len(points) > 1)}, in {len({*points})} place(s)")
    middle = places.mean(0)
    own = places - middle
    size = float(np.abs(own).max())
    if np.linalg.svd(own / size, compute_uv=False)[1] < _FLATTEST:
        raise NoArc("the points lie in a line")
    figures = _algebraic(own / size)
    for _ in range(_MOST_STEPS):
        slopes, left = _left(own / size, figures)
        step = np.linalg.lstsq(slopes, left, rcond=None)[0]
        figures = figures - step
        if not np.all(np.abs(figures) < _FARTHEST):
            raise NoArc("the points lie nearly in a line, and tell of no arc")
        if np.abs(step).max() < 1e-13 * max(1.0, float(np.abs(figures).max())):
            break
    slopes, left = _left(own / size, figures)
    freedom = len(points) - 3
    spread = math.sqrt(np.linalg.inv(slopes.T @ slopes)[2, 2])
    misfit = size * math.sqrt(left @ left / freedom) if freedom else 0.0
    x, y = middle + size * figures[:2]
    return FittedArc((float(x), float(y)), float(size * figures[2]), spread, misfit, freedom)


def _algebraic(places: Floats) -> Floats:
    """A first arc: x² + y² = 2ax + 2by + c, linear in a, b and c, and exact through three points."""
    rows = np.column_stack([2 * places, np.ones(len(places))])
    a, b, c = np.linalg.lstsq(rows, (places**2).sum(1), rcond=None)[0]
    return np.array([a, b, math.sqrt(max(c + a * a + b * b, 0.0))])


def _left(places: Floats, figures: Floats) -> tuple[Floats, Floats]:
    """What an arc leaves of the points, outward, and its slopes to centre and radius."""
    arms = places - figures[:2]
    reach = np.hypot(*arms.T)
    return np.column_stack([-arms / reach[:, None], -np.ones(len(places))]), reach - figures[2]


def radius_of(fit: FittedArc, doubt: float, source: Callable[[], Source], how: str = "") -> Taken:
    """The radius of an arc as a figure.

    Its doubt goes by the points' own, as given (19 in 20, square to the arc), or by what the arc leaves of them, where
    that is more: points scatter by all that is wrong with them.

    Parameters
    ----------
    doubt : float
        Of a point; 0 where none is given.
    """
    given = doubt / NORMAL
    by_scatter = fit.misfit > given
    of_point = fit.misfit if by_scatter else given
    part = Part(of_point * fit.spread, fit.freedom if by_scatter else math.inf)
    return Taken(fit.radius, {source(): part} if of_point else {}, how)
