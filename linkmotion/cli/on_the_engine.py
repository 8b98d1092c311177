"""Commands for the engine: dead centres, readings, what is wrong, and how to set it."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from linkmotion.cli.app import (
    EngineFile,
    InputFile,
    Json,
    Notches,
    OneSide,
    OnPaper,
    OptionalInput,
    OutputFolder,
    Picture,
    Replace,
    Side,
    app,
)
from linkmotion.cli.in_folder import engine_in, marks_in, needed_readings, readings_in, spots_in
from linkmotion.files.outputs import CARRIED, FORM, MARKS, PAGE, STARTER
from linkmotion.sides import BOTH


@app.command()
def measure(
    engine: Annotated[
        InputFile,
        typer.Argument(help="engine file (TOML), or a gear's name, such as walschaerts, without one", readable=False),
    ],
    state: Annotated[str, typer.Option(help="state whose figures are written in beside the drawing's")] = "drawing",
    unit: Annotated[str, typer.Option(help="unit of lengths: mm, in, ft or thou; the engine file's if none")] = "",
    into: Annotated[
        Path | None, typer.Option(help="page to write (ENGINE-measuring.html beside the engine's)"), PAGE
    ] = None,
    marks: Annotated[
        Path | None, typer.Option(help="write a file of wheel marks to be filled in too, for linkmotion tram"), MARKS
    ] = None,
    paper: OnPaper = None,
    replace: Replace = False,
) -> None:
    """Write measuring sheets: every part drawn, its dimensions lettered, how each is taken, and boxes for it."""
    from linkmotion.commands.measure import MeasureRequest, run_measure

    wish = MeasureRequest(engine, into, state, unit, marks, paper or "", replace)
    raise typer.Exit(run_measure(wish))


@app.command()
def tram(
    engine: EngineFile,
    marks: Annotated[
        OptionalInput, typer.Argument(help="file of wheel marks (TOML)", readable=False, callback=marks_in)
    ] = None,
    out_by: Annotated[
        str, typer.Option(help="how far off dead centre leads were read: along the tyre, or '0.5 deg'")
    ] = "",
    tyre: Annotated[str, typer.Option(help="diameter of the tyre where the marks are, if no file says it")] = "",
    state: Annotated[str, typer.Option(help="state of the engine file")] = "drawing",
    side: OneSide = BOTH,
    notch: Notches = None,
    json: Json = False,
) -> None:
    """Find true dead centres from wheel marks, and what leads read off them are wrong by.

    Ends with 1 when the pairs of marks do not agree with one another.
    """
    from linkmotion.commands.tram import TramRequest, run_tram

    raise typer.Exit(run_tram(TramRequest(engine, marks, out_by, tyre, state, side, tuple(notch or ()), json)))


@app.command()
def form(
    engine: EngineFile,
    file: Annotated[
        Path | None, typer.Argument(help="readings file to be written: .toml, or .csv for a spreadsheet"), FORM
    ] = None,
    state: Annotated[str, typer.Option(help="state in which the gear is believed to be")] = "drawing",
    side: Side = BOTH,
    notch: Notches = None,
    unit: Annotated[str, typer.Option(help="unit of bare lengths: mm, in, ft or thou; the engine file's if none")] = "",
    sheet: Annotated[Path | None, typer.Option(help="write a page for the clipboard too (HTML)"), PAGE] = None,
    phone: Annotated[
        Path | None,
        typer.Option(help="write a page to take them by on a telephone (HTML, no network)"),
        PAGE,
    ] = None,
    paper: OnPaper = None,
    replace: Replace = False,
) -> None:
    """Write a readings file to be filled in at the engine, a page to write on there, or one for a telephone."""
    from linkmotion.commands.readings_form import FormRequest, run_form

    wish = FormRequest(engine, file, state, side, tuple(notch or ()), unit, sheet, paper or "", phone, replace)
    raise typer.Exit(run_form(wish))


@app.command()
def carried(
    engine: EngineFile,
    file: Annotated[
        InputFile, typer.Argument(help="what the telephone gave: readings, wheel marks, or both (TOML)", readable=False)
    ],
    beside: Annotated[
        OptionalInput, typer.Option(help="readings that are there, to hold it against", readable=False)
    ] = None,
    write: Annotated[
        Path | None, typer.Option(help="keep the readings, as they were carried back, under this name"), CARRIED
    ] = None,
    marks: Annotated[
        Path | None, typer.Option(help="keep the wheel marks, as they were carried back, under this name"), MARKS
    ] = None,
    json: Json = False,
) -> None:
    """What was carried back from the engine: what is new, or contradicts what is there; and keep it.

    Ends with 1 when any figure contradicts.
    """
    from linkmotion.commands.carried import CarriedRequest, run_carried

    raise typer.Exit(run_carried(CarriedRequest(engine, file, beside, write, marks, json)))


@app.command()
def diagnose(
    engine: Annotated[
        InputFile,
        typer.Argument(
            help="engine file (TOML), or its folder, with a [tolerances] table if you have one",
            readable=False,
            callback=engine_in,
        ),
    ],
    readings: Annotated[
        OptionalInput,
        typer.Argument(
            help="readings file (TOML or CSV; linkmotion form writes one), if the engine's folder has not just the one",
            readable=False,
            callback=needed_readings,
        ),
    ] = None,
    side: Side = BOTH,
    fault: Annotated[str, typer.Option(help="how far off a wrong length usually is; 1 % of the crank if none")] = "",
    picture: Picture = None,
    replace: Replace = False,
    json: Json = False,
) -> None:
    """What is wrong with it: which dimensions explain the readings, how surely, and what to read next.

    Ends with 0 when nothing need be wrong, 1 when something is (or the readings do not fit the gear at all).
    """
    from linkmotion.commands.diagnose import DiagnoseRequest, run_diagnose

    assert readings is not None  # seen to above
    raise typer.Exit(run_diagnose(DiagnoseRequest(engine, readings, side, fault, picture, json, replace)))


@app.command()
def reconcile(
    context: typer.Context,
    engine: Annotated[
        InputFile,
        typer.Argument(
            help="engine file (TOML), or its folder, with parts as measured in a state of it",
            readable=False,
            callback=engine_in,
        ),
    ],
    readings: Annotated[
        OptionalInput,
        typer.Argument(
            help="readings file with [[left.distance]] and [[left.place]] tables (TOML); the folder's, if none",
            readable=False,
        ),
    ] = None,
    state: Annotated[str, typer.Option(help="state with the measured parts, where there are no readings")] = "",
    side: Side = BOTH,
    write: Annotated[
        Path | None, typer.Option(help="write the engine file with one more state, as reconciled"), STARTER
    ] = None,
    name: Annotated[str, typer.Option(help="name of that state")] = "as measured",
    json: Json = False,
) -> None:
    """Drawing, measured parts and distances between pins as one estimate of every dimension, and what contradicts.

    Ends with 0 when nothing contradicts, 1 when a measurement is wrong.
    """
    from linkmotion.commands.reconcile import ReconcileRequest, run_reconcile

    readings = spots_in(context, readings, state)
    raise typer.Exit(run_reconcile(ReconcileRequest(engine, readings, state, side, write, name, json)))


class Basis(StrEnum):
    """By what the gear is believed to stand."""

    DIAGNOSIS = "diagnosis"
    DRAWING = "drawing"


class Choice(StrEnum):
    """What a setting is to be best in."""

    LEADS = "equal leads"
    CUTOFFS = "equal cutoffs"
    LEAST = "least work"


_ADJUSTED = "engine file (TOML), or its folder, with an [adjustments] table if you have one"
_WithAdjustments = Annotated[InputFile, typer.Argument(help=_ADJUSTED, readable=False, callback=engine_in)]


@app.command()
def adjust(
    engine: _WithAdjustments,
    readings: Annotated[
        OptionalInput,
        typer.Argument(
            help="readings taken on the engine (if its folder is given, those in it); without them the gear is as its "
            "file has it",
            readable=False,
            callback=readings_in,
        ),
    ] = None,
    state: Annotated[str, typer.Option(help="state of the engine file, where there are no readings")] = "drawing",
    side: Side = BOTH,
    basis: Annotated[
        Basis, typer.Option(help="set the gear as estimated from the readings, or lay them over the gear as drawn")
    ] = Basis.DIAGNOSIS,
    choice: Annotated[
        Choice | None,
        typer.Option(help="which choice to tell; else whichever of the first two leaves fewer targets out"),
    ] = None,
    move_sound_parts: Annotated[
        bool, typer.Option("--move-sound-parts", help="move parts that stand at their figures too, to follow others")
    ] = False,
    once_mended: Annotated[
        bool, typer.Option("--once-mended", help="for the engine once what no adjustment mends is mended")
    ] = False,
    sheet: Annotated[Path | None, typer.Option(help="write a page to take to the engine (HTML)"), PAGE] = None,
    paper: OnPaper = None,
    pictures: Annotated[OutputFolder, typer.Option(help="folder for plots")] = None,
    replace: Replace = False,
    json: Json = False,
) -> None:
    """How to set the valves: what to put back to its drawing, how to trim the rest, and what will then be read.

    Ends with 0 when every target is met as it stands, 1 when one is out.
    """
    from linkmotion.commands.adjust import AdjustRequest, run_adjust

    told = "" if choice is None else choice.value
    wish = AdjustRequest(
        engine, readings, state, side, basis.value, told, move_sound_parts, once_mended, sheet, paper or "",
        pictures, json, replace,
    )  # fmt: skip
    raise typer.Exit(run_adjust(wish))
