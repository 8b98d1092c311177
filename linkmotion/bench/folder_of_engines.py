"""The engine files of a folder: which there are, and where one is; nothing outside the folder is read or written.

A name from outside is never made into a path: it is looked for among the names that the folder holds.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path

from linkmotion.files.faults import FileError
from linkmotion.files.source import LARGEST

MOST = 500  # engines listed
EARLIER = "earlier"
"""The folder beside the files in which changes and the files of earlier days are kept."""


@dataclass(frozen=True)
class Listed:
    """An engine file of the folder: its name without ending, what it says of itself, and whether it may be written."""

    name: str
    engine: str
    gear: str
    note: str = ""


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
        """Engine files by name without ending: plain files of this folder, or links to such."""
        try:
            found = sorted(own for own in self.path.iterdir() if own.suffix == ".toml" and not own.name.startswith("."))
        except OSError:
            return {}
        return {own.stem: own for own in found[: 4 * MOST] if self.holds(own)}

    def holds(self, path: Path) -> bool:
        """Whether a path leads to a plain file of this very folder, every link followed."""
        try:
            real = path.resolve(strict=True)
            return real.is_file() and real.is_relative_to(self.path)
        except (OSError, RuntimeError):
            return False

    def listed(self) -> list[Listed]:
        """What engines there are; files that are something else are passed over."""
        own = ((name, _head(path)) for name, path in self.files().items())
        return [
            Listed(name, _words(head, "name") or name, _words(head, "gear"), _words(head, "note"))
            for name, head in own
            if head is not None
        ][:MOST]

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


def _head(path: Path) -> dict[str, object] | None:
    """The [engine] table of a file; None where it has none, {} where the file cannot be read and may be one."""
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)
        text = data.decode("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        return None
    if len(data) > LARGEST or "[engine]" not in text:
        return None
    try:
        head = tomllib.loads(text).get("engine")
    except (tomllib.TOMLDecodeError, RecursionError):
        return {}
    return head if isinstance(head, dict) else None


def _words(head: dict[str, object], key: str) -> str:
    return str(head.get(key, ""))[:300]
