"""What is wrong with it? What ``diagnose`` says of the readings, with its picture."""

from __future__ import annotations

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.screen import Answered, Asked, Plot, Screen
from linkmotion.commands.diagnose import DiagnoseRequest, blocks, diagnosis_of
from linkmotion.commands.input import telling
from linkmotion.engine import Engine
from linkmotion.files.faults import FileError
from linkmotion.files.file_kinds import READINGS
from linkmotion.files.journal import digest
from linkmotion.files.readings_file import Readings, read_readings
from linkmotion.files.readings_source import ReadingsSource
from linkmotion.views.printout import Answer, Said


def answer(asked: Asked) -> Answered:
    """Which part is to blame, how surely, what to read next; and the readings against it."""
    name = asked.options[READINGS]
    if not name:
        return nothing_read()
    asked.progress(0, 3)
    readings = read(asked.work, asked.engine, name)
    request = DiagnoseRequest(asked.path, asked.work.beside.path(READINGS, name))
    asked.progress(1, 3)
    with telling(asked.engine, asked.path):
        found = asked.work.study(
            ("diagnosis", *mark(asked.work, name)),
            lambda: diagnosis_of(asked.engine, request, readings, list(readings.sides), asked.stage(1, 3)),
        )
    asked.progress(2, 3)
    from linkmotion.views.diagnosis_plots import diagnosis_svg  # loads matplotlib
    from linkmotion.views.diagnosis_view import Words

    words = [Words(own.found, readings.unit, own.angles) for own in found]
    head = (asked.engine.name, f"read against the state {readings.state}")
    plot = Plot("What may be wrong, and the readings", diagnosis_svg([own.found for own in found], words, head))
    made = list(blocks(found, asked.engine, readings))
    return Answered((*made[: len(found)], plot, *made[len(found) :]))


def nothing_read() -> Answered:
    """Where there are no readings."""
    first = Answer("Nothing has been read of this engine yet.")
    return Answered((first, Said('Enter what was read under "Read at the engine".')))


def read(work: EngineAtWork, engine: Engine, name: str) -> Readings:
    """The readings of a file that was chosen; its faults are told as the file's own.

    Parameters
    ----------
    work, engine, name : EngineAtWork, Engine, str
        The engine's file; as read; of the readings file, from the folder on.
    """
    path = work.beside.path(READINGS, name)
    try:
        with telling(engine, work.path):
            return read_readings(path, engine)
    except FileError as error:
        line = f", line {error.line}" if error.line else ""
        raise FileError(name, f"{name}{line}: {error.problem}", error.remedy, error.line, error.key) from None


def mark(work: EngineAtWork, name: str) -> tuple[str, ...]:
    """By which a readings file is known again: its name, and its text."""
    return name, digest(ReadingsSource.of(work.beside.path(READINGS, name)).text)


SCREEN = Screen(
    "diagnosis",
    "What is wrong?",
    "What is wrong with it?",
    answer,
    place=44,
    chooses=(),
    file=READINGS,
    long=True,
)
