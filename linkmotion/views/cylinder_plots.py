"""Indicator diagrams, turning effort around the wheel, and each end's share of the work."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from linkmotion.files.quantities import POUND_FOOT, PRESSURES, format_pressure, usual_pressure
from linkmotion.studies.steam.cylinder_work import CylinderWork
from linkmotion.studies.steam.indicator import ATMOSPHERE, LIMITS
from linkmotion.views.style import DASHES, EXHAUST, FLAG, GRID, INK, STEAM, axes_or_new, label, notch_colour

_COLOURS = (INK, STEAM, EXHAUST, FLAG)
_BESIDE = 1e-9


def state_colour(index: int, count: int) -> Any:
    """Colour of a state: the first dark, others to be told from it."""
    return _COLOURS[index] if count <= len(_COLOURS) else notch_colour(index, count)


def plot_diagram(works: Sequence[CylinderWork], side: str, unit: str = "mm", ax: Any = None) -> Any:
    """Pressure against the piston's place, both ends of one side: front solid, back dashed; a colour to a state."""
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
            words = f"{label(work.state)}, {end.end}: mean {format_pressure(end.mean, pressure)}"
            ax.plot(
                place if end.end == "front" else 100 - place,
                values,
                color=state_colour(k, len(works)),
                ls=DASHES[end.end],
                lw=1.6,
                label=words,
            )
    for low, high in ((-clearance, 0.0), (100.0, 100.0 + clearance)):
        ax.axvspan(low, high, color=GRID, alpha=0.5, lw=0)
    ax.axhline(0.0, color=INK, lw=0.6)
    ax.set(xlim=(-clearance, 100 + clearance), xlabel="piston from its front end, % of stroke (shaded: clearance)")
    ax.set_ylabel(f"pressure by the gauge, {pressure}")
    ax.set_title(f"{side} cylinder")
    ax.margins(y=0.04)
    ax.set_ylim(top=ax.get_ylim()[1] * (1.12 + 0.13 * len(works)))
    ax.legend(loc="upper center", fontsize=7.5, ncols=2, handlelength=2.4, columnspacing=1.2)
    return ax


def plot_effort(works: Sequence[CylinderWork], unit: str = "mm", ax: Any = None) -> Any:
    """Turning effort around the wheel: heavy, all sides together; of a state alone each side too; line: the mean."""
    ax = axes_or_new(ax)
    sized = works[0].bore is not None
    for k, work in enumerate(works):
        effort, colour = work.effort, state_colour(k, len(works))
        scale = (1.0 if unit == "mm" else 1 / POUND_FOOT) if sized else 1 / (abs(works[0].effort.mean) or 1.0)
        ax.plot(effort.angle, effort.total * scale, color=colour, lw=1.8, label=label(work.state))
        ax.axhline(effort.mean * scale, color=colour, lw=0.9, ls=(0, (1, 1.5)))
        if len(works) == 1 and len(effort.sides) > 1:
            for (side, torque), own in zip(effort.sides.items(), (STEAM, EXHAUST), strict=True):
                ax.plot(effort.angle, torque * scale, color=own, lw=0.9, label=f"{side} side")
    measure = ("N m" if unit == "mm" else "lbf ft") if sized else f"of the mean of {label(works[0].state)}"
    ax.set(xlim=(0, 360), xticks=range(0, 361, 45), ylabel=f"turning effort, {measure}")
    ax.set_xlabel(f"left crank from front dead centre, degrees, running {works[0].direction}")
    ax.set_title("Turning effort around the wheel (dotted: mean)")
    ax.set_ylim(bottom=min(0.0, ax.get_ylim()[0]), top=ax.get_ylim()[1] * 1.18)
    ax.legend(loc="upper center", ncols=3, fontsize=7.5)
    return ax


def plot_shares(works: Sequence[CylinderWork], ax: Any = None) -> Any:
    """What each end does more or less than the mean of the ends, percent: nothing when all pull alike."""
    ax = axes_or_new(ax)
    names = [f"{end.side}\n{end.end}" for end in works[0].ends]
    width = 0.8 / len(works)
    for k, work in enumerate(works):
        at = np.arange(len(names)) + (k - (len(works) - 1) / 2) * width
        more = 100 * (np.nan_to_num(work.shares, nan=1.0) - 1)
        ax.bar(at, more, width * 0.92, color=state_colour(k, len(works)), alpha=0.8, label=label(work.state))
        for x, part in zip(at, more, strict=True):
            place = {"xytext": (0, 2 if part >= 0 else -2), "va": "bottom" if part >= 0 else "top"}
            words = f"{part:+.1f}" if abs(part) >= 0.05 else "0"
            ax.annotate(words, (x, part), textcoords="offset points", ha="center", fontsize=7, **place)
    ax.axhline(0.0, color=INK, lw=0.9)
    ax.set(xticks=range(len(names)), xticklabels=names, ylabel="% more or less than the mean")
    ax.set_title("Work of each end against the mean of the ends")
    most = max(2.0, *(abs(end) for end in ax.get_ylim())) * 1.35
    ax.set_ylim(-most, most)
    ax.grid(visible=False, axis="x")
    ax.legend(loc="upper center", ncols=3, fontsize=7.5)
    return ax


def draw_work(works: Sequence[CylinderWork], unit: str, axes: Any) -> None:
    """The whole picture of one notch on two by two axes."""
    sides = list(works[0].ahead)
    for ax, side in zip(axes[0], sides, strict=False):
        plot_diagram(works, side, unit, ax)
    for ax in axes[0][len(sides) :]:
        ax.set_visible(False)
    plot_effort(works, unit, axes[1][0])
    plot_shares(works, axes[1][1])
    figure = axes[0][0].figure
    figure.suptitle(f"Notch {label(works[0].notch)}, running {works[0].direction}: theoretical", fontsize=10)
    figure.supxlabel(LIMITS, fontsize=7)
