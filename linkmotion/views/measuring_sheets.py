"""Measuring sheets: the whole drawing lettered, and for each part a sheet with its dimensions and boxes for them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

from linkmotion.elevation.dimension_marks import DimensionMark
from linkmotion.engine import DRAWING
from linkmotion.files.lengths import UNIT_NAMES
from linkmotion.files.marks_form import marks_form
from linkmotion.sides import side_words
from linkmotion.views.dimension_plot import Box, height_of, plot_dimensions, view_of
from linkmotion.views.measuring_parts import Drawing, Measured, Part
from linkmotion.views.paper import sheet_of
from linkmotion.views.pictures import Picture
from linkmotion.views.style import as_svg
from linkmotion.views.tables import CAUTION
from linkmotion.views.tram_plot import plot_tram

WIDE = 7.2  # inches: a picture, on either paper
_CLOSE = (0.0, 0.0, 0.0, 0.0)
_LEAST, _MOST = 1.3, 3.0  # inches: height of a part's picture
_ROOM, _ROW, _WAY = 8.6, 0.345, 0.2  # of a sheet, its head not counted; what a row of boxes and a way of taking it want
_ALL, _WHEEL = 4.6, 2.9  # of the whole drawing, and of the wheel with its marks


def measuring_sheets(measured: Measured) -> str:
    """The sheets, as HTML: an overview, one for each part, and one for the marks on wheel and slide bar.

    Parameters
    ----------
    measured : Measured
        An engine, or a bare gear.
    """
    drawing = measured.drawing()
    parts = list(measured.parts(drawing))
    if measured.filled and measured.engine is not None:
        of = measured.engine.name
        state = "as drawn" if measured.state == DRAWING else f"state “{measured.state}”"
        state += f", pictures of the {side_words(measured.engine.sides[0])}" if measured.engine.sides_drawn else ""
    else:
        of, state = f"{measured.gear.name} gear", "no engine file: the picture is of no engine, your proportions differ"
    return sheet_of(
        "measuring_sheets.html",
        of=f"{of}, {state if measured.filled else 'bare gear'}: measuring",
        name=of,
        state=state,
        unit_name=UNIT_NAMES[measured.unit],
        unit=measured.unit,
        sides=measured.gear.sides if len(measured.gear.sides) > 1 else ("found",),
        parts=[(part, [] if drawing is None else _pictures(drawing, part)) for part in parts],
        whole="" if drawing is None else _whole(drawing).data,
        wheel="" if drawing is None else _wheel(drawing).data,
        filled=measured.filled,
        marks=marks_form(measured.unit).split("\n\n"),
        caution=CAUTION,
    )


def _whole(drawing: Drawing) -> Picture:
    """The whole drawing with every letter."""
    return part_picture(drawing, list(drawing.marks.values()), None, _ALL)


def _pictures(drawing: Drawing, part: Part) -> list[str]:
    """A part's pictures: where it stands, and the part itself."""
    groups = drawing.groups(part.marks)
    room = _ROOM - _ROW * len(part.rows) - _WAY * len(part.ways)
    most = max(_LEAST, min(_MOST, room / max(len(groups), 1)))
    return [part_picture(drawing, group, {mark.body for mark in group}, most).data for group in groups]


def part_picture(
    drawing: Drawing, marks: Sequence[DimensionMark], bodies: Collection[str] | None, most: float, wide: float = WIDE
) -> Picture:
    """Some bodies of the drawing with their dimensions lettered.

    Parameters
    ----------
    drawing, marks, bodies : Drawing, sequence of DimensionMark, collection of str or None
        Which dimensions, and of what: all else is pale; nothing is for None.
    most, wide : float
        Inches: how high at most, and how wide.
    """
    own, places = drawing.elevation, drawing.places
    view = view_of(own, places, marks, bodies)
    if bodies is None:
        view = _both(view, own.box)

    def draw(ax: Any) -> None:
        plot_dimensions(own, places, marks, ax, bodies=bodies, view=view)

    size = wide, height_of(view, wide, _LEAST, most)
    return Picture("part", "", "", as_svg(draw, size, margins=_CLOSE), wide=True)


def _both(one: Box, two: Box) -> Box:
    """A box about two."""
    return min(one[0], two[0]), min(one[1], two[1]), max(one[2], two[2]), max(one[3], two[3])


def _wheel(drawing: Drawing) -> Picture:
    """Wheel and slide bars, with the places of the marks."""

    def draw(ax: Any) -> None:
        plot_tram(drawing.elevation, drawing.places, ax)

    return Picture("wheel", "", "", as_svg(draw, (WIDE, _WHEEL), margins=_CLOSE), wide=True)
