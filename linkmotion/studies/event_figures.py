"""Figures of the events that studies differentiate and spread, and the dimensions on which they depend."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import EVENTS, EndEvents
from linkmotion.gears import Arm, DieHeld, Gear, Setting
from linkmotion.gears.sensitivity import Key, numbers
from linkmotion.studies.assess import SideEvents
from linkmotion.valve import ENDS

CENTRAL: Key = ("valve", "central_at")
REVERSER: dict[type[Any], Key] = {Arm: ("reversing", "arm angle"), DieHeld: ("reversing", "die place")}
END_FIGURES = ("lead", *EVENTS, "opening")


@dataclass(frozen=True)
class Figure:
    """One figure of the events: which notch, direction of running, end, and what.

    ``what`` is "lead" or "opening" (mm), an event (percent of stroke), or "travel" (mm; no end and no
    direction).
    """

    notch: str
    running: str
    end: str
    what: str

    @property
    def unit(self) -> str:
        """Unit: "percent" (of stroke) or "mm"."""
        return "percent" if self.what in EVENTS else "mm"

    def __str__(self) -> str:
        """In words: end, what, notch, direction."""
        words = f"{self.end} {self.what}, {self.notch}".strip()
        return f"{words}, running {self.running}" if self.running else words


def dimensions_of(gear: Gear, setting: Setting) -> tuple[Key, ...]:
    """Every dimension that the events may depend on."""
    reverser = (REVERSER[type(setting)],) if type(setting) in REVERSER else ()
    return tuple(dict.fromkeys((*numbers(gear), *reverser, CENTRAL)))


def figures_of(side: SideEvents, notches: Iterable[str] | None = None) -> tuple[Figure, ...]:
    """The figures of some notches, in the directions in which these drive the engine."""
    found: list[Figure] = []
    for notch in side.notches if notches is None else notches:
        ways = side.driven(side.notches.index(notch))
        found += [Figure(notch, way, end, what) for way in ways for end in ENDS for what in END_FIGURES]
        found.append(Figure(notch, "", "", "travel"))
    return tuple(found)


def values_of(
    events: dict[str, dict[str, EndEvents]], ways: Iterable[str], travel: NDArray[Any]
) -> list[NDArray[np.float64]]:
    """The figures of one notch in the order of :func:`figures_of`, shape (S,) each."""
    return [
        getattr(own, what) if hasattr(own, what) else own.percent[what]
        for way in ways
        for own in events[way].values()
        for what in END_FIGURES
    ] + [travel]
