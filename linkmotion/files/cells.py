"""Cells of a CSV table that no spreadsheet takes for a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from typing import Any

_STARTS = ("=", "+", "-", "@", "\t", "\r")
_SHIELD = "'"


def table(rows: Iterable[Iterable[Any]]) -> str:
    """Rows as CSV; words that begin like a formula get an apostrophe before them, figures stay as they are.

    Parameters
    ----------
    rows : iterable of iterables
        Cells, that of headings first; None is an empty cell.
    """
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([shielded(cell) for cell in row] for row in rows)
    return out.getvalue()


def shielded(cell: Any) -> Any:
    """A cell as it is written: words that begin with = + - @, a tab or a return behind an apostrophe.

    Parameters
    ----------
    cell : object
        Only texts are looked at.

    Examples
    --------
    >>> shielded("=1+1"), shielded("mid"), shielded(-0.5)
    ("'=1+1", 'mid', -0.5)
    """
    return _SHIELD + cell if isinstance(cell, str) and cell.startswith(_STARTS) else cell


def unshielded(cell: str) -> str:
    """A cell as it was before it was shielded.

    Parameters
    ----------
    cell : str
        As read.
    """
    return cell[1:] if cell.startswith(tuple(_SHIELD + start for start in _STARTS)) else cell
