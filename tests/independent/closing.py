"""Loops closed to rounding by Newton's method, with the crank in one direction or in many at once."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
CLOSURE = 1e-11  # mm; rounding of sums of 3000 mm terms is about 1e-12


class NotClosed(ValueError):
    """The loops cannot be closed, or have jumped to another assembly, at this crank angle."""


def polished(closures: Callable[[Floats], tuple[Floats, Floats]], x: Floats, crank: Any) -> Floats:
    """Newton's method from a near solution; refuses what does not close to rounding.

    ``x`` (n,) with the crank in one direction (radians), or (n, N) in N of them; ``closures`` gives what the loops
    stay open (n,) or (n, N), mm, and its slopes (n, n) or (n, n, N).
    """
    worst = math.inf
    for _ in range(8):
        left, slopes = closures(x)
        before, worst = worst, float(np.abs(left).max())
        if worst < CLOSURE / 4 or (worst < CLOSURE and worst >= before):
            return x
        try:
            x = x - _step(slopes, left)
        except np.linalg.LinAlgError:
            break
    raise NotClosed(f"closure {worst:.3g} mm with the crank at {np.degrees(np.ravel(crank)[0]):.3f} degrees")


def _step(slopes: Floats, left: Floats) -> Floats:
    if left.ndim == 1:
        return np.asarray(np.linalg.solve(slopes, left))
    return np.asarray(np.linalg.solve(slopes.transpose(2, 0, 1), left.T[..., None])[..., 0].T)
