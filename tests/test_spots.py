"""Distances between pins and places of pins as figures and as readings: exact, differentiated, read from files."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from linkmotion.engine import DRAWING
from linkmotion.files.engine_file import parse_engine, read_engine
from linkmotion.files.faults import FileError
from linkmotion.files.readings_file import read_readings
from linkmotion.studies.assess import assess
from linkmotion.studies.diagnosis.study import diagnose
from linkmotion.studies.figures.disturbances import Disturbances, Method
from linkmotion.studies.figures.figure import DISTANCE, PLACE, Figure, Reading
from linkmotion.studies.figures.looseness import looseness
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.figures.spots import ALONG, Spot, pins_to_measure
from tests.bad_engines.changed import EXAMPLES
from tests.measured_gears import shop

EVERY = sorted(EXAMPLES.glob("*.toml"))
DOCK = EXAMPLES / "dock_shunter.toml"
STEP = 1e-4  # mm, degrees
WAYS = ("forward", "backward")


@pytest.mark.parametrize("path", EVERY, ids=lambda path: path.stem)
def test_slopes_are_those_of_the_exact_figures(path: Path) -> None:
    side = assess(read_engine(path)).sides[0]
    pins = list(dict.fromkeys(pins_to_measure(side.gear.declare(side.settings[0])).values()))
    figures = []
    for i, pin in enumerate(pins):
        other, notch = pins[(i + 3) % len(pins)], side.notches[i % len(side.notches)]
        figures += [
            Figure(kind=DISTANCE, notch=notch, end="back", spot=Spot(pin, other)),
            Figure(kind=PLACE, notch=notch, end="back", spot=Spot(pin, other, list(ALONG)[i % 4])),
            Figure(
                kind=DISTANCE, notch=notch, at=70.0, direction=("forward", "backward")[i % 2], spot=Spot(pin, other)
            ),
        ]
    model = GearModel.of(side, figures)
    small = STEP * np.eye(len(model.keys))
    differences = (model.predict(small) - model.predict(-small)).T / (2 * STEP)
    plain = model.at_figures > 30.0  # of pins nearly upon one another the difference itself is bent
    assert np.count_nonzero(plain) > len(pins)
    assert np.max(np.abs(model.slopes - differences)[plain]) < 2e-6
    assert np.max(np.abs(model.slopes)) > 0.5


@pytest.mark.parametrize("name", ["dock_shunter.toml", "stephenson_goods.toml"])
def test_distances_are_those_of_the_independent_solver(name: str) -> None:
    own = shop(name)
    known = set(own.pins(own.tables, own.notches[0], "front", 0.0))
    listed = own.spots(known)
    assert len(listed) > 60
    figures = [Figure(kind=DISTANCE, notch=notch, end=end, spot=spot) for spot, notch, end in listed]
    found = GearModel.of(own.side, figures).at_figures
    for (spot, notch, end), value in zip(listed, found.tolist(), strict=True):
        pins = own.pins(own.tables, notch, end, 0.0)
        assert value == pytest.approx(abs(pins[spot.pin] - pins[spot.since]), abs=1e-6), (spot, notch, end)


def test_a_place_is_a_component_of_the_way_from_pin_to_pin() -> None:
    side = assess(read_engine(DOCK), DRAWING, ("left",)).sides[0]
    spots = [Spot("foot", "trunnion"), Spot("foot", "trunnion", "x"), Spot("foot", "trunnion", "y")]
    far, ahead, up = GearModel.of(
        side, [Figure(kind=PLACE if s.along else DISTANCE, notch="mid", end="front", spot=s) for s in spots]
    ).at_figures
    assert far == pytest.approx(math.hypot(ahead, up), rel=1e-12)
    assert far == pytest.approx(math.hypot(303.2125, 92.075), abs=1e-6)  # foot_drop and foot_backset of the drawing


def test_what_dead_centres_and_play_do_to_a_distance() -> None:
    side = assess(read_engine(DOCK), DRAWING, ("left",)).sides[0]
    spot = Spot("crosshead pin", "axle")
    reading = Reading(
        side="left", kind=DISTANCE, notch="mid", at=90.0, direction="forward", spot=spot, value=1430.0, sigma=0.1
    )
    model = GearModel.of(side, [reading])
    loose = looseness(side, [reading])
    found = Disturbances(model, side, [reading], Method({"front": 0.2}), loose)
    later, now = (
        GearModel.of(side, [Figure(kind=DISTANCE, notch="mid", at=at, direction="forward", spot=spot)]).at_figures[0]
        for at in (90.1, 90.0)
    )
    assert found.columns(model)[0][0, 0] == pytest.approx(
        later - now, rel=2e-3
    )  # a spread is half of what holds 19 in 20
    # a rod nearly in line: both its pins lie anywhere in holes 0.25 mm wide at most, whose mean square is a third
    each = 0.25 / 2 / math.sqrt(2) / math.sqrt(3)
    assert found.scatter[0] == pytest.approx(math.hypot(each, each), rel=0.05)


HEAD = """[readings]
state = "drawing"
unit = "in"
within = "1/64"
"""
DISTANCE_ROW = {
    "from": '"die pin"', "to": '"trunnion"', "notch": '"full forward"', "at": '"front dead centre"', "is": '"3 1/2"'
}  # fmt: skip
PLACE_ROW = {
    "pin": '"spindle pin"', "along": '"guide"', "from": '"axle"', "notch": '"full forward"',
    "at": '"back dead centre"', "is": '"73.2"',
}  # fmt: skip


def _file(folder: Path, kind: str, row: dict[str, str], **other: str) -> Path:
    path = folder / "measured.toml"
    row = {key: value for key, value in (row | other).items() if value}
    body = "\n".join(f"{key} = {value}" for key, value in row.items())
    path.write_text(f"{HEAD}\n[[left.{kind}]]\n{body}\n", encoding="utf-8")
    return path


def test_a_file_with_every_form_is_read(tmp_path: Path) -> None:
    engine = read_engine(DOCK)
    distance = read_readings(_file(tmp_path, DISTANCE, DISTANCE_ROW), engine).of("left")[0]
    assert (distance.value, distance.kind, distance.spot) == (88.9, DISTANCE, Spot("die pin", "trunnion"))
    assert distance.sigma == pytest.approx(25.4 / 64 / 1.959964, rel=1e-6)
    doubted = read_readings(_file(tmp_path, DISTANCE, DISTANCE_ROW, **{"is": '"3 1/2 ± 1/32 in"'}), engine).of("left")[
        0
    ]
    assert doubted.sigma == pytest.approx(25.4 / 32 / 1.959964, rel=1e-6)
    over = '{ over = "4 1/2 ± 1/64 in", pins = ["1 in", "1 in"] }'
    assert read_readings(_file(tmp_path, DISTANCE, DISTANCE_ROW, **{"is": over}), engine).of("left")[0].value == 88.9
    place = read_readings(_file(tmp_path, PLACE, PLACE_ROW), engine).of("left")[0]
    assert (place.spot, place.end) == (Spot("valve pin", "axle", "guide"), "back")
    marked = _file(tmp_path, PLACE, PLACE_ROW, **{"from": "", "mark": '"chest face"', "is": '"-3 1/2"'})
    assert read_readings(marked, engine).of("left")[0].spot == Spot("valve pin", "axle", "guide", "chest face")
    turned = _file(tmp_path, DISTANCE, DISTANCE_ROW, at="30", direction='"backward"')
    own = read_readings(turned, engine).of("left")[0]
    assert (own.at, own.direction) == (30.0, "backward")
    still = _file(tmp_path, DISTANCE, DISTANCE_ROW, **{"from": '"weighshaft"', "notch": "", "at": "", "is": '"14.89"'})
    assert (
        read_readings(still, engine).of("left")[0].notch
        == engine.side_state(DRAWING, "left").notches.__iter__().__next__()
    )


def test_a_height_from_the_rail_is_one_above_the_axle(tmp_path: Path) -> None:
    engine = read_engine(EXAMPLES / "dock_sister.toml")
    row = {"pin": '"trunnion"', "along": '"y"', "from": '"rail"', "is": '"36 3/8 ± 1/32 in"'}
    own = read_readings(_file(tmp_path, PLACE, row), engine).of("left")[0]
    wheel = engine.taken["wheels", "diameter"]
    assert own.value == pytest.approx(36.375 * 25.4 - wheel.value / 2, abs=1e-9)
    assert own.sigma > 25.4 / 32 / 1.959964


def test_the_rail_is_nowhere_without_the_wheels(tmp_path: Path) -> None:
    text = (EXAMPLES / "dock_shunter.toml").read_text(encoding="utf-8")
    row = {"pin": '"trunnion"', "along": '"y"', "from": '"rail"', "is": '"36 3/8"'}
    engine = parse_engine(text.replace('\ndiameter = "', '\n# diameter = "'))
    with pytest.raises(FileError) as error:
        read_readings(_file(tmp_path, PLACE, row), engine)
    assert "[wheels] diameter" in error.value.remedy


WRONG = [
    (DISTANCE, {"from": '"die pinn"'}, "from", "die pin"),
    (DISTANCE, {"from": "3"}, "from", "words in quotes"),
    (DISTANCE, {"from": ""}, "from", "missing"),
    (DISTANCE, {"to": ""}, "to", "missing"),
    (DISTANCE, {"to": '"die pin"'}, "to", "another pin"),
    (DISTANCE, {"to": '"slot centre"'}, "to", "read"),
    (DISTANCE, {"too": '"foot"'}, "too", "to"),
    (DISTANCE, {"notch": ""}, "notch", "missing"),
    (DISTANCE, {"notch": '"ful forward"'}, "notch", "full forward"),
    (DISTANCE, {"at": ""}, "at", "missing"),
    (DISTANCE, {"at": '"front"'}, "at", "front dead centre"),
    (DISTANCE, {"at": "361"}, "at", "crank angle"),
    (DISTANCE, {"at": "-1"}, "at", "crank angle"),
    (DISTANCE, {"at": "true"}, "at", "crank angle"),
    (DISTANCE, {"at": "30"}, "direction", "missing"),
    (DISTANCE, {"at": "30", "direction": '"ahead"'}, "direction", "forward"),
    (DISTANCE, {"direction": '"forward"'}, "direction", "leave it out"),
    (DISTANCE, {"is": ""}, "is", "missing"),
    (DISTANCE, {"is": '"3 1/2 ±"'}, "is", "±"),
    (DISTANCE, {"is": '"three"'}, "is", "three"),
    (DISTANCE, {"is": '"-3 1/2"'}, "is", "no distance"),
    (DISTANCE, {"is": '"0"'}, "is", "no distance"),
    (DISTANCE, {"is": '{ over = "1 in", pins = "2 in" }'}, "pins", "wider"),
    (DISTANCE, {"is": '["3.5"]'}, "is", "two takings"),
    (DISTANCE, {"is": '"3 1/2 ± 1/32 in"', "within": '"1/64"'}, "within", "already"),
    (DISTANCE, {"within": '"-1/64"'}, "within", "near"),
    (DISTANCE, {"is": '"35 in"'}, "35", "not more than"),
    (DISTANCE, {"is": '"88.9 in"'}, "88.9", "millimetres taken as inches"),
    (PLACE, {"along": ""}, "along", "missing"),
    (PLACE, {"along": '"z"'}, "along", "read"),
    (PLACE, {"from": ""}, "from", "missing"),
    (PLACE, {"from": '"rail"'}, "along", "not measured from"),
    (PLACE, {"from": '"spindle pin"'}, "from", "pin itself"),
    (PLACE, {"mark": '"face"'}, "mark", "keep"),
    (PLACE, {"from": "", "mark": '"Trunnion"'}, "mark", "from"),
    (PLACE, {"from": "", "mark": "7"}, "mark", "words in quotes"),
    (PLACE, {"to": '"trunnion"'}, "to", "unknown"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "slip", "key", "told"), WRONG)
def test_a_wrong_form_is_told_with_its_line_and_a_remedy(
    tmp_path: Path, kind: str, slip: dict[str, str], key: str, told: str
) -> None:
    path = _file(tmp_path, kind, DISTANCE_ROW if kind == DISTANCE else PLACE_ROW, **slip)
    with pytest.raises(FileError) as error:
        read_readings(path, read_engine(DOCK))
    assert all(word in str(error.value) for word in (key, told)), str(error.value)
    assert (error.value.line or 0) >= 6
    assert error.value.remedy


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[left]\ndistance = 3\n", "double brackets"),
        ('[left.distance]\nfrom = "die pin"\n', "double brackets"),
        ("[left]\nplace = [3]\n", "head each"),
    ],
)
def test_a_table_that_is_no_list_is_told(tmp_path: Path, text: str, told: str) -> None:
    path = tmp_path / "measured.toml"
    path.write_text(HEAD + text, encoding="utf-8")
    with pytest.raises(FileError) as error:
        read_readings(path, read_engine(DOCK))
    assert told in str(error.value)


def test_no_doubt_at_all_is_asked_for(tmp_path: Path) -> None:
    path = _file(tmp_path, DISTANCE, DISTANCE_ROW)
    path.write_text(path.read_text(encoding="utf-8").replace('within = "1/64"\n', ""), encoding="utf-8")
    with pytest.raises(FileError) as error:
        read_readings(path, read_engine(DOCK))
    assert "how near" in str(error.value)


def test_an_engine_is_parsed_for_every_gear() -> None:
    for path in EVERY:
        side = assess(parse_engine(path.read_text(encoding="utf-8"))).sides[0]
        pins = pins_to_measure(side.gear.declare(side.settings[0]))
        assert {"axle", "crank pin", "spindle pin"} <= set(pins)
        assert not any(name.startswith("slot") for name in pins)


def test_a_diagnosis_reads_distances_too() -> None:
    """An eccentric rod 2 mm too long, seen by what the trammel says between its pins and from foot to axle."""
    own = shop("dock_shunter.toml")
    tables = {name: dict(table) for name, table in own.tables.items()}
    tables["eccentric_rod"]["length"] += 2.0
    readings = []
    for notch in own.notches:
        for end in ("front", "back"):
            pins = own.pins(tables, notch, end, 0.0)
            for a, b in (("return-crank pin", "foot"), ("foot", "axle"), ("die pin", "lever pin")):
                at = Reading(side="left", kind=DISTANCE, notch=notch, end=end, spot=Spot(a, b), value=0.0, sigma=0.1)
                readings.append(replace(at, value=abs(pins[a] - pins[b])))
    found = diagnose(own.side, readings, own.priors, Method({"front": 0.1, "back": 0.1}))
    assert found.first == (("eccentric_rod", "length"),)
    assert found.suspects[0].low < 2.0 < found.suspects[0].high
    assert found.fits
