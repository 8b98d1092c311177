"""Solving many variants of a linkage at once: what some spoil for their block is found variant by variant.

One policy for all: a variant is closed by Newton's method from the sketch; where that fails its assembly is followed
round the wheel from position to position; where that fails too, in other orders of solution. A variant whose motion is
not smooth enough for its crank positions is solved at twice as many.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.linkage.assembling import DEAD_POINT, turned_as_can_be
from linkmotion.linkage.linkage import Linkage
from linkmotion.linkage.order import Order, orders_to_try
from linkmotion.linkage.periodic import Harmonics
from linkmotion.linkage.solve import NODES, Solution, Wheel, solve_near

Array = NDArray[Any]
Rows = NDArray[np.intp]
MOST_NODES = 3072  # positions of a revolution: a motion that wants more has a dead point
MOST_POSITIONS = 100_000  # solved in one call: enough to be quick, few enough for the processor's own memory
_ROUGH = 1e-8  # mm: more positions are taken while a series' tail is larger


@dataclass
class Orders:
    """Orders of solution of a linkage, best first; those after the first are found when they are asked for.

    Goes to other processes as it is, so that every one solves in the same orders and gets the same digits.
    """

    linkage: Linkage
    _found: list[Order] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        self._found = [next(orders_to_try(self.linkage))]

    def get(self, number: int) -> Order | None:
        """An order of solution by its rank; None where there is none so far down.

        Parameters
        ----------
        number : int
            0 for the best.
        """
        if number > 0 and len(self._found) == 1:
            self._found = list(orders_to_try(self.linkage))
        return self._found[number] if number < len(self._found) else None


@dataclass(frozen=True, eq=False)
class Variants:
    """Variants of a linkage, to be turned together.

    Attributes
    ----------
    declare : callable
        Of some of the variants, given by their numbers (V,): the linkage, its dimensions of shape (V, 1); and what
        gives from its solution the O quantities that are looked at, broadcastable to (O, V, positions). The first one
        tells how smooth the motion is.
    orders : Orders
        In which they are solved.
    near : callable, optional
        Of such variants, each loop's cut coordinate in the best order on a gear much like each, (V, NODES), from which
        Newton's method starts; the sketch's, if not given.
    """

    declare: Callable[[Rows], tuple[Linkage, Callable[[Solution], Array]]]
    orders: Orders
    near: Callable[[Rows], Sequence[Array]] | None = None

    def turned(self, count: int) -> tuple[Harmonics, Array]:
        """Turn the variants round the wheel.

        Parameters
        ----------
        count : int
            How many there are: ``declare`` is asked for the numbers 0 to count - 1.

        Returns
        -------
        series : Harmonics, shape (O, count, K)
            What is looked at, over the revolution; NaN for a variant that cannot be assembled.
        told : object array, shape (count,)
            "" for a variant that can be assembled, else the parts that do not meet.
        """
        c, told = self._turned(np.arange(count), NODES, 0)
        return Harmonics(c), told

    def _turned(self, which: Rows, nodes: int, attempt: int) -> tuple[Array, Array]:
        if which.size > 1 and which.size * nodes > MOST_POSITIONS:
            halves = [self._turned(own, nodes, attempt) for own in np.array_split(which, 2)]
            longest = max(c.shape[-1] for c, _told in halves)
            return np.concatenate([longer(c, longest) for c, _ in halves], axis=1), np.concatenate(
                [t for _, t in halves]
            )
        order = self.orders.get(max(attempt - 1, 0))
        assert order is not None
        wheel, (linkage, look) = Wheel.revolution(nodes), self.declare(which)
        near = self.near(which) if self.near is not None and attempt == 0 and nodes == NODES else None
        solution, told = turned_as_can_be(linkage, order, wheel, which.size, attempt > 0, near)
        with np.errstate(invalid="ignore"):
            seen = look(solution)
            c = Harmonics.through(np.broadcast_to(seen, (len(seen), which.size, nodes))).c
            rough = (told == "") & (np.max(np.abs(c[0, :, -3:]), axis=-1) > _ROUGH)
        if 2 * nodes > MOST_NODES:
            told[rough] = DEAD_POINT
            rough[:] = False
        c[:, told != ""] = np.nan
        if np.any(rough):
            c = self._again(which, rough, c, told, 2 * nodes, attempt)
        lost = (told != "") & ~rough
        if np.any(lost) and self.orders.get(attempt) is not None:
            why = told.copy()
            c = self._again(which, lost, c, told, nodes, attempt + 1)
            if attempt > 0:  # the best order names the parts
                told[lost & (told != "")] = why[lost & (told != "")]
        return c, told

    def _again(self, which: Rows, some: NDArray[np.bool_], c: Array, told: Array, nodes: int, attempt: int) -> Array:
        """The series with some of the variants turned anew; what is told of these is changed in place."""
        own, told[some] = self._turned(which[some], nodes, attempt)
        longest = max(own.shape[-1], c.shape[-1])
        c = longer(c, longest)
        c[:, some] = longer(own, longest)
        return c


def longer(c: Array, longest: int) -> Array:
    """Coefficients of series with noughts added at the end.

    Parameters
    ----------
    c : complex array, shape (..., K)
        Of any series.
    longest : int
        Coefficients in all; not less than K.
    """
    return np.pad(c, (*[(0, 0)] * (c.ndim - 1), (0, longest - c.shape[-1])))


def solve_at(linkage: Linkage, revolution: Solution, rows: Rows, angles: Array) -> Solution:
    """Solve variants each at a wheel position of its own, from the whole revolution of them all.

    Parameters
    ----------
    linkage : Linkage
        With dimensions of shape (P,): one variant to each position.
    revolution : Solution
        The variants solved over an even revolution.
    rows : int array, shape (P,)
        Which of its variants stands at each position.
    angles : float array, shape (P,)
        The wheel's positions, radians clockwise.
    """
    shape = np.broadcast_shapes((int(np.max(rows)) + 1, 1), revolution.shape)
    cuts = [Harmonics.through(np.broadcast_to(cut, shape))[rows](angles) for cut in revolution.cuts]
    return solve_near(linkage, replace(revolution, wheel=Wheel.at(-angles), cuts=cuts))
