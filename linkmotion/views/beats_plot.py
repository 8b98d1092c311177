"""A ring of beats around the wheel."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from linkmotion.events import FORWARD
from linkmotion.studies.steam.beats import LEAST, Beats
from linkmotion.views.style import EXHAUST, INK, PAPER, STEAM, label

MOST = 12  # rings in one picture
SIDE_COLOURS = {"left": STEAM, "right": EXHAUST}


def plot_beats(case: Beats, ax: Any = None) -> Any:
    """Where the left crank stands when each beat is heard: ring and beats as the wheel turns, front to the right.

    Short grey ticks: the even places. Filled marks: front ends; open marks: back ends; the stronger the beat, the
    larger the mark.

    Parameters
    ----------
    case : Beats
        Of one notch and direction.
    ax : matplotlib polar axes, optional
        New ones unless given; returned.
    """
    if ax is None:
        import matplotlib.pyplot as plt

        ax = plt.subplots(layout="constrained", subplot_kw={"projection": "polar"})[1]
    ax.set_theta_zero_location("E")
    ax.set_theta_direction(-1 if case.direction == FORWARD else 1)
    ax.grid(visible=False)
    ax.spines["polar"].set_visible(False)
    ax.set(xticks=[], yticks=[], ylim=(0, 1.65))
    ring = np.linspace(0, 2 * np.pi, 181)
    ax.plot(ring, np.ones_like(ring), color=INK, lw=1.2)
    ax.plot(0, 0, "o", color=INK, ms=3)
    _arrow(ax)
    loudest = max((abs(beat.strength) for beat in case.sounding), default=1.0) or 1.0
    for beat in case.sounding:
        at, even = np.radians(beat.angle), np.radians(beat.angle - beat.late)
        colour = SIDE_COLOURS[beat.side]
        ax.plot([even, even], [0.78, 1.14], color=INK, alpha=0.3, lw=3.0, solid_capstyle="butt", zorder=1)
        ax.plot([at, at], [0.0, 1.0], color=colour, lw=1.0, zorder=2)
        fill = colour if beat.end == "front" else PAPER
        ax.plot(at, 1.0, "o", color=colour, mfc=fill, ms=4 + 8 * abs(beat.strength) / loudest, mew=1.6, zorder=3)
        words = (
            "in its place"
            if abs(beat.late) < LEAST
            else f"{abs(beat.late):.1f}° {'late' if beat.late > 0 else 'early'}"
        )
        out = 1.40 + 0.09 * abs(np.cos(at))  # a label is wider than high
        ax.text(at, out, f"{beat.name}\n{words}", ha="center", va="center", fontsize=8)
    silent = [beat.name for beat in case.beats if beat.silent]
    words = f"\nsilent: {', '.join(silent)}" if silent else ""
    ax.set_title(f"{label(case.state)}\n{label(case.notch)}, {case.direction}{words}", loc="center", fontsize=9)
    return ax


def _arrow(ax: Any) -> None:
    """Which way the wheel turns."""
    turn = np.radians(np.linspace(200.0, 250.0, 12))
    ax.plot(turn, np.full_like(turn, 0.5), color=INK, lw=0.9)
    ax.annotate(
        "", xy=(turn[-1] + 0.12, 0.5), xytext=(turn[-1], 0.5), arrowprops={"arrowstyle": "-|>", "color": INK, "lw": 0.9}
    )


def draw_rings(cases: Sequence[Beats], axes: Any) -> None:
    """A ring for each case, and how they are to be read.

    Parameters
    ----------
    cases : sequence of Beats
        No more than there are axes.
    axes : array of matplotlib polar axes
        Of one figure; those to spare are hidden.
    """
    flat = np.ravel(axes)
    for case, ax in zip(cases, flat, strict=False):
        plot_beats(case, ax)
    for ax in flat[len(cases) :]:
        ax.set_visible(False)
    words = (
        "Filled: front end; open: back end; larger: stronger. Grey ticks: even places.\nEngine's front to the right."
    )
    flat[0].figure.supxlabel(words, fontsize=7.5)
    flat[0].figure.get_layout_engine().set(rect=(0, 0, 1, 0.97))  # the title of round axes stands out of it
