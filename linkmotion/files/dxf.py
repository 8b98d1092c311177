"""A clean-up proposal as a DXF drawing: true arcs, full size, millimetres, the datum at the origin.

Layers:

============  ==========================================================
drawn slot    both faces as drawn (arcs)
worn faces    both faces as read (polylines through the readings)
cut arcs      both faces finished (arcs)
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
from linkmotion.wear.slot_faces import FACES, Arc, SlotDrawing, WornFace

DRAWN, WORN, CUT, LINE, PATH, DATUM = "drawn slot", "worn faces", "cut arcs", "centre line", "pin path", "datum"
_COLOURS = {DRAWN: 8, WORN: 1, CUT: 5, LINE: 3, PATH: 6, DATUM: 7}  # AutoCAD colour index
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
        for name, colour in _COLOURS.items():
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
        drawn = Arc(drawing.centre, drawing.face_radius(face))
        _arc(space, drawing, drawn, DRAWN, datum)
        worn = WornFace(drawing, face, done.readings.on(face))
        points = drawing.point(face, worn.stations, worn.loss(worn.stations)) - np.array(datum)
        space.add_lwpolyline(points.tolist(), dxfattribs={"layer": WORN})
    for cut in proposal.faces:
        _arc(space, drawing, cut.arc, CUT, datum)
    _arc(space, drawing, Arc(drawing.centre, drawing.radius), LINE, datum)
    _arc(space, drawing, proposal.path, PATH, datum)
    for cross in (0j, proposal.front.arc.place - origin):
        x, y = cross.real, cross.imag
        space.add_line((x - _CROSS, y), (x + _CROSS, y), dxfattribs={"layer": DATUM})
        space.add_line((x, y - _CROSS), (x, y + _CROSS), dxfattribs={"layer": DATUM})


def _arc(space: Any, drawing: SlotDrawing, arc: Arc, layer: str, datum: XY) -> None:
    """An arc from one end of the slot to the other, the ends square to the drawn slot; DXF arcs run anticlockwise."""
    ends = np.array([-drawing.bottom, drawing.top])
    shift = arc.place - complex(*drawing.centre)
    turned = shift * np.conj(drawing.ray(ends))
    along = turned.real + np.sqrt(arc.radius**2 - turned.imag**2)
    angles = np.degrees(np.angle(along * drawing.ray(ends) - shift)) % 360.0
    start, end = angles if drawing.forth < 0 else angles[::-1]
    centre = arc.place - complex(*datum)
    space.add_arc((centre.real, centre.imag), float(arc.radius), float(start), float(end), dxfattribs={"layer": layer})


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
