"""An engine ready to be moved: every state's motion as tables, and what each of its differences does alone."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.engine import DRAWING, Engine, SideState
from linkmotion.gears import Gear
from linkmotion.gears.reverser import Arm, DieHeight, Stop
from linkmotion.gears.sensitivity import numbers
from linkmotion.linkage import LinkageError
from linkmotion.studies.assess import NotchError, SideEvents, afresh_at, place_of
from linkmotion.studies.motion_table import GOOD, Motion, motion_at, nodes_for, settings_at
from linkmotion.studies.page_case import Item, Memory, PageCase
from linkmotion.studies.which_wear import NEAR, PLACE, differences
from linkmotion.valve_setting import RuleError, staying
from linkmotion.wear.condition import SOUND
from linkmotion.wear.effects import worn

REST = "what else differs"


@dataclass(frozen=True, eq=False)
class PageData:
    """An engine ready to be moved.

    Attributes
    ----------
    reverser : type
        Arm (degrees), DieHeld (mm) or Stop (number of the stop).
    nodes : float array, shape (U,)
        Reverser positions tabulated, from the greatest to the least.
    cases : tuple of PageCase
        The drawing first, its sides apart where they are drawn unlike.
    left_out : dict
        State → why it cannot be shown: an error, or words.
    """

    engine: Engine
    reverser: type[Any]
    nodes: NDArray[Any]
    cases: tuple[PageCase, ...]
    left_out: dict[str, LinkageError | str]

    def drawn(self, side: str) -> PageCase:
        """A side as drawn.

        Parameters
        ----------
        side : str
            By its name.
        """
        return next(case for case in self.cases if case.state == DRAWING and side in case.sides)


def page_data(
    engine: Engine,
    states: Iterable[str] | None = None,
    progress: Callable[[int, int | None], None] | None = None,
) -> PageData:
    """Tabulate an engine's motion: the drawing, and the states wanted.

    Parameters
    ----------
    engine, states : Engine, iterable of str, optional
        As read; by name, all unless given.
    progress : callable, optional
        Called with the number of steps done, and None: how many there are shows as they are taken.

    Raises
    ------
    NotchError
        The drawing cannot be turned. A state that cannot is left out, and told.
    """
    steps = _in_steps(engine, states)
    done = 0
    while True:
        try:
            next(steps)
            done += 1
            if progress is not None:
                progress(done, None)
        except StopIteration as end:
            return end.value  # type: ignore[no-any-return]


def _in_steps(engine: Engine, states: Iterable[str] | None) -> Generator[None, None, PageData]:
    """As :func:`page_data`, a little at a time, so that it can be told how far it is, and stopped."""
    memory = Memory()
    wanted = tuple(states) if states is not None else engine.state_names
    apart = _apart(engine, DRAWING)
    drawn = {side: memory.side(engine.side_state(DRAWING, sides[0])) for sides in apart for side in sides}
    kind = type(drawn[engine.sides[0]].settings[0])
    found, left_out = _found(engine, (state for state in wanted if state != DRAWING), drawn, memory)
    yield
    nodes = nodes_for(kind, [*(drawn[sides[0]] for sides in apart), *(side for _, _, side in found)])
    cases: list[PageCase] = []
    bases: dict[str, tuple[SideState, PageCase]] = {}
    for sides in apart:
        drawing = _racked(engine.side_state(DRAWING, sides[0]), drawn[sides[0]])
        cases.append(memory.case(drawing, drawn[sides[0]], nodes, sides))
        sound = drawing.altered(condition=SOUND)  # what differs is measured from a sound engine
        is_sound = drawing.condition.sound
        base = cases[-1] if is_sound else memory.case(sound, memory.side(sound), nodes, sides)
        bases |= {side: (replace(drawing, side=side), base) for side in sides}
    for sides, setup, side in found:
        yield
        drawing, base = bases[sides[0]]
        try:
            case = memory.case(setup, side, nodes, sides)
            cases.append((yield from _with_items(base, drawing, setup, case)))
        except LinkageError as error:
            left_out[setup.state] = error
    shown = tuple(case for case in cases if case.state not in left_out)
    return PageData(engine, kind, nodes, shown, left_out)


def _found(
    engine: Engine, states: Iterable[str], drawn: Mapping[str, SideEvents], memory: Memory
) -> tuple[list[tuple[tuple[str, ...], SideState, SideEvents]], dict[str, LinkageError | str]]:
    """States as they stand, sides apart where they differ; and why some cannot be shown."""
    found: list[tuple[tuple[str, ...], SideState, SideEvents]] = []
    left_out: dict[str, LinkageError | str] = {}
    for state in states:
        apart = _apart(engine, state)
        setups = {sides: _racked(engine.side_state(state, sides[0]), drawn[sides[0]]) for sides in apart}
        try:
            own = [(sides, setup, memory.side(setup)) for sides, setup in setups.items()]
        except NotchError as error:
            left_out[state] = error
            continue
        kind = type(drawn[engine.sides[0]].settings[0])
        if any(type(setting) is not kind for *_, side in own for setting in side.settings):
            left_out[state] = "its reverser works otherwise than the drawing's"
            continue
        found += own
    return found, left_out


def _racked(setup: SideState, drawn: SideEvents) -> SideState:
    """The setup with the rack's notches as the arm angles that were found for them on the drawing, once for all."""
    arms = dict(zip(drawn.notches, drawn.settings, strict=True))
    notches = {
        name: arm
        for name, notch in setup.notches.items()
        if isinstance(notch, DieHeight) and name not in setup.own_notches and isinstance(arm := arms.get(name), Arm)
    }
    if not notches:
        return setup
    reversing = setup.gear.reversing  # type: ignore[attr-defined]
    gear = replace(setup.gear, reversing=replace(reversing, notches={**reversing.notches, **notches}))  # type: ignore[call-arg]
    return replace(setup, gear=gear)


