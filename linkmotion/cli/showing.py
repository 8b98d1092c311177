"""Commands for showing: what is seen and heard of an engine, and what the steam does."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from linkmotion.cli.app import Direction, Drag, EngineFile, Json, Mass, Notches, OneSide, Picture, Replace, Side, app
from linkmotion.files.outputs import CARD, PAGE, SOUND
from linkmotion.sides import BOTH

_States = Annotated[list[str] | None, typer.Option("--state", help="state (more than once); the drawing if none")]
_Steam = Annotated[str | None, typer.Option("--steam", help="chest pressure by the gauge: 160 psi, 11 bar, 1100 kPa")]
_Back = Annotated[str | None, typer.Option(help="back pressure of the exhaust by the gauge")]
_Clearance = Annotated[float | None, typer.Option(help="clearance volume of one end, percent of the volume swept")]
_Wheel = Annotated[str | None, typer.Option("--wheel", help="driving wheel's diameter")]
_Leads = Annotated[str | None, typer.Option(help="side whose crank leads running forward: right or left")]
_LeadAngle = Annotated[float | None, typer.Option(help="by how many degrees it leads")]


@app.command()
def beats(
    engine: EngineFile,
    state: _States = None,
    side: Annotated[str, typer.Option(help="sides that are heard: left, right, or both")] = BOTH,
    notch: Notches = None,
    direction: Annotated[
        Direction, typer.Option(help="direction: the one a notch drives in, or as said")
    ] = Direction.DRIVEN,
    speed: Annotated[str, typer.Option(help="60 rpm, 12 mph or 20 km/h")] = "60 rpm",
    sound: Annotated[Path | None, typer.Option(help="write the sound into this WAV file"), SOUND] = None,
    seconds: Annotated[float, typer.Option(help="seconds of sound for each state and notch")] = 6.0,
    picture: Picture = None,
    replace: Replace = False,
    within: Annotated[
        float | None, typer.Option(min=0, help="end with 1 when a beat is further from its even place, degrees")
    ] = None,
    steam: _Steam = None,
    back_pressure: _Back = None,
    clearance: _Clearance = None,
    wheel: _Wheel = None,
    leads: _Leads = None,
    lead_angle: _LeadAngle = None,
    drag: Drag = 1.0,
    mass: Mass = 0.0,
    json: Json = False,
) -> None:
    """Exhaust beats: when each end lets go its steam, how even that is, and how it sounds."""
    from linkmotion.commands.beats import BeatsRequest, run_beats
    from linkmotion.views.request import Request
    from linkmotion.wear.running import Load

    request = Request(engine, tuple(state or ()), side, tuple(notch or ()), direction.value)
    given = {"pressure": steam, "back_pressure": back_pressure, "clearance": clearance}
    wheels = {"diameter": wheel, "leads": leads, "lead_angle": lead_angle}
    wish = BeatsRequest(request, given, wheels, speed, seconds, Load(drag, mass), within, sound, picture, json, replace)
    raise typer.Exit(run_beats(wish))


@app.command()
def diagram(
    engine: EngineFile,
    state: _States = None,
    side: Side = BOTH,
    notch: Notches = None,
    direction: Annotated[
        Direction, typer.Option(help="direction: the one a notch drives in, or as said")
    ] = Direction.DRIVEN,
    speed: Annotated[str | None, typer.Option(help="for the power: 60 rpm, 12 mph or 20 km/h")] = None,
    steam: _Steam = None,
    back_pressure: _Back = None,
    clearance: _Clearance = None,
    exponent: Annotated[float | None, typer.Option(help="n of p V^n constant (1: hyperbolic)")] = None,
    blow_down: Annotated[str | None, typer.Option(help="at release, or by dead centre")] = None,
    bore: Annotated[str | None, typer.Option(help="cylinder bore")] = None,
    piston_rod: Annotated[str | None, typer.Option(help="piston rod's diameter")] = None,
    tail_rod: Annotated[str | None, typer.Option(help="tail rod's diameter")] = None,
    wheel: _Wheel = None,
    leads: _Leads = None,
    lead_angle: _LeadAngle = None,
    drag: Drag = 1.0,
    mass: Mass = 0.0,
    picture: Picture = None,
    replace: Replace = False,
    json: Json = False,
) -> None:
    """Theoretical cylinder diagrams: mean effective pressure of each end, and turning effort around the wheel."""
    from linkmotion.commands.diagram import DiagramRequest, run_diagram
    from linkmotion.views.request import Request
    from linkmotion.wear.running import Load

    request = Request(engine, tuple(state or ()), side, tuple(notch or ()), direction.value)
    given = {
        "pressure": steam, "back_pressure": back_pressure, "clearance": clearance, "exponent": exponent,
        "blow_down": blow_down, "bore": bore, "piston_rod": piston_rod, "tail_rod": tail_rod,
    }  # fmt: skip
    wheels = {"diameter": wheel, "leads": leads, "lead_angle": lead_angle}
    wish = DiagramRequest(request, given, wheels, speed, Load(drag, mass), picture, json, replace)
    raise typer.Exit(run_diagram(wish))


@app.command()
def page(
    engine: EngineFile,
    state: Annotated[
        list[str] | None, typer.Option("--state", help="state to show beside the drawing (all if none)")
    ] = None,
    into: Annotated[
        Path | None, typer.Option(help="file to write (ENGINE-moving.html beside the engine's)"), PAGE
    ] = None,
    replace: Replace = False,
    json: Json = False,
) -> None:
    """Write a page on which the gear moves: one file for any browser, which needs no network."""
    from linkmotion.commands.page import PageRequest, run_page

    raise typer.Exit(run_page(PageRequest(engine, tuple(state or ()), into, json, replace)))


@app.command()
def card(
    engine: EngineFile,
    state: Annotated[str, typer.Option(help="state of which the model is made")] = "drawing",
    side: OneSide = BOTH,
    scale: Annotated[str, typer.Option(help="1:8 and the like, or fit: the largest whose rods go on a sheet")] = "fit",
    into: Annotated[Path | None, typer.Option(help="PDF to write (ENGINE-card.pdf beside the engine's)"), CARD] = None,
    replace: Replace = False,
    json: Json = False,
) -> None:
    """Write a card model of the gear: A4 sheets to cut out and to join with paper fasteners, that turns by hand.

    Ends with 1 when a piece is in the way of another or cannot be cut, else 0.
    """
    from linkmotion.commands.card import CardRequest, run_card

    raise typer.Exit(run_card(CardRequest(engine, state, side, scale, into, json, replace)))
