"""What the files beside an engine's (readings, wheel marks, slot readings) tell of who took what, when and with what.

Only what has a record is told, and only of an engine in a folder of its own: beside several engines' files nobody can
say whose marks they are. Readings that name another engine are passed over.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from linkmotion.engine import Engine
from linkmotion.files.engine_folder import EngineFolder
from linkmotion.files.file_kinds import MARKS, READINGS, ROWS, SLOT, Found
from linkmotion.files.photographs import Photograph, photographs
from linkmotion.files.readings_source import ReadingsSource
from linkmotion.files.record_keys import BESIDE_KEYS, record_out
from linkmotion.files.slot_readings import slot_places, slot_record
from linkmotion.files.source import TABLE, Source, Where
from linkmotion.files.written import as_read, written_figures
from linkmotion.record import Record
from linkmotion.sides import SIDE_NAMES
from linkmotion.studies.figures.figure import SPOTTED
from linkmotion.studies.record_history import NOTHING, Entry, WrittenFigure, by_day, history

_SAID = ("notch", "direction", "at")  # of a row: which figure it is
_READ = ("front", "back", "reads", "is")  # what was read of it
_HEAD = ("unit", "engine", "state", "within", "within_percent", "within_degrees", "dead_centres", "turned")


@dataclass(frozen=True)
class BesideFile:
    """A file beside the engine's, with its records.

    Attributes
    ----------
    name : str
        From the engine's folder.
    path : Path
        Where it is.
    state : str
        Of its readings; "" where it says none.
    records : dict of Record
        By the path of a table in it.
    figures : dict of (Where, WrittenFigure)
        What was read, by the path of its row.
    """

    name: str
    path: Path
    state: str
    records: Mapping[Where, Record]
    figures: Mapping[Where, WrittenFigure]

    def entries(self) -> Iterator[Entry]:
        """An entry for every record, with what was read in its place and has no record nearer."""
        nearest = {where: self._nearest(where) for where in self.figures}
        for where, record in self.records.items():
            around = [self.records.get(where[:n], NOTHING) for n in range(len(where), 0, -1)]
            around += [self.records[head] for head in (("readings",), ("tram",)) if head in self.records]
            day = next((own.on for own in (record, *around) if own.on is not None), None)
            side = where[0] if where and where[0] in SIDE_NAMES else ""
            own = self.figures.get(where)
            yield Entry(
                (self.name, *where), self.state, side, own.dimension if own is not None else "", record, day,
                record.on is not None, "", False, tuple(self.figures[at] for at in nearest if nearest[at] == where),
                self.name,
            )  # fmt: skip

    def _nearest(self, where: Where) -> Where | None:
        """The record in whose place a row stands."""
        places = [where[:n] for n in range(len(where), 0, -1)] + [("readings",), ("tram",), ()]
        return next((place for place in places if place in self.records), None)

    def photos(self) -> list[Photograph]:
        """The photographs that it names, beside it."""
        return photographs({(self.name, *where): own for where, own in self.records.items()}, self.path.parent)


def all_entries(engine: Engine, file: Path | None, part: str = "") -> tuple[list[Entry], list[BesideFile]]:
    """What an engine's file and those beside it tell, by the day, the undated last; and those beside.

    Parameters
    ----------
    engine, file : Engine, Path or None
        As read; its file, or None where it was not read from one.
    part : str
        A table of the gear, of which the engine's own file alone tells; the whole engine unless given.

    Raises
    ------
    FileError
        A record that cannot be.
    """
    beside = [] if part or file is None else files_beside(engine, file)
    own = history(engine, written_figures(engine), part)
    return by_day([*own, *(entry for each in beside for entry in each.entries())]), beside


def files_beside(engine: Engine, file: Path) -> list[BesideFile]:
    """Every file with a record that stands beside an engine's, if it has a folder of its own.

    Parameters
    ----------
    engine, file : Engine, Path
        As read; its file.

    Raises
    ------
    FileError
        A record that cannot be.
    """
    folder = EngineFolder(file.parent)
    if len(folder.engines) != 1:
        return []
    ours = [own for own in folder.files if own.kind in _KINDS and own.engine in ("", engine.name)]
    found = [_KINDS[own.kind](own, str(own.path.relative_to(folder.path))) for own in ours]
    return [own for own in found if own.records]


def _readings(found: Found, name: str) -> BesideFile:
    source, records = ReadingsSource.of(found.path), dict[Where, Record]()
    document, figures = source.document(), dict[Where, WrittenFigure]()
    head = record_out(document["readings"], ("readings",), source, records)
    for side in SIDE_NAMES:
        table = document.get(side, {})
        record_out(table if isinstance(table, dict) else {}, (side,), source, records)
        for kind, number, row in _rows(table):
            where = (side, kind, number)
            record_out(row, where, source, records)
            figures[where] = WrittenFigure(side, _named(kind, row), _told(row, _READ))
    return BesideFile(name, found.path, str(head.get("state", "")), records, figures)


def _rows(table: Any) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Kind, number and row of everything that was read on a side."""
    for kind in (ROWS, *SPOTTED):
        rows = table.get(kind, []) if isinstance(table, dict) else []
        for number, row in enumerate(rows if isinstance(rows, list) else []):
            if isinstance(row, dict):
                yield kind, str(number), row


def _named(kind: str, row: Mapping[str, Any]) -> str:
    what = str(row.get("kind", kind))
    if kind in SPOTTED:
        what = f"{row.get('from', '')} to {row.get('to', '')}" if "to" in row else f"{row.get('pin', '')}, {kind}"
    return ", ".join([what, *(as_read(row[key]) for key in _SAID if key in row)])


def _told(row: Mapping[str, Any], keys: tuple[str, ...]) -> str:
    read = [(key, as_read(row[key])) for key in keys if key in row]
    return ", ".join(text if key in ("reads", "is") else f"{key} {text}" for key, text in read)


def _marks(found: Found, name: str) -> BesideFile:
    source, records = Source.read(found.path), dict[Where, Record]()
    document, figures = source.document(), dict[Where, WrittenFigure]()
    head = document.get("tram", {})
    record_out(head if isinstance(head, dict) else {}, ("tram",), source, records)
    for key, value in (head if isinstance(head, dict) else {}).items():
        if key not in (*BESIDE_KEYS, *_HEAD):
            figures["tram", key] = WrittenFigure("", key, as_read(value))
    pairs = document.get("pair", [])
    for number, row in enumerate(pairs if isinstance(pairs, list) else []):
        if isinstance(row, dict):
            where = ("pair", str(number))
            record_out(row, where, source, records)
            name_of = f"pair {number + 1}, {row.get('end', '')} dead centre"
            marks = row.get("marks", row.get("degrees", []))
            told = " and ".join(map(as_read, marks if isinstance(marks, list) else [marks]))
            figures[where] = WrittenFigure("", name_of, told)
    return BesideFile(name, found.path, "", records, figures)


def _slot(found: Found, name: str) -> BesideFile:
    text = Source.read(found.path, TABLE).text
    records, figures = slot_record(text, str(found.path)), dict[Where, WrittenFigure]()
    for number, row in enumerate(slot_places(text, str(found.path))):
        told = ", ".join(f"{title} {cell}" for title, cell in row.items() if title.lower().split()[0] != "place")
        place = next((cell for title, cell in row.items() if title.lower().split()[0] == "place"), "")
        figures["row", str(number)] = WrittenFigure("", f"slot at {place}", told)
    return BesideFile(name, found.path, "", records, figures)


_KINDS = {READINGS: _readings, MARKS: _marks, SLOT: _slot}