def _apart(engine: Engine, state: str) -> list[tuple[str, ...]]:
    """Sides that need looking at apart."""
    first, *others = (engine.side_state(state, side) for side in engine.sides)
    return [engine.sides] if all(own.alike(first) for own in others) else [(side,) for side in engine.sides]


def _with_items(base: PageCase, drawn: SideState, found: SideState, case: PageCase) -> Generator[None, None, PageCase]:
    """A state with what each of its differences from the drawing does alone."""
    if case.quantities != base.quantities or case.gear.valve.admission != base.gear.valve.admission:
        return case  # other parts: nothing can be laid over the drawing's motion
    items, whole = [], case.motion - base.motion
    rest, left = whole, False
    for name, alone in _alone(drawn, found, base, case):
        yield
        try:
            change = _motion_alone(alone, base) - base.motion
        except (LinkageError, RuleError, TypeError):  # a figure that means nothing without another beside it
            left = True
            continue
        items.append(Item(name, change, *_amount(drawn.gear, alone.gear)))
        rest = rest - change
    if (left or len(items) < 2) and _size(rest) > GOOD:
        return replace(case, items=(*items, Item(REST, rest)))
    return replace(case, items=tuple(items), rest=rest if items else None)


def _motion_alone(alone: SideState, base: PageCase) -> Motion:
    """The motion of the drawing with one difference, its valve left where the drawing has it unless that differs."""
    condition = alone.condition.cold
    gear = worn(alone.gear, condition)
    stops = tuple(gear.notches[name] for name in alone.notches if isinstance(gear.notches.get(name), Stop))
    settings = settings_at(type(base.side.settings[0]), base.nodes, stops)
    central = base.central_at if alone.gear.valve.central_at is None else place_of(alone)
    return motion_at(gear, condition, settings, (central, afresh_at(alone)), (base.gear, base.motion))


def _alone(drawn: SideState, found: SideState, base: PageCase, case: PageCase) -> Iterator[tuple[str, SideState]]:
    """Each difference by itself on the drawing."""
    yield from ((name, alone) for name, alone, _without in differences(drawn, found))
    if abs(case.central_at - base.central_at) > NEAR:
        yield PLACE, replace(drawn, gear=staying(drawn.gear, case.central_at), condition=SOUND)


def _amount(drawn: Gear, found: Gear) -> tuple[float | None, bool]:
    """The one dimension that differs: by how much, and whether it is an angle."""
    before, now = numbers(drawn), numbers(found)
    for key, value in now.items():
        if value != before.get(key):
            return (value - before[key] if key in before else None), key[1].endswith(("angle", "inclination"))
    return None, False


def _size(motion: Motion) -> float:
    return float(np.max(np.sum(np.abs(motion.series), axis=-1)))
