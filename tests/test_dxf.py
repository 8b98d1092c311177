"""The DXF drawing read again by its library: the same arcs, layers and unit, and dimensions that measure the clean-up.

What a dimension must say is taken from the proposal; what it says is measured by ezdxf between its own points.
"""

from __future__ import annotations

import io
import re
from dataclasses import replace
from typing import Any

import ezdxf
import numpy as np
import pytest

from linkmotion.files.dxf import Lettering, as_dxf
from linkmotion.studies.slot.cleanup import CleanUp, clean_up
from linkmotion.studies.slot.in_gear import SlotInGear
from linkmotion.studies.slot.measures import measures
from linkmotion.studies.slot.parts import Limits, Proposal, Tools
from linkmotion.studies.slot.stations import stations
from linkmotion.studies.slot.workpiece import Workpiece, workpiece
from linkmotion.wear.curved_slot import CurvedDrawing
from linkmotion.wear.slot_drawing import Line
from linkmotion.wear.slot_faces import FaceReadings, SlotReadings
from linkmotion.wear.straight_slot import StraightDrawing

DATUM_AT = (-12.0, 7.5)
PINS = {"trunnion": complex(*DATUM_AT), "foot": -90.0 - 300.0j}
UNITS = {"mm": (1.0, 4), "in": (25.4, 1), "ft": (304.8, 2), "thou": (0.0254, 9)}  # $INSUNITS as the format's reference
LAYERS = ("slot as drawn", "slot as worn", "slot finished", "centre line", "cutter centre", "pin path", "die block",
          "datum", "dimensions", "stations", "title")  # fmt: skip
KINDS = ("forward", "backward", "straight")


def done(kind: str) -> CleanUp:
    more = {"top": 140.0, "bottom": 120.0, "die_length": 70.0}
    slot = (
        StraightDrawing(width=48.0, **more)
        if kind == "straight"
        else CurvedDrawing(radius=950.0, width=48.0, concave_forward=kind == "forward", **more)
    )
    places = np.linspace(-100, 120, 8)
    front = FaceReadings(places, 0.4 + 0.002 * places + 0.1 * np.cos(places / 30))
    return clean_up(slot, SlotReadings(front, FaceReadings(places, 0.3 - 0.001 * places), 0.02), Limits(0.3, 0.3))


def piece_of(kind: str, which: int = 1, tools: Tools = Tools(), unit: str = "mm") -> Workpiece:  # noqa: B008 - frozen
    work = done(kind)
    return workpiece(SlotInGear(work, "trunnion", DATUM_AT, pins=PINS, tools=tools), work.proposals[which], unit)


def written(piece: Workpiece, unit: str = "mm") -> str:
    letters = Lettering(["Limpet: as found, left side"], ["1. a note"], [["no.", "y"], ["1", "5"]], 4)
    return as_dxf(piece, stations(piece, unit), unit, letters)


def read(text: str) -> Any:
    return ezdxf.read(io.StringIO(text))  # type: ignore[attr-defined]


def dimensions(document: Any) -> dict[str, Any]:
    found = list(document.modelspace().query("DIMENSION ARC_DIMENSION"))
    assert {each.dxf.layer for each in found} == {"dimensions"}
    keys = [each.get_xdata("LINKMOTION")[0].value for each in found]
    assert len(set(keys)) == len(keys)
    return dict(zip(keys, found, strict=True))


def measured(dimension: Any, key: str) -> float:
    """What a dimension measures, by ezdxf; of an arc's length it gives the angle, degrees."""
    value = dimension.get_measurement()
    if dimension.dxftype() == "ARC_DIMENSION":
        return float(np.radians(value) * (dimension.dxf.defpoint2 - dimension.dxf.defpoint4).magnitude)
    if dimension.dimtype == 6:  # an ordinate: how far from its origin, and along which axis
        return float(value.x if dimension.dxf.dimtype & 64 else value.y)
    return float(value)


