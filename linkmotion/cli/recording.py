"""Commands for the office: what was found and done, and what to do next."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from linkmotion.cli.app import EngineFile, InputFile, Json, Notches, OnPaper, Picture, Replace, app
from linkmotion.files.outputs import PAGE, STARTER


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
    hours: Annotated[float | None, typer.Option(help="hours of work that there are")] = None,
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


@app.command()
def pins(
    engine: EngineFile,
    state: Annotated[str, typer.Option(help="state in which pins and bushes were measured")] = "drawing",
    sheet: Annotated[Path | None, typer.Option(help="write it as a page too (HTML)"), PAGE] = None,
    paper: OnPaper = None,
    replace: Replace = False,
    json: Json = False,
) -> None:
    """A schedule of pins and bushes for the whole gear: as found, bore and turn to, material, fit, how many.

    Sizes are those of the file's [pins]. Ends with 1 when a pin or bush was found beyond the size it is to have.
    """
    from linkmotion.commands.pins import PinsRequest, run_pins

    raise typer.Exit(run_pins(PinsRequest(engine, state, sheet, paper or "", replace, json)))


@app.command()
def trace(
    engine: EngineFile,
    picks: Annotated[InputFile, typer.Argument(help="points put on an image (TOML)", readable=False)],
    state: Annotated[str, typer.Option(help="state from which the search starts")] = "drawing",
    write: Annotated[
        Path | None, typer.Option(help="write the engine file with the figures as one more state"), STARTER
    ] = None,
    name: Annotated[str, typer.Option(help="name of that state")] = "from the picture",
    picture: Picture = None,
    replace: Replace = False,
    json: Json = False,
) -> None:
    """Figures scaled off a drawing or a photograph of a near relation: each with its doubt, and what does not fit.

    The picture is the gear drawn over the image. Ends with 1 when something does not fit, or the gear cannot be turned
    with these figures.
    """
    from linkmotion.commands.trace import TraceRequest, run_trace

    raise typer.Exit(run_trace(TraceRequest(engine, picks, state, write, name, picture, json, replace)))
