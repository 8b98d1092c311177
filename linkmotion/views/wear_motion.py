"""A worn side turned: events in motion, lost motion at every crank angle (tables and a plot)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from linkmotion.events import EVENTS
from linkmotion.views.grid import Column, Grid
from linkmotion.views.style import EXHAUST, FLAG, GRID, INK, STEAM, axes_or_new, scale_of
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
