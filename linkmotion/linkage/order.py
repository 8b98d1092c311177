"""Finding the order in which a linkage is solved, once per kind of linkage.

Pins are placed by closed-form steps while that is possible. Where it is not, every coordinate that
could be cut is tried, on the linkage itself; the cut with the best conditioning (the least
movement of any pin per unit of misfit, over the revolution) is kept, the others stand by.
The order depends on what is joined to what, and is kept under that key.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import Any

import numpy as np

from linkmotion.linkage.loops import GuideCloses, GuideCut, Loop, RodCloses, SlideCloses, TurnCut
from linkmotion.linkage.parts import Carried, Crank, Fixed, Guide, Linkage, LinkageError, Plate, Rod, Slide
from linkmotion.linkage.slides import RodSlide, Step, Threaded
from linkmotion.linkage.steps import Placed, Points, Riding, RodGuide, RodRod

Recipe = tuple[Any, ...]  # a class and the numbers it is made with: (class, pin, ...)


@dataclass(frozen=True)
class LoopRecipe:
    """How to make a Loop of a linkage."""

    cut: Recipe
    steps: tuple[Recipe, ...]
    closure: Recipe

    def make(self, linkage: Linkage) -> Loop:
        """The loop with a linkage's dimensions."""
        steps = [make_step(linkage, recipe) for recipe in self.steps]
        return Loop(self.cut[0](linkage, *self.cut[1:]), steps, self.closure[0](linkage, *self.closure[1:]))


Order = tuple[Recipe | LoopRecipe, ...]


def make_step(linkage: Linkage, recipe: Recipe) -> Step:
    """Make a step of a linkage from its recipe."""
    return recipe[0](linkage, *recipe[1:])  # type: ignore[no-any-return]


def make(linkage: Linkage, order: Order) -> list[Step | Loop]:
    """The stages of a linkage, with its dimensions, in solving order."""
    return [r.make(linkage) if isinstance(r, LoopRecipe) else make_step(linkage, r) for r in order]


