"""The arc, or line, to which a face has worn, by least squares, and how well the readings fix it.

The readings are fitted in the direction in which they were taken, loss against place, with every reading as good
as the next: the course's depth below the drawn face, exact, is brought to the losses by Gauss and Newton's method.
The covariance of (centre x, centre y, radius), or of a line's (lean, how far ahead), is J⁺ V J⁺ᵀ with J⁺ = (JᵀJ)⁻¹Jᵀ
and V the readings' own: u² for each by itself (u the gauge's uncertainty), and what all readings of a face share, which
no number of them averages out: the gauge's zero z, and a tilt t of what it was read from, V = u² 1 + z² 1 1ᵀ + t² s sᵀ
with s the place along the slot, ±1 at its ends, face by face. They look just like an arc of another radius, or about a
centre higher or lower, or a line further ahead, or leaning more, so that the readings say nothing against them. Over a
short arc centre and radius cannot be told apart: the standard uncertainties are then large and all but wholly
correlated, while the arc's place in the metal is well known; both are given.

Stated uncertainties are expanded ones with coverage factor 2, which holds a normal error in 95.4 % of cases
(*Guide to the expression of uncertainty in measurement*, JCGM 100:2008, 6.3 and annex G, from memory).

>>> from linkmotion.wear.curved_slot import CurvedDrawing
>>> from linkmotion.wear.slot_drawing import Arc
>>> slot = CurvedDrawing(radius=900.0, width=50.0, concave_forward=True, top=120.0, bottom=120.0)
>>> at = np.linspace(-110, 110, 9)
>>> fit = fit_faces(slot, ("front",), (at,), (slot.depth("front", at, Arc((890.0, 1.0), 864.8)),), 0.02)
>>> fit.figures.round(6)
array([890. ,   1. , 864.8])
>>> fit.expanded.round(1)  # centre and radius, far from sharp, and together for the most part
array([4.8, 0.2, 4.8])
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.wear.slot_drawing import FACES, REACH, Floats, SlotDrawing
from linkmotion.wear.slot_faces import SlotReadings

COVERAGE = 2.0
_SPAN = 0.25  # of the slot's length: readings on less of it say nothing of its arc
_JOINT = {2: 5.991464547107979, 3: 7.814727903251179}
"""95 % points of chi-square, by degrees of freedom (checked in the tests)."""


@dataclass(frozen=True, eq=False)
class FittedFaces:
    """Courses fitted to readings: one face, or both of one shift.

    All figures may have leading axes, one entry for each set of losses fitted.

    Attributes
    ----------
    drawing : SlotDrawing
        The slot as drawn.
    faces : tuple of str
        The faces fitted, F of them.
    figures : float array, shape (..., C + F)
        What they have in common (centre x and y, or the lean), and the size of each (radius, or how far ahead).
    covariance : float array, shape (..., C + F, C + F)
        Of the figures.
    misfit : float array, shape (...)
        Root mean square of what the courses do not explain, mm, by the degrees of freedom left; nan when none is.
    place : float array, shape (..., F)
        Greatest expanded uncertainty of a course's place square to the face, over the length that was read, mm.
    explained : float array, shape (...)
        The misfit that the gauge's errors make on an average (root mean square), mm.
    scatter : float array, shape (...)
        Standard deviation of the misfit's square by those errors, mm².
    freedom : int
        Readings more than figures fitted.
    """

    drawing: SlotDrawing
    faces: tuple[str, ...]
    figures: Floats
    covariance: Floats
    misfit: Floats
    place: Floats
    explained: Floats
    scatter: Floats
    freedom: int

    @property
    def common(self) -> Any:
        """What the faces have in common, shape (..., C)."""
        return self.figures[..., : len(self.drawing.free)]

    @property
    def sizes(self) -> Any:
        """Size of each face, shape (..., F)."""
        return self.figures[..., len(self.drawing.free) :]

    def course(self, k: int = 0) -> Any:
        """The course of a face, its figures of shape (...)."""
        return self.drawing.fitted(self.common, self.sizes[..., k])

    @property
    def expanded(self) -> Any:
        """Expanded uncertainty (95 %) of each figure by itself."""
        return COVERAGE * np.sqrt(np.diagonal(self.covariance, axis1=-2, axis2=-1))

    @property
    def correlation(self) -> Any:
        """Correlation of the first figure (a centre's x, a lean) with each size."""
        spread = np.sqrt(np.diagonal(self.covariance, axis1=-2, axis2=-1))
        count = len(self.drawing.free)
        return self.covariance[..., 0, count:] / (spread[..., :1] * spread[..., count:])

    @property
    def not_so_worn(self) -> Any:
        """True where the readings leave the course by more than the gauge explains: the uncertainties are too small.

        When the misfit's square is more than three of its own standard deviations above what the gauge makes.
        """
        return self.misfit**2 > self.explained**2 + 3 * self.scatter

    def covers(self, figures: Any, face: int = 0) -> Any:
        """Whether common figures and a face's size, (C + 1,), lie within their 95 % region, taken together."""
        count = len(self.drawing.free)
        pick = np.array([*range(count), count + face])
        off = (self.figures[..., pick] - np.asarray(figures))[..., None]
        covariance = self.covariance[..., pick[:, None], pick]
        return (off * np.linalg.solve(covariance, off)).sum((-2, -1)) <= _JOINT[len(pick)]


def fit_faces(
    drawing: SlotDrawing,
    faces: tuple[str, ...],
    places: tuple[Any, ...],
    losses: tuple[Any, ...],
    uncertainty: float,
    zero: float = 0.0,
    tilt: float = 0.0,
) -> FittedFaces | None:
    """Fit an arc to each face, all about one centre; or parallel lines.

    Parameters
    ----------
    faces : tuple of str
        "front", "back", or both.
    places, losses : tuple of array, shape (n,) and (..., n)
        For each face, mm.
    uncertainty, zero, tilt : float
        Of one reading by itself, of the gauge's zero, and of its tilt at an end of the slot; one sigma, mm.

    Returns
    -------
    FittedFaces or None
        None when a face has too few places (three for an arc, two for a line), or they lie within a quarter of the
        slot's length, or the nearest course is shifted further than :data:`REACH`: no worn slot is so.
    """
    few = len(drawing.free) + 1
    if any(len(np.unique(at)) < few or np.ptp(at) < _SPAN * drawing.length for at in places):
        return None
    every = np.concatenate([np.asarray(loss, float) for loss in losses], axis=-1)
    figures = _nearest(drawing, faces, places, every)
    if np.max(np.abs(figures[..., : len(drawing.free)] - drawing.still)) > REACH * drawing.span:
        return None
    depth, slopes = _model(drawing, faces, places, figures)
    q, r = np.linalg.qr(slopes)
    inverse = np.linalg.inv(r)
    shared = _shared(drawing, places, zero, tilt)
    half = np.concatenate([uncertainty * inverse, inverse @ np.swapaxes(q, -1, -2) @ shared], axis=-1)
    covariance = half @ np.swapaxes(half, -1, -2)
    freedom = every.shape[-1] - figures.shape[-1]
    square = ((every - depth) ** 2).sum(-1)
    misfit = np.sqrt(square / freedom) if freedom else np.full_like(square, np.nan)
    explained, scatter = _misfit_by_gauge(uncertainty, shared - q @ (np.swapaxes(q, -1, -2) @ shared), freedom)
    place = _place_uncertainty(drawing, faces, places, figures, half)
    return FittedFaces(drawing, faces, figures, covariance, misfit, place, explained, scatter, freedom)


def _nearest(drawing: SlotDrawing, faces: tuple[str, ...], places: tuple[Any, ...], losses: Any) -> Any:
    """Figures of the nearest courses, by Gauss and Newton's method; as far as it goes where that is beyond reach."""
    count = len(drawing.free)
    figures = np.zeros((*losses.shape[:-1], count + len(faces)))
    figures[..., :count] = drawing.still
    figures[..., count:] = [drawing.size(face) for face in faces]
    for _ in range(6):
        depth, slopes = _model(drawing, faces, places, figures)
        q, r = np.linalg.qr(slopes)
        figures = figures + np.linalg.solve(r, np.swapaxes(q, -1, -2) @ (losses - depth)[..., None])[..., 0]
        if np.max(np.abs(figures[..., :count] - drawing.still)) > REACH * drawing.span:
            break
    return figures


def _misfit_by_gauge(uncertainty: float, left: Any, freedom: int) -> tuple[Any, Any]:
    """Root mean square of the misfit, and standard deviation of its square, from what no course takes up of the errors.

    ``left`` are the shared errors' columns less their part in the courses' slopes. The sum of squares left has the mean
    tr(PV) and the variance 2 tr((PV)²), P taking the courses out and V the readings' covariance.
    """
    count, gram = max(freedom, 1), np.swapaxes(left, -1, -2) @ left
    own, shared = uncertainty**2 * freedom, np.trace(gram, axis1=-2, axis2=-1)
    spread = uncertainty**4 * freedom + 2 * uncertainty**2 * shared + (gram**2).sum((-2, -1))
    return np.sqrt((own + shared) / count), np.sqrt(2 * spread) / count


def _shared(drawing: SlotDrawing, places: tuple[Any, ...], zero: float, tilt: float) -> Floats:
    """What the readings of each face share, as columns over all readings: one of its zero and one of its tilt."""
    middle, half = (drawing.top - drawing.bottom) / 2, drawing.length / 2
    columns = np.zeros((sum(len(at) for at in places), 2 * len(places)))
    done = 0
    for k, at in enumerate(places):
        columns[done : done + len(at), 2 * k] = zero
        columns[done : done + len(at), 2 * k + 1] = tilt * (np.asarray(at) - middle) / half
        done += len(at)
    return columns


def _model(drawing: SlotDrawing, faces: tuple[str, ...], places: tuple[Any, ...], figures: Any) -> tuple[Any, Any]:
    """Depths of the courses at all readings, and their derivatives to the figures."""
    depths, slopes = [], []
    for k, (face, at) in enumerate(zip(faces, places, strict=True)):
        course, free, own = _of_face(drawing, figures, k)
        depths.append(drawing.depth(face, np.asarray(at), course))
        slopes.append(np.zeros((*depths[-1].shape, figures.shape[-1])))
        slopes[-1][..., own] = drawing.slopes(face, at, course)[..., free]
    return np.concatenate(depths, axis=-1), np.concatenate(slopes, axis=-2)


def _of_face(drawing: SlotDrawing, figures: Any, k: int) -> tuple[Any, list[int], list[int]]:
    """Course of a face, its figures as columns against the places; which slopes there are, and to which figures."""
    count = len(drawing.free)
    course = drawing.fitted(figures[..., None, :count], figures[..., count + k, None])
    return course, [*drawing.free, 2], [*range(count), count + k]


def _place_uncertainty(
    drawing: SlotDrawing, faces: tuple[str, ...], places: tuple[Any, ...], figures: Any, half: Any
) -> Any:
    """Greatest expanded uncertainty of each course's depth over the length read."""
    greatest = []
    for k, (face, at) in enumerate(zip(faces, places, strict=True)):
        course, free, own = _of_face(drawing, figures, k)
        slopes = drawing.slopes(face, np.linspace(np.min(at), np.max(at), 41), course)[..., free]
        greatest.append(COVERAGE * np.linalg.norm(slopes @ half[..., own, :], axis=-1).max(-1))
    return np.stack(greatest, axis=-1)


def worn_faces(drawing: SlotDrawing, readings: SlotReadings) -> dict[str, FittedFaces | None]:
    """Worn course of each face ("front", "back"), and both of one shift ("both")."""

    def fit(faces: tuple[str, ...]) -> FittedFaces | None:
        own = [readings.on(face) for face in faces]
        places, losses = tuple(r.places for r in own), tuple(r.losses for r in own)
        return fit_faces(drawing, faces, places, losses, readings.uncertainty, readings.zero, readings.tilt)

    return {face: fit((face,)) for face in FACES} | {"both": fit(FACES)}
