"""A clean-up proposal as a DXF drawing: full size in the engine's unit, the datum at the origin.

Arcs are arcs, and what is dimensioned bears dimensions of the format's own, which measure the geometry. Layers:

==============  ======================================================================
slot as drawn   both faces and the centre line as drawn
slot as worn    both faces as read (polylines through the readings)
slot finished   both faces as they are to be cut, and the slot's ends
centre line     of the finished slot
cutter centre   its path along each face, and the cutter at one place
pin path        of the die pin with the die as proposed
die block       as a detail beside the link
datum           a cross at the datum and at the centre of the arcs; the link's pins
dimensions      every dimension; each bears its key as extended data of "LINKMOTION"
stations        a table of ordinates, and where they are taken
title           whose slot it is, and notes
==============  ======================================================================
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.files.dxf_dimensions import APP, DIMENSIONS, add_dimensions, anticlockwise, define_style
from linkmotion.files.lengths import UNITS
from linkmotion.studies.slot.measures import cutter_at, measures
from linkmotion.studies.slot.stations import Station
from linkmotion.studies.slot.workpiece import (
    CUTTER,
    DATUM,
    DIE,
    DRAWN,
    FINISHED,
    MIDDLE,
    PATH,
    WORN,
    Stroke,
    Workpiece,
)
from linkmotion.wear.slot_drawing import BACK, FRONT

STATIONS, TITLE = "stations", "title"
_LAYERS = {  # colour index, line type, hundredths of a millimetre
    DRAWN: (8, "DASHED", 18), WORN: (1, "CONTINUOUS", 18), FINISHED: (5, "CONTINUOUS", 50), MIDDLE: (3, "CENTER", 18),
    CUTTER: (30, "PHANTOM", 18), PATH: (6, "DASHDOT", 18), DIE: (4, "CONTINUOUS", 35), DATUM: (7, "CONTINUOUS", 25),
    DIMENSIONS: (7, "CONTINUOUS", 18), STATIONS: (7, "CONTINUOUS", 13), TITLE: (7, "CONTINUOUS", 18),
}  # fmt: skip
_INSUNITS = {"mm": 4, "in": 1, "ft": 2, "thou": 9}  # as the format numbers them
_CROSS = 10.0  # mm, half a cross
_HIGH = 3.0  # mm: letters


@dataclass(frozen=True)
class Lettering:
    """What is written on the drawing.

    Attributes
    ----------
    title, notes : sequence of str
        Lines of the title block; notes under it.
    table : sequence of sequences of str
        The stations: a heading, then a row for each.
    digits : int
        Decimals of a length.
    """

    title: Sequence[str]
    notes: Sequence[str]
    table: Sequence[Sequence[str]]
    digits: int


def as_dxf(piece: Workpiece, placed: Sequence[Station], unit: str, written: Lettering) -> str:
    """A workpiece as the text of a DXF file (R2010).

    Parameters
    ----------
    piece, placed : Workpiece, sequence of Station
        What is drawn, and where ordinates of it are given.
    unit, written : str, Lettering
        In which the drawing is; what is written on it.
    """
    from ezdxf.filemanagement import new

    scale = 1.0 / float(UNITS[unit])
    with _repeatable():
        document = new("R2010", setup=["linetypes"], units=_INSUNITS[unit])
        document.header["$MEASUREMENT"] = int(unit == "mm")
        document.header["$LTSCALE"] = 0.5 * scale * (1.0 if unit == "mm" else 25.4)
        document.appids.add(APP)
        for name, (colour, line, weight) in _LAYERS.items():
            document.layers.add(name, color=colour, linetype=line, lineweight=weight)
        define_style(document, _HIGH * scale, written.digits)
        space = document.modelspace()
        _draw(space, piece, scale)
        _mark(space, placed, scale)
        corner = add_dimensions(space, piece, measures(piece), scale)
        _write(space, written, corner, scale)
        middle = complex(piece.die_at.real / 2, corner.imag / 2)
        document.set_modelspace_vport(2 * abs(corner.imag) * scale, xy(middle, scale))
        for key in ("$TDCREATE", "$TDUPDATE", "$TDUCREATE", "$TDUUPDATE"):
            document.header[key] = 2451544.5  # 1 January 2000, as a Julian date
        out = io.StringIO()
        document.write(out)
    return out.getvalue()


def _draw(space: Any, piece: Workpiece, scale: float) -> None:
    """Everything that has a shape."""
    for stroke in piece.strokes:
        _stroke(space, stroke, scale)
    for worn in piece.worn.values():
        points = np.stack([worn.real, worn.imag], axis=-1) * scale
        space.add_lwpolyline(points.tolist(), dxfattribs={"layer": WORN})
    _circle(space, CUTTER, cutter_at(piece), piece.cutter / 2, scale)
    if piece.hole is not None:
        _circle(space, DIE, piece.hole_at, piece.hole / 2, scale)
    _cross(space, DIE, piece.hole_at, scale)
    centre = piece.middle.centre
    for at in (0j, *piece.pins.values(), *(() if centre is None else (centre,))):
        _cross(space, DATUM, at, scale)


def _stroke(space: Any, stroke: Stroke, scale: float) -> None:
    attributes = {"layer": stroke.part}
    if stroke.centre is None:
        space.add_line(xy(stroke.start, scale), xy(stroke.end, scale), dxfattribs=attributes)
        return
    space.add_arc(xy(stroke.centre, scale), stroke.radius * scale, *anticlockwise(stroke), dxfattribs=attributes)


def xy(place: complex, scale: float) -> tuple[float, float]:
    """A place as the drawing has it.

    Parameters
    ----------
    place, scale : complex, float
        mm from the datum; units of the drawing in a millimetre.
    """
    return place.real * scale, place.imag * scale


def _circle(space: Any, layer: str, centre: complex, radius: float, scale: float) -> None:
    space.add_circle(xy(centre, scale), radius * scale, dxfattribs={"layer": layer})


def _cross(space: Any, layer: str, at: complex, scale: float) -> None:
    for arm in (_CROSS, 1j * _CROSS):
        space.add_line(xy(at - arm, scale), xy(at + arm, scale), dxfattribs={"layer": layer})


def _mark(space: Any, placed: Sequence[Station], scale: float) -> None:
    """The stations across the slot, with their numbers at its middle."""
    for station in placed:
        back, front = (complex(station.faces[face].x, station.y) for face in (BACK, FRONT))
        space.add_line(xy(back, scale), xy(front, scale), dxfattribs={"layer": STATIONS})
        at = back + 0.2 * _HIGH * (1 + 1j)
        _text(space, STATIONS, str(station.number), at, 0.8 * _HIGH, scale)


def _write(space: Any, written: Lettering, corner: complex, scale: float) -> None:
    """Title, notes and table, one under the other from a corner (mm)."""
    y = corner.imag
    for layer, lines, high in ((TITLE, written.title, 1.4 * _HIGH), (TITLE, written.notes, _HIGH)):
        for line in lines:
            _text(space, layer, line, complex(corner.real, y), high, scale)
            y -= 1.8 * high
        y -= high
    wide = 0.85 * _HIGH * max((len(cell) for row in written.table for cell in row), default=0) + 2 * _HIGH
    for row in written.table:
        for column, cell in enumerate(row):
            _text(space, STATIONS, cell, complex(corner.real + wide * column, y), _HIGH, scale)
        y -= 1.8 * _HIGH


def _text(space: Any, layer: str, words: str, at: complex, high: float, scale: float) -> None:
    space.add_text(words, height=high * scale, dxfattribs={"layer": layer, "insert": xy(at, scale)})


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
