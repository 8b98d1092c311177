r"""A valve dragged through play, in closed form where the gear goes to and fro once in a turn.

Let the faces between which the valve lies, ``low = x - w`` and ``high = x + w``, each rise once and fall once, low be
foremost at a, with M there, and high rearmost at b, with m there, m < M. Then the valve that is dragged
(:func:`linkmotion.wear.running.play`) lies

* from a to b at ``min(M, high)``: it stays at M, where low has left it, until high comes down on it; until then high is
  above M and from there to b it falls, and low is neither above M nor above high;
* from b to a, likewise, at ``max(m, low)``.

Run backward it lies at ``max(m, low)`` from a to b and at ``min(M, high)`` from b to a. From a to b both faces pass a
line between m and M once, downward, and from b to a once, upward: where, is found by halving. Motions of another kind
are followed from sample to sample.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.sampled_events import Samples, before, passing
from linkmotion.valve import Edge
from linkmotion.wear.running import between

Array = NDArray[Any]
Rows = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Faces:
    """Between what S valves lie, mm: each of shape (S, N), evenly round the wheel in the forward crank angle."""

    low: Array
    high: Array

    @cached_property
    def turns(self) -> Rows:
        """Samples a and b, shape (2, S)."""
        return np.stack([self.low.argmax(-1), self.high.argmin(-1)])

    @cached_property
    def ends(self) -> tuple[Array, Array]:
        """Places m and M, shape (S,)."""
        row, (foremost, rearmost) = np.arange(len(self.low)), self.turns
        return self.high[row, rearmost], self.low[row, foremost]

    @cached_property
    def odd(self) -> Rows:
        """Rows that have no closed form."""
        plain = _to_and_fro(self.low) & (self.ends[0] < self.ends[1])
        return np.flatnonzero(~(plain if self.high is self.low else plain & _to_and_fro(self.high)))

    def place(self, column: Rows, forward: bool) -> Array:
        """Where the valve of each row lies at a sample of its own, mm, shape (S,); of odd rows without meaning.

        Parameters
        ----------
        column : int array, shape (S,)
            Number of the sample, in the forward crank angle; any turn.
        forward : bool
            In which direction it is run.
        """
        count, row, (a, b), (m, most) = self.low.shape[-1], np.arange(len(self.low)), self.turns, self.ends
        column = column % count
        falls = ((column - a) % count < (b - a) % count) == forward
        return np.where(falls, np.minimum(most, self.high[row, column]), np.maximum(m, self.low[row, column]))

    def passed(self, line: Array, forward: bool) -> Array:
        """Forward crank angles at which lines are passed from a to b, and from b to a.

        Parameters
        ----------
        line : array, shape (E, S)
            mm, between m and M.
        forward : bool
            In which direction the valve is run.

        Returns
        -------
        array, shape (2, E, S)
            Radians.
        """
        count, (m, most) = self.low.shape[-1], self.ends
        both = [own.ravel() for own in ((self.high, self.low) if forward else (self.low, self.high))]
        start, row = self.turns[:, None], np.arange(len(self.low)) * count
        near = np.zeros((2, *line.shape), np.intp)
        far = near + (start[::-1] - start) % count

        def lies(steps: Rows) -> Array:
            column = start + steps
            column[column >= count] -= count
            return np.stack([face.take(own) for face, own in zip(both, column + row, strict=True)])

        for _ in range(count.bit_length()):
            middle = (near + far) >> 1
            not_yet = lies(middle) > line
            not_yet[1] ^= True
            near, far = np.where(not_yet, middle, near), np.where(not_yet, far, middle)
        one, two = (np.clip(lies(steps), m, most) - line for steps in (near, near + 1))
        return passing(one, two, (start + near) % count, count)


@dataclass(frozen=True, eq=False)
class Dragged:
    """Motions of valves dragged between faces in a direction of running, as the events read them off."""

    faces: Faces
    forward: bool

    @cached_property
    def least(self) -> Array:
        """Rearmost places, shape (S,)."""
        return self._with_odd(self.faces.ends[0], lambda odd: odd.least)

    @cached_property
    def most(self) -> Array:
        """Foremost places, shape (S,)."""
        return self._with_odd(self.faces.ends[1], lambda odd: odd.most)

    def at(self, angle: Any) -> Array:
        """As of :class:`linkmotion.sampled_events.Motion`."""
        rows, count = self.faces.low.shape
        low, part = before(angle, rows, count)
        way = 1 if self.forward else -1
        one, two = (self.faces.place(way * own, self.forward) for own in (low, low + 1))
        each = np.broadcast_to(angle, rows)
        return self._with_odd(one * (1 - part) + two * part, lambda odd: odd.at(each[self.faces.odd]))

    def openings(self, edges: Sequence[Edge]) -> tuple[Array, Array]:
        """As of :class:`linkmotion.sampled_events.Motion`."""
        rows, (m, most) = len(self.faces.low), self.faces.ends
        line = np.stack([np.broadcast_to(edge.sign * edge.lap, rows) for edge in edges])
        passed = np.where((m <= line) & (line < most), self.faces.passed(line, self.forward), np.nan)
        if not self.forward:
            passed = 2 * np.pi - passed[::-1]
        opening = np.array([[edge.sign < 0] for edge in edges])  # as the valve moves back
        opens, closes = np.where(opening, passed, passed[::-1])
        if self.faces.odd.size:
            own = [Edge(edge.sign, edge.sign * each[self.faces.odd]) for edge, each in zip(edges, line, strict=True)]
            opens[:, self.faces.odd], closes[:, self.faces.odd] = self._followed.openings(own)
        return opens, closes

    @cached_property
    def _followed(self) -> Samples:
        """The rows that have no closed form."""
        low, high = (face[self.faces.odd] for face in (self.faces.low, self.faces.high))
        if not self.forward:
            low, high = (np.roll(face[:, ::-1], 1, axis=-1) for face in (low, high))
        return Samples(between(low, high))

    def _with_odd(self, plain: Array, of_odd: Callable[[Samples], Array]) -> Array:
        if self.faces.odd.size:
            plain = plain.copy()
            plain[self.faces.odd] = of_odd(self._followed)
        return plain


def _to_and_fro(face: Array) -> NDArray[np.bool_]:
    """Which rows (S, N) rise once and fall once in a turn."""
    ahead, changes = np.empty(face.shape, bool), np.empty(face.shape, bool)
    np.greater(face[:, 1:], face[:, :-1], out=ahead[:, :-1])
    np.greater(face[:, 0], face[:, -1], out=ahead[:, -1])
    np.not_equal(ahead[:, 1:], ahead[:, :-1], out=changes[:, :-1])
    np.not_equal(ahead[:, 0], ahead[:, -1], out=changes[:, -1])
    return np.asarray(np.add.reduce(changes.view(np.uint8), axis=-1, dtype=np.uint16) == 2)
