"""Indicator diagrams, turning effort around the wheel, and each end's share of the work."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from linkmotion.files.quantities import POUND_FOOT, PRESSURES, format_pressure, usual_pressure
from linkmotion.sides import side_words, sides_words
from linkmotion.studies.steam.cylinder_work import CylinderWork
from linkmotion.studies.steam.indicator import ATMOSPHERE, LIMITS
from linkmotion.valve import ENDS
from linkmotion.views.lettering import Head, figure_key, folded
from linkmotion.views.style import (
    DASHES,
    FULL,
    GRID,
    INK,
    SIDE_COLOURS,
    SMALL,
    as_svg,
    axes_or_new,
    behind,
    label,
    notch_colour,
    patch,
)

_SIDES = {
    "left": {"color": SIDE_COLOURS["left"], "lw": 0.9},
    "right": {"color": SIDE_COLOURS["right"], "lw": 0.9, "ls": (0, (6, 1.5, 1.5, 1.5))},
}

_BESIDE = 1e-9


def state_line(index: int, count: int) -> dict[str, Any]:
    """The line of a state: what the others are held against broad and grey behind them, the last dark."""
    if index == 0 and count > 1:
        return behind(lw=3.2)
    return {"color": INK if index == count - 1 else notch_colour(index, count), "lw": 1.5, "zorder": 2.0}


def plot_diagram(works: Sequence[CylinderWork], side: str, unit: str = "mm", ax: Any = None) -> Any:
    """Pressure against the piston's place, both ends of one side: front solid, back dashed."""
    ax = axes_or_new(ax)
    pressure = usual_pressure(unit)
    clearance = 100 * works[0].steam.clearance
    for k, work in enumerate(works):
        for end in (end for end in work.ends if end.side == side and end.diagram is not None):
            diagram = end.diagram
            assert diagram is not None
            corners = np.array(list(diagram.angle.values()))
            angle = np.sort(np.concatenate([np.linspace(0, 2 * np.pi, 721), corners - _BESIDE, corners + _BESIDE]))
            place = 100 * diagram.way(angle)
            values = (diagram.pressure(angle) - ATMOSPHERE) / PRESSURES[pressure]
            ax.plot(
                place if end.end == "front" else 100 - place,
                values,
                **state_line(k, len(works)) | {"ls": DASHES[end.end]},
            )
    for low, high in ((-clearance, 0.0), (100.0, 100.0 + clearance)):
        ax.axvspan(low, high, color=GRID, alpha=0.5, lw=0)
    ax.axhline(0.0, color=INK, lw=0.6)
    means = [_mean(works, side, end, pressure) for end in ENDS]
    ax.set(xlim=(-clearance, 100 + clearance), xlabel="piston from its front end, % of stroke")
    ax.set_ylabel(f"pressure by the gauge, {pressure}")
    ax.set_title(f"{side} cylinder", pad=26)
    ax.text(0.0, 1.02, "\n".join(means), transform=ax.transAxes, va="bottom")
    ax.margins(y=0.04)
    return ax


def _mean(works: Sequence[CylinderWork], side: str, end: str, pressure: str) -> str:
    own = [each for work in works for each in work.ends if (each.side, each.end) == (side, end)]
    told = [format_pressure(each.mean, pressure) if each.diagram is not None else "–" for each in own]
    return f"mean, {end} end: {', then '.join(told)} {pressure}"


def plot_effort(works: Sequence[CylinderWork], unit: str = "mm", ax: Any = None) -> Any:
    """Turning effort around the wheel: heavy, all sides together; of a state alone each side too; line: the mean."""
    ax = axes_or_new(ax)
    sized = works[0].bore is not None
    for k, work in enumerate(works):
        effort, look = work.effort, state_line(k, len(works))
        scale = (1.0 if unit == "mm" else 1 / POUND_FOOT) if sized else 1 / (abs(works[0].effort.mean) or 1.0)
        ax.plot(effort.angle, effort.total * scale, **look)
        ax.axhline(effort.mean * scale, **look | {"ls": (0, (1, 1.5)), "lw": 1.0})
        if len(works) == 1 and len(effort.sides) > 1:
            for side, torque in effort.sides.items():
                ax.plot(effort.angle, torque * scale, **_SIDES[side])
    measure = ("N m" if unit == "mm" else "lbf ft") if sized else f"of the mean of {label(works[0].state)}"
    ax.set(xlim=(0, 360), xticks=range(0, 361, 90), ylabel=f"turning effort, {measure}")
    ax.set_xlabel(f"left crank from front dead centre, degrees, {works[0].direction}")
    ax.set_title("Turning effort (dotted: mean)")
    ax.set_ylim(bottom=min(0.0, ax.get_ylim()[0]))
    return ax


def plot_shares(works: Sequence[CylinderWork], ax: Any = None) -> Any:
    """What each end does more or less than the mean of the ends, percent: nothing when all pull alike."""
    ax = axes_or_new(ax)
    names = [f"{end.side}\n{end.end}" for end in works[0].ends]
    width = 0.8 / len(works)
    for k, work in enumerate(works):
        at = np.arange(len(names)) + (k - (len(works) - 1) / 2) * width
        more = 100 * (np.nan_to_num(work.shares, nan=1.0) - 1)
        ax.bar(at, more, width * 0.9, color=state_line(k, len(works))["color"], zorder=2)
        for x, part in zip(at, more, strict=True):
            place = {"xytext": (0, 2 if part >= 0 else -2), "va": "bottom" if part >= 0 else "top"}
            words = f"{part:+.1f}" if abs(part) >= 0.05 else "0"
            ax.annotate(words, (x, part), textcoords="offset points", ha="center", fontsize=SMALL, **place)
    ax.axhline(0.0, color=INK, lw=0.9)
    ax.set(xticks=range(len(names)), xticklabels=names, ylabel="work, % more or less than the mean")
    ax.set_title("Work of each end")
    most = max(2.0, *(abs(end) for end in ax.get_ylim())) * 1.35
    ax.set_ylim(-most, most)
    ax.grid(visible=False, axis="x")
    return ax


def work_svg(works: Sequence[CylinderWork], unit: str, engine: str) -> bytes:
    """The whole picture of one notch on two by two axes."""
    sides, first = list(works[0].ahead), works[0]

    def draw(axes: Any) -> None:
        for ax, side in zip(axes[0], sides, strict=False):
            plot_diagram(works, side, unit, ax)
        for ax in axes[0][len(sides) :]:
            ax.set_visible(False)
        top = max(ax.get_ylim()[1] for ax in axes[0][: len(sides)])
        for ax in axes[0][: len(sides)]:
            ax.set_ylim(top=top)
        plot_effort(works, unit, axes[1][0])
        plot_shares(works, axes[1][1])
        figure_key(axes[0][0].figure, _said(works))

    states = " against ".join(label(work.state) for work in reversed(works))
    under = f"{states}; {sides_words(sides)}; notch {label(first.notch)}, running {first.direction}"
    head = Head("What the steam does, theoretical", (engine, under, *folded(LIMITS, 500)))
    return as_svg(draw, (FULL, 6.2), (2, 2), head=head)


def _said(works: Sequence[CylinderWork]) -> list[tuple[str, dict[str, Any]]]:
    said = [(label(work.state), state_line(k, len(works))) for k, work in enumerate(works)]
    ends = [(f"{end} end", {"color": INK, "lw": 1.2, "ls": DASHES[end]}) for end in ENDS]
    sides = [(side_words(side), _SIDES[side]) for side in works[0].effort.sides] if len(works) == 1 else []
    return [*said, *ends, *sides, ("clearance", patch(GRID))]
