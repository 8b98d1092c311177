"""A table for a terminal: laid out so that no row is broken over two lines, however narrow the terminal.

What is too wide is, in whatever way takes fewest lines: headed more shortly; grouped under a line that says what the
rows share (stacked); parted into tables under one another that repeat what names the rows; or printed without the
columns marked as spare, with a word on what was left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations

from linkmotion.views.table_plan import Column as Column
from linkmotion.views.table_plan import Plan, Row
from linkmotion.views.wrap import Line, wrapped


@dataclass
class Grid:
    """A table: title, columns, rows of one text for each column."""

    title: str
    columns: Sequence[Column]
    rows: list[Row] = field(default_factory=list)
    elsewhere: str = "--json"  # what shows columns that were left out

    def row(self, *cells: str, bold: bool = False) -> None:
        """Add a row.

        Parameters
        ----------
        *cells, bold : str, bool
            A text for each column; whether the row stands out.
        """
        assert len(cells) == len(self.columns), (cells, self.columns)
        self.rows.append((cells, bold))

    def with_signs(self, plain: Callable[[str], str]) -> Grid:
        """The same with every text put through ``plain``."""
        columns = [
            replace(c, head=plain(c.head), short=plain(c.short), over=plain(c.over), shared=plain(c.shared))
            for c in self.columns
        ]
        rows = [(tuple(map(plain, cells)), bold) for cells, bold in self.rows]
        return Grid(plain(self.title), columns, rows, plain(self.elsewhere))

    def laid_out(self, width: int) -> Iterator[Line]:
        """Lines of the whole table.

        Parameters
        ----------
        width : int
            Columns of the terminal; no line is longer.
        """
        if self.title:
            yield from (Line(text, "bold") for text in wrapped(self.title, width))
        plans = [plan for plan in self._plans(width) if plan.fits(width)]
        if not plans:
            yield from self._listed(width)
            return
        best = min(plans, key=lambda plan: plan.cost(width))
        yield from best.lines(width)
        if best.dropped:
            names = ", ".join(self._named(i) for i in best.dropped)
            need = Plan(self.columns, self.rows, self._keys, [self._figures]).width
            told = f"Left out for want of room: {names} (a terminal of {need} columns, or {self.elsewhere}, has them)."
            yield from (Line(text, "dim") for text in wrapped(told, width))

    @property
    def _keys(self) -> list[int]:
        return [i for i, column in enumerate(self.columns) if column.key]

    @property
    def _figures(self) -> list[int]:
        return [i for i, column in enumerate(self.columns) if not column.key]

    def _named(self, i: int) -> str:
        column = self.columns[i]
        return f"{column.over} {column.head}".replace("\n", " ").strip()

    def _plans(self, width: int) -> Iterator[Plan]:
        """Every way to lay the table out."""
        sharing = [i for i in self._keys if self.columns[i].shared]
        for count in range(len(sharing) + 1):
            for shared in combinations(sharing, count):
                keys = [i for i in self._keys if i not in shared]
                for short in (False, True):
                    whole = Plan(self.columns, self.rows, keys, [self._figures], shared, short)
                    yield whole
                    yield whole.parted(width)
                    yield whole.spared(width)

    def _listed(self, width: int) -> Iterator[Line]:
        """Every row as a sentence of its own: for what no table can hold."""
        for cells, bold in self.rows:
            label = ", ".join(cells[i] for i in self._keys)
            told = "; ".join(f"{self._named(i)} {cells[i]}".strip() for i in self._figures if cells[i])
            for text in wrapped(f"{label}: {told}", width, rest="  "):
                yield Line(text, "bold" if bold else "")
