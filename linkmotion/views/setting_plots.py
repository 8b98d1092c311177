"""Plots of a setting: readings before and after, and what each adjustment does to each reading."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

import numpy as np

from linkmotion.sides import side_words
from linkmotion.studies.figures.figure import DEGREES, MM, PERCENT, Reading
from linkmotion.studies.setting.adjustments import Adjustment
from linkmotion.studies.setting.foreseen import DIAGNOSIS, STATE, Foreseen
from linkmotion.views.lettering import figure_key
from linkmotion.views.notch_rows import name_rows, short
from linkmotion.views.pictures import Plan, drawn
from linkmotion.views.setting_words import Words
from linkmotion.views.style import BEHIND, INK, PAPER, axes_or_new, scale_of

_UNITS = {MM: "", PERCENT: "% of stroke", DEGREES: "degrees"}
_READ_TO = {MM: 0.1, PERCENT: 0.5, DEGREES: 0.5}  # how near such a reading is taken; common practice, no source
_ROW = 0.17  # inches
_TAKEN = {"marker": "o", "mfc": PAPER, "mec": INK, "ms": 5, "ls": "none"}
_BELIEVED = {"marker": "|", "color": INK, "ms": 9, "mew": 1.4, "ls": "none"}
_AFTER = {"marker": "D", "color": INK, "ms": 4.2, "ls": "none"}
_DOUBT = {"color": BEHIND, "lw": 5.0, "solid_capstyle": "butt"}


def setting_pictures(words: Words, foreseen: list[Foreseen], of: Sequence[str]) -> dict[str, bytes]:
    """Every side's plots as SVG files, by name; ``of`` says of which engine and state."""
    return {f"{plan.name}.svg": drawn(plan).svg for plan in plans(words, foreseen, of)}


def plans(words: Words, foreseen: list[Foreseen], of: Sequence[str]) -> list[Plan]:
    """The pictures of each side: its readings, a panel for each unit in which something is read; and the effects."""
    return [plan for own in foreseen for plan in _of_side(words, own, foreseen, of)]


def _of_side(words: Words, own: Foreseen, foreseen: list[Foreseen], of: Sequence[str]) -> list[Plan]:
    units = _units(own)
    longest = max(len(_rows(own, each)) for each in units)

    def readings(axes: Any) -> None:
        flat = np.atleast_1d(axes)
        for ax, each in zip(flat, units, strict=True):
            plot_readings(own, each, words.unit, ax, max(_reach(side, each) for side in foreseen))
        figure_key(flat[0].figure, _said(own))

    said = "What was read, and what should be read when the work is done."
    told = "What one step of each adjustment does to each reading."
    under = (*of[:-1], f"{of[-1]}, {side_words(own.side)}")
    height = 1.3 + 0.2 * len(own.readings)
    return [
        Plan(f"{own.side}-readings", "Readings, and after the work", said, 0.9 + _ROW * longest, readings,
             (1, len(units)), of=under),
        Plan(f"{own.side}-effects", "What one step of each adjustment does", told, height,
             lambda ax: plot_effects(words, own, ax), of=under),
    ]  # fmt: skip


def _units(own: Foreseen) -> list[str]:
    return [each for each in (MM, PERCENT, DEGREES) if _rows(own, each)]


def _reach(own: Foreseen, kind: str) -> float:
    """How far from what was read anything lies, in the readings' own unit: at least some of their doubts."""
    rows = _rows(own, kind)
    readings = [own.readings[i] for i in rows]
    far = [abs(own.expected[stage, i] - own.readings[i].value) for i in rows for stage in (0, -1)]
    return max((*far, *(4 * max(reading.sigma, _READ_TO[kind] / 2) for reading in readings)), default=0.0)


