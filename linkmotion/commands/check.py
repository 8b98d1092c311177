"""The main job: from an engine file to events, findings, plots and a report."""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import AS_IT_STANDS, DRAWING, Engine
from linkmotion.files.faults import FileError
from linkmotion.files.outputs import OutputFolder, Outputs
from linkmotion.files.side_named import sides_asked
from linkmotion.studies.standing import StateStands, how_it_stands
from linkmotion.studies.table import event_rows
from linkmotion.views.paper import see_paper
from linkmotion.views.request import REPORT, REPORT_ON_PAPER, Request, in_file_name

if TYPE_CHECKING:
    from linkmotion.studies.doubts.judged import DoubtfulState
    from linkmotion.views.printout import Block
    from linkmotion.views.tables import Shown

    Doubts = dict[str, DoubtfulState]


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
    doubts = doubts_of(engine, found)
    if request.output in ("json", "csv"):
        from linkmotion.views.printout import print_data

        print_data(_data(request, engine, found, doubts))
    else:
        _printed(request, engine, found, doubts, folder)
    return int(any(state.wrong for state in found))


def _looked_at(engine: Engine, request: Request) -> Iterator[StateStands]:
    for state in dict.fromkeys(request.states or (DRAWING,)):
        with telling(engine, request.engine):
            yield how_it_stands(engine, state, _sides(request, engine), request.notches or None)


def _sides(request: Request, engine: Engine) -> tuple[str, ...]:
    return sides_asked(engine, request.engine, request.side)


def doubts_of(engine: Engine, found: list[StateStands]) -> Doubts:
    """What the doubts of figures as taken make of each state, as it stands; of those that have any."""
    if not any(taken.parts for taken in engine.taken.values()):
        return {}
    from linkmotion.studies.doubts.judged import doubtful

    known = {state.state: doubtful(state.stands.assessment) for state in found}
    return {name: own for name, own in known.items() if own is not None}


def _data(request: Request, engine: Engine, found: list[StateStands], doubts: Doubts) -> str:
    from linkmotion.files.results import as_csv, as_json, derived_rows, finding_row
    from linkmotion.studies.as_taken import taken_rows
    from linkmotion.studies.doubts.doubt_rows import doubt_rows, held_rows
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
        "taken": [row for state in found for row in taken_rows(engine, state.state, _sides(request, engine))],
        "events": list(rows),
        "doubts": [row for name, own in doubts.items() for row in doubt_rows(name, AS_IT_STANDS, own)],
        "held": [row for name, own in doubts.items() for row in held_rows(name, AS_IT_STANDS, own)],
        "findings": [
            {"state": state.state, "standing": stand.name} | finding_row(one, engine.unit)
            for state in found for stand in state for one in stand.findings
        ],
    })  # fmt: skip


def _folder(request: Request) -> OutputFolder | None:
    """Where the report goes, if one is asked for."""
    if request.output != "report":
        return None
    see_paper(request.paper)
    path = request.into or request.engine.parent / f"{request.engine.stem}-report"
    states = request.states or (DRAWING,)
    plots = (f"report-plots/*-{in_file_name(state)}-[0-9][0-9]-*.svg" for state in states)
    pages = (REPORT, REPORT_ON_PAPER) if request.paper else (REPORT,)
    return Outputs((request.engine,), request.replace).folder(path, "report", *pages, *plots)


def _printed(
    request: Request, engine: Engine, found: list[StateStands], doubts: Doubts, folder: OutputFolder | None
) -> None:
    """The answer and the tables first; the pictures are drawn while they are read."""
    from linkmotion.views.printout import Aside, Said, show
    from linkmotion.views.tables import CAUTION

    show(blocks(request, engine, found, doubts))
    others = [name for name in engine.state_names if name not in {state.state for state in found}]
    last: list[Block] = [Said(f"Other states in this file: {', '.join(others)} (--state).")] if others else []
    last.append(Aside(CAUTION))
    if folder is not None:
        from linkmotion.views.progress import progress
        from linkmotion.views.report import write_report

        sys.stdout.flush()
        with progress() as begin:
            write_report(request, found, folder, doubts, begin("plots"))
        report = folder.path / REPORT
        last.insert(-1, Said(f"Plots and report: {report}", str(report)))
    show(last)


def blocks(request: Request, engine: Engine, found: list[StateStands], doubts: Doubts) -> Iterator[Block]:
    """What is told of some states: the verdicts first, then events and findings of each.

    Parameters
    ----------
    request, engine : Request, Engine
        What was asked for, and of what.
    found, doubts : list of StateStands, dict
        How the states stand, and what doubts make of them, as :func:`doubts_of` has it.
    """
    from linkmotion.files.lengths import UNIT_NAMES
    from linkmotion.views.doubt_words import doubt_verdict
    from linkmotion.views.printout import Heading
    from linkmotion.views.standing_words import verdict
    from linkmotion.views.tables import Shown

    shown = Shown(engine.unit, request.fraction_of)
    for state in found:
        yield verdict(state, shown)
        if state.state in doubts:
            yield doubt_verdict(state.state, AS_IT_STANDS, doubts[state.state])
    yield Heading(f"{engine.name}: {engine.gear_type.name} gear, lengths in {UNIT_NAMES[engine.unit]}")
    for state in found:
        yield from _of_state(request, state, shown)
        yield from _as_taken(request, state, doubts, shown)
    yield from _of_record(request, engine)


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


def _of_record(request: Request, engine: Engine) -> Iterator[Block]:
    """What was changed since it was recorded, and photographs that are missing."""
    if not engine.records:
        return
    from datetime import date

    from linkmotion.files.photographs import missing, photographs
    from linkmotion.files.seals import read_seals, seal_file
    from linkmotion.files.since_recorded import alterations
    from linkmotion.views.printout import Point

    changed = [
        own for own in alterations(engine, read_seals(seal_file(request.engine)), date.today()) if own.again is None
    ]
    if changed:
        told = f"{len(changed)} of what is recorded of this engine has been changed since: linkmotion history tells it"
        yield Point(f"{told}.")
    for problem, remedy in missing(photographs(engine.records, request.engine.parent)):
        yield Point(f"{problem}: {remedy}.")


def _as_taken(request: Request, state: StateStands, doubts: Doubts, shown: Shown) -> Iterator[Block]:
    """Figures as they were taken, and what their doubts come to."""
    from linkmotion.studies.as_taken import taken_rows
    from linkmotion.views.doubt_words import doubts_of_events, untold
    from linkmotion.views.taken_words import taken_lines

    if state.state in doubts:
        if request.taken:
            alike, title = state.stands.assessment.alike, f"{state.state}, {AS_IT_STANDS}"
            yield from doubts_of_events(doubts[state.state], title, alike, shown)
        yield from untold(doubts[state.state], shown)
    engine = state.stands.assessment.engine
    yield from taken_lines(taken_rows(engine, state.state, _sides(request, engine)), shown, request.taken)
