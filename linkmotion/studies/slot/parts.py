"""What is to be machined: the limits, the cut on each face, the die block, and where its pin then runs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linkmotion.linkage.parts import XY
from linkmotion.studies.slot.least_metal import Faces, FaceToCut, Finished
from linkmotion.wear.slot_faces import BACK, FRONT, Arc, Floats, SlotDrawing, SlotError, WornFace

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


@dataclass(frozen=True, eq=False)
class FaceCut:
    """What is done to one face.

    Attributes
    ----------
    face : str
        "front" or "back".
    arc : Arc
        The finished face.
    places, cut, hollow : float array
        On the fine grid: along the slot; metal to be cut from the worn surface; what the worn surface still lies below
        the finished arc where it does not clean up (one of the two is nought), mm square to the drawn face.
    read_places, read_cut, read_hollow : float array
        The same at the readings, in the order read.
    wall_left : float
        Least metal left behind the face, mm; infinite when the wall is not known.
    wall_place : float
        Where.
    """

    face: str
    arc: Arc
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
    front_radius, back_radius : float
        Of its faces.
    width : float
        Between its faces.
    pin_offset : float
        Pin hole ahead of the middle of the block (negative behind).
    """

    front_radius: float
    back_radius: float
    width: float
    pin_offset: float


@dataclass(frozen=True, eq=False)
class Proposal:
    """One way to clean up.

    Attributes
    ----------
    name : str
        "drawn centre", "worn centre", and each with ", limited".
    front, back : FaceCut
        The faces.
    mean_cut : float
        Mean over both faces along the slot, mm.
    width : float
        Of the finished slot, measured through its centre of curvature, mm.
    die : DieBlock
        To be made.
    path : Arc
        Of the pin in the link, with that die.
    residual : float
        Greatest distance of that path from the drawn centre line within the pin's reach, mm.
    plain_path : Arc
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
    path: Arc
    residual: float
    plain_path: Arc
    plain_residual: float

    @property
    def centre(self) -> XY:
        """Centre of both finished faces, (x, y) mm from mid slot."""
        return self.front.arc.centre

    @property
    def faces(self) -> tuple[FaceCut, FaceCut]:
        """Front and back."""
        return self.front, self.back


def proposal_from(name: str, faces: Faces, made: Finished, limits: Limits, clearance: float) -> Proposal:
    """What is to be machined when both faces are cut about one centre.

    Parameters
    ----------
    name : str
        Of the proposal.
    faces, made : pair of FaceToCut, Finished
        Front and back; as they are cut.
    limits : Limits
        Of which the walls are looked at.
    clearance : float
        Of the die square to the slot, both sides together, mm.
    """
    drawing = faces[0].worn.drawing
    front, back = (_cut(face, arc, limits) for face, arc in zip(faces, made.arcs, strict=True))
    middle = Arc(front.arc.centre, (front.arc.radius + back.arc.radius) / 2)
    width = drawing.sign(FRONT) * (front.arc.radius - back.arc.radius)
    path, residual = nearest_path(drawing, middle.centre)
    die = DieBlock(
        front.arc.radius - drawing.sign(FRONT) * clearance / 2,
        back.arc.radius - drawing.sign(BACK) * clearance / 2,
        width - clearance,
        drawing.sign(FRONT) * (path.radius - middle.radius),
    )
    mean = float(faces[0].weights @ front.cut + faces[1].weights @ back.cut) / 2
    plain_residual = _distance_from_line(drawing, middle)
    return Proposal(name, front, back, mean, width, die, path, residual, middle, plain_residual)


def _cut(face: FaceToCut, arc: Arc, limits: Limits) -> FaceCut:
    """One face finished to an arc."""
    worn, places = face.worn, face.stations
    read = worn.readings.places

    def part(at: Floats) -> tuple[Floats, Floats]:
        over = worn.drawing.depth(worn.face, at, arc) - worn.loss(at)
        return np.maximum(over, 0.0), np.where(over < -_CLEAN, -over, 0.0)

    cut, hollow = part(places)
    left = limits.wall(worn.face) - (face.loss + cut)
    return FaceCut(
        worn.face, arc, places, cut, hollow, read, *part(read), float(left.min()), float(places[left.argmin()])
    )


def nearest_path(drawing: SlotDrawing, centre: XY) -> tuple[Arc, float]:
    """Arc about a centre nearest to the drawn centre line within the pin's reach, and its greatest distance from it.

    The drawn line's distances from the centre lie between two extremes; the arc stands midway.

    Parameters
    ----------
    drawing : SlotDrawing
        With the die's length, which the pin's reach is short of.
    centre : (x, y)
        mm from mid slot; so is the arc, and the distance is mm.
    """
    low, high = _distances(drawing, centre)
    return Arc(centre, (low + high) / 2), (high - low) / 2


def _distance_from_line(drawing: SlotDrawing, path: Arc) -> float:
    """Greatest distance of an arc from the drawn centre line within the pin's reach, mm."""
    low, high = _distances(drawing, path.centre)
    return float(max(high - path.radius, path.radius - low))


def _distances(drawing: SlotDrawing, centre: XY) -> tuple[float, float]:
    """Least and greatest distance of the drawn centre line from a centre: at the ends, or abreast of the shift."""
    ends = np.array([drawing.die_length / 2 - drawing.bottom, drawing.top - drawing.die_length / 2])
    x, y = centre[0] - drawing.centre[0], centre[1] - drawing.centre[1]
    abreast = drawing.radius * np.arctan(-drawing.forth * y / x) if x else ends[0]
    places = np.append(ends, np.clip(abreast, *ends))
    away = np.hypot(*(drawing.line_point(places) - np.array(centre)).T)
    return float(away.min()), float(away.max())
