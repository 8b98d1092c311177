"""The machining drawing on paper, its limits, stations and notes: read as a machinist reads them."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pymupdf
import pytest
from matplotlib.figure import Figure
from typer.testing import CliRunner

import linkmotion as lm
from linkmotion.cli import app
from linkmotion.face.slot import SlotCleanUp
from linkmotion.files.faults import FileError
from linkmotion.studies.slot.cleanup import clean_up
from linkmotion.studies.slot.in_gear import SlotInGear
from linkmotion.studies.slot.machining_notes import notes
from linkmotion.studies.slot.measures import measures, slot_limits
from linkmotion.studies.slot.parts import Limits, Tools
from linkmotion.studies.slot.stations import stations
from linkmotion.studies.slot.workpiece import Workpiece, workpiece
from linkmotion.views.machining_drawing import HIGH, WIDE, plot_machining
from linkmotion.views.machining_sheet import sheet
from linkmotion.views.paper import as_pdf
from linkmotion.views.style import as_svg
from linkmotion.wear.curved_slot import CurvedDrawing
from linkmotion.wear.slot_drawing import FACES
from linkmotion.wear.slot_faces import FaceReadings, SlotReadings
from linkmotion.wear.straight_slot import StraightDrawing
from tests.gears_at_hand import EXAMPLES
from tests.svg_texts import Plot, read_svg
from tests.test_picture_laws import clipped, overlapping, too_small

PATHS = {path.stem: path for path in EXAMPLES}
READ = {
    "at": ["-60 mm", "0 mm", "60 mm"],
    "front": ["0.1 mm", "0.2 mm", "0.5 mm"],
    "back": ["0.4 mm", "0.1 mm", "0 mm"],
}
AS_FOUND = {"dock_shunter": "as found", "allan_saddle_tank": "link out", "hackworth_quarry": "as found",
            "joy_mixed_traffic": "as found"}  # fmt: skip
OTHERS = {"stephenson_goods": "60 mm", "gooch_tank": "60 mm", "metre_gauge": "50 mm", "dock_sister": "50 mm"}


@cache
def cleaned(name: str, datum: str = "") -> SlotCleanUp:
    """A clean-up of each example that has a slot: from its own readings, or from some that are given to it."""
    engine = lm.read_engine(PATHS[name])
    more: dict[str, Any] = {"datum": datum} if datum else {}
    if name in AS_FOUND:
        return engine[AS_FOUND[name]].left.clean_up(**more)
    given: dict[str, Any] = {
        "slot_width": OTHERS[name],
        "gauge": "0.02 mm",
        "die_length": "70 mm",
        "die_hole": "1 1/4 in",
    }
    return engine["drawing"].left.clean_up(READ, **given, **more)


def drawn(found: SlotCleanUp, proposal: str) -> Plot:
    return read_svg(as_svg(found[proposal].plot_machining, (WIDE / 72, HIGH / 72), margins=(0.0, 0.0, 0.0, 0.0)))


def piece_of(found: SlotCleanUp, proposal: str) -> Workpiece:
    return workpiece(found.found, found.found.done.proposal(proposal), found.side.unit)


@pytest.mark.parametrize("name", [*AS_FOUND, *OTHERS])
def test_the_drawing_can_be_read_and_says_every_figure(name: str) -> None:
    found = cleaned(name)
    least = 0.51e-4 if found.side.unit == "in" else 0.51e-3
    for proposal in found.proposals:
        plot = drawn(found, proposal)
        assert [*too_small(plot), *clipped(plot), *overlapping(plot)] == []
        words = re.sub(r"\s+", " ", plot.words)
        for said in (found.side.engine.name, found.side.state, "left side", proposal, "certifies nothing", "scale"):
            assert said in words
        figures = np.array([float(each) for each in re.findall(r"-?\d+\.\d+", words)])
        for row in found[proposal].measures().rows():
            assert np.min(np.abs(figures - row["value"])) < least, row


@pytest.mark.parametrize("datum", ["mid slot", "foot"])
def test_a_datum_anywhere_on_the_link_gives_a_drawing_that_can_be_read(datum: str) -> None:
    for name in ("dock_shunter", "metre_gauge"):
        found = cleaned(name, datum)
        plot = drawn(found, found.proposals[-1])
        assert [*too_small(plot), *clipped(plot), *overlapping(plot)] == []
        assert f"datum, {datum}: x 0, y 0" in re.sub(r"\s+", " ", plot.words)


@pytest.mark.parametrize("size", [0.1, 0.25, 4.0])
@pytest.mark.parametrize("forward", [True, False])
def test_a_slot_of_a_model_and_a_huge_one_are_drawn_at_a_scale_that_fits(size: float, forward: bool) -> None:
    slot = CurvedDrawing(900 * size, 50 * size, forward, 120 * size, 110 * size, 70 * size)
    read = FaceReadings([-90 * size, 0, 90 * size], [0.01, 0.1, 0.02])
    done = clean_up(slot, SlotReadings(read, read, 0.005))
    pins = {"trunnion": 0j, "foot": complex(-80, -300) * size}
    piece = workpiece(SlotInGear(done, "trunnion", pins=pins), done.proposals[0])
    svg = as_svg(lambda ax: plot_machining(piece, "a model", "mm", ax), (WIDE / 72, HIGH / 72), margins=(0, 0, 0, 0))
    plot = read_svg(svg)
    assert [*too_small(plot), *clipped(plot), *overlapping(plot)] == []


def test_the_slot_is_drawn_to_its_scale_and_the_bar_says_so() -> None:
    """The distance on paper of the pins, against their places and the scale in the title block."""
    found = cleaned("gooch_tank", "forward pin")
    ax = found["drawn centre"].plot_machining(Figure(figsize=(WIDE / 72, HIGH / 72)).add_axes((0, 0, 1, 1)))
    words = " ".join(text.get_text() for text in ax.texts)
    ratio = float(re.search(r"scale 1 : ([\d.]+)", words).group(1))  # type: ignore[union-attr]
    bar = float(re.search(r"bar ([\d.]+) mm", words).group(1))  # type: ignore[union-attr]
    thick = [line for line in ax.lines if line.get_linewidth() == 3.0]
    assert len(thick) == 1
    assert np.ptp(thick[0].get_xdata()) == pytest.approx(bar / ratio / 25.4 * 72, rel=1e-9)
    faces = [line for line in ax.lines if line.get_linewidth() == 1.6]
    chord = np.hypot(*(np.ptp(each[[0, -1]]) for each in faces[0].get_data()))
    piece = piece_of(found, "drawn centre")
    front = piece.faces["front"]
    assert chord == pytest.approx(abs(front.end - front.start) / ratio / 25.4 * 72, rel=1e-9)


# ---- limits ---------------------------------------------------------------------------------------------------------


def slot_with(limits: Limits, allowance: float, kind: type = CurvedDrawing) -> Workpiece:
    more = {"width": 50.0, "top": 120.0, "bottom": 120.0, "die_length": 60.0}
    slot = StraightDrawing(**more) if kind is StraightDrawing else CurvedDrawing(900.0, 50.0, True, 120.0, 120.0, 60.0)
    read = FaceReadings([-100, 0, 100], [0.2, 0.2, 0.2])
    done = clean_up(slot, SlotReadings(read, read, 0.02), limits, 0.1, allowance)
    return workpiece(SlotInGear(done), done.proposals[-1])


@pytest.mark.parametrize(
    ("limits", "allowance", "under", "over"),
    [
        (Limits(), 0.0, 0.0, 0.046),  # ISO 286-1: IT8 over 50 up to 80 mm is 46 µm
        (Limits(), 0.04, 0.0, 0.046),
        (Limits(cut_front=0.01, cut_back=1.0), 0.0, 0.0, 0.02),  # one face may go 0.01 deeper: half of the limits
        (Limits(cut_front=0.04, cut_back=0.04), 0.04, 0.046, 0.0),  # at the limit: only what was allowed is left
        (Limits(wall_front=10.0, wall_back=10.0, least_wall=9.79), 0.0, 0.0, 0.02),
        (Limits(cut_front=0.0, cut_back=0.0), 0.0, 0.0, 0.0),
    ],
)
def test_the_slot_s_limits_leave_what_the_limits_of_metal_leave(
    limits: Limits, allowance: float, under: float, over: float
) -> None:
    piece = slot_with(limits, allowance)
    span = slot_limits(piece)
    assert span is not None
    assert (piece.proposal.width - span.least, span.most - piece.proposal.width) == pytest.approx(
        (under, over), abs=2e-4
    )  # an even loss leaves the centre free by some hundredths of a micrometre
    told = [note for note in notes(piece) if note.words.startswith("width")]
    assert len(told) == 1
    assert told[0].warns == (under + over == 0.0)
    assert ("only be narrower" in told[0].words) == (under > 0)


def test_the_die_block_and_its_hole_have_the_limits_of_the_standard() -> None:
    """IT7 over 30 up to 50 mm is 25 µm, over 50 up to 80 mm 30 µm (ISO 286-1, as wear/fits.py holds it)."""
    piece = slot_with(Limits(), 0.0)
    piece = workpiece(replace(piece.work, tools=Tools(die_hole=40.0)), piece.proposal)
    found = {own.key: own for own in measures(piece)}
    die, hole = found["die_width"], found["die_hole"]
    assert die.value == pytest.approx(50.3, abs=1e-9)
    assert die.limits == pytest.approx((50.27, 50.3), abs=1e-9)
    assert hole.limits == pytest.approx((40.0, 40.025), abs=1e-9)


def test_a_slot_beyond_the_tables_has_no_limits_and_that_is_said() -> None:
    slot = StraightDrawing(width=300.0, top=800.0, bottom=800.0)
    read = FaceReadings([0.0], [0.2])
    done = clean_up(slot, SlotReadings(read, read, 0.02))
    piece = workpiece(SlotInGear(done), done.proposals[0])
    assert slot_limits(piece) is None
    words = [note.words for note in notes(piece)]
    assert any("no limits" in each for each in words)
    assert any("length is not given" in each for each in words)


def test_a_link_is_set_up_by_two_pins_and_a_slide_with_one_by_its_ends_too() -> None:
    told = {name: next(notes(piece_of(cleaned(name), cleaned(name).proposals[0]))).words for name in AS_FOUND}
    assert "the link's pins (foot; trunnion at 0, 0)" in told["dock_shunter"]
    assert "the link's pins (forward pin, backward pin; saddle pin at 0, 0)" in told["allan_saddle_tank"]
    for name in ("hackworth_quarry", "joy_mixed_traffic"):
        assert "one pin fixes no direction" in told[name]


# ---- stations -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [*AS_FOUND, *OTHERS])
def test_stations_stand_on_the_faces_at_even_heights_and_the_cutter_beside_them(name: str) -> None:
    found = cleaned(name)
    piece = piece_of(found, found.proposals[-1])
    placed = stations(piece, found.side.unit)
    steps = -np.diff([each.y for each in placed])
    assert 5 <= len(placed) <= 40
    assert steps == pytest.approx(steps[0], rel=1e-9)
    assert [each.number for each in placed] == list(range(1, len(placed) + 1))
    x, y = piece.work.origin
    for station in placed:
        assert station.y / steps[0] == pytest.approx(round(station.y / steps[0]), abs=1e-9)
        for cut in piece.proposal.faces:
            own, course = station.faces[cut.face], cut.course
            half = piece.cutter / 2
            if hasattr(course, "radius"):
                far = abs(complex(own.x + x, station.y + y) - complex(*course.centre))
                assert far == pytest.approx(course.radius, abs=1e-9)
                to_cutter = abs(complex(own.cutter_x + x, station.y + y) - complex(*course.centre))
                assert abs(to_cutter - course.radius) == pytest.approx(half, abs=1e-9)
            else:
                slant = np.hypot(1.0, course.lean)
                assert own.x + x == pytest.approx(course.ahead + course.lean * (station.y + y), abs=1e-9)
                assert abs(own.cutter_x - own.x) == pytest.approx(half * slant, abs=1e-9)
        assert station.faces["back"].x < station.faces["back"].cutter_x
        assert station.faces["front"].cutter_x < station.faces["front"].x


def test_the_cut_at_a_station_is_that_of_the_face_there() -> None:
    """Against the depth of the finished face less the loss read, at the place that lies at this height."""
    found = cleaned("dock_shunter")
    piece = piece_of(found, "worn centre")
    done = piece.work.done
    for station in stations(piece, "in"):
        for cut in piece.proposal.faces:
            at = complex(station.faces[cut.face].x, station.y) + complex(*piece.work.origin)
            place = done.drawing.radius * np.arcsin(at.imag / abs(at - complex(*done.drawing.centre)))  # type: ignore[attr-defined]
            own = done.readings.on(cut.face)
            loss = np.interp(place, *own.averaged)
            depth = done.drawing.depth(cut.face, place, cut.course)
            assert station.faces[cut.face].cut == pytest.approx(depth - loss, abs=2e-4)  # between places of the grid


# ---- the doors ------------------------------------------------------------------------------------------------------


def run(*words: str, name: str = "dock_shunter") -> Any:
    state = AS_FOUND[name]
    return CliRunner().invoke(app, ["cleanup", str(PATHS[name]), "--state", state, *words])


def test_json_and_the_library_tell_the_same_measures() -> None:
    told = json.loads(run("--json").output)["proposals"][0]
    rows = cleaned("dock_shunter")["drawn centre"].measures().rows()
    assert [row["key"] for row in rows] == [row["key"] for row in told["measures"]]
    by_key = {row["key"]: row for row in told["measures"]}
    assert by_key["radius_front"]["value"] == told["radius_front"]
    assert by_key["centre_x"]["value"] == told["centre_x"]
    assert by_key["slot_width"]["value"] == told["slot_width"]
    assert by_key["die_width"]["value"] == by_key["die_width"]["most"] == told["die_width"]
    assert by_key["die_pin_ahead"]["value"] == told["die_pin_ahead"]
    assert by_key["cutter"]["value"] == 1.25
    for row in told["measures"]:
        (x, y), (to_x, to_y) = row["from"], row["to"]
        own = {"x": to_x - x, "y": to_y - y}.get(row["kind"], np.hypot(to_x - x, to_y - y))
        if row["kind"] in ("along", "lean"):
            continue
        assert own == pytest.approx(row["value"], abs=3e-6), row
    placed = cleaned("dock_shunter")["drawn centre"].stations().rows()
    assert [row["y"] for row in placed] == [float(y) for y in range(5, -6, -1)]
    assert [row["x_front"] for row in placed] == [row["x_front"] for row in told["stations"]]


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ("cutter=2 1/4 in", "a cutter of 2.250 in does not go into a slot finished 2.014 in wide"),
        ("cutter=0", "cutter: "),
        ("die_hole=55 mm", "a hole of 2.1654 in is as wide as the die block"),
        ("station_step=1 mm", "do not suit a slot 11.000 in long"),
    ],
)
def test_tools_that_do_not_suit_are_refused_with_a_remedy(given: str, words: str) -> None:
    result = run("--tables", "--given", given)
    assert isinstance(result.exception, FileError)
    assert words in str(result.exception)
    assert len(str(result.exception).splitlines()) == 2


@pytest.mark.parametrize(("paper", "name"), [("A4", "dock_shunter"), ("letter", "allan_saddle_tank")])
def test_the_drawing_has_a_page_of_its_own_in_type_of_8_points(paper: str, name: str) -> None:
    found = cleaned(name)
    own = found.found.done.proposals[-1]
    page = sheet(found.found, own, "Limpet", found.side.unit, "slot.dxf")
    with pymupdf.open(stream=as_pdf(page, paper)) as sheets:
        pages = [each.get_text() for each in sheets]
        (number,) = [i for i, words in enumerate(pages) if "die block, 1" in words]
        assert "datum, " in pages[number]
        assert "Stations along" not in pages[number]
        assert f"{number + 1} of {len(pages)}" in pages[number]
        lines = [line for block in sheets[number].get_text("dict")["blocks"] for line in block.get("lines", ())]
        spans = [span for line in lines for span in line["spans"] if span["text"].strip()]
        assert min(span["size"] for span in spans) >= 7.99
        assert max(span["bbox"][2] for span in spans) < sheets[0].rect.width - 8 * 72 / 25.4


def test_one_pass_is_said_where_the_cutter_fills_the_slot() -> None:
    piece = slot_with(Limits(), 0.0)
    whole = workpiece(replace(piece.work, tools=Tools(cutter=piece.proposal.width)), piece.proposal)
    told = {own.key: own for own in measures(whole)}
    assert "one pass" in told["cutter_radius_front"].words
    assert told["cutter_radius_front"].value == pytest.approx(told["radius_middle"].value, abs=1e-9)
    assert not {"cutter_radius_back"} & set(told)
    assert {"cutter_radius_front", "cutter_radius_back"} <= {own.key for own in measures(piece)}
    assert {cut.face for cut in piece.proposal.faces} == set(FACES)
