"""What can be placed next: the closed-form steps, cuts and loops that are open with some pins placed.

All of it goes by what is joined to what; no dimension is looked at (but whether two pins of a part stand apart).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import TYPE_CHECKING

from linkmotion.linkage.loops import Cut, Loop
from linkmotion.linkage.parts import Driven, Holder, Tie
from linkmotion.linkage.plane import Points
from linkmotion.linkage.steps import Carrying, Meeting, Step

if TYPE_CHECKING:
    from linkmotion.linkage.linkage import Linkage


@dataclass(frozen=True, slots=True)
class Hold:
    """The number of a part, and the pins of the equation by which it holds or takes along one of them."""

    part: int
    pins: tuple[int, ...]

    def of(self, linkage: Linkage) -> Holder:
        """The part.

        Parameters
        ----------
        linkage : Linkage
            Joined as the one that this was found for.
        """
        part = linkage.parts[self.part]
        assert isinstance(part, Holder)
        return part

    def tie(self, linkage: Linkage) -> Tie:
        """The equation, with a linkage's dimensions.

        Parameters
        ----------
        linkage : Linkage
            Joined as the one that this was found for.
        """
        return self.of(linkage).tie(self.pins)


@dataclass(frozen=True, slots=True)
class TakeAlong:
    """How to make a step in which a part takes a pin along by placed pins."""

    pin: int
    holds: tuple[Hold]

    def make(self, linkage: Linkage, sketch: Points) -> Step:
        """The step with a linkage's dimensions.

        Parameters
        ----------
        linkage : Linkage
            Joined as the one that this was found for.
        sketch : list
            Places of its pins in the sketch; not looked at by such a step.
        """
        (hold,) = self.holds
        return Carrying(hold.of(linkage), self.pin, hold.pins)


@dataclass(frozen=True, slots=True)
class Meet:
    """How to make a step in which two parts hold a pin between placed pins."""

    pin: int
    holds: tuple[Hold, Hold]

    def make(self, linkage: Linkage, sketch: Points) -> Step:
        """The step with a linkage's dimensions.

        Parameters
        ----------
        linkage : Linkage
            Joined as the one that this was found for.
        sketch : list of complex arrays
            Places of its pins in the sketch, mm, by which the branch is chosen.
        """
        return Meeting.of(self.pin, (hold.tie(linkage) for hold in self.holds), sketch)


StepRecipe = TakeAlong | Meet


@dataclass(frozen=True, slots=True)
class LoopRecipe:
    """How to make a loop: the pin that is led along a part, the steps, and the part that closes."""

    pin: int
    led: Hold
    steps: tuple[StepRecipe, ...]
    closing: Hold

    def make(self, linkage: Linkage, sketch: Points) -> Loop:
        """The loop with a linkage's dimensions.

        Parameters
        ----------
        linkage, sketch
            As for :meth:`Meet.make`.
        """
        cut = Cut(self.pin, self.led.tie(linkage), sketch)
        return Loop(cut, [step.make(linkage, sketch) for step in self.steps], self.closing.tie(linkage))


Recipe = StepRecipe | LoopRecipe


@dataclass(frozen=True)
class Placing:
    """Which pins are placed, and which parts are used up, each with the pins of its equation."""

    linkage: Linkage
    placed: frozenset[int]
    used: Mapping[int, tuple[int, ...]] = field(default_factory=dict)

    @classmethod
    def begun(cls, linkage: Linkage) -> Placing:
        """With the pins placed that need no solving.

        Parameters
        ----------
        linkage : Linkage
            As declared.
        """
        return cls(linkage, frozenset(part.pin for part in linkage.parts if isinstance(part, Driven)))

    def after(self, *taken: StepRecipe) -> Placing:
        """The state when steps have been taken."""
        state = self
        for step in taken:
            state = state._with((step.pin,), *step.holds)
        return state

    def after_loop(self, loop: LoopRecipe) -> Placing:
        """The state when a loop has been closed.

        Parameters
        ----------
        loop : LoopRecipe
            One of :meth:`loops`.
        """
        return self._with((loop.pin,), loop.led).after(*loop.steps)._with((), loop.closing)

    def _with(self, pins: tuple[int, ...], *holds: Hold) -> Placing:
        used = {hold.part: hold.pins for hold in holds} | dict(self.used)
        return replace(self, placed=self.placed.union(pins), used=used)

    @property
    def lost(self) -> list[int]:
        """Pins that are not placed yet."""
        return [pin for pin in range(len(self.linkage.near)) if pin not in self.placed]

    def unused(self) -> Iterator[tuple[int, Holder]]:
        """Parts that hold pins and are not used yet, by number."""
        return ((i, p) for i, p in enumerate(self.linkage.parts) if isinstance(p, Holder) and i not in self.used)

    def _holds(self, pin: int) -> list[Hold]:
        found = ((i, part.holding(pin, self.placed)) for i, part in self.unused())
        return [Hold(i, pins) for i, pins in found if pins is not None]

    def steps(self) -> Iterator[StepRecipe]:
        """Closed-form steps that can be taken now; one alone where a part takes a pin along."""
        for i, part in enumerate(self.linkage.parts):
            if isinstance(part, Holder) and (taken := part.takes(self.placed, self.used.get(i))) is not None:
                yield TakeAlong(taken[0], (Hold(i, taken[1]),))
                return
        for pin in self.lost:
            for one, other in combinations(self._holds(pin), 2):
                if one.of(self.linkage).meets(pin, other.pins) and other.of(self.linkage).meets(pin, one.pins):
                    yield Meet(pin, (one, other))

    def closings(self) -> list[Hold]:
        """Parts that hold only placed pins and have not been used: they must fit of themselves."""
        return [Hold(i, pins) for i, part in self.unused() for pins in part.closing(self.placed)]

    def loops(self) -> Iterator[LoopRecipe]:
        """Every loop that a cut opens and that one part alone then closes."""
        for pin in self.lost:
            for led in self._holds(pin):
                if led.of(self.linkage).leads:
                    yield from self._with((pin,), led)._loops(pin, led, ())

    def _loops(self, pin: int, led: Hold, steps: tuple[StepRecipe, ...]) -> Iterator[LoopRecipe]:
        closings = self.closings()
        if len(closings) == 1:
            if closings[0].of(self.linkage).tells(closings[0].pins):
                yield LoopRecipe(pin, led, _needed(steps, closings[0]), closings[0])
        elif not closings:
            for step in self.steps():
                yield from self.after(step)._loops(pin, led, (*steps, step))


def _needed(steps: tuple[StepRecipe, ...], closing: Hold) -> tuple[StepRecipe, ...]:
    """Only the steps on which the closing part depends; the rest follow after the loop."""
    wanted, kept = set(closing.pins), []
    for step in reversed(steps):
        if step.pin in wanted:
            kept.append(step)
            wanted.update(pin for hold in step.holds for pin in hold.pins)
    return tuple(reversed(kept))
