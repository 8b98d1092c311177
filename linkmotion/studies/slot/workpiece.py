"""What is drawn of a clean-up for the machinist: slot, cutter, die block, pins, as true arcs and straight lines.

Places are complex numbers, mm from the datum, x forward and y up with the link upright. The die block lies beside the
slot as a detail, its middle at ``die_at``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.studies.slot.in_gear import SlotInGear
from linkmotion.studies.slot.parts import Proposal
from linkmotion.wear.slot_drawing import BACK, FACES, FRONT, Arc, Course, Floats
from linkmotion.wear.slot_faces import WornFace

DRAWN, WORN, FINISHED, MIDDLE = "slot as drawn", "slot as worn", "slot finished", "centre line"
CUTTER, PATH, DIE, DATUM = "cutter centre", "pin path", "die block", "datum"
_CUTTERS = {  # diameters commonly kept: common practice, no source
    "mm": (4.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0, 32.0, 40.0, 50.0),
    "in": tuple(25.4 * size for size in (0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 1.0, 1.25, 1.5, 2.0)),
}
_ROOM = 0.75  # of the slot's width: a cutter no wider than this cuts along one face and is clear of the other
_APART = 300.0  # mm from the link to the detail of the die block: room for ordinates between them


@dataclass(frozen=True)
class Stroke:
    """A straight line, or an arc of less than half a turn, from its lower end to its upper one.

    Attributes
    ----------
    part : str
        Of what it is drawn.
    start, end : complex
        mm from the datum.
    centre : complex or None
        Of an arc; its ``radius`` then, mm.
    """

    part: str
    start: complex
    end: complex
    centre: complex | None = None
    radius: float = 0.0

    @property
    def turned(self) -> float:
        """Of an arc: the angle from its start to its end, radians, + anticlockwise."""
        assert self.centre is not None
        return float(np.angle((self.end - self.centre) / (self.start - self.centre)))

    @property
    def length(self) -> float:
        """Along it, mm."""
        return abs(self.end - self.start) if self.centre is None else self.radius * abs(self.turned)

    def at(self, part: Any) -> Any:
        """The point, complex, at a part of its length from its start; parts may be an array."""
        if self.centre is None:
            return self.start + (self.end - self.start) * np.asarray(part)
        first = np.angle(self.start - self.centre)
        return self.centre + self.radius * np.exp(1j * (first + self.turned * np.asarray(part)))

    @property
    def middle(self) -> complex:
        """The point midway along it."""
        return complex(self.at(0.5))

    def points(self, count: int = 61) -> Any:
        """Points along it, complex, shape (count,)."""
        return self.at(np.linspace(0.0, 1.0, count))


@dataclass(frozen=True, eq=False)
class Workpiece:
    """A proposal as it is drawn; lengths mm, places from the datum.

    Attributes
    ----------
    work, proposal : SlotInGear, Proposal
        Of which it is.
    faces, cutters : dict of Stroke
        By face: as finished; the path of the cutter's centre along it.
    middle, path : Stroke
        The finished slot's centre line; the path of the pin with the die as proposed.
    drawn : tuple of Stroke
        Both faces and the centre line as drawn.
    worn : dict of complex array
        Both faces as read.
    cutter, hole : float or None
        Diameters of the cutter, and of the die block's pin hole where it is known.
    pins : dict of complex
        The link's pins.
    die : tuple of Stroke
        Front face and back face of the block, then its ends, bottom and top.
    die_at : complex
        The middle of the block.
    """

    work: SlotInGear
    proposal: Proposal
    faces: dict[str, Stroke]
    cutters: dict[str, Stroke]
    middle: Stroke
    path: Stroke
    drawn: tuple[Stroke, ...]
    worn: dict[str, Any]
    cutter: float
    hole: float | None
    pins: dict[str, complex]
    die: tuple[Stroke, ...]
    die_at: complex

    @property
    def one_pass(self) -> bool:
        """Whether the cutter is as wide as the slot, so that it goes through but once."""
        return abs(self.cutter - self.proposal.width) < 1e-6

    @property
    def strokes(self) -> Iterator[Stroke]:
        """All lines, each once."""
        yield from (*self.drawn, *self.faces.values(), *self.ends, self.middle, self.path)
        yield from list(self.cutters.values())[: 1 if self.one_pass else 2]
        yield from self.die

    @property
    def ends(self) -> tuple[Stroke, Stroke]:
        """From face to face at the slot's ends, bottom and top: the ends of the faces, which are not cut."""
        back, front = self.faces[BACK], self.faces[FRONT]
        return Stroke(FINISHED, back.start, front.start), Stroke(FINISHED, back.end, front.end)

    @property
    def hole_at(self) -> complex:
        """The middle of the die block's pin hole."""
        return self.die_at + self.proposal.die.pin_offset


