"""The arc to which a face has worn, by least squares, and how well the readings fix it.

The readings are fitted in the direction in which they were taken, loss against place, with every reading as good
as the next: the arc's depth below the drawn face, exact, is brought to the losses by Gauss and Newton's method.
The covariance of (centre x, centre y, radius) is J⁺ V J⁺ᵀ with J⁺ = (JᵀJ)⁻¹Jᵀ and V the readings' own: u² for each by
itself (u the gauge's uncertainty), and what all readings of a face share, which no number of them averages out: the
gauge's zero z, and a tilt t of what it was read from, V = u² 1 + z² 1 1ᵀ + t² s sᵀ with s the place along the slot, ±1
at its ends, face by face. They look just like an arc of another radius, or about a centre higher or lower, so that the
readings say nothing against them. Over a short arc centre and radius cannot be told apart: the standard uncertainties
are then large and all but wholly correlated, while the arc's place in the metal is well known; both are given.

Stated uncertainties are expanded ones with coverage factor 2, which holds a normal error in 95.4 % of cases
(*Guide to the expression of uncertainty in measurement*, JCGM 100:2008, 6.3 and annex G, from memory).

Examples
--------
>>> slot = SlotDrawing(radius=900.0, width=50.0, concave_forward=True, top=120.0, bottom=120.0)
>>> at = np.linspace(-110, 110, 9)
>>> fit = fit_arcs(slot, ("front",), (at,), (slot.depth("front", at, Arc((890.0, 1.0), 864.8)),), 0.02)
>>> fit.centre.round(6), fit.radii.round(6)
(array([890.,   1.]), array([864.8]))
>>> fit.expanded.round(1)  # centre and radius, far from sharp, and together for the most part
array([4.8, 0.2, 4.8])
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.studies.slot.least_metal import REACH, depth_slopes
from linkmotion.wear.slot_faces import FACES, Arc, Floats, SlotDrawing, SlotReadings

COVERAGE = 2.0
_SPAN = 0.25  # of the slot's length: readings on less of it say nothing of its arc
_JOINT = 7.814727903251179  # 95 % point of chi-square with three degrees of freedom (checked in the tests)


@dataclass(frozen=True, eq=False)
class FittedArcs:
    """Arcs fitted to readings: one face, or both about one centre.

    All figures may have leading axes, one entry for each set of losses fitted.

    Attributes
    ----------
    faces : tuple of str
        The faces fitted, F of them.
    centre : float array, shape (..., 2)
        mm from mid slot, forward and up.
    radii : float array, shape (..., F)
        mm.
    covariance : float array, shape (..., 2 + F, 2 + F)
        Of centre x, centre y and the radii, mm².
    misfit : float array, shape (...)
        Root mean square of what the arcs do not explain, mm, by the degrees of freedom left; nan when none is.
    place : float array, shape (..., F)
        Greatest expanded uncertainty of an arc's place square to the face, over the length that was read, mm.
    explained : float array, shape (...)
        The misfit that the gauge's errors make on an average (root mean square), mm.
    scatter : float array, shape (...)
        Standard deviation of the misfit's square by those errors, mm².
    freedom : int
        Readings more than figures fitted.
    """

    faces: tuple[str, ...]
    centre: Floats
    radii: Floats
    covariance: Floats
    misfit: Floats
    place: Floats
    explained: Floats
    scatter: Floats
    freedom: int

    @property
    def expanded(self) -> Any:
        """Expanded uncertainty (95 %) of centre x, centre y and the radii, each by itself, mm."""
        return COVERAGE * np.sqrt(np.diagonal(self.covariance, axis1=-2, axis2=-1))

    @property
    def correlation(self) -> Any:
        """Correlation of the centre's x with each radius."""
        spread = np.sqrt(np.diagonal(self.covariance, axis1=-2, axis2=-1))
        return self.covariance[..., 0, 2:] / (spread[..., :1] * spread[..., 2:])

    @property
    def no_arc(self) -> Any:
        """True where the readings leave an arc by more than the gauge explains: the uncertainties are then too small.

        When the misfit's square is more than three of its own standard deviations above what the gauge makes.
        """
        return self.misfit**2 > self.explained**2 + 3 * self.scatter

    def covers(self, arc: Arc, face: int = 0) -> Any:
        """Whether an arc lies within the 95 % region of centre and radius taken together.

        Parameters
        ----------
        arc : Arc
            mm from mid slot.
        face : int
            Number of the face of which it is to be.

        Returns
        -------
        bool array, shape (...)
            For each set of losses fitted.
        """
        pick = np.array([0, 1, 2 + face])
        found = np.concatenate([self.centre, self.radii[..., face : face + 1]], axis=-1)
        off = (found - np.array([*arc.centre, arc.radius]))[..., None]
        covariance = self.covariance[..., pick[:, None], pick]
        return (off * np.linalg.solve(covariance, off)).sum((-2, -1)) <= _JOINT


