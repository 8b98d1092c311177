"""Motions as text, small: Chebyshev series over the reverser of Fourier series over the wheel, in whole steps.

Values at the Chebyshev nodes give the coefficients of their interpolant,

    a_n = 2/N  sum''_j f(u_j) cos(pi n j / N),   the first and last of both halved,

and those fall fast in both directions where the motion is smooth: each is kept as a whole number of steps, and what
is less than half a step is nothing. Whole numbers stand as bytes of seven bits, least first, the sign in the first
bit, and the bytes as base64.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

FINE = 1e-6  # mm or degrees: the valve, the die and the link, whose figures are told
COARSE = 1e-4  # mm: pins, which are only drawn, their differences at most a hundred times enlarged
FREE = 1e-4  # mm: lost motion, told to a hundredth


def chebyshev(values: NDArray[Any]) -> NDArray[Any]:
    """Coefficients of the Chebyshev series through values at Chebyshev nodes, greatest first, along the first axis.

    >>> nodes = np.cos(np.pi * np.arange(5) / 4)
    >>> [abs(round(float(a), 12)) for a in chebyshev(2 * nodes**2 - 1 + 3 * nodes)]
    [0.0, 3.0, 1.0, 0.0, 0.0]
    """
    last = len(values) - 1
    if last == 0:
        return values
    halved = np.ones(last + 1)
    halved[[0, -1]] = 0.5
    rows = np.arange(last + 1)
    share = 2 / last * np.cos(np.pi * np.outer(rows, rows) / last) * np.outer(halved, halved)
    return np.tensordot(share, values, axes=1)


def series(coefficients: NDArray[Any], steps: Iterable[float]) -> str:
    """Coefficients, shape (N, Q, K) and complex, each quantity in its own steps.

    Quantity by quantity: how many rows are kept; of each how many harmonics, and the real and imaginary part of each.
    """
    by = np.array([*steps])[:, None]
    whole = np.round(np.stack([coefficients.real, coefficients.imag], axis=-1) / by[..., None]).astype(np.int64)
    said = (whole[..., 0] | whole[..., 1]) != 0
    counts = _kept(said)  # harmonics of each row, shape (N, Q)
    rows = _kept(counts.T > 0)  # rows of each quantity
    numbers: list[NDArray[Any]] = []
    for q, most in enumerate(rows):
        numbers.append(rows[q : q + 1])
        for n in range(most):
            numbers += [counts[n, q : q + 1], whole[n, q, : counts[n, q]].ravel()]
    return packed(np.concatenate(numbers))


def _kept(said: NDArray[Any]) -> NDArray[Any]:
    """How many there are along the last axis up to the last that says anything."""
    last = said.shape[-1] - np.argmax(said[..., ::-1], axis=-1)
    return np.where(said.any(axis=-1), last, 0)


def packed(numbers: NDArray[Any]) -> str:
    """Whole numbers as text.

    >>> base64.b64decode(packed(np.array([0, -1, 1, 64]))).hex()
    '0001028001'
    """
    signed = np.where(numbers < 0, -2 * numbers - 1, 2 * numbers).astype(np.uint64)
    sevens = 7 * np.arange(10, dtype=np.uint64)
    digits = (signed[:, None] >> sevens) & np.uint64(127)
    length = np.maximum(10 - np.argmax(digits[:, ::-1] > 0, axis=1), 1)
    length[signed == 0] = 1
    place = np.arange(10)
    digits += np.where(place < length[:, None] - 1, np.uint64(128), np.uint64(0))
    return base64.b64encode(digits[place < length[:, None]].astype(np.uint8).tobytes()).decode()
