"""Is it right? Every figure that has a target, notch by end and side, shaded by how far it is out of it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from linkmotion.sides import BOTH, side_words
from linkmotion.studies.assess import Assessment, SideEvents
from linkmotion.studies.doubts.event_doubts import EventDoubts
from linkmotion.studies.figures.figure import end_figure
from linkmotion.targets import Targets
from linkmotion.valve import ENDS
from linkmotion.views.compare_view import ENDS_APART, SIDES_APART
from linkmotion.views.doubt_words import doubt_words
from linkmotion.views.tables import Shown

Doubts = Mapping[str, EventDoubts]

OFF_WANTED = "∓"
_STEPS = (1.0, 2.0, 4.0)  # times the target at which the shade deepens
_HEADS = {"lead": "lead", "cutoff": "cutoff", "lost": "lost motion"}


@dataclass(frozen=True)
class Cell:
    """A figure of the matrix.

    Attributes
    ----------
    text : str
        The figure.
    times : float
        How many times the target it is off by what the target is of; 0 where nothing can be told.
    marks : str
        What is out: between the ends, between the sides, from what is wanted.
    doubt : str
        As "± 0.20", right 19 times in 20; "" where none is known.
    """

    text: str
    times: float
    marks: str = ""
    doubt: str = ""

    @property
    def shade(self) -> int:
        """0 within the target, 1 to 3 the further out."""
        return sum(self.times > step for step in _STEPS)

    @property
    def told(self) -> str:
        """How many times its target, where it is out."""
        digits = 1 if self.times >= 1.05 else 2
        return f"{self.marks} {self.times:.{digits}f}×".strip() if self.shade else ""


@dataclass(frozen=True)
class Row:
    """A notch in a direction."""

    notch: str
    direction: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Matrix:
    """Groups of columns (what is held, with its unit), the sides under each, the ends under each, and the rows."""

    groups: tuple[tuple[str, str, int], ...]
    sides: tuple[str, ...]
    rows: tuple[Row, ...]


def matrix_of(a: Assessment, shown: Shown, doubts: Doubts | None = None) -> Matrix:
    """The matrix of a state: sides that are alike share their columns.

    Parameters
    ----------
    a, shown : Assessment, Shown
        The state; how lengths are told.
    doubts : dict of EventDoubts, optional
        Of each side, where doubts are known.
    """
    sides, targets = a.distinct_sides, a.engine.targets
    names = (side_words(BOTH),) if a.alike else tuple(side.side for side in sides)
    first = sides[0]
    rows = [
        Row(notch, way, tuple(_cells(sides, i, way, targets, shown, doubts or {})))
        for i, notch in enumerate(first.notches)
        for way in first.driven(i)
    ]
    each = len(sides)
    groups = (
        (_HEADS["lead"], shown.unit, 2 * each), (_HEADS["cutoff"], "%", 2 * each), (_HEADS["lost"], shown.unit, each)
    )  # fmt: skip
    return Matrix(groups, names, tuple(rows))


def _cells(
    sides: tuple[SideEvents, ...], i: int, way: str, targets: Targets, shown: Shown, doubts: Doubts
) -> Iterator[Cell]:
    drives = sides[0].drives[i]
    for what in ("lead", "cutoff"):
        limits = {between: targets.apart(what, between, drives) for between in ("ends", "sides")}
        values = {(side.side, end): _value(side, i, way, end, what) for side in sides for end in ENDS}
        for side in sides:
            for end in ENDS:
                own, fellow = values[side.side, end], values[side.side, ENDS[end == ENDS[0]]]
                off = {ENDS_APART: abs(own - fellow) / limits["ends"]}
                for other in sides:
                    if other is not side:
                        off[SIDES_APART] = abs(own - values[other.side, end]) / limits["sides"]
                if what == "lead" and targets.lead is not None:
                    off[OFF_WANTED] = abs(own - targets.lead) / targets.lead_within
                show = shown.length if what == "lead" else shown.percent
                figure = end_figure(what, side.notches[i], way, end)
                doubt = doubt_words(doubts.get(side.side), figure, shown)
                yield _cell(show(None if math.isnan(own) else own), off, doubt)
    for side in sides:
        lost = float(side.lost[i].max())
        yield _cell(shown.length(lost), {"": lost / targets.lost_motion})


def _cell(text: str, off: dict[str, float], doubt: str = "") -> Cell:
    told = {mark: times for mark, times in off.items() if not math.isnan(times)}
    return Cell(
        text, max(told.values(), default=0.0), "".join(mark for mark, times in told.items() if times > 1.0), doubt
    )


def _value(side: SideEvents, i: int, way: str, end: str, what: str) -> float:
    own = side.events[way][end]
    return float(own.lead[i] if what == "lead" else own.percent["cutoff"][i])