def expected(own: Proposal, piece: Workpiece) -> dict[str, float]:
    """What the clean-up itself gives for what is dimensioned, mm."""
    x, y = DATUM_AT
    found = {"slot_width": own.width, "die_width": own.die.width, "die_pin_ahead": own.die.pin_offset,
             "cutter": piece.cutter, "foot_x": -90.0 - x, "foot_y": -300.0 - y, "die_length": 70.0}  # fmt: skip
    front, back = own.front.course, own.back.course
    if isinstance(piece.work.done.drawing, StraightDrawing):
        found |= {"ahead_front": front.ahead - x, "ahead_back": back.ahead - x}
        return found | ({"lean": abs(np.degrees(np.arctan(front.lean)))} if front.lean else {})
    found |= {"radius_front": front.radius, "radius_back": back.radius,
              "radius_middle": (front.radius + back.radius) / 2, "centre_x": front.centre[0] - x,
              "centre_y": front.centre[1] - y, "die_radius_front": own.die.front.radius,
              "die_radius_back": own.die.back.radius}  # fmt: skip
    forth = 1 if front.centre[0] > 0 else -1
    return found | {"cutter_radius_front": front.radius + forth * piece.cutter / 2,
                    "cutter_radius_back": back.radius - forth * piece.cutter / 2}  # fmt: skip


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("which", [0, 1, 3])
def test_every_dimension_measures_what_the_clean_up_gives(kind: str, which: int, unit: str) -> None:
    piece = piece_of(kind, which, Tools(die_hole=30.0), unit)
    document = read(written(piece, unit))
    found, scale = dimensions(document), UNITS[unit][0]
    listed = {own.key: own for own in measures(piece)}
    assert set(found) == set(listed)
    wanted = expected(piece.proposal, piece) | {"die_hole": 30.0}
    assert set(wanted) | {"chord", "arc", *(f"{end}_end_{axis}" for end in ("upper", "lower") for axis in "xy")} >= set(
        listed
    )
    for key, dimension in found.items():
        own = measured(dimension, key) * (1.0 if key == "lean" else scale)
        value = abs(listed[key].value) if key == "lean" else listed[key].value  # an angle has its way in words
        assert own == pytest.approx(value, abs=1e-6), key
        if key in wanted:
            assert own == pytest.approx(wanted[key], abs=1e-6), key


@pytest.mark.parametrize("kind", KINDS)
def test_the_slot_s_ends_lie_midway_between_the_faces_on_the_drawn_end(kind: str) -> None:
    """By the faces' own points: the middle of the straight line from end to end of the faces, within their sagitta."""
    piece = piece_of(kind)
    found = {own.key: own.value for own in measures(piece)}
    ends = {"lower": piece.faces["front"].start + piece.faces["back"].start}
    ends["upper"] = piece.faces["front"].end + piece.faces["back"].end
    for name, twice in ends.items():
        at = complex(found[f"{name}_end_x"], found[f"{name}_end_y"])
        assert abs(at - twice / 2) < 1e-3
    far = complex(found["upper_end_x"], found["upper_end_y"]) - complex(found["lower_end_x"], found["lower_end_y"])
    assert found["chord"] == pytest.approx(abs(far), abs=1e-9)
    if kind != "straight":
        radius = found["radius_middle"]
        assert found["arc"] == pytest.approx(2 * radius * np.arcsin(found["chord"] / 2 / radius), abs=1e-9)
    assert found.get("arc", 260.0) == pytest.approx(260.0, abs=0.1)


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("kind", KINDS)
def test_what_a_dimension_says_is_what_it_measures(kind: str, unit: str) -> None:
    document = read(written(piece_of(kind, unit=unit), unit))
    for key, dimension in dimensions(document).items():
        words = " ".join(
            each.plain_text() if each.dxftype() == "MTEXT" else each.dxf.text
            for each in dimension.get_geometry_block().query("MTEXT TEXT")
        )
        said = re.search(r"-?\d+\.\d{4}", words)
        assert said is not None, (key, words)
        assert abs(float(said.group())) == pytest.approx(abs(measured(dimension, key)), abs=0.51e-4), (key, words)


