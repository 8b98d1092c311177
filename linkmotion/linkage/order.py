"""The order in which a linkage is solved: a function of the linkage alone.

Pins are placed by closed-form steps while that is possible. Where it is not, one coordinate is cut,
and of all loops that a cut opens the one is taken whose parts meet most squarely in the sketch: the
sharpest crossing of two circles or lines, and the closing part's own, is nearest to a dead point. It is
the whole of the test that no position need be solved for, and no other linkage be known; should the
order fail on the way round the wheel, the next best is tried.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import fields
from functools import cached_property
from itertools import islice
from typing import Any

import numpy as np

from linkmotion.linkage.constraints import jacobian
from linkmotion.linkage.errors import LinkageError
from linkmotion.linkage.linkage import Linkage
from linkmotion.linkage.loops import Loop, Stage
from linkmotion.linkage.parts import Driven
from linkmotion.linkage.placing import LoopRecipe, Placing, Recipe
from linkmotion.linkage.plane import Points, cross
from linkmotion.linkage.steps import Meeting

Order = tuple[Recipe, ...]
_CHOICES = ((0, 0), (0, 1), (1, 0), (0, 2), (2, 0), (1, 1))  # ranks of the loops cut first and second, tried in turn
_SEEN = 3  # variants of a linkage by which loops are ranked
_WHEEL = np.array([0.0, 1.0, 1j, -1.0, -1j])  # the cranks at rest in the sketch, and at the quarters
_AS_SQUARE = 0.9  # of the squarest: loops that are as good
_KEPT = 256  # linkages whose orders are kept


def make(linkage: Linkage, order: Order) -> list[Stage]:
    """The stages of a linkage, with its dimensions, in solving order.

    Parameters
    ----------
    linkage : Linkage
        Of any variants.
    order : Order
        Found for a linkage joined alike: by :func:`orders_to_try`.
    """
    sketch = linkage.sketch
    return [recipe.make(linkage, sketch) for recipe in order]


def _least_squareness(loop: Loop, x: Points) -> float:
    """How squarely the parts of a loop meet where the pins stand at ``x``: 1 where all are square, 0 at a dead point.

    The least over all positions; 0 also where the loop passes from one side of a dead point to the other.
    """
    with np.errstate(all="ignore"):  # at a dead point anything may come out
        found = [_crossing(step, x) for step in loop.steps if isinstance(step, Meeting)]
        slope, moves = loop.slope(x)
        most = sum(np.abs(g) * np.abs(moves[pin]) for pin, g in loop.gradient if moves[pin] is not None)
        found.append(np.abs(slope) / most)
        worst = min(float(np.min(each)) for each in found)
        return worst if worst > 0 and np.min(slope) * np.max(slope) > 0 else 0.0  # 0 if not a number


def _crossing(step: Meeting, x: Points) -> Any:
    """Sine of the angle at which a step's parts cross, and as much less as they hold other pins more than this one."""
    one, other = ({pin: pull for pin, pull in tie.pulls(x)} for tie in (step.first, step.second))
    most = [np.max(np.abs(np.broadcast_arrays(*pulls.values())), axis=0) for pulls in (one, other)]
    return np.abs(cross(one[step.pin], other[step.pin])) / (most[0] * most[1])


class _Branch:
    """How an order can go on with some pins placed: steps, then loops of which one must be cut."""

    def __init__(self, state: Placing) -> None:
        steps: list[Recipe] = []
        while state.lost and not state.closings() and (step := next(state.steps(), None)) is not None:
            steps.append(step)
            state = state.after(step)
        self.steps, self.state = tuple(steps), state
        self._beyond: dict[LoopRecipe, _Branch] = {}

    @cached_property
    def loops(self) -> list[LoopRecipe]:
        """The loops; none when every pin is placed."""
        if closings := self.state.closings():
            raise LinkageError(f"{closings[0].of(self.state.linkage).name}: held too much, nothing is left to move")
        if not self.state.lost:
            return []
        found = list(dict.fromkeys(self.state.loops()))
        if not found:
            raise LinkageError(_stuck(self.state))
        return found

    def beyond(self, loop: LoopRecipe) -> _Branch:
        """How it goes on when a loop has been closed."""
        if loop not in self._beyond:
            self._beyond[loop] = _Branch(self.state.after_loop(loop))
        return self._beyond[loop]


def _stuck(state: Placing) -> str:
    """Why nothing can be placed and no loop be cut: too few parts, too many, or two cuts wanted at once.

    Told by the rank of the equations, the pins standing somewhere near the sketch.
    """
    linkage, lost = state.linkage.picked([0]), state.lost
    sketch = np.array([complex(np.ravel(place)[0]) for place in linkage.sketch])
    away = np.random.default_rng(1).random((2, sketch.size)) * (0.1 * np.ptp(np.abs(sketch)) + 1.0)
    matrix, rows, pins = jacobian(linkage, list(sketch + away[0] + 1j * away[1]))
    sizes, ways = np.linalg.svd(matrix.reshape(len(rows), -1))[1:]
    rank = int(np.sum(sizes > 1e-9))
    loose = np.abs(ways[rank:]).reshape(-1, len(pins), 2).max(axis=(0, 2), initial=0.0) > 1e-6
    if loose.any():
        return f"nothing determines {', '.join(np.array(pins)[loose])}: a part is missing"
    held = ", ".join(list(linkage.names)[pin] for pin in lost)
    if len(rows) > rank:
        return f"{held}: held too much, nothing is left to move"
    return f"{held}: two coordinates would have to be cut at once, and one can be; drive the linkage at another pin"


