"""What the product finds for printed shrink rings, tyres, a crank hub, and for parts grown by heat."""

from __future__ import annotations

from collections.abc import Callable
from math import pi

from scipy.optimize import brentq

from tests.references.doors import Numbers, Routes, growth, moment, play_left, pressed, rings

AT = 0.0980665  # MPa in a kg/cm²
RIGID = 9e5  # MPa: as stiff as the product takes a metal to be
SOLID = 1e-4  # bore over seat of what stands for a solid shaft: pressure off by 1e-8
THIN = 1e-5  # wall of a thin ring over its bore


def shrunk(n: Numbers) -> Routes:
    """Pressure, or the ring's hoop tension inside or outside, kg/cm²; long ring, ends held from lengthening."""
    seat = n.get("seat", 100.0)
    metals = ((n["young"] * AT, n["poisson"]), (n["body_young"] * AT, n["body_poisson"]))
    pair = rings(seat, seat * n["ratio"], seat * SOLID, *metals)
    return {"press, held": pressed(pair, seat * n["part"], held=True)[n["of"]] / AT}


def interference_for(n: Numbers) -> Routes:
    """Interference, of the seat or (with a seat) its length, for a pressure or an inside tension, kg/cm²."""

    def short(part: float) -> float:
        return shrunk(n | {"part": part})["press, held"] - n["wanted"]

    part = float(brentq(short, 1e-5, 1e-2, xtol=1e-12))
    return {"press, held": part * n["seat"] if n.get("as") == "length" else 1 / part}


def pressure_to_turn(n: Numbers) -> Routes:
    """Pressure, kg/cm², at which a hub bears a force on an arm, a few times over, by friction; lengths cm."""
    one = moment(n["seat"], n["length"], 1.0, n["friction"])
    return {"push": n["force"] * n["arm"] * n["times"] / one}


def safety(n: Numbers) -> Routes:
    """How many times over a hub bears it, its ring stressed to the limit."""
    limit = shrunk(n | {"of": "pressure", "part": 1 / interference_for(n)["press, held"]})["press, held"]
    return {"press and push": limit * moment(n["seat"], n["length"], 1.0, n["friction"]) / (n["force"] * n["arm"])}


def tyre(n: Numbers) -> Routes:
    """Hoop tension of a thin tyre stretched from one bore to another, kg/mm²."""
    young = n["young"] * 9.80665
    pair = rings(n["cold"], n["cold"] * (1 + THIN), n["cold"] * SOLID, (young, 0.0), (RIGID, 0.0))
    held_to = n["after"] - n["cold"]
    found = pressed(pair, held_to, held=False)["inside"]
    return {"press": found / 9.80665}


def ring_under_load(n: Numbers) -> Routes:
    """Hoop tension inside a ring, kg/mm², that all round is pressed with so many kg; lengths mm."""
    pressure = n["load"] / (pi * n["bore"] * n["width"])
    pair = rings(n["bore"], n["bore"] + 2 * n["wall"], n["bore"] * SOLID, (2e5, 0.3), (2e5, 0.3))
    found = pressed(pair, 0.01, held=False)
    return {"press": found["inside"] / found["pressure"] * pressure}


def rule_when_warm(n: Numbers) -> Routes:
    """Length at 20 °C of what measures a length at another temperature."""
    return {"strain": n["length"] / (1 + growth(n["expansion"] * 1e-6, n["at"]))}


def play_when_warm(n: Numbers) -> Routes:
    """Play, mm, of a shaft in a ring, each with its expansion and temperature."""
    inner, outer = (n["shaft_expansion"] * 1e-6, n["shaft_at"]), (n["ring_expansion"] * 1e-6, n["ring_at"])
    return {"assembly": play_left(n["size"], n["play"], inner, outer)}


VALUES: dict[str, Callable[[Numbers], Routes]] = {
    "shrunk ring": shrunk,
    "interference of a shrunk ring": interference_for,
    "pressure to turn": pressure_to_turn,
    "safety of a hub": safety,
    "tension of a tyre": tyre,
    "ring under load": ring_under_load,
    "length when warm": rule_when_warm,
    "play when warm": play_when_warm,
}