def test_an_ordinate_says_to_which_side_of_the_datum_it_lies() -> None:
    found = dimensions(read(written(piece_of("forward"))))
    assert "behind the datum" in found["foot_x"].dxf.text
    assert "below the datum" in found["foot_y"].dxf.text
    assert "ahead of the datum" in found["centre_x"].dxf.text
    assert "above the datum" in found["upper_end_y"].dxf.text
    for which in (1, 3):
        piece = piece_of("straight", which)
        own, told = piece.proposal, dimensions(read(written(piece)))
        assert ("behind the block" in told["die_pin_ahead"].dxf.text) == (own.die.pin_offset < 0)
        assert ("behind at the top" in told["lean"].dxf.text) == (own.front.course.lean < 0)
    front, back = (replace(cut, course=Line(x, -0.001)) for cut, x in zip(own.faces, (24.0, -24.0), strict=True))
    turned = replace(own, front=front, back=back, die=replace(own.die, pin_offset=-0.25))
    told = dimensions(read(written(workpiece(piece.work, turned))))
    assert "behind at the top" in told["lean"].dxf.text
    assert "behind the block's middle" in told["die_pin_ahead"].dxf.text
    assert measured(told["die_pin_ahead"], "die_pin_ahead") == pytest.approx(-0.25, abs=1e-9)


@pytest.mark.parametrize("kind", KINDS[:2])
def test_arcs_read_again_are_the_same(kind: str) -> None:
    piece = piece_of(kind)
    own, slot = piece.proposal, piece.work.done.drawing
    assert isinstance(slot, CurvedDrawing)
    space = read(written(piece)).modelspace()
    wanted = {
        "slot as drawn": [(slot.centre, slot.size(face)) for face in ("front", "back")] + [(slot.centre, slot.radius)],
        "slot finished": [(cut.course.centre, cut.course.radius) for cut in own.faces],
        "centre line": [(own.front.course.centre, (own.front.course.radius + own.back.course.radius) / 2)],
        "pin path": [(own.path.centre, own.path.radius)],
    }
    for layer, figures in wanted.items():
        arcs = list(space.query(f'ARC[layer=="{layer}"]'))
        assert len(arcs) == len(figures)
        for arc, (centre, radius) in zip(arcs, figures, strict=True):
            assert abs(arc.dxf.radius - radius) < 1e-9
            at = (arc.dxf.center.x + DATUM_AT[0] - centre[0], arc.dxf.center.y + DATUM_AT[1] - centre[1])
            assert np.hypot(*at) < 1e-9
    for arc, cut in zip(space.query('ARC[layer=="slot finished"]'), own.faces, strict=True):
        ends = sorted((tuple(p.xyz[:2]) for p in (arc.start_point, arc.end_point)), key=lambda p: p[1])
        for (x, y), place in zip(ends, (-slot.bottom, slot.top), strict=True):
            at = slot.point(cut.face, place, slot.depth(cut.face, place, cut.course)) - np.array(DATUM_AT)
            assert np.hypot(x - at[0], y - at[1]) < 1e-9
        assert abs((arc.dxf.end_angle - arc.dxf.start_angle) % 360 - np.degrees(260 / 950)) < 0.5


def points(entity: Any) -> Any:
    """Points of a line or an arc as read."""
    if entity.dxftype() == "LINE":
        return np.linspace(entity.dxf.start.xyz[:2], entity.dxf.end.xyz[:2], 51)
    start, end = entity.dxf.start_angle, entity.dxf.end_angle
    angles = start + np.linspace(0.0, (end - start) % 360, 51)
    return np.array([[p.x, p.y] for p in entity.vertices(angles)])


def away(point: Any, entity: Any) -> float:
    """How far a point is from a line or arc produced."""
    if entity.dxftype() == "ARC":
        return float(abs(np.hypot(*(point - np.array(entity.dxf.center.xyz[:2]))) - entity.dxf.radius))
    start, end = (np.array(each.xyz[:2]) for each in (entity.dxf.start, entity.dxf.end))
    along, off = (end - start) / np.hypot(*(end - start)), point - start
    return float(abs(along[0] * off[1] - along[1] * off[0]))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("one_pass", [False, True])
