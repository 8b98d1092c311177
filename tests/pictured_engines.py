"""Engines drawn to an image, and a hand that picks their pins: independent of what scales figures off it.

Pins are placed by the solvers of ``tests/independent``; the image is a homography written out as a 3 × 3 matrix, its
paper sheared, its camera a pinhole; the hand puts a point where it sees it, with a normal error, on a line of some
width. The engine is never the drawing from which the search starts: that is a near relation, its figures off by some
parts in a hundred.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.elevation.side_elevation import Elevation
from linkmotion.engine import DRAWING
from linkmotion.files.engine_file import read_engine
from linkmotion.gears.sensitivity import Key, declared, numbers, with_numbers
from linkmotion.linkage import LinkageError
from linkmotion.measuring.picks import KnownLength, KnownPlace, KnownWay, Picks
from linkmotion.studies.assess import assess_side
from linkmotion.studies.side_drawing import elevation_of
from tests.bad_engines.changed import EXAMPLES
from tests.measured_gears import shop

SHEAR, HAND, LINE = 0.005, 1.5, 3.0  # of a drawing; pixels: the hand's standard deviation, the width of drawn lines
PAPER = "drawing"
CAMERA = "photograph"
Matrix = NDArray[np.float64]


def drawn_on_paper(rng: np.random.Generator, pixels: float) -> Matrix:
    """A drawing scanned: so many pixels for a millimetre, a little askew, its paper sheared by half a hundredth."""
    askew, along = math.radians(float(rng.uniform(-1.5, 1.5))), float(rng.uniform(0.0, math.pi))
    turn = np.array([[math.cos(askew), -math.sin(askew)], [math.sin(askew), math.cos(askew)]])
    way = np.array([math.cos(along), math.sin(along)])
    shear = np.eye(2) + SHEAR * np.outer(way, [-way[1], way[0]])
    found = np.eye(3)
    found[:2, :2] = pixels * turn @ shear
    found[:2, 2] = rng.uniform(800.0, 1200.0, 2)
    return np.diag([1.0, -1.0, 1.0]) @ found  # rows of an image run down


def photographed(rng: np.random.Generator, pixels: float, middle: complex) -> Matrix:
    """A pinhole camera some metres off, turned from square by up to 15 degrees each way."""
    yaw, pitch, roll = (math.radians(float(rng.uniform(-15.0, 15.0))) for _ in range(3))
    away = 8000.0
    turn_y = np.array([[math.cos(yaw), 0, math.sin(yaw)], [0, 1, 0], [-math.sin(yaw), 0, math.cos(yaw)]])
    turn_x = np.array([[1, 0, 0], [0, math.cos(pitch), -math.sin(pitch)], [0, math.sin(pitch), math.cos(pitch)]])
    turn_z = np.array([[math.cos(roll / 5), -math.sin(roll / 5), 0], [math.sin(roll / 5), math.cos(roll / 5), 0],
                       [0, 0, 1]])  # fmt: skip
    turn = turn_z @ turn_x @ turn_y
    plane = np.array([[1, 0, -middle.real], [0, 1, -middle.imag], [0, 0, 0]], float)  # of the plane's own x, y, 1
    seen = turn @ plane + np.array([[0, 0, 0], [0, 0, 0], [0, 0, away]])
    lens = np.array([[pixels * away, 0, 2000.0], [0, -pixels * away, 1500.0], [0, 0, 1]])
    return np.asarray(lens @ seen)


def through_matrix(matrix: Matrix, place: complex) -> complex:
    """Where a place is seen, u − iv."""
    u, v, w = matrix @ np.array([place.real, place.imag, 1.0])
    return complex(u / w, -v / w)


@dataclass(frozen=True)
class Pictured:
    """An example engine with its pins where the independent solvers have them.

    Attributes
    ----------
    truth : dict
        Its figures.
    pins : dict
        In one notch at one dead centre, mm; and places of the slot.
    """

    name: str
    truth: dict[Key, float]
    pins: dict[str, complex]


@cache
def pictured(name: str, notch: int, end: str) -> Pictured:
    """An example as it stands at a dead centre of its first or last notch."""
    own = shop(name)
    gear = read_engine(EXAMPLES / name).gear()
    pins = own.pins(own.tables, own.notches[notch], end, 0.0)
    names = set(gear.declare(own.side.settings[0]).names)
    pins = {pin: at for pin, at in pins.items() if pin in names and not pin.startswith("slot ")}
    if "rocker" in own.tables["valve"]:
        pins["rocker shaft"] = complex(*(own.tables["valve"]["rocker"][f"pivot_{axis}"] for axis in "xy"))
    pins |= slot_places(own.kind, own.tables["expansion_link"], pins)
    return Pictured(name, numbers(gear), pins)


def slot_places(kind: str, link: dict[str, Any], pins: dict[str, complex]) -> dict[str, complex]:
    """Points of the slot's centre line by the link's own pins and plain trigonometry."""
    radius, forth = link["slot_radius"], 1 if link.get("slot_concave_to", "valve") == "valve" else -1
    offset = link.get("slot_offset", 0.0)
    if kind == "walschaerts":
        one, two = 0j, complex(-link.get("foot_backset", 0.0), -link["foot_drop"])
        at_one, at_two = pins["trunnion"], pins["foot"]
    else:
        one = complex(link["forward_pin_x"], link["forward_pin_y"])
        two = complex(link["backward_pin_x"], link["backward_pin_y"])
        at_one, at_two = pins["forward pin"], pins["backward pin"]
    turn = (at_two - at_one) / (two - one)
    found = {}
    for label, share in (("slot middle", 0.0), ("slot top", 1.0), ("slot bottom", -1.0), ("slot 1", 0.5),
                         ("slot 2", -0.5)):  # fmt: skip
        angle = share * (link["slot_top"] if share > 0 else link["slot_bottom"]) / radius
        place = offset + forth * radius - forth * radius * cmath.exp(-1j * forth * angle)
        found[label] = at_one + turn * (place - one)
    return found


@cache
def relation(name: str, seed: int) -> Elevation:
    """A near relation's drawing: every figure off by up to three parts in a hundred, angles by up to three degrees."""
    engine = read_engine(EXAMPLES / name)
    setup = engine.side_state(DRAWING, "left")
    rng = np.random.default_rng(seed)
    for share in (1.0, 0.7, 0.5, 0.3, 0.2, 0.1, 0.05):
        values: dict[Key, float] = {}
        for key, value in numbers(setup.gear).items():
            by = share * float(rng.uniform(-1.0, 1.0))
            angle = declared(setup.gear, key)["kind"] == "angle"
            blind = key[1].endswith("inclination") or key == ("expansion_link", "slot_offset")
            values[key] = value if blind else value + 3.0 * by if angle else value * (1 + 0.03 * by)
        try:
            own = replace(setup, gear=with_numbers(setup.gear, values))
            return elevation_of(assess_side(own), engine)
        except (LinkageError, ValueError):
            continue
    raise AssertionError(name)


