"""What is found, as a table: rows for a program, a data frame where pandas is installed, HTML in a notebook."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from linkmotion.files.lengths import UNITS
from linkmotion.studies.figures.figure import MM
from linkmotion.studies.row_figures import Length, plain

Row = dict[str, Any]


@dataclass(frozen=True, repr=False)
class Table:
    """Rows under headings.

    Attributes
    ----------
    title : str
        What the table is of: engine, state, side.
    headings : dict
        Column → its unit ("" for words and counts), in order.
    body : tuple of dict
        Column → value; None for what does not occur.

    Examples
    --------
    >>> table = Table("leads", {"end": "", "lead": "mm"}, ({"end": "front", "lead": 6.3},))
    >>> table
    <Table 'leads': 1 row of end, lead (mm)>
    >>> table.rows()
    [{'end': 'front', 'lead': 6.3}]
    """

    title: str
    headings: Mapping[str, str]
    body: tuple[Row, ...]

    def rows(self) -> list[Row]:
        """The rows, a dict each."""
        return [dict(row) for row in self.body]

    def to_frame(self) -> Any:
        """The rows as a pandas DataFrame.

        Raises
        ------
        ModuleNotFoundError
            pandas is not installed (it is no dependency of linkmotion).
        """
        import pandas as pd  # type: ignore[import-untyped,unused-ignore]

        return pd.DataFrame(self.rows(), columns=list(self.headings))

    def __len__(self) -> int:
        """Rows."""
        return len(self.body)

    def __iter__(self) -> Iterator[Row]:
        """The rows in order."""
        return iter(self.rows())

    def __repr__(self) -> str:
        """In one line."""
        columns = ", ".join(f"{name} ({unit})" if unit else name for name, unit in self.headings.items())
        many = f"{len(self)} row{'s' * (len(self) != 1)}"
        return f"<Table {self.title!r}: {many} of {columns[:160]}{'…' * (len(columns) > 160)}>"

    def _repr_html_(self) -> str:
        heads = "".join(
            f"<th>{escape(name)}{f'<br><small>{escape(unit)}</small>' if unit else ''}</th>"
            for name, unit in self.headings.items()
        )
        lines = "".join(
            f"<tr>{''.join(f'<td>{escape(_shown(row.get(name)))}</td>' for name in self.headings)}</tr>"
            for row in self.body
        )
        head = f"<caption>{escape(self.title)}</caption><thead><tr>{heads}</tr></thead>"
        return f"<table>{head}<tbody>{lines}</tbody></table>"


def table(title: str, headings: Mapping[str, str], rows: Iterable[Mapping[str, Any]]) -> Table:
    """A table of some columns of rows.

    Parameters
    ----------
    title : str
        What it is of.
    headings : dict
        Column to its unit, in order; other columns of the rows are left out.
    rows : iterable of dict
        numpy numbers become plain ones; None where a row has nothing for a column.
    """
    return Table(title, dict(headings), tuple({name: _plain(row.get(name)) for name in headings} for row in rows))


def table_in_unit(title: str, rows: Sequence[Mapping[str, Any]], unit: str) -> Table:
    """A study's rows as a table, lengths in a unit.

    Parameters
    ----------
    title, unit : str
        What it is of; "mm", "in", "ft" or "thou".
    rows : sequence of dict
        All with the same names; lengths marked (:class:`linkmotion.studies.row_figures.Length`), and ``unit`` that
        of the row's figures.
    """
    scale = float(UNITS[unit])
    shown = [
        {name: value / scale if isinstance(value, Length) else value for name, value in row.items()}
        | {"unit": unit if row["unit"] == MM else row["unit"]}
        for row in rows
    ]
    return table(title, dict.fromkeys(shown[0] if shown else ("side",), ""), shown)


def one_line(kind: str, name: str, rest: Sequence[str]) -> str:
    """A result in one line, as its ``repr`` has it.

    Parameters
    ----------
    kind, name : str
        Its class; what it is called.
    rest : sequence of str
        What else is told.
    """
    return f"<{kind} {name!r}: {', '.join(rest)}>"


def _plain(value: Any) -> Any:
    if value is None or isinstance(value, str | bool | int):
        return value
    return plain(value)


def _shown(value: Any) -> str:
    if value is None:
        return "–"
    return f"{value:.4g}" if isinstance(value, float) else str(value)
