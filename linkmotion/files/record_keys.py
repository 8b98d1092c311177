"""The keys of a record (``by``, ``on``, ``with``, ``note``, ``photo``, ``from_engine``), read wherever they may stand.

They may stand in [engine], in every table beside it, in a state, in a side of a state or of the drawing, and in each
of its tables; a small table within one (``valve.rocker``) may have its own. They are taken out before the tables are
held against the dimension book, which knows nothing of them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import date, datetime
from pathlib import PurePosixPath
from typing import Any

from linkmotion.engine_layers import DRAWING
from linkmotion.files.source import Source, Where, shown
from linkmotion.gears.layering import small_tables, table_types
from linkmotion.record import Record
from linkmotion.sides import BOTH

RECORD_KEYS = ("by", "on", "with", "note", "photo", "from_engine")
BESIDE_KEYS = RECORD_KEYS[:-1]  # in readings, marks and tables of slot readings, which are of one engine
PICTURES = (".png", ".jpg", ".jpeg", ".svg", ".gif", ".webp")
_TABLES = ("targets", "wear", "tolerances", "adjustments", "cleanup", "wheels", "steam", "pins")
_MEANT = {
    "date": "on", "day": "on", "when": "on", "who": "by", "photos": "photo", "photograph": "photo", "picture": "photo",
    "notes": "note", "remark": "note", "instrument": "with", "from": "from_engine",
}  # fmt: skip
_DAY = 'write the day as 2026-11-30 or "2026-11-30"'


def taken_out(
    document: Mapping[str, Any], gear: type[Any], source: Source
) -> tuple[dict[str, Any], dict[Where, Record]]:
    """An engine file without its records, and the records by the paths of their tables.

    Parameters
    ----------
    document : dict
        As read.
    gear : type
        The gear's dataclass, which says what its tables are.
    source : Source
        The text, for faults.

    Raises
    ------
    FileError
        A day that is none, a photograph outside the folder, a key that is nearly one of these.
    """
    records: dict[Where, Record] = {}
    rest: dict[str, Any] = _copied(document)
    for where in _places(rest, gear):
        outer: Any = rest
        for step in where[:-1]:
            outer = outer[step]
        own = outer[where[-1]]
        kept = {"note"} if where[0] == "engine" or (where[0] == "state" and len(where) == 2) else set[str]()
        told = {key: own[key] for key in RECORD_KEYS if key in own}
        _see_meant(own, where, source)
        if told:
            records[where] = _record(told, where, source)
            outer[where[-1]] = {key: value for key, value in own.items() if key not in told or key in kept}
    return rest, records


def record_out(table: Mapping[str, Any], where: Where, source: Source, records: dict[Where, Record]) -> dict[str, Any]:
    """A table of a file beside the engine's without its record, which is noted under its path.

    Parameters
    ----------
    table, where, source : dict, tuple of str, Source
        As read; its path; the file, for faults.
    records : dict
        Into which its record goes, where it has one.

    Raises
    ------
    FileError
        As :func:`taken_out`.
    """
    _see_meant({key: own for key, own in table.items() if _MEANT.get(key) in BESIDE_KEYS}, where, source)
    told = {key: own for key, own in table.items() if key in BESIDE_KEYS}
    if told:
        records[where] = _record(told, where, source)
    return {key: own for key, own in table.items() if key not in told}


def _copied(value: Any) -> Any:
    """Tables copied as deep as records stand."""
    return {key: _copied(each) for key, each in value.items()} if isinstance(value, dict) else value


def _places(document: Mapping[str, Any], gear: type[Any]) -> Iterator[Where]:
    """Paths of the tables in which a record may stand, the innermost first."""
    parts = {name: small_tables(kind) for name, kind in table_types(gear).items()}

    def below(tables: Mapping[str, Any], where: Where) -> Iterator[Where]:
        for part, inner in parts.items():
            own = tables.get(part)
            if isinstance(own, dict):
                yield from ((*where, part, name) for name in inner if isinstance(own.get(name), dict))
                yield (*where, part)

    yield from below(document, ())
    for table in ("tolerances", "adjustments"):
        own = document.get(table)
        if isinstance(own, dict):
            yield from ((table, part) for part in parts if isinstance(own.get(part), dict))
    pins = document.get("pins")
    yield from (
        ("pins", name) for name, own in (pins if isinstance(pins, dict) else {}).items() if isinstance(own, dict)
    )
    for above, layered in _layered(document):
        for side in (BOTH, *gear.sides):
            if isinstance(layered.get(side), dict):
                yield from below(layered[side], (*above, side))
                if isinstance(layered[side].get("wear"), dict):
                    yield (*above, side, "wear")
                yield (*above, side)
        if above != (DRAWING,):  # whose record is the engine's
            yield above
    yield from ((table,) for table in ("engine", *_TABLES) if isinstance(document.get(table), dict))


def _layered(document: Mapping[str, Any]) -> Iterator[tuple[Where, dict[str, Any]]]:
    """Everything that has sides: what is drawn of each, every state and repair; its path, its table."""
    if isinstance(document.get(DRAWING), dict):
        yield (DRAWING,), document[DRAWING]
    for kind in ("state", "repair"):
        named = document.get(kind)
        for name, own in named.items() if isinstance(named, dict) else ():
            if isinstance(own, dict):
                yield (kind, name), own


def _see_meant(own: Mapping[str, Any], where: Where, source: Source) -> None:
    for key, meant in _MEANT.items():
        if key in own:
            raise source.fault((*where, key), "unknown", f"did you mean {meant!r}?")


def _record(told: Mapping[str, Any], where: Where, source: Source) -> Record:
    words = {key: source.words(told[key], (*where, key)) for key in ("by", "with", "from_engine") if key in told}
    for key, said in words.items():
        if not said.strip():
            raise source.fault((*where, key), "says nothing", "give it, or leave the key out")
    if "from_engine" in told and where[0] in ("engine", *_TABLES):
        raise source.fault((*where, "from_engine"), "no part stands here", "give it in the table of a part or a state")
    note = told.get("note", "")
    if not isinstance(note, str):
        source.words(note, (*where, "note"))
    day = _day(told["on"], (*where, "on"), source) if "on" in told else None
    photos = _photos(told["photo"], (*where, "photo"), source) if "photo" in told else ()
    return Record(words.get("by", ""), day, words.get("with", ""), note, photos, words.get("from_engine", ""))


def _day(value: Any, where: Where, source: Source) -> date:
    if isinstance(value, datetime):
        raise source.fault(where, f"read {value}", f"the day alone is wanted: {_DAY}")
    if isinstance(value, date):
        return value
    if not isinstance(value, str):
        raise source.fault(where, f"read {shown(value)}, wanted a day", _DAY)
    if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", value, re.ASCII):
        raise source.fault(where, f"read {shown(value)}, which is no day", _DAY)
    try:
        return date.fromisoformat(value)
    except ValueError:
        raise source.fault(where, f"there is no day {value}", "look it up in a calendar") from None


def _photos(value: Any, where: Where, source: Source) -> tuple[str, ...]:
    names = value if isinstance(value, list) else [value]
    if not names:
        raise source.fault(where, "an empty list", "name a photograph, or leave the key out")
    for name in names:
        if not isinstance(name, str) or not name.strip():
            remedy = 'write photo = "…" with the name of a file beside this one, or a list of them'
            raise source.fault(where, f"read {shown(name)}, wanted the name of a file", remedy)
        source.printable(name, where)
        if "\\" in name or ":" in name or name.startswith(("/", "~")) or ".." in PurePosixPath(name).parts:
            remedy = "put the photograph beside the engine file and give its name; a folder in it is parted by /"
            raise source.fault(where, f"{shown(name)} leads out of the engine file's folder", remedy)
        if PurePosixPath(name).suffix.lower() not in PICTURES:
            raise source.fault(where, f"{shown(name)} is no picture by its name", f"one of {', '.join(PICTURES)}")
    return tuple(names)
