"""``linkmotion carried``: what was carried back from the engine, held against the readings that are there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import Engine
from linkmotion.files.carried_file import held_against, read_carried
from linkmotion.files.outputs import CARRIED, Outputs
from linkmotion.files.readings_file import Readings
from linkmotion.files.source import BOM, Source
from linkmotion.files.tram_file import TramMarks
from linkmotion.studies.carried_back import CONTRADICTS, Met
from linkmotion.studies.figures.figure import Reading
from linkmotion.studies.row_figures import measured
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
    write : Path or None
        Where it is kept, as it was carried back.
    replace, json : bool
        Whether the user's own files may be written over; everything as JSON.
    """

    engine: Path
    file: Path
    beside: Path | None = None
    write: Path | None = None
    replace: bool = False
    json: bool = False


def run_carried(request: CarriedRequest) -> int:
    """Hold it against what is there, and keep it; 1 when any figure contradicts, else 0.

    Raises
    ------
    FileError
        Wrong input.
    """
    output = Outputs((request.engine, request.file, request.beside), request.replace).file(request.write, CARRIED)
    engine = engine_with(request.engine, [])
    text = Source.read(request.file).text
    with telling(engine, request.engine):
        found = read_carried(text, str(request.file), engine)
        every = [] if isinstance(found, TramMarks) else held_against(found, engine, request.beside)
    if output is not None:
        output.write(text.lstrip(BOM))
    if request.json:
        print_json("carried", engine.unit, _data(engine, found, every))
    else:
        show([*carried_blocks(found, every, Shown(engine.unit), request.beside is not None), *_after(request, found)])
    return int(any(own.verdict == CONTRADICTS for own in every))


def carried_blocks(found: Readings | TramMarks, every: list[Met], shown: Shown, beside: bool) -> Iterator[Block]:
    """What is told of it, the answer first.

    Parameters
    ----------
    found, every, shown : Readings or TramMarks, list of Met, Shown
        What was carried back; beside what is there; how lengths are shown.
    beside : bool
        Whether there are readings to hold it against.
    """
    if isinstance(found, TramMarks):
        yield Answer(f"{len(found.pairs)} pairs of wheel marks were carried back.")
        return
    yield from carried_words(every, shown)
    if found.note:
        yield Said(f"Note: {found.note}.")
    if not beside:
        yield Said("There are no readings of this engine yet to hold it against.")


def _after(request: CarriedRequest, found: Readings | TramMarks) -> Iterator[Block]:
    """Where it is kept, and what to type next."""
    kept = request.write or request.file
    if request.write is not None:
        yield Said(f"Kept as it was carried back: {request.write}", str(request.write))
    yield Command(f"linkmotion {'tram' if isinstance(found, TramMarks) else 'diagnose'} {request.engine} {kept}")


def _data(engine: Engine, found: Readings | TramMarks, every: list[Met]) -> dict[str, Any]:
    marks = len(found.pairs) if isinstance(found, TramMarks) else 0
    return {"engine": engine.name, "pairs_of_marks": marks, "figures": [_figure(own) for own in every]}


def _figure(own: Met) -> dict[str, Any]:
    def read(each: Reading | None, value: float | None) -> Any:
        return None if each is None or value is None else measured(value, each.unit)

    one, kept, brought = own.either, own.kept, own.brought
    both = one if kept and brought else None
    return {
        "side": one.side, "kind": one.what, "notch": one.notch, "direction": one.direction, "end": one.end,
        "unit": one.unit, "there": read(kept, kept and kept.value), "there_within": read(kept, kept and 2 * kept.sigma),
        "carried": read(brought, brought and brought.value),
        "carried_within": read(brought, brought and 2 * brought.sigma),
        "apart": read(both, own.apart), "allowed": read(both, own.allowed), "verdict": own.verdict,
    }  # fmt: skip
