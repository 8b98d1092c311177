"""Plots of a setting: readings before and after, and what each adjustment does to each reading."""

from __future__ import annotations

import textwrap
from typing import Any

import numpy as np

from linkmotion.studies.figures.figure import DEGREES, MM, PERCENT, Reading
from linkmotion.studies.setting.adjustments import Adjustment
from linkmotion.studies.setting.foreseen import DIAGNOSIS, STATE, Foreseen
from linkmotion.views.pictures import Plan, drawn
from linkmotion.views.setting_words import Words
from linkmotion.views.style import EXHAUST, FLAG, GRID, INK, STEAM, axes_or_new, scale_of

_UNITS = {MM: "", PERCENT: "percent of stroke", DEGREES: "degrees"}


def setting_pictures(words: Words, foreseen: list[Foreseen]) -> dict[str, bytes]:
    """Every side's plots as SVG files, by name."""
    found = {}
    for own in foreseen:
        for plan in plans(words, own):
            found[f"{own.side}-{plan.name}.svg"] = drawn(plan).svg
    return found


def plans(words: Words, own: Foreseen) -> list[Plan]:
    """The pictures of one side: its readings, a panel for each unit in which something is read; and the effects."""
    units = _units(own)
    longest = max(len(_rows(own, each)) for each in units)

    def readings(axes: Any) -> None:
        for ax, each in zip(np.atleast_1d(axes), units, strict=True):
            plot_readings(own, each, words.unit, ax)
            if each != units[0]:
                ax.get_legend().remove()

    said = "What was read, and what should be read when the work is done."
    told = "What one step of each adjustment does to each reading."
    height = 1.6 + 0.2 * len(own.readings)
    return [
        Plan("readings", f"Readings, {own.side} side", said, 1.3 + 0.2 * longest, readings, (1, len(units))),
        Plan("effects", f"Each adjustment, {own.side} side", told, height, lambda ax: plot_effects(words, own, ax)),
    ]


def _units(own: Foreseen) -> list[str]:
    return [each for each in (MM, PERCENT, DEGREES) if _rows(own, each)]


def plot_readings(own: Foreseen, kind: str, unit: str, ax: Any = None) -> Any:
    """Readings of one unit less what was read: its uncertainty, the gear as it is believed to stand, after the work.

    Die heights of inches and leads of thous on one scale would lie too close to be told apart.
    """
    ax = axes_or_new(ax)
    rows, scale = _rows(own, kind), scale_of(unit) if kind == MM else 1.0
    at = np.arange(len(rows))[::-1]
    read = scale * np.array([own.readings[i].value for i in rows])
    within = 2 * scale * np.array([own.readings[i].sigma for i in rows])
    before, after = (scale * own.expected[stage, rows] - read for stage in (0, -1))
    for y, start, end in zip(at, before, after, strict=True):
        ax.plot([start, end], [y, y], color=GRID, lw=2.5, solid_capstyle="round", zorder=1)
    said = "by the file" if own.basis == STATE else "read (95 %)"
    zero_is = "less that by the file" if own.basis == STATE else "less what was read"
    ax.errorbar(0.0 * read, at, xerr=within, fmt="o", mfc="none", color=FLAG, ms=5, lw=1.0, label=said, zorder=2)
    if own.basis == DIAGNOSIS:
        ax.plot(before, at, "|", color=INK, ms=9, mew=1.4, label="gear as estimated", zorder=3)
    ax.plot(after, at, "D", color=STEAM, ms=4.5, label="after the work", zorder=4)
    _name_rows(ax, own, rows, at)
    ax.set_xlabel(f"{unit if kind == MM else _UNITS[kind]}, {zero_is}")
    ax.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=3, fontsize=8, handletextpad=0.3, columnspacing=1.0)
    return ax


def plot_effects(words: Words, own: Foreseen, ax: Any = None) -> Any:
    """Change of each reading by one step of each adjustment that alters this side.

    Coloured by the greatest change of its kind: leads, openings, die heights, cutoffs. Inches are told in thou.
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
    ax.imshow(change / most[:, None], cmap=_colours(), vmin=-1, vmax=1, aspect="auto")
    for (row, column), size in np.ndenumerate(change):
        digits = 0 if thou and units[row] == MM else 2 if units[row] == MM else 1
        if round(abs(size), digits):
            ax.text(column, row, f"{size:+.{digits}f}", ha="center", va="center", fontsize=8, color=INK)
    for row in np.flatnonzero(units[1:] != units[:-1]):
        ax.axhline(row + 0.5, color=INK, lw=1.0)
    ax.set_xticks(range(len(columns)), [_step(words, every[j]) for j in columns], fontsize=8)
    ax.xaxis.tick_top()
    _name_rows(ax, own, rows, np.arange(len(rows)), units=words)
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


def _name_rows(ax: Any, own: Foreseen, rows: list[int], at: Any, units: Words | None = None) -> None:
    names = [short(own.readings[i]) for i in rows]
    if units is not None:
        names = [f"{name} ({_told_in(units, own.readings[i])})" for name, i in zip(names, rows, strict=True)]
    ax.set_yticks(at, names, fontsize=8)
    ax.set_ylim(*((at.max() + 0.5, at.min() - 0.5) if at[0] < at[-1] else (at.min() - 0.6, at.max() + 0.6)))


def short(reading: Reading) -> str:
    """A reading's name in few letters."""
    words = f"{reading.end} {reading.kind}, {reading.notch}".strip()
    if reading.at is not None:
        words += f", {reading.at:g}°"
    if reading.direction and reading.direction not in reading.notch:
        words += f", {reading.direction}"
    return words


def _colours() -> Any:
    """From blue (less) over paper to red (more), light enough to be written on."""
    from matplotlib.colors import LinearSegmentedColormap, to_rgb

    def pale(colour: str) -> list[float]:
        return [0.35 + 0.65 * each for each in to_rgb(colour)]

    return LinearSegmentedColormap.from_list("less and more", [pale(EXHAUST), to_rgb("#fffdf8"), pale(STEAM)])
