"""``linkmotion carried``: what was carried back from the engine, held against the readings that are there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import Engine
from linkmotion.files.carried_file import Carried, held_against, read_carried
from linkmotion.files.faults import FileError
from linkmotion.files.outputs import CARRIED, MARKS, Outputs
from linkmotion.files.source import Source
from linkmotion.studies.carried_back import CONTRADICTS, Met
from linkmotion.views.carried_words import carried_words
from linkmotion.views.printout import Answer, Block, Command, Said, print_json, show
from linkmotion.views.tables import Shown


@dataclass(frozen=True)
class CarriedRequest:
    """What the user asked for.

    Attributes
    ----------
    engine, file : Path
        Engine file; what was carried back.
    beside : Path or None
        Readings that are there.
    write, marks : Path or None
        Where readings, and wheel marks, are kept as they were carried back.
    json : bool
        Everything as JSON.
    """

    engine: Path
    file: Path
    beside: Path | None = None
    write: Path | None = None
    marks: Path | None = None
    json: bool = False


def run_carried(request: CarriedRequest) -> int:
    """Hold it against what is there, and keep it; 1 when any figure contradicts, else 0.

    Raises
    ------
    FileError
        Wrong input.
    """
    outputs = Outputs((request.engine, request.file, request.beside))
    output, marks = outputs.file(request.write, CARRIED), outputs.file(request.marks, MARKS)
    engine = engine_with(request.engine, [])
    text = Source.read(request.file).text
    with telling(engine, request.engine):
        found = read_carried(text, str(request.file), engine)
        every = [] if found.readings is None else held_against(found.readings, engine, request.beside)
    for own, part, option in ((output, found.readings_text, "--write"), (marks, found.marks_text, "--marks")):
        if own is not None and not part:
            raise FileError(option, "nothing of this kind was carried back", "leave it out")
        if own is not None:
            own.write(part)
    if request.json:
        print_json("carried", engine.unit, _data(engine, found, every))
    else:
        show([*carried_blocks(found, every, Shown(engine.unit), request.beside is not None), *_after(request, found)])
    return int(any(own.verdict == CONTRADICTS for own in every))


def carried_blocks(found: Carried, every: list[Met], shown: Shown, beside: bool) -> Iterator[Block]:
    """What is told of it, the answer first.

    Parameters
    ----------
    found, every, shown : Carried, list of Met, Shown
        What was carried back; its readings beside what is there; how lengths are shown.
    beside : bool
        Whether there are readings to hold it against.
    """
    pairs = found.pairs
    told = f"{pairs} pair{'' if pairs == 1 else 's'} of wheel marks {'was' if pairs == 1 else 'were'} carried back."
    if found.readings is None:
        yield Answer(told)
        return
    yield from carried_words(every, shown)
    if pairs:
        yield Said(told)
    if found.readings.note:
        yield Said(f"Note: {found.readings.note}.")
    if not beside:
        yield Said("There are no readings of this engine yet to hold it against.")


def _after(request: CarriedRequest, found: Carried) -> Iterator[Block]:
    """Where it is kept, and what to type next."""
    for path in (request.write, request.marks):
        if path is not None:
            yield Said(f"Kept as it was carried back: {path}", str(path))
    if found.marks is not None and (request.marks or found.readings is None):
        yield Command(f"linkmotion tram {request.engine} {request.marks or request.file}")
    if found.readings is not None and (request.write or found.marks is None):
        yield Command(f"linkmotion diagnose {request.engine} {request.write or request.file}")


def _data(engine: Engine, found: Carried, every: list[Met]) -> dict[str, Any]:
    return {"engine": engine.name, "pairs_of_marks": found.pairs, "figures": [own.row() for own in every]}
