"""Slips of the pen in a gear's figures: a point in the wrong place or a wrong sign, without which the gear would pass.

Where a loop does not close, the parts that do not meet are rarely the ones whose figure is wrong; nor does a check of
the figures that are read know which of two is. So each figure is tried ten times as great, ten times as small and with
its sign turned, all in one block; told is what lets the gear pass in every notch.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.engine import DRAWING, SideState
from linkmotion.gears import Arm, DieHeight, Gear, ReverserPosition
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.gears.reverser import figure
from linkmotion.gears.sensitivity import Key, declared, numbers, with_numbers
from linkmotion.linkage import Harmonics, Linkage, LinkageError, Wheel
from linkmotion.linkage.assembling import turned_as_can_be
from linkmotion.linkage.order import Order, orders_to_try
from linkmotion.studies.assess import assess_side
from linkmotion.valve_setting import RuleError
from linkmotion.wear.condition import SOUND

FACTORS = (10.0, 0.1, -1.0)
MOST_DEGREES = 360.0
_POSITIONS = 24  # of the wheel, to see whether a trial closes
_TRIED = 6  # trials that are turned in earnest
_MOST = 3  # that are told


@dataclass(frozen=True)
class Slip:
    """A figure, and what it would have to be.

    Attributes
    ----------
    path : tuple of str
        Of its keys, from the table's name on.
    angle : bool
        Whether it is in degrees; else in mm.
    given, instead : float
        As it stands; as it would have to be.
    """

    path: tuple[str, ...]
    angle: bool
    given: float
    instead: float

    @property
    def notch(self) -> str | None:
        """The notch whose own figure it is; None for a figure of a part."""
        return self.path[2] if self.path[1] == "notches" else None

    @property
    def key(self) -> Key:
        """Of a figure of a part."""
        return self.path[0], ".".join(self.path[1:])


def slips(setup: SideState, notch: str | None = None) -> tuple[Slip, ...]:
    """The figures that alone keep a gear from passing, by a slip of the pen.

    Parameters
    ----------
    setup : SideState
        Which cannot pass, or whose figures are wrong before it is turned.
    notch : str, optional
        In which it is known not to pass: looked at first.

    Returns
    -------
    tuple of Slip
        Three at most; first what lets the notches drive both ways, as an engine's do, and of these what moves the
        middle between the leads of both ends least from notch to notch. Empty where no single figure would do.
    """
    block = _Block(setup, [slip for slip in _sensible(setup) if notch is None or slip.notch in (None, notch)])
    for each in sorted(setup.notches, key=lambda name: name != notch):
        if block.trials:
            block.turn(each)
    sought = isinstance(setup.notches.get(notch or ""), DieHeight)  # by the reverser, which a held die does not try
    likely = (slip for at, slip in enumerate(block.ranked()) if at < _TRIED or (sought and slip.path[0] == "reversing"))
    return tuple(islice((slip for slip in likely if passes(_mended(setup, slip))), _MOST))


def slips_in_figures(setup: SideState) -> tuple[Slip, ...]:
    """The figures that alone make a gear's figures wrong before it is turned, whether or not it would pass then.

    Empty where more than three would do, none, or nothing is wrong.

    Parameters
    ----------
    setup : SideState
        Which.
    """
    found = _sensible(setup) if _wrong(setup.gear) else []
    return tuple(found) if len(found) <= _MOST else ()


def notches_passed(setup: SideState) -> tuple[str, ...]:
    """The notches in which a gear can be turned, wherever its valve stands, as far as a glance (24 positions) tells.

    Parameters
    ----------
    setup : SideState
        Its figures without a fault.
    """
    return tuple(notch for notch in setup.notches if _closes(setup, notch))


def _sensible(setup: SideState) -> list[Slip]:
    """The trials with which nothing is wrong before the gear is turned."""
    return [slip for slip in _trials(setup) if not _wrong(_with(setup.gear, slip))]


def _trials(setup: SideState) -> Iterator[Slip]:
    """Every figure of the gear and its notches; of a state on a drawing that passes only those that it says itself."""
    drawing = replace(setup, gear=setup.rack, state=DRAWING, own_notches=frozenset(), condition=SOUND)
    sound = setup.gear != setup.rack and passes(drawing)
    drawn: dict[Any, Any] = {**numbers(setup.rack), **setup.rack.notches} if sound else {}
    for key, value in numbers(setup.gear).items():
        kind = declared(setup.gear, key)
        if value and drawn.get(key) != value:
            yield from _slipped((key[0], *key[1].split(".")), kind["kind"] == "angle", float(value), kind["signed"])
    for name, notch in setup.notches.items():
        if isinstance(notch, Arm | DieHeight) and figure(notch) and drawn.get(name) != notch:
            yield from _slipped(("reversing", "notches", name), isinstance(notch, Arm), float(figure(notch)), True)


def _slipped(path: tuple[str, ...], angle: bool, value: float, signed: bool) -> Iterator[Slip]:
    for factor in FACTORS:
        if (signed or factor > 0) and not (angle and abs(value * factor) > MOST_DEGREES):
            yield Slip(path, angle, value, value * factor)


def _with(gear: Any, slip: Slip) -> Gear:
    if slip.notch is None:
        return with_numbers(gear, {slip.key: slip.instead})
    notches = gear.notches | {slip.notch: type(gear.notches[slip.notch])(slip.instead)}
    return replace(gear, reversing=replace(gear.reversing, notches=notches))  # type: ignore[no-any-return]


def _mended(setup: SideState, slip: Slip) -> SideState:
    """The state with a slip put right, and the rack's gear too where the same figure stands there."""
    drawn: Any = numbers(setup.rack).get(slip.key) if slip.notch is None else setup.rack.notches.get(slip.notch)
    alike = drawn == (slip.given if slip.notch is None else setup.notches[slip.notch])
    rack = _with(setup.rack, slip) if alike else setup.rack
    last_set = setup.last_set and (_mended(setup.last_set, slip) if alike else setup.last_set)
    return replace(setup, gear=_with(setup.gear, slip), rack=rack, last_set=last_set)


