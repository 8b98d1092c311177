"""The text of a readings file, TOML or CSV, as one document with the line of every entry.

A CSV file begins with lines of two cells (``state,as found``), then the row of headings that starts with ``side``,
then a line for each row of readings. Lines that begin with # are remarks. Semicolons or tabs may part the cells
instead of commas, and figures then have decimal commas; read is what spreadsheets save, UTF-8 or cp1252.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from functools import cached_property
from pathlib import Path
from typing import Any

from linkmotion.files.cells import unshielded
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.source import STARTER, TABLE, Source, Where, shown
from linkmotion.sides import SIDE_NAMES

FORM = "linkmotion form writes one to fill in"
_ONCE = {"running": "direction"}  # names of earlier versions
COLUMNS = ("side", "notch", "direction", "kind", "at", "front", "back", "reads", "within", "turned")


class ReadingsSource(Source):
    """The text of a readings file under the name by which the user called it."""

    @classmethod
    def of(cls, path: str | Path) -> ReadingsSource:
        """Read a plain text file of reasonable size.

        Parameters
        ----------
        path : path
            CSV by its suffix, else TOML.

        Raises
        ------
        FileError
            It is not there, too large, or no text.
        """
        table = Path(path).suffix.lower() == ".csv"
        try:
            source = CsvSource.read(path, TABLE) if table else cls.read(path)
        except FileError as error:
            raise _reworded(error) from None
        assert isinstance(source, ReadingsSource)
        return source

    def document(self) -> dict[str, Any]:
        """The text as TOML."""
        try:
            return super().document()
        except FileError as error:
            raise _reworded(error) from None


class CsvSource(ReadingsSource):
    """The same, of a table with commas (or semicolons, or tabs)."""

    @cached_property
    def lines(self) -> Mapping[Where, int]:
        """Line of every entry."""
        return self._parsed[1]

    def document(self) -> dict[str, Any]:
        """The text as the TOML file that says the same."""
        if not self.text.strip():
            raise FileError(self.name, "the file is empty", FORM)
        return self._parsed[0]

    @cached_property
    def _parsed(self) -> tuple[dict[str, Any], dict[Where, int]]:
        document: dict[str, Any] = {"readings": {}}
        lines: dict[Where, int] = {}
        headings: list[str] = []
        try:
            for number, cells in self._rows():
                if headings:
                    self._add(document, lines, headings, cells, number)
                elif cells[0].lower() == COLUMNS[0]:
                    headings = self._headings(cells, number)
                else:
                    document["readings"] |= {cells[0]: self._said(cells, number)}
                    lines["readings", cells[0]] = number
        except csv.Error as error:
            raise FileError(self.name, f"not a table: {error}", "save it as CSV, plain text") from None
        if not headings:
            raise FileError(self.name, "there is no row of headings", f"give the headings {','.join(COLUMNS)}; {FORM}")
        return document, lines

    def _rows(self) -> Any:
        lines = ["" if line.startswith("#") else line for line in self.text.splitlines()]
        mark = max(",;\t", key="".join(lines).count)
        rows = csv.reader(lines, delimiter=mark, strict=True, skipinitialspace=True)
        for cells in rows:
            plain = [unshielded(cell.strip()) for cell in cells]
            cells = plain if mark == "," else [with_point(cell) for cell in plain]
            if any(cells):
                yield rows.line_num, cells

    def _said(self, cells: list[str], number: int) -> str:
        said = [cell for cell in cells[1:] if cell]
        if len(said) != 1:
            told = f"read {len(said)} cells after {shown(cells[0])}, wanted one"
            raise FileError(self.name, told, f"before the headings stand lines such as state,drawing; {FORM}", number)
        return said[0]

    def _headings(self, cells: list[str], number: int) -> list[str]:
        for cell in cells:
            if cell.lower() not in (*COLUMNS, ""):
                raise FileError(self.name, f"unknown heading {shown(cell)}", known_as(cell.lower(), COLUMNS), number)
        return [cell.lower() for cell in cells]

    def _add(
        self, document: dict[str, Any], lines: dict[Where, int], headings: list[str], cells: list[str], number: int
    ) -> None:
        if len(cells) > len(headings) and any(cells[len(headings) :]):
            remedy = "a figure with a comma in it stands in quotes"
            raise FileError(self.name, "more cells than headings", remedy, number)
        row: dict[str, Any] = {name: cell for name, cell in zip(headings, cells, strict=False) if cell and name}
        side = row.pop("side", "")
        if side not in SIDE_NAMES:
            raise FileError(self.name, f"read side {shown(side)}", nearest(side, SIDE_NAMES), number, "side")
        rows = document.setdefault(side, {"readings": []})["readings"]
        lines.setdefault((side,), number)
        lines[side, "readings", str(len(rows))] = number
        if "at" in row:
            row["at"] = _number(row["at"])
        rows.append(row)


def known_as(name: str, known: list[str] | tuple[str, ...]) -> str:
    """Remedy for an unknown name: what it is called now, else the nearest.

    Parameters
    ----------
    name, known : str, list or tuple of str
        As read; those that there are.
    """
    return f"it is called {_ONCE[name]!r} now" if name in _ONCE else nearest(name, known)


def with_point(cell: str) -> str:
    """A cell that is a figure with a decimal comma, alone or with its unit, with a point instead.

    Parameters
    ----------
    cell : str
        Of a table whose cells are not parted by commas.

    Examples
    --------
    >>> with_point("0,094"), with_point("-3,5 mm"), with_point("as found, 1,5")
    ('0.094', '-3.5 mm', 'as found, 1,5')
    """
    return re.sub(r"^([-+]?\d*),(\d+)(?=\s*\D*$)", r"\1.\2", cell)


def _number(cell: str) -> Any:
    try:
        return float(cell)
    except ValueError:
        return cell


def _reworded(error: FileError) -> FileError:
    """What is said of engine files, said of readings files."""
    problem = error.problem.replace("no engine file", "no readings file")
    remedy = error.remedy.replace(STARTER, FORM).replace("an engine file needs", "a readings file needs")
    return FileError(error.file, problem, remedy, error.line, error.key, plain=error.plain)
