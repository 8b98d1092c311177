"""Telling why a linkage cannot be assembled: which parts, by how much, at which wheel angle.

Where a loop does not close in the assembly of the sketch, its coordinate is led through its whole range; told is
what is missing where the parts come nearest to meeting.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.linkage.errors import LinkageError, UnreachableError
from linkmotion.linkage.linkage import Facing, Linkage
from linkmotion.linkage.loops import Loop, Stage
from linkmotion.linkage.order import Order, make
from linkmotion.linkage.plane import Points, real_point
from linkmotion.linkage.steps import Step

_RANGE = 721  # values of the coordinate looked at; then twice more about the best
_MOST = 96  # wheel positions looked at
_FOUND = 1e-3  # mm: nearer than this the parts do meet there
Stages = list[Stage]
Parts = tuple[str, ...]


def _toward(way: Facing, x: Points) -> Any:
    """The way that is said, as it stands now; its length is of no account."""
    toward = real_point(*way.toward)
    if way.along is None:
        return toward
    c, d, drawn = way.along
    return toward * (x[d] - x[c]) * real_point(*drawn).conjugate()


def _ahead(way: Facing, x: Points) -> Any:
    """Positive where the part runs the way that is said."""
    return ((x[way.b] - x[way.a]) * _toward(way, x).conjugate()).real


def holds(linkage: Linkage, x: Points) -> Any:
    """Where every part whose way is said runs that way.

    Parameters
    ----------
    linkage : Linkage
        With its ``facings``.
    x : list of complex arrays
        Places of the pins by number, mm.

    Returns
    -------
    True or bool array
        True alone where it is so at all positions.
    """
    least: Any = np.inf
    for way in linkage.facings:
        least = np.minimum(least, _ahead(way, x))
    return True if np.min(least) > 0 else least > 0


def too_short(x: Points, step: Step, wheel: NDArray[np.float64]) -> UnreachableError:
    """The error to raise for a step whose parts do not meet.

    Parameters
    ----------
    x : list
        Places of the pins, mm, those before the step's at least.
    step : Step
        Which one.
    wheel : array, shape (N,)
        Wheel angles, radians anticlockwise.
    """
    short = np.atleast_1d(step.short(x))
    at = int(np.nanargmax(np.abs(short))) if np.any(np.isfinite(short)) else 0
    column = np.unravel_index(at, short.shape)[-1]
    return UnreachableError(step.parts, float(short.flat[at]), float(wheel[column if short.shape[-1] > 1 else 0]))


def not_closed(linkage: Linkage, order: Order, at: int, x: Points, fits: Any, wheel: NDArray[np.float64]) -> Any:
    """Why the linkage does not close in the assembly of the sketch: the error to raise.

    Parameters
    ----------
    linkage, order : Linkage, Order
        As solved.
    at : int
        Number of the stage that failed: a loop; or, past the last, the ways in which parts run, for which the last
        loop before a wrong one answers.
    x : list
        Places of the pins, mm.
    fits : bool or array, shape (N,) or (S, N)
        False where it does not close.
    wheel : array, shape (N,)
        Wheel angles, radians anticlockwise.

    Returns
    -------
    LinkageError or UnreachableError
        The latter where parts fall short or foul.
    """
    fits = np.broadcast_to(fits, np.broadcast_shapes(np.shape(fits), (1, wheel.size)))
    row = int(np.argmin(fits.all(axis=-1)))
    one = linkage.picked([row])
    stages = make(one, order)
    part = ""
    if at == len(stages):
        wrong = next(way for way in linkage.facings if not np.all(_ahead(way, x) > 0))
        part, at = wrong.part, _loop_before(stages, {wrong.a, wrong.b})
        if at < 0:
            return LinkageError(f"{part}: runs the other way")
    late = {pin for stage in stages[at:] for pin in _pins(stage)}
    seen = np.flatnonzero(~fits[row])
    best: UnreachableError | None = None
    for place in seen[:: -(-seen.size // _MOST)]:
        here = [None if p is None or pin in late else _one(p, row, place) for pin, p in enumerate(x)]
        gap, parts = _nearest(one, stages, at, here)
        if best is None or abs(gap) > abs(best.short):
            best = UnreachableError(parts, gap, float(wheel[place]))
    if best is None or abs(best.short) < _FOUND:
        part = part or stages[at].closure.name  # type: ignore[union-attr]
        return LinkageError(f"{part}: the assembly of the sketch is lost within the revolution")
    return best


def _pins(stage: Stage) -> list[int]:
    return stage.pins if isinstance(stage, Loop) else [stage.pin]


def _loop_before(stages: Stages, pins: set[int]) -> int:
    """Number of the last loop from which the pins follow; −1 for none."""
    last = max((k for k, stage in enumerate(stages) if pins & set(_pins(stage))), default=-1)
    return max((k for k in range(last + 1) if isinstance(stages[k], Loop)), default=-1)


def _one(place: Any, row: int, column: int) -> complex:
    """One variant at one wheel position."""
    tall = np.atleast_2d(place)
    return complex(tall[row if tall.shape[0] > 1 else 0, column if tall.shape[1] > 1 else 0])


def _nearest(linkage: Linkage, stages: Stages, at: int, x: Points) -> tuple[float, Parts]:
    """What is missing (mm, + too short) at one wheel position where the parts come nearest to meeting; which parts.

    Where the last part can be made to fit with another left open, the other is told.
    """
    loop = stages[at]
    assert isinstance(loop, Loop)
    middle = float(np.ravel(np.real(loop.cut.start))[0])
    wide = np.pi if loop.cut.turns else 2 * max(abs(p) for p in x if p is not None)
    told: list[tuple[Parts, Any]] = []
    best = 0
    for _ in range(3):
        q = middle + np.linspace(-wide, wide, _RANGE)
        with np.errstate(all="ignore"):  # anything may come out where parts do not meet
            told, astray = _gaps(linkage, stages, at, list(x), q)
            total = np.sum([np.abs(gap) for _parts, gap in told], axis=0)
            last = told[0][1]
            fits = ~astray & (last * np.roll(last, -1) <= 0)  # between this value and the next
        fits[-1] = False
        if fits.any():
            total = np.where(fits, total - np.abs(last), np.inf)
        best = int(np.argmin(np.nan_to_num(np.where(astray & ~astray.all(), np.inf, total), nan=np.inf)))
        middle, wide = float(q[best]), 2 * wide / (_RANGE - 1)
    parts, gap = max(told, key=lambda each: abs(float(each[1][best])))
    return float(gap[best]), parts


def _gaps(
    linkage: Linkage, stages: Stages, at: int, x: Points, q: NDArray[np.float64]
) -> tuple[list[tuple[Parts, Any]], Any]:
    """What each part of a loop misses at each value of its coordinate, mm, the last first; and where one is astray.

    A part astray, that runs otherwise than said, misses as much as its end stands on the wrong side of its beginning.
    """

    def row(value: Any) -> Any:
        return np.broadcast_to(np.ravel(value), q.shape)

    loop = stages[at]
    assert isinstance(loop, Loop)
    residual, _meets = loop.place(x, q)
    found: list[tuple[Parts, Any]] = [((loop.closure.name,), row(residual))]
    found += [(step.parts, row(step.short(x))) for step in loop.steps if step.parts]
    for stage in stages[at + 1 :]:
        if isinstance(stage, Loop):
            break
        stage.place(x)
    astray = np.zeros(q.shape, bool)
    for way in linkage.facings:
        if all(x[pin] is not None for pin in (way.a, way.b, *(way.along or ())[:2])):
            wrong = row(np.maximum(-_ahead(way, x) / np.abs(_toward(way, x)), 0.0))
            found.append(((way.part,), wrong))
            astray |= ~(wrong <= 0)
    return found, astray
