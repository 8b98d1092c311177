"""A worn side turned: events in motion, lost motion at every crank angle (tables and a plot)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
from rich.markup import escape
from rich.table import Table

from linkmotion.events import EVENTS
from linkmotion.views.style import EXHAUST, FLAG, GRID, INK, STEAM, axes_or_new, scale_of
from linkmotion.views.tables import Shown, bare_table
from linkmotion.wear.lost_motion import LostMotion

_STEPS = 24  # lines of the table: every fifteen degrees


def moving_table(rows: Iterable[dict[str, Any]], title: str, shown: Shown) -> Table:
    """Events in motion, and in brackets what the play changes of each."""
    table = bare_table(title)
    for head in ("notch", "running", "end"):
        table.add_column(head, no_wrap=True)
    for head in (f"lead\n{shown.unit}", *(f"{event}\n%" for event in EVENTS), f"opening\n{shown.unit}"):
        table.add_column(head, justify="right", no_wrap=True)
    table.add_column(f"travel\n{shown.unit}", justify="right", no_wrap=True)
    last = None
    for row in rows:
        first, last = (row["notch"], row["running"]) != last, (row["notch"], row["running"])
        cells = [_pair(row["lead"], shown.length), *(_pair(row[event], shown.percent) for event in EVENTS)]
        cells += [_opening(row["opening"], shown), _pair(row["travel"], shown.length) if first else ""]
        table.add_row(escape(row["notch"]) if first else "", row["running"] if first else "", row["end"], *cells)
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


def lost_table(found: LostMotion, shown: Shown) -> Table:
    """Lost motion every fifteen degrees, in total and from each joint."""
    table = bare_table("")
    table.add_column("crank\nangle", justify="right")
    for head in ("total", *found.joints):
        table.add_column(escape(head).replace(" ", "\n", 1), justify="right")
    step = found.crank_angle.size // _STEPS
    for n in range(0, found.crank_angle.size, step):
        parts = [float(free[n]) for free in found.joints.values()]
        table.add_row(f"{found.crank_angle[n]:.0f}°", *(shown.length(free) for free in (sum(parts), *parts)))
    return table


def plot_lost_motion(found: LostMotion, unit: str = "mm", ax: Any = None) -> Any:
    """What a dial gauge on the spindle reads when it is pushed and pulled, joint upon joint, round the wheel."""
    ax, scale = axes_or_new(ax), scale_of(unit)
    angle = np.append(found.crank_angle, 360.0)
    parts = np.array([np.append(free, free[0]) for free in found.joints.values()]) * scale
    ax.stackplot(angle, parts, labels=list(found.joints), colors=_colours(len(parts)), lw=0)
    ax.set_axisbelow(True)
    ax.plot(angle, parts.sum(0), color=INK, lw=1.4)
    ax.set(xlim=(0, 360), xticks=range(0, 361, 45), ylim=(0, None), ylabel=f"lost motion, {unit}",
           xlabel="crank angle from front dead centre in forward running, degrees")  # fmt: skip
    handles, labels = ax.get_legend_handles_labels()
    ax.legend(handles[::-1], labels[::-1], loc="center left", bbox_to_anchor=(1.0, 0.5), fontsize=8)
    return ax


def _colours(count: int) -> list[Any]:
    """Shades from the palette, neighbours told apart."""
    from matplotlib.colors import LinearSegmentedColormap

    shades = LinearSegmentedColormap.from_list("joints", [EXHAUST, GRID, STEAM, "#e0b070", FLAG])
    return [shades(i / max(count - 1, 1)) for i in range(count)]
