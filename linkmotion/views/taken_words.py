"""Figures as they were taken, in words: what each comes to, its doubt, and how it was taken."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Any

from linkmotion.files.lengths import UNITS
from linkmotion.sides import BOTH, MIDDLE
from linkmotion.views.printout import Point, Said
from linkmotion.views.tables import Shown

_MOST = 6  # decimals


def taken_lines(rows: Iterable[dict[str, Any]], shown: Shown, every: bool) -> Iterator[Said | Point]:
    """How many figures are as they were taken, and the length least sure; or every one of them."""
    found = list(rows)
    if not found:
        return
    one = len(found) == 1
    told = f"{len(found)} figure{' is' if one else 's are'} as {'it was' if one else 'they were'} taken"
    if every:
        yield Said(f"{told}, each with its doubt (right 19 times in 20) where one is known:")
        yield from (Point(_told(row, shown)) for row in found)
        return
    least = max((row for row in found if row["doubt"] and row["unit"] == "mm"), key=lambda r: r["doubt"], default=None)
    worst = "" if least is None else f"; least sure is {_told(least, shown)}"
    yield Said(f"{told} (--taken tells each){worst}.")


def _told(row: dict[str, Any], shown: Shown) -> str:
    side = "" if row["side"] in (BOTH, *MIDDLE) else f"{row['side']} "
    figure = with_doubt(row["figure"], row["doubt"], row["unit"], shown)
    return f"{side}{row['dimension']} {figure}, {row['how']}"


def with_doubt(value: float, doubt: float | None, unit: str, shown: Shown) -> str:
    """A figure with its doubt: two figures of the doubt, and as many decimals of the value.

    >>> with_doubt(1201.31, 0.833, "mm", Shown("mm")), with_doubt(83.5149, 0.1607, "degrees", Shown("mm"))
    ('1201.31 ± 0.83 mm', '83.51 ± 0.16°')
    """
    scale, mark = (float(UNITS[shown.unit]), f" {shown.unit}") if unit == "mm" else (1.0, "°")
    if not doubt:
        return f"{shown.length(value)}{mark}" if unit == "mm" else f"{value:.2f}{mark}"
    places = min(max(1 - math.floor(math.log10(doubt / scale)), 0), _MOST)
    return f"{value / scale:.{places}f} ± {doubt / scale:.{places}f}{mark}"
