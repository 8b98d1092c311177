"""The printed table of events and the findings, for a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from rich.console import Console
from rich.markup import escape
from rich.table import Table

from linkmotion.events import EVENTS
from linkmotion.files.lengths import format_length
from linkmotion.files.results import sentence
from linkmotion.studies.assess import Assessment
from linkmotion.studies.findings import Finding
from linkmotion.studies.table import event_rows
from linkmotion.views.request import Request

CAUTION = (
    "Figures guide inspection and setting; they certify nothing. Moving an engine by bar or pinch to read valves traps "
    "hands: chock, no steam, reverser and cylinder cocks as your own rules say, one person in charge. Fitness of "
    "parts, repairs by heat and return to service are for the competent person, the owner's rules and the local law."
)


class Shown:
    """How figures are shown: the file's unit, and inches as the nearest fraction on request."""

    def __init__(self, unit: str, fraction_of: int | None = None) -> None:
        self.unit, self.fraction_of = unit, fraction_of if unit in ("in", "ft") else None

    def length(self, mm: float | None) -> str:
        """A length without its unit (the heading says it), or a dash."""
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
        """Degrees after the dead centre, or a dash; admission and compression count − before it."""
        if value is None:
            return "–"
        return f"{value - 360 if event in _BEFORE and value > 180 else value:.1f}"


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


def bare_table(title: str) -> Table:
    """A table without rules, its title above to the left."""
    return Table(
        title=escape(title),
        title_justify="left",
        title_style="bold",
        header_style="",
        pad_edge=False,
        box=None,
        padding=(0, 1),
    )


def wide_console(least: int) -> Console:
    """A console for tables that need a width; a narrower terminal folds its lines."""
    console = Console(highlight=False)
    console.width = max(console.width, least)
    return console


def events_table(rows: Iterable[dict[str, Any]], title: str, shown: Shown, angles: bool = False) -> Table:
    """Events of one side: two lines to a notch, front end and back end."""
    table = bare_table(title)
    what, sign = ("angle", "°") if angles else ("percent", "%")
    table.add_column("notch", overflow="fold")  # a long name gives way, not the figures
    for head, side in (("running", "left"), ("end", "left"), (f"lead\n{shown.unit}", "right")):
        table.add_column(head, justify=side, no_wrap=True)  # type: ignore[arg-type]
    for event in EVENTS:
        table.add_column(f"{event}\n{sign}", justify="right", no_wrap=True)
    for head in ("opening", "travel", "die slip"):
        table.add_column(f"{head}\n{shown.unit}", justify="right", no_wrap=True)

    def show(row: dict[str, Any], event: str) -> str:
        value = row[f"{event}_{what}"]
        return shown.angle(value, event) if angles else shown.percent(value)

    last = None
    for row in rows:
        first = (row["notch"], row["running"]) != last
        last = (row["notch"], row["running"])
        table.add_row(
            escape(row["notch"]) if first else "",
            row["running"] if first else "",
            row["end"],
            shown.length(row["lead"]),
            *(show(row, event) for event in EVENTS),
            shown.opening(row["opening"]),
            *(shown.length(row[key]) if first else "" for key in ("valve_travel", "die_slip")),
        )
    return table


def where(finding: Finding) -> str:
    """Where a finding holds, in words."""
    side = {"both": "both sides", "": "between the sides"}.get(finding.side, f"{finding.side} side")
    return ", ".join(
        part for part in (side, finding.notch, finding.direction and f"running {finding.direction}") if part
    )


def print_findings(console: Console, found: list[Finding], shown: Shown) -> None:
    """Findings in plain words, what is out of target first."""
    out = sum(finding.out for finding in found)
    console.print(f"{out} out of target" if out else "All within the targets.", style="bold", highlight=False)
    for finding in found:
        mark = "✗" if finding.out else "·"
        console.print(
            f" {mark} {escape(where(finding))}: {escape(sentence(finding, shown.unit, shown.fraction_of))}",
            highlight=False,
            soft_wrap=True,
        )


def tables_of(assessment: Assessment, request: Request) -> Iterator[tuple[str, Iterable[dict[str, Any]]]]:
    """Title and rows of each table of an assessment; sides that are alike share one."""
    rows = list(event_rows(assessment, request.wanted))
    sides = assessment.distinct_sides
    for side in sides:
        alike = len(sides) < len(assessment.sides)
        title = f"{assessment.state}, {'both sides alike' if alike else f'{side.side} side'}"
        yield title, [row for row in rows if row["side"] == side.side]
