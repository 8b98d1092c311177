r"""How well each set of faults explains the readings, in the linear case in closed form.

With readings whitened by their uncertainties and unknowns measured in their spreads, ``r = J z + e`` has
``z ~ N(0, P)``, ``e ~ N(0, 1)``. P is the base (one for dimensions as near their figures as their tolerances say and
for disturbances, nothing for misreadings) but for the faults S, where it is larger by q. With ``A = J P Jᵀ + 1``,
``G = Jᵀ A⁻¹ J`` and ``g = Jᵀ A⁻¹ r`` (no faults), a set S adds to A a term of its own rank, so

    rᵀ A_S⁻¹ r = rᵀ A⁻¹ r - g_Sᵀ K g_S,   log|A_S| = log|A| + log|1 + Q G_SS|,   K = (1 + Q G_SS)⁻¹ Q

(the matrix inversion lemma), and the best estimate and its variance follow from ``u = g - G_S K g_S``:
``z = P u``, ``C = P - P (G - G_S K G_Sᵀ) P``. All sets are done together.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations, product
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]
Sets = NDArray[np.intp]
NONE = -1


def sets_of(suspects: Any, misread: Any = ()) -> Sets:
    """Sets of none, one and two suspects, each alone and with one misreading, shape (H, 2); absent members are −1.

    Of two suspects and a misreading together there is no set.

    Parameters
    ----------
    suspects, misread : sequences of int
        Numbers of unknowns.

    Examples
    --------
    >>> sets_of([0, 1]).tolist()
    [[-1, -1], [0, -1], [1, -1], [0, 1]]
    >>> sets_of([0], [5, 6]).tolist()
    [[-1, -1], [0, -1], [5, -1], [6, -1], [0, 5], [0, 6]]
    """
    alone = [(i, NONE) for i in (*suspects, *misread)]
    return np.array([(NONE, NONE), *alone, *combinations(suspects, 2), *product(suspects, misread)], np.intp)


@dataclass(frozen=True, eq=False)
class Linear:
    """The readings about one place, whitened.

    In all methods ``sets`` are H sets of M members, shape (H, M), and ``wide`` by how much more the variance of each
    member is than the base, (H, M), in squares of the unknowns' spreads.

    Attributes
    ----------
    slopes : float array, shape (R, N)
        J: in the readings' uncertainties per spread of each unknown.
    base : float array, shape (N,)
        P without faults.
    inner : float array, shape (N, N)
        G.
    weight : float array, shape (N, R)
        Jᵀ A⁻¹, so that g = weight r.
    inverse : float array, shape (R, R)
        A⁻¹.
    log_det : float
        log|A|.
    """

    slopes: Array
    base: Array
    inner: Array
    weight: Array
    inverse: Array
    log_det: float

    @classmethod
    def about(cls, slopes: Array, base: Array) -> Linear:
        """From the slopes and the base, as of the attributes."""
        outer = (slopes * base) @ slopes.T + np.eye(len(slopes))
        inverse = np.linalg.inv(outer)
        weight = slopes.T @ inverse
        return cls(slopes, base, weight @ slopes, weight, inverse, float(np.linalg.slogdet(outer)[1]))

    def variances(self, sets: Sets, wide: Array) -> Array:
        """P of each set, its members wider by ``wide`` (H, M), shape (H, N)."""
        found = np.tile(self.base, (len(sets), 1))
        for member, more in zip(sets.T, wide.T, strict=True):
            there = np.flatnonzero(member != NONE)
            found[there, member[there]] += more[there]
        return found

    def gains(self, sets: Sets, wide: Array) -> tuple[Array, Array]:
        """K (H, M, M) of each set, and what its log|A_S| has more than log|A|, shape (H,)."""
        unit = np.eye(sets.shape[1])
        own = wide[:, :, None] * self.inner[sets[:, :, None], sets[:, None, :]] + unit
        return np.linalg.solve(own, wide[:, :, None] * unit), np.linalg.slogdet(own)[1]

    def estimates(self, sets: Sets, wide: Array, residuals: Array) -> Array:
        """Best z of each set from its own linear residuals r (H, R), shape (H, N)."""
        g = residuals @ self.weight.T
        own = np.take_along_axis(g, sets, axis=1)  # an absent member reads the last, and K gives it no weight
        moved = np.einsum("hij,hj->hi", self.gains(sets, wide)[0], own)
        return np.asarray(self.variances(sets, wide) * (g - np.einsum("hi,hid->hd", moved, self.inner[sets])))

    def spreads(self, sets: Sets, wide: Array) -> Array:
        """Variance of each z in each set, shape (H, N)."""
        across = self.inner[sets]  # (H, M, N)
        gain = np.einsum("hid,hij,hjd->hd", across, self.gains(sets, wide)[0], across)
        own = self.variances(sets, wide)
        return np.asarray(own - own**2 * (np.diag(self.inner) - gain))

    def covariance(self, members: NDArray[np.intp], wide: Array, which: NDArray[np.intp] | None = None) -> Array:
        """Covariance of z in one set, shape (N, N), or (n, n) of some of them.

        Parameters
        ----------
        members, wide : arrays, shape (M,)
            Of the set.
        which : int array, shape (n,), optional
            Numbers of the unknowns wanted; all unless given.
        """
        sets, more = members[None], wide[None]
        across, own, inner = self.inner[members], self.variances(sets, more)[0], self.inner
        if which is not None:
            across, own, inner = across[:, which], own[which], inner[np.ix_(which, which)]
        left = inner - across.T @ self.gains(sets, more)[0][0] @ across
        return np.asarray(np.diag(own) - own[:, None] * left * own)

    def between(self, sets: Sets, wide: Array, one: NDArray[np.intp], two: NDArray[np.intp]) -> Array:
        """Covariance of two different unknowns in each set, which ones (H,), shape (H,)."""
        moved = np.einsum(
            "hi,hij,hj->h", self.inner[sets, one[:, None]], self.gains(sets, wide)[0], self.inner[sets, two[:, None]]
        )
        own, row = self.variances(sets, wide), np.arange(len(sets))
        return np.asarray(own[row, one] * (moved - self.inner[one, two]) * own[row, two])

    def misfit(self, residuals: Array) -> Array:
        """rᵀ A⁻¹ r of residuals (H, R) or (R,)."""
        return np.asarray(np.sum(residuals @ self.inverse * residuals, axis=-1))

    def misfit_taken(self, sets: Sets, wide: Array, residuals: Array) -> Array:
        """By how much each set lowers rᵀ A⁻¹ r of residuals (H, R) or (R,), shape (H,)."""
        g = np.broadcast_to(residuals @ self.weight.T, (len(sets), self.base.size))
        own = np.take_along_axis(g, sets, axis=1)
        return np.asarray(np.einsum("hi,hij,hj->h", own, self.gains(sets, wide)[0], own))

    def evidence(self, sets: Sets, wide: Array, residuals: Array) -> Array:
        """Logarithm of how likely residuals are under each set, less a constant, shape (H, C).

        Parameters
        ----------
        sets, wide : arrays, shape (H, M) and (H, C, M)
            C choices of how much wider each member is.
        residuals : array, shape (H, R) or (R,)
            Each set's own, or one for all.
        """
        g = np.broadcast_to(residuals @ self.weight.T, (len(sets), self.base.size))
        own = np.take_along_axis(g, sets, axis=1)
        between = self.inner[sets[:, :, None], sets[:, None, :]]
        member = wide[:, :, :, None] * between[:, None] + np.eye(sets.shape[1])  # (H, C, M, M): 1 + Q G_SS
        taken = np.sum(own[:, None] * np.linalg.solve(member, (wide * own[:, None])[..., None])[..., 0], axis=-1)
        more = np.linalg.slogdet(member)[1]
        return np.asarray(-0.5 * (np.reshape(self.misfit(residuals), (-1, 1)) - taken + self.log_det + more))
