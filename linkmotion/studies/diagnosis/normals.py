"""Mixtures of normals, one of each dimension: their means and limits, without what is next to nothing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
WITHIN = 0.95
_HALVINGS = 26
_FAR = 8.0  # standard deviations
_SPARE = 1e-6  # of a dimension's whole: normals that come to less are left out


@dataclass(frozen=True, eq=False)
class Normals:
    """K normals in mixtures of D dimensions.

    Attributes
    ----------
    of : int array, shape (K,)
        Whose each is.
    weights, means, stds : float array, shape (K,)
        Weights need not come to one; mm and degrees.
    count : int
        D.
    """

    of: NDArray[np.intp]
    weights: Array
    means: Array
    stds: Array
    count: int

    def only(self, which: NDArray[np.bool_]) -> Normals:
        """Some of them, shape (K,)."""
        return Normals(self.of[which], self.weights[which], self.means[which], self.stds[which], self.count)

    def with_more(self, more: Normals) -> Normals:
        """These, and more of the same dimensions."""
        own = ((self.of, more.of), (self.weights, more.weights), (self.means, more.means), (self.stds, more.stds))
        return Normals(*(np.concatenate(both) for both in own), self.count)  # type: ignore[arg-type]

    def felt(self, least: Array) -> Array:
        """Weights of what of each lies no nearer to nothing than ``least`` (D,), shape (K,)."""
        return np.asarray(self.weights * (1.0 - self._inside(least)[0]))

    def mean(self, least: Array) -> Array:
        """Mean of each mixture without what is nearer to nothing than ``least`` (D,), shape (D,)."""
        share, part = self._inside(least)
        total = np.bincount(self.of, self.weights * (1.0 - share), self.count)
        return np.asarray(np.bincount(self.of, self.weights * (self.means - part), self.count) / total)

    def limits(self, least: Array) -> tuple[Array, Array]:
        """Limits with (1 − 0.95)/2 outside on either side, without what is nearer to nothing, by halving, (D,) each."""
        whole = np.bincount(self.of, self.felt(least), self.count)
        own = self.only(self.felt(least) > _SPARE * whole[self.of])
        low, high = own._limit(least, (1 - WITHIN) / 2), own._limit(least, (1 + WITHIN) / 2)
        return low, high

    def _limit(self, least: Array, level: float) -> Array:
        from scipy.special import ndtr

        edge, total = least[self.of], np.bincount(self.of, self.felt(least), self.count)
        near = ndtr((-edge - self.means) / self.stds)
        low, high = np.full(self.count, np.inf), np.full(self.count, -np.inf)
        np.minimum.at(low, self.of, self.means - _FAR * self.stds)
        np.maximum.at(high, self.of, self.means + _FAR * self.stds)
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            at = middle[self.of]
            hole = ndtr((np.minimum(at, edge) - self.means) / self.stds) - near
            below = self.weights * (ndtr((at - self.means) / self.stds) - np.maximum(hole, 0.0))
            short = np.bincount(self.of, below, self.count) < level * total
            low, high = np.where(short, middle, low), np.where(short, high, middle)
        return np.asarray((low + high) / 2)

    def _inside(self, least: Array) -> tuple[Array, Array]:
        """What of each normal lies nearer to nothing than ``least``, and its share of the mean."""
        from scipy.special import ndtr

        edge = least[self.of]
        low, high = (-edge - self.means) / self.stds, (edge - self.means) / self.stds
        share = np.where(edge > 0, ndtr(high) - ndtr(low), 0.0)
        slope = np.where(edge > 0, np.exp(-0.5 * high**2) - np.exp(-0.5 * low**2), 0.0) / np.sqrt(2 * np.pi)
        return share, self.means * share - self.stds * slope
