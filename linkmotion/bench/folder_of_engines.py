"""A folder of engines as the bench works on it: where a file is; nothing outside the folder is read or written.

A name from outside is never made into a path: it is looked for among the names that the folder holds.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote

from linkmotion.files.engine_folder import EngineFolder, listed_in
from linkmotion.files.faults import FileError
from linkmotion.files.file_kinds import ENGINE, Found
from linkmotion.files.source import Source

MOST = 500  # engines listed
EARLIER = "earlier"
"""The folder beside the files in which changes and the files of earlier days are kept."""


@dataclass(frozen=True)
class Listed:
    """An engine file: its name from the folder on, without ending, and what it says of itself."""

    name: str
    engine: str
    gear: str

    @property
    def address(self) -> str:
        """The name as it stands in an address."""
        return in_address(self.name)


class FolderOfEngines:
    """A folder, and what of it may be seen.

    Parameters
    ----------
    path : Path
        Of the folder.

    Raises
    ------
    FileError
        There is no such folder.
    """

    def __init__(self, path: Path) -> None:
        self.named = path
        try:
            self.path = path.resolve(strict=True)
        except (OSError, RuntimeError):
            raise FileError(str(path), "there is no such folder", "check the name") from None
        if not self.path.is_dir():
            raise FileError(str(path), "this is a file, not a folder", "name the folder that it lies in")

    def files(self) -> dict[str, Path]:
        """Plain text files by name without ending: of this very folder, or links to such."""
        try:
            found = [own for own in listed_in(self.path) if own.suffix.lower() == ".toml"]
        except FileError:
            return {}
        return {own.stem: own for own in found if not own.name.startswith(".") and self.holds(own)}

    def holds(self, path: Path) -> bool:
        """Whether a path leads to a plain file of this very folder, every link followed."""
        try:
            real = path.resolve(strict=True)
            return real.is_file() and real.is_relative_to(self.path)
        except (OSError, RuntimeError):
            return False

    def listed(self) -> list[Listed]:
        """What engines there are, here and in folders of their own within; files that are something else are not."""
        own = EngineFolder(self.path)
        within = (folder for folder in own.within if folder.path.name != EARLIER)
        found = [file for folder in (own, *within) for file in folder.files if file.kind == ENGINE]
        return [_listed(file, self.path) for file in found if self.holds(file.path)][:MOST]

    def of(self, name: str) -> tuple[FolderOfEngines, str]:
        """The folder that an engine of the list lies in, and its name there.

        Parameters
        ----------
        name : str
            As listed.
        """
        inner, _, own = name.rpartition("/")
        there = {folder.path.name for folder in EngineFolder(self.path).within} if inner else set()
        return (FolderOfEngines(self.path / inner), own) if inner in there - {EARLIER} else (self, name)

    def place(self, name: str) -> Path:
        """Where an engine file is.

        Raises
        ------
        FileError
            The folder has none of this name.
        """
        path = self.files().get(name)
        if path is None:
            raise FileError(name, "there is no engine of this name in this folder", "go back to the list of engines")
        return path

    def new(self, name: str) -> Path:
        """Where a new engine file of this name goes.

        Raises
        ------
        FileError
            The name cannot be a file's, or is taken.
        """
        name = " ".join(name.split())
        good = name and len(name) <= 60 and all(c.isalnum() or c in " -_.()" for c in name) and name[0].isalnum()
        if not good or name.endswith("."):
            raise FileError(name or "name", "this cannot be a file's name", "use letters, digits, spaces and -")
        path = self.path / f"{name}.toml"
        if path.exists() or path.is_symlink() or any(own.lower() == name.lower() for own in self.files()):
            raise FileError(name, "there is a file of this name already", "choose another name")
        return path

    def kept(self, name: str) -> Path:
        """The folder in which what an engine file was before is kept.

        Raises
        ------
        FileError
            Something else is in the way.
        """
        folder = self.path / EARLIER
        if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
            raise FileError(EARLIER, "something of this name is in the way", "rename it: earlier files are kept there")
        return folder


def _listed(found: Found, folder: Path) -> Listed:
    """What is shown of an engine file; of one that cannot be read its name."""
    name = found.path.relative_to(folder).with_suffix("").as_posix()
    head = {} if found.why else Source.read(found.path).document()["engine"]
    return Listed(name, _words(head, "name") or name, _words(head, "gear"))


def _words(head: Any, key: str) -> str:
    return str(head.get(key, ""))[:300] if isinstance(head, dict) else ""


def in_address(name: str) -> str:
    """An engine's name as one piece of an address: once more quoted than servers take back, as it may have a slash."""
    return quote(quote(name, safe=""), safe="")
