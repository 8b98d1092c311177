"""Readings taken on an engine, from their file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from linkmotion.engine import Engine as EngineAsRead
from linkmotion.face.tables import Table, one_line, table_in_unit
from linkmotion.files.carried_file import held_against, read_carried
from linkmotion.files.faults import FileError
from linkmotion.files.outputs import CARRIED, Outputs
from linkmotion.files.readings_file import Readings
from linkmotion.files.readings_file import read_readings as read_against
from linkmotion.files.readings_source import ReadingsSource
from linkmotion.files.source import Source
from linkmotion.studies.row_figures import measured

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
        read = self.of(engine.as_read)
        rows = [
            {
                "side": own.side, "kind": own.what, "notch": own.notch, "direction": own.direction, "end": own.end,
                "at": own.at, "turned": own.turned, "value": measured(own.value, own.unit),
                "sigma": measured(own.sigma, own.unit), "unit": own.unit,
            }
            for side in read.sides for own in read.of(side)
        ]  # fmt: skip
        return table_in_unit(f"{self.path.name}: readings", rows, read.unit)

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


def carried_back(
    engine: Engine, file: str | Path, beside: str | Path | None = None, write: str | Path | None = None
) -> Table:
    """What was carried back from the engine, held against the readings that are there.

    Two of one figure contradict where they differ by more than both may be out together, 19 in 20 each.

    Parameters
    ----------
    engine : Engine
        As :func:`linkmotion.read_engine` gives it.
    file : path
        The readings that a telephone gave (TOML).
    beside : path, optional
        Readings that are there; everything is new without.
    write : path, optional
        Where the readings are kept, as they were carried back; nothing that is there is written over.

    Returns
    -------
    Table
        A row for each figure, what was carried back first: its value there and as carried back, how far each may be
        out either way, by how much they are apart and may be, in the engine's unit, percent or degrees; the verdict
        ("new", "same", "contradicts", "not read again").

    Raises
    ------
    FileError
        With file, line, key and remedy.
    """
    path, own = Path(file), engine.as_read
    text = Source.read(path).text
    found = read_carried(text, str(path), own)
    if found.readings is None:
        raise FileError(str(path), "these are wheel marks, no readings", "linkmotion tram reads them")
    every = held_against(found.readings, own, None if beside is None else Path(beside))
    if write is not None:
        Outputs((path, None if beside is None else Path(beside))).file(Path(write), CARRIED).write(found.readings_text)
    return table_in_unit(f"{path.name}: carried back", [each.row() for each in every], own.unit)
