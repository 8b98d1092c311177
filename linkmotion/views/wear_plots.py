"""Plots of wear: which item matters, and lost motion round the wheel. Those of both sides have one scale."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

import numpy as np

from linkmotion.studies.which_wear import WhichWear
from linkmotion.studies.worn_rows import loosest_notch, lost_round_the_wheel
from linkmotion.views.labels import spread
from linkmotion.views.lettering import Head, figure_key
from linkmotion.views.notch_rows import name_rows
from linkmotion.views.style import BAND, BEHIND, FULL, INK, PAPER, SMALL, as_svg, axes_or_new, on, patch, scale_of
from linkmotion.wear.lost_motion import LostMotion

_GAINED = {"marker": "D", "color": INK, "mfc": PAPER, "ms": 4.5, "mew": 1.1, "ls": "none"}
_WORN = {"facecolor": BEHIND, "edgecolor": INK, "lw": 0.8}
_LIGHT, _DARK = (0.93, 0.92, 0.89), (0.42, 0.45, 0.46)
_APART = 0.1  # of the axis, from one joint's name to the next
_ROW, _ROUND = 0.19, 1.9  # inches: an item; a plot round the wheel
_MARK = 0.025  # of the axis: room for a mark at its left end, clear of the names of items


def plot_which_wear(result: WhichWear, ax: Any = None, beside: Sequence[WhichWear] = ()) -> Any:
    """Weight of every item alone (bars) and what renewing it would gain (marks), as multiples of the target.

    Parameters
    ----------
    result : WhichWear
        Of one side.
    ax : matplotlib axes, optional
        New ones unless given; returned.
    beside : sequence of WhichWear
        Of the sides that are drawn beside it, on the same scale.
    """
    ax, rows = axes_or_new(ax), np.arange(len(result.items))
    weights = np.array([item.weight for item in result.items])
    ax.axvspan(0.0, 1.0, color=BAND, lw=0, zorder=0.5)
    ax.barh(rows, weights, 0.55, zorder=2, **_WORN)
    ax.plot([item.gain for item in result.items], rows, **_GAINED, zorder=3)
    for row, item in enumerate(result.items):
        ax.annotate(f"{item.weight:.2f}", (max(item.weight, item.gain), row), (6, 0), va="center", fontsize=SMALL,
                    textcoords="offset points")  # fmt: skip
    name_rows(ax, [item.name for item in result.items], "item")
    ax.set(xlabel="greatest change, as a multiple of the target it offends", xlim=_reach((result, *beside)))
    return ax


def _reach(results: Sequence[WhichWear]) -> tuple[float, float]:
    sizes = [size for result in results for item in result.items for size in (item.weight, item.gain)]
    most = 1.12 * max(1.2, max(sizes, default=0.0))
    return min(0.0, min(sizes, default=0.0)) - _MARK * most, most


def plot_lost_motion(found: LostMotion, unit: str = "mm", ax: Any = None, reach: float = 0.0) -> Any:
    """What a dial gauge on the spindle reads when it is pushed and pulled, joint upon joint, round the wheel.

    The axis reaches to ``reach`` (mm) at least.
    """
    ax, scale = axes_or_new(ax), scale_of(unit)
    angle = np.append(found.crank_angle, 360.0)
    parts = np.array([np.append(free, free[0]) for free in found.joints.values()]) * scale
    shades = [
        tuple(np.array(_DARK) + (np.subtract(_LIGHT, _DARK)) * i / max(len(parts) - 1, 1)) for i in range(len(parts))
    ]
    ax.stackplot(angle, parts, colors=shades, ec=PAPER, lw=0.8, zorder=1.5)
    ax.plot(angle, parts.sum(0), color=INK, lw=1.4)
    most = 1.05 * max(float(parts.sum(0).max()), reach * scale)
    ax.set(xlim=(0, 360), xticks=range(0, 361, 45), ylim=(0, most), ylabel=f"lost motion, {unit}",
           xlabel="crank from front dead centre, degrees, forward")  # fmt: skip
    tops = np.cumsum(parts[:, -1])
    for name, at, top, size in zip(
        found.joints, spread(tops - parts[:, -1] / 2, _APART * most), tops, parts[:, -1], strict=True
    ):
        ax.annotate(f"– {name}", (360, top - size / 2), (1.01, at / most), xycoords="data", textcoords="axes fraction",
                    va="center", fontsize=SMALL, annotation_clip=False)  # fmt: skip
    return ax


def wear_svg(results: Sequence[WhichWear], unit: str, of: tuple[str, ...]) -> bytes:
    """Every side's ranking, and its lost motion where there is any; ``of`` says of which engine and state."""
    listed = [result for result in results if result.items]
    loose = [result for result in listed if result.found.lost.any()]
    lost = {r.side: lost_round_the_wheel(r.found, loosest_notch(r.found)) for r in loose}
    most = max((float(sum(own.joints.values()).max()) for own in lost.values()), default=0.0)
    panels: list[tuple[float, str, Callable[[Any], Any]]] = []
    for result in listed:
        height, title = _ROW * len(result.items) + 0.75, f"{result.whose}: which matters"
        panels.append((height, title, on(partial(plot_which_wear, result, beside=listed))))
    for r in loose:
        title = f"{r.whose}: lost motion in {r.found.notches[loosest_notch(r.found)]}, wheel held"
        panels.append((_ROUND, title, on(partial(plot_lost_motion, lost[r.side], unit, reach=most))))

    def draw(axes: Any) -> None:
        flat = np.atleast_1d(axes)
        for ax, (_height, title, plot) in zip(flat, panels, strict=True):
            plot(ax).set_title(title)
        said = [("alone", patch(BEHIND)), ("gained by renewing it", _GAINED)]
        figure_key(flat[0].figure, [*said, ("within the target", patch(BAND))])

    heights = [height for height, _title, _plot in panels] or [1.0]
    size = (FULL, sum(heights) + 0.3)
    return as_svg(
        draw if panels else _nothing, size, (len(heights), 1), heights=heights, head=Head("Which wear matters", of)
    )


def _nothing(ax: Any) -> None:
    ax.set_axis_off()
    ax.text(0.5, 0.5, "nothing differs from the drawing", ha="center", transform=ax.transAxes)
