"""Plane vectors as complex numbers that carry their slopes to the unknowns of a linkage.

A loop is then written once, and its Jacobian comes with it: the slope of a sum is the sum of the slopes, that
of a product is by Leibniz's rule, and that of exp(i k x) is i k exp(i k x).
"""

from __future__ import annotations

import cmath
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Slopes = NDArray[np.complex128]


@dataclass(slots=True)
class Vector:
    """A vector ``z`` (x + iy) and its derivatives ``by`` each unknown; or N vectors at once, (N,) and (n, N)."""

    z: Any
    by: Slopes
    __array_ufunc__: ClassVar[None] = None  # numpy's numbers and arrays leave sums and products to a vector

    def __add__(self, other: Vector | complex | Slopes) -> Vector:
        if isinstance(other, Vector):
            return Vector(self.z + other.z, self.by + other.by)
        return Vector(self.z + other, self.by)

    __radd__ = __add__

    def __mul__(self, other: Vector | complex | Slopes) -> Vector:
        if isinstance(other, Vector):
            return Vector(self.z * other.z, self.by * other.z + self.z * other.by)
        return Vector(self.z * other, self.by * other)

    __rmul__ = __mul__

    def __sub__(self, other: Vector | complex | Slopes) -> Vector:
        if isinstance(other, Vector):
            return Vector(self.z - other.z, self.by - other.by)
        return Vector(self.z - other, self.by)

    def __rsub__(self, other: complex | Slopes) -> Vector:
        return other + -1.0 * self


@dataclass(frozen=True)
class Unknowns:
    """The unknowns of a linkage by name, at the values ``x`` (n,) or (n, N); lengths in mm, angles in radians."""

    names: Sequence[str]
    x: Floats

    def length(self, name: str) -> Vector:
        """The unknown itself, as a vector along the real axis."""
        k = self.names.index(name)
        by = np.zeros(self.x.shape, dtype=np.complex128)
        by[k] = 1.0
        return Vector(complex(self.x[k]) if self.x.ndim == 1 else self.x[k] + 0j, by)

    def turn(self, name: str, rate: float = 1.0) -> Vector:
        """Unit vector at ``rate`` times the unknown."""
        k = self.names.index(name)
        z = turned(rate * self.x[k])
        by = np.zeros(self.x.shape, dtype=np.complex128)
        by[k] = 1j * rate * z
        return Vector(z, by)


def turned(angle: Any) -> Any:
    """Unit vector at an angle, radians, or at each of an array of them."""
    return cmath.exp(1j * angle) if isinstance(angle, float) else np.exp(1j * angle)


def residual_and_jacobian(closures: Sequence[Vector]) -> tuple[Floats, Floats]:
    """Real closures (all x, then all y) and their matrix of slopes."""
    z = np.array([c.z for c in closures])
    by = np.array([c.by for c in closures])
    return np.concatenate([z.real, z.imag]), np.concatenate([by.real, by.imag])
