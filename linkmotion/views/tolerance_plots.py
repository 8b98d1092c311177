"""Plots of a tolerance study: which tolerance makes an event's spread, and the spread itself."""

from __future__ import annotations

from typing import Any

import numpy as np

from linkmotion.studies.figures.figure import Figure
from linkmotion.studies.tolerances.limits import Kept
from linkmotion.studies.tolerances.rows import name_of
from linkmotion.studies.tolerances.spread import Sampled, Spread
from linkmotion.views.style import EXHAUST, FLAG, INK, STEAM, as_svg, axes_or_new, scale_of


def plot_tolerance_shares(result: Spread, figure: Figure | None = None, most: int = 10, ax: Any = None) -> Any:
    """Share of each tolerance in a figure's variance, greatest on top; those assumed are pale.

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
    bars = [(name_of(key), share, result.tolerances[key].assumed) for key, share in ranked[:most]]
    if ranked[most:]:
        bars.append((f"{len(ranked) - most} more", sum(share for _key, share in ranked[most:]), True))
    for row, (_name, share, assumed) in enumerate(bars):
        ax.barh(row, 100 * share, color=STEAM, alpha=0.45 if assumed else 0.95, height=0.68)
        ax.annotate(f"{100 * share:.0f} %", (100 * share, row), (4, 0), textcoords="offset points", va="center",
                    fontsize=8)  # fmt: skip
    ax.set_yticks(range(len(bars)), [name for name, _share, _assumed in bars])
    ax.invert_yaxis()
    widest = max((share for _name, share, _assumed in bars), default=1.0)
    ax.set(xlim=(0, 112 * widest), xlabel="share of the variance, % (pale: assumed tolerance)", title=str(figure))
    ax.grid(axis="y", visible=False)
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
    ax.hist(values, bins=60, density=True, color=EXHAUST, alpha=0.45, label=f"{values.size} gears turned")
    law = linear or result
    mean, std = (float(series[law.of(figure)]) * scale for series in (law.mean, law.std))
    if std > 0:
        x = np.linspace(mean - 4 * std, mean + 4 * std, 241)
        bell = np.exp(-(((x - mean) / std) ** 2) / 2) / (std * np.sqrt(2 * np.pi))
        ax.plot(x, bell, color=INK, lw=1.4, label="normal, by the derivatives" if linear else "normal")
    for edge in (result.low[i], result.high[i]):
        ax.axvline(edge * scale, color=FLAG, lw=1.0, ls=(0, (4, 2)))
    ax.axvline(result.nominal[i] * scale, color=INK, lw=0.9)
    low = ("data", "axes fraction")
    ax.annotate("drawn", (result.nominal[i] * scale, 0.75), xycoords=low, xytext=(3, 0), textcoords="offset points",
                fontsize=8)  # fmt: skip
    ax.annotate("95 %", (result.high[i] * scale, 0.5), xycoords=low, xytext=(3, 0), textcoords="offset points",
                fontsize=8, color=FLAG)  # fmt: skip
    shown = "% of stroke" if figure.unit == "percent" else unit
    ax.set(xlabel=f"{figure.kind}, {shown}", ylabel="density", title=str(figure))
    ax.set_ylim(top=ax.get_ylim()[1] * 1.22)  # room for the legend
    ax.legend(loc="upper left", ncols=2, fontsize=8)
    return ax


def pictures(sampled: Sampled, linear: Spread, kept: Kept, unit: str) -> dict[str, bytes]:
    """Shares and histogram of the target that fewest engines keep and of the first cutoff: SVG by name."""
    files: dict[str, bytes] = {}
    for figure in _pictured(sampled, kept):

        def draw(axes: Any, figure: Figure = figure) -> None:
            plot_tolerance_shares(sampled, figure, ax=axes[0])
            plot_spread(sampled, figure, linear, unit, axes[1])

        files[f"{len(files) + 1:02d}-{figure.end}-{figure.kind}.svg"] = as_svg(draw, (11, 4.2), (1, 2))
    return files


def _pictured(sampled: Sampled, kept: Kept) -> list[Figure]:
    first = next(figure for figure in sampled.figures if figure.kind == "cutoff")
    if not kept.holds:
        return [first]
    tightest = kept.holds[int(np.argmin(kept.each))]
    return list(dict.fromkeys((sampled.figures[tightest.figure], first)))
