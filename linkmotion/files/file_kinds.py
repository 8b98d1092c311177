"""What a file beside an engine's is, by what stands in it: readings, marks, slot readings, points put on a picture."""

from __future__ import annotations

import re
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from linkmotion.files.faults import FileError
from linkmotion.files.marks import mark_of
from linkmotion.files.photographs import picture_kind
from linkmotion.files.readings_source import COLUMNS as READINGS_COLUMNS
from linkmotion.files.slot_readings import COLUMNS as SLOT_COLUMNS
from linkmotion.files.source import LARGEST, TABLE, Source
from linkmotion.sides import SIDE_NAMES
from linkmotion.studies.figures.figure import SPOTTED

ENGINE, READINGS, MARKS, POINTS, DONE, SLOT, PHOTO, RECORD, REPORT, OTHER = KINDS = (
    "engine", "readings", "marks", "points", "setting done", "slot readings", "photograph", "record", "report", "other",
)  # fmt: skip
ROWS = "readings"
_TABLES = {"engine": ENGINE, "readings": READINGS, "tram": MARKS, "pair": MARKS, "picture": POINTS, "done": DONE,
            "recorded": RECORD}  # fmt: skip
_OF = {READINGS: "readings", POINTS: "picture"}  # tables that may name an engine
_WRITTEN = (".svg", ".html", ".htm", ".pdf", ".wav", ".dxf")  # what linkmotion writes


@dataclass(frozen=True)
class Found:
    """One file of a folder.

    Attributes
    ----------
    path : Path
        As reached from the folder.
    kind : str
        One of :data:`KINDS`.
    why : str
        Why it could not be read, or is nothing of ours; "" else.
    engine : str
        The engine that readings or points say they are of; "" where they do not.
    taken : frozenset of str
        What kinds of rows a readings file has: "readings", "distance", "place".
    """

    path: Path
    kind: str
    why: str = ""
    engine: str = ""
    taken: frozenset[str] = frozenset()


def kind_of(path: Path) -> Found:
    """What one file is.

    Parameters
    ----------
    path : Path
        An ordinary file.
    """
    ending = path.suffix.lower()
    try:
        if ending == ".toml":
            return _toml(path)
        if ending == ".csv":
            return _table(path)
        if ending in _WRITTEN and mark_of(path) is not None:
            return Found(path, REPORT)
        with path.open("rb") as file:
            if picture_kind(file.read(1024)):
                return Found(path, PHOTO)
    except FileError as error:
        kind = ENGINE if ending == ".toml" and _meant_as_engine(path) else OTHER
        return Found(path, kind, f"{f'line {error.line}: ' if error.line else ''}{error.problem}")
    except OSError as error:
        return Found(path, OTHER, (error.strerror or "cannot be read").lower())
    return Found(path, OTHER, "is neither a file of an engine nor a picture")


def _meant_as_engine(path: Path) -> bool:
    """Whether a file that cannot be read says that it is an engine's."""
    with suppress(OSError), path.open("rb") as file:
        return b"[engine]" in file.read(LARGEST)
    return False


def _toml(path: Path) -> Found:
    document = Source.read(path).document()
    kind = next((kind for table, kind in _TABLES.items() if isinstance(document.get(table), dict | list)), OTHER)
    head = document.get(_OF.get(kind, ""))
    engine = head.get("engine", "") if isinstance(head, dict) else ""
    why = "" if kind != OTHER else "has neither [engine] nor [readings] nor [tram]"
    sides = [own for side in SIDE_NAMES if isinstance(own := document.get(side), dict)] if kind == READINGS else []
    taken = frozenset(rows for rows in (ROWS, *SPOTTED) if any(rows in own for own in sides))
    return Found(path, kind, why, engine if isinstance(engine, str) else "", taken)


def _table(path: Path) -> Found:
    """A table of plain text: by the first line that names columns."""
    engine = ""
    for line in Source.read(path, TABLE).text.splitlines():
        cells = [cell.strip().strip('"').lower() for cell in re.split(r"[,;\t]", line)]
        names = [re.sub(r"\s*[(\[].*", "", cell) for cell in cells]
        if line.lstrip().startswith("#") or not any(cells):
            continue
        if set(names) >= set(SLOT_COLUMNS):
            return Found(path, SLOT)
        if names[0] == READINGS_COLUMNS[0] and {"notch", "kind"} <= set(names):
            return Found(path, READINGS, "", engine, frozenset((ROWS,)))
        if names[0] == "engine":
            engine = re.split(r"[,;\t]", line, maxsplit=1)[-1].strip().strip(",;\t").strip('"').replace('""', '"')
    return Found(path, OTHER, "is a table neither of readings nor of a slot")
