"""A4 sheets drawn in millimetres: lines, holes, pieces and words, exactly to size."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
import shapely
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.patches import Circle, PathPatch, Polygon, Rectangle
from matplotlib.path import Path
from matplotlib.textpath import text_to_path

from linkmotion.studies.card.shapes import Mark, Note, Shape, pairs
from linkmotion.views.style import INK

INCH, POINT = 25.4, 25.4 / 72
PALE, TINT, GREY = "#f6f1e4", "#e4dcc6", "#8b8f92"
SMALL = 1.4  # mm: capitals are never lower
_STYLES: dict[str, dict[str, Any]] = {
    "line": {"edgecolor": INK, "facecolor": "none", "linewidth": 0.6},
    "dash": {"edgecolor": GREY, "facecolor": "none", "linewidth": 0.5, "linestyle": (0, (5, 3))},
    "fine": {"edgecolor": INK, "facecolor": "none", "linewidth": 0.35},
    "heavy": {"edgecolor": INK, "facecolor": "none", "linewidth": 1.5},
    "fill": {"edgecolor": INK, "facecolor": "#5d6b73", "linewidth": 0.5},
    "tint": {"edgecolor": INK, "facecolor": TINT, "linewidth": 0.5},
    "glue": {"edgecolor": GREY, "facecolor": "none", "linewidth": 0.4, "hatch": "//////"},
}
_CAPITAL = 0.729  # height of a capital in DejaVu Sans, of the type size
_LINES = 1.72  # from line to line, of the height of a capital
_SIZE = 100.0  # points at which widths are taken


class Sheet:
    """A sheet of paper being drawn on; places are complex, mm from the lower left corner."""

    def __init__(self, paper: tuple[float, float]) -> None:
        self.paper = paper
        self.figure = Figure(figsize=(paper[0] / INCH, paper[1] / INCH), facecolor="white")
        self.ax = self.figure.add_axes((0.0, 0.0, 1.0, 1.0))
        self.ax.set(xlim=(0, paper[0]), ylim=(0, paper[1]))
        self.ax.axis("off")

    def mark(self, mark: Mark, clip: Any = None) -> None:
        """A printed line or area."""
        closed = abs(mark.points[0] - mark.points[-1]) < 1e-9
        patch = Polygon(pairs(mark.points), closed=closed, capstyle="butt", joinstyle="round", **_STYLES[mark.style])
        self._add(patch, clip)

    def shape(self, shape: Shape, clip: Any = None, **style: Any) -> None:
        """A piece's outline."""
        look = {"edgecolor": INK, "facecolor": PALE, "linewidth": 0.8, "joinstyle": "round"} | style
        self._add(PathPatch(_path(shape), **look), clip)

    def hole(self, centre: complex, radius: float, clip: Any = None) -> None:
        """A round hole with a cross at its centre."""
        self._add(Circle((centre.real, centre.imag), radius, edgecolor=INK, facecolor="white", linewidth=0.6), clip)
        arm = min(radius * 0.75, 3.0)
        for way in (1, 1j):
            self._add(
                Polygon(pairs(np.array([centre - arm * way, centre + arm * way])), closed=False, **_STYLES["fine"]),
                clip,
            )

    def write(self, note: Note, clip: Any = None, colour: str = INK, weight: str = "normal") -> None:
        """Words; ``size`` is the height of a capital in mm."""
        across = {"left": "left", "centre": "center", "right": "right"}[note.anchor]
        lines, up = note.text.split("\n"), complex(1j * np.exp(1j * np.radians(note.turn)))
        for i, line in enumerate(lines):
            foot = note.at + up * note.size * (_LINES * ((len(lines) - 1) / 2 - i) - 0.5)
            self._line(line, foot, note, across, colour, weight, clip)

    def _line(self, words: str, foot: complex, note: Note, across: str, colour: str, weight: str, clip: Any) -> None:
        text = self.ax.text(
            foot.real, foot.imag, words, fontsize=points_of(note.size), ha=across, va="baseline",
            rotation=note.turn, rotation_mode="anchor", color=colour, weight=weight,
        )  # fmt: skip
        text.set_parse_math(False)
        if clip is not None:
            text.set_clip_on(True)
            text.set_clip_path(clip)

    def box(self, x0: float, y0: float, x1: float, y1: float) -> Any:
        """A clip: nothing is drawn outside it."""
        return Rectangle((x0, y0), x1 - x0, y1 - y0, transform=self.ax.transData)

    def _add(self, patch: Any, clip: Any) -> None:
        self.ax.add_artist(patch)
        if clip is not None:
            patch.set_clip_path(clip)


def points_of(capital: float) -> float:
    """Type size in points for capitals of a height in mm."""
    return capital / _CAPITAL / POINT


def width_of(text: str, capital: float, weight: str = "normal") -> float:
    """Width of words, mm: of each word, measured once, and the spaces between, since no letter is set closer to one."""
    words = text.split(" ")
    space = _width("n n", weight) - 2 * _width("n", weight)
    width = sum(_width(word, weight) for word in words) + space * (len(words) - 1)
    return width * capital / (_SIZE * _CAPITAL)


@lru_cache(maxsize=4096)
def _width(word: str, weight: str) -> float:
    """At the size at which widths are taken."""
    width, _height, _descent = text_to_path.get_text_width_height_descent(word, _font(weight), ismath=False)
    return float(width)


@lru_cache(maxsize=4)
def _font(weight: str) -> FontProperties:
    return FontProperties(weight=weight, size=_SIZE)


def room_of(note: Note) -> Shape:
    """What words take up on the sheet."""
    lines = note.text.split("\n")
    wide = max(width_of(line, note.size) for line in lines) + 0.6
    high = note.size * (1.0 + _LINES * (len(lines) - 1)) + 0.6
    start = {"left": -0.3, "centre": -wide / 2, "right": 0.3 - wide}[note.anchor]
    flat = shapely.box(start, -high / 2, start + wide, high / 2)
    turn = complex(np.exp(1j * np.radians(note.turn)))
    return shapely.affinity.affine_transform(
        flat, [turn.real, -turn.imag, turn.imag, turn.real, note.at.real, note.at.imag]
    )


def _path(shape: Shape) -> Path:
    """Edges of a shape, those within it too."""
    return Path.make_compound_path(
        *(Path(np.asarray(ring.coords), closed=True) for ring in (shape.exterior, *shape.interiors))
    )
