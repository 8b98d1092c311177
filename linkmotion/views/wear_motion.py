"""A worn side turned: events in motion, lost motion at every crank angle (tables)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from linkmotion.events import EVENTS
from linkmotion.views.grid import Column, Grid
from linkmotion.views.tables import PLACE, Shown
from linkmotion.wear.lost_motion import LostMotion

_STEPS = 24  # lines of the table: every fifteen degrees


def moving_table(rows: Iterable[dict[str, Any]], title: str, shown: Shown) -> Grid:
    """Events in motion, and in brackets what the play changes of each."""
    heads = [f"lead\n{shown.unit}", *(f"{event}\n%" for event in EVENTS), f"opening\n{shown.unit}"]
    table = Grid(title, [*PLACE, *(Column(head) for head in (*heads, f"travel\n{shown.unit}"))])
    last = None
    for row in rows:
        first, last = (row["notch"], row["direction"]) != last, (row["notch"], row["direction"])
        cells = [_pair(row["lead"], shown.length), *(_pair(row[event], shown.percent) for event in EVENTS)]
        cells += [_opening(row["opening"], shown), _pair(row["travel"], shown.length) if first else ""]
        table.row(row["notch"], row["direction"], row["end"], *cells)
    return table


def _opening(pair: tuple[float | None, float | None], shown: Shown) -> str:
    moving = pair[1]
    return shown.opening(moving) if moving is not None and moving < 0 else _pair(pair, shown.length)


def _pair(pair: tuple[float | None, float | None], show: Any) -> str:
    still, moving = pair
    if still is None or moving is None:
        return show(moving)  # type: ignore[no-any-return]
    change = show(moving - still)
    return f"{show(moving)} ({change if change.startswith('-') else f'+{change}'})"


def lost_table(found: LostMotion, title: str, shown: Shown) -> Grid:
    """Lost motion every fifteen degrees, in total and from each joint."""
    joints = [Column(head.replace(" ", "\n", 1), head.replace(" ", "\n")) for head in ("total", *found.joints)]
    table = Grid(title, [Column("crank\nangle", key=True), *joints])
    step = found.crank_angle.size // _STEPS
    for n in range(0, found.crank_angle.size, step):
        parts = [float(free[n]) for free in found.joints.values()]
        angle = f"{found.crank_angle[n]:.0f}°"
        table.row(f"{angle:>4}", *(shown.length(free) for free in (sum(parts), *parts)))
    return table
