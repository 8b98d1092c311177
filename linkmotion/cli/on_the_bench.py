"""Commands for the bench: are the valves right, which wear matters, what to machine and to hold."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from linkmotion.cli.app import (
    Direction,
    DragIfKnown,
    EngineFile,
    InputFile,
    Json,
    Mass,
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
from linkmotion.cli.in_folder import engine_in, folder_given
from linkmotion.files.outputs import STARTER
from linkmotion.sides import BOTH

_SlotReadings = Annotated[
    OptionalInput,
    typer.Option(help="file of depth readings (place, front, back) instead of the state's own", readable=False),
]
_WITH_SLOT = "engine file (TOML), or its folder, with slot readings and a [cleanup] table"
_WithSlot = Annotated[InputFile, typer.Argument(help=_WITH_SLOT, readable=False, callback=engine_in)]
_Given = Annotated[list[str] | None, typer.Option(help="figure instead of [cleanup]'s, such as 'gauge=0.02 mm'")]


@app.command()
def check(
    engine: EngineFile,
    state: Annotated[
        list[str] | None, typer.Option(help="state to check (more than once for several); the drawing if not given")
    ] = None,
    side: Side = BOTH,
    notch: Notches = None,
    direction: Annotated[
        Direction, typer.Option(help="direction of running to list: the one a notch drives in, or as said")
    ] = Direction.DRIVEN,
    angles: Annotated[
        bool, typer.Option("--angles", help="events as crank angles instead of percent of stroke")
    ] = False,
    all_tables: Annotated[
        bool, typer.Option("--all-tables", help="the events set afresh and in service too, not as it stands alone")
    ] = False,
    taken: Annotated[
        bool, typer.Option("--taken", help="tell every figure that stands in the file as it was taken")
    ] = False,
    fractions: Annotated[bool, typer.Option("--fractions", help="inches to the nearest 1/64")] = False,
    crank_angle: Annotated[float, typer.Option(help="crank angle at which the gear is drawn, degrees")] = 45.0,
    into: Annotated[
        OutputFolder, typer.Option(help="folder for plots and report (ENGINE-report beside the file if not given)")
    ] = None,
    paper: OnPaper = None,
    replace: Replace = False,
    tables: Annotated[bool, typer.Option("--tables", help="print the tables only, write nothing")] = False,
    json: Annotated[bool, typer.Option("--json", help="print everything as JSON, write nothing")] = False,
    csv: Annotated[bool, typer.Option("--csv", help="print the events as CSV, write nothing")] = False,
) -> None:
    """Check the valve events of an engine: table, findings, plots and a report to print.

    Ends with 0 when all is within the targets, 1 when something is out, 2 when the input is wrong.
    """
    if json + csv + tables > 1:
        raise typer.BadParameter("--json, --csv and --tables exclude one another; give one")
    from linkmotion.commands.check import run_check
    from linkmotion.views.request import Request

    output = "json" if json else "csv" if csv else "tables" if tables else "report"
    request = Request(
        engine, tuple(state or ()), side, tuple(notch or ()), direction.value, angles, all_tables,
        64 if fractions else None, crank_angle, into, output, replace, paper or "", taken,
    )  # fmt: skip
    raise typer.Exit(run_check(request))


@app.command()
def wear(
    engine: EngineFile,
    state: Annotated[str, typer.Option(help="state whose differences from the drawing are weighed")],
    side: Side = BOTH,
    notch: Notches = None,
    drag: DragIfKnown = None,
    mass: Mass = 0.0,
    revolutions: Annotated[float, typer.Option(min=0, help="revolutions of the wheel per minute")] = 0.0,
    direction: Annotated[
        Direction, typer.Option(help="direction of running: the one a notch drives in, or as said")
    ] = Direction.DRIVEN,
    moving: Annotated[bool, typer.Option("--moving", help="print the events in motion too")] = False,
    lost: Annotated[
        bool, typer.Option("--lost", help="print the lost motion round the wheel too, joint by joint")
    ] = False,
    gains: Annotated[
        bool, typer.Option("--gains", help="print what renewing each does to every event and to lost motion too")
    ] = False,
    picture: Picture = None,
    replace: Replace = False,
    json: Json = False,
) -> None:
    """Which wear matters: every item alone, all together, and what renewing each would gain.

    Play in the gear is taken up by the valve's drag; where its inertia at the given revolutions is more, by that.

    Ends with 1 when everything together passes a target, else 0.
    """
    from linkmotion.commands.wear import WearRequest, run_wear
    from linkmotion.wear.running import Load

    load = Load(1.0 if drag is None else drag, mass, revolutions)
    request = WearRequest(
        engine, state, side, tuple(notch or ()), load, picture, json, direction.value, moving, lost, replace,
        gains, drag is not None,
    )  # fmt: skip
    raise typer.Exit(run_wear(request))


@app.command()
def compare(
    engine: EngineFile,
    state: Annotated[
        list[str] | None, typer.Option(help="state to compare (more than once); the drawing if none")
    ] = None,
    notch: Notches = None,
    swap: Annotated[
        list[str] | None, typer.Option(help="part that changes sides, such as radius_rod (ONE+ANOTHER: both)")
    ] = None,
    borrow: Annotated[
        list[str] | None, typer.Option(help="part from another engine: PART:SIDE:OTHER.toml, or its folder")
    ] = None,
    more: Annotated[
        bool, typer.Option("--more", help="print release, compression, opening, travel and lost motion too")
    ] = False,
    pictures: Annotated[
        OutputFolder, typer.Option(help="folder for plots: leads, cutoffs, and the ports where most has changed")
    ] = None,
    replace: Replace = False,
    json: Json = False,
) -> None:
    """Compare states of one engine side by side; parts may change sides or come from another engine.

    Ends with 1 when the last state compared has something out of target, else 0.
    """
    from linkmotion.commands.compare import CompareRequest, run_compare

    request = CompareRequest(
        engine, tuple(state or ()), tuple(notch or ()), tuple(swap or ()), tuple(borrow or ()), json, more,
        pictures, replace,
    )  # fmt: skip
    raise typer.Exit(run_compare(request))


@app.command()
def hold(
    engine: Annotated[
        InputFile,
        typer.Argument(
            help="engine file (TOML), or its folder, with a [tolerances] table if you have one",
            readable=False,
            callback=engine_in,
        ),
    ],
    state: Annotated[str, typer.Option(help="state whose figures are toleranced")] = "drawing",
    side: OneSide = BOTH,
    notch: Notches = None,
    wanted: Annotated[float, typer.Option(help="share of engines that must keep every target")] = 0.95,
    samples: Annotated[int, typer.Option(help="gears made at random")] = 10_000,
    processes: Annotated[
        int | None,
        typer.Option(
            min=1, help="processes that share the work, one for each core if not given; the result is the same"
        ),
    ] = None,
    search: Annotated[bool, typer.Option(help="look for the loosest set that will do")] = True,
    setting: Annotated[
        bool, typer.Option(help="tell what is left once the engine is set by the file's [adjustments]")
    ] = True,
    shares: Annotated[bool, typer.Option("--shares", help="print each tolerance's share in every event too")] = False,
    pictures: Annotated[OutputFolder, typer.Option(help="folder for plots of the spread")] = None,
    replace: Replace = False,
    json: Json = False,
    csv: Annotated[bool, typer.Option("--csv", help="print the events' spread as CSV")] = False,
) -> None:
    """What must we hold: tolerances turned into the spread of every event, and the loosest set that will do.

    Ends with 1 when fewer engines than wanted keep every target at the present tolerances, once set; else 0.
    """
    if json and csv:
        raise typer.BadParameter("--json and --csv exclude one another; give one")
    from linkmotion.commands.hold import HoldRequest, run_hold

    request = HoldRequest(
        engine, state, side, tuple(notch or ()), wanted=wanted, samples=samples,
        processes=processes, search=search, pictures=pictures, shares=shares,
        output="json" if json else "csv" if csv else "tables", replace=replace, setting=setting,
    )  # fmt: skip
    raise typer.Exit(run_hold(request))


@app.command()
def cleanup(
    context: typer.Context,
    engine: _WithSlot,
    state: Annotated[str, typer.Option(help="state in which the slot was read")],
    side: Annotated[str, typer.Option(help="side by its name: left or right; the first, if none")] = "",
    readings: _SlotReadings = None,
    given: _Given = None,
    into: Annotated[
        OutputFolder, typer.Option(help="folder for the sheets (ENGINE-SIDE-slot-report beside the file if not given)")
    ] = None,
    paper: OnPaper = None,
    replace: Replace = False,
    tables: Annotated[bool, typer.Option("--tables", help="print the tables only, write nothing")] = False,
    json: Annotated[bool, typer.Option("--json", help="print everything as JSON, write nothing")] = False,
) -> None:
    """How to clean up a worn slot: the least cut about each centre, the die block to make, sheets and DXF.

    Figures of the [cleanup] table, or of --given: slot_width and gauge (uncertainty of a reading), which are needed;
    gauge_zero and gauge_tilt (of what all readings of a face share), die_length, clearance (of the new die), allowance,
    datum ("mid slot", or a pin of the link); limits: cut_front, cut_back, wall_front, wall_back, least_wall; for the
    machining drawing: cutter and die_hole (diameters), station_step (between ordinates along the slot). A file of
    readings begins with a line such as: place (in), front (thou), back (thou). Ends with 1 when no proposal cleans both
    faces up within the limits.
    """
    if json and tables:
        raise typer.BadParameter("--json and --tables exclude one another; give one")
    from linkmotion.commands.cleanup import CleanupRequest, run_cleanup

    output = "json" if json else "tables" if tables else "sheets"
    home = folder_given(context)
    wish = CleanupRequest(
        engine, state, side, readings, tuple(given or ()), into, output, paper or "", replace, home
    )  # fmt: skip
    raise typer.Exit(run_cleanup(wish))


@app.command()
def bush(
    seat: Annotated[str, typer.Option(help="bore in the housing, which is the bush's outside")],
    housing_outside: Annotated[str, typer.Option(help="outside of the housing round the bush")],
    bore: Annotated[str, typer.Option(help="bush bore, which is the pin")],
    length: Annotated[str, typer.Option(help="length of the bush")],
    press: Annotated[
        str, typer.Option(help="press fit: ISO 286 class, or the interference, such as '2 to 4 thou'")
    ] = "H7/r6",
    running: Annotated[str, typer.Option(help="running fit: ISO 286 or RC class, or the clearance")] = "H8/f7",
    housing: Annotated[str, typer.Option(help="housing's material, with figures of your own if any")] = "mild steel",
    material: Annotated[str, typer.Option(help="bush's material, such as 'cast iron, young=110'")] = "phosphor bronze",
    freezer: Annotated[float | None, typer.Option(help="temperature of the cold bush, degrees C")] = None,
    warm: Annotated[float | None, typer.Option(help="temperature of the warmed housing, degrees C")] = None,
    roughness: Annotated[
        tuple[float, float] | None,
        typer.Option(help="Rz of the bush's outside and of the housing's bore, micrometres, flattened in pressing"),
    ] = None,
    unit: Annotated[str, typer.Option(help="unit of bare numbers: mm or in")] = "mm",
    json: Json = False,
) -> None:
    """What to bore and turn for a pressed bush and its pin, the press force, and how to get it in cold or warm.

    Ends with 1 when within these limits the bush may be loose, turn, or be overstressed, else 0.
    """
    from linkmotion.commands.bush import BushRequest, run_bush

    request = BushRequest(
        seat=seat, housing_outside=housing_outside, bore=bore, length=length, press=press, running=running,
        housing=housing, bush=material, freezer=freezer, warm=warm, roughness=roughness, unit=unit,
        output="json" if json else "tables",
    )  # fmt: skip
    raise typer.Exit(run_bush(request))


@app.command()
def begin(
    gear: Annotated[str, typer.Argument(help="kind of gear, such as walschaerts")],
    file: Annotated[Path, typer.Argument(help="file to be written (TOML)"), STARTER],
    unit: Annotated[str, typer.Option(help="unit of bare numbers: mm, in, ft or thou")] = "mm",
) -> None:
    """Write a starter engine file with every dimension explained."""
    from linkmotion.files.faults import FileError, nearest
    from linkmotion.files.lengths import UNITS
    from linkmotion.files.outputs import Outputs
    from linkmotion.files.starter import starter
    from linkmotion.gears import GEARS
    from linkmotion.views.printout import Answer, Command, show

    if gear not in GEARS:
        raise FileError("linkmotion begin", f"no gear {gear!r}", nearest(gear, list(GEARS)))
    if unit not in UNITS:
        raise FileError("linkmotion begin", f"no unit {unit!r}", nearest(unit, list(UNITS)))
    Outputs(()).file(file, STARTER).write(starter(gear, unit))
    show([Answer(f"{file}: fill in the figures, then:", str(file)), Command(f"linkmotion check {file}")])
