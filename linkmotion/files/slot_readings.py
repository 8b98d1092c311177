"""Depth readings of a slot from a table of plain text (CSV): place, front, back.

The first line names the columns, in any order; a unit may stand in brackets behind a name. What is not read on one
of the faces is left empty::

    place (in), front (thou), back (thou)
    -4 1/2,     0.5,          3
    -4,         ,             8

Before them may stand who took them, when and with what, each on a line of two cells (``by, P. Osk``): by, on, with,
note, photo.

Commas, semicolons or tabs part the columns; where it is no commas, figures may have decimal commas. Empty lines,
and lines that begin with #, are passed over.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from linkmotion.files.faults import FileError, nearest
from linkmotion.files.figure_fault import FigureFault
from linkmotion.files.lengths import UNITS
from linkmotion.files.readings_source import with_point
from linkmotion.files.record_keys import BESIDE_KEYS, record_out
from linkmotion.files.source import TABLE, Source, Where
from linkmotion.files.taken_forms import Taking
from linkmotion.record import Record
from linkmotion.wear.slot_drawing import FACES
from linkmotion.wear.slot_faces import FaceReadings

COLUMNS = ("place", *FACES)
_HEAD = re.compile(r"(?P<name>[^\W\d_]+)\s*(?:[(\[]\s*(?P<unit>[^)\]]+?)\s*[)\]])?")
_FORM = f"begin with a line such as: {', '.join(f'{name} (mm)' for name in COLUMNS)}"


def read_slot_readings(path: str | Path, unit: str) -> tuple[FaceReadings, FaceReadings]:
    """Read both faces' readings, front and back, mm.

    Parameters
    ----------
    path : path
        CSV, as at the head of this module.
    unit : str
        Of bare figures in columns that name none.

    Raises
    ------
    FileError
        With file, line and column.
    """
    try:
        source = Source.read(path, TABLE)
    except FileError as error:
        raise FileError(error.file, error.problem, f"a file of readings is plain text; {_FORM}") from None
    return slot_readings(source.text, source.name, unit)


def slot_readings(text: str, name: str, unit: str) -> tuple[FaceReadings, FaceReadings]:
    """Readings from the text of a file, front and back, mm.

    Parameters
    ----------
    text, name : str
        CSV; what stands for the file's name in messages.
    unit : str
        Of bare figures in columns that name none.

    Raises
    ------
    FileError
        With file, line and column.
    """
    _record, rows = _parted(text, name)
    line, head = next(rows, (1, []))
    columns = list(_columns(head, name, line, unit))
    found: dict[str, tuple[list[float], list[float]]] = {face: ([], []) for face in FACES}
    for line, cells in rows:
        if len(cells) > len(columns):
            problem = f"{len(cells)} figures where the first line names {len(columns)} columns"
            raise FileError(name, problem, "write a point for decimals, not a comma; part figures alike", line)
        own = {
            column: _length(cell, column, name, line, its)
            for (column, its), cell in zip(columns, cells, strict=False) if cell
        }  # fmt: skip
        if "place" not in own:
            raise FileError(name, "missing", "give the place along the slot from mid slot, + up", line, "place")
        if len(own) == 1:
            raise FileError(name, "a place without a reading", "give front, back or both, or leave it out", line)
        for face in FACES:
            if face in own:
                found[face][0].append(own["place"])
                found[face][1].append(own[face])
    for face in FACES:
        if not found[face][0]:
            raise FileError(name, f"no reading of the {face} face", "give one at least for each face", None, face)
    front, back = (FaceReadings(*found[face]) for face in FACES)
    return front, back


def slot_record(text: str, name: str) -> dict[Where, Record]:
    """Who took slot readings, when and with what: nothing, or one record under the empty path.

    Parameters
    ----------
    text, name : str
        As for :func:`slot_readings`.

    Raises
    ------
    FileError
        A day that is none, a photograph outside the folder.
    """
    return _parted(text, name)[0]


def slot_places(text: str, name: str) -> list[dict[str, str]]:
    """Its rows as written, each by the names of its columns.

    Parameters
    ----------
    text, name : str
        As for :func:`slot_readings`.
    """
    rows = _parted(text, name)[1]
    _line, head = next(rows, (1, []))
    return [{title: cell for title, cell in zip(head, cells, strict=False) if cell} for _line, cells in rows]


def _parted(text: str, name: str) -> tuple[dict[Where, Record], Iterator[tuple[int, list[str]]]]:
    """The record at its head, and the rows after it."""
    rows, told, lines = list(_rows(text)), dict[str, Any](), dict[Where, int]()
    while rows and rows[0][1][0].lower() in BESIDE_KEYS:
        line, (key, *cells) = rows.pop(0)
        lines[key.lower(),] = line
        told[key.lower()] = ", ".join(cell for cell in cells if cell)
    source = Source("", name)
    records: dict[Where, Record] = {}
    try:
        record_out(told, (), source, records)
    except FileError as error:
        raise FileError(name, error.problem, error.remedy, lines.get((error.key,)), error.key) from None
    return records, iter(rows)


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """Line number and cells of every line that says something, the head first."""
    lines = [(n, line) for n, line in enumerate(text.splitlines(), 1) if line.strip() and line.strip()[0] != "#"]
    mark = next((mark for mark in ";\t" if lines and mark in lines[0][1]), ",")
    for number, line in lines:
        cells = [cell.strip() for cell in next(csv.reader([line], delimiter=mark, skipinitialspace=True))]
        yield number, cells if mark == "," else [with_point(cell) for cell in cells]


def _columns(head: list[str], name: str, line: int, unit: str) -> Iterator[tuple[str, str]]:
    """Name and unit of each column."""
    seen: list[str] = []
    for title in head:
        found = _HEAD.fullmatch(title.lower())
        if found is None or found["name"] not in COLUMNS:
            word = found["name"] if found else title
            close = nearest(word, COLUMNS)
            raise FileError(name, f"no column {title!r}", close if "mean" in close else _FORM, line)
        if found["name"] in seen:
            raise FileError(name, "two columns of this name", "keep one", line, found["name"])
        if (own := found["unit"] or unit) not in UNITS:
            raise FileError(name, f"no unit {own!r}", nearest(own, list(UNITS)), line, found["name"])
        seen.append(found["name"])
        yield found["name"], own
    for column in COLUMNS:
        if column not in seen:
            raise FileError(name, f"no column {column!r}", _FORM, line)


def _length(cell: str, column: str, name: str, line: int, unit: str) -> float:
    try:
        taken = Taking(unit, ()).figure(cell, column)
    except FigureFault as fault:
        raise FileError(name, fault.problem, "correct this figure, or leave it empty", line, column) from None
    if taken.parts:
        raise FileError(name, f"{cell} has a doubt of its own", "the gauge's stands in [cleanup] gauge", line, column)
    return taken.value
