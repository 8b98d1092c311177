"""The readings sheet: a page for the clipboard, with a box for everything that a fitter reads in each notch."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import Any

from linkmotion.engine import DRAWING, Engine
from linkmotion.files.lengths import UNIT_NAMES
from linkmotion.files.readings_form import Asked, asked
from linkmotion.sides import side_words
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.side_drawing import elevation_of
from linkmotion.views.drawing import height_for, plot_gear
from linkmotion.views.paper import sheet_of
from linkmotion.views.pictures import Picture
from linkmotion.views.style import as_svg
from linkmotion.views.tables import CAUTION

HOW_READ = {
    "lead": "steam opening on that end's dead centre, valve against port; a minus sign where the edge still overlaps",
    "opening": "greatest steam opening in a turn",
    "cutoff": "piston from that end's dead centre when the port closes, on the slide bar: percent of the stroke, or a "
    "length",
    "die height": "{die}, engine on front dead centre",
}
"""What is read, in the order of the columns, and how."""
_AT = {"lead": "valve", "opening": "valve", "cutoff": "crosshead", "die height": "die"}
"""At which part of the drawing."""
_CLOSE = (0.0, 0.0, 0.0, 0.0)
_WIDE = 6.4  # inches: the picture, on either paper


def readings_sheet(engine: Engine, sides: Sequence[SideEvents], unit: str, notches: tuple[str, ...] = ()) -> str:
    """The page, as HTML.

    Parameters
    ----------
    sides : sequence of SideEvents
        A sheet each; they tell in which direction each notch drives, and what there is to read.
    unit : str
        In which lengths are read.
    notches : tuple of str
        Those wanted; all, if empty.
    """
    first = sides[0]
    rows = list(_rows(asked(first, notches)))
    ends = {kind: max(row["boxes"].get(kind, 0) for row in rows) for kind in HOW_READ}
    kinds = [kind for kind in HOW_READ if ends[kind]]
    letters = dict(zip(kinds, "ABCD", strict=False))
    return sheet_of(
        "readings_sheet.html",
        engine=engine,
        believed="as drawn" if first.state == DRAWING else f"state “{first.state}”",
        sides=[(side_words(side.side), _where(engine, side, kinds, letters).data) for side in sides],
        unit_name=UNIT_NAMES[unit],
        of=f"{engine.name}, {first.state}: readings",
        kinds=kinds,
        ends=ends,
        letters=letters,
        how={kind: HOW_READ[kind].format(die=first.gear.die_read) for kind in kinds},
        rows=rows,
        caution=CAUTION,
    )


def _where(engine: Engine, side: SideEvents, kinds: list[str], letters: dict[str, str]) -> Picture:
    """The engine on front dead centre, with the letters of what is read at each part."""
    told: dict[str, str] = {}
    for kind in kinds:
        own = f"{letters[kind]} {kind}"
        told[_AT[kind]] = f"{told[_AT[kind]]}, {own}" if _AT[kind] in told else own
    elevation = elevation_of(side, engine)

    def draw(ax: Any) -> None:
        plot_gear(side, 0, 0.0, ax, False, unit=engine.unit, engine=engine, elevation=elevation, marked=told)

    return Picture("where", "", "", as_svg(draw, (_WIDE, height_for(elevation, _WIDE)), margins=_CLOSE), wide=True)


def _rows(asked_for: Iterable[Asked]) -> Iterator[dict[str, Any]]:
    """A line for each notch and direction: what is read there, and at how many ends."""
    for notch, group in groupby(asked_for, key=lambda one: one.notch):
        own = list(group)
        first, *others = [one.direction for one in own if one.direction]
        for directions in (("", first), *((other,) for other in others)):
            boxes = {one.kind: 2 if one.ended else 1 for one in own if one.direction in directions}
            yield {"notch": notch, "direction": directions[-1], "boxes": boxes}