def test_the_cutter_s_centre_stays_half_the_cutter_from_the_faces(kind: str, one_pass: bool) -> None:
    width = piece_of(kind).proposal.width
    piece = piece_of(kind, tools=Tools(cutter=width if one_pass else 31.0))
    assert piece.one_pass == one_pass
    space = read(written(piece)).modelspace()
    faces = list(space.query('ARC LINE[layer=="slot finished"]'))[:2]
    if kind == "straight":
        faces = [
            each for each in space.query('LINE[layer=="slot finished"]') if abs(each.dxf.start.y - each.dxf.end.y) > 99
        ]
    paths = list(space.query('ARC LINE[layer=="cutter centre"]'))
    assert len(faces) == 2
    assert len(paths) == (1 if one_pass else 2)
    for i, face in enumerate(faces):
        path = paths[0] if one_pass else paths[i]
        assert [away(p, face) for p in points(path)] == pytest.approx([piece.cutter / 2] * 51, abs=1e-6)
        other = faces[1 - i]
        gap = width - piece.cutter / 2
        assert [away(p, other) for p in points(path)] == pytest.approx([gap] * 51, abs=1e-6)
    (round_,) = space.query('CIRCLE[layer=="cutter centre"]')
    assert away(np.array(round_.dxf.center.xyz[:2]), faces[0]) == pytest.approx(round_.dxf.radius, abs=1e-6)


@pytest.mark.parametrize("kind", KINDS)
def test_the_die_block_fits_the_finished_slot_with_its_clearance(kind: str) -> None:
    piece = piece_of(kind, tools=Tools(die_hole=30.0))
    space = read(written(piece)).modelspace()
    block = list(space.query('ARC LINE[layer=="die block"]'))[:2]
    (hole,) = space.query('CIRCLE[layer=="die block"]')
    for face, edge in zip(piece.proposal.faces, block, strict=True):
        assert edge.dxftype() == ("LINE" if kind == "straight" else "ARC")
        if kind != "straight":
            assert abs(edge.dxf.radius - face.course.radius) == pytest.approx(piece.work.done.clearance / 2, abs=1e-9)
    front, back = (away(np.array(hole.dxf.center.xyz[:2]), edge) for edge in block)
    assert front + back == pytest.approx(piece.proposal.width - piece.work.done.clearance, abs=1e-6)
    assert (back - front) / 2 == pytest.approx(piece.proposal.die.pin_offset, abs=1e-6)
    assert hole.dxf.radius == pytest.approx(15.0, abs=1e-12)


def test_worn_faces_pass_through_the_readings_and_the_datum_is_the_origin() -> None:
    piece = piece_of("forward")
    work, document = piece.work.done, read(written(piece))
    lines = list(document.modelspace().query('LWPOLYLINE[layer=="slot as worn"]'))
    assert len(lines) == 2
    for line, face in zip(lines, ("front", "back"), strict=True):
        corners = np.array([p[:2] for p in line.get_points()])
        own = work.readings.on(face)
        for place, loss in zip(own.places, own.losses, strict=True):
            at = work.drawing.point(face, place, loss) - np.array(DATUM_AT)
            assert np.min(np.hypot(*(corners - at).T)) < 1e-9
    cross = document.modelspace().query('LINE[layer=="datum"]')
    middles = {tuple(np.round((line.dxf.start + line.dxf.end).xyz[:2], 6) / 2) for line in cross}
    assert middles >= {(0.0, 0.0), (-78.0, -307.5)}
    assert len(middles) == 3  # and the centre of the arcs


@pytest.mark.parametrize("unit", UNITS)
def test_file_is_r2010_in_the_engine_s_unit_with_plain_layers_and_no_faults(unit: str) -> None:
    document = read(written(piece_of("backward", unit=unit), unit))
    assert document.dxfversion == "AC1024"
    assert (document.header["$INSUNITS"], document.header["$MEASUREMENT"]) == (UNITS[unit][1], int(unit == "mm"))
    assert set(LAYERS) <= {layer.dxf.name for layer in document.layers}
    used = {each.dxf.layer for each in document.modelspace()}
    assert used == set(LAYERS)
    audit = document.audit()
    assert audit.errors == []
    assert audit.fixes == []
    words = [each.dxf.text for each in document.modelspace().query('TEXT[layer=="title"]')]
    assert words == ["Limpet: as found, left side", "1. a note"]


def test_same_drawing_gives_the_same_text_and_another_gives_another() -> None:
    text = written(piece_of("forward"))
    assert written(piece_of("forward")) == text
    assert written(piece_of("forward", tools=Tools(cutter=20.0))) != text
    assert ezdxf.options.write_fixed_meta_data_for_testing is False  # type: ignore[attr-defined]
