"""Text in lines that fit: broken at words, measured as a terminal shows it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from rich.cells import cell_len, chop_cells

_WITH_FIGURE = r"(?:mm|in|thou|ft|%|°C?|K|kN|N m|N|MPa|psi|lbf)(?=[.,;:)]*(?:\s|$))|\d+/\d+(?=\s)"
_WORD = re.compile(rf"\S*\d(?:\s+(?:{_WITH_FIGURE})\S*)+|\S+")


class Line(NamedTuple):
    """A line for a terminal: text, and how it stands out ("", "bold", "dim", "italic") where that can be shown."""

    text: str
    style: str = ""


def wrapped(text: str, width: int, first: str = "", rest: str = "", whole: str = "") -> list[str]:
    """Text in lines of at most ``width`` columns.

    Parameters
    ----------
    text : str
        To be broken at its blanks, but not between a figure and its unit; a word wider than a line is cut.
    width : int
        Columns.
    first, rest : str
        What stands before the first line and before the others.
    whole : str
        A part of the text that is never broken, were it wider than the line: a file's name that is to be copied.

    Examples
    --------
    >>> wrapped("the front lead is out by 0.02 in", 14, " - ", "   ")
    [' - the front', '   lead is out', '   by 0.02 in']
    """
    lines, line, empty = [], first, True
    for word, cut in _words(text, whole):
        for piece in chop_cells(word, max(width - cell_len(rest), 1)) if cut else [word]:
            if not empty and cell_len(line) + 1 + cell_len(piece) > width:
                lines.append(line)
                line, empty = rest, True
            line += piece if empty else f" {piece}"
            empty = False
    return [*lines, line]


def _words(text: str, whole: str) -> Iterator[tuple[str, bool]]:
    """Words, and whether each may be cut; what stands close to the whole part goes with it."""
    before, found, after = text.partition(whole) if whole else (text, "", "")
    head, tail = re.fullmatch(r"(.*?)(\S*)", before, re.DOTALL), re.fullmatch(r"(\S*)(.*)", after, re.DOTALL)
    assert head is not None
    assert tail is not None
    if not found:
        yield from _figures_whole(before)
        return
    yield from _figures_whole(head[1])
    yield head[2] + found + tail[1], False
    yield from _figures_whole(tail[2])


def _figures_whole(text: str) -> Iterator[tuple[str, bool]]:
    """Words that may be cut, a figure and its unit as one."""
    return ((" ".join(word.split()), True) for word in _WORD.findall(text))
