"""Words beside a drawing, in a column, each tied to what it is of by a thin line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from linkmotion.views.lettering import folded
from linkmotion.views.style import INK

LINE = 10.5  # points from one line of text to the next
GAP = 5.0  # points between callouts


@dataclass(frozen=True)
class Callout:
    """Words, and the place (complex, points) to which they point."""

    words: str
    at: complex


def stacked(wanted: Sequence[float], heights: Sequence[float], low: float, high: float) -> list[float]:
    """Middles of boxes one above another, near where they are wanted, within a span; from the bottom up.

    Parameters
    ----------
    wanted, heights : sequence of float
        Middles and heights.
    low, high : float
        The span.

    Examples
    --------
    >>> stacked([50.0, 52.0, 99.0], [10.0, 10.0, 10.0], 0.0, 100.0)
    [50.0, 60.0, 95.0]
    """
    found: list[float] = []
    floor = low
    for middle, height in zip(wanted, heights, strict=True):
        found.append(max(middle, floor + height / 2))
        floor = found[-1] + height / 2
    ceiling = high
    for i in reversed(range(len(found))):
        found[i] = min(found[i], ceiling - heights[i] / 2)
        ceiling = found[i] - heights[i] / 2
    return found


def call_out(ax: Any, callouts: Sequence[Callout], left: float, right: float, span: tuple[float, float]) -> None:
    """Write callouts into a column, from which their lines go to the right.

    Parameters
    ----------
    ax : matplotlib axes
        In points.
    callouts : sequence of Callout
        In any order.
    left, right : float
        Edges of the column, points.
    span : (low, high)
        Of it, points.
    """
    order = sorted(callouts, key=lambda each: each.at.imag)
    lines = [folded(each.words, right - left - 2, most=9) for each in order]
    heights = [len(own) * LINE + GAP for own in lines]
    middles = stacked([each.at.imag for each in order], heights, *span)
    for each, own, middle in zip(order, lines, middles, strict=True):
        top = middle + len(own) * LINE / 2
        for i, words in enumerate(own):
            ax.text(right, top - LINE * (i + 0.78), words, ha="right", va="baseline")
        elbow = complex(right + 8.0, middle)
        ax.plot([right + 2.5, elbow.real, each.at.real], [middle, middle, each.at.imag], color=INK, lw=0.5)
        ax.plot(each.at.real, each.at.imag, ".", color=INK, ms=3.0)


def write_down(ax: Any, words: Sequence[str], left: float, right: float, top: float) -> float:
    """Write paragraphs from a height down, each folded; gives the height under them.

    Parameters
    ----------
    ax : matplotlib axes
        In points.
    words : sequence of str
        The paragraphs.
    left, right, top : float
        Points.
    """
    for each in words:
        for line in folded(each, right - left, most=9):
            ax.text(left, top - 0.78 * LINE, line, ha="left", va="baseline")
            top -= LINE
    return top


def room_for(words: Sequence[str], wide: float) -> float:
    """Height that paragraphs take, points.

    Parameters
    ----------
    words, wide : sequence of str, float
        The paragraphs; the width to which they are folded, points.
    """
    return LINE * sum(len(folded(each, wide, most=9)) for each in words)
