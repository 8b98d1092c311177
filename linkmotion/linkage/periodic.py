"""Periodic motion as a Fourier series: exact values between the positions that were solved.

What a linkage does over a revolution without a dead point is analytic in the wheel angle, so the
coefficients fall off geometrically and a few dozen positions give every other to rounding. The
highest coefficients kept are the estimate of what is missing.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class Harmonics:
    """Fourier series of periodic quantities.

    Attributes
    ----------
    c : complex array, shape (..., K)
        ``value(t) = Re(sum over k of c[k] exp(i k t))``, t in radians; any unit.

    Examples
    --------
    >>> t = np.arange(16) * 2 * np.pi / 16
    >>> series = Harmonics.through(3 + 2 * np.cos(t))
    >>> bool(abs(series(0.5) - (3 + 2 * np.cos(0.5))) < 1e-14)
    True
    """

    c: NDArray[np.complex128]

    @classmethod
    def through(cls, samples: Any) -> Harmonics:
        """Series through samples of a periodic motion; the lone highest cosine is left out.

        Parameters
        ----------
        samples : float array, shape (..., M)
            At t = 0, 2 pi/M, ...; M even.

        Returns
        -------
        Harmonics
            Of shape (..., K), K = M/2; what it leaves out is its ``tail``.
        """
        samples = np.asarray(samples, float)
        count = samples.shape[-1]
        c = np.fft.rfft(samples)[..., : (count + 1) // 2] * (2.0 / count)
        c[..., 0] *= 0.5
        return cls(c)

    @cached_property
    def tail(self) -> float:
        """Size of the last few coefficients kept: the estimate of the error, in the quantity's unit."""
        return float(np.max(np.abs(self.c[..., -3:])))

    def on_grid(self, count: int) -> NDArray[np.float64]:
        """Values at even steps round the circle.

        Parameters
        ----------
        count : int
            How many, at t = 0, 2 pi/count, ...; at least twice the harmonics kept.

        Returns
        -------
        float array, shape (..., count)
            In the unit of the series.
        """
        full = self.c * (count / 2.0)
        full[..., 0] *= 2.0
        return np.fft.irfft(full, count)

    def __call__(self, t: Any, order: int = 0) -> Any:
        """Values (or the derivative of the given order to t) at angles t.

        The leading shape of ``t`` broadcasts against the leading shape of the series: a series of
        shape (..., K) takes t of shape (...,) or a plain number.
        """
        k = np.arange(self.c.shape[-1])
        c = self.c * (1j * k) ** order if order else self.c
        z = np.exp(1j * np.asarray(t))
        total = c[..., -1] + 0.0 * z
        for j in range(c.shape[-1] - 2, -1, -1):
            total = total * z + c[..., j]
        return total.real

    def jet(self, t: Any, order: int) -> tuple[Any, ...]:
        """Values at one angle of each series and their derivatives to t up to the second, in one pass.

        Parameters
        ----------
        t : array, shape (Z,)
            Radians; the series has shape (Z, K).
        order : int
            Highest derivative wanted: 0, 1 or 2.
        """
        columns, z = np.ascontiguousarray(self.c.T), np.exp(1j * np.asarray(t))
        p = [columns[-1] + 0.0 * z, *(np.zeros_like(z) for _ in range(order))]  # of the polynomial in z: p, p', p''/2
        for j in range(len(columns) - 2, -1, -1):
            for n in range(order, 0, -1):
                p[n] *= z
                p[n] += p[n - 1]
            p[0] *= z
            p[0] += columns[j]
        turned = [p[0]] if order == 0 else [p[0], 1j * z * p[1]]
        if order == 2:
            turned.append(-z * (p[1] + 2 * z * p[2]))
        return tuple(own.real for own in turned)

    def rate(self) -> Harmonics:
        """The series of the derivative to t."""
        return Harmonics(self.c * (1j * np.arange(self.c.shape[-1])))

    def reversed(self) -> Harmonics:
        """The same motion run the other way: value(-t)."""
        return Harmonics(np.conj(self.c))

    def __getitem__(self, index: Any) -> Harmonics:
        """Pick out of the leading shape."""
        return Harmonics(self.c[index])


def onward(q: Any, known: Any, positions: int = 4) -> Any:
    """A quantity round the wheel where it is known, and a few positions on from there by the line through the last two.

    Parameters
    ----------
    q : array
        The quantity, of any unit, the last axis round the wheel.
    known : bool array
        Where it is known; the rest is kept, but for the positions near these.
    positions : int
        How many: at 64 of a revolution a line still tells which of two assemblies is meant four on.

    Examples
    --------
    >>> q = np.array([0.0, 1.0, 2.0, 9.0, 9.0, 9.0, 9.0, 9.0])
    >>> onward(q, q < 9.0, positions=2).tolist()
    [0.0, 1.0, 2.0, 3.0, 4.0, 9.0, -2.0, -1.0]
    """
    for _ in range(positions):
        beside = {way: np.roll(known, way, -1) for way in (-1, 1)}
        for way, one in beside.items():
            last, two = np.roll(q, way, -1), np.roll(known, 2 * way, -1)
            q = np.where(one & ~known, np.where(two, 2 * last - np.roll(q, 2 * way, -1), last), q)
        known = known | beside[-1] | beside[1]
    return q
