"""Turning many variants at once, some of which cannot be assembled.

``solve`` stops at the first parts that do not meet and says nothing of the other variants. Here the block
is closed as far as it goes, and each variant is looked at by itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.linkage import Linkage, Solution, Wheel
from linkmotion.linkage.loops import Loop
from linkmotion.linkage.order import Order, make
from linkmotion.linkage.plane import Points
from linkmotion.linkage.refusal import holds
from linkmotion.linkage.solve import driven
from linkmotion.linkage.steps import Step

DEAD_POINT = "a part is at a dead point"
ASTRAY = "the parts meet only in another assembly"


def turned_as_can_be(
    linkage: Linkage, order: Order, wheel: Wheel, count: int, follow: bool, near: Sequence[Any] | None = None
) -> tuple[Solution, NDArray[Any]]:
    """Turn variants round the wheel, and tell why some cannot be assembled.

    Parameters
    ----------
    linkage : Linkage
        Dimensions may be arrays of shape (count, 1).
    order : Order
        In which it is solved.
    wheel : Wheel
        A whole revolution of N positions.
    follow : bool
        Whether positions that Newton's method does not reach from the sketch are reached by following the
        assembly round the wheel, which takes long.
    near : sequence of arrays, shape (count, N), optional
        Each loop's cut coordinate on a gear much like each of these, from which Newton's method starts; the
        sketch's, if not given.

    Returns
    -------
    solution : Solution
        Every pin; without meaning in the variants that are told.
    told : object array, shape (count,)
        "" for a variant that can be assembled, else the parts that do not meet.
    """
    shape = (count, wheel.turn.size)
    told = np.full(count, "", object)
    x = driven(linkage, wheel)
    with np.errstate(all="ignore"):  # variants that are lost go on as nothing, and are told
        stages = make(linkage, order)
        cuts: list[Any] = []
        for stage in stages:
            if isinstance(stage, Loop):
                start = stage.cut.start if near is None else near[len(cuts)]
                cuts.append(_close(stage, x, np.broadcast_to(start, shape).astype(float), told, follow))
            else:
                stage.place(x)
                _tell(told, *_short(stage, x, shape))
        astray = ~np.all(np.broadcast_to(holds(linkage, x), shape), axis=-1)
    told[astray & (told == "")] = ASTRAY
    return Solution(linkage, wheel, x, stages, cuts, order), told


def _close(loop: Loop, x: Points, start: NDArray[Any], told: NDArray[Any], follow: bool) -> Any:
    shape = start.shape
    q, residual, closed = loop.close_round(x, shape) if follow else loop.close(x, start)
    slope = np.broadcast_to(loop.last_slope, shape)
    if not closed:
        apart = ~np.broadcast_to(loop.fits(x, residual), shape)
        for step in loop.steps:
            _tell(told, *_short(step, x, shape))
        ways = np.where(np.broadcast_to(residual, shape) > 0, 1.0, -1.0)
        _tell(told, np.where(apart, ways, 0.0), loop.closure.name)
    turned = (np.min(slope, axis=-1) < 0) & (np.max(slope, axis=-1) > 0)
    told[turned & (told == "")] = DEAD_POINT
    return q


def _short(step: Step, x: Points, shape: tuple[int, ...]) -> tuple[NDArray[Any], str]:
    """How far a step's parts fall short (+) or are too long (−), mm, and which they are."""
    return np.broadcast_to(np.nan_to_num(step.short(x)), shape), " and ".join(step.parts)


def _tell(told: NDArray[Any], short: NDArray[Any], parts: str) -> None:
    """Name the parts for the variants that they spoil first, by what is worst round the wheel."""
    worst = np.take_along_axis(short, np.argmax(np.abs(short), axis=-1)[:, None], axis=-1)[:, 0]
    fresh = told == ""
    told[fresh & (worst > 0)] = f"{parts}: too short to meet"
    told[fresh & (worst < 0)] = f"{parts}: too long to fit"
