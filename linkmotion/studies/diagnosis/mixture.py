"""What all explanations together say of each dimension: probabilities and intervals of a mixture of normals."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkmotion.studies.diagnosis.evidence import NONE, Sets

Array = NDArray[np.float64]
WITHIN = 0.95
_HALVINGS = 26
_LEAST = 1e-5  # of the whole: explanations less likely are left out


@dataclass(frozen=True, eq=False)
class Mixture:
    """H explanations with their weights, and D dimensions under each.

    Attributes
    ----------
    sets : int array, shape (H, M)
        Dimensions that are wrong, −1 for none.
    weights : float array, shape (H,)
        Probabilities; their sum is one.
    means, stds : float array, shape (H, D)
        Of each dimension, mm and degrees.
    """

    sets: Sets
    weights: Array
    means: Array
    stds: Array

    def of(self, dimension: int) -> NDArray[np.bool_]:
        """In which explanations a dimension is wrong, shape (H,).

        Parameters
        ----------
        dimension : int
            Its number.
        """
        return np.asarray(np.any(self.sets == dimension, axis=1))

    def wrong(self) -> Array:
        """Probability that each dimension is wrong, shape (D,)."""
        return np.array([np.sum(self.weights[self.of(i)]) for i in range(self.means.shape[1])])

    def intervals(self) -> tuple[Array, Array]:
        """Limits that hold each dimension with 95 %, all told, shape (D,) each."""
        weights = np.broadcast_to(self.weights[:, None], self.means.shape)
        return _quantiles(weights, self.means, self.stds, np.zeros(self.means.shape[1]))

    def if_wrong(self, least: Array) -> tuple[Array, Array, Array]:
        """Mean, and the limits that hold each dimension with 95 %, if it is wrong and so far off that it is felt.

        Parameters
        ----------
        least : float array, shape (D,)
            What a fault must come to before the readings feel it, mm and degrees. Where they show none, that does not
            say that a wrong dimension is next to right: it is far off and another makes up for it, or not wrong.
        """
        weights = np.zeros(self.means.shape)
        for member in self.sets.T:
            there = np.flatnonzero((member != NONE) & (member < self.means.shape[1]))
            weights[there, member[there]] = self.weights[there]
        total = np.sum(weights, axis=0)
        weights = np.divide(weights, total, out=np.full(weights.shape, 1.0 / len(weights)), where=total > 0)
        felt = np.sum(weights * (1.0 - _inside(self.means, self.stds, least)[0]), axis=0)
        least = np.where(felt > _LEAST, least, 0.0)
        return _mean(weights, self.means, self.stds, least), *_quantiles(weights, self.means, self.stds, least)


def _inside(means: Array, stds: Array, least: Array) -> tuple[Array, Array]:
    """What of each normal lies nearer to nothing than ``least``, and its share of the mean."""
    from scipy.special import ndtr

    low, high = (-least - means) / stds, (least - means) / stds
    share = np.where(least > 0, ndtr(high) - ndtr(low), 0.0)
    edge = np.where(least > 0, np.exp(-0.5 * high**2) - np.exp(-0.5 * low**2), 0.0) / np.sqrt(2 * np.pi)
    return share, means * share - stds * edge


def _mean(weights: Array, means: Array, stds: Array, least: Array) -> Array:
    """Mean of D mixtures without what is nearer to nothing than ``least``."""
    share, part = _inside(means, stds, least)
    return np.asarray(np.sum(weights * (means - part), axis=0) / np.sum(weights * (1.0 - share), axis=0))


def _quantiles(weights: Array, means: Array, stds: Array, least: Array) -> tuple[Array, Array]:
    """Limits with (1 − 0.95)/2 outside on either side of D mixtures without what is nearer to nothing, by halving."""
    from scipy.special import ndtr

    kept = np.max(weights, axis=1) > _LEAST
    weights, means, stds = weights[kept], means[kept], stds[kept]
    total = np.sum(weights * (1.0 - _inside(means, stds, least)[0]), axis=0)
    found = []
    for level in ((1 - WITHIN) / 2, (1 + WITHIN) / 2):
        low, high = np.min(means - 8 * stds, axis=0), np.max(means + 8 * stds, axis=0)
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            nearer = np.minimum(middle, least)
            hole = ndtr((nearer - means) / stds) - ndtr((-least - means) / stds)
            below = np.sum(weights * (ndtr((middle - means) / stds) - np.maximum(hole, 0.0)), axis=0) < level * total
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        found.append((low + high) / 2)
    return found[0], found[1]
