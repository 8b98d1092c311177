r"""How well each set of wrong dimensions explains the readings, in the linear case in closed form.

With readings whitened by their uncertainties and departures measured in their sound spreads, ``r = J z + e`` has
``z ~ N(0, P)``, ``e ~ N(0, 1)``, and P is one but for the wrong dimensions S, where it is ``1 + q``. With
``A = J Jᵀ + 1``, ``G = Jᵀ A⁻¹ J`` and ``g = Jᵀ A⁻¹ r`` (none wrong), a set S adds to A a term of its own rank, so

    rᵀ A_S⁻¹ r = rᵀ A⁻¹ r - g_Sᵀ K g_S,   log|A_S| = log|A| + log|1 + Q G_SS|,   K = (1 + Q G_SS)⁻¹ Q

(the matrix inversion lemma), and the best estimate and its variance follow from ``u = g - G_S K g_S``:
``z = P u``, ``C = P - P (G - G_S K G_Sᵀ) P``. All sets are done together.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]
Sets = NDArray[np.intp]
NONE = -1


def sets_of(count: int) -> Sets:
    """Sets of none, one and two of so many dimensions, shape (H, 2); absent members are −1.

    >>> sets_of(2).tolist()
    [[-1, -1], [0, -1], [1, -1], [0, 1]]
    """
    pairs = list(combinations(range(count), 2))
    return np.array([(NONE, NONE), *((i, NONE) for i in range(count)), *pairs], np.intp)


@dataclass(frozen=True, eq=False)
class Linear:
    """The readings about one place, whitened.

    Attributes
    ----------
    slopes : float array, shape (R, D)
        J: in the readings' uncertainties per sound spread.
    ratio : float array, shape (D,)
        q: variance that a fault adds, over the sound one.
    inner : float array, shape (D, D)
        G.
    weight : float array, shape (D, R)
        Jᵀ A⁻¹, so that g = weight r.
    log_det : float
        log|A|.
    """

    slopes: Array
    ratio: Array
    inner: Array
    weight: Array
    log_det: float

    @classmethod
    def about(cls, slopes: Array, ratio: Array) -> Linear:
        """From the slopes there."""
        outer = slopes @ slopes.T + np.eye(len(slopes))
        weight = np.linalg.solve(outer, slopes).T
        return cls(slopes, ratio, weight @ slopes, weight, float(np.linalg.slogdet(outer)[1]))

    def variances(self, sets: Sets) -> Array:
        """P of each set, shape (H, D)."""
        found = np.ones((len(sets), self.ratio.size))
        for member in sets.T:
            there = np.flatnonzero(member != NONE)
            found[there, member[there]] += self.ratio[member[there]]
        return found

    def gains(self, sets: Sets) -> tuple[Array, Array]:
        """K (H, 2, 2) of each set, and what its log|A_S| has more than log|A|, shape (H,)."""
        own = self._widths(sets)[:, :, None] * self.inner[sets[:, :, None], sets[:, None, :]] + np.eye(2)
        return np.linalg.solve(own, self._widths(sets)[:, :, None] * np.eye(2)), np.linalg.slogdet(own)[1]

    def _widths(self, sets: Sets) -> Array:
        """Q of each set's members, nothing for the absent, shape (H, 2)."""
        return np.where(sets == NONE, 0.0, self.ratio[sets])

    def estimates(self, sets: Sets, residuals: Array) -> Array:
        """Best z of each set from its own linear residuals r (H, R), shape (H, D)."""
        g = residuals @ self.weight.T
        own = np.take_along_axis(g, sets, axis=1)  # an absent member reads the last, and K gives it no weight
        moved = np.einsum("hij,hj->hi", self.gains(sets)[0], own)
        return np.asarray(self.variances(sets) * (g - np.einsum("hi,hid->hd", moved, self.inner[sets])))

    def spreads(self, sets: Sets) -> Array:
        """Variance of each z in each set, shape (H, D)."""
        across = self.inner[sets]  # (H, 2, D)
        gain = np.einsum("hid,hij,hjd->hd", across, self.gains(sets)[0], across)
        wide = self.variances(sets)
        return np.asarray(wide - wide**2 * (np.diag(self.inner) - gain))

    def covariance(self, members: NDArray[np.intp]) -> Array:
        """Covariance of z in one set, shape (D, D)."""
        sets = members[None]
        across, wide = self.inner[members], self.variances(sets)[0]
        own = self.inner - across.T @ self.gains(sets)[0][0] @ across
        return np.asarray(np.diag(wide) - wide[:, None] * own * wide)

    def misfit_taken(self, sets: Sets, residual: Array) -> Array:
        """By how much each set lowers rᵀ A⁻¹ r of residuals (H, R) or (R,), shape (H,)."""
        g = np.broadcast_to(residual @ self.weight.T, (len(sets), self.ratio.size))
        own = np.take_along_axis(g, sets, axis=1)
        return np.asarray(np.einsum("hi,hij,hj->h", own, self.gains(sets)[0], own))
