"""Words on plots: how wide they are, what stands over a picture, and the key under it.

A picture's text is text, drawn by the reader's own fonts; each piece bears the width for which room was made, so that
no font makes two of them meet.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from html import unescape
from typing import Any
from weakref import WeakKeyDictionary

_LINE = 0.155  # inches from one line of the head to the next
_SWATCH, _ROW = 20.0, 12.5  # points: a key's line; from one row of it to the next
_KEYS: WeakKeyDictionary[Any, int] = WeakKeyDictionary()  # axes or figure → rows of their key
_TEXT = re.compile(r'<text style="font:? ?([^"]*?)"([^>]*)>([^<]*)</text>')


@dataclass(frozen=True)
class Head:
    """What stands over a picture: what it shows in bold; then, line by line, of which engine, state, side, notch."""

    title: str
    of: tuple[str, ...] = ()


@lru_cache(maxsize=4096)
def width(text: str, size: float = 8.0, bold: bool = False) -> float:
    """How wide a text is, points."""
    from matplotlib.textpath import text_to_path

    return float(text_to_path.get_text_width_height_descent(text, _font(size, bold), ismath=False)[0])


@lru_cache(maxsize=16)
def _font(size: float, bold: bool) -> Any:
    from matplotlib.font_manager import FontProperties

    return FontProperties(family="DejaVu Sans", size=size, weight="bold" if bold else "normal")


def folded(text: str, room: float, size: float = 8.0, bold: bool = False, most: int = 4) -> list[str]:
    """A text in lines that fit so many points; what is too long for a line, or for so many lines, is cut."""
    lines: list[str] = []
    for word in text.split():
        while width(word, size, bold) > room and len(word) > 2:
            word = f"{word[: max(int(len(word) * 0.94) - 1, 1)].rstrip('…')}…"
        if lines and width(f"{lines[-1]} {word}", size, bold) <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines if len(lines) <= most else [*lines[: most - 1], f"{lines[most - 1][:-1]}…"]


def say_head(figure: Any, head: Head) -> float:
    """Make room over a figure and write its head there; gives the room, inches."""
    across, high = figure.get_size_inches()
    room = 72 * across - 6
    lines = [(line, True) for line in folded(head.title, room, 9, bold=True)]
    lines += [(line, False) for part in head.of for line in folded(part, room, most=2)]
    over = _LINE * len(lines) + 0.12
    figure.set_size_inches(across, high + over)
    for number, (line, bold) in enumerate(lines, 1):
        look = {"fontsize": 9, "fontweight": "bold"} if bold else {"fontsize": 8}
        figure.text(0.03 / across, 1 - _LINE * number / (high + over), line, ha="left", va="baseline", **look)
    return over


Entries = Iterable[tuple[str, dict[str, Any]]]
"""What a key says, in the order in which it is read: words, and the look of the line or mark."""


def key(ax: Any, entries: Entries, down: float = 32.0) -> None:
    """Say under the axes what their lines and marks are; of axes that are alone in their figure, as wide as that.

    Parameters
    ----------
    down : float
        From the foot of the axes to the first row, points.
    """
    alone, across = len(ax.figure.axes) == 1, 72 * float(ax.figure.get_size_inches()[0])
    room = across - 8 if alone else 0.8 * across * ax.get_position().width
    _KEYS[ax] = _lay(ax, entries, room, _under(ax, alone), 5.0 if alone else 0.0, -down)


def figure_key(figure: Any, entries: Entries) -> None:
    """Say at the foot of a figure of several plots what their lines and marks are."""
    from matplotlib.transforms import Affine2D

    said, points = list(entries), Affine2D().scale(1 / 72) + figure.dpi_scale_trans
    room = 72 * float(figure.get_size_inches()[0]) - 8
    rows = _KEYS[figure] = _rows(said, room)
    _lay(figure, said, room, points, 5.0, 6.0 + _ROW * (rows - 1))


def _lay(parent: Any, entries: Entries, room: float, places: Any, start: float, top: float) -> int:
    """Lay a key out from its upper left corner; gives the number of its rows."""
    from matplotlib.lines import Line2D

    x, row = 0.0, 0
    for words, look in entries:
        if x and x + _wide(words) > room:
            x, row = 0.0, row + 1
        y = top - _ROW * row
        ends = [start + x, start + x + _SWATCH]
        at = [sum(ends) / 2] if look.get("ls") == "none" else ends
        line = Line2D(at, [y] * len(at), transform=places, clip_on=False, **look)
        parent.add_line(line) if hasattr(parent, "add_line") else parent.add_artist(line)
        parent.text(start + x + _SWATCH + 4, y, words, transform=places, va="center_baseline")
        x += _wide(words) + 10
    return row + 1


def _wide(words: str) -> float:
    return _SWATCH + 4 + width(words)


def _rows(entries: Entries, room: float) -> int:
    x, rows = 0.0, 1
    for words, _look in entries:
        if x and x + _wide(words) > room:
            x, rows = 0.0, rows + 1
        x += _wide(words) + 10
    return rows


def key_room(under: Any) -> float:
    """Inches that a key takes under axes, or at the foot of a figure."""
    return _ROW * _KEYS.get(under, 0) / 72


def _under(ax: Any, alone: bool) -> Any:
    """Places in points: up from the foot of the axes; to the right from the figure's edge, or the axes' own."""
    from matplotlib.transforms import Affine2D, ScaledTranslation, blended_transform_factory

    points = Affine2D().scale(1 / 72) + ax.figure.dpi_scale_trans
    under = points + ScaledTranslation(0, 0, ax.transAxes)
    return blended_transform_factory(points, under) if alone else under


def held_to_width(svg: bytes) -> bytes:
    """The picture with the width for which room was made written to every text whose letters are known."""
    return _TEXT.sub(_held, svg.decode()).encode()


def _held(found: re.Match[str]) -> str:
    style, _rest, text = found.groups()
    words = unescape(text)
    if len(words) < 2 or not all(known(letter) for letter in words):
        return found.group()
    size = re.search(r"([\d.]+)px", style)
    wide = width(words, float(size.group(1)) if size else 8.0, "bold" in style or "700" in style)
    return found.group().replace(">", f' textLength="{wide:.2f}" lengthAdjust="spacingAndGlyphs">', 1)


@lru_cache(maxsize=512)
def known(letter: str) -> bool:
    """Whether the width of a letter is known."""
    from matplotlib.font_manager import findfont, get_font

    return bool(get_font(findfont(_font(8.0, bold=False))).get_char_index(ord(letter)))
