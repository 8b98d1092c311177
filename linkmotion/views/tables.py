"""The printed table of events, and how figures are shown."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from linkmotion.events import EVENTS
from linkmotion.files.lengths import format_length
from linkmotion.sides import side_words
from linkmotion.studies.assess import Assessment
from linkmotion.studies.table import event_rows
from linkmotion.views.grid import Column, Grid
from linkmotion.views.request import Request

CAUTION = (
    "Figures guide inspection and setting; they certify nothing. Moving an engine by bar or pinch to read valves traps "
    "hands: chock, no steam, reverser and cylinder cocks as your own rules say, one person in charge. Fitness of "
    "parts, repairs by heat and return to service are for the competent person, the owner's rules and the local law."
)


class Shown:
    """How figures are shown: the file's unit, and inches as the nearest fraction on request.

    Parameters
    ----------
    unit : str
        "mm", "in", "ft" or "thou".
    fraction_of : int, optional
        Of an inch, such as 64; decimals unless given, and in other units.

    Examples
    --------
    >>> Shown("in").length(33.3375), Shown("in", 64).length(33.3375), Shown("mm").opening(-0.1)
    ('1.313', '1 5/16', 'never')
    """

    def __init__(self, unit: str, fraction_of: int | None = None) -> None:
        self.unit, self.fraction_of = unit, fraction_of if unit in ("in", "ft") else None

    def length(self, mm: float | None) -> str:
        """A length without its unit (the heading says it), or a dash.

        Parameters
        ----------
        mm : float or None
            None for what does not occur.
        """
        if mm is None:
            return "–"
        text = format_length(
            mm, self.unit, digits=None if self.fraction_of else _DIGITS[self.unit], fraction_of=self.fraction_of
        )
        return text.removesuffix(f" {self.unit}")

    def opening(self, mm: float | None) -> str:
        """A greatest opening as a length, or "never": less than nothing is no opening."""
        return "never" if mm is not None and mm < 0 else self.length(mm)

    def percent(self, value: float | None) -> str:
        """Percent of stroke, or a dash."""
        return "–" if value is None else f"{value:.1f}"

    def angle(self, value: float | None, event: str = "") -> str:
        """Degrees after the dead centre, or a dash; admission and compression count − before it.

        Parameters
        ----------
        value, event : float or None, str
            Degrees in [0, 360), None where it does not happen; which event.
        """
        if value is None:
            return "–"
        return f"{value - 360 if event in _BEFORE and value > 180 else value:.1f}"


PLACE = (
    Column("notch", key=True, shared="{}"),
    Column("direction", key=True, shared="running {}"),
    Column("end", key=True),
)
"""Where a figure belongs: the first columns of every table of events."""
SHORT = {"admission": "adm.", "release": "rel.", "compression": "compr.", "opening": "open.", "die slip": "slip"}
"""Heads where there is little room."""
_LENGTHS = ("lead", "opening", "travel", "die slip")
_BEFORE = ("admission", "compression")
_DIGITS = {"mm": 2, "in": 3, "ft": 4, "thou": 0}


def derived_lines(assessment: Assessment, shown: Shown) -> list[tuple[str, str]]:
    """Figures that follow from those given, in words and as shown; for each side where the sides differ."""
    found = {side.side: side.gear.derived() for side in assessment.sides}
    lines = []
    for words in dict.fromkeys(words for figures in found.values() for words in figures):
        texts = {side: _derived(*figures[words], shown) for side, figures in found.items() if words in figures}
        alike = len(texts) == len(found) and len(set(texts.values())) == 1
        shared = next(iter(texts.values())) if alike else ", ".join(f"{side} {text}" for side, text in texts.items())
        lines.append((words, shared))
    return lines


def _derived(value: float, kind: str, shown: Shown) -> str:
    return f"{shown.length(value)} {shown.unit}" if kind == "length" else f"{value:.2f}°"


def events_table(rows: Iterable[dict[str, Any]], title: str, shown: Shown, angles: bool = False) -> Grid:
    """Events of one side: two lines to a notch, front end and back end.

    Parameters
    ----------
    rows, title, shown
        As of :func:`linkmotion.studies.table.event_rows`; what they are of; how lengths are told.
    angles : bool
        Whether events are told in degrees, or in percent of the stroke.
    """
    what, sign = ("angle", "°") if angles else ("percent", "%")
    events = [Column(f"{event}\n{sign}", f"{SHORT.get(event, event)}\n{sign}") for event in EVENTS]
    lengths = [Column(f"{head}\n{shown.unit}", f"{SHORT.get(head, head)}\n{shown.unit}") for head in _LENGTHS]
    table = Grid(title, [*PLACE, lengths[0], *events, *lengths[1:]])

    def show(row: dict[str, Any], event: str) -> str:
        value = row[f"{event}_{what}"]
        return shown.angle(value, event) if angles else shown.percent(value)

    last = None
    for row in rows:
        first, last = (row["notch"], row["direction"]) != last, (row["notch"], row["direction"])
        table.row(
            *(row[key] for key in ("notch", "direction", "end")),
            shown.length(row["lead"]),
            *(show(row, event) for event in EVENTS),
            shown.opening(row["opening"]),
            *(shown.length(row[key]) if first else "" for key in ("valve_travel", "die_slip")),
        )
    return table


def tables_of(assessment: Assessment, request: Request) -> Iterator[tuple[str, Iterable[dict[str, Any]]]]:
    """Title and rows of each table of an assessment; sides that are alike share one."""
    rows = list(event_rows(assessment, request.wanted))
    for side in assessment.distinct_sides:
        title = f"{assessment.state}, {assessment.standing}, {side_words(side.side, alike=assessment.alike)}"
        yield title, [row for row in rows if row["side"] == side.side]
