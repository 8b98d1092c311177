"""Ordinates of the finished faces and of the cutter's centre, for a mill that has no radius jig."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linkmotion.studies.slot.workpiece import Workpiece, course_at
from linkmotion.wear.slot_drawing import BACK, FACES, FRONT

_STEPS = {  # from one station to the next, mm
    "mm": (5.0, 10.0, 20.0, 25.0, 50.0, 100.0),
    "in": tuple(25.4 * step for step in (0.25, 0.5, 1.0, 2.0, 4.0)),
}
_MOST = 15  # stations


@dataclass(frozen=True)
class FaceAt:
    """A face at a station; mm.

    Attributes
    ----------
    x : float
        The finished face ahead of the datum.
    cut, low : float
        What is cut there, square to the drawn face; what the worn surface still lies below the finished one.
    cutter_x : float
        The cutter's centre ahead of the datum when it is at this height.
    """

    x: float
    cut: float
    low: float
    cutter_x: float


@dataclass(frozen=True)
class Station:
    """One setting of the table across; mm.

    Attributes
    ----------
    number : int
        From the top.
    y : float
        Above the datum.
    faces : dict of FaceAt
        "front" and "back".
    """

    number: int
    y: float
    faces: dict[str, FaceAt]


def stations(piece: Workpiece, unit: str = "mm") -> tuple[Station, ...]:
    """Stations at even distances from the datum, from the top down, as far as both faces reach.

    Parameters
    ----------
    piece : Workpiece
        Of a proposal.
    unit : str
        In which the distances are round where they are not given.
    """
    faces = piece.faces.values()
    low, high = max(face.start.imag for face in faces), min(face.end.imag for face in faces)
    step = piece.work.tools.station_step or _round_step(high - low, unit)
    numbers = np.arange(np.ceil(low / step - 1e-9), np.floor(high / step + 1e-9) + 1)[::-1]
    return tuple(Station(i, float(y), {face: _at(piece, face, float(y)) for face in FACES})
                 for i, y in enumerate(numbers * step, 1))  # fmt: skip


def _round_step(length: float, unit: str) -> float:
    steps = _STEPS["mm" if unit == "mm" else "in"]
    return next((step for step in steps if length / step < _MOST), length / (_MOST - 1))


def _at(piece: Workpiece, face: str, y: float) -> FaceAt:
    drawing, origin = piece.work.done.drawing, complex(*piece.work.origin)
    cut = piece.proposal.faces[FACES.index(face)]
    x = float(course_at(cut.course, y, origin))
    place = float(drawing.place_of(complex(x, y) + origin))
    beside = drawing.beside(cut.course, {FRONT: -piece.cutter / 2, BACK: piece.cutter / 2}[face])
    return FaceAt(
        x, float(np.interp(place, cut.places, cut.cut)), float(np.interp(place, cut.places, cut.hollow)),
        float(course_at(beside, y, origin)),
    )  # fmt: skip
