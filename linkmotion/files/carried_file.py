"""A file carried back from the engine, readings or wheel marks; and readings held against those that are there."""

from __future__ import annotations

from pathlib import Path

from linkmotion.engine import SIDES, Engine
from linkmotion.files.faults import FileError
from linkmotion.files.readings_file import Readings, read_readings, readings_of
from linkmotion.files.readings_source import ReadingsSource
from linkmotion.files.source import BOM
from linkmotion.files.tram_file import TramMarks, parse_tram_marks
from linkmotion.studies.carried_back import Met, met

LARGEST = 200_000  # signs: a whole engine in every notch is some twenty thousand


def read_carried(text: str, name: str, engine: Engine) -> Readings | TramMarks:
    """What was carried back: readings, or wheel marks.

    Parameters
    ----------
    text, name, engine : str, str, Engine
        TOML; what stands for the file's name in messages; on which it was read.

    Raises
    ------
    FileError
        It is neither readings nor marks of this engine.
    """
    if len(text) > LARGEST:
        raise FileError(name, "this is larger than any readings file", "is it the right file?")
    if "\0" in text or not text.strip():
        raise FileError(name, "this is no readings file", "choose the file that the telephone gave")
    source = ReadingsSource(text.lstrip(BOM), name)
    document = source.document()
    if "tram" in document or "pair" in document:
        return parse_tram_marks(text.lstrip(BOM), name, engine.unit)
    return readings_of(source, engine)


def held_against(found: Readings, engine: Engine, beside: Path | None) -> list[Met]:
    """Readings carried back beside those that are there.

    Parameters
    ----------
    found, engine : Readings, Engine
        Carried back; on which they were taken.
    beside : Path or None
        The file of those that are there.

    Raises
    ------
    FileError
        That cannot be read.
    """
    there = () if beside is None else read_readings(beside, engine).readings
    cranks = {name: engine.gear(found.state, name).crank for name in SIDES}
    return met(there, found.readings, cranks)
