"""The doors through which printed gears and tables enter: engine files by command, and the rooms of the library.

All that they ask of the product is asked here, so that only this file knows its names. What is turned for one engine
file is kept: all its rows are read from one run of the command and one assessment.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import brentq
from typer.testing import CliRunner

from linkmotion.cli.app import app
from linkmotion.events import both_ends
from linkmotion.files.engine_file import read_engine
from linkmotion.gears.book import Valve
from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.linkage import Harmonics, Linkage, Wheel, solve
from linkmotion.linkage.turning_points import extremes
from linkmotion.studies.assess import assess
from linkmotion.studies.steam.indicator import Conditions, EndDiagram
from linkmotion.valve import ENDS, Ports
from linkmotion.wear.bushes import assembly
from linkmotion.wear.fits import Span
from linkmotion.wear.materials import material
from linkmotion.wear.rings import Rings, press, push

GEARS = Path(__file__).parent / "gears"
EVENTS = ("admission", "cutoff", "release", "compression")
UNITS = {"mm": 1.0, "in": 25.4}
Place = tuple[str, str, str, str]  # state, notch, direction of running, end
Rows = dict[Place, dict[str, Any]]
Numbers = dict[str, Any]
Routes = dict[str, float]

# ---- engine files ---------------------------------------------------------------------------------------------------


def command(*words: str | Path) -> Any:
    """What a command prints as JSON; it must not refuse its input."""
    ran = CliRunner().invoke(app, [*map(str, words), "--json"], catch_exceptions=False)
    assert ran.exit_code in (0, 1), ran.output
    return json.loads(ran.output)


@cache
def by_command(stem: str) -> Rows:
    """Events in all states of a gear of ``gears``, as ``linkmotion check --json`` prints them."""
    file = GEARS / f"{stem}.toml"
    states = [word for name in read_engine(file).state_names for word in ("--state", name)]
    rows = command("check", file, "--side", "left", *states)["events"]
    stands = [row for row in rows if row["standing"] == "as it stands"]
    return {(row["state"], row["notch"], row["direction"], row["end"]): row for row in stands}


@cache
def by_library(stem: str) -> Rows:
    """The same from :func:`linkmotion.assess`, lengths in the file's unit."""
    engine = read_engine(GEARS / f"{stem}.toml")
    unit, rows = UNITS[engine.unit], {}
    for state in engine.state_names:
        side = assess(engine, state, ("left",)).sides[0]
        for running, ends in side.events.items():
            for end, own in ends.items():
                for i, notch in enumerate(side.notches):
                    row = {f"{event}_percent": float(own.percent[event][i]) for event in EVENTS}
                    row |= {f"{event}_angle": float(own.angle[event][i]) for event in EVENTS}
                    row |= {"lead": float(own.lead[i]) / unit, "opening": float(own.opening[i]) / unit}
                    row["valve_travel"] = float(side.travel[running][i]) / unit
                    rows[state, notch, running, end] = row
    return rows


def valve_of(stem: str, state: str = "drawing", notch: str = "") -> tuple[Callable[[Any], Any], float]:
    """Displacement of a gear's valve from central, in the file's unit, at forward crank angles; in its first notch."""
    engine = read_engine(GEARS / f"{stem}.toml")
    unit, side = UNITS[engine.unit], assess(engine, state, ("left",)).sides[0]
    row = side.notches.index(notch) if notch else 0
    return (lambda angle: side.displacement[row](angle) / unit), float(side.gear.crank.back_crank_angle)


# ---- valve and event rooms ------------------------------------------------------------------------------------------


def events_of(displacement: Callable[[Any], Any], laps: dict[str, Any], rod: float, port: float = 1e3) -> Any:
    """Events of both ends for a motion of the valve (+ forward from central, over the forward crank angle).

    Laps as the valve table has them; outside admission; connecting rod in cranks.
    """
    samples = displacement(np.arange(512) * 2 * np.pi / 512)
    motion = Harmonics.through(np.array([samples]))
    valve = Valve(admission="outside", port_width=port, guide_height=0.0, **laps)
    ends = both_ends(motion, Ports.of(valve), CrankMotion(1.0, rod, 0.0, 0.0), "forward")
    return {
        end: {event: float(own.percent[event][0]) for event in EVENTS}
        | {"lead": float(own.lead[0]), "opening": float(own.opening[0])}
        for end, own in ends.items()
    }


def farthest(displacement: Callable[[Any], Any]) -> tuple[float, float]:
    """Least and greatest displacement."""
    least, most = extremes(Harmonics.through(np.array([displacement(np.arange(512) * 2 * np.pi / 512)])))
    return float(least[0]), float(most[0])


def series_of(displacement: Callable[[Any], Any]) -> Any:
    """Coefficients of a displacement over the crank angle."""
    return Harmonics.through(displacement(np.arange(512) * 2 * np.pi / 512)).c


