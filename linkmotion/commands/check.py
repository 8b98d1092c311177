"""The main job: from an engine file to events, findings, plots and a report."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import DRAWING, SIDES, Engine
from linkmotion.files.faults import FileError
from linkmotion.files.outputs import OutputFolder, Outputs
from linkmotion.studies.assess import Assessment, assess
from linkmotion.studies.findings import Finding, findings
from linkmotion.studies.table import event_rows
from linkmotion.views.request import REPORT, Request

if TYPE_CHECKING:
    from linkmotion.views.printout import Block


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
    results = list(_assessed(engine, request))
    found = {a.state: findings(a) for a in results}
    out = any(finding.out for each in found.values() for finding in each)
    if request.output in ("json", "csv"):
        from linkmotion.views.printout import print_data

        print_data(_data(request, results, found))
    else:
        _printed(request, results, found, folder)
    return int(out)


def _assessed(engine: Engine, request: Request) -> Iterator[Assessment]:
    sides = SIDES if request.side == "both" else (request.side,)
    for state in dict.fromkeys(request.states or (DRAWING,)):
        with telling(engine, request.engine):
            yield assess(engine, state, sides, request.notches or None)


def _data(request: Request, results: list[Assessment], found: dict[str, list[Finding]]) -> str:
    from linkmotion.files.results import as_csv, as_json, derived_rows, finding_row
    from linkmotion.studies.table import LENGTHS

    engine = results[0].engine
    rows = (row for a in results for row in event_rows(a))
    if request.output == "csv":
        return as_csv(rows, engine.unit, LENGTHS)
    return as_json("check", engine.unit, {
        "engine": engine.name,
        "gear": engine.gear_type.name,
        "file": str(request.engine),
        "derived": {a.state: {side.side: derived_rows(side.gear) for side in a.sides} for a in results},
        "events": list(rows),
        "findings": [finding_row(one, engine.unit) for each in found.values() for one in each],
    })  # fmt: skip


def _folder(request: Request) -> OutputFolder | None:
    """Where the report goes, if one is asked for."""
    if request.output != "report":
        return None
    path = request.into or request.engine.parent / f"{request.engine.stem}-report"
    return Outputs((request.engine,), request.replace).folder(path, "report", REPORT)


def _printed(
    request: Request, results: list[Assessment], found: dict[str, list[Finding]], folder: OutputFolder | None
) -> None:
    from linkmotion.views.printout import show

    if folder is not None:
        from linkmotion.views.progress import progress
        from linkmotion.views.report import write_report

        with progress() as begin:
            write_report(request, results, found, folder, begin("plots"))
    show(_blocks(request, results, found, folder.path / REPORT if folder is not None else None))


def _blocks(
    request: Request, results: list[Assessment], found: dict[str, list[Finding]], report: Path | None
) -> Iterator[Block]:
    from linkmotion.files.lengths import UNIT_NAMES
    from linkmotion.views.finding_words import finding_lines, verdict
    from linkmotion.views.printout import Aside, Heading, Said
    from linkmotion.views.tables import CAUTION, Shown, derived_lines, events_table, tables_of

    engine = results[0].engine
    shown = Shown(engine.unit, request.fraction_of)
    for a in results:
        yield verdict(a.state, found[a.state], shown)
    yield Heading(f"{engine.name}: {engine.gear_type.name} gear, lengths in {UNIT_NAMES[engine.unit]}")
    for a in results:
        for title, rows in tables_of(a, request):
            yield events_table(rows, title, shown, request.angles)
        derived = "; ".join(f"{words} {text}" for words, text in derived_lines(a, shown))
        yield Said(f"Derived: {derived}.")
        yield from finding_lines(found[a.state], shown)
    others = [name for name in engine.state_names if name not in {a.state for a in results}]
    if others:
        yield Said(f"Other states in this file: {', '.join(others)} (--state).")
    if report is not None:
        yield Said(f"Plots and report: {report}", str(report))
    yield Aside(CAUTION)
