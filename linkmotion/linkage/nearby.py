r"""Periodic signals close to one angle, as polynomials: far cheaper than their series, and as exact.

Near t0 the series Re(sum of c[k] exp(i k t)) is the polynomial in u = t - t0 with the coefficients
Re(sum of c[k] exp(i k t0) (i k)^m / m!). What is left out after M terms is less than sum(|c[k]| (k u)^M) / M!
(Taylor's theorem), which tells how far from t0 it may be used.
"""

from __future__ import annotations

from math import factorial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.linkage.periodic import Harmonics

Array = NDArray[Any]
_TERMS = 16
_LEFT_OUT = 1e-12  # of the signal's unit
_MOST_STEPS, _STEP, _DOUBLES = 6, 0.5, 1e-7  # radians: of one step; Newton's error after a step of 1e-7 is its square


class Nearby:
    """S signals, each near the same E angles.

    Parameters
    ----------
    signal : Harmonics
        Shape (S, K).
    about : array, shape (E,)
        Radians.

    Attributes
    ----------
    radius : float
        How far from the angles the polynomials serve, radians.
    """

    def __init__(self, signal: Harmonics, about: Array) -> None:
        orders, k = np.arange(_TERMS), np.arange(signal.c.shape[-1])
        parts = np.array([(1j * k) ** m / factorial(m) for m in orders])
        basis = np.conj(
            np.exp(1j * np.outer(about, k)) * parts[:, None]
        )  # (M, E, K): Re(c b) = Re c Re b* + Im c Im b*
        rows = np.ascontiguousarray(signal.c).view(float)
        flat = np.ascontiguousarray(basis).view(float).reshape(-1, rows.shape[-1])
        self._p = (flat @ rows.T).reshape(_TERMS, len(about), len(rows))
        left_out = np.max(np.abs(signal.c), axis=0) @ k.astype(float) ** _TERMS / factorial(_TERMS)
        self.radius = float((_LEFT_OUT / left_out) ** (1 / _TERMS)) if left_out > 0 else np.inf

    def passing(self, line: Array) -> tuple[Array, Array, NDArray[np.bool_]]:
        """Where the signals pass a line of their own near each angle, by Newton's method.

        Parameters
        ----------
        line : array, shape (E, S)

        Returns
        -------
        beyond : array, shape (E, S)
            Radians from the angle; without meaning where it is not found.
        speed : array, shape (E, S)
            The derivative there.
        found : bool array, shape (E, S)
        """
        u = np.zeros(line.shape)
        with np.errstate(all="ignore"):
            for _ in range(_MOST_STEPS):
                value, speed = self._jet(u)
                step = np.clip((value - line) / speed, -_STEP, _STEP)
                u -= step
                if np.max(np.abs(step)) < _DOUBLES:
                    break
            return u, speed, (np.abs(step) < _DOUBLES) & (np.abs(u) < self.radius)

    def _jet(self, u: Array) -> tuple[Array, Array]:
        value, speed = self._p[-1].copy(), np.zeros(u.shape)
        for own in self._p[-2::-1]:
            speed *= u
            speed += value
            value *= u
            value += own
        return value, speed
