"""Mixtures of normals, one of each dimension: their means and limits, without what is next to nothing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
WITHIN = 0.95
_STEPS, _NEAR = 60, 1e-9  # of its range: a limit is sought no closer
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
        """Some of them.

        Parameters
        ----------
        which : bool array, shape (K,)
            Those wanted.
        """
        return Normals(self.of[which], self.weights[which], self.means[which], self.stds[which], self.count)

    def with_more(self, more: Normals) -> Normals:
        """These, and more of the same dimensions.

        Parameters
        ----------
        more : Normals
            Of D too.
        """
        of = np.concatenate([self.of, more.of])
        weights, means = np.concatenate([self.weights, more.weights]), np.concatenate([self.means, more.means])
        return Normals(of, weights, means, np.concatenate([self.stds, more.stds]), self.count)

    def felt(self, least: Array) -> Array:
        """Weights of what of each lies no nearer to nothing than is felt, shape (K,).

        Parameters
        ----------
        least : float array, shape (D,)
            What is felt of each dimension, mm and degrees.
        """
        return np.asarray(self.weights * (1.0 - self._inside(least)[0]))

    def mean(self, least: Array) -> Array:
        """Mean of each mixture without what is not felt, shape (D,).

        Parameters
        ----------
        least
            As of :meth:`felt`.
        """
        share, part = self._inside(least)
        total = np.bincount(self.of, self.weights * (1.0 - share), self.count)
        return np.asarray(np.bincount(self.of, self.weights * (self.means - part), self.count) / total)

    def limits(self, least: Array) -> tuple[Array, Array]:
        """Limits with (1 − 0.95)/2 of each mixture outside on either side, what is not felt left out, (D,) each.

        Parameters
        ----------
        least
            As of :meth:`felt`.
        """
        felt = self.felt(least)
        own = self.only(felt > _SPARE * np.bincount(self.of, felt, self.count)[self.of])
        return own._limit(least, (1 - WITHIN) / 2), own._limit(least, (1 + WITHIN) / 2)

    def _limit(self, least: Array, level: float) -> Array:
        """Below which a part of each mixture lies: Newton's method, by halving where it would leave what is left."""
        total = level * np.bincount(self.of, self.felt(least), self.count)
        low, high = np.full(self.count, np.inf), np.full(self.count, -np.inf)
        np.minimum.at(low, self.of, self.means - _FAR * self.stds)
        np.maximum.at(high, self.of, self.means + _FAR * self.stds)
        near = _NEAR * (high - low)
        at, own, found = (low + high) / 2, self, np.zeros(self.count, bool)
        for _ in range(_STEPS):
            below, rate = own._below(at, least)
            short = below < total
            low, high = np.where(short, at, low), np.where(short, high, at)
            with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
                onward = at - (below - total) / rate
            onward = np.where((low < onward) & (onward < high), onward, (low + high) / 2)
            still, found = found, found | (np.abs(onward - at) <= near)
            at = np.where(still, at, onward)
            if np.all(found):
                break
            if np.any(found & ~still):
                own = own.only(~found[own.of])
        return np.asarray(at)

    def _below(self, at: Array, least: Array) -> tuple[Array, Array]:
        """What of each mixture lies below a place (D,), without what is not felt, and how fast that grows."""
        from scipy.special import ndtr

        place, hollow = at[self.of], np.flatnonzero(least[self.of] > 0)
        off = (place - self.means) / self.stds
        parts, rates = ndtr(off), np.exp(-0.5 * off**2) / (np.sqrt(2 * np.pi) * self.stds)
        edge, means, stds = least[self.of[hollow]], self.means[hollow], self.stds[hollow]
        hole = ndtr((np.minimum(place[hollow], edge) - means) / stds) - ndtr((-edge - means) / stds)
        parts[hollow] -= np.maximum(hole, 0.0)
        rates[hollow[np.abs(place[hollow]) < edge]] = 0.0
        below, rate = (np.bincount(self.of, self.weights * own, self.count).astype(float) for own in (parts, rates))
        return below, rate

    def _inside(self, least: Array) -> tuple[Array, Array]:
        """What of each normal lies nearer to nothing than ``least``, and its share of the mean."""
        from scipy.special import ndtr

        edge = least[self.of]
        low, high = (-edge - self.means) / self.stds, (edge - self.means) / self.stds
        share = np.where(edge > 0, ndtr(high) - ndtr(low), 0.0)
        slope = np.where(edge > 0, np.exp(-0.5 * high**2) - np.exp(-0.5 * low**2), 0.0) / np.sqrt(2 * np.pi)
        return share, self.means * share - self.stds * slope