def fit_arcs(
    drawing: SlotDrawing,
    faces: tuple[str, ...],
    places: tuple[Any, ...],
    losses: tuple[Any, ...],
    uncertainty: float,
    zero: float = 0.0,
    tilt: float = 0.0,
) -> FittedArcs | None:
    """Fit an arc to each face, all about one centre.

    Parameters
    ----------
    drawing, faces : SlotDrawing, tuple of str
        The slot as drawn; "front", "back", or both.
    places, losses : tuple of array, shape (n,) and (..., n)
        For each face, mm.
    uncertainty, zero, tilt : float
        Of one reading by itself, of the gauge's zero, and of its tilt at an end of the slot; one sigma, mm.

    Returns
    -------
    FittedArcs or None
        None when a face has fewer than three places, or they lie within a quarter of the slot's length, or the
        nearest arc has its centre further from the drawn one than half the slot's radius: no worn slot is so.
    """
    if any(len(np.unique(at)) < 3 or np.ptp(at) < _SPAN * drawing.length for at in places):
        return None
    every = np.concatenate([np.asarray(loss, float) for loss in losses], axis=-1)
    figures = np.zeros((*every.shape[:-1], 2 + len(faces)))
    figures[..., :2] = drawing.centre
    figures[..., 2:] = [drawing.face_radius(face) for face in faces]
    for _ in range(6):
        depth, slopes = _model(drawing, faces, places, figures)
        q, r = np.linalg.qr(slopes)
        figures = figures + np.linalg.solve(r, np.swapaxes(q, -1, -2) @ (every - depth)[..., None])[..., 0]
        if np.max(np.abs(figures[..., :2] - np.array(drawing.centre))) > REACH * drawing.radius:
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
    return FittedArcs(faces, figures[..., :2], figures[..., 2:], covariance, misfit, place, explained, scatter, freedom)


def _misfit_by_gauge(uncertainty: float, left: Any, freedom: int) -> tuple[Any, Any]:
    """Root mean square of the misfit, and standard deviation of its square, from what no arc takes up of the errors.

    ``left`` are the shared errors' columns less their part in the arcs' slopes. The sum of squares left has the mean
    tr(PV) and the variance 2 tr((PV)²), P taking the arcs out and V the readings' covariance.
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
    """Depths of the arcs at all readings, and their derivatives to the figures."""
    depths, slopes = [], []
    for k, (face, at) in enumerate(zip(faces, places, strict=True)):
        arc = _arc(figures, k)
        depths.append(drawing.depth(face, at, arc))
        own = np.zeros((*depths[-1].shape, figures.shape[-1]))
        own[..., [0, 1, 2 + k]] = depth_slopes(drawing, face, at, arc)
        slopes.append(own)
    return np.concatenate(depths, axis=-1), np.concatenate(slopes, axis=-2)


def _arc(figures: Any, k: int) -> Arc:
    """Arc of a face, its figures as columns against the places along the last axis."""
    return Arc((figures[..., 0, None], figures[..., 1, None]), figures[..., 2 + k, None])


def _place_uncertainty(
    drawing: SlotDrawing, faces: tuple[str, ...], places: tuple[Any, ...], figures: Any, half: Any
) -> Any:
    """Greatest expanded uncertainty of each arc's depth over the length read."""
    greatest = []
    for k, (face, at) in enumerate(zip(faces, places, strict=True)):
        slopes = depth_slopes(drawing, face, np.linspace(np.min(at), np.max(at), 41), _arc(figures, k))
        spread = np.linalg.norm(slopes @ half[..., [0, 1, 2 + k], :], axis=-1)
        greatest.append(COVERAGE * spread.max(-1))
    return np.stack(greatest, axis=-1)


def worn_arcs(drawing: SlotDrawing, readings: SlotReadings) -> dict[str, FittedArcs | None]:
    """Worn arc of each face ("front", "back"), and both about one centre ("both"); None where there is none.

    Parameters
    ----------
    drawing, readings : SlotDrawing, SlotReadings
        The slot, and what was read along its faces.
    """

    def fit(faces: tuple[str, ...]) -> FittedArcs | None:
        own = [readings.on(face) for face in faces]
        places, losses = tuple(r.places for r in own), tuple(r.losses for r in own)
        return fit_arcs(drawing, faces, places, losses, readings.uncertainty, readings.zero, readings.tilt)

    return {face: fit((face,)) for face in FACES} | {"both": fit(FACES)}