def workpiece(work: SlotInGear, proposal: Proposal, unit: str = "mm") -> Workpiece:
    """A proposal of a clean-up as it is drawn for the machinist.

    Parameters
    ----------
    work, proposal : SlotInGear, Proposal
        A clean-up in its gear, and one of its proposals.
    unit : str
        In whose sizes a cutter is chosen where none is given.
    """
    drawing, origin, cutter = work.done.drawing, complex(*work.origin), work.tools.cutter
    cutter = cutter if cutter is not None else _cutter_for(drawing.width, unit)
    ends = np.array([-drawing.bottom, drawing.top])

    def stroke(part: str, course: Course) -> Stroke:
        points = drawing.point(FRONT, ends, drawing.depth(FRONT, ends, course))
        start, end = (complex(*point) - origin for point in points)
        return _stroke(part, course, start, end, origin)

    faces = {cut.face: stroke(FINISHED, cut.course) for cut in proposal.faces}
    beside = {FRONT: -cutter / 2, BACK: cutter / 2}
    cutters = {cut.face: stroke(CUTTER, drawing.beside(cut.course, beside[cut.face])) for cut in proposal.faces}
    drawn = tuple(stroke(DRAWN, drawing.shifted(0j, drawing.size(face))) for face in FACES)
    pins = {name: place - origin for name, place in work.pins.items()}
    right = max(p.real for p in (*pins.values(), *(point for face in faces.values() for point in face.points())))
    at = complex(right + _APART + proposal.width, faces[FRONT].middle.imag)
    return Workpiece(
        work, proposal, faces, cutters, stroke(MIDDLE, proposal.plain_path), stroke(PATH, proposal.path),
        (*drawn, stroke(DRAWN, drawing.line)), {face: _worn(work, face) - origin for face in FACES}, cutter,
        work.tools.die_hole, pins, _die(work, proposal, at), at,
    )  # fmt: skip


def _stroke(part: str, course: Course, start: complex, end: complex, origin: complex) -> Stroke:
    if isinstance(course, Arc):
        return Stroke(part, start, end, complex(course.place) - origin, float(course.radius))
    return Stroke(part, start, end)


def _worn(work: SlotInGear, face: str) -> Any:
    """A face as read, from mid slot."""
    drawing = work.done.drawing
    worn = WornFace(drawing, face, work.done.readings.on(face))
    points = drawing.point(face, worn.stations, worn.loss(worn.stations))
    return points[:, 0] + 1j * points[:, 1]


def _die(work: SlotInGear, proposal: Proposal, at: complex) -> tuple[Stroke, ...]:
    """The block in axes of its own, x square to the finished slot abreast of its middle."""
    die, half, middle = proposal.die, (work.done.drawing.die_length or proposal.width) / 2, proposal.plain_path
    ahead = {FRONT: die.width / 2, BACK: -die.width / 2}
    edges = []
    for face, course in ((FRONT, die.front), (BACK, die.back)):
        if isinstance(course, Arc):
            centre = complex(np.copysign(middle.radius, middle.centre[0]))
            own = Arc((centre.real, centre.imag), course.radius)
            foot, head = (complex(_ahead(own, y), y) for y in (-half, half))
            edges.append(Stroke(DIE, at + foot, at + head, at + centre, float(course.radius)))
        else:
            edges.append(Stroke(DIE, at + ahead[face] - 1j * half, at + ahead[face] + 1j * half))
    front, back = edges
    return front, back, Stroke(DIE, back.start, front.start), Stroke(DIE, back.end, front.end)


def course_at(course: Course, y: Floats | float, origin: complex = 0j) -> Any:
    """How far ahead of the datum a course of a slot stands at a height above it, mm.

    Parameters
    ----------
    course : Arc or Line
        From mid slot.
    y : float or array
        From the datum.
    origin : complex
        The datum, from mid slot.
    """
    return _ahead(course, np.asarray(y) + origin.imag) - origin.real


def _ahead(course: Course, y: Any) -> Any:
    if isinstance(course, Arc):
        x, up = course.centre
        return x - np.copysign(np.sqrt(course.radius**2 - (y - up) ** 2), x)
    return course.ahead + course.lean * y


def _cutter_for(width: float, unit: str) -> float:
    """The widest cutter commonly kept that goes along one face clear of the other, mm."""
    kept = _CUTTERS["mm" if unit == "mm" else "in"]
    return max((size for size in kept if size <= _ROOM * width), default=_ROOM * width)
