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
from linkmotion.files.file_kinds import ENGINE, MARKS, OTHER, PHOTO, READINGS, REPORT, ROWS, SLOT, Found, kind_of
from linkmotion.files.source import Source, shown
from linkmotion.files.whole import leads_into
from linkmotion.sides import PAIR
from linkmotion.studies.figures.figure import SPOTTED

MOST_FILES = 2000


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
        """Engine files that can be read, of the folder itself."""
        return tuple(own.path for own in self._own if own.kind == ENGINE and not own.why)

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
        return (*self._own, *(own for inner in self._inner.values() if not _of_an_engine(inner) for own in inner))

    @property
    def within(self) -> tuple[EngineFolder, ...]:
        """The folders within that are other engines'."""
        return tuple(EngineFolder(path) for path, inner in self._inner.items() if _of_an_engine(inner))

    def _of(self, kind: str) -> tuple[Path, ...]:
        return tuple(own.path for own in self.files if own.kind == kind)

    @cached_property
    def _own(self) -> tuple[Found, ...]:
        return tuple(_looked_at(self.path, self.path))

    @cached_property
    def _inner(self) -> dict[Path, tuple[Found, ...]]:
        """What stands in the folders within."""
        return {
            folder: tuple(_looked_at(folder, self.path))
            for folder in listed_in(self.path)
            if folder.is_dir() and not folder.is_symlink() and not folder.name.startswith(".")
        }

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

    def readings_of(self, engine: str, rows: tuple[str, ...] = (ROWS,)) -> Path:
        """The one readings file of an engine.

        Parameters
        ----------
        engine : str
            By the name in its file; readings that name another engine are passed over, and told where there are
            none of it.
        rows : tuple of str
            What is wanted of it, "readings", "distance" or "place": where some files have it, the others are passed
            over.

        Raises
        ------
        FileError
            There is none, or there are several.
        """
        there = [own for own in self.files if own.kind == READINGS]
        fitting = [own for own in there if own.engine in ("", engine)]
        if there and not fitting:
            raise self._of_another(there, engine)
        having = [own for own in fitting if own.taken & set(rows)] or fitting
        return self._wanted(
            tuple(own.path for own in having),
            "readings",
            "linkmotion form writes a file to fill in",
            "give the readings file too",
        )

    def spots_of(self, engine: str) -> Path | None:
        """The one readings file of an engine with distances or places; None where there is none.

        Parameters
        ----------
        engine : str
            As for :meth:`readings_of`.

        Raises
        ------
        FileError
            There are several, or those that there are name another engine.
        """
        measured = [own for own in self.files if own.taken & set(SPOTTED)]
        if measured and not any(own.engine in ("", engine) for own in measured):
            raise self._of_another(measured, engine)
        return self.readings_of(engine, SPOTTED) if measured else None

    def _of_another(self, there: list[Found], engine: str) -> FileError:
        """A name mistyped in a file of readings must not pass for nothing having been read."""
        names = "; ".join(f"{own.path.relative_to(self.path)} is of {shown(own.engine)}" for own in there)
        told = f"no readings of {shown(engine)} in this folder: {names}"
        return FileError(str(self.path), told, "correct engine in [readings], or take that file out of the folder")

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
        others = [own for own in PAIR if own != side]
        fitting = tuple(
            path for path in self.slot_readings
            if _has(path.stem, side) or not any(_has(path.stem, own) for own in others)
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


def _of_an_engine(found: tuple[Found, ...]) -> bool:
    return any(own.kind == ENGINE for own in found)


def listed_in(folder: Path) -> list[Path]:
    """Everything in a folder, by name; FileError where it cannot be listed, or is too much."""
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
    for path in listed_in(folder):
        if path.name.startswith(".") or path.is_dir():
            continue
        if path.is_symlink() and not leads_into(path, home):
            yield Found(path, OTHER, "is a link that leads out of the folder")
        elif not path.is_file():
            yield Found(path, OTHER, "is no ordinary file")
        else:
            yield kind_of(path)
