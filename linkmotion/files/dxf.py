"""A clean-up proposal as a DXF drawing: true arcs, or lines, full size, millimetres, the datum at the origin.

Layers:

============  ==========================================================
drawn slot    both faces as drawn (arcs; lines of a straight slot, as below)
worn faces    both faces as read (polylines through the readings)
cut arcs      both faces finished (arcs; "cut lines" of a straight slot)
centre line   the drawn centre line (arc)
pin path      of the die pin with the die as proposed (arc)
datum         a cross at the datum, and one at the finished arcs' centre
============  ==========================================================
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np

from linkmotion.linkage.parts import XY
from linkmotion.studies.slot.cleanup import CleanUp
from linkmotion.studies.slot.parts import Proposal
from linkmotion.wear.slot_drawing import FACES, FRONT, Arc, Course, Line, SlotDrawing
from linkmotion.wear.slot_faces import WornFace

DRAWN, WORN, LINE, PATH, DATUM = "drawn slot", "worn faces", "centre line", "pin path", "datum"
CUT = {"arc": "cut arcs", "line": "cut lines"}
_COLOURS = {DRAWN: 8, WORN: 1, LINE: 3, PATH: 6, DATUM: 7}  # AutoCAD colour index
_CUT_COLOUR = 5
_CROSS = 10.0  # mm, half a cross


def as_dxf(done: CleanUp, proposal: Proposal, datum: XY = (0.0, 0.0)) -> str:
    """A proposal as the text of a DXF file (R2010).

    Parameters
    ----------
    datum : (x, y)
        Place of the drawing's origin from mid slot, mm.
    """
    from ezdxf.filemanagement import new

    with _repeatable():
        document = new("R2010", units=4)  # millimetres
        document.header["$MEASUREMENT"] = 1  # metric
        for name, colour in (_COLOURS | {CUT[done.drawing.course]: _CUT_COLOUR}).items():
            document.layers.add(name, color=colour)
        _draw(document.modelspace(), done, proposal, datum)
        for key in ("$TDCREATE", "$TDUPDATE", "$TDUCREATE", "$TDUUPDATE"):
            document.header[key] = 2451544.5  # 1 January 2000, as a Julian date
        out = io.StringIO()
        document.write(out)
    return out.getvalue()


def _draw(space: Any, done: CleanUp, proposal: Proposal, datum: XY) -> None:
    """Draw everything into a modelspace."""
    drawing, origin = done.drawing, complex(*datum)
    for face in FACES:
        _course(space, drawing, drawing.shifted(0j, drawing.size(face)), DRAWN, datum)
        worn = WornFace(drawing, face, done.readings.on(face))
        points = drawing.point(face, worn.stations, worn.loss(worn.stations)) - np.array(datum)
        space.add_lwpolyline(points.tolist(), dxfattribs={"layer": WORN})
    for cut in proposal.faces:
        _course(space, drawing, cut.course, CUT[drawing.course], datum)
    _course(space, drawing, drawing.line, LINE, datum)
    _course(space, drawing, proposal.path, PATH, datum)
    course = proposal.front.course
    for cross in (0j, course.place - origin) if isinstance(course, Arc) else (0j,):
        x, y = cross.real, cross.imag
        space.add_line((x - _CROSS, y), (x + _CROSS, y), dxfattribs={"layer": DATUM})
        space.add_line((x, y - _CROSS), (x, y + _CROSS), dxfattribs={"layer": DATUM})


def _course(space: Any, drawing: SlotDrawing, course: Course, layer: str, datum: XY) -> None:
    """A course from one end of the slot to the other, the ends square to the drawn slot; DXF arcs run anticlockwise."""
    ends, attributes = np.array([-drawing.bottom, drawing.top]), {"layer": layer}
    bottom, top = drawing.point(FRONT, ends, drawing.depth(FRONT, ends, course)) - np.array(datum)
    if isinstance(course, Line):
        space.add_line(tuple(bottom.tolist()), tuple(top.tolist()), dxfattribs=attributes)
        return
    centre = np.array(course.centre) - np.array(datum)
    angles = [float(np.degrees(np.arctan2(*(end - centre)[::-1]))) % 360.0 for end in (bottom, top)]
    start, end = angles if course.centre[0] < 0 else angles[::-1]
    space.add_arc(tuple(centre.tolist()), float(course.radius), start, end, dxfattribs=attributes)


@contextmanager
def _repeatable() -> Iterator[None]:
    """Within it the same drawing gives the same file: no time of writing, no identity made up by chance."""
    import ezdxf

    options: Any = vars(ezdxf)["options"]  # the library's one object of settings, for the whole process
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before
