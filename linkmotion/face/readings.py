"""Readings taken on an engine, from their file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from linkmotion.engine import Engine as EngineAsRead
from linkmotion.face.tables import Table, one_line, table
from linkmotion.files.lengths import UNITS
from linkmotion.files.readings_file import Readings
from linkmotion.files.readings_file import read_readings as read_against
from linkmotion.files.readings_source import ReadingsSource
from linkmotion.studies.figures.figure import MM

if TYPE_CHECKING:
    from linkmotion.face.engine import Engine


@dataclass(frozen=True, repr=False)
class ReadingsFile:
    """A file of readings: what it says is checked against the engine on which they were taken.

    Attributes
    ----------
    path : Path
        TOML or CSV.
    """

    path: Path

    def of(self, engine: EngineAsRead) -> Readings:
        """The readings, as taken on an engine; mm and degrees.

        Parameters
        ----------
        engine : linkmotion.engine.Engine
            As read.

        Raises
        ------
        FileError
            With file, line, key and remedy.
        """
        return read_against(self.path, engine)

    def table(self, engine: Engine) -> Table:
        """Every reading, as taken on an engine: lengths and their doubt (one standard deviation) in the file's unit.

        Parameters
        ----------
        engine : Engine
            As :func:`linkmotion.read_engine` gives it.

        Raises
        ------
        FileError
            As :meth:`of`.
        """
        read, rows = self.of(engine.as_read), []
        for side in read.sides:
            for own in read.of(side):
                unit, scale = (read.unit, float(UNITS[read.unit])) if own.unit == MM else (own.unit, 1.0)
                where = {key: getattr(own, key) for key in ("side", "notch", "direction", "end", "at", "turned")}
                rows.append(
                    where | {"kind": own.what} | {"value": own.value / scale, "sigma": own.sigma / scale, "unit": unit}
                )
        names = ("side", "kind", "notch", "direction", "end", "at", "turned", "value", "sigma", "unit")
        return table(f"{self.path.name}: readings", dict.fromkeys(names, ""), rows)

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
