"""Plots of a diagnosis: how likely each suspect is, and the readings beside what was to be expected."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from linkmotion.gears.sensitivity import Key
from linkmotion.sides import side_words
from linkmotion.studies.diagnosis.result import FIRST, NOT_APART, NOT_SEEN, STANDS_OUT, Diagnosis
from linkmotion.studies.diagnosis.worn_place import WORN_SLOT
from linkmotion.views.diagnosis_view import Words, named
from linkmotion.views.lettering import Head, figure_key
from linkmotion.views.notch_rows import name_rows, short
from linkmotion.views.style import BEHIND, FLAG, FULL, INK, PAPER, SMALL, as_svg, axes_or_new

_LISTED = 12
_LINE = 0.17  # inches
_LOOKS = {
    FIRST: {"facecolor": INK, "edgecolor": INK},
    NOT_APART: {"facecolor": BEHIND, "edgecolor": INK},
}
_PALE = {"facecolor": PAPER, "edgecolor": INK}
_READ = {"color": BEHIND, "lw": 5.0, "solid_capstyle": "butt"}
_ESTIMATED = {"marker": "|", "color": INK, "ms": 9, "mew": 1.8, "ls": "none"}
_OUT = {"marker": "o", "mfc": "none", "mec": FLAG, "ms": 10, "mew": 1.2, "ls": "none"}


def plot_suspects(found: Diagnosis, words: Words, ax: Any = None) -> Any:
    """How likely each suspect is to be wrong, the likeliest on top; beside it how far off it then is, 19 in 20."""
    ax = axes_or_new(ax)
    listed = [own for own in found.suspects if own.standing != NOT_SEEN][:_LISTED]
    sure = 100 * np.array([own.probability for own in listed])
    rows = np.arange(len(listed))
    for standing, look in ((FIRST, _LOOKS[FIRST]), (NOT_APART, _LOOKS[NOT_APART]), ("", _PALE)):
        at = [i for i, own in enumerate(listed) if standing == own.standing or not (standing or own.standing in _LOOKS)]
        ax.barh(rows[at], sure[at], 0.6, lw=0.8, zorder=2, **look)
    for row, own in enumerate(listed):
        low, high, size = (words.departure(own.key, each) for each in (own.low, own.high, own.estimate))
        _beside(ax, row, f"{size}: {low} to {high}; {own.standing}")
    name_rows(ax, [row_name(own.key) for own in listed])
    _beside(ax, -0.8, "off if it is wrong: 19 in 20")
    ax.set(xlabel="likely to be wrong, %", xlim=(0, max(100.0, *sure)), xticks=range(0, 101, 25))
    return ax


def row_name(key: Key) -> str:
    """A suspect in few letters.

    Parameters
    ----------
    key : (table, key)
        Of the dimension.
    """
    return f"slot worn in {key[1]}: centre line" if key[0] == WORN_SLOT else named(key)


def _beside(ax: Any, row: float, words: str) -> None:
    ax.annotate(words, (1.0, row), (6, 0), va="center", fontsize=SMALL, xycoords=("axes fraction", "data"),
                textcoords="offset points", annotation_clip=False)  # fmt: skip


def plot_readings(found: Diagnosis, words: Words, ax: Any = None) -> Any:
    """Readings, and what the gear as estimated gives, both against the gear as its file has it.

    Measured in what a reading is good for (± 1, 19 in 20), since lengths, percent and angles stand together.
    """
    ax = axes_or_new(ax)
    good = np.array([2 * reading.sigma for reading in found.readings])
    read = (np.array([reading.value for reading in found.readings]) - found.expected) / good
    fitted = (found.fitted - found.expected) / good
    rows = np.arange(len(good))
    off = np.abs(found.stands_out) >= STANDS_OUT
    ax.axvline(0.0, color=INK, lw=0.8)
    ax.hlines(rows, read - 1, read + 1, color=BEHIND, lw=5.0)
    ax.plot(fitted, rows, **_ESTIMATED)
    ax.plot(read[off], rows[off], **_OUT)
    for row, reading in enumerate(found.readings):
        told = (words.reading(reading, float(size)) for size in (reading.value, found.expected[row]))
        _beside(ax, row, "; ".join(told))
    name_rows(ax, [short(reading) for reading in found.readings])
    _beside(ax, -0.8, "read; by its file")
    ax.set(xlabel="read less by its file, in what it is good for (± 1: 19 in 20)")
    return ax


def diagnosis_svg(found: list[Diagnosis], words: list[Words], of: Sequence[str]) -> bytes:
    """Both plots of every side, one under the other; ``of`` says of which engine and state."""
    sizes = [n for own in found for n in (min(len(own.suspects), _LISTED) + 4, len(own.readings) + 6)]

    def draw(axes: Any) -> None:
        flat = np.atleast_1d(axes)
        for i, (own, written) in enumerate(zip(found, words, strict=True)):
            plot_suspects(own, written, flat[2 * i]).set_title(f"{side_words(own.side)}: suspects", pad=16)
            plot_readings(own, written, flat[2 * i + 1]).set_title(f"{side_words(own.side)}: readings")
        said = [("as read, 19 in 20", _READ), ("gear as estimated", _ESTIMATED), ("stands out", _OUT)]
        figure_key(flat[0].figure, said)

    size = (FULL, _LINE * sum(sizes))
    return as_svg(draw, size, (2 * len(found), 1), heights=sizes, head=Head("What the readings say", tuple(of)))