def _wrong(gear: Gear) -> bool:
    """Whether the figures are wrong before anything is turned."""
    with np.errstate(all="ignore"):
        return any(True for _fault in gear.faults())


def passes(setup: SideState) -> bool:
    """Whether a gear passes in all its notches, turned in earnest, and its valve can be set.

    Parameters
    ----------
    setup : SideState
        Its figures without a fault.
    """
    try:
        assess_side(setup)
    except (LinkageError, RuleError):
        return False
    return True


def _held(setup: SideState, notch: str) -> ReverserPosition:
    """The reverser in a notch; where the notch is a place of the die, the die held there."""
    named: Any = setup.notches[notch]
    return setup.gear.held(named) if isinstance(named, DieHeight) else named  # type: ignore[attr-defined, no-any-return]


def _closes(setup: SideState, notch: str) -> bool:
    with np.errstate(all="ignore"):
        linkage = setup.gear.declare(_held(setup, notch))
        try:
            return any(
                turned_as_can_be(linkage, order, Wheel.revolution(_POSITIONS), 1, follow=True)[1][0] == ""
                for order in orders_to_try(linkage)
            )
        except LinkageError:
            return False


class _Block:
    """Trials of one side, turned notch by notch, all at once; those that do not close in one are dropped.

    Attributes
    ----------
    trials : list of Slip
        T of them that closed so far.
    middles, speeds : float arrays, shape (T, notches turned)
        Middle between the spindle pin's places at both dead centres, mm; its speed at the front one.
    """

    def __init__(self, setup: SideState, trials: list[Slip]) -> None:
        self.setup, self.trials = setup, trials
        self.middles = self.speeds = np.empty((len(trials), 0))
        self._orders: dict[tuple[type[ReverserPosition], Slip], Order] = {}

    def turn(self, notch: str) -> None:
        """Turn all trials in one notch."""
        gear, setting = self._varied(notch)
        with np.errstate(all="ignore"):  # some of the figures mean nothing, and their trials do not close
            spindle, closed = self._closed(gear.declare(setting), type(setting))
            back = np.broadcast_to(np.ravel(gear.crank.back_crank_angle), closed.shape)
            ends = [spindle(angle) for angle in (np.zeros(closed.shape), back)]
            speed = spindle.rate()(np.zeros(closed.shape))
        self.trials = [slip for slip, kept in zip(self.trials, closed, strict=True) if kept]
        self.middles = np.column_stack([self.middles, sum(ends) / 2])[closed]
        self.speeds = np.column_stack([self.speeds, speed])[closed]

    def ranked(self) -> list[Slip]:
        """The trials, the likeliest first."""
        if not self.trials:
            return []
        one_way = (np.min(self.speeds, axis=1) > 0) | (np.max(self.speeds, axis=1) < 0)
        return [self.trials[row] for row in np.lexsort((np.ptp(self.middles, axis=1), one_way))]

    def _varied(self, notch: str) -> tuple[Gear, ReverserPosition]:
        """The gear with each trial's figure in its own row, and the reverser in a notch, which may be a trial's too."""
        values, setting = numbers(self.setup.gear), _held(self.setup, notch)
        columns: dict[Any, Any] = {}
        place = np.full((len(self.trials), 1), float(figure(setting)))
        for row, slip in enumerate(self.trials):
            if slip.notch is None:
                column = columns.setdefault(slip.key, np.full(place.shape, float(values[slip.key])))
                column[row] = slip.instead
            elif slip.notch == notch:
                place[row] = slip.instead
        return with_numbers(self.setup.gear, columns), type(setting)(place)

    def _closed(self, linkage: Linkage, kind: type[ReverserPosition]) -> tuple[Harmonics, NDArray[np.bool_]]:
        """The spindle pin along its guide in every trial, and which trials close."""
        count, wheel = len(self.trials), Wheel.revolution(_POSITIONS)
        samples, closed = np.zeros((count, _POSITIONS)), np.zeros(count, bool)
        try:
            for order in self._tried(linkage, kind):  # what one order cannot close another may
                lost = np.flatnonzero(~closed)
                if lost.size:
                    solution, told = turned_as_can_be(linkage.picked(lost), order, wheel, lost.size, follow=True)
                    samples[lost] = np.broadcast_to(solution.along(VALVE_GUIDE), (lost.size, _POSITIONS))
                    closed[lost] = told == ""
        except LinkageError:  # nothing of this linkage can be turned
            closed[:] = False
        samples[~closed] = 0.0
        return Harmonics.through(samples), closed

    def _tried(self, linkage: Linkage, kind: type[ReverserPosition]) -> Iterator[Order]:
        """The best order of every trial, judged on its own linkage: the gear as given is no guide to one that passes.

        Most are alike, and are told once; the next best of all come last. A trial keeps its order in other notches.
        """
        for row, slip in enumerate(self.trials):
            if (kind, slip) not in self._orders:
                self._orders[kind, slip] = next(orders_to_try(linkage.picked([row])))
        best = dict.fromkeys(self._orders[kind, slip] for slip in self.trials)
        yield from best
        yield from (order for order in orders_to_try(linkage) if order not in best)
