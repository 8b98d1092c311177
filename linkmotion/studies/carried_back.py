"""Readings carried back beside those that are there: what is new, what is the same, what contradicts.

Two readings are of one figure where side, kind, notch, direction, end, crank angle and spot are the same, and they came
to it alike (``turned``; where one of them does not say, it is taken to be so). Several takings of one figure are their
mean. With w = 2 sigma how far a reading may be out either way (19 in 20), two of one figure contradict where they
differ by more than w of the one and w of the other together; each may be out to its own side.

An event that was read in another unit (percent, degrees, a length) is brought to percent of the stroke by the crank and
rod of the gear, which need no valve gear to be known: exact but for the doubts of those.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from linkmotion.events import FORWARD
from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.piston import dead_centre, part_from
from linkmotion.studies.figures.figure import DEGREES, MM, PERCENT, UNITS_OF, Reading
from linkmotion.studies.row_figures import measured

_STEP = 0.25  # degrees: over which the piston's rate is taken, to bring a doubt in degrees to percent
NEW, SAME, CONTRADICTS, KEPT = "new", "same", "contradicts", "not read again"


@dataclass(frozen=True)
class Met:
    """One figure, as it is there and as it was carried back.

    Attributes
    ----------
    kept, brought : Reading or None
        Each the mean of its takings, in the unit in which both are compared; None where it was not read.
    """

    kept: Reading | None
    brought: Reading | None

    @property
    def either(self) -> Reading:
        """The one that was carried back, or else the one that is there."""
        found = self.brought or self.kept
        assert found is not None
        return found

    @property
    def apart(self) -> float:
        """By how much the one carried back is more, in their unit; 0 where there are not both."""
        return self.brought.value - self.kept.value if self.brought and self.kept else 0.0

    @property
    def allowed(self) -> float:
        """By how much they may differ: how far each may be out, together; 0 where there are not both."""
        return 2 * (self.brought.sigma + self.kept.sigma) if self.brought and self.kept else 0.0

    @property
    def verdict(self) -> str:
        """What is to be said of it."""
        if self.kept is None:
            return NEW
        if self.brought is None:
            return KEPT
        return CONTRADICTS if abs(self.apart) > self.allowed else SAME

    def row(self) -> dict[str, Any]:
        """It as a row: the figure there and as carried back, how far each may be out either way, the verdict."""
        one = self.either
        row: dict[str, Any] = {
            "side": one.side, "kind": one.what, "notch": one.notch, "direction": one.direction, "end": one.end,
            "unit": one.unit,
        }  # fmt: skip
        for name, own in (("there", self.kept), ("carried", self.brought)):
            value, within = (None, None) if own is None else (own.value, 2 * own.sigma)
            row |= {name: _told(value, one.unit), f"{name}_within": _told(within, one.unit)}
        apart, allowed = (self.apart, self.allowed) if self.kept and self.brought else (None, None)
        return row | {"apart": _told(apart, one.unit), "allowed": _told(allowed, one.unit), "verdict": self.verdict}


def _told(value: float | None, unit: str) -> float | None:
    return None if value is None else measured(value, unit)


def met(kept: Iterable[Reading], brought: Iterable[Reading], cranks: Mapping[str, CrankMotion]) -> list[Met]:
    """Set readings carried back beside those that are there.

    Parameters
    ----------
    kept, brought : iterables of Reading
        Of one engine, both sides; figures that were carried back come first, in their order.
    cranks : dict of CrankMotion
        By side: ``SideEvents.gear.crank``.
    """
    there, come = _figures(kept, cranks), _figures(brought, cranks)
    found: list[Met] = []
    taken: set[int] = set()
    for own in come:
        number = next((i for i, other in enumerate(there) if i not in taken and _alike(own, other)), None)
        if number is not None:
            taken.add(number)
        found.append(Met(None if number is None else there[number], own))
    return [*found, *(Met(own, None) for i, own in enumerate(there) if i not in taken)]


def _alike(one: Reading, other: Reading) -> bool:
    """Whether both are of one figure, and came to it alike as far as is known."""
    return _figure(one) == _figure(other) and (one.turned == other.turned or not (one.turned and other.turned))


def _figure(reading: Reading) -> tuple[object, ...]:
    own = reading
    return own.side, own.kind, own.notch, own.direction, own.end, own.at, own.spot


def _figures(readings: Iterable[Reading], cranks: Mapping[str, CrankMotion]) -> list[Reading]:
    """Each figure once, the mean of its takings, events in percent of the stroke."""
    groups: dict[tuple[object, ...], list[Reading]] = {}
    for reading in readings:
        own = _in_percent(reading, cranks[reading.side])
        groups.setdefault((*_figure(own), own.turned), []).append(own)
    return [_mean(takings) for takings in groups.values()]


def _mean(takings: list[Reading]) -> Reading:
    """The mean of several takings, as near as they would be if none leaned on another."""
    values, sigmas = [one.value for one in takings], [one.sigma for one in takings]
    return replace(takings[0], value=float(np.mean(values)), sigma=float(np.linalg.norm(sigmas)) / len(takings))


def _in_percent(reading: Reading, crank: CrankMotion) -> Reading:
    if PERCENT not in UNITS_OF[reading.kind] or reading.unit == PERCENT:
        return reading
    if reading.unit == MM:
        front, back = crank.limits
        per = 100.0 / (float(front) - float(back))
        return replace(reading, unit=PERCENT, value=reading.value * per, sigma=reading.sigma * per)
    assert reading.unit == DEGREES
    percent = _percent_at(reading, crank)
    rate = (percent(reading.value + _STEP) - percent(reading.value - _STEP)) / (2 * _STEP)
    return replace(reading, unit=PERCENT, value=percent(reading.value), sigma=reading.sigma * abs(rate))


def _percent_at(reading: Reading, crank: CrankMotion) -> Callable[[float], float]:
    """Percent of the stroke that the piston stands from the reading's end so many degrees past its dead centre."""
    way = 1 if reading.direction == FORWARD else -1
    dead = dead_centre(crank, reading.end, reading.direction == FORWARD)
    return lambda past: 100 * float(part_from(crank, reading.end, way * (dead + np.radians(past))))
