"""Ways to lay a table out within a terminal's width, no row broken over two lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from rich.cells import cell_len

from linkmotion.views.wrap import Line, wrapped

Row = tuple[tuple[str, ...], bool]
"""A text for each column, and whether the row stands out."""
_GAP = 2  # blanks between columns
_INDENT = 1  # of rows under a line that they share


@dataclass(frozen=True)
class Column:
    r"""A column of a :class:`linkmotion.views.grid.Grid`.

    Attributes
    ----------
    head, short : str
        What stands over it, lines parted by ``\n``; and where there is little room.
    over : str
        What stands over it and its neighbours of the same: they are kept together.
    key : bool
        Names the row: stands to the left in every part, is not repeated from row to row.
    shared : str
        Of a key: how it is told on a line that rows share, such as ``running {}``; "" if it never is.
    left : bool
        Set to the left, as keys are.
    spare : int
        Left out first, greatest first, where there is no room; 0 if never.
    """

    head: str
    short: str = ""
    over: str = ""
    key: bool = False
    shared: str = ""
    left: bool = False
    spare: int = 0

    def lines(self, short: bool) -> list[str]:
        """The head's lines."""
        return (self.short if short and self.short else self.head).split("\n")


@dataclass(frozen=True)
class Plan:
    """One way to lay a table out.

    Attributes
    ----------
    columns, rows
        The table's.
    keys : list of int
        Columns that name the rows.
    parts : list of list of int
        The other columns of each part.
    shared : tuple of int
        Keys told on lines of their own.
    short : bool
        Whether the short heads are used.
    dropped : list of int
        Columns left out.
    """

    columns: Sequence[Column]
    rows: Sequence[Row]
    keys: list[int]
    parts: list[list[int]]
    shared: tuple[int, ...] = ()
    short: bool = False
    dropped: list[int] = field(default_factory=list)

    @property
    def width(self) -> int:
        """Of the widest part, shared lines apart: those are wrapped."""
        return max(self._width(part) for part in self.parts)

    def fits(self, width: int) -> bool:
        """Whether every part fits."""
        return all(self.parts) and self.width <= width

    def cost(self, width: int) -> tuple[int, int, int, int, bool]:
        """Fewest lines first; of equals the plainest."""
        lines = sum(1 for _ in self.lines(width)) + bool(self.dropped)
        return lines, len(self.parts), len(self.dropped), len(self.shared), self.short

    def parted(self, width: int) -> Plan:
        """Columns in several tables, neighbours under one head together where they fit."""
        parts: list[list[int]] = [[]]
        for group in self._groups():
            for piece in [group] if self._width(group) <= width else [[i] for i in group]:
                if parts[-1] and self._width(parts[-1] + piece) > width:
                    parts.append([])
                parts[-1] += piece
        return replace(self, parts=parts)

    def spared(self, width: int) -> Plan:
        """Without as many of the spare columns as it takes."""
        kept, dropped = list(self.parts[0]), list[int]()
        spare = sorted((i for i in kept if self.columns[i].spare), key=lambda i: -self.columns[i].spare)
        while spare and self._width(kept) > width:
            level = self.columns[spare[0]].spare
            gone = [i for i in spare if self.columns[i].spare == level]
            spare, dropped = spare[len(gone) :], sorted(dropped + gone)
            kept = [i for i in kept if i not in gone]
        return replace(self, parts=[kept], dropped=dropped)

    def _groups(self) -> list[list[int]]:
        groups: list[list[int]] = []
        for i in self.parts[0]:
            over = self.columns[i].over
            if groups and over and self.columns[groups[-1][-1]].over == over:
                groups[-1].append(i)
            else:
                groups.append([i])
        return groups

    def _width(self, part: list[int]) -> int:
        widths = self._widths(part)
        return sum(widths.values()) + _GAP * (len(widths) - 1) + _INDENT * bool(self.shared)

    def _widths(self, part: list[int]) -> dict[int, int]:
        """Width of each column of a part; the last under a wide shared head is widened for it."""
        found = {}
        for i in [*self.keys, *part]:
            texts = [*self.columns[i].lines(self.short), *(cells[i] for cells, _bold in self.rows)]
            found[i] = max(map(cell_len, texts))
        for group in replace(self, parts=[part])._groups():
            room = sum(found[i] for i in group) + _GAP * (len(group) - 1)
            found[group[0]] += max(0, *(cell_len(line) - room for line in self._over(group[0])))
        return found

    def _over(self, i: int) -> list[str]:
        return self.columns[i].over.split("\n")

    def lines(self, width: int) -> Iterator[Line]:
        """The whole table."""
        for number, part in enumerate(self.parts):
            if number:
                yield Line("")
            yield from self._part(part, width)

    def _part(self, part: list[int], width: int) -> Iterator[Line]:
        widths, told = self._widths(part), None
        indent = " " * _INDENT * bool(self.shared)
        for line in self._heads(part, widths):
            yield Line((indent + line).rstrip())
        last: list[str] = []
        for cells, bold in self._rows(part):
            shared = [cells[i] for i in self.shared]
            if self.shared and shared != told:
                label = ", ".join(self.columns[i].shared.format(cells[i]) for i in self.shared if cells[i])
                yield from (Line(text, "italic") for text in wrapped(label, width))
                told, last = shared, []
            names = [cells[i] for i in self.keys]
            shown = dict(zip(self.keys, _new(names, last), strict=True))
            last = names
            texts = [self._set(i, shown.get(i, cells[i]), widths[i]) for i in widths]
            yield Line((indent + (" " * _GAP).join(texts)).rstrip(), "bold" if bold else "")

    def _rows(self, part: list[int]) -> list[Row]:
        """Rows of a part, those that share a line together; of several parts those that have anything to show."""
        rows = self.rows
        if len(self.parts) > 1:
            rows = [row for row in rows if any(row[0][i] for i in part)]
        order = list(dict.fromkeys(tuple(cells[i] for i in self.shared) for cells, _bold in rows))
        return sorted(rows, key=lambda row: order.index(tuple(row[0][i] for i in self.shared)))

    def _heads(self, part: list[int], widths: dict[int, int]) -> Iterator[str]:
        """Heads stand on the rows, what is over several columns on their heads."""
        groups = [[i] for i in self.keys] + replace(self, parts=[part])._groups()
        heads = [{i: self.columns[i].lines(self.short) for i in group} for group in groups]
        over = [self._over(group[0]) if self.columns[group[0]].over else [] for group in groups]
        high = [max(map(len, head.values())) for head in heads]
        for level in range(max(h + len(o) for h, o in zip(high, over, strict=True)), 0, -1):
            texts = []
            for group, head, above, top in zip(groups, heads, over, high, strict=True):
                if top < level <= top + len(above):
                    room = sum(widths[i] for i in group) + _GAP * (len(group) - 1)
                    texts.append(_centred(above[top - level], room))
                else:
                    texts += [self._set(i, _line(head[i], level), widths[i]) for i in group]
            yield (" " * _GAP).join(texts)

    def _set(self, i: int, text: str, width: int) -> str:
        column, blank = self.columns[i], " " * (width - cell_len(text))
        return text + blank if column.key or column.left else blank + text


def _line(lines: list[str], level: int) -> str:
    """A line counted from the last, which is 1."""
    return lines[-level] if level <= len(lines) else ""


def _centred(text: str, width: int) -> str:
    blank = width - cell_len(text)
    return " " * (blank // 2) + text + " " * (blank - blank // 2)


def _new(names: list[str], last: list[str]) -> list[str]:
    """Names of a row; where all but the innermost are the last row's, the innermost alone."""
    return ["" for _ in names[:-1]] + names[-1:] if names[:-1] == last[:-1] else names