def plot_readings(own: Foreseen, kind: str, unit: str, ax: Any = None, reach: float = 0.0) -> Any:
    """Readings of one unit less what was read: its uncertainty, the gear as it is believed to stand, after the work.

    Die heights of inches and leads of thous on one scale would lie too close to be told apart. The axis is never
    narrower than what the readings are good for, and reaches to ``reach`` (in the readings' own unit) at least.
    """
    ax = axes_or_new(ax)
    rows, scale = _rows(own, kind), scale_of(unit) if kind == MM else 1.0
    at = np.arange(len(rows))
    read = scale * np.array([own.readings[i].value for i in rows])
    within = 2 * scale * np.array([own.readings[i].sigma for i in rows])
    before, after = (scale * own.expected[stage, rows] - read for stage in (0, -1))
    ax.axvline(0.0, color=INK, lw=0.6, zorder=1)
    ax.hlines(at, -within, within, color=BEHIND, lw=5.0, zorder=1.5)
    ax.hlines(at, before, after, color=INK, lw=0.9, zorder=2)
    ax.plot(0.0 * read, at, **_TAKEN, zorder=2.5)
    if own.basis == DIAGNOSIS:
        ax.plot(before, at, **_BELIEVED, zorder=3)
    ax.plot(after, at, **_AFTER, zorder=4)
    name_rows(ax, [short(own.readings[i]) for i in rows])
    most = 1.1 * scale * max(reach, _reach(own, kind))
    ax.set_xlim(-most, most)
    ax.locator_params(axis="x", nbins=4)
    less = f"less that {own.given}" if own.basis == STATE else "less what was read"
    what = " or ".join(dict.fromkeys(own.readings[i].kind for i in rows))
    ax.set_xlabel(f"{what} {less},\n{unit if kind == MM else _UNITS[kind]}")
    return ax


def _said(own: Foreseen) -> list[tuple[str, dict[str, Any]]]:
    said = [(own.given if own.basis == STATE else "as read", _TAKEN)]
    said += [("as read, 19 in 20", _DOUBT)] if own.basis != STATE else []
    said += [(own.estimated, _BELIEVED)] if own.basis == DIAGNOSIS else []
    return [*said, ("after the work", _AFTER)]


def plot_effects(words: Words, own: Foreseen, ax: Any = None) -> Any:
    """Change of each reading by one step of each adjustment that alters this side.

    Shaded by how much it is of the greatest change of its kind (leads, openings, die heights, cutoffs). Inches are told
    in thou.
    """
    ax = axes_or_new(ax)
    every = words.advice.problem.adjustments
    columns = [j for j, each in enumerate(every) if each.on(own.side)]
    rows = [i for unit in _units(own) for i in _rows(own, unit)]
    change = np.nan_to_num(own.effect[np.ix_(columns, rows)].T)
    thou = words.unit in ("in", "ft", "thou")
    units, kinds = (np.array([getattr(own.readings[i], name) for i in rows]) for name in ("unit", "kind"))
    change[units == MM] *= scale_of("thou" if thou else words.unit)
    most = np.array([max(np.max(np.abs(change[kinds == kind])), 1e-9) for kind in kinds])
    ax.imshow(np.abs(change) / most[:, None], cmap=_shades(), vmin=0, vmax=1, aspect="auto")
    for (row, column), size in np.ndenumerate(change):
        digits = 0 if thou and units[row] == MM else 2 if units[row] == MM else 1
        if round(abs(size), digits):
            ax.text(column, row, f"{size:+.{digits}f}", ha="center", va="center", fontsize=8, color=INK)
    for row in np.flatnonzero(units[1:] != units[:-1]):
        ax.axhline(row + 0.5, color=INK, lw=1.0)
    ax.set_xticks(range(len(columns)), [_step(words, every[j]) for j in columns], fontsize=8)
    ax.xaxis.tick_top()
    names = [f"{short(own.readings[i])} ({_told_in(words, own.readings[i])})" for i in rows]
    ax.set_yticks(range(len(rows)), names)
    ax.grid(False)
    ax.spines[["left", "bottom"]].set_visible(False)
    ax.tick_params(length=0)
    return ax


def _told_in(words: Words, reading: Reading) -> str:
    return "thou" if reading.unit == MM and words.unit in ("in", "ft") else words.unit_of(reading)


def _step(words: Words, adjustment: Adjustment) -> str:
    """An adjustment over its column: the part in short lines, then one step of it."""
    lines = textwrap.wrap(adjustment.work.name, 12, break_long_words=False)
    return "\n".join([*lines, adjustment.work.more.split()[0], words.amount(adjustment, adjustment.step)])


def _rows(own: Foreseen, kind: str) -> list[int]:
    return [i for i, reading in enumerate(own.readings) if reading.unit == kind]


def _shades() -> Any:
    """From paper to grey, light enough to be written on."""
    from matplotlib.colors import LinearSegmentedColormap

    return LinearSegmentedColormap.from_list("less and more", [PAPER, BEHIND])