def edge_openings(laps: dict[str, Any], displacement: float) -> dict[tuple[str, str], float]:
    """Openings of the four edges, outside admission, at one place of the valve."""
    ports = Ports.of(Valve(admission="outside", port_width=1e3, guide_height=0.0, **laps))
    return {
        (flow, end): float(ports.edge(flow, end).opening(displacement)) for flow in ("steam", "exhaust") for end in ENDS
    }


# ---- crank and rod, and other small linkages ------------------------------------------------------------------------


def closed_form(crank: float, rod: float, height: float = 0.0) -> CrankMotion:
    """Crank and rod by the closed form."""
    return CrankMotion(crank, rod, height, 0.0)


def crosshead_solved(crank: float, rod: float, angle: Any) -> tuple[Any, Any]:
    """Crosshead along a line through the axle, and its rate to the forward angle, by the linkage core.

    ``angle``: of the crank, radians, anticlockwise; the wheel runs clockwise when the engine runs forward.
    """
    gear = Linkage()
    gear.fixed("axle", 0.0, 0.0)
    gear.crank("crank pin", about="axle", radius=crank)
    gear.pin("crosshead", near=(rod, 0.0))
    gear.rod("connecting rod", "crank pin", "crosshead", rod)
    gear.guide("slidebars", "crosshead", origin=(0.0, 0.0), direction=0.0)
    solution = solve(gear, Wheel.at(angle))
    return solution["crosshead"].real, solution.rates()["crosshead"].real


# ---- steam ----------------------------------------------------------------------------------------------------------

_PISTON = CrankMotion(1.0, 5.0, 0.3, 0.0)  # pressures against volume do not know of it


def loop(end: str, pressure: float, back: float, clearance: float, cutoff: float, closes: float = 1.0) -> EndDiagram:
    """Diagram with steam from the end of the stroke to a cutoff, expansion to its end, exhaust shut after ``closes``.

    Cutoff, and the part of the return stroke after which the exhaust shuts (1: no compression), of the stroke.
    """
    far = float(_PISTON.back_crank_angle) if end == "front" else 2 * math.pi - float(_PISTON.back_crank_angle)
    bare = EndDiagram(end, "forward", _PISTON, dict.fromkeys(EVENTS, 0.0), Conditions(pressure, back, clearance))
    turn = {"admission": 0.0, "release": far, "cutoff": _angle_at(bare, cutoff, 0.0, far)}
    shut = 2 * math.pi - 1e-9
    turn["compression"] = shut if closes == 1.0 else _angle_at(bare, 1.0 - closes, far, 2 * math.pi)
    return EndDiagram(end, "forward", _PISTON, turn, bare.steam)


def _angle_at(bare: EndDiagram, way: float, low: float, high: float) -> float:
    return float(brentq(lambda angle: float(bare.way(angle)) - way, low, high, xtol=1e-14))


def pressure_at(diagram: EndDiagram, way: float) -> float:
    """Pressure on the outward stroke with the piston at a part of it; at its end, just before release."""
    if way >= 1.0:
        return float(diagram.released)
    return float(diagram.pressure(_angle_at(diagram, way, 0.0, diagram.angle["release"])))


# ---- rings, heat ----------------------------------------------------------------------------------------------------


def rings(seat: float, outside: float, bore: float, housing: tuple[float, float], body: tuple[float, float]) -> Rings:
    """A ring on a body; of each Young's modulus (MPa) and Poisson's ratio."""
    stuff = material("mild steel")
    one, other = (stuff.with_figures(young=young, poisson=poisson) for young, poisson in (housing, body))
    return Rings(seat=seat, outside=outside, bore=bore, length=seat, housing=one, bush=other)


def pressed(pair: Rings, interference: float, held: bool) -> dict[str, float]:
    """Pressure and the ring's hoop tension, inside and outside, MPa; ends free, or held from lengthening."""
    found = press(pair, interference, held=held)
    stiff = pair.housing.young / (1 - pair.housing.poisson**2 if held else 1)
    return {
        "pressure": float(found.pressure),
        "inside": float(found.housing_hoop),
        "outside": float(found.growth) / pair.outside * stiff,
    }


def moment(seat: float, length: float, pressure: float, friction: float) -> float:
    """Moment that the seat's friction bears, force times length."""
    stuff = material("mild steel")
    pair = Rings(seat=seat, outside=2 * seat, bore=seat / 2, length=length, housing=stuff, bush=stuff)
    return float(push(pair, pressure, friction)) * seat / 2


def growth(expansion: float, temperature: float) -> float:
    """Growth of a length of 1 from 20 °C."""
    return material("mild steel").with_figures(expansion=expansion).strain(temperature)


def play_left(size: float, play: float, inner: tuple[float, float], outer: tuple[float, float]) -> float:
    """Play of a shaft in a ring, parts warm: of each its expansion per K and its temperature, °C."""
    stuff = material("mild steel")
    pair = Rings(
        seat=size, outside=2 * size, bore=size / 2, length=size,
        housing=stuff.with_figures(expansion=outer[0]), bush=stuff.with_figures(expansion=inner[0]),
    )  # fmt: skip
    return -assembly(pair, Span(-play, -play), inner[1], outer[1]).left.least