@dataclass(frozen=True)
class _State:
    """Which pins are placed, which parts are used up, and by which two pins each plate is posed."""

    linkage: Linkage
    known: frozenset[int]
    used: frozenset[int] = frozenset()
    posed: dict[int, tuple[int, int]] = field(default_factory=dict)

    def after(self, recipe: Recipe) -> _State:
        """The state when the step has been taken."""
        known = self.known | {recipe[1]}
        cls, pin = recipe[0], recipe[1]
        if cls is Placed:
            return replace(self, known=known)
        if cls is Riding:
            return replace(self, known=known, used=self.used | {recipe[2]})
        if cls is Threaded:
            return self._use(known, ((recipe[3], recipe[4]), (recipe[2], -1)), pin)
        if cls is GuideCut:
            return replace(self, known=known, used=self.used | {recipe[2]})
        if cls is TurnCut:
            return self._use(known, ((recipe[2], recipe[3]),), pin)
        return self._use(known, recipe[2:4], pin)

    def _use(self, known: frozenset[int], parts: Any, pin: int) -> _State:
        posed = dict(self.posed)
        for index, other in parts:
            if isinstance(self.linkage.parts[index], Plate):
                posed[index] = (other, pin)
        return replace(self, known=known, used=self.used | {i for i, _ in parts}, posed=posed)

    def _holders(self) -> Iterator[tuple[int, Any]]:
        return ((i, p) for i, p in enumerate(self.linkage.parts) if not isinstance(p, Fixed | Crank))

    def distances(self, pin: int) -> list[tuple[int, int]]:
        """(part, placed pin) for each unused distance that holds the pin."""
        found = []
        for i, part in self._holders():
            if i in self.used:
                continue
            if isinstance(part, Rod) and pin in (part.a, part.b):
                other = part.b if pin == part.a else part.a
                if other in self.known:
                    found.append((i, other))
            elif isinstance(part, Plate) and pin in part.pins and i not in self.posed:
                placed = [p for p in part.pins if p in self.known]
                if len(placed) == 1:
                    found.append((i, placed[0]))
        return found

    def steps(self) -> Iterator[Recipe]:
        """Closed-form steps that can be taken now; one alone where a part's pose already fixes a pin."""
        for i, part in self._holders():
            if isinstance(part, Plate) and i in self.posed:
                for pin in part.pins:
                    if pin not in self.known:
                        yield (Placed, pin, i, *self.posed[i])
                        return
            if isinstance(part, Carried) and (part.pin in self.known) != (part.by in self.known):
                pin, by = (part.by, part.pin) if part.pin in self.known else (part.pin, part.by)
                yield (Riding, pin, i, by)
                return
        for pin in range(len(self.linkage.near)):
            if pin not in self.known:
                yield from self._dyads(pin)

    def _dyads(self, pin: int) -> Iterator[Recipe]:
        distances = self.distances(pin)
        for pair in combinations(distances, 2):
            yield (RodRod, pin, *pair)
        lines = [(i, p) for i, p in self._holders() if i not in self.used and isinstance(p, Guide | Slide)]
        for rod, other in distances:
            for i, line in lines:
                if isinstance(line, Guide):
                    if line.pin == pin:
                        yield (RodGuide, pin, (rod, other), (i, -1))
                elif line.pin == pin and {line.a, line.b} <= self.known:
                    yield (RodSlide, pin, (rod, other), (i, -1))
                elif {line.a, line.b} == {pin, other} and line.pin in self.known:
                    yield (Threaded, pin, i, rod, other)

    def closures(self) -> list[Recipe]:
        """Parts that hold only placed pins and have not been used: they must fit of themselves."""
        found: list[Recipe] = []
        for i, part in self._holders():
            if i in self.used:
                continue
            if isinstance(part, Rod) and {part.a, part.b} <= self.known:
                found.append((RodCloses, i, part.a, part.b))
            elif isinstance(part, Plate) and i not in self.posed:
                placed = [p for p in part.pins if p in self.known]
                found += [(RodCloses, i, placed[0], p) for p in placed[1:]]
                if len(placed) >= 3:
                    found += found[-1:]  # each pin beyond the second is held twice
            elif isinstance(part, Guide) and part.pin in self.known:
                found.append((GuideCloses, i, part.pin))
            elif isinstance(part, Slide) and {part.pin, part.a, part.b} <= self.known:
                found.append((SlideCloses, i))
        return found

    def cuts(self) -> Iterator[Recipe]:
        """Coordinates that could be cut."""
        for i, part in self._holders():
            if isinstance(part, Guide) and part.pin not in self.known:
                yield (GuideCut, part.pin, i)
        for pin in range(len(self.linkage.near)):
            if pin not in self.known:
                yield from ((TurnCut, pin, i, a) for i, a in self.distances(pin))

    def loops(self, cut: Recipe) -> Iterator[LoopRecipe]:
        """Every loop that the cut opens and that one part alone then closes."""
        yield from self.after(cut)._loops(cut, ())

    def _loops(self, cut: Recipe, steps: tuple[Recipe, ...]) -> Iterator[LoopRecipe]:
        closures = self.closures()
        if len(closures) == 1:
            yield LoopRecipe(cut, _needed(self.linkage, steps, closures[0]), closures[0])
        elif not closures:
            for step in self.steps():
                yield from self.after(step)._loops(cut, (*steps, step))

    def after_loop(self, loop: LoopRecipe) -> _State:
        state = self.after(loop.cut)
        for step in loop.steps:
            state = state.after(step)
        if loop.closure[0] is RodCloses:
            return state._use(state.known, ((loop.closure[1], loop.closure[2]),), loop.closure[3])
        return replace(state, used=state.used | {loop.closure[1]})


