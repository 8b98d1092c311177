"""What is to be machined: the limits, the cut on each face, the die block, and where its pin then runs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.studies.slot.least_metal import Faces, FaceToCut, Finished
from linkmotion.wear.slot_drawing import FRONT, Course, Floats, SlotError
from linkmotion.wear.slot_faces import WornFace

_CLEAN = 1e-3  # mm: a hollow within a limit that no gauge would find is told as clean


@dataclass(frozen=True)
class Limits:
    """How deep the faces may go, mm; what is not given is no limit.

    Attributes
    ----------
    cut_front, cut_back : float
        Deepest cut below the worn surface.
    wall_front, wall_back : float
        Metal behind each face as drawn.
    least_wall : float
        What must be left of it.
    """

    cut_front: float = np.inf
    cut_back: float = np.inf
    wall_front: float = np.inf
    wall_back: float = np.inf
    least_wall: float = 0.0

    def __post_init__(self) -> None:
        figures = (self.cut_front, self.cut_back, self.wall_front, self.wall_back, self.least_wall)
        if np.any(np.isnan(figures)) or min(figures) < 0:
            raise SlotError("a limit is below zero", "give every limit as a depth or a thickness of metal")

    def wall(self, face: str) -> float:
        """Metal behind a face as drawn."""
        return self.wall_front if face == FRONT else self.wall_back

    def on(self, worn: WornFace, allowance: float = 0.0) -> FaceToCut:
        """A worn face with its limits.

        Parameters
        ----------
        worn : WornFace
            The face.
        allowance : float
            How far below the worn surface the finished one must lie to count as clean, mm.
        """
        cut = self.cut_front if worn.face == FRONT else self.cut_back
        return FaceToCut(worn, cut, self.wall(worn.face) - self.least_wall, allowance)


@dataclass(frozen=True)
class Tools:
    """With what is cut, and how it is measured, mm; what is None is chosen by the drawing.

    Attributes
    ----------
    cutter : float or None
        Diameter of the cutter.
    station_step : float or None
        From one station along the slot to the next.
    die_hole : float or None
        Diameter of the die block's pin hole; where it is None that is said.
    """

    cutter: float | None = None
    station_step: float | None = None
    die_hole: float | None = None

    def see(self, slot: float, die: float, length: float) -> None:
        """See that they suit a slot.

        Parameters
        ----------
        slot, die, length : float
            Widths of slot and die block, and the slot's length, mm.

        Raises
        ------
        SlotError
            One does not.
        """
        if self.cutter is not None and self.cutter > slot + 1e-6:
            words = "a cutter of {0} does not go into a slot finished {1} wide"
            raise SlotError(words, "give a cutter no wider than the slot, or none", self.cutter, slot)
        if self.die_hole is not None and self.die_hole >= die:
            words = "a hole of {0} is as wide as the die block, {1}"
            raise SlotError(words, "look at die_hole's unit", self.die_hole, die)
        if self.station_step is not None and not length / 100 <= self.station_step <= length:
            words = "stations {0} apart do not suit a slot {1} long"
            raise SlotError(words, "give a step of some tenths of its length, or none", self.station_step, length)


@dataclass(frozen=True, eq=False)
class FaceCut:
    """What is done to one face.

    Attributes
    ----------
    face : str
        "front" or "back".
    course : Arc or Line
        The finished face.
    places, cut, hollow : float array
        On the fine grid: along the slot; metal to be cut from the worn surface; what the worn surface still lies below
        the finished face where it does not clean up (one of the two is nought), mm square to the drawn face.
    read_places, read_cut, read_hollow : float array
        The same at the readings, in the order read.
    wall_left : float
        Least metal left behind the face, mm; infinite when the wall is not known.
    wall_place : float
        Where.
    """

    face: str
    course: Any
    places: Floats
    cut: Floats
    hollow: Floats
    read_places: Floats
    read_cut: Floats
    read_hollow: Floats
    wall_left: float
    wall_place: float

    @property
    def clean(self) -> bool:
        """Whether the whole face cleans up."""
        return not np.any(self.hollow > 0)


@dataclass(frozen=True)
class DieBlock:
    """Die block for a finished slot, mm.

    Attributes
    ----------
    front, back : Arc or Line
        Its faces, as they lie in the finished slot.
    width : float
        Between its faces.
    pin_offset : float
        Pin hole ahead of the middle of the block (negative behind).
    """

    front: Any
    back: Any
    width: float
    pin_offset: float


@dataclass(frozen=True, eq=False)
class Proposal:
    """One way to clean up.

    Attributes
    ----------
    name : str
        "drawn centre", "worn centre" (of a straight slot "line"), and each with ", limited".
    front, back : FaceCut
        The faces.
    mean_cut : float
        Mean over both faces along the slot, mm.
    width : float
        Of the finished slot, square to its faces, mm.
    die : DieBlock
        To be made.
    path : Arc or Line
        Of the pin in the link, with that die.
    residual : float
        Greatest distance of that path from the drawn centre line within the pin's reach, mm.
    plain_path : Arc or Line
        Of the pin with a die that has its hole in the middle.
    plain_residual : float
        The same distance for it, mm.
    """

    name: str
    front: FaceCut
    back: FaceCut
    mean_cut: float
    width: float
    die: DieBlock
    path: Any
    residual: float
    plain_path: Any
    plain_residual: float

    @property
    def faces(self) -> tuple[FaceCut, FaceCut]:
        """Front and back."""
        return self.front, self.back


def proposal_from(name: str, faces: Faces, made: Finished, limits: Limits, clearance: float) -> Proposal:
    """What is to be machined when both faces are cut to one shift."""
    drawing = faces[0].worn.drawing
    front, back = (_cut(face, course, limits) for face, course in zip(faces, made.courses, strict=True))
    width = drawing.apart(front.course, back.course)
    middle = drawing.beside(back.course, width / 2)
    path, residual = drawing.nearest_path(middle)
    die = DieBlock(
        drawing.beside(front.course, -clearance / 2),
        drawing.beside(back.course, clearance / 2),
        width - clearance,
        drawing.apart(path, middle),
    )
    mean = float(faces[0].weights @ front.cut + faces[1].weights @ back.cut) / 2
    plain_residual = max(map(abs, drawing.strays(middle)))
    return Proposal(name, front, back, mean, width, die, path, residual, middle, plain_residual)


def _cut(face: FaceToCut, course: Course, limits: Limits) -> FaceCut:
    """One face finished to a course."""
    worn, places = face.worn, face.stations
    read = worn.readings.places

    def part(at: Floats) -> tuple[Floats, Floats]:
        over = worn.drawing.depth(worn.face, at, course) - worn.loss(at)
        return np.maximum(over, 0.0), np.where(over < -_CLEAN, -over, 0.0)

    cut, hollow = part(places)
    left = limits.wall(worn.face) - (face.loss + cut)
    return FaceCut(
        worn.face, course, places, cut, hollow, read, *part(read), float(left.min()), float(places[left.argmin()])
    )
