"""Plots of a tolerance study: which tolerance makes an event's spread, and the spread itself."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any

import numpy as np

from linkmotion.gears.keys import key_in_words
from linkmotion.studies.figures.figure import Figure
from linkmotion.studies.tolerances.limits import Kept
from linkmotion.studies.tolerances.spread import Sampled, Spread
from linkmotion.views.lettering import Head, key, width
from linkmotion.views.notch_rows import widen
from linkmotion.views.style import BEHIND, FLAG, HALF, INK, SMALL, Margins, as_svg, axes_or_new, on, patch, scale_of

_EDGE = {"color": FLAG, "lw": 1.2, "ls": (0, (4, 2))}
_DRAWN = {"color": INK, "lw": 1.0, "ls": (0, (1, 1))}
_NARROWEST = {"mm": 0.2, "percent": 1.0}  # that can be read: no axis is narrower
_MOST = 10
_ROOM: Margins = (0.62, 0.1, 0.42, 0.04)


def plot_tolerance_shares(result: Spread, figure: Figure | None = None, most: int = _MOST, ax: Any = None) -> Any:
    """Share of each tolerance in a figure's variance, greatest on top; those assumed are grey.

    Parameters
    ----------
    result : Spread
        Linear or Monte Carlo.
    figure : Figure, optional
        Which; the first, if not given.
    most : int
        Bars shown; the rest are summed in one.
    """
    ax, figure = axes_or_new(ax), figure or result.figures[0]
    ranked = [(key, share) for key, share in result.shares(figure) if share > 0]
    bars = [(key_in_words(key), share, result.tolerances[key].assumed) for key, share in ranked[:most]]
    if ranked[most:]:
        bars.append((f"{len(ranked) - most} more", sum(share for _key, share in ranked[most:]), True))
    for row, (_name, share, assumed) in enumerate(bars):
        ax.barh(row, 100 * share, facecolor=BEHIND if assumed else INK, edgecolor=INK, lw=0.8, height=0.62)
        ax.annotate(f"{100 * share:.0f} %", (100 * share, row), (4, 0), textcoords="offset points", va="center",
                    fontsize=SMALL)  # fmt: skip
    ax.set_yticks(range(len(bars)), [name for name, _share, _assumed in bars])
    ax.invert_yaxis()
    widest = max((share for _name, share, _assumed in bars), default=1.0)
    ax.set(xlim=(0, 122 * widest), xlabel="share of the variance, %")
    ax.grid(axis="y", visible=False)
    key(ax, [("tolerance given", patch(INK)), ("tolerance assumed", patch(BEHIND))])
    return ax


def plot_spread(result: Sampled, figure: Figure | None = None, linear: Spread | None = None,
                unit: str = "mm", ax: Any = None) -> Any:  # fmt: skip
    """Histogram of a figure over the variants, beside the normal law of its linear spread.

    Parameters
    ----------
    result : Sampled
        Monte Carlo.
    figure : Figure, optional
        Which; the first, if not given.
    linear : Spread, optional
        Its normal law is drawn; that of the Monte Carlo's own mean and deviation, if not given.
    unit : str
        Unit of lengths.
    """
    ax, figure = axes_or_new(ax), figure or result.figures[0]
    i, scale = result.of(figure), 1.0 if figure.unit == "percent" else scale_of(unit)
    values = result.values[:, i][~np.isnan(result.values[:, i])] * scale
    ax.hist(values, bins=40, density=True, color=BEHIND)
    said = [(f"{values.size} gears turned", patch(BEHIND))]
    law = linear or result
    mean, std = (float(series[law.of(figure)]) * scale for series in (law.mean, law.std))
    if std > 0:
        x = np.linspace(mean - 4 * std, mean + 4 * std, 241)
        bell = np.exp(-(((x - mean) / std) ** 2) / 2) / (std * np.sqrt(2 * np.pi))
        ax.plot(x, bell, color=INK, lw=1.4)
        said.append(("normal, by the derivatives" if linear else "normal", {"color": INK, "lw": 1.4}))
    for edge in (result.low[i], result.high[i]):
        ax.axvline(edge * scale, **_EDGE)
    ax.axvline(result.nominal[i] * scale, **_DRAWN)
    shown = "% of stroke" if figure.unit == "percent" else unit
    ax.set(xlabel=f"{figure.kind}, {shown}", ylabel=f"share of the gears for each {shown}")
    widen(ax, _NARROWEST[figure.unit] * scale)
    key(ax, [*said, ("19 in 20 lie between", _EDGE), ("as drawn", _DRAWN)])
    return ax


def pictures(sampled: Sampled, linear: Spread, kept: Kept, unit: str, of: Sequence[str]) -> dict[str, bytes]:
    """Shares and histogram of the target that fewest engines keep and of the first cutoff: SVG by name.

    ``of`` says of which engine, state and side.
    """
    files: dict[str, bytes] = {}
    for number, figure in enumerate(_pictured(sampled, kept), 1):
        name, under = f"{number:02d}-{figure.end}-{figure.kind}", (*of, str(figure))
        head = Head("What tolerances make of it: shares", under)
        shares = partial(plot_tolerance_shares, sampled, figure)
        names = [key_in_words(key) for key, share in sampled.shares(figure)[:_MOST] if share > 0]
        room = (max(map(width, names), default=40.0) / 72 + 0.15, 0.1, 0.42, 0.04)
        files[f"{name}-shares.svg"] = as_svg(on(shares), (HALF, 2.6), head=head, margins=room)
        head = Head("What tolerances make of it: spread", under)
        spread = partial(plot_spread, sampled, figure, linear, unit)
        files[f"{name}-spread.svg"] = as_svg(on(spread), (HALF, 2.4), head=head, margins=_ROOM)
    return files


def _pictured(sampled: Sampled, kept: Kept) -> list[Figure]:
    first = next(figure for figure in sampled.figures if figure.kind == "cutoff")
    if not kept.holds:
        return [first]
    tightest = kept.holds[int(np.argmin(kept.each))]
    return list(dict.fromkeys((sampled.figures[tightest.figure], first)))
