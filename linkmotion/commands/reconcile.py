"""``linkmotion reconcile``: drawing, measured parts and distances as one estimate of every dimension."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import DRAWING, Engine
from linkmotion.face.reconciliation import EngineReconciliation, NothingMeasured, reconciled
from linkmotion.files.as_measured import as_measured_text
from linkmotion.files.engine_file import parse_engine
from linkmotion.files.faults import FileError
from linkmotion.files.lengths import format_length
from linkmotion.files.outputs import STARTER, OutputFile, Outputs
from linkmotion.files.readings_file import Readings, read_readings
from linkmotion.files.side_named import sides_asked
from linkmotion.sides import BOTH, side_words
from linkmotion.studies.figures.figure import MM
from linkmotion.studies.reconciling.reconciled_rows import contradiction_rows, dimension_rows, next_rows, unchecked_rows
from linkmotion.studies.reconciling.taking import FarOff
from linkmotion.views.printout import Answer, Aside, Block, Command, Heading, Point, print_json, show
from linkmotion.views.progress import progress

AS_MEASURED = "as measured"


@dataclass(frozen=True)
class ReconcileRequest:
    """What the user asked for.

    Attributes
    ----------
    engine : Path
        Engine file, with the parts as measured in a state of it.
    readings : Path or None
        Readings file, with distances and places.
    state : str
        State with the measured parts, where no readings file says it; "" for the readings'.
    side : str
        Which is looked at: by its name, or "both" for every one there is.
    write : Path or None
        Engine file to be written, with the new state.
    name : str
        Name of that state.
    json : bool
        Whether to print everything as JSON.
    """

    engine: Path
    readings: Path | None = None
    state: str = ""
    side: str = BOTH
    write: Path | None = None
    name: str = AS_MEASURED
    json: bool = False


def run_reconcile(request: ReconcileRequest) -> int:
    """Reconcile; 1 when anything contradicts, else 0.

    Raises
    ------
    FileError
        Wrong input.
    """
    output = Outputs((request.engine, request.readings)).file(request.write, STARTER)
    engine = engine_with(request.engine, [request.state] if request.state else [])
    if output is not None and request.name in engine.state_names:
        raise FileError(str(request.engine), f"there is a state {request.name!r} already", "choose another with --name")
    with telling(engine, request.engine):
        readings = read_readings(request.readings, engine) if request.readings is not None else None
        state = _state(request, readings)
        with progress() as begin:
            begin("how drawing, parts and distances agree")
            found = _reconciled(engine, readings, state, request)
    if output is not None:
        _write(output, engine, found, request)
    if request.json:
        print_json("reconcile", engine.unit, {"engine": engine.name, "state": state, "sides": list(_data(found))})
    else:
        show(_blocks(found, engine, request))
    return int(any(own.contradictions for own in found))


def _state(request: ReconcileRequest, readings: Readings | None) -> str:
    if readings is None:
        return request.state or DRAWING
    if request.state and request.state != readings.state:
        told = f"--state {request.state!r}, but the readings are of the state {readings.state!r}"
        raise FileError(readings.name, told, "leave --state out, or mend state in [readings]")
    return readings.state


def _reconciled(
    engine: Engine, readings: Readings | None, state: str, request: ReconcileRequest
) -> EngineReconciliation:
    try:
        sides = sides_asked(engine, request.engine, request.side)
        return reconciled(engine, readings, state, sides, request.engine)
    except NothingMeasured as error:
        remedy = "give figures with their ± in a state (--state NAME), or a readings file with distances"
        raise FileError(str(request.engine), str(error), remedy) from None
    except FarOff as error:
        raise _told_far(error, readings, engine.unit) from None


def _told_far(error: FarOff, readings: Readings | None, unit: str) -> FileError:
    """With the line of the reading, in the file's unit."""
    own = error.reading
    read, expected = (
        format_length(value, unit) if own.unit == MM else f"{value:.4g} {own.unit}"
        for value in (own.value, error.expected)
    )
    remedy = "take it again, or correct it; if it is right, a figure of these parts in the engine file is wrong"
    return FileError(readings.name if readings is not None else "", error.told(read, expected), remedy, own.line)


def _write(output: OutputFile, engine: Engine, found: EngineReconciliation, request: ReconcileRequest) -> None:
    of = " and ".join(path.name for path in (request.engine, request.readings) if path is not None)
    text = as_measured_text(engine, request.name, found, of)
    parse_engine(text, str(output.path))  # what is written can be read
    output.write(text)


def _data(found: EngineReconciliation) -> Iterator[dict[str, Any]]:
    for own in found:
        yield {
            "side": own.side,
            "fit": own.fit,
            "dimensions": list(dimension_rows(own)),
            "contradictions": list(contradiction_rows(own)),
            "unchecked": list(unchecked_rows(own)),
            "next": list(next_rows(own)),
        }


def _blocks(found: EngineReconciliation, engine: Engine, request: ReconcileRequest) -> Iterator[Block]:
    from linkmotion.views.reconciled_words import ReconciledWords
    from linkmotion.views.tables import CAUTION

    words = [ReconciledWords(own, engine.unit) for own in found]
    for own in words:
        yield Answer(own.answer())
    for own in words:
        yield Heading(f"{engine.name}: {side_words(own.found.side)}, {len(own.found.takings)} measurements")
        yield own.table()
        yield from (Point(sentence) for sentence in own.sentences())
        if own.found.unchecked:
            yield own.unchecked()
    if request.write is not None:
        yield Answer(f"{request.write}: the engine with the state {request.name!r}.", str(request.write))
        yield Command(f'linkmotion check {request.write} --state "{request.name}"')
    yield Aside(
        "Taken for granted: every dimension within its tolerance (the engine file's; a general workshop "
        "tolerance where it names none), one part in twenty off its drawing by far more, one measurement in a hundred "
        "wrong by far more than its ±; a figure taken without ±, or a state's, is good to 0.25 mm or 0.1°. Common "
        "practice, no source. ± holds 19 times in 20; inferred: from readings on the gear put together; a guide's "
        "height is that in the middle of the travel."
    )
    yield Aside(CAUTION)
