"""Plots with a row for each notch: leads, cutoffs, cutoffs between the ends. Each returns its axes.

Sides (or states) that are set against one another stand close above one another in a notch's row. What they are held
against lies grey behind; a pale band is as wide as the target.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import FORWARD
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.figure import Reading
from linkmotion.targets import Targets
from linkmotion.valve import ENDS
from linkmotion.views.lettering import key
from linkmotion.views.style import (
    BAND,
    BEHIND,
    FLAG,
    GRID,
    INK,
    PAPER,
    SIDE_COLOURS,
    SMALL,
    axes_or_new,
    label,
    mark,
    patch,
    scale_of,
)

_NARROWEST = 4.0  # targets that an axis is wide at least: what is much less is no difference that anybody reads
OUT = {"marker": "o", "mfc": "none", "mec": FLAG, "ms": 9.5, "mew": 1.1, "ls": "none"}


@dataclass(frozen=True)
class Series:
    """A side in a state as it stands in every row.

    Attributes
    ----------
    words : str
        What the key calls it.
    side : SideEvents
        Whose figures.
    against : SideEvents or None
        What it is held against.
    colour : colour of matplotlib
        Of its marks; its side's unless given.
    alike : bool
        Whether it stands for both sides.
    shape : str
        Of its marks; its side's unless given.
    """

    words: str
    side: SideEvents
    against: SideEvents | None = None
    colour: Any = ""
    alike: bool = False
    shape: str = ""

    def mark(self, end: str) -> dict[str, Any]:
        """The mark of an end."""
        look = mark("" if self.alike else self.side.side, end, self.colour or (INK if self.alike else ""))
        return look | ({"marker": self.shape} if self.shape else {})

    @property
    def line(self) -> dict[str, Any]:
        """The line between its marks."""
        colour = self.colour or (INK if self.alike else SIDE_COLOURS[self.side.side])
        return {"color": colour, "lw": 1.0, "zorder": 2.0}


@dataclass(frozen=True)
class Rows:
    """The rows of a plot: notches, each in the directions in which it drives, or in one alone."""

    first: SideEvents
    once: bool = False
    places: list[tuple[int, str]] = field(init=False)

    def __post_init__(self) -> None:
        count = 1 if self.once else 2
        listed = [(i, way) for i in range(len(self.first.notches)) for way in self.first.driven(i)[:count]]
        object.__setattr__(self, "places", listed)

    @property
    def names(self) -> list[str]:
        """What stands before each row."""
        twice = {i for i, _way in self.places if not self.once and self.first.drives[i] == "both"}
        return [f"{label(self.first.notches[i], 22)}{f', {way}' * (i in twice)}" for i, way in self.places]

    def within(self, count: int, number: int) -> NDArray[Any]:
        """Where one of several series stands in every row."""
        return np.arange(len(self.places)) + (number - (count - 1) / 2) * 0.78 / count


def plot_leads(
    series: SideEvents | Sequence[Series],
    unit: str = "mm",
    targets: Targets | None = None,
    ax: Any = None,
    say: bool = True,
) -> Any:
    """Lead of both ends in every notch; the band about their mean is as wide as the difference that is allowed.

    With ``say`` what the marks are stands under it.
    """
    ax, scale = axes_or_new(ax), scale_of(unit)
    listed = [Series("", series, alike=True)] if isinstance(series, SideEvents) else list(series)
    rows = Rows(listed[0].side, once=True)
    allowed = np.full(len(rows.places), (targets or Targets()).lead_difference * scale)
    _plot_ends(ax, listed, rows, lambda side, end: side.events[FORWARD][end].lead * scale,  # alike in both directions
               allowed if targets is not None else None, say)  # fmt: skip
    widen(ax, _NARROWEST * float(allowed[0]))
    ax.set_xlabel(f"lead, {unit}")
    return ax


def plot_cutoffs(series: Sequence[Series], targets: Targets, ax: Any = None, say: bool = True) -> Any:
    """Cutoff of both ends in every notch, percent of stroke, with a band as :func:`plot_leads` has."""
    ax, rows = axes_or_new(ax), Rows(series[0].side)
    allowed = np.array([targets.apart("cutoff", "ends", rows.first.drives[i]) for i, _way in rows.places])
    _plot_ends(ax, series, rows, lambda side, end: _cutoff(side, rows, end), allowed, say)
    ax.set(xlabel="cutoff, % of stroke", xlim=(0, 100))
    return ax


def _plot_ends(
    ax: Any, series: Sequence[Series], rows: Rows, figure: Callable[[SideEvents, str], Any], allowed: Any, say: bool
) -> None:
    """A figure of both ends in every row, the ends joined, over what they are held against."""
    for number, own in enumerate(series):
        y = rows.within(len(series), number)
        front, back = (figure(own.side, end) for end in ENDS)
        if own.against is not None:
            for end in ENDS:
                ax.plot(figure(own.against, end), y, **_grey(own, end))
        if allowed is not None:
            ax.barh(y, allowed, 0.7 / len(series), (front + back - allowed) / 2, color=BAND, lw=0, zorder=0.6)
        _joined(ax, front, back, y, own)
    name_rows(ax, rows.names, "notch")
    if say:
        key(ax, said_of(series, "difference allowed" if allowed is not None else ""))


def _cutoff(side: SideEvents, rows: Rows, end: str) -> NDArray[Any]:
    return np.array([side.events[way][end].percent["cutoff"][i] for i, way in rows.places])


def plot_cutoffs_apart(series: Sequence[Series], targets: Targets, ax: Any = None, say: bool = True) -> Any:
    """By how much the front end cuts off later than the back end in every notch; the band is what is allowed."""
    ax, rows = axes_or_new(ax), Rows(series[0].side)
    allowed = np.array([targets.apart("cutoff", "ends", rows.first.drives[i]) for i, _way in rows.places])
    ax.barh(np.arange(len(allowed)), 2 * allowed, 0.86, -allowed, color=BAND, lw=0, zorder=0.6)
    ax.axvline(0.0, color=INK, lw=0.7)
    for number, own in enumerate(series):
        y = rows.within(len(series), number)
        if own.against is not None:
            ax.plot(_apart(own.against, rows), y, **_grey(own, "front"))
        apart = _apart(own.side, rows)
        out = np.abs(apart) > allowed
        ax.plot(apart, y, **own.mark("front"))
        ax.plot(apart[out], y[out], **OUT)
    name_rows(ax, rows.names, "notch")
    widen(ax, 2 * float(np.max(allowed)))
    ax.set_xlabel("cutoff, front less back, % of stroke")
    said = [*said_of(series, "", ends=False), ("allowed", patch(BAND))]
    if say:
        key(ax, [*said, ("out of target", OUT)])
    return ax


def name_rows(ax: Any, names: Sequence[str], of: str = "") -> None:
    """A row for each name, the first on top, a rule between them; ``of`` says over them what they are names of."""
    ax.set_yticks(range(len(names)), [label(name) for name in names], fontsize=SMALL)
    ax.set_ylim(len(names) - 0.5, -0.5)
    ax.grid(visible=False, axis="y")
    ax.hlines(np.arange(0.5, len(names) - 1), 0, 1, transform=ax.get_yaxis_transform(), color=GRID, lw=0.5, zorder=0.4)
    ax.tick_params(axis="y", length=0)
    if of:
        ax.set_ylabel(of, rotation=0, ha="right", va="bottom")
        ax.yaxis.set_label_coords(0.0, 1.01, transform=_left_of(ax))


def short(reading: Reading) -> str:
    """A reading's name in few letters, for a row: its running only where its notch does not say it.

    Parameters
    ----------
    reading : Reading
        Which.
    """
    if reading.spot is not None and reading.at is None:
        return f"{reading.spot}, {reading.notch}, {reading.end or 'front'}"
    what = reading.spot or f"{reading.end} {reading.kind}".strip()
    words = f"{what}, {reading.notch}"
    if reading.at is not None:
        words += f", {reading.at:g}°"
    if reading.direction and reading.direction not in reading.notch:
        words += f", {reading.direction}"
    return words


def _left_of(ax: Any) -> Any:
    """Places of the axes, moved to the left of its spine."""
    from matplotlib.transforms import ScaledTranslation

    return ax.transAxes + ScaledTranslation(-3.5 / 72, 0, ax.figure.dpi_scale_trans)


def widen(ax: Any, least: float) -> None:
    """Make the x axis at least so wide about what it shows: less than that is nothing that could be read."""
    low, high = ax.dataLim.intervalx
    middle, span = (low + high) / 2, max(1.08 * (high - low), least)
    ax.set_xlim(middle - span / 2, middle + span / 2)
    ax.locator_params(axis="x", nbins=5)


def _apart(side: SideEvents, rows: Rows) -> NDArray[Any]:
    front, back = (_cutoff(side, rows, end) for end in ENDS)
    apart: NDArray[Any] = front - back
    return apart


def _joined(ax: Any, front: Any, back: Any, y: Any, own: Series) -> None:
    """Both ends' marks in every row, and the line between them."""
    gap = np.full(len(y), np.nan)
    ax.plot(np.stack([front, back, gap], 1).ravel(), np.repeat(y, 3), **own.line)
    ax.plot(back, y, **own.mark("back"))
    ax.plot(front, y, **own.mark("front"))


def _grey(own: Series, end: str) -> dict[str, Any]:
    look = own.mark(end) | {"color": BEHIND, "mec": BEHIND, "zorder": 1.5}
    return look | {"mfc": BEHIND if end == "front" else PAPER, "ms": look["ms"] + 3.5, "mew": 2.0}


def said_of(series: Sequence[Series], band: str, ends: bool = True) -> list[tuple[str, dict[str, Any]]]:
    """The key: each series, the ends, what is held against, the band."""
    said: list[tuple[str, dict[str, Any]]] = []
    for own in series:
        if ends:
            said += [(f"{own.words} {end}".strip(), own.mark(end)) for end in ENDS]
        else:
            said.append((own.words or "as it stands", own.mark("front")))
    held = next((own for own in series if own.against is not None), None)
    if held is not None and held.against is not None:
        said.append((held.against.state, _grey(held, "front") | {"ms": 7}))
    return said + ([(band, patch(BAND))] if band else [])
