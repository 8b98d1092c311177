"""Files that lie beside an engine's (readings, wheel marks, what was done of a setting), kept as safely as its own."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from linkmotion.bench.folder_of_engines import FolderOfEngines
from linkmotion.bench.kept_file import KeptFile
from linkmotion.files.engine_folder import EngineFolder
from linkmotion.files.faults import FileError
from linkmotion.files.file_kinds import DONE, MARKS, POINTS, READINGS
from linkmotion.files.outputs import FORM, Outputs

WORKED_ON = (READINGS, MARKS, POINTS, DONE)
NOT_WRITTEN = (
    "is used as it stands, and nothing is written into it here: it lies in a folder within, or is a table. Copy it "
    "beside the engine file, or begin a new one, to work on it here."
)
_KEPT = 8  # files kept at hand
_MOST = 90  # files of one name begun on one day


class FilesBeside:
    """What lies beside an engine file.

    Parameters
    ----------
    folder : FolderOfEngines
        That holds all of it.
    name : str
        Of the engine's file, without ending.
    """

    def __init__(self, folder: FolderOfEngines, name: str) -> None:
        self.folder, self.name = folder, name
        self._kept: dict[str, KeptFile] = {}

    def listed(self, kind: str, engine: str = "") -> dict[str, Path]:
        """Files of a kind by their names from the folder on, the one changed last first.

        Parameters
        ----------
        kind, engine : str
            Of :mod:`linkmotion.files.engine_folder`; an engine's name: readings that name another are passed over.
        """
        found = [
            own.path for own in EngineFolder(self.folder.path).files
            if own.kind == kind and (not engine or own.engine in ("", engine)) and self.folder.holds(own.path)
        ]  # fmt: skip
        found.sort(key=lambda path: -path.stat().st_mtime_ns)
        return {path.relative_to(self.folder.path).as_posix(): path for path in found}

    def path(self, kind: str, name: str) -> Path:
        """Where a file is that was chosen among those listed.

        Raises
        ------
        FileError
            There is none of this name and kind.
        """
        found = self.listed(kind).get(name)
        if found is None:
            raise FileError(name, "there is no such file in this folder", "choose one of the list")
        return found

    def can_write(self, name: str) -> bool:
        """Whether a file is worked on here: plain text of the folder itself, not of one within, and no table."""
        return name.endswith(".toml") and "/" not in name

    def kept(self, name: str) -> KeptFile:
        """A file to be worked on.

        Raises
        ------
        FileError
            There is none of this name, or it is not worked on here.
        """
        known = self._kept.get(name)
        if known is not None and self.folder.holds(known.path):
            return known
        if not self.can_write(name):
            raise FileError(name, "this file is not written here", "copy it beside the engine file to work on it here")
        if not any(name in self.listed(kind) for kind in WORKED_ON):
            raise FileError(name, "there is no such file in this folder", "load the page anew")
        self._kept[name] = KeptFile(self.folder, name.removesuffix(".toml"))
        while len(self._kept) > _KEPT:
            del self._kept[next(iter(self._kept))]
        return self._kept[name]

    def stem(self, what: str) -> str:
        """How the names of files begin that are begun here: the engine file's name, and what they are."""
        own = "".join(c if c.isalnum() or c in " -_.()" else "-" for c in self.name)[:30].strip(" .-_")
        return f"{own or 'engine'} {what}"

    def begin(self, what: str, text: str, dated: bool = True) -> str:
        """Begin a file, named after the engine's, what it is and the day: its name.

        Parameters
        ----------
        what, text : str
            Such as "readings"; the text it begins with.
        dated : bool
            Whether its name has the day.

        Raises
        ------
        FileError
            It cannot be written.
        """
        name = f"{self.stem(what)}{f' {date.today().isoformat()}' if dated else ''}"
        taken = {own.lower() for own in self.folder.files()}
        names = (name, *(f"{name} ({number})" for number in range(2, _MOST)))
        free = next((own for own in names if own.lower() not in taken), name)
        path = self.folder.new(free)
        Outputs(()).file(path, FORM).write(text)
        return path.name
