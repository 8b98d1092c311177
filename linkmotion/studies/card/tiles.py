"""The board on A4 sheets that are glued together edge over edge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from linkmotion.studies.card.packing import MARGIN, PAPER
from linkmotion.studies.card.shapes import Hole, Shape

TAB = 10.0  # mm by which a sheet of the board lies over the next
FOOT_LINE = 9.0  # kept for the line at the foot of a sheet
_CLEAR = 1.5


@dataclass(frozen=True)
class Tile:
    """One sheet of the board.

    Attributes
    ----------
    name : str
        Such as "A2": row A from the top, second from the left.
    paper : (width, height)
        Of the sheet.
    window : (x0, y0, x1, y1)
        What it shows of the board, mm of the board.
    right, above : str
        Sheets that are glued over its tabs, "" for none.
    left, below : str
        Sheets over whose tabs it is glued.
    """

    name: str
    paper: tuple[float, float]
    window: tuple[float, float, float, float]
    right: str = ""
    above: str = ""
    left: str = ""
    below: str = ""

    @property
    def corner(self) -> complex:
        """Place on the sheet of the window's lower left corner."""
        return complex(MARGIN, MARGIN + FOOT_LINE)

    def on_sheet(self, point: complex) -> complex:
        """A point of the board on the sheet, mm from its lower left corner.

        Parameters
        ----------
        point : complex
            On the board, mm.
        """
        return point - complex(self.window[0], self.window[1]) + self.corner

    def shows(self, hole: Hole) -> bool:
        """Whether a hole of the board lies wholly on this sheet."""
        x0, y0, x1, y1 = self.window
        r = hole.radius
        return x0 + r <= hole.at.real <= x1 - r and y0 + r <= hole.at.imag <= y1 - r


def tiles(
    bounds: tuple[float, float, float, float], holes: Sequence[Hole], printed: Sequence[Shape] = ()
) -> list[Tile]:
    """Part a board into sheets, upright or lying, whichever are fewer.

    Seams keep clear of the holes, and of what is printed, where they can.

    Parameters
    ----------
    bounds : (x0, y0, x1, y1)
        Of the board, mm.
    holes, printed : sequences of Hole and shapes
        On the board.
    """
    x0, y0, x1, y1 = bounds
    plans = []
    for paper in (PAPER, PAPER[::-1]):
        width, height = paper[0] - 2 * MARGIN, paper[1] - 2 * MARGIN - FOOT_LINE
        columns, rows = _count(x1 - x0, width), _count(y1 - y0, height)
        plans.append((columns * rows, paper[0] < paper[1], paper, width, height, columns, rows))
    _n, _upright, paper, width, height, columns, rows = min(plans)
    boxes = [(shapely.Point(h.at.real, h.at.imag).buffer(h.radius).bounds, 100.0) for h in holes]
    boxes += [(shape.bounds, 1.0) for shape in printed]
    left = _starts(x0, x1, width, columns, [(b[0], b[2], bad) for b, bad in boxes])
    low = _starts(y0, y1, height, rows, [(b[1], b[3], bad) for b, bad in boxes])[::-1]

    def name(row: int, column: int) -> str:
        inside = 0 <= row < rows and 0 <= column < columns
        return f"{chr(ord('A') + row)}{column + 1}" if inside else ""

    return [
        Tile(
            name(row, column), paper, (left[column], low[row], left[column] + width, low[row] + height),
            name(row, column + 1), name(row - 1, column), name(row, column - 1), name(row + 1, column),
        )
        for row in range(rows)
        for column in range(columns)
    ]  # fmt: skip


def _count(size: float, room: float) -> int:
    return max(1, int(np.ceil((size - TAB) / (room - TAB) - 1e-9)))


def _starts(
    low: float, high: float, room: float, count: int, taken: Sequence[tuple[float, float, float]]
) -> list[float]:
    """Where the sheets begin; what they have to spare is shared out so that seams miss holes, and words if they can.

    ``taken`` is what stands on the board, from where to where, and how bad it is to have it on a seam.
    """
    step = room - TAB
    spare = step * count + TAB - (high - low)

    def crossed(start: float) -> float:
        seams = [start + step * k for k in range(1, count)]
        return sum(bad for a, b, bad in taken for seam in seams if a < seam + TAB + _CLEAR and b > seam - _CLEAR)

    trial = sorted(low - spare * np.linspace(0.02, 0.98, 49), key=lambda s: abs(s - (low - spare / 2)))
    start = float(min(trial, key=crossed))
    return [start + step * k for k in range(count)]
