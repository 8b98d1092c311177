"""Plots of one notch: the valve and its ports against crank angle and piston. Each returns its axes."""

from __future__ import annotations

from typing import Any

import numpy as np

from linkmotion.events import EVENTS, FORWARD
from linkmotion.studies.assess import SideEvents
from linkmotion.valve import ENDS
from linkmotion.views.style import (
    COUNT,
    DASHES,
    EXHAUST,
    GRID,
    INK,
    MARKS,
    PAPER,
    STEAM,
    axes_or_new,
    crank_axis,
    dead_centre,
    displacement_of,
    piston_of,
    scale_of,
)


def plot_displacement(side: SideEvents, notch: int, direction: str = FORWARD, unit: str = "mm", ax: Any = None) -> Any:
    """Valve displacement from central against crank angle, with the steam laps and the events marked."""
    ax, scale = axes_or_new(ax), scale_of(unit)
    angle, v = np.linspace(0.0, 360.0, COUNT + 1), displacement_of(side, notch, direction)
    ax.plot(angle, v * scale, color=INK, lw=1.6)
    for end in ENDS:
        edge = side.ports.edge("steam", end)
        line = edge.sign * edge.lap
        ax.axhline(line * scale, color=STEAM, lw=0.9, ls=DASHES[end])
        ax.fill_between(angle, v * scale, line * scale, where=edge.sign * v > edge.lap, color=STEAM, alpha=0.14, lw=0)
        clear = (
            dead_centre(side, "front" if end == "back" else "back", direction) + 60
        ) % 360  # the valve is far off there
        ax.annotate(
            f"{end} port opens to steam",
            (clear, line * scale),
            textcoords="offset points",
            ha="center",
            xytext=(0, 3 * edge.sign),
            va="bottom" if edge.sign > 0 else "top",
            fontsize=7.5,
            color=STEAM,
        )
    _mark_events(side, notch, direction, ax, scale, against_piston=False, of_valve=True)
    crank_axis(side, direction, ax)
    ax.set_ylabel(f"valve from central, {unit} (+ forward)")
    return ax


def plot_openings(side: SideEvents, notch: int, direction: str = FORWARD, unit: str = "mm", ax: Any = None) -> Any:
    """Port openings to steam and exhaust at both ends against crank angle, with the events marked."""
    ax, scale = axes_or_new(ax), scale_of(unit)
    angle, v = np.linspace(0.0, 360.0, COUNT + 1), displacement_of(side, notch, direction)
    for flow, colour in (("steam", STEAM), ("exhaust", EXHAUST)):
        for end in ENDS:
            opening = side.ports.effective(side.ports.edge(flow, end).opening(v))
            ax.plot(
                angle,
                np.where(opening > 0, opening, np.nan) * scale,
                color=colour,
                ls=DASHES[end],
                lw=1.5,
                label=f"{end}, to {flow}",
            )
    ax.axhline(side.ports.port_width * scale, color=GRID, lw=1.2)
    ax.annotate(
        "port full open",
        (358, side.ports.port_width * scale),
        xytext=(0, 2),
        textcoords="offset points",
        ha="right",
        fontsize=7.5,
    )
    _mark_events(side, notch, direction, ax, scale, against_piston=False)
    crank_axis(side, direction, ax)
    ax.set(ylabel=f"port opening, {unit}", ylim=(0, side.ports.port_width * scale * 1.12))
    ax.legend(loc="upper center", bbox_to_anchor=(0.5, -0.16), ncols=4, fontsize=8)
    return ax


def plot_openings_by_piston(
    side: SideEvents, notch: int, end: str, direction: str = FORWARD, unit: str = "mm", ax: Any = None
) -> Any:
    """Port openings of one end against piston position, out and return stroke, with the events marked."""
    ax, scale = axes_or_new(ax), scale_of(unit)
    v, piston = displacement_of(side, notch, direction), piston_of(side, direction)
    x = piston if end == "front" else 100 - piston
    for flow, colour in (("steam", STEAM), ("exhaust", EXHAUST)):
        opening = side.ports.effective(side.ports.edge(flow, end).opening(v))
        ax.plot(x, np.where(opening > 0, opening, np.nan) * scale, color=colour, lw=1.5, label=f"to {flow}")
    _mark_events(side, notch, direction, ax, scale, against_piston=True, only=end)
    ax.set(
        xlabel=f"piston from {end} end, % of stroke",
        ylabel=f"{end} port opening, {unit}",
        xlim=(-2, 102),
        ylim=(0, side.ports.port_width * scale * 1.12),
    )
    ax.legend(loc="upper right", bbox_to_anchor=(1.0, 1.13), ncols=2, fontsize=8)
    return ax


def _mark_events(
    side: SideEvents,
    notch: int,
    direction: str,
    ax: Any,
    scale: float,
    against_piston: bool,
    only: str | None = None,
    of_valve: bool = False,
) -> None:
    """Mark the events of a notch where the edges pass, with their names."""
    for end in ENDS if only is None else (only,):
        own = side.events[direction][end]
        for event in EVENTS:
            angle, percent = own.angle[event][notch], own.percent[event][notch]
            if np.isnan(angle):
                continue
            edge = side.ports.edge("steam" if event in ("admission", "cutoff") else "exhaust", end)
            x = percent if against_piston else (angle + dead_centre(side, end, direction)) % 360
            y = edge.sign * edge.lap * scale if of_valve else 0.0
            colour = STEAM if event in ("admission", "cutoff") else EXHAUST
            ax.plot(
                x, y, MARKS[event], color=colour, mfc=colour if end == "front" else PAPER, ms=5, clip_on=False, zorder=5
            )
            if not of_valve:
                aside = {"release": -5, "compression": 6}.get(event, 0)  # these two often fall together
                ax.annotate(
                    event,
                    (x, y),
                    xytext=(aside, 6),
                    textcoords="offset points",
                    rotation=90,
                    fontsize=7,
                    va="bottom",
                    ha="center",
                    color=colour,
                )
