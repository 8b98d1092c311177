"""Plots of a diagnosis: the suspects with their intervals, and the readings beside what was to be expected."""

from __future__ import annotations

from typing import Any

import numpy as np

from linkmotion.studies.diagnosis.priors import Priors
from linkmotion.studies.diagnosis.result import FIRST, NOT_APART, NOT_SEEN, STANDS_OUT, Diagnosis
from linkmotion.views.diagnosis_view import Words, named
from linkmotion.views.style import EXHAUST, FLAG, GRID, INK, STEAM, as_svg, axes_or_new, label

_LISTED = 12
_PALE = "#a9a294"
_LINE = 0.22  # inches


def plot_suspects(found: Diagnosis, priors: Priors, words: Words, ax: Any = None) -> Any:
    """How far each suspect is off its figure if it is wrong, in its tolerance (± 1: within it)."""
    ax = axes_or_new(ax)
    listed = [own for own in found.suspects if own.standing != NOT_SEEN][:_LISTED][::-1]
    within = {key: 2 * std for key, std in zip(priors.keys, priors.sound.tolist(), strict=True)}
    ax.axvspan(-1.0, 1.0, color=GRID, alpha=0.6, lw=0)
    ax.axvline(0.0, color=INK, lw=0.8)
    for row, own in enumerate(listed):
        size = np.array([own.low, own.estimate, own.high]) / within[own.key]
        colour = STEAM if own.standing == FIRST else EXHAUST if own.standing == NOT_APART else _PALE
        ax.plot(size[[0, 2]], [row, row], color=colour, lw=5, solid_capstyle="butt")
        ax.plot(size[1], row, "D" if own.standing == FIRST else "o", color=INK, ms=5)
        amount = f"{words.departure(own.key, own.estimate)}  ({own.standing})"
        ax.annotate(amount, (1.01, row), xycoords=("axes fraction", "data"), va="center", fontsize=8)
    ax.set_yticks(range(len(listed)), [label(named(own.key)) for own in listed])
    ax.set(xlabel="off its figure if it is wrong, in tolerances (shaded: within its tolerance)")
    ax.set_ylim(-0.7, len(listed) - 0.3)
    return ax


def plot_readings(found: Diagnosis, words: Words, ax: Any = None) -> Any:
    """Readings, and what the gear as estimated gives, both against the gear as its file has it.

    Measured in what a reading is good for (± 1), since lengths, percent and angles stand together.
    """
    ax = axes_or_new(ax)
    good = np.array([2 * reading.sigma for reading in found.readings])
    read = (np.array([reading.value for reading in found.readings]) - found.expected) / good
    fitted = (found.fitted - found.expected) / good
    rows = np.arange(len(good))[::-1]
    off = np.abs(found.stands_out) >= STANDS_OUT
    ax.axvline(0.0, color=INK, lw=0.8)
    ax.hlines(rows, read - 1, read + 1, color=EXHAUST, lw=3, alpha=0.5, label="as read, ±")
    ax.plot(fitted, rows, "|", color=STEAM, ms=11, mew=2.5, label="gear as estimated")
    if np.any(off):
        ax.plot(read[off], rows[off], "x", color=FLAG, ms=8, mew=2, label="stands out")
    ax.set_yticks(rows, [label(str(reading), 60) for reading in found.readings], fontsize=7)
    ax.set(xlabel="off what the gear as its file has it would give, in what the reading is good for")
    ax.set_ylim(-1, len(rows))
    ax.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=3, fontsize=8)
    return ax


def diagnosis_svg(found: list[Diagnosis], priors: list[Priors], words: list[Words]) -> bytes:
    """Both plots of every side, one under the other."""
    heights = [size for own in found for size in (min(len(own.suspects), _LISTED) + 4, 0.75 * len(own.readings) + 4)]

    def draw(axes: Any) -> None:
        flat = np.atleast_1d(axes)
        for i, (own, prior, written) in enumerate(zip(found, priors, words, strict=True)):
            plot_suspects(own, prior, written, flat[2 * i]).set_title(f"{own.side} side: suspects")
            ax = plot_readings(own, written, flat[2 * i + 1])
            ax.set_title(f"{own.side} side: readings", pad=20)

    return as_svg(draw, (10, _LINE * sum(heights)), (2 * len(found), 1), heights=heights)
