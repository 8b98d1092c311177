"""Slips of the pen in a gear's figures: a point in the wrong place or a wrong sign, without which the gear would pass.

Where a loop does not close, the parts that do not meet are rarely the ones whose figure is wrong. So each figure is
tried ten times as great, ten times as small and with its sign turned, all in one block; told is what lets the gear
pass in every notch.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from linkmotion.engine import SideState
from linkmotion.events import FORWARD
from linkmotion.gears import DieHeight, Gear, ReverserPosition
from linkmotion.gears.sensitivity import Key, declared, numbers, with_numbers
from linkmotion.linkage import Linkage, LinkageError, Wheel
from linkmotion.linkage.assembling import turned_as_can_be
from linkmotion.linkage.order import Order, orders_to_try
from linkmotion.studies.assess import assess_side
from linkmotion.valve_setting import RuleError

FACTORS = (10.0, 0.1, -1.0)
_POSITIONS = 24  # of the wheel, to see whether a trial closes
_TRIED = 24  # trials that are turned in earnest
_MOST = 3  # that are told


@dataclass(frozen=True)
class Slip:
    """A figure, and what it would have to be; mm or degrees."""

    key: Key
    given: float
    instead: float


def slips(setup: SideState) -> tuple[Slip, ...]:
    """The figures that alone keep a gear from passing, by a slip of the pen.

    Parameters
    ----------
    setup : SideState
        Which cannot pass.

    Returns
    -------
    tuple of Slip
        Three at most, first what makes the leads of both ends most nearly alike; empty where no single figure
        would do.
    """
    drawn = numbers(setup.rack) if setup.gear != setup.rack else {}  # a state is wrong in what it says itself
    own = (slip for slip in _trials(setup.gear) if drawn.get(slip.key) != slip.given)
    trials = [slip for slip in own if not _wrong(_with(setup.gear, slip))]
    trials.sort(key=lambda slip: slip.key[0] != "reversing")  # first what the held die does not try
    for notch in setup.notches:
        told = _told(setup, notch, trials) if trials else []
        trials = [slip for slip, why in zip(trials, told, strict=True) if why == ""]
    uneven = [(_unevenness(_mended(setup, slip)), slip) for slip in trials[:_TRIED]]
    passing = sorted((each for each in uneven if np.isfinite(each[0])), key=lambda each: each[0])
    return tuple(slip for _uneven, slip in passing[:_MOST])


def notches_passed(setup: SideState) -> tuple[str, ...]:
    """The notches in which a gear can be turned, wherever its valve stands, as far as a glance tells."""
    return tuple(notch for notch in setup.notches if _told(setup, notch, [])[0] == "")


def _trials(gear: Gear) -> Iterator[Slip]:
    for key, value in numbers(gear).items():
        kind = declared(gear, key)
        most = 360.0 if kind["kind"] == "angle" else np.inf
        for factor in FACTORS if value else ():
            if abs(value * factor) <= most and (factor > 0 or kind["signed"]):
                yield Slip(key, float(value), float(value) * factor)


def _with(gear: Gear, slip: Slip) -> Gear:
    return with_numbers(gear, {slip.key: slip.instead})


def _mended(setup: SideState, slip: Slip) -> SideState:
    """The state with a slip put right, and the rack's gear too where the same figure stands there."""
    alike = numbers(setup.rack).get(slip.key) == slip.given
    return replace(setup, gear=_with(setup.gear, slip), rack=_with(setup.rack, slip) if alike else setup.rack)


def _wrong(gear: Gear) -> bool:
    """Whether the figures are wrong before anything is turned."""
    with np.errstate(all="ignore"):
        return any(True for _fault in gear.faults())


def _told(setup: SideState, notch: str, trials: list[Slip]) -> Any:
    """Why each trial cannot be turned in a notch, "" where it can be; without trials, of the gear as it is."""
    values, count = numbers(setup.gear), max(len(trials), 1)
    columns = {key: np.full((count, 1), float(values[key])) for key in dict.fromkeys(s.key for s in trials)}
    for row, slip in enumerate(trials):
        columns[slip.key][row] = slip.instead
    told = np.full(count, "a part is missing", object)
    with np.errstate(all="ignore"):  # some of the figures mean nothing, and their trials are told
        linkage = with_numbers(setup.gear, columns).declare(_held(setup, notch))
        try:
            for order in _orders(linkage, count):  # what one order cannot close another may
                lost = np.flatnonzero(told != "")
                if lost.size:
                    wheel = Wheel.revolution(_POSITIONS)
                    told[lost] = turned_as_can_be(linkage.picked(lost), order, wheel, lost.size, follow=True)[1]
        except LinkageError as error:
            return [str(error)] * count
    return told


def _orders(linkage: Linkage, count: int) -> Iterator[Order]:
    """The best order of every trial, judged on its own linkage: the gear as given is no guide to one that passes.

    Most are alike, and are told once; the next best of all come last.
    """
    best = dict.fromkeys(next(orders_to_try(linkage.picked([row]))) for row in range(count))
    yield from best
    yield from (order for order in orders_to_try(linkage) if order not in best)


def _held(setup: SideState, notch: str) -> ReverserPosition:
    """The reverser in a notch; where the notch is a place of the die, the die held there."""
    named: Any = setup.notches[notch]
    return setup.gear.held(named) if isinstance(named, DieHeight) else named  # type: ignore[attr-defined, no-any-return]


def _unevenness(setup: SideState) -> float:
    """Greatest difference between the leads of the ends, mm; without end where the gear does not pass in earnest."""
    try:
        front, back = assess_side(setup).events[FORWARD].values()
    except (LinkageError, RuleError):
        return np.inf
    return float(np.nan_to_num(np.max(np.abs(front.lead - back.lead)), nan=np.inf))
