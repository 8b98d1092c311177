"""The main job: from an engine file to events, findings, plots and a report."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from typing import Any

from linkmotion.engine import SIDES, Engine
from linkmotion.files.engine_file import read_engine
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.lines import key_lines, line_of
from linkmotion.linkage import UnreachableError
from linkmotion.studies.assess import Assessment, NotchError, assess
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
    engine = read_engine(request.engine)
    results = list(_assessed(engine, request))
    found = {a.state: findings(a) for a in results}
    out = any(finding.out for told in found.values() for finding in told)
    if request.output in ("json", "csv"):
        print(_data(request, results, found), end="")
    else:
        _printed(request, results, found)
    return int(out)


def _assessed(engine: Engine, request: Request) -> Iterator[Assessment]:
    name = str(request.engine)
    for state in request.states or ("drawing",):
        if state not in engine.state_names:
            raise FileError(name, f"there is no state {state!r}", nearest(state, engine.state_names))
        sides = SIDES if request.side == "both" else (request.side,)
        for side in sides:
            known = list(engine.setup(state, side).notches)
            for notch in request.notches:
                if notch not in known:
                    raise FileError(name, f"there is no notch {notch!r} ({state}, {side} side)", nearest(notch, known))
        try:
            yield assess(engine, state, sides, request.notches or None)
        except NotchError as error:
            raise _told(engine, name, error) from None


def _told(engine: Engine, name: str, error: NotchError) -> FileError:
    """A notch that cannot be passed, told with the line of the part to look at."""
    cause = error.cause
    part = cause.parts[0] if isinstance(cause, UnreachableError) else "valve"
    table = part.replace(" ", "_")
    if table not in {t.name for t in fields(engine.gear_type)}:
        table = "reversing"
    place: tuple[str, ...] = (table,)
    for state in reversed(engine.lineage(error.state)):
        for layer in (error.side, "both"):
            if place == (table,) and table in engine.states[state].layers.get(layer, {}):
                place = ("state", state, layer, table)
    where = "" if error.state == "drawing" else f" (state {error.state!r}, {error.side} side)"
    return FileError(
        name,
        f"{error}{where}",
        "check the figures of these parts, and the notch's own",
        line_of(key_lines(engine.text), place),
        ".".join(place),
    )


def _data(request: Request, results: list[Assessment], found: dict[str, list[Finding]]) -> str:
    from linkmotion.files.results import as_csv, as_json

    engine = results[0].engine
    rows = (row for a in results for row in event_rows(a))
    if request.output == "csv":
        return as_csv(rows, engine.unit)
    head: dict[str, Any] = {"engine": engine.name, "gear": engine.gear_type.name, "file": str(request.engine)}
    told = [finding for each in found.values() for finding in each]
    return as_json(head, rows, told, engine.unit) + "\n"


def _printed(request: Request, results: list[Assessment], found: dict[str, list[Finding]]) -> None:
    from rich.console import Console

    from linkmotion.views.tables import CAUTION, UNIT_NAMES, Shown, events_table, print_findings, tables_of

    console = Console(highlight=False)
    console.width = max(console.width, 108)
    engine = results[0].engine
    shown = Shown(engine.unit, request.fraction_of)
    console.print(
        f"{engine.name}: {engine.gear_type.name} gear, lengths in {UNIT_NAMES[engine.unit]}", markup=False, style="bold"
    )
    for a in results:
        for title, rows in tables_of(a, request):
            console.print(events_table(rows, title, shown, request.angles))
        print_findings(console, found[a.state], shown)
    others = [name for name in engine.state_names if name not in {a.state for a in results}]
    if others:
        console.print(f"Other states in this file: {', '.join(others)} (--state).", markup=False)
    if request.output == "report":
        from linkmotion.views.report import write_report

        console.print(f"Plots and report: {write_report(request, results, found)}", markup=False, soft_wrap=True)
    console.print(CAUTION, style="dim", markup=False)
