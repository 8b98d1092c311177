"""Plots of one notch: the valve and its ports against crank angle and piston. Each returns its axes.

What the gear is held against (``against``: the same side in another state, as a rule the drawing) lies grey behind.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np

from linkmotion.events import EVENTS, FORWARD
from linkmotion.studies.assess import SideEvents
from linkmotion.valve import ENDS
from linkmotion.views.labels import spread
from linkmotion.views.lettering import key
from linkmotion.views.style import (
    COUNT,
    DASHES,
    FLOWS,
    INK,
    MARKS,
    PAPER,
    STEAM,
    axes_or_new,
    behind,
    crank_axis,
    dead_centre,
    displacement_of,
    flow_line,
    piston_of,
    scale_of,
)

_ACROSS = 190.0  # points: at least so wide is the inside of a plot
_APART = 9.5  # points from word to word
_BESIDE = 6.0  # points from a mark to the middle of its word
_OPENS = ("admission", "release")
_CLEAR = {"facecolor": PAPER, "alpha": 0.7, "lw": 0, "pad": 0.4}
_FULL = {"color": INK, "lw": 0.6, "ls": (0, (1, 2))}


def plot_displacement(
    side: SideEvents,
    notch: int,
    direction: str = FORWARD,
    unit: str = "mm",
    ax: Any = None,
    against: SideEvents | None = None,
    reach: float = 0.0,
) -> Any:
    """Valve displacement from central against crank angle; shaded where a port is open to steam.

    The axis reaches to ``reach`` (mm) either way at least.
    """
    ax, scale = axes_or_new(ax), scale_of(unit)
    angle, v = np.linspace(0.0, 360.0, COUNT + 1), displacement_of(side, notch, direction)
    said = [("valve", {"color": INK, "lw": 1.6})]
    if against is not None:
        ax.plot(angle, displacement_of(against, notch, direction) * scale, **behind())
        said.append((against.state, behind()))
    ax.plot(angle, v * scale, color=INK, lw=1.6)
    for end in ENDS:
        edge = side.ports.edge("steam", end)
        line, look = edge.sign * edge.lap, {"color": STEAM, "lw": 1.0, "ls": DASHES[end]}
        ax.axhline(line * scale, **look)
        ax.fill_between(angle, v * scale, line * scale, where=edge.sign * v > edge.lap, color=STEAM, alpha=0.13, lw=0)
        said.append((f"{end} port opens", look))
    crank_axis(side, direction, ax)
    most = 1.08 * scale * max(reach, float(np.abs(v).max()), *(side.ports.edge("steam", end).lap for end in ENDS))
    ax.set(ylabel=f"valve from central, {unit} (+ forward)", ylim=(-most, most))
    key(ax, said)
    return ax


def plot_openings(
    side: SideEvents,
    notch: int,
    direction: str = FORWARD,
    unit: str = "mm",
    ax: Any = None,
    against: SideEvents | None = None,
) -> Any:
    """Port openings to steam and exhaust against crank angle: the front end above the line, the back end below it."""
    ax = axes_or_new(ax)
    angle = np.linspace(0.0, 360.0, COUNT + 1)
    for own in (against, side):
        if own is not None:
            for end in ENDS:
                _lobes(own, notch, direction, end, angle, unit, ax, grey=own is not side)
    crank_axis(side, direction, ax)
    _both_ends(side, unit, ax)
    for end in ENDS:
        own_events = side.events[direction][end]
        start = dead_centre(side, end, direction)
        at = {event: float(own_events.angle[event][notch] + start) % 360 for event in EVENTS}
        _name_events(ax, end, at, 360.0, 1 if end == "front" else -1)
    _say_lines(ax, ENDS, against)
    return ax


def plot_openings_by_piston(
    side: SideEvents,
    notch: int,
    end: str = "",
    direction: str = FORWARD,
    unit: str = "mm",
    ax: Any = None,
    against: SideEvents | None = None,
) -> Any:
    """Port openings along the stroke, out and home, from the end's own dead centre: of one end, or of both.

    Of both the front end stands above the line and the back end below it.
    """
    ax, ends = axes_or_new(ax), (end,) if end else ENDS
    for own in (against, side):
        if own is not None:
            piston = piston_of(own, direction)
            for each in ends:
                x = piston if each == "front" else 100 - piston
                _lobes(own, notch, direction, each, x, unit, ax, up=bool(end), grey=own is not side)
    if end:
        ax.set(ylabel=f"{end} port opening, {unit}", ylim=(0, side.ports.port_width * scale_of(unit) * 1.12))
    else:
        _both_ends(side, unit, ax)
    ax.set(xlabel=f"piston from {end or 'its'} end, % of stroke", xlim=(-9, 109), xticks=range(0, 101, 25))
    for each in ends:
        own_events = side.events[direction][each]
        at = {event: float(own_events.percent[event][notch]) for event in EVENTS}
        _name_events(ax, each, at, 118.0, 1 if each == "front" or end else -1)
    _say_lines(ax, ends, against)
    return ax


def _lobes(
    side: SideEvents,
    notch: int,
    direction: str,
    end: str,
    x: Any,
    unit: str,
    ax: Any,
    up: bool = False,
    grey: bool = False,
) -> None:
    """How far an end's port is open to steam and to exhaust: of the back end downwards, unless told ``up``."""
    v = displacement_of(side, notch, direction)
    for flow in FLOWS:
        opening = side.ports.effective(side.ports.edge(flow, end).opening(v)) * scale_of(unit)
        sign = 1 if end == "front" or up else -1
        look = behind() if grey else flow_line(flow, end)
        ax.plot(x, np.where(opening > 0, sign * opening, np.nan), **look)


