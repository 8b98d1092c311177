"""Commands for the office: what was found and done, and what to do next."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from linkmotion.cli.app import EngineFile, Json, Notches, OnPaper, Replace, app
from linkmotion.files.outputs import PAGE


@app.command()
def history(
    engine: EngineFile,
    part: Annotated[str, typer.Option(help="only this part, such as eccentric_rod")] = "",
    since: Annotated[
        str, typer.Option(help="from this day on (2026-11-30), and what changed since the day before")
    ] = "",
    until: Annotated[str, typer.Option(help="up to this day, and what changed until then")] = "",
    dossier: Annotated[
        Path | None, typer.Option(help="write it as a page too, with the photographs (HTML)"), PAGE
    ] = None,
    paper: OnPaper = None,
    record_again: Annotated[
        list[str] | None,
        typer.Option("--record-again", help="record a state that was changed as it is now; the change stays told"),
    ] = None,
    look: Annotated[bool, typer.Option("--look", help="record nothing")] = False,
    replace: Replace = False,
    json: Annotated[bool, typer.Option("--json", help="print everything as JSON, record nothing")] = False,
) -> None:
    """What was found and done on an engine or a part: when, by whom, with what; and what was changed since.

    Dated states are recorded when they are first told, in ENGINE.recorded.toml beside the file, which is only added to.
    Ends with 1 when one was changed since, or a photograph cannot be shown.
    """
    from linkmotion.commands.history import HistoryRequest, run_history

    request = HistoryRequest(
        engine, part, since, until, tuple(record_again or ()), look, dossier, paper or "", replace, json
    )  # fmt: skip
    raise typer.Exit(run_history(request))


@app.command()
def repairs(
    engine: EngineFile,
    state: Annotated[str, typer.Option(help="state in which the engine is before any repair")],
    hours: Annotated[float | None, typer.Option(min=0, help="hours of work that there are")] = None,
    choose: Annotated[
        list[str] | None, typer.Option("--choose", help="repair that is to be done (more than once for several)")
    ] = None,
    notch: Notches = None,
    cards: Annotated[Path | None, typer.Option(help="write a card for each job that is chosen (HTML)"), PAGE] = None,
    paper: OnPaper = None,
    replace: Replace = False,
    json: Json = False,
) -> None:
    """Which repairs to do: what each of the file's [repair] gains, alone and together, and the best set for the hours.

    Looked at on reassembly: the valves set afresh where there is a rule for it. Ends with 0 when the best set leaves
    nothing out of target, else 1.
    """
    from linkmotion.commands.repairs import RepairsRequest, run_repairs

    request = RepairsRequest(
        engine, state, hours, tuple(choose or ()), tuple(notch or ()), cards, paper or "", replace, json
    )  # fmt: skip
    raise typer.Exit(run_repairs(request))
