"""Readings taken on an engine, from their file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from linkmotion.engine import Engine
from linkmotion.face.tables import one_line
from linkmotion.files.readings_file import Readings
from linkmotion.files.readings_file import read_readings as read_against
from linkmotion.files.readings_source import ReadingsSource


@dataclass(frozen=True, repr=False)
class ReadingsFile:
    """A file of readings: what it says is checked against the engine on which they were taken.

    Attributes
    ----------
    path : Path
        TOML or CSV.
    """

    path: Path

    def of(self, engine: Engine) -> Readings:
        """The readings, as taken on an engine.

        Raises
        ------
        FileError
            With file, line, key and remedy.
        """
        return read_against(self.path, engine)

    def __repr__(self) -> str:
        """In one line."""
        return one_line("ReadingsFile", str(self.path), ["readings to be held against an engine"])


def read_readings(path: str | Path) -> ReadingsFile:
    """Read a readings file (TOML or CSV); :func:`linkmotion.diagnose` and ``advise`` hold it against an engine.

    Parameters
    ----------
    path : path
        ``linkmotion form`` writes one to fill in.

    Raises
    ------
    FileError
        It is not there, or no such file: with file, line and remedy.
    """
    ReadingsSource.of(path).document()
    return ReadingsFile(Path(path))
