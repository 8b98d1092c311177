"""What can be placed next: the closed-form steps, cuts and loops that are open with some pins placed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import Any

from linkmotion.linkage.loops import AbreastCloses, GuideCloses, GuideCut, Loop, RodCloses, SlideCloses, TurnCut
from linkmotion.linkage.parts import Abreast, Carried, Crank, Fixed, Guide, Linkage, Plate, Rod, Slide
from linkmotion.linkage.slides import Foot, RodSlide, Step, Threaded
from linkmotion.linkage.steps import Placed, Riding, RodGuide, RodRod

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


def make_step(linkage: Linkage, recipe: Recipe) -> Step:
    """Make a step of a linkage from its recipe."""
    return recipe[0](linkage, *recipe[1:])  # type: ignore[no-any-return]


@dataclass(frozen=True)
class Placing:
    """Which pins are placed, which parts are used up, and by which two pins each plate is posed."""

    linkage: Linkage
    known: frozenset[int]
    used: frozenset[int] = frozenset()
    posed: dict[int, tuple[int, int]] = field(default_factory=dict)

    def after(self, recipe: Recipe) -> Placing:
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

    def _use(self, known: frozenset[int], parts: Any, pin: int) -> Placing:
        posed = dict(self.posed)
        for index, other in parts:
            if isinstance(self.linkage.parts[index], Plate):
                posed[index] = (other, pin)
        return replace(self, known=known, used=self.used | {i for i, _ in parts}, posed=posed)

    def _unused(self) -> Iterator[tuple[int, Any]]:
        return ((i, p) for i, p in self._holders() if i not in self.used)

    def _holders(self) -> Iterator[tuple[int, Any]]:
        return ((i, p) for i, p in enumerate(self.linkage.parts) if not isinstance(p, Fixed | Crank))

    def distances(self, pin: int) -> list[tuple[int, int]]:
        """(part, placed pin) for each unused distance that holds the pin."""
        found = []
        for i, part in self._unused():
            if isinstance(part, Rod) and pin in (part.a, part.b):
                other = part.b if pin == part.a else part.a
                if other in self.known:
                    found.append((i, other))
            elif isinstance(part, Plate) and pin in part.pins and i not in self.posed:
                placed = [p for p in part.pins if p in self.known]
                if len(placed) == 1 and (placed[0], pin) not in part.huddled:
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
        yield from self._feet(pin)
        for pair in combinations(distances, 2):
            yield (RodRod, pin, *pair)
        lines = [(i, p) for i, p in self._unused() if isinstance(p, Guide | Slide)]
        for rod, other in distances:
            for i, line in lines:
                if isinstance(line, Guide):
                    if line.pin == pin:
                        yield (RodGuide, pin, (rod, other), (i, -1))
                elif line.pin == pin and {line.a, line.b} <= self.known:
                    yield (RodSlide, pin, (rod, other), (i, -1))
                elif {line.a, line.b} == {pin, other} and line.pin in self.known:
                    yield (Threaded, pin, i, rod, other)

    def _feet(self, pin: int) -> Iterator[Recipe]:
        own = [(i, p) for i, p in self._unused() if isinstance(p, Abreast | Guide) and p.pin == pin]
        blocks = [(i, p.by) for i, p in own if isinstance(p, Abreast) and p.by in self.known]
        guides = [(i, -1) for i, p in own if isinstance(p, Guide)]
        yield from ((Foot, pin, block, guide) for block in blocks for guide in guides)

    def closures(self) -> list[Recipe]:
        """Parts that hold only placed pins and have not been used: they must fit of themselves."""
        found: list[Recipe] = []
        for i, part in self._unused():
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
            elif isinstance(part, Abreast) and {part.pin, part.by} <= self.known:
                found.append((AbreastCloses, i))
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
            if not self._huddled(closures[0]):
                yield LoopRecipe(cut, _needed(self.linkage, steps, closures[0]), closures[0])
        elif not closures:
            for step in self.steps():
                yield from self.after(step)._loops(cut, (*steps, step))

    def _huddled(self, closure: Recipe) -> bool:
        """Whether the closing part would be fitted between two pins at one place, which does not tell its turning."""
        part = self.linkage.parts[closure[1]]
        return isinstance(part, Plate) and closure[2:4] in part.huddled

    def after_loop(self, loop: LoopRecipe) -> Placing:
        """The state when a loop has been closed."""
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
    if cls in (RodGuide, Foot):
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
    if cls is AbreastCloses:
        block = linkage.parts[recipe[1]]
        assert isinstance(block, Abreast)
        return {block.pin, block.by}
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
