"""The shortest interval that holds a dimension 19 times in 20, of a mixture of normals.

Of a part that is most likely off its drawing, and just possibly not, the interval with as much outside on either side
would reach from the one to the other; the shortest stays where the part most likely is.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
WITHIN = 0.95
_OUTSIDE = np.linspace(0.001, 0.049, 9)  # below it: how much may be
_LEAST = 5e-4  # of the whole: accounts less likely are left out
_HALVINGS = 20
_FAR = 8.0  # standard deviations


def shortest(weights: Array, means: Array, stds: Array) -> tuple[Array, Array]:
    """Limits of D mixtures, shape (D,) each.

    Parameters
    ----------
    weights : array, shape (H,)
        Their sum is one.
    means, stds : arrays, shape (H, D)
        Of each normal.

    Examples
    --------
    >>> low, high = shortest(np.ones(1), np.zeros((1, 1)), np.ones((1, 1)))
    >>> round(float(low[0]), 2), round(float(high[0]), 2)
    (-1.96, 1.96)
    """
    kept = weights > _LEAST
    weights, means, stds = weights[kept] / np.sum(weights[kept]), means[kept], stds[kept]
    low = _quantiles(weights, means, stds, _OUTSIDE)
    high = _quantiles(weights, means, stds, _OUTSIDE + WITHIN)
    best = np.argmin(high - low, axis=0)
    own = np.arange(means.shape[1])
    return low[best, own], high[best, own]


def _quantiles(weights: Array, means: Array, stds: Array, levels: Array) -> Array:
    """Of each mixture at each level, by halving, shape (levels, D)."""
    from scipy.special import ndtr

    low = np.tile(np.min(means - _FAR * stds, axis=0), (levels.size, 1))
    high = np.tile(np.max(means + _FAR * stds, axis=0), (levels.size, 1))
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        below = np.einsum("h,hld->ld", weights, ndtr((middle[None] - means[:, None]) / stds[:, None]))
        under = below < levels[:, None]
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    return np.asarray((low + high) / 2)