def _inputs(linkage: Linkage, recipe: Recipe) -> set[int]:
    cls = recipe[0]
    if cls is RodRod:
        return {recipe[2][1], recipe[3][1]}
    if cls is RodGuide:
        return {recipe[2][1]}
    if cls is RodSlide:
        line = linkage.parts[recipe[3][0]]
        assert isinstance(line, Slide)
        return {recipe[2][1], line.a, line.b}
    if cls is Placed:
        return {recipe[3], recipe[4]}
    if cls is Threaded:
        line = linkage.parts[recipe[2]]
        assert isinstance(line, Slide)
        return {recipe[4], line.pin}
    if cls is SlideCloses:
        line = linkage.parts[recipe[1]]
        assert isinstance(line, Slide)
        return {line.pin, line.a, line.b}
    return set(recipe[2:]) if cls is RodCloses else {recipe[-1]}


def _needed(linkage: Linkage, steps: tuple[Recipe, ...], closure: Recipe) -> tuple[Recipe, ...]:
    """Only the steps on which the closing part depends; the rest follow after the loop."""
    wanted, kept = _inputs(linkage, closure), []
    for step in reversed(steps):
        if step[1] in wanted:
            kept.append(step)
            wanted |= _inputs(linkage, step)
    return tuple(reversed(kept))


def _looseness(loop: Loop, x: Points) -> float:
    """Greatest movement of a pin per unit of misfit over the positions; infinite when it does not close."""
    x = list(x)
    _q, _residual, closed = loop.close(x, loop.cut.start)
    if not closed:
        return np.inf
    slope, moves = loop.slope(x)
    widest = max(np.max(np.abs(m)) for m in moves if m is not None)
    return float(max(widest, np.max(loop.cut.reach)) / np.min(np.abs(slope)))


def find_orders(linkage: Linkage, x: Points) -> list[Order]:
    """Orders of solution, best first; ``x`` holds the fixed and driven pins at some positions.

    Raises
    ------
    LinkageError
        When the linkage is held too little or too much, or no single cut opens a loop.
    """
    state = _State(linkage, frozenset(i for i, p in enumerate(x) if p is not None))
    order: list[Recipe | LoopRecipe] = []
    spare: list[Order] = []
    x = list(x)
    while len(state.known) < len(x):
        if state.closures():
            raise LinkageError(f"{_part_name(linkage, state.closures()[0])}: held too much, nothing is left to move")
        step = next(state.steps(), None)
        if step is not None:
            order.append(step)
            state = state.after(step)
            make_step(linkage, step).place(x)
            continue
        loops = list(dict.fromkeys(loop for cut in state.cuts() for loop in state.loops(cut)))
        if not loops:
            lost = [name for name, pin in linkage.names.items() if pin not in state.known]
            raise LinkageError(f"nothing determines {', '.join(lost)}: a part is missing")
        loops.sort(key=lambda loop: _looseness(loop.make(linkage), x))
        spare = [(*order, loop) for loop in loops[1:3]]
        order.append(loops[0])
        state = state.after_loop(loops[0])
        best = loops[0].make(linkage)
        best.close(x, best.cut.start)
    return [tuple(order), *(complete(linkage, begun) for begun in spare)]


def complete(linkage: Linkage, begun: Order) -> Order:
    """Finish an order whose last stage is a loop with closed-form steps."""
    state = _State(linkage, frozenset(p.pin for p in linkage.parts if isinstance(p, Fixed | Crank)))
    for stage in begun:
        state = state.after_loop(stage) if isinstance(stage, LoopRecipe) else state.after(stage)
    order = list(begun)
    while (step := next(state.steps(), None)) is not None:
        order.append(step)
        state = state.after(step)
    return tuple(order)


def _part_name(linkage: Linkage, closure: Recipe) -> str:
    part = linkage.parts[closure[1]]
    assert isinstance(part, Rod | Plate | Guide | Slide)
    return part.name
