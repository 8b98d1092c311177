"""The main job: from an engine file to events, findings, plots and a report."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import DRAWING, SIDES, Engine
from linkmotion.files.faults import FileError
from linkmotion.studies.assess import Assessment, assess
from linkmotion.studies.findings import Finding, findings
from linkmotion.studies.table import event_rows
from linkmotion.views.request import Request


def run_check(request: Request) -> int:
    """Do the job; 0 when all is within the targets, 1 when something is out.

    Raises
    ------
    FileError
        Wrong input; nothing has been written.
    """
    if not math.isfinite(request.crank_angle):
        raise FileError("--crank-angle", "not an angle", "give the crank angle as a number of degrees")
    engine = engine_with(request.engine, request.states, request.notches)
    if request.fraction_of and engine.unit not in ("in", "ft"):
        raise FileError("--fractions", f"the file is in {engine.unit}", "fractions are for files in inches or feet")
    results = list(_assessed(engine, request))
    found = {a.state: findings(a) for a in results}
    out = any(finding.out for each in found.values() for finding in each)
    if request.output in ("json", "csv"):
        print(_data(request, results, found), end="")
    else:
        _printed(request, results, found)
    return int(out)


def _assessed(engine: Engine, request: Request) -> Iterator[Assessment]:
    sides = SIDES if request.side == "both" else (request.side,)
    for state in dict.fromkeys(request.states or (DRAWING,)):
        with telling(engine, request.engine):
            yield assess(engine, state, sides, request.notches or None)


def _data(request: Request, results: list[Assessment], found: dict[str, list[Finding]]) -> str:
    from linkmotion.files.results import as_csv, as_json, derived_in

    engine = results[0].engine
    rows = (row for a in results for row in event_rows(a))
    if request.output == "csv":
        return as_csv(rows, engine.unit)
    head: dict[str, Any] = {"engine": engine.name, "gear": engine.gear_type.name, "file": str(request.engine)}
    head["derived"] = {a.state: {side.side: derived_in(side.gear, engine.unit) for side in a.sides} for a in results}
    all_found = [finding for each in found.values() for finding in each]
    return as_json(head, rows, all_found, engine.unit) + "\n"


def _printed(request: Request, results: list[Assessment], found: dict[str, list[Finding]]) -> None:
    from linkmotion.files.lengths import UNIT_NAMES
    from linkmotion.views.tables import (
        CAUTION,
        Shown,
        derived_lines,
        events_table,
        print_findings,
        tables_of,
        wide_console,
    )

    engine = results[0].engine
    report = None
    if request.output == "report":
        from linkmotion.views.progress import progress
        from linkmotion.views.report import write_report

        with progress() as begin:
            report = write_report(request, results, found, begin("plots"))
    console = wide_console(108)
    shown = Shown(engine.unit, request.fraction_of)
    title = f"{engine.name}: {engine.gear_type.name} gear, lengths in {UNIT_NAMES[engine.unit]}"
    console.print(title, markup=False, style="bold")
    for a in results:
        for heading, rows in tables_of(a, request):
            console.print(events_table(rows, heading, shown, request.angles))
        derived = "; ".join(f"{words} {text}" for words, text in derived_lines(a, shown))
        console.print(f"Derived: {derived}.", markup=False)
        print_findings(console, found[a.state], shown)
    others = [name for name in engine.state_names if name not in {a.state for a in results}]
    if others:
        console.print(f"Other states in this file: {', '.join(others)} (--state).", markup=False)
    if report is not None:
        console.print(f"Plots and report: {report}", markup=False, soft_wrap=True)
    console.print(CAUTION, style="dim", markup=False)
