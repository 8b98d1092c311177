"""What a command may write, and over what: the one rule that keeps the user's files.

- What the command reads is never written, by whatever name or link it is called.
- A name ends as the kind of file does.
- What is there already is replaced only if linkmotion wrote it and nobody has changed it since (``marks.py``), or if
  the user says so (``--replace``). A file that is begun here and filled in by the user is never replaced.
- Of a folder, only what linkmotion wrote there for the same purpose is replaced or cleared away.
- Links are followed: what they lead to is replaced, and they stay.

It is looked at before the work, so that no reckoning is thrown away, and again at the moment of writing.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path
from typing import overload

from linkmotion.files.faults import FileError
from linkmotion.files.marks import mark_of, marked
from linkmotion.files.whole import followed, unwritten, write_together

_NOTHING = "choose another name; nothing was written"
_ELSEWHERE = "choose a place that can be written; nothing was written"


@dataclass(frozen=True)
class Kind:
    """A kind of file that is written.

    Attributes
    ----------
    words : str
        What it is called.
    endings : tuple of str
        How its name may end, the usual ending first.
    filled_in : bool
        Whether the user works on it afterwards: it bears no mark, and stays.
    """

    words: str
    endings: tuple[str, ...]
    filled_in: bool = False


PICTURE = Kind("a picture", (".svg",))
PAGE = Kind("a web page", (".html", ".htm"))
CARD = Kind("a card model", (".pdf",))
PDF = Kind("a page on paper", (".pdf",))
SOUND = Kind("a sound", (".wav",))
STARTER = Kind("an engine file", (".toml",), filled_in=True)
FORM = Kind("a readings file", (".toml", ".csv"), filled_in=True)
CARRIED = Kind("what was carried back", (".toml",), filled_in=True)
MARKS = Kind("a file of wheel marks", (".toml",), filled_in=True)


@dataclass(frozen=True)
class Outputs:
    """Where one run of a command may write.

    Attributes
    ----------
    inputs : tuple of Path or None
        Every file that it reads.
    replace : bool
        Whether the user said that what is there may go.
    """

    inputs: tuple[Path | None, ...]
    replace: bool = False

    @overload
    def file(self, path: Path, kind: Kind) -> OutputFile: ...
    @overload
    def file(self, path: None, kind: Kind) -> None: ...
    @overload
    def file(self, path: Path | None, kind: Kind) -> OutputFile | None: ...
    def file(self, path: Path | None, kind: Kind) -> OutputFile | None:
        """A file to be written; None if none was asked for.

        Parameters
        ----------
        path, kind : Path or None, Kind
            As named by the user; what it is to be.

        Raises
        ------
        FileError
            It may not be written.
        """
        if path is None:
            return None
        made = OutputFile(path, kind, self)
        _look_early(path, made.look)
        return made

    @overload
    def folder(self, path: Path, group: str, *names: str) -> OutputFolder: ...
    @overload
    def folder(self, path: Path | None, group: str, *names: str) -> OutputFolder | None: ...
    def folder(self, path: Path | None, group: str, *names: str) -> OutputFolder | None:
        """A folder for a set of files, None if none was asked for.

        Parameters
        ----------
        path : Path or None
            As named by the user.
        group : str
            Name of the set; what an earlier run wrote under it is cleared away.
        *names : str
            Names that the files will have, as far as they are known before the work; ``*`` stands for anything.

        Raises
        ------
        FileError
            One of them may not be written.
        """
        if path is None:
            return None
        made = OutputFolder(path, group, self)
        _look_early(path, lambda: made.look(names))
        return made

    def may_write(self, path: Path, kept: bool = False) -> bool:
        """Whether a file is there, which is to be replaced.

        Parameters
        ----------
        path, kept : Path, bool
            As named by the user; whether a file of its kind is never replaced.

        Raises
        ------
        FileError
            It may not be written: an input, a folder, protected, or the user's own.
        """
        self.refuse_input(path)
        place = followed(path)
        _see_folder(path, place.parent)
        if not place.exists():
            return False
        if place.is_dir():
            raise FileError(str(path), "a folder of this name is in the way", _NOTHING)
        if not place.is_file():
            raise FileError(str(path), "this is no ordinary file", _NOTHING)
        if kept:
            raise FileError(str(path), "this file is there already", _NOTHING)
        if not os.access(place, os.W_OK):
            raise FileError(str(path), "this file is protected against writing", _NOTHING)
        mark = mark_of(place)
        if not self.replace and not (mark and mark.sound):
            problem = "has been changed since linkmotion wrote it" if mark else "was not written by linkmotion"
            remedy = "choose another name, or add --replace; nothing was written"
            raise FileError(str(path), f"this file is there already and {problem}", remedy)
        return True

    def refuse_input(self, path: Path) -> None:
        """Refuse a path that is one of the inputs, by whatever name (FileError).

        Parameters
        ----------
        path : Path
            As named by the user.
        """
        for own in self.inputs:
            if own is not None and _same(own, path):
                other = "" if str(own) == str(path) else f", by the name of {own}"
                raise FileError(str(path), f"the command reads this file{other}; it would be lost", _NOTHING)


@dataclass(frozen=True)
class OutputFile:
    """One file to be written."""

    path: Path
    kind: Kind
    outputs: Outputs

    def look(self) -> bool:
        """Whether it is there and is to be replaced; FileError if it may not be written."""
        self.outputs.refuse_input(self.path)
        endings = self.kind.endings
        for path in (self.path, followed(self.path)):
            if path.suffix.lower() not in endings:
                remedy = f"let it end with {' or '.join(endings)}; nothing was written"
                raise FileError(str(self.path), f"not the name of {self.kind.words}", remedy)
        return self.outputs.may_write(self.path, self.kind.filled_in)

    def write(self, data: str | bytes) -> int:
        """Write it, whole or not at all; gives its length in bytes, mark included.

        Parameters
        ----------
        data : str or bytes
            The whole file; text becomes UTF-8.

        Raises
        ------
        FileError
            It may no longer be written, or there is no room.
        """
        raw = data.encode() if isinstance(data, str) else data
        if not self.kind.filled_in:
            raw = marked(raw, self.path.suffix.lower())
        write_together({self.path: raw}, lambda _path: self.look())
        return len(raw)


@dataclass(frozen=True)
class OutputFolder:
    """A folder for a set of files, which may hold other files of the user's."""

    path: Path
    group: str
    outputs: Outputs

    def look(self, names: tuple[str, ...] = ()) -> None:
        """See that the folder can be written into, and that no file of some names is in the way.

        Parameters
        ----------
        names : tuple of str
            As for :meth:`Outputs.folder`.

        Raises
        ------
        FileError
            With the file that is.
        """
        self.outputs.refuse_input(self.path)
        place = followed(self.path)
        if place.exists() and not place.is_dir():
            raise FileError(str(self.path), "this is a file, not a folder", _NOTHING)
        _see_folder(self.path, place)
        for name in names:
            for found in self._listed(Path(name).parent):
                if fnmatchcase(found.name, Path(name).name):
                    self.outputs.may_write(found)

    def write(self, files: Mapping[str, bytes]) -> None:
        """Write the set, whole or not at all; what an earlier set had more goes.

        Parameters
        ----------
        files : dict
            Name to bytes; a name may stand in a folder of its own.

        Raises
        ------
        FileError
            As :meth:`OutputFile.write`.
        """
        own = {self.path / name: marked(data, Path(name).suffix, self.group) for name, data in files.items()}
        write_together(own, self.outputs.may_write, lambda: list(self._stale(files)))

    def _stale(self, files: Mapping[str, bytes]) -> Iterator[Path]:
        """Files of an earlier set that this one has not, untouched since."""
        for inner in dict.fromkeys(Path(name).parent for name in files):
            for found in self._listed(inner):
                if str(inner / found.name) in files or found.is_symlink() or not found.is_file():
                    continue
                if found.name.startswith("."):  # not written under such a name; a part of another run's
                    continue
                mark = mark_of(found)
                if mark and mark.sound and mark.group == self.group and os.access(found, os.W_OK):
                    yield found

    def _listed(self, inner: Path) -> list[Path]:
        folder = self.path / inner
        return sorted(folder.iterdir()) if folder.is_dir() and os.access(folder, os.R_OK) else []


def _look_early(path: Path, look: Callable[[], object]) -> None:
    """Look before the work; what the system says is told of the path."""
    try:
        look()
    except OSError as error:
        raise unwritten(path, error) from None


def _same(one: Path, other: Path) -> bool:
    try:
        return os.path.samefile(one, other)
    except OSError:  # one of them is not there
        return False


def _see_folder(path: Path, folder: Path) -> None:
    """See that a folder can be written into, or be made."""
    while not os.path.lexists(folder):
        folder = folder.parent
    if not folder.is_dir():
        raise FileError(str(path), f"{folder} is no folder", _ELSEWHERE)
    if not os.access(folder, os.W_OK | os.X_OK):
        raise FileError(
            str(path), f"the folder {folder} cannot be written into", "choose another place; nothing was written"
        )
