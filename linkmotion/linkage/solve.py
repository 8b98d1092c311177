"""Solving a linkage at all wheel positions at once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import chain
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.linkage.errors import LinkageError
from linkmotion.linkage.linkage import Linkage
from linkmotion.linkage.loops import Loop, Stage
from linkmotion.linkage.order import Order, make, orders_to_try
from linkmotion.linkage.parts import Driven, Guide
from linkmotion.linkage.periodic import Harmonics
from linkmotion.linkage.placing import LoopRecipe
from linkmotion.linkage.plane import Points, dot
from linkmotion.linkage.refusal import holds, not_closed, too_short

NODES = 48  # positions of a revolution that mostly tell the others by their series
_COARSE = 64  # the same before a close grid: a few more cost nothing there, and spare most gears a Newton step on it
_SEEN, _JUMP = 24, 8.0  # from so many positions a step so many times the mean (1.6 for a sine) is a jump


@dataclass(frozen=True, eq=False)
class Wheel:
    """Wheel positions.

    Attributes
    ----------
    turn : complex array, shape (N,)
        ``exp(i angle)``, angle in radians anticlockwise.
    even : bool
        True when they are N equal steps of one clockwise revolution from angle zero.
    """

    turn: NDArray[np.complex128]
    even: bool = False

    @property
    def angle(self) -> NDArray[np.float64]:
        """Angles, radians anticlockwise, −π to π."""
        return np.angle(self.turn)

    @staticmethod
    @lru_cache(maxsize=32)
    def revolution(count: int) -> Wheel:
        """Equal steps of one clockwise revolution (running forward, the front to the right).

        Parameters
        ----------
        count : int
            How many; the first stands at angle nought.
        """
        turn = np.exp(-2j * np.pi * np.arange(count) / count)
        turn.setflags(write=False)
        return Wheel(turn, even=True)

    @staticmethod
    def at(angle: Any) -> Wheel:
        """The wheel at any angles.

        Parameters
        ----------
        angle : float or array, shape (N,) or (S, N)
            Radians anticlockwise.
        """
        return Wheel(np.exp(1j * np.atleast_1d(np.asarray(angle, float))))


@dataclass(frozen=True, eq=False)
class Solution:
    """Where every pin stands at every wheel position.

    Attributes
    ----------
    linkage, wheel
        What was solved.
    points : list of complex arrays
        Pins in the order of declaration, mm, each broadcastable to ``shape``.
    cuts : list of arrays
        The cut coordinate of each loop.
    order : Order
        The order in which it was solved.
    """

    linkage: Linkage
    wheel: Wheel
    points: Points
    stages: list[Stage]
    cuts: list[Any]
    order: Order

    def __getitem__(self, pin: str) -> Any:
        """Places of a pin by its name: complex array broadcastable to ``shape``, mm (KeyError for an unknown name)."""
        return self.points[self.linkage.names[pin]]

    @property
    def shape(self) -> tuple[int, ...]:
        """Shape of the positions: variants (if any) and wheel positions."""
        return np.broadcast_shapes(*(np.shape(p) for p in self.points))

    def guide(self, name: str) -> Guide:
        """A guide of the linkage.

        Parameters
        ----------
        name : str
            Its name.

        Raises
        ------
        LinkageError
            No guide of that name; those that there are are told.
        """
        guides = {part.name: part for part in self.linkage.parts if isinstance(part, Guide)}
        if name not in guides:
            raise LinkageError(f"no guide {name!r}; there are {', '.join(guides) or 'none'}")
        return guides[name]

    def along(self, guide: str) -> Any:
        """Place of a guided pin along its guide from the guide's origin.

        Parameters
        ----------
        guide : str
            Name of the guide (LinkageError where there is none such).

        Returns
        -------
        float array, broadcastable to ``shape``
            mm, positive in the guide's direction.
        """
        part = self.guide(guide)
        return dot(np.exp(1j * part.direction), self.points[part.pin] - (part.origin[0] + 1j * part.origin[1]))

    def rates(self) -> dict[str, Any]:
        """Velocity of every pin, by its name.

        Returns
        -------
        dict of complex arrays
            Per radian of the wheel turning clockwise, mm; each broadcastable to ``shape``; 0.0 for a pin at rest.
        """
        x, moves = self.points, [None] * len(self.points)
        for part in self.linkage.parts:
            if isinstance(part, Driven):
                moves[part.pin] = part.move(x, moves)
        for stage in self.stages:
            stage.rates(x, moves) if isinstance(stage, Loop) else stage.tangent(x, moves)
        return {name: 0.0 if moves[i] is None else moves[i] for name, i in self.linkage.names.items()}


def driven(linkage: Linkage, wheel: Wheel) -> Points:
    """Places of the pins that need no solving, at every position of the wheel; None for the others."""
    x: Points = [None] * len(linkage.near)
    for part in linkage.parts:
        if isinstance(part, Driven):
            part.place(x, wheel.turn)
    return x


def solve(linkage: Linkage, wheel: Wheel, alone: bool = False, known: Order | None = None) -> Solution:
    """Place every pin at every wheel position.

    Parameters
    ----------
    linkage : Linkage
        Dimensions may be arrays that broadcast against the wheel positions.
    wheel : Wheel
        Positions, shape (N,).
    alone : bool
        Solve these positions by themselves, from the sketch. Otherwise the whole revolution is
        solved first, so that the assembly is followed round it.
    known : Order, optional
        That of a linkage much like this one, in which it is tried first: to look for its own takes longer.

    Raises
    ------
    UnreachableError
        Parts do not meet at some position: which, by how much, where.
    LinkageError
        Wrongly declared, or the assembly changes over within the revolution.
    """
    direct = alone or (wheel.even and wheel.turn.size <= 2 * _COARSE)
    first: LinkageError | None = None  # only it is told: which parts do not meet takes long to find out
    for order in chain(() if known is None else (known,), orders_to_try(linkage)):
        try:
            stages = make(linkage, order)
            starts = None
            if not direct:
                starts = _between(_run(linkage, Wheel.revolution(_COARSE), order, None, stages, first is None), wheel)
            return _run(linkage, wheel, order, starts, stages, first is None)
        except LinkageError as error:
            first = first or error
        if not any(isinstance(stage, LoopRecipe) for stage in order):
            break
    assert first is not None
    raise first


def solve_near(linkage: Linkage, solution: Solution) -> Solution:
    """Solve a linkage that differs a little from one already solved, at the same positions and in its assembly.

    Parameters
    ----------
    linkage : Linkage
        Joined as the other; its dimensions may differ from position to position, shape (N,).
    solution : Solution
        Of the other, at N positions.

    Raises
    ------
    LinkageError
        As :func:`solve`; or it differs so much that Newton's method does not get there.
    """
    return _run(linkage, solution.wheel, solution.order, solution.cuts)


def solve_sketched(linkage: Linkage, solution: Solution) -> Solution:
    """Solve a linkage from its own sketch at the positions of one already solved, and in its order alone.

    Parameters
    ----------
    linkage : Linkage
        Joined as the other.
    solution : Solution
        Of the other.

    Raises
    ------
    LinkageError
        As :func:`solve`.
    """
    return _run(linkage, solution.wheel, solution.order, None)


def _between(coarse: Solution, wheel: Wheel) -> list[Any]:
    """Cut coordinates at the wanted positions from those of the coarse revolution."""
    series = [Harmonics.through(q) for q in coarse.cuts]
    if wheel.even:
        return [s.on_grid(wheel.turn.size) for s in series]
    angle = -np.angle(wheel.turn)
    return [s[..., None, :](angle) for s in series]


def _run(
    linkage: Linkage, wheel: Wheel, order: Order, starts: Any, stages: list[Stage] | None = None, told: bool = True
) -> Solution:
    """Solve in an order; the stages keep what was placed last, so a solution that is kept wants its own."""
    stages = make(linkage, order) if stages is None else stages
    x = driven(linkage, wheel)
    cuts: list[Any] = []
    for at, stage in enumerate(stages):
        if not isinstance(stage, Loop):
            if not stage.place(x):
                raise too_short(x, stage, wheel.angle)
            continue
        if starts is None:
            q, fits = _close(stage, x, wheel)
        else:
            q = starts[len(cuts)]
            residual, meets = stage.place(x, q)
            fits = meets and bool(max(residual.max(), -residual.min()) < stage.closed)
            if not fits:
                q, _residual, fits = stage.close(x, q)
        if not np.all(fits):
            raise not_closed(linkage, order, at, x, fits, wheel.angle) if told else LinkageError()
        cuts.append(q)
    if starts is None and (fits := holds(linkage, x)) is not True:
        raise not_closed(linkage, order, len(stages), x, fits, wheel.angle) if told else LinkageError()
    return Solution(linkage, wheel, x, stages, cuts, order)


def _close(loop: Loop, x: Points, wheel: Wheel) -> tuple[Any, Any]:
    """Close a loop from the sketch, seeing that the assembly does not change over: the coordinate, where it fits."""
    placed = (np.shape(p) for p in x if p is not None)
    shape = np.broadcast_shapes(wheel.turn.shape, np.shape(loop.cut.start), *placed)
    if wheel.even:
        q, residual, closed = loop.close_round(x, shape)
    else:
        q, residual, closed = loop.close(x, np.broadcast_to(loop.cut.start, shape).astype(float))
    if not closed:
        return q, loop.fits(x, residual)
    if wheel.even and wheel.turn.size >= _SEEN:
        step = np.empty(q.shape)
        np.subtract(q[..., 1:], q[..., :-1], out=step[..., 1:])
        np.subtract(q[..., 0], q[..., -1], out=step[..., 0])
        step = np.abs(step) * loop.cut.reach
        if (step.max(-1) > _JUMP * step.sum(-1) / step.shape[-1] + 1.0).any():
            raise LinkageError(f"{loop.closure.name}: the assembly jumps within the revolution")
    slope = loop.last_slope
    if np.min(slope) * np.max(slope) <= 0:
        raise LinkageError(f"{loop.closure.name}: the assembly changes over within the revolution (a dead point)")
    return q, True
