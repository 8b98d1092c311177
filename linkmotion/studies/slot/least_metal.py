"""The arcs, or lines, that clean up a slot with the least metal, of a given shift or of the best one.

A shift is of the centre of the arcs, or the lean of the lines (:mod:`linkmotion.wear.slot_drawing`). For one shift the
sizes follow exactly: a face is clean when its course is nowhere above the worn surface, and is cut no deeper than that
needs, or than its limit lets it. What is left to choose is the shift:

    first   the least sum over both faces of the deepest hollow left (nought where all cleans up),
    then    the least mean depth of the finished faces below the drawn ones, along the slot, both faces alike

(with nothing left hollow the second is the mean cut plus the mean loss, which is given). The linear programme in
shift and sizes gives a step; the step is taken when the exact figures are better for it, and shortened when not.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from linkmotion.wear.slot_drawing import REACH, Course, Floats, SlotDrawing
from linkmotion.wear.slot_faces import WornFace

_SLACK = 1e-10  # mm of hollow that is none
_PENALTY = 1e4  # of mean depth, per hollow beyond the least one
_STEPS = 100
_SOLVER = {  # with six unknowns presolving costs more than it saves
    "primal_feasibility_tolerance": 1e-10,
    "dual_feasibility_tolerance": 1e-10,
    "presolve": False,
}


@dataclass(frozen=True, eq=False)
class FaceToCut:
    """A worn face with what may be taken from it.

    Attributes
    ----------
    worn : WornFace
        The face.
    cut : float
        Deepest cut below the worn surface, mm.
    depth : float
        Deepest that the finished face may lie below the drawn one, mm (the wall less what must be left of it).
    allowance : float
        How far below the worn surface the finished one must lie to count as clean, mm.
    """

    worn: WornFace
    cut: float = np.inf
    depth: float = np.inf
    allowance: float = 0.0

    @property
    def limited(self) -> bool:
        """Whether there is any limit."""
        return bool(np.isfinite(min(self.cut, self.depth)))

    @cached_property
    def stations(self) -> Floats:
        """Places looked at, with those where the loss passes the greatest depth, where the limit has a corner."""
        places = self.worn.stations
        over = self.worn.loss(places) - self.depth
        k = np.flatnonzero(over[:-1] * over[1:] < 0) if np.isfinite(self.depth) else np.array([], int)
        corners = places[k] + np.diff(places)[k] * over[k] / (over[k] - over[k + 1])
        return np.unique(np.concatenate([places, corners]))

    @cached_property
    def loss(self) -> Floats:
        """Worn surface below the drawn face at the stations."""
        return self.worn.loss(self.stations)  # type: ignore[no-any-return]

    @cached_property
    def wanted(self) -> Floats:
        """Least depth of a clean face at the stations."""
        return self.loss + self.allowance

    @cached_property
    def allowed(self) -> Floats:
        """Deepest finished surface at the stations; where wear has passed the limit, the worn surface itself."""
        return np.maximum(np.minimum(self.loss + self.cut, self.depth), self.loss)

    @property
    def without_limits(self) -> FaceToCut:
        """The same face, to be cut as deep as it needs."""
        return FaceToCut(self.worn, allowance=self.allowance)

    @cached_property
    def weights(self) -> Floats:
        """Weights of the stations in a mean along the slot."""
        gaps = np.diff(self.stations)
        weights = np.concatenate([gaps, [0.0]]) + np.concatenate([[0.0], gaps])
        return weights / weights.sum()  # type: ignore[no-any-return]

    def size_of(self, shift: complex) -> float:
        """Size of the course of a shift: as deep as clean needs, no deeper than allowed."""
        sign, farthest = self.worn.sign, self.worn.drawing.farthest
        size = sign * farthest(self.worn.face, self.stations, self.wanted, shift, sign)
        if self.limited:
            size = min(size, sign * farthest(self.worn.face, self.stations, self.allowed, shift, -sign))
        return sign * size


@dataclass(frozen=True, eq=False)
class Finished:
    """Both faces cut to one shift.

    Attributes
    ----------
    shift : complex
        As of :mod:`linkmotion.wear.slot_drawing`.
    courses : tuple of Arc, or of Line
        In the order of the faces given.
    hollows : tuple of float
        Deepest hollow left on each face, mm, nought when clean.
    depth : float
        Mean depth of the finished faces below the drawn ones, mm.
    """

    shift: complex
    courses: tuple[Course, ...]
    hollows: tuple[float, ...]
    depth: float

    @property
    def hollow(self) -> float:
        """Sum of the deepest hollows, mm."""
        return sum(self.hollows)


Faces = tuple[FaceToCut, FaceToCut]


def finished_about(faces: Faces, shift: complex) -> Finished:
    """Both faces cut to a shift."""
    drawing: SlotDrawing = faces[0].worn.drawing
    courses = tuple(drawing.shifted(shift, face.size_of(shift)) for face in faces)
    depths = [drawing.depth(f.worn.face, f.stations, own) for f, own in zip(faces, courses, strict=True)]
    hollows = tuple(
        0.0 if (low := float(np.max(f.wanted - depth))) < _SLACK else low
        for f, depth in zip(faces, depths, strict=True)
    )
    mean = np.mean([f.weights @ depth for f, depth in zip(faces, depths, strict=True)])
    return Finished(shift, courses, hollows, float(mean))


def least_metal(faces: Faces, free: Finished | None = None) -> Finished:
    """Both faces cut to the shift that leaves the least hollow, then takes the least metal.

    Parameters
    ----------
    faces : pair of FaceToCut
        Of one slot.
    free : Finished, optional
        For faces with limits, what would be cut without them.
    """
    best = finished_about(faces, 0j)
    if free is not None:
        within = finished_about(faces, free.shift)
        if within.hollow == 0:  # the limits do not bear: nothing can be better
            return within
        start = min(best, within, key=lambda made: made.hollow)
        best = _descend(faces, start, lambda made: made.hollow, None)
    least = best.hollow

    def metal(made: Finished) -> float:
        return made.depth + _PENALTY * max(made.hollow - least - _SLACK, 0.0)

    return _descend(faces, best, metal, least)


def _descend(faces: Faces, start: Finished, merit: Callable[[Finished], float], cap: float | None) -> Finished:
    """Steps by linear programme for as long as the exact figures get better.

    ``cap`` is the sum of hollows not to be passed while metal is saved; None while the hollows are lessened.
    """
    best, trust = start, 0.1
    for _ in range(_STEPS):
        step, promised = _linear_step(faces, best, trust, cap)
        if merit(best) - promised < 1e-11 or trust < 1e-10:
            break
        made = finished_about(faces, best.shift + step)
        gain = merit(best) - merit(made)
        if gain > 0.7 * (merit(best) - promised):
            trust = min(2 * trust, REACH)
        elif gain < 0.3 * (merit(best) - promised):
            trust /= 4
        best = made if gain > 0 else best
    return best


def _linear_step(faces: Faces, now: Finished, trust: float, cap: float | None) -> tuple[complex, float]:
    """Best small change of the shift with everything linearised, and the merit it promises.

    Unknowns: change of the shift along x and y (of :attr:`SlotDrawing.room`, so that the solver sees figures alike in
    size), of the two sizes, deepest hollow of each face.
    """
    from scipy.optimize import linprog

    drawing = faces[0].worn.drawing
    rows, limits, means = [], [], np.zeros(6)
    for k, (face, course) in enumerate(zip(faces, now.courses, strict=True)):
        depth = drawing.depth(face.worn.face, face.stations, course)
        slopes = np.zeros((len(depth), 6))
        slopes[:, [0, 1, 2 + k]] = drawing.slopes(face.worn.face, face.stations, course) * [*drawing.room, 1.0]
        hollow = np.eye(6)[4 + k]
        rows.append(-slopes - hollow)  # the worn surface is below the finished one by the hollow at most
        limits.append(depth - face.wanted)
        if face.limited:
            rows.append(slopes)
            limits.append(face.allowed - depth)
        means += face.weights @ slopes / 2
    if cap is not None:
        rows.append(np.array([[0, 0, 0, 0, 1.0, 1.0]]))
        limits.append(np.array([cap]))
    goal = np.array([0, 0, 0, 0, 1.0, 1.0]) if cap is None else means
    found = linprog(
        goal,
        A_ub=np.concatenate(rows),
        b_ub=np.concatenate(limits),
        bounds=[*_box(drawing, now.shift, trust), (None, None), (None, None), (0, None), (0, None)],
        method="highs-ds",
        options=_SOLVER,
    )
    if found.x is None:  # nothing is to be had at this precision: stay
        return 0j, np.inf
    return complex(*(found.x[:2] * drawing.room)), float(found.fun) + (0.0 if cap is None else now.depth)


def _box(drawing: SlotDrawing, shift: complex, trust: float) -> list[tuple[float, float]]:
    """Bounds of the shift's change, of its room: of the step, and of its reach."""
    room, place = drawing.room, np.array([shift.real, shift.imag])
    reach = REACH * drawing.span * (room > 0)
    there = np.where(room > 0, room, 1.0)
    low, high = np.maximum(-trust * (room > 0), (-reach - place) / there), np.minimum(trust, (reach - place) / there)
    return [(float(a), float(b)) for a, b in zip(low, high, strict=True)]