def _both_ends(side: SideEvents, unit: str, ax: Any) -> None:
    """The axis of openings of both ends, away from the line in the middle."""
    full = side.ports.port_width * scale_of(unit)
    for edge in (full, -full):
        ax.axhline(edge, **_FULL, zorder=1)
    ax.axhline(0.0, color=INK, lw=0.7, zorder=2.2)
    ax.set(ylabel=f"port opening, {unit}", ylim=(-1.3 * full, 1.3 * full))
    ax.locator_params(axis="y", nbins=6)
    ax.yaxis.set_major_formatter(lambda value, _at: f"{abs(value):g}")
    for words, share in (("front end", 0.75), ("back end", 0.25)):
        ax.annotate(words, (1.0, share), (3, 0), xycoords="axes fraction", textcoords="offset points", rotation=90,
                    va="center")  # fmt: skip


def _name_events(ax: Any, end: str, at: dict[str, float], span: float, sign: int) -> None:
    """Mark an end's events on the line and write their names, outside of the curve that begins or ends there."""
    names = sorted((event for event in EVENTS if not np.isnan(at[event])), key=lambda event: at[event])
    per = _ACROSS / span
    beside = [-_BESIDE if event in _OPENS else _BESIDE for event in names]
    marks = [at[event] * per for event in names]
    for event, place in zip(names, spread(_in_order(marks, beside), _APART), strict=True):
        colour = FLOWS["steam" if event in ("admission", "cutoff") else "exhaust"]["color"]
        fill = colour if end == "front" else PAPER
        ax.plot(at[event], 0.0, MARKS[event], color=colour, mfc=fill, ms=4.5, clip_on=False, zorder=5)
        look = {"rotation": 90, "va": "bottom" if sign > 0 else "top", "ha": "center", "bbox": _CLEAR}
        ax.annotate(event, (at[event], 0.0), (place - at[event] * per, 5 * sign), textcoords="offset points", **look)


def _in_order(marks: list[float], beside: list[float]) -> list[float]:
    """Places of words beside their marks, each on its own side of the middle between two: none changes places."""
    middles = [-np.inf, *((one + two) / 2 for one, two in pairwise(marks)), np.inf]
    places = []
    for mark, off, low, high in zip(marks, beside, middles, middles[1:], strict=False):
        low, high = low + _APART / 2, high - _APART / 2
        places.append(float(np.clip(mark + off, low, high)) if low <= high else mark)
    return places


def _say_lines(ax: Any, ends: tuple[str, ...], against: SideEvents | None) -> None:
    said = []
    for end in ends:
        said += [(f"{end}: steam", flow_line("steam", end)), ("exhaust", flow_line("exhaust", end))]
        if end == "front" and len(ends) > 1:
            said.append(("port full open", _FULL))
    if against is not None:
        said.append((against.state, behind()))
    key(ax, said)
