"""States side by side, for a terminal."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from linkmotion.engine import Targets
from linkmotion.sides import side_words
from linkmotion.studies.compare import Compared
from linkmotion.views.grid import Column, Grid
from linkmotion.views.printout import Answer, Said
from linkmotion.views.tables import PLACE, Shown

ENDS_APART, SIDES_APART = "✗", "≠"
_LONGEST = 14  # characters of a state's name that stand over a column; longer ones get letters


@dataclass(frozen=True)
class _Group:
    """A figure that stands in one column for each state."""

    head: str
    key: str
    show: Callable[[Any], str]
    held: str = ""  # "lead" or "cutoff", where a target is held against it
    each_end: bool = True


def headings(states: tuple[str, ...]) -> tuple[str, ...]:
    """What stands over the columns: the states' names, or letters where a name is long."""
    if all(len(name) <= _LONGEST for name in states):
        return states
    return tuple(chr(ord("A") + k) for k in range(len(states)))


def verdict(result: Compared) -> Answer:
    """Whether each state is within the targets, in one sentence."""
    told = [
        f"{name}: {f'{out} out of target' if out else 'leads, cutoffs and lost motion within the targets'}"
        for name, out in zip(result.states, result.out, strict=True)
    ]
    return Answer(f"As they stand, {'; '.join(told)}.")


def letters(result: Compared) -> Iterator[Said]:
    """Which state each letter is, where letters stand over the columns."""
    named = [f"{head}: {name}" for head, name in zip(headings(result.states), result.states, strict=True)]
    if headings(result.states) != result.states:
        yield Said(f"{'; '.join(named)}.")


def compared_table(result: Compared, side: str, targets: Targets, shown: Shown) -> Grid:
    """Lead and cutoff of one side in every state, differences from the other end and the other side marked.

    Parameters
    ----------
    result, side : Compared, str
        "left" or "right".
    targets, shown : Targets, Shown
        Against which differences are marked; how lengths are told.
    """
    return _table(result, side, targets, (
        _Group(f"lead, {shown.unit}", "lead", shown.length, "lead"),
        _Group("cutoff, %", "cutoff_percent", shown.percent, "cutoff"),
    ))  # fmt: skip


def compared_more_tables(result: Compared, side: str, targets: Targets, shown: Shown) -> Iterator[Grid]:
    """The other figures of one side in every state."""
    yield _table(result, side, targets, (
        _Group("release, %", "release_percent", shown.percent),
        _Group("compression, %", "compression_percent", shown.percent),
    ))  # fmt: skip
    yield _table(result, side, targets, (
        _Group(f"opening, {shown.unit}", "opening", shown.opening),
        _Group(f"travel, {shown.unit}", "valve_travel", shown.length, each_end=False),
        _Group(f"lost motion, {shown.unit}", "lost_motion", shown.length, each_end=False),
    ))  # fmt: skip


def _table(result: Compared, side: str, targets: Targets, groups: tuple[_Group, ...]) -> Grid:
    heads = [Column(name, over=group.head) for group in groups for name in headings(result.states)]
    table = Grid(side_words(side), [*PLACE, *heads])
    rows = [row for row in result.rows if row["side"] == side]
    others = {_place(row): row for row in result.rows if row["side"] != side}
    ways = {notch: {row["direction"] for row in rows if row["notch"] == notch} for notch in (r["notch"] for r in rows)}
    for i, row in enumerate(rows):
        first, fellow = i % 2 == 0, rows[i + 1 if i % 2 == 0 else i - 1]
        drives = "both" if len(ways[row["notch"]]) > 1 else row["direction"]

        def limit(what: str, between: str, drives: str = drives) -> float:
            return targets.apart(what, between, drives)

        other = others.get(_place(row))
        cells = [cell for group in groups for cell in _cells(group, row, fellow, other, first, limit)]
        table.row(*_place(row), *cells)
    return table


def _place(row: dict[str, Any]) -> tuple[str, ...]:
    return row["notch"], row["direction"], row["end"]


def _cells(
    group: _Group, row: Any, fellow: Any, other: Any, first: bool, limit: Callable[[str, str], float]
) -> Iterator[str]:
    for k, value in enumerate(row[group.key]):
        if not (first or group.each_end):
            yield ""
            continue
        marks = ""
        if group.held:
            marks += ENDS_APART * _apart(value, fellow[group.key][k], limit(group.held, "ends"))
            sides = limit(group.held, "sides")
            marks += SIDES_APART * (other is not None and _apart(value, other[group.key][k], sides))
        yield f"{marks} {group.show(value)}".strip()


def _apart(one: float | None, two: float | None, limit: float) -> bool:
    return one is not None and two is not None and abs(one - two) > limit
