"""A folder for an engine: engine file, readings, marks, slot readings, photographs and reports side by side.

What a file is goes by what stands in it: an engine file has ``[engine]``, readings have ``[readings]`` (or the headings
of a readings table), marks have ``[tram]`` or ``[[pair]]``, points put on a picture have ``[picture]``, what was done
of a setting has ``[[done]]``, a record has ``[[recorded]]``, a table of slot readings
begins with place, front and back; a picture is known by its first bytes, and a report by the mark that linkmotion put
into it. Photographs and readings may stand in a folder within; one that holds an engine file is another engine's.
"""

from __future__ import annotations

import os
import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from linkmotion.files.faults import FileError
from linkmotion.files.marks import mark_of
from linkmotion.files.photographs import picture_kind
from linkmotion.files.readings_source import COLUMNS as READINGS_COLUMNS
from linkmotion.files.slot_readings import COLUMNS as SLOT_COLUMNS
from linkmotion.files.source import TABLE, Source
from linkmotion.files.whole import leads_into

MOST_FILES = 2000
ENGINE, READINGS, MARKS, POINTS, DONE, SLOT, PHOTO, RECORD, REPORT, OTHER = KINDS = (
    "engine", "readings", "marks", "points", "setting done", "slot readings", "photograph", "record", "report", "other",
)  # fmt: skip
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
    """

    path: Path
    kind: str
    why: str = ""
    engine: str = ""


@dataclass(frozen=True)
class EngineFolder:
    """What stands in a folder.

    Attributes
    ----------
    path : Path
        Of the folder, as named by the user.
    """

    path: Path

    @cached_property
    def engines(self) -> tuple[Path, ...]:
        """Engine files, of the folder itself."""
        return tuple(own.path for own in self._own if own.kind == ENGINE)

    @property
    def readings(self) -> tuple[Path, ...]:
        """Readings files (TOML or CSV)."""
        return self._of(READINGS)

    @property
    def marks(self) -> tuple[Path, ...]:
        """Files of wheel marks."""
        return self._of(MARKS)

    @property
    def slot_readings(self) -> tuple[Path, ...]:
        """Tables of slot readings."""
        return self._of(SLOT)

    @property
    def photos(self) -> tuple[Path, ...]:
        """Pictures, but those that linkmotion drew."""
        return self._of(PHOTO)

    @property
    def reports(self) -> tuple[Path, ...]:
        """What linkmotion wrote."""
        return self._of(REPORT)

    @property
    def unread(self) -> tuple[Found, ...]:
        """Files that could not be read, or are nothing of ours, each with why."""
        return tuple(own for own in self.files if own.why)

    @cached_property
    def files(self) -> tuple[Found, ...]:
        """Every file, those of the folder itself first."""
        return (*self._own, *(own for inner in self._inner for own in inner))

    def _of(self, kind: str) -> tuple[Path, ...]:
        return tuple(own.path for own in self.files if own.kind == kind)

    @cached_property
    def _own(self) -> tuple[Found, ...]:
        return tuple(_looked_at(self.path, self.path))

    @cached_property
    def _inner(self) -> tuple[tuple[Found, ...], ...]:
        """What stands in the folders within, but those of other engines."""
        inner = []
        for folder in _listed(self.path):
            if folder.is_dir() and not folder.is_symlink() and not folder.name.startswith("."):
                found = tuple(_looked_at(folder, self.path))
                if all(own.kind != ENGINE for own in found):
                    inner.append(found)
        return tuple(inner)

    def engine(self) -> Path:
        """The one engine file.

        Raises
        ------
        FileError
            There is none, or there are several: which, and how to choose.
        """
        if not self.engines:
            faulty = [own for own in self._own if own.why and own.path.suffix.lower() == ".toml"]
            if len(faulty) == 1:
                Source.read(faulty[0].path).document()  # tells what is wrong with it
            remedy = "name the folder in which it is; linkmotion begin writes a starter file"
            raise FileError(str(self.path), "no engine file in this folder", remedy)
        return self._one(self.engines, "engine files", "give the file itself instead of its folder")

    def readings_of(self, engine: str) -> Path:
        """The one readings file of an engine.

        Parameters
        ----------
        engine : str
            By the name in its file; readings that name another engine are passed over.

        Raises
        ------
        FileError
            There is none, or there are several.
        """
        fitting = tuple(own.path for own in self.files if own.kind == READINGS and own.engine in ("", engine))
        return self._wanted(
            fitting, "readings", "linkmotion form writes a file to fill in", "give the readings file too"
        )

    def marks_of(self) -> Path:
        """The one file of wheel marks (FileError where there is none, or several)."""
        return self._wanted(
            self.marks, "wheel marks", "a file of marks has [tram] and [[pair]]", "give the file of marks too"
        )

    def slot_of(self, side: str) -> Path | None:
        """The one table of slot readings of a side; None where there is none.

        Parameters
        ----------
        side : str
            A table whose name has the other side in it and not this one is passed over.

        Raises
        ------
        FileError
            There are several.
        """
        other = {"left": "right", "right": "left"}[side]
        fitting = tuple(
            path for path in self.slot_readings
            if not (_has(path.stem, other) and not _has(path.stem, side))
        )  # fmt: skip
        return self._one(fitting, "tables of slot readings", "give --readings with one of them") if fitting else None

    def _wanted(self, paths: tuple[Path, ...], words: str, begin: str, choose: str) -> Path:
        if not paths:
            raise FileError(str(self.path), f"no {words} in this folder", begin)
        return self._one(paths, f"files of {words}", choose)

    def _one(self, paths: tuple[Path, ...], words: str, choose: str) -> Path:
        if len(paths) > 1:
            names = ", ".join(str(path.relative_to(self.path)) for path in paths)
            problem = f"{len(paths)} {words} in this folder: {names}"
            raise FileError(str(self.path), problem, f"{choose}, such as {shlex.quote(str(paths[0]))}")
        return paths[0]


def _has(name: str, side: str) -> bool:
    return re.search(rf"(?<![a-z]){side}(?![a-z])", name.lower()) is not None


def engine_file(path: Path) -> Path:
    """The engine file that is meant: the path itself, or the one in it where it is a folder.

    Parameters
    ----------
    path : Path
        As named by the user.

    Raises
    ------
    FileError
        A folder with no engine file, or with several.
    """
    return EngineFolder(path).engine() if path.is_dir() else path


def _listed(folder: Path) -> list[Path]:
    try:
        found = sorted(folder / entry.name for entry in os.scandir(folder))
    except OSError as error:
        raise FileError(
            str(folder), (error.strerror or "cannot be read").lower(), "look at the folder's rights"
        ) from None
    if len(found) > MOST_FILES:
        raise FileError(str(folder), f"more than {MOST_FILES} files", "give the engine file itself")
    return found


def _looked_at(folder: Path, home: Path) -> Iterator[Found]:
    """The files of a folder; hidden ones are nobody's."""
    for path in _listed(folder):
        if path.name.startswith(".") or path.is_dir():
            continue
        if path.is_symlink() and not leads_into(path, home):
            yield Found(path, OTHER, "is a link that leads out of the folder")
        elif not path.is_file():
            yield Found(path, OTHER, "is no ordinary file")
        else:
            yield _kind(path)


def _kind(path: Path) -> Found:
    """What one file is."""
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
        return Found(path, OTHER, f"{f'line {error.line}: ' if error.line else ''}{error.problem}")
    except OSError as error:
        return Found(path, OTHER, (error.strerror or "cannot be read").lower())
    return Found(path, OTHER, "is neither a file of an engine nor a picture")


def _toml(path: Path) -> Found:
    document = Source.read(path).document()
    kind = next((kind for table, kind in _TABLES.items() if isinstance(document.get(table), dict | list)), OTHER)
    head = document.get(_OF.get(kind, ""))
    engine = head.get("engine", "") if isinstance(head, dict) else ""
    why = "" if kind != OTHER else "has neither [engine] nor [readings] nor [tram]"
    return Found(path, kind, why, engine if isinstance(engine, str) else "")


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
            return Found(path, READINGS, "", engine)
        if names[0] == "engine":
            engine = re.split(r"[,;\t]", line, maxsplit=1)[-1].strip().strip(",;\t").strip('"').replace('""', '"')
    return Found(path, OTHER, "is a table neither of readings nor of a slot")
