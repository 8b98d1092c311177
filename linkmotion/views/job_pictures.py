"""Pictures of a job card: the side with what is worked on drawn heavier, and each part with its dimensions lettered."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from linkmotion.elevation.side_elevation import Elevation, pins_of
from linkmotion.engine import Engine
from linkmotion.gears.letters import letters
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.repairs.job import Job, JobFigure
from linkmotion.studies.side_drawing import elevation_of
from linkmotion.views.drawing import height_for, plot_gear
from linkmotion.views.measuring_parts import Drawing
from linkmotion.views.measuring_sheets import part_picture
from linkmotion.views.parts_off import LINK, body_of
from linkmotion.views.pictures import Picture
from linkmotion.views.style import as_svg

_WIDE, _CROWDED, _PART = 5.4, 4.8, 3.4  # inches: the side; the same where little room is left; a part
_HIGH = 2.1  # inches: of a part's picture at most
_CLOSE = (0.0, 0.0, 0.0, 0.0)


def letter_of(engine: Engine, own: JobFigure) -> str:
    """Letter of the dimension that a figure is of, as on the measuring sheets; "" of what the gauge finds."""
    table, key = own.key
    known = letters(engine.gear_type)
    return known.get((table, key)) or known.get((table, key.split(".")[0]), "")


def side_picture(engine: Engine, job: Job, events: SideEvents, told: dict[str, str], roomy: bool) -> Picture:
    """The side of the engine, with what is to be said at each body that is worked on.

    Parameters
    ----------
    engine, job, events : Engine, Job, SideEvents
        As read; the job; the side before it.
    told : dict of str
        By body.
    roomy : bool
        Whether there is room for it.
    """
    elevation = elevation_of(events, engine)

    def draw(ax: Any) -> None:
        plot_gear(events, 0, 0.0, ax, False, unit=engine.unit, engine=engine, elevation=elevation, marked=told)

    wide = _WIDE if roomy else _CROWDED
    return Picture("job", "", "", as_svg(draw, (wide, height_for(elevation, wide)), margins=_CLOSE), wide=True)


def part_pictures(engine: Engine, job: Job) -> Iterator[Picture]:
    """Each part of which dimensions are altered, with their letters, as on the measuring sheets."""
    keys = {own.key for own in job.figures if own.key[0] != "wear"}
    if not keys:
        return
    drawing = Drawing.of(engine, job.sides[0] if job.sides else None)
    marks = [drawing.marks[key] for key in drawing.marks if key in keys]
    for group in drawing.groups(marks):
        yield part_picture(drawing, group, {mark.body for mark in group}, _HIGH, _PART)


def bodies_worked_on(engine: Engine, job: Job, side: str, elevation: Elevation) -> dict[str, list[JobFigure]]:
    """Bodies of the drawing that a job works on, each with the figures that are of it; a slot's link with none.

    Parameters
    ----------
    engine, job, side, elevation : Engine, Job, str, Elevation
        As read; on which side; as it is drawn.
    """
    bodies = {body.name: body.kind for body in elevation.bodies if body.spine}
    link = next((name for name, kind in bodies.items() if kind == LINK), "")
    found: dict[str, list[JobFigure]] = {link: []} if link and side in job.slots else {}
    for own in job.figures:
        if own.side == side and (name := _body(engine, own, elevation, bodies, link)):
            found.setdefault(name, []).append(own)
    return found


def _body(engine: Engine, own: JobFigure, elevation: Elevation, bodies: dict[str, str], link: str) -> str:
    table, key = own.key
    if table != "wear":
        dimension = (table, key.split(".")[0] if key.startswith("notches") else key)
        return body_of(dimension, engine.gear(side=own.side), bodies)
    kind, _, name = key.partition(".")
    if kind == "clearance":
        drawn = (body.name for body in elevation.bodies if body.spine and name in pins_of(body))
        return next(drawn, "")
    return name if name in bodies else link if kind.startswith("die") else ""
