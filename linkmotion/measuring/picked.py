"""Every figure of the parts by points put on an image, with its doubt: the least sum of squares and its covariance."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkmotion.measuring.pick_equations import EXACT, Equations
from linkmotion.measuring.picks import Picks, Solid
from linkmotion.measuring.plane_of_image import PlaneOfImage
from linkmotion.measuring.taken import NORMAL

Real = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Adjusted:
    """What follows from picks.

    Attributes
    ----------
    view : PlaneOfImage
        How the plane is seen.
    places : dict
        Where each point lies, mm.
    poses : dict
        Where each part lies: its origin, and its turning as a unit complex number.
    figures : array, shape (K,)
        mm and degrees.
    covariance : array, shape (K, K)
        Of the figures.
    strain : dict
        By how many standard deviations each pick and each thing known stands off what all the rest say; what nothing
        else checks is left out.
    squares, freedom : float, int
        Sum of squares of picks and of what is known, and its degrees of freedom.
    scale_doubt, turn_doubt : float
        Standard deviation of the scale, as a part of one; and of the way that is ahead, radians.
    """

    view: PlaneOfImage
    places: Mapping[str, complex]
    poses: Mapping[str, tuple[complex, complex]]
    figures: Real
    covariance: Real
    strain: Mapping[str, float]
    squares: float
    freedom: int
    scale_doubt: float
    turn_doubt: float

    def doubt(self, number: int) -> float:
        """Half width of a figure's interval that is right 19 times in 20."""
        return NORMAL * float(np.sqrt(self.covariance[number, number]))


Solids = Callable[[Real], Sequence[Solid]]


def adjusted(picks: Picks, solids: Solids, drawn: Real, loose: Real, start: PlaneOfImage) -> Adjusted:
    """Find all, straightened anew about the figures found until they stay.

    Parameters
    ----------
    picks : Picks
        What was put.
    solids : callable
        The rigid parts about some figures.
    drawn, loose : array, shape (K,)
        Figures of the drawing, from which the search starts, and how loosely they are held.
    start : PlaneOfImage
        About how the plane is seen.
    """

    def about(x: Real | None, stiff: float) -> Equations:
        figures = drawn if x is None else x[8 : 8 + len(drawn)]
        return Equations(picks, solids(figures), figures, drawn, loose, start, stiff)

    equations = about(None, EXACT)
    x = equations.first()
    scale = _scale(equations)
    for stiff in _STIFF:  # parts first held loosely to what they are: a turning part then comes round without a fight
        x = _least(lambda y, stiff=stiff: about(y, stiff), x, scale)  # type: ignore[misc]
    equations = about(x, EXACT)
    return _told(equations, x, _slopes(equations.residuals, x, scale))


_STIFF, _STEPS, _STILL = (3.0, 0.05, EXACT), 40, 1e-8  # mm; steps of the search; of each unknown's scale


def _least(about: Callable[[Real], Equations], x: Real, scale: Real) -> Real:
    """The least sum of squares from a start, by damped Gauss-Newton steps; the parts worked out anew at each."""
    equations = about(x)
    left, damping = equations.residuals(x), 1e-6
    for _step in range(_STEPS):
        slopes = _quick_slopes(equations.residuals, x, scale, left)
        size = np.linalg.norm(slopes, axis=0)
        while True:
            held = np.concatenate([slopes, np.diag(np.sqrt(damping) * size)])
            step = np.linalg.lstsq(held, np.concatenate([-left, np.zeros(len(x))]), rcond=None)[0]
            equations = about(x + step * scale)
            tried = equations.residuals(x + step * scale)
            if tried @ tried <= left @ left or damping > _FIRMEST:
                break
            damping *= 30.0
        if damping > _FIRMEST:
            break
        gained = float(left @ left - tried @ tried)
        x, left, damping = x + step * scale, tried, max(damping / 30.0, 1e-12)
        if float(np.max(np.abs(step))) < _STILL or gained < 1e-9 * (1 + float(left @ left)):
            break
    return x


_FIRMEST = 1e6


def _scale(equations: Equations) -> Real:
    """About by how much each unknown goes."""
    e, size = equations, equations.start.size
    view = np.append(np.full(6, abs(e.start.turned)), [0.1, 0.1])
    poses = np.tile([size, size, 1.0], len(e.solids))
    courses = np.full(len(e.courses), 0.1 * size)
    return np.concatenate([view, np.full(len(e.figures), 0.1 * size), np.full(2 * len(e.names), size), poses, courses])


def _slopes(law: Callable[[Real], Real], x: Real, scale: Real) -> Real:
    """Slopes of all terms to all unknowns, in their scales, by central differences."""
    columns = []
    for at, size in enumerate(scale):
        step = np.zeros_like(x)
        step[at] = 1e-5 * size
        columns.append((law(x + step) - law(x - step)) / 2e-5)
    return np.stack(columns, axis=1)


def _quick_slopes(law: Callable[[Real], Real], x: Real, scale: Real, left: Real) -> Real:
    """The same by steps one way, near enough to search by; ``left`` are the terms at ``x``."""
    columns = []
    for at, size in enumerate(scale):
        step = np.zeros_like(x)
        step[at] = 1e-6 * size
        columns.append((law(x + step) - left) / 1e-6)
    return np.stack(columns, axis=1)


def _told(equations: Equations, x: Real, slopes: Real) -> Adjusted:
    view, figures, places, poses, _along = equations.split(x)
    scale = _scale(equations)
    u, s, vt = np.linalg.svd(slopes, full_matrices=False)
    half = (vt.T / s) * scale[:, None]  # covariance of the unknowns: half @ half.T
    k = len(figures)
    names, left = equations.observed_names(x), equations.observed(x)
    lever = np.sum(u[: len(left)] ** 2, axis=1)
    strain: dict[str, float] = {}
    for name, own, held in zip(names, left, lever, strict=True):
        if 1 - held > _CHECKED:
            strain[name] = max(strain.get(name, 0.0), abs(float(own)) / float(np.sqrt(1 - held)))
    for name in equations.names:
        if len(equations.picks.points[name]) > 1:
            strain[name] = max(strain.get(name, 0.0), equations.picks.scatter(name))
    turned = view.turned
    by_turned = half[:2]
    along = np.array([turned.real, turned.imag]) @ by_turned / abs(turned) ** 2
    across = np.array([-turned.imag, turned.real]) @ by_turned / abs(turned) ** 2
    return Adjusted(
        view=view,
        places=dict(zip(equations.names, places, strict=True)),
        poses={solid.name: (complex(p[0], p[1]), complex(np.exp(1j * p[2])))
               for solid, p in zip(equations.solids, poses, strict=True)},
        figures=figures,
        covariance=half[8 : 8 + k] @ half[8 : 8 + k].T,
        strain=strain,
        squares=float(left @ left),
        freedom=max(0, round(float(np.sum(1 - lever)))),
        scale_doubt=float(np.linalg.norm(along)),
        turn_doubt=float(np.linalg.norm(across)),
    )  # fmt: skip


_CHECKED = 0.02  # of a term's variance: less is left over of what nothing else checks
