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
        return _quantiles(weights, self.means, self.stds)

    def if_wrong(self) -> tuple[Array, Array, Array]:
        """Mean, and the limits that hold each dimension with 95 % if it is wrong, shape (D,) each."""
        weights = np.zeros(self.means.shape)
        for member in self.sets.T:
            there = np.flatnonzero((member != NONE) & (member < self.means.shape[1]))
            weights[there, member[there]] = self.weights[there]
        total = np.sum(weights, axis=0)
        weights = np.divide(weights, total, out=np.full(weights.shape, 1.0 / len(weights)), where=total > 0)
        return np.sum(weights * self.means, axis=0), *_quantiles(weights, self.means, self.stds)


def _quantiles(weights: Array, means: Array, stds: Array) -> tuple[Array, Array]:
    """Limits with (1 − 0.95)/2 outside on either side of D mixtures, by halving."""
    from scipy.special import ndtr

    kept = np.max(weights, axis=1) > _LEAST
    weights, means, stds = weights[kept], means[kept], stds[kept]
    weights = weights / np.sum(weights, axis=0)
    found = []
    for level in ((1 - WITHIN) / 2, (1 + WITHIN) / 2):
        low, high = np.min(means - 8 * stds, axis=0), np.max(means + 8 * stds, axis=0)
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            below = np.sum(weights * ndtr((middle - means) / stds), axis=0) < level
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        found.append((low + high) / 2)
    return found[0], found[1]
