"""What stands about the side elevation: a scale bar, the key to what is in the cylinder, and what the picture is of."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import matplotlib
from matplotlib.patches import Patch, Rectangle

from linkmotion.views.elevation_colours import CONTENTS, HATCH
from linkmotion.views.style import INK, PAPER

SIZE = 8  # points: letters
LINE, ROW = 10.5, 17.0  # points: a line of the words, a row of bar or key
_LETTER = 0.575  # width of a letter, of its size
_ENTRY, _BAR_WORDS = 32.0, 60.0  # points: what an entry of the key has beside its words; those beside the bar
_STEPS = {"in": (1, 2, 3, 6, 12, 24, 36, 48, 60, 96, 120), "ft": (1, 2, 3, 4, 5, 8, 10, 20)}
_SHARE = 0.2  # of the picture's width, at most, for the bar


Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Below:
    """What stands below a drawing so wide (points): lines of words, and the key in columns, by the bar or over it."""

    lines: tuple[str, ...]
    shown: tuple[str, ...]
    columns: int
    over: bool

    @classmethod
    def of(cls, words: str, shown: Iterable[str], wide: float) -> Below:
        """As it fits."""
        own = tuple(shown)
        lines = textwrap.wrap(words, max(12, int(wide / (SIZE * _LETTER))))
        entries = [SIZE * _LETTER * len(content) + _ENTRY for content in own]
        over = sum(entries) > wide * (1 - _SHARE) - _BAR_WORDS
        columns = len(own) if not over or sum(entries) < wide else max(1, int(wide / max(entries)))
        return cls(tuple(lines), own, max(1, min(columns, len(own))), over)

    @property
    def rows(self) -> int:
        """Of the key."""
        return -(-len(self.shown) // self.columns)

    @property
    def bar_at(self) -> float:
        """Height of the scale bar, points."""
        return LINE * len(self.lines) + 7.0 + (self.rows * LINE + 4.0 if self.over else 0.0)

    @property
    def room(self) -> float:
        """Of it all, points."""
        return self.bar_at + max(ROW, 0.0 if self.over else self.rows * LINE) + 5.0


def furnish(ax: Any, unit: str, words: str, contents: Iterable[str], box: Box) -> list[Any]:
    """Set the axes' limits about a drawing, with room below it for bar, key and words; gives the texts written.

    Parameters
    ----------
    unit : str
        Of the axes' data.
    words : str
        What is shown.
    contents : iterable of str
        What is anywhere in cylinder and chest, for the key.
    box : (left, low, right, high)
        Of the drawing, in that unit.
    """
    left, low, right, high = box
    extent, held = ax.get_window_extent(), set(contents)
    wide, tall = (float(each) * 72 / ax.figure.dpi for each in (extent.width, extent.height))
    shown = [content for content in CONTENTS if content in held]
    below = Below.of(words, shown, wide)
    per_point = max((right - left) / wide, (high - low) / max(tall - below.room, 0.3 * tall))
    spare = wide * per_point - (right - left)  # beside a drawing that must be lower than its width would have it
    left, right = left - spare / 2, right + spare / 2
    foot = low - below.room * per_point
    ax.set(xlim=(left, right), ylim=(foot, high), aspect="equal")
    ax.set_axis_off()
    texts = [_words(ax, below.lines)]
    if shown:
        above = LINE * len(below.lines) + 4.0
        texts.append(_key(ax, shown, below.columns, above * per_point / (high - foot)))
    return texts + _scale_bar(ax, unit, left, foot + below.bar_at * per_point, right - left, per_point)


def _words(ax: Any, lines: tuple[str, ...]) -> Any:
    return ax.annotate(
        "\n".join(lines),
        (0, 0),
        (0, 1),
        xycoords="axes fraction",
        textcoords="offset points",
        fontsize=SIZE,
        va="bottom",
    )


def _key(ax: Any, shown: list[str], columns: int, above: float) -> Any:
    with matplotlib.rc_context({"hatch.linewidth": HATCH}):
        handles = [
            Patch(fc=own.fill, ec=own.ink, hatch=own.hatch, lw=0.5, label=content)
            for content, own in ((content, CONTENTS[content]) for content in shown)
        ]
        key = ax.legend(
            handles=handles,
            loc="lower right",
            bbox_to_anchor=(1.0, above),
            ncols=columns,
            fontsize=SIZE,
            frameon=False,
            handlelength=2.0,
            handleheight=0.9,
            borderpad=0.0,
            borderaxespad=0.0,
            columnspacing=1.2,
            labelspacing=0.25,
        )
    key.set_zorder(45)
    return key


def _scale_bar(ax: Any, unit: str, left: float, at: float, wide: float, per_point: float) -> list[Any]:
    """A bar in two halves, of a round number of the unit."""
    long = bar_length(unit, wide)
    for start, colour in ((0.0, INK), (0.5, PAPER)):
        corner = (left + start * long, at)
        ax.add_patch(Rectangle(corner, long / 2, 3.5 * per_point, fc=colour, ec=INK, lw=0.6, zorder=45))
    found = []
    for share, told in ((0.0, "0"), (1.0, f"{long:g} {unit}")):
        place = (left + share * long, at + 3.5 * per_point)
        ha = "left"
        found.append(
            ax.annotate(told, place, (0, 1.5), textcoords="offset points", fontsize=SIZE, va="bottom", ha=ha, zorder=45)
        )
    return found


def bar_length(unit: str, wide: float) -> float:
    """A round length, at most a fifth of a picture's width, both in the unit.

    >>> bar_length("mm", 3400.0), bar_length("in", 140.0)
    (500.0, 24.0)
    """
    powers = [step * 10.0**power for power in range(-3, 7) for step in (1, 2, 5)]
    steps = [float(step) for step in _STEPS.get(unit, ())] or powers
    fitting = [step for step in (steps if steps[0] <= _SHARE * wide else powers) if step <= _SHARE * wide]
    return max(fitting)
