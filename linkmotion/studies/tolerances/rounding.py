r"""What rounding to whole steps makes of a setting, as a linear law with a spread of its own.

A wanted number of steps x, normal about m with standard deviation s, is rounded to Q. The best linear picture is
Q = M + β (x - m) + noise. The rounding error x - Q is a saw with teeth of one step, so that by its Fourier series, with
c and d the cosine and sine of 2πkm times exp(-2π²s²k²),

    β = 1 + 2 sum (-1)^k c,   m - M = -sum (-1)^k d/(πk),   E (x - Q)² = 1/12 + sum (-1)^k c/(πk)²,   k = 1, 2, …

Of wide wants all is done but for 1/12 of a step, squared; of small ones about nothing, nothing.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
_TERMS = np.arange(1, 400)
_SMALL = 0.004  # steps: a want that spreads less is rounded like a fixed one


def rounded(mean: float, std: float) -> tuple[float, float, float]:
    """M, β and the noise's variance of wants about a mean, in steps.

    >>> [[round(part, 4) for part in rounded(*want)] for want in ((0.0, 0.1), (0.0, 0.3), (0.4, 0.3), (1.3, 5.0))]
    [[0.0, 0.0, 0.0], [0.0, 0.6632, 0.056], [0.3682, 1.2743, 0.0894], [1.3, 1.0, 0.0833]]
    """
    if std < _SMALL:
        return float(np.round(mean)), 0.0, 0.0
    teeth = (-1.0) ** _TERMS * np.exp(-2 * (np.pi * std * _TERMS) ** 2)
    c, d = (teeth * wave(2 * np.pi * _TERMS * mean) for wave in (np.cos, np.sin))
    gain, shift = 1 + 2 * float(np.sum(c)), -float(np.sum(d / (np.pi * _TERMS)))
    error = 1 / 12 + float(np.sum(c / (np.pi * _TERMS) ** 2)) - shift**2
    return mean - shift, gain, max(error - (std * (1 - gain)) ** 2, 0.0)


def rounded_off(gram: Array, wanted: Array, mean: Array, std: Array) -> tuple[Array, Array, Array]:
    """Whole steps of A adjustments as a linear law: of C causes, shape (A, C), on the mean, (A,), and noise, (A, A).

    Adjustments are rounded one after another, each making up for what those before it left. The noise has a column
    for each of A causes of one standard deviation.

    Parameters
    ----------
    gram : float array, shape (A, A)
        As of :func:`~linkmotion.studies.tolerances.whole_steps.whole_steps`.
    wanted : float array, shape (A, C)
        Parts of steps wanted, per unit of each cause.
    mean : float array, shape (A,)
        Wanted on the mean.
    std : float array, shape (C,)
        Standard deviation of each cause.
    """
    root = np.linalg.cholesky(gram).T
    taken, always, noise = np.zeros_like(wanted), np.zeros_like(mean), np.zeros_like(gram)
    for j in reversed(range(len(gram))):
        share = root[j, j + 1 :] / root[j, j]
        asked = wanted[j] - share @ (taken[j + 1 :] - wanted[j + 1 :])
        stirred = -share @ noise[j + 1 :]
        about = float(mean[j] - share @ (always[j + 1 :] - mean[j + 1 :]))
        always[j], gain, rest = rounded(about, float(np.sqrt(np.sum((asked * std) ** 2) + np.sum(stirred**2))))
        taken[j], noise[j] = gain * asked, gain * stirred
        noise[j, j] += np.sqrt(rest)
    return taken, always, noise
