"""Plots of all notches together: ellipses, events, leads, the die in the slot. Each returns its axes."""

from __future__ import annotations

from typing import Any

import numpy as np

from linkmotion.events import BACKWARD, EVENTS, FORWARD
from linkmotion.studies.assess import SideEvents
from linkmotion.valve import ENDS
from linkmotion.views.labels import spread
from linkmotion.views.style import (
    COUNT,
    DASHES,
    EXHAUST,
    FLAG,
    INK,
    MARKS,
    PAPER,
    STEAM,
    axes_or_new,
    crank_axis,
    displacement_of,
    label,
    notch_colour,
    piston_of,
    scale_of,
)
from linkmotion.views.tables import Shown


def plot_ellipses(side: SideEvents, unit: str = "mm", ax: Any = None) -> Any:
    """Valve displacement against piston position for every notch: the valve ellipse."""
    ax, scale = axes_or_new(ax), scale_of(unit)
    count = len(side.notches)
    for i, name in enumerate(side.notches):
        direction = BACKWARD if side.drives[i] == BACKWARD else FORWARD
        ax.plot(
            piston_of(side, direction),
            displacement_of(side, i, direction) * scale,
            color=notch_colour(i, count),
            lw=1.4,
            ls="-" if direction == FORWARD else (0, (6, 2, 1, 2)),
            label=label(name),
        )
    for end in ENDS:
        edge = side.ports.edge("steam", end)
        ax.axhline(edge.sign * edge.lap * scale, color=STEAM, lw=0.9, ls=DASHES[end])
        ax.annotate(
            f"{end} port opens",
            (101 if end == "front" else -1, edge.sign * edge.lap * scale),  # away from that end's dead centre
            ha="right" if end == "front" else "left",
            fontsize=7.5,
            color=STEAM,
            xytext=(0, 3 * edge.sign),
            va="bottom" if edge.sign > 0 else "top",
            textcoords="offset points",
        )
    ax.set(
        xlabel="piston from front end, % of stroke", ylabel=f"valve from central, {unit} (+ forward)", xlim=(-2, 102)
    )
    ax.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), fontsize=8, title="notch")
    return ax


def plot_events_by_notch(side: SideEvents, ax: Any = None) -> Any:
    """The four events of both ends, percent of stroke, notch by notch in the direction it drives."""
    ax = axes_or_new(ax)
    x = range(len(side.notches))
    for event, colour in zip(EVENTS, (FLAG, STEAM, EXHAUST, INK), strict=True):
        for end in ENDS:
            y = [side.events[side.driven(i)[0]][end].percent[event][i] for i in x]
            ax.plot(
                x,
                y,
                color=colour,
                ls=DASHES[end],
                marker=MARKS[event],
                ms=4.5,
                lw=1.3,
                mfc=colour if end == "front" else PAPER,
                label=f"{event}, {end}",
            )
    _notch_axis(side, ax)
    ax.set(ylabel="piston from that end's dead centre, % of stroke", ylim=(-2, 102))
    ax.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), fontsize=8)
    return ax


def plot_leads(side: SideEvents, unit: str = "mm", allowed: float | None = None, ax: Any = None) -> Any:
    """Lead of both ends against notch; the band shows the difference allowed about their mean."""
    ax, scale = axes_or_new(ax), scale_of(unit)
    x = np.arange(len(side.notches))
    leads = {end: side.events[FORWARD][end].lead * scale for end in ENDS}  # alike in both directions of running
    for end in ENDS:
        ax.plot(
            x, leads[end], color=INK, ls=DASHES[end], marker="o", ms=5, mfc=INK if end == "front" else PAPER, label=end
        )
    if allowed is not None:
        mean = (leads["front"] + leads["back"]) / 2
        ax.fill_between(
            x,
            mean - allowed * scale / 2,
            mean + allowed * scale / 2,
            color=STEAM,
            alpha=0.15,
            lw=0,
            label="allowed difference",
        )
    ax.axhline(0, color=INK, lw=0.8)
    _notch_axis(side, ax)
    ax.set_ylabel(f"lead, {unit}")
    ax.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), fontsize=8)
    return ax


def plot_die(side: SideEvents, unit: str = "mm", ax: Any = None) -> Any:
    """Place of the die along the slot against crank angle for every notch, with the slot's ends."""
    ax, scale = axes_or_new(ax), scale_of(unit)
    angle = np.linspace(0.0, 360.0, COUNT + 1)
    places = side.motion.die.on_grid(COUNT)
    slot, shown = side.motion.slot, Shown(unit)
    heights = spread(places[:, 0], 0.045 * (slot.top + slot.bottom))
    for i, name in enumerate(side.notches):
        y = np.append(places[i], places[i][0]) * scale
        ax.plot(angle, y, color=notch_colour(i, len(side.notches)), lw=1.4)
        ax.annotate(
            f"{label(name)}: {'stroke' if slot.works else 'slip'} {shown.length(float(side.motion.die_slip[i]))}",
            (361, heights[i] * scale),
            fontsize=7.5,
            va="center",
            annotation_clip=False,
        )
    for end, place in (("top", slot.top), ("bottom", -slot.bottom)):
        ax.axhline(place * scale, color=FLAG, lw=1.4)
        ax.annotate(
            f"{end} of slot",
            (3, place * scale),
            xytext=(0, -3 if end == "top" else 3),
            fontsize=7.5,
            color=FLAG,
            textcoords="offset points",
            va="top" if end == "top" else "bottom",
        )
    crank_axis(side, FORWARD, ax)
    ax.set_ylabel(f"die along the slot, {unit} (+ up)")
    return ax


def _notch_axis(side: SideEvents, ax: Any) -> None:
    ax.set_xticks(range(len(side.notches)), [label(name, 20) for name in side.notches], rotation=35, ha="right")
    ax.set_xlim(-0.3, len(side.notches) - 0.7)
