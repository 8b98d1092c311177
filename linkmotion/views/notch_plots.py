"""Plots of all notches of one side: ellipses and events. Each returns its axes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from linkmotion.events import BACKWARD, EVENTS, FORWARD
from linkmotion.sides import side_words
from linkmotion.studies.assess import SideEvents
from linkmotion.valve import ENDS
from linkmotion.views.lettering import folded, key
from linkmotion.views.notch_rows import name_rows
from linkmotion.views.style import (
    DASHES,
    FLOWS,
    INK,
    MARKS,
    PAPER,
    SIDE_COLOURS,
    SMALL,
    STEAM,
    axes_or_new,
    behind,
    displacement_of,
    label,
    piston_of,
    scale_of,
)

_ABREAST = 2  # cells in a row
_CELL = 122.0  # of a cell's width, percent of the stroke
_WIDE = 100.0  # points of a cell's name
_TWO = {"left": "-", "right": (0, (6, 1.5, 1.5, 1.5))}


def plot_ellipses(
    sides: SideEvents | Sequence[SideEvents], unit: str = "mm", ax: Any = None, against: SideEvents | None = None
) -> Any:
    """Valve displacement against piston position, a cell for each notch, all to one scale; shaded: port open to steam.

    Parameters
    ----------
    sides : SideEvents or two of them
        Both are laid over one another.
    against : SideEvents, optional
        What they are held against, grey behind.
    """
    sides = [sides] if isinstance(sides, SideEvents) else list(sides)
    ax, scale, first = axes_or_new(ax), scale_of(unit), sides[0]
    half = 1.15 * max(float(np.abs(side.valve(way)).max()) for side in sides for way in side.events) * scale
    names = [_named(name, _way(first, i)) for i, name in enumerate(first.notches)]
    deep = (2.2 + 0.3 * max(map(len, names))) * half
    rows = -(-len(first.notches) // _ABREAST)
    laps = {end: first.ports.edge("steam", end).sign * first.ports.edge("steam", end).lap * scale for end in ENDS}
    for i, name in enumerate(names):
        right, down = _CELL * (i % _ABREAST), -deep * (i // _ABREAST)
        direction = _way(first, i)
        for end in ENDS:
            ax.plot([right, right + 100], [down + laps[end]] * 2, color=STEAM, lw=0.8, ls=DASHES[end], zorder=1.8)
        if against is not None:
            ax.plot(right + piston_of(against, direction), down + displacement_of(against, i, direction) * scale,
                    **behind(lw=2.2))  # fmt: skip
        for side in sides:
            x, v = right + piston_of(side, direction), displacement_of(side, i, direction) * scale
            ax.plot(x, down + v, **_side_line(side, len(sides)))
            for end, lap in laps.items():
                if len(sides) == 1:
                    sign = first.ports.edge("steam", end).sign
                    ax.fill_between(x, down + v, down + lap, where=sign * (v - lap) > 0, color=STEAM, alpha=0.14, lw=0)
        ax.text(right, down + 1.03 * half, "\n".join(name), fontsize=SMALL, va="bottom")
    _cell_axes(ax, rows, deep, laps, half)
    ax.set(xlabel="piston from front end, % of stroke", ylabel=f"valve from central, {unit} (+ forward)")
    key(ax, _ellipse_key(sides, against))
    return ax


def _way(side: SideEvents, notch: int) -> str:
    return BACKWARD if side.drives[notch] == BACKWARD else FORWARD


def _side_line(side: SideEvents, count: int) -> dict[str, Any]:
    if count == 1:
        return {"color": INK, "lw": 1.4}
    return {"color": SIDE_COLOURS[side.side], "lw": 1.4, "ls": _TWO[side.side]}


def _named(name: str, direction: str) -> list[str]:
    """A notch's name over its cell, as wide as the cell, in two lines at most."""
    return folded(label(name if direction in name else f"{name}, {direction}", 60), _WIDE, most=2)


def _ellipse_key(sides: Sequence[SideEvents], against: SideEvents | None) -> list[tuple[str, dict[str, Any]]]:
    said = [(side_words(side.side) if len(sides) > 1 else "valve", _side_line(side, len(sides))) for side in sides]
    said += [(against.state, behind(lw=2.2))] if against is not None else []
    return said + [(f"{end} port opens", {"color": STEAM, "lw": 0.8, "ls": DASHES[end]}) for end in ENDS]


def _cell_axes(ax: Any, rows: int, deep: float, laps: dict[str, float], half: float) -> None:
    """Ticks of every cell at the stroke's ends, at central and at the laps."""
    starts = [_CELL * column for column in range(_ABREAST)]
    ax.set_xticks([start + share for start in starts for share in (0, 50, 100)], ["0", "50", "100"] * _ABREAST)
    places = sorted({0.0, *laps.values()})
    digits = 0 if max(map(abs, places)) >= 10 else 2
    ax.set_yticks(
        [place - deep * row for row in range(rows) for place in places],
        [f"{place:.{digits}f}" for place in places] * rows,
    )
    ax.set(
        xlim=(-5, _CELL * (_ABREAST - 1) + 105),
        ylim=(-deep * (rows - 1) - 1.08 * half, 1.2 * half + (deep - 2.2 * half)),
    )
    ax.tick_params(length=0)
    ax.spines[["left", "bottom"]].set_visible(False)


def plot_events_by_notch(side: SideEvents, ax: Any = None, against: SideEvents | None = None) -> Any:
    """The four events of both ends, percent of stroke, notch by notch in the direction it drives."""
    ax = axes_or_new(ax)
    y = np.arange(len(side.notches))
    said = []
    for event in EVENTS:
        colour = FLOWS["steam" if event in ("admission", "cutoff") else "exhaust"]["color"]
        for end in ENDS:
            if against is not None:
                ax.plot(_percent(against, event, end), y, **behind(lw=1.6, ls=DASHES[end], marker=MARKS[event], ms=6.5))
            look = {"color": colour, "ls": DASHES[end], "marker": MARKS[event], "lw": 0.9, "ms": 4.2, "mew": 1.0}
            look |= {"mfc": colour if end == "front" else PAPER}
            ax.plot(_percent(side, event, end), y, **look)
            if end == "front":
                said.append((event, look | {"ls": "none"}))
    name_rows(ax, [label(name, 22) for name in side.notches], "notch")
    ax.set(xlabel="piston from that end, % of stroke", xlim=(-3, 103), xticks=range(0, 101, 20))
    front = {"color": INK, "ls": "-", "lw": 0.9, "marker": "o", "ms": 4.2, "mfc": INK}
    said += [("front end", front), ("back end", front | {"ls": DASHES["back"], "mfc": PAPER})]
    if against is not None:
        said.append((against.state, behind(lw=1.6)))
    key(ax, said)
    return ax


def _percent(side: SideEvents, event: str, end: str) -> list[float]:
    return [float(side.events[side.driven(i)[0]][end].percent[event][i]) for i in range(len(side.notches))]


def ellipse_height(count: int) -> float:
    """Inches that the cells of so many notches take."""
    return max(1.12 * math.ceil(count / _ABREAST), 2.1)
