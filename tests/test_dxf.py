"""The DXF drawing read again by its library: the same arcs, layers and unit; the same text each time."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any

import ezdxf
import numpy as np
import pytest

from linkmotion.files.dxf import CUT, DATUM, DRAWN, LINE, PATH, WORN, as_dxf
from linkmotion.studies.slot.cleanup import CleanUp, clean_up
from linkmotion.wear.curved_slot import CurvedDrawing
from linkmotion.wear.slot_faces import FaceReadings, SlotReadings

DATUM_AT = (-12.0, 7.5)


def done(forward: bool) -> CleanUp:
    slot = CurvedDrawing(radius=950.0, width=48.0, concave_forward=forward, top=140.0, bottom=120.0)
    places = np.linspace(-100, 120, 8)
    front = FaceReadings(places, 0.4 + 0.002 * places + 0.1 * np.cos(places / 30))
    return clean_up(slot, SlotReadings(front, FaceReadings(places, 0.3 - 0.001 * places), 0.02))


def read(text: str) -> Any:
    return ezdxf.read(io.StringIO(text))  # type: ignore[attr-defined]


@pytest.mark.parametrize("forward", [True, False])
@pytest.mark.parametrize("name", ["drawn centre", "worn centre"])
def test_arcs_read_again_are_the_same(name: str, forward: bool) -> None:
    work = done(forward)
    own, slot, cut_arcs = work.proposal(name), work.drawing, CUT["arc"]
    assert isinstance(slot, CurvedDrawing)
    document = read(as_dxf(work, own, DATUM_AT))
    arcs = {
        layer: list(document.modelspace().query(f'ARC[layer=="{layer}"]')) for layer in (DRAWN, cut_arcs, LINE, PATH)
    }
    wanted = {
        DRAWN: [(slot.centre, slot.size(face)) for face in ("front", "back")],
        cut_arcs: [(cut.course.centre, cut.course.radius) for cut in own.faces],
        LINE: [(slot.centre, slot.radius)],
        PATH: [(own.path.centre, own.path.radius)],
    }
    for layer, figures in wanted.items():
        assert len(arcs[layer]) == len(figures)
        for arc, (centre, radius) in zip(arcs[layer], figures, strict=True):
            assert abs(arc.dxf.radius - radius) < 1e-9
            assert (
                np.hypot(arc.dxf.center.x + DATUM_AT[0] - centre[0], arc.dxf.center.y + DATUM_AT[1] - centre[1]) < 1e-9
            )


@pytest.mark.parametrize("forward", [True, False])
def test_arcs_run_along_the_slot_and_not_round_the_rest_of_the_circle(forward: bool) -> None:
    work = done(forward)
    own, slot = work.proposal("worn centre"), work.drawing
    document = read(as_dxf(work, own, DATUM_AT))
    for arc, cut in zip(document.modelspace().query(f'ARC[layer=="{CUT["arc"]}"]'), own.faces, strict=True):
        ends = sorted((tuple(p.xyz[:2]) for p in (arc.start_point, arc.end_point)), key=lambda p: p[1])
        for (x, y), place in zip(ends, (-slot.bottom, slot.top), strict=True):
            wanted = slot.point(cut.face, place, slot.depth(cut.face, place, cut.course)) - np.array(DATUM_AT)
            assert np.hypot(x - wanted[0], y - wanted[1]) < 1e-9
        turned = (arc.dxf.end_angle - arc.dxf.start_angle) % 360
        assert abs(turned - np.degrees(260 / 950)) < 0.5


def test_worn_faces_pass_through_the_readings_and_the_datum_is_the_origin() -> None:
    work = done(True)
    document = read(as_dxf(work, work.proposals[0], DATUM_AT))
    lines = list(document.modelspace().query(f'LWPOLYLINE[layer=="{WORN}"]'))
    assert len(lines) == 2
    for line, face in zip(lines, ("front", "back"), strict=True):
        points = np.array([p[:2] for p in line.get_points()])
        own = work.readings.on(face)
        for place, loss in zip(own.places, own.losses, strict=True):
            at = work.drawing.point(face, place, loss) - np.array(DATUM_AT)
            assert np.min(np.hypot(*(points - at).T)) < 1e-9
    cross = document.modelspace().query(f'LINE[layer=="{DATUM}"]')
    middles = {tuple(np.round((line.dxf.start + line.dxf.end).xyz[:2], 6) / 2) for line in cross}
    assert (0.0, 0.0) in middles
    assert len(cross) == 4


def test_file_is_r2010_in_millimetres_with_plain_layers_and_no_faults() -> None:
    work = done(True)
    document = read(as_dxf(work, work.proposals[1]))
    assert document.dxfversion == "AC1024"
    assert (document.header["$INSUNITS"], document.header["$MEASUREMENT"]) == (4, 1)
    assert {DRAWN, WORN, CUT["arc"], LINE, PATH, DATUM} <= {layer.dxf.name for layer in document.layers}
    assert document.audit().errors == []


def test_same_drawing_gives_the_same_text_and_another_gives_another() -> None:
    work = done(True)
    text = as_dxf(work, work.proposals[1])
    assert as_dxf(done(True), done(True).proposals[1]) == text
    other = replace(work.proposals[1], path=replace(work.proposals[1].path, radius=951.0))
    assert as_dxf(work, other) != text
    assert ezdxf.options.write_fixed_meta_data_for_testing is False  # type: ignore[attr-defined]