def by_hand(own: Pictured, matrix: Matrix, rng: np.random.Generator, kind: str, sigma: float = HAND) -> Picks:
    """The pins and marks as a hand puts them, and what is known of the engine."""
    places = dict(own.pins)
    known: list[Any]
    if kind == PAPER:
        places |= {"rail, back": -900 - 700j, "rail, front": 2400 - 700j, "cab side, foot": -800 + 200j,
                   "cab side, top": -800 + 1500j}  # fmt: skip
        known = [
            KnownWay("rail, back", "rail, front", 0.0),
            KnownLength("rail, back", "rail, front", _taped(3300.0, 3.0, rng), 3.0),
            KnownLength("cab side, foot", "cab side, top", _taped(1300.0, 1.0, rng), 1.0),
        ]
    else:
        corners = {"mark 1": -500 - 600j, "mark 2": 2200 - 600j, "mark 3": 2200 + 900j, "mark 4": -500 + 900j}
        places |= corners
        known = [
            KnownPlace(name, _taped(at.real, 2.0, rng), _taped(at.imag, 2.0, rng), 2.0) for name, at in corners.items()
        ]
    points = {}
    for name, at in places.items():
        line = complex(*rng.uniform(-LINE / 2, LINE / 2, 2))
        points[name] = (through_matrix(matrix, at) + line + sigma * complex(*rng.standard_normal(2)),)
    paper = 0.01 / 2 / 1.959964 if kind == PAPER else 1.0
    return Picks(points, sigma, LINE / math.sqrt(12.0), tuple(known), paper, kind == CAMERA)


def _taped(size: float, doubt: float, rng: np.random.Generator) -> float:
    """A length as it was measured, right to its doubt 19 times in 20."""
    return size + doubt / 1.959964 * float(rng.standard_normal())