_branches: dict[Any, _Branch] = {}  # by what is joined to what, of which they are a function
_orders: dict[Any, Order] = {}  # the best, by all of a linkage, of which it is a function


def orders_to_try(linkage: Linkage) -> Iterator[Order]:
    """Orders of solution of a linkage, the best first; they depend on nothing but the linkage.

    Parameters
    ----------
    linkage : Linkage
        As declared; of many variants a few are looked at.

    Raises
    ------
    LinkageError
        When the linkage is held too little or too much, or two coordinates would have to be cut at once.
    """
    key = (*linkage.names, *map(_hashable, linkage.near), *map(_hashable, linkage.parts))
    best = _orders.pop(key, None) or next(_sought(linkage))
    if len(_orders) >= _KEPT:
        del _orders[next(iter(_orders))]
    _orders[key] = best
    yield best
    yield from islice(_sought(linkage), 1, None)


def _hashable(value: Any) -> Any:
    """Itself, or where arrays are in it something that is the same for the same figures."""
    try:
        hash(value)
        return value
    except TypeError:
        if isinstance(value, np.ndarray):
            return (value.shape, value.tobytes())
        own = value if isinstance(value, tuple) else (type(value), *(getattr(value, f.name) for f in fields(value)))
        return tuple([_hashable(each) for each in own])


def _sought(linkage: Linkage) -> Iterator[Order]:
    linkage = linkage.picked(np.unique(np.linspace(0, linkage.variants - 1, _SEEN).astype(int)))
    joined = (tuple(linkage.names), tuple(part.joined for part in linkage.parts))
    root = _branches.get(joined)
    if root is None:
        root = _branches[joined] = _Branch(Placing.begun(linkage))
    found = []
    for choices in _CHOICES:
        branch, order, wanted = root, list(root.steps), iter(choices)
        judge = _Judge(linkage)
        judge.take(root.steps)
        while branch.loops:
            choice, ranked = next(wanted, 0), judge.ranked(branch.loops)
            if choice >= len(ranked):
                break
            branch = branch.beyond(ranked[choice])
            taken = (ranked[choice], *branch.steps)
            judge.take(taken)
            order += taken
        else:
            if not any(wanted) and (told := tuple(order)) not in found:
                found.append(told)
                yield told


class _Judge:
    """Ranks loops by how squarely their parts meet, in the sketch and with the wheel at its quarters.

    Where the pins stand then is taken to first order from the sketch: nothing need be solved.
    """

    def __init__(self, linkage: Linkage) -> None:
        self.linkage, self.sketch = linkage, [np.asarray(place, complex) for place in linkage.sketch]
        self.moves: Points = [None] * len(self.sketch)
        for part in linkage.parts:
            if isinstance(part, Driven):
                part.place(self.moves, _WHEEL)
        for pin, place in enumerate(self.moves):
            if place is not None:
                self.moves[pin] = place - self.sketch[pin]

    def take(self, recipes: Iterable[Recipe]) -> None:
        """See how the pins of steps and loops move."""
        with np.errstate(all="ignore"):  # a loop at a dead point is judged by that
            for recipe in recipes:
                stage = recipe.make(self.linkage, self.sketch)
                (stage.rates if isinstance(stage, Loop) else stage.tangent)(self.sketch, self.moves)

    def ranked(self, loops: list[LoopRecipe]) -> list[LoopRecipe]:
        """The loops, the best first.

        Of those about as square as the squarest the shortest, which costs least; then those led along a line, which
        Newton's method follows furthest from the sketch.
        """
        made = [recipe.make(self.linkage, self.sketch) for recipe in loops]
        square = [self._squareness(loop) for loop in made]
        alike = [each >= _AS_SQUARE * max(square) for each in square]
        steps = [len(loop.steps) for loop in made]
        best = min(range(len(loops)), key=lambda at: (not alike[at], steps[at], made[at].cut.turns, -square[at]))
        rest = sorted(range(len(loops)), key=lambda at: (at != best, not alike[at], made[at].cut.turns, -square[at]))
        return [loops[at] for at in rest]

    def _squareness(self, loop: Loop) -> float:
        moves = list(self.moves)
        with np.errstate(all="ignore"):  # a loop at a dead point is judged by that
            loop.rates(self.sketch, moves)
            moved = [place if move is None else place + move for place, move in zip(self.sketch, moves, strict=True)]
            return _least_squareness(loop, moved)
