"""Fitting every likely set of wrong dimensions to the readings, with exact predictions of the gear.

Gauss–Newton's method with one Jacobian for all sets, exact at the best of them: each set steps to the best estimate
of the linear problem about its own place, where its own readings are predicted exactly. What the common Jacobian
does to another set is to weigh its residuals, which are of the size of the readings' uncertainties, by slopes that
are out by the curvature over some millimetres: a few hundredths of its standard deviation.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears.sensitivity import Key
from linkmotion.studies.diagnosis.evidence import NONE, Array, Linear, Sets, sets_of
from linkmotion.studies.diagnosis.priors import Priors
from linkmotion.studies.figures.figure import Reading
from linkmotion.studies.figures.model import GearModel

PORT: Key = ("valve", "port_width")
DOUBTFUL = 1e-2  # probability of so bad a fit: below it the readings fit badly
_ROUNDS, _STEPS, _HALVINGS = 2, 3, 6
_REFINED = 60  # sets that are fitted exactly; what the others add follows from their better half
_STILL = 0.01  # sound spreads: a place that moves less stands


@dataclass(frozen=True, eq=False)
class Fitted:
    """Every set of wrong dimensions, fitted.

    Attributes
    ----------
    sets : int array, shape (H, 2)
        Which dimensions are wrong, −1 for none.
    z : float array, shape (H, D)
        Best estimate under each, in sound spreads.
    misfit : float array, shape (H,)
        Sum of squares of what is left over and of the departures, each in its own spread.
    log_evidence : float array, shape (H,)
        Logarithm of how well each explains the readings, less a constant.
    linear : Linear
        The readings about the best estimate.
    """

    sets: Sets
    z: Array
    misfit: Array
    log_evidence: Array
    linear: Linear


class Fit:
    """The readings of one side, and the priors on its dimensions, ready to be fitted."""

    def __init__(self, model: GearModel, readings: tuple[Reading, ...], priors: Priors) -> None:
        self.model, self.readings, self.priors = model, readings, priors
        self.read = np.array([reading.value for reading in readings])
        self.sigma = np.array([reading.sigma for reading in readings])
        self.plain = (self.read - model.at_figures) / self.sigma  # what is left over at the figures

    def fitted(self) -> Fitted:
        """From the figures; where that fits badly also from where a narrow port cuts the openings off.

        The greatest opening bends there: from the figures the port's width is not seen at all.
        """
        found = self._from(np.zeros(len(self.priors.keys)))
        for start in self._bends() if self._fits_badly(found) else ():
            other = self._from(start)
            found = max(found, other, key=lambda own: float(np.max(own.log_evidence + self.log_prior(own.sets))))
        return found

    def _fits_badly(self, found: Fitted) -> bool:
        from scipy.special import chdtrc

        best = int(np.argmax(found.log_evidence + self.log_prior(found.sets)))
        return bool(chdtrc(len(self.read), found.misfit[best]) < DOUBTFUL)

    def _bends(self) -> Iterator[Array]:
        """The port as narrow as the greatest opening that was read."""
        openings = [reading.value for reading in self.readings if reading.kind == "opening"]
        if openings and PORT in self.priors.keys:
            i, start = self.priors.keys.index(PORT), np.zeros(len(self.priors.keys))
            start[i] = (max(openings) - float(self.model.gear.valve.port_width)) / self.priors.sound[i]
            yield start

    def _from(self, start: Array) -> Fitted:
        """Singles exactly, pairs from the better of their two; then the likeliest of all exactly."""
        sets = sets_of(len(self.priors.keys))
        singles, pairs = sets[sets[:, 1] == NONE], sets[sets[:, 1] != NONE]
        linear = self.about(start)
        z, left = self._exactly(np.tile(start, (len(singles), 1)))
        z, left = self.stepped(linear, singles, z, left)
        best = int(np.argmax(self.evidence(linear, singles, z, left)))
        linear = self.about(z[best])
        z, left = self.stepped(linear, singles, z, left)
        all_z, all_left = self._with_pairs(linear, singles, pairs, z, left)
        rough = np.arange(len(sets)) >= len(singles)  # what they leave over is known by one linear step only
        for _ in range(_ROUNDS):
            likely = self._likeliest(linear, sets, all_z, all_left)
            new = likely[rough[likely]]
            all_z[new], all_left[new] = self._exactly(all_z[new])
            rough[new] = False
            all_z[likely], all_left[likely] = self.stepped(linear, sets[likely], all_z[likely], all_left[likely])
            first = self._likeliest(linear, sets[likely], all_z[likely], all_left[likely])[0]  # it can be assembled
            linear = self.about(all_z[likely[first]])
        all_z[likely], all_left[likely] = self.stepped(linear, sets[likely], all_z[likely], all_left[likely])
        misfit = np.sum(all_left**2, axis=1) + np.sum(all_z**2 / linear.variances(sets), axis=1)
        return Fitted(sets, all_z, misfit, self.evidence(linear, sets, all_z, all_left), linear)

    def _likeliest(self, linear: Linear, sets: Sets, z: Array, left: Array) -> NDArray[np.intp]:
        """The sets worth fitting exactly, likeliest first."""
        log = self.evidence(linear, sets, z, left) + self.log_prior(sets)
        return np.argsort(-log, kind="stable")[:_REFINED]

    def about(self, z: Array) -> Linear:
        """The readings about a place."""
        return Linear.about(self.slopes(self.model, z) / self.sigma[:, None], self.priors.ratio)

    def slopes(self, model: GearModel, z: Array) -> Array:
        """Slopes of readings about a place, in their own units per sound spread, shape (R, D)."""
        return np.asarray(model.about(self.departures(z)).slopes @ self.priors.moves.T * self.priors.sound)

    def departures(self, z: Array) -> Array:
        """Departures of the dimensions in mm and degrees from those in sound spreads, shape (..., D)."""
        return np.asarray((z * self.priors.sound) @ self.priors.moves)

    def left(self, z: Array) -> Array:
        """What is left over of each reading, in its uncertainty, shape (H, R)."""
        return np.asarray((self.read - self.model.predict(self.departures(z))) / self.sigma)

    def _exactly(self, z: Array) -> tuple[Array, Array]:
        """Places (nearer to the figures where they cannot be assembled), and what they leave over."""
        return self._assembled(np.zeros(z.shape), np.tile(self.plain, (len(z), 1)), z)

    def stepped(self, linear: Linear, sets: Sets, z: Array, left: Array) -> tuple[Array, Array]:
        """Estimates of some sets from where they stand and what is left over there, and what they leave over.

        A step to a gear that cannot be assembled, or lacks an event that was read, is halved.
        """
        for _ in range(_STEPS):
            new, after = self._assembled(z, left, linear.estimates(sets, left + z @ linear.slopes.T))
            moved = np.max(np.abs(new - z), initial=0.0)
            z, left = new, after
            if moved < _STILL:
                break
        return z, left

    def _assembled(self, z: Array, left: Array, wanted: Array) -> tuple[Array, Array]:
        """The places wanted, or such as lie between them and z where these cannot be; and what they leave over."""
        new, after = wanted.copy(), self.left(wanted)
        for _ in range(_HALVINGS):
            lost = np.any(np.isnan(after), axis=1)
            if not np.any(lost):
                return new, after
            new[lost] = (new[lost] + z[lost]) / 2
            after[lost] = self.left(new[lost])
        lost = np.any(np.isnan(after), axis=1)
        new[lost], after[lost] = z[lost], left[lost]
        return new, after

    def evidence(self, linear: Linear, sets: Sets, z: Array, left: Array) -> Array:
        """Laplace's: −½ (misfit + log|A_S|); what cannot be assembled explains nothing."""
        misfit = np.sum(left**2, axis=1) + np.sum(z**2 / linear.variances(sets), axis=1)
        found = -0.5 * (misfit + linear.log_det + linear.gains(sets)[1])
        return np.where(np.isnan(found), -np.inf, found)

    def log_prior(self, sets: Sets) -> Array:
        """Logarithm of each set's probability before anything is read: of its size, shared by all of that size."""
        size, dims = np.sum(sets != NONE, axis=1), len(self.priors.keys)
        count = np.array([1.0, dims, dims * (dims - 1) / 2])
        return np.asarray(np.log(np.array(self.priors.number)[size] / count[size]))

    def _with_pairs(self, linear: Linear, singles: Sets, pairs: Sets, z: Array, left: Array) -> tuple[Array, Array]:
        """Estimates of all sets, pairs by one linear step from the better of their two."""
        alone = self.evidence(linear, singles, z, left)[1:]
        parent = 1 + np.where(alone[pairs[:, 0]] >= alone[pairs[:, 1]], pairs[:, 0], pairs[:, 1])
        own = linear.estimates(pairs, left[parent] + z[parent] @ linear.slopes.T)
        over = left[parent] - (own - z[parent]) @ linear.slopes.T
        return np.concatenate([z, own]), np.concatenate([left, over])
