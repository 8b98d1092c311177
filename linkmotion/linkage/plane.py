"""Plane vectors written as complex numbers ``x + iy``, and what is done with them everywhere in this room."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Real = float | NDArray[Any]
"""A dimension: a number, or an array that broadcasts against the wheel positions."""
XY = tuple[Real, Real]
Points = list[Any]
"""Places (or movements) of the pins by number, complex; None for what is not placed (or does not move)."""
Shifts = dict[tuple[str, int], Any]
"""(part, pin number) to the derivative of an output to a shift of that part's hole for the pin."""
Gradient = tuple[tuple[int, Any], ...]
"""(pin number, g): ``d(left over) = sum of Re(conj(g) * d(pin))``."""


def dot(u: Any, w: Any) -> Any:
    """Scalar product of two plane vectors: ``Re(conj(u) w)``.

    Parameters
    ----------
    u, w : complex or complex arrays
        Of shapes that broadcast together.

    Examples
    --------
    >>> dot(3 + 4j, 1j), cross(3 + 4j, 1j)
    (4.0, 3.0)
    """
    return u.real * w.real + u.imag * w.imag


def cross(u: Any, w: Any) -> Any:
    """Turning of w out of u: ``Im(conj(u) w)``, positive when w lies to the left of u.

    Parameters
    ----------
    u, w : complex or complex arrays
        Of shapes that broadcast together.
    """
    return u.real * w.imag - u.imag * w.real


def real_point(x: Any, y: Any) -> Any:
    """A place as a complex number, real parts alone (where a complex step may pass).

    Parameters
    ----------
    x, y : float or array, real or complex
        mm.
    """
    if isinstance(x, float) and isinstance(y, float):
        return complex(x, y)
    return np.real(x) + 1j * np.real(y)


def sign_of(side: Any) -> Any:
    """Branch taken on a side of the sketch, ±1; one number where all variants take the same.

    Parameters
    ----------
    side : float or array, shape (S, 1)
        Positive or negative by the side, of any size; nought counts as positive.
    """
    if np.ndim(side) == 0:
        return -1.0 if side < 0 else 1.0
    signs = np.where(side < 0, -1.0, 1.0)
    first = float(signs.flat[0])
    return first if np.all(signs == first) else signs


def greatest(value: Real) -> float:
    """The number, or the greatest of an array's.

    Parameters
    ----------
    value : float or array
        Of any shape.
    """
    return value if isinstance(value, float) else float(np.max(value))


def add(store: Any, key: Any, value: Any) -> None:
    """Add to an entry that may not be there yet, or may be None.

    Parameters
    ----------
    store : dict or list
        Where the entry stands; written to.
    key, value
        Which one; what is added.
    """
    old = store.get(key) if isinstance(store, dict) else store[key]
    store[key] = value if old is None else old + value
