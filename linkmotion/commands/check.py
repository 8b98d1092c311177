"""The main job: from an engine file to events, findings, plots and a report."""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import DRAWING, SIDES, Engine
from linkmotion.files.faults import FileError
from linkmotion.files.outputs import OutputFolder, Outputs
from linkmotion.studies.standing import StateStands, how_it_stands
from linkmotion.studies.table import event_rows
from linkmotion.views.request import REPORT, Request, in_file_name

if TYPE_CHECKING:
    from linkmotion.views.printout import Block
    from linkmotion.views.tables import Shown


def run_check(request: Request) -> int:
    """Do the job; 0 when all is within the targets, 1 when something is out.

    Raises
    ------
    FileError
        Wrong input; nothing has been written.
    """
    if not math.isfinite(request.crank_angle):
        raise FileError("--crank-angle", "not an angle", "give the crank angle as a number of degrees")
    folder = _folder(request)
    engine = engine_with(request.engine, request.states, request.notches)
    if request.fraction_of and engine.unit not in ("in", "ft"):
        raise FileError("--fractions", f"the file is in {engine.unit}", "fractions are for files in inches or feet")
    found = list(_looked_at(engine, request))
    if request.output in ("json", "csv"):
        from linkmotion.views.printout import print_data

        print_data(_data(request, engine, found))
    else:
        _printed(request, engine, found, folder)
    return int(any(state.wrong for state in found))


def _looked_at(engine: Engine, request: Request) -> Iterator[StateStands]:
    sides = SIDES if request.side == "both" else (request.side,)
    for state in dict.fromkeys(request.states or (DRAWING,)):
        with telling(engine, request.engine):
            yield how_it_stands(engine, state, sides, request.notches or None)


def _data(request: Request, engine: Engine, found: list[StateStands]) -> str:
    from linkmotion.files.results import as_csv, as_json, derived_rows, finding_row
    from linkmotion.studies.standing import valve_rows
    from linkmotion.studies.table import LENGTHS

    rows = (row for state in found for stand in state for row in event_rows(stand.assessment))
    if request.output == "csv":
        return as_csv(rows, engine.unit, LENGTHS)
    return as_json("check", engine.unit, {
        "engine": engine.name,
        "gear": engine.gear_type.name,
        "file": str(request.engine),
        "derived": {
            state.state: {side.side: derived_rows(side.gear) for side in state.stands.assessment.sides}
            for state in found
        },
        "valves": [valve for state in found for valve in valve_rows(state)],
        "events": list(rows),
        "findings": [
            {"state": state.state, "standing": stand.name} | finding_row(one, engine.unit)
            for state in found for stand in state for one in stand.findings
        ],
    })  # fmt: skip


def _folder(request: Request) -> OutputFolder | None:
    """Where the report goes, if one is asked for."""
    if request.output != "report":
        return None
    path = request.into or request.engine.parent / f"{request.engine.stem}-report"
    states = request.states or (DRAWING,)
    plots = (f"report-plots/*-{in_file_name(state)}-[0-9][0-9]-*.svg" for state in states)
    return Outputs((request.engine,), request.replace).folder(path, "report", REPORT, *plots)


def _printed(request: Request, engine: Engine, found: list[StateStands], folder: OutputFolder | None) -> None:
    """The answer and the tables first; the pictures are drawn while they are read."""
    from linkmotion.views.printout import Aside, Said, show
    from linkmotion.views.tables import CAUTION

    show(_blocks(request, engine, found))
    last: list[Block] = [Aside(CAUTION)]
    if folder is not None:
        from linkmotion.views.progress import progress
        from linkmotion.views.report import write_report

        sys.stdout.flush()
        with progress() as begin:
            write_report(request, found, folder, begin("plots"))
        report = folder.path / REPORT
        last.insert(0, Said(f"Plots and report: {report}", str(report)))
    show(last)


def _blocks(request: Request, engine: Engine, found: list[StateStands]) -> Iterator[Block]:
    from linkmotion.files.lengths import UNIT_NAMES
    from linkmotion.views.printout import Heading, Said
    from linkmotion.views.standing_words import verdict
    from linkmotion.views.tables import Shown

    shown = Shown(engine.unit, request.fraction_of)
    for state in found:
        yield verdict(state, shown)
    yield Heading(f"{engine.name}: {engine.gear_type.name} gear, lengths in {UNIT_NAMES[engine.unit]}")
    for state in found:
        yield from _of_state(request, state, shown)
    others = [name for name in engine.state_names if name not in {state.state for state in found}]
    if others:
        yield Said(f"Other states in this file: {', '.join(others)} (--state).")


def _of_state(request: Request, state: StateStands, shown: Shown) -> Iterator[Block]:
    """Events and findings as it stands; what setting would mend; and what heat makes of it."""
    from linkmotion.views.finding_words import finding_lines
    from linkmotion.views.printout import Said
    from linkmotion.views.standing_words import in_service, mended, placed, setting
    from linkmotion.views.tables import derived_lines, events_table, tables_of

    for stand in state:
        if stand is state.stands or request.all_tables:
            for title, rows in tables_of(stand.assessment, request):
                yield events_table(rows, title, shown, request.angles)
    derived = "; ".join(f"{words} {text}" for words, text in derived_lines(state.stands.assessment, shown))
    yield Said(f"Derived: {derived}.")
    yield placed(state, shown)
    yield from finding_lines(state.stands.findings, shown, mended(state, shown))
    yield from setting(state, shown)
    yield from in_service(state, shown)
