"""A file carried back from the engine: readings, wheel marks behind them, or either alone."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from linkmotion.engine import Engine
from linkmotion.files.faults import FileError
from linkmotion.files.readings_file import Readings, read_readings, readings_of
from linkmotion.files.readings_source import ReadingsSource
from linkmotion.files.source import BOM
from linkmotion.files.tram_file import TramMarks, parse_tram_marks
from linkmotion.studies.carried_back import Met, met

LARGEST = 200_000  # signs: a whole engine in every notch is some twenty thousand
_OF_MARKS = ("tram", "pair")


@dataclass(frozen=True)
class Carried:
    """What was carried back.

    Attributes
    ----------
    readings, marks : Readings or None, TramMarks or None
        One of them at least.
    readings_text, marks_text : str
        The part of the text that each is, as a file of its own; "" where there is none.
    """

    readings: Readings | None
    marks: TramMarks | None
    readings_text: str
    marks_text: str

    @property
    def pairs(self) -> int:
        """How many pairs of wheel marks there are."""
        return 0 if self.marks is None else len(self.marks.pairs)


def read_carried(text: str, name: str, engine: Engine) -> Carried:
    """What was carried back: readings, wheel marks, or both, the marks behind.

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
    text = text.lstrip(BOM)
    document = ReadingsSource(text, name).document()
    first = _first_of_marks(text) if set(_OF_MARKS) & set(document) else None
    if first is None:
        return Carried(readings_of(ReadingsSource(text, name), engine), None, text, "")
    lines = text.split("\n")
    before, behind = "\n".join(lines[:first]), "\n".join(lines[first:])
    marks = parse_tram_marks("\n" * first + behind, name, engine.unit)  # its faults name the lines of the whole
    if not set(document) - set(_OF_MARKS):
        return Carried(None, marks, "", text)
    return Carried(readings_of(ReadingsSource(before, name), engine), marks, before, behind)


def _first_of_marks(text: str) -> int:
    """How many lines stand before the first of the marks."""
    heads = (number for number, line in enumerate(text.split("\n")) if line.split("#")[0].strip() in _HEADS)
    return next(heads, 0)


_HEADS = ("[tram]", "[[pair]]")


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
    cranks = {name: engine.gear(found.state, name).crank for name in engine.sides}
    return met(there, found.readings, cranks)
