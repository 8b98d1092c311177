"""The single eccentric that would drive the valve most nearly alike: how the old books show a gear.

With the exact displacement as a Fourier series in the forward crank angle,
``v = Re(c0 + c1 exp(i t) + c2 exp(2 i t) + ...)``, an eccentric of throw e standing an angle a ahead of the
crank would give, with a long rod, ``v = e cos(t + a)``. The fit of least squares is therefore
``e = |c1|``, ``a = arg c1``; what is left over is the rest of the series.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.linkage import Harmonics
from linkmotion.studies.assess import SideEvents


@dataclass(frozen=True)
class VirtualEccentric:
    """Equivalent eccentrics of S notches.

    Attributes
    ----------
    throw : float array, shape (S,)
        Half the travel it gives, mm.
    angle : float array, shape (S,)
        Ahead of the crank pin in forward running, degrees in (-180, 180].
    off_centre : float array, shape (S,)
        Mean of the exact displacement, mm.
    left_over : float array, shape (S,)
        Greatest departure of the exact motion from eccentric and mean together, mm.
    """

    throw: Any
    angle: Any
    off_centre: Any
    left_over: Any

    @property
    def advance(self) -> Any:
        """Angular advance, degrees: beyond the right angle to the crank (negative: short of it)."""
        return np.abs(self.angle) - 90.0


def virtual_eccentric(displacement: Harmonics) -> VirtualEccentric:
    """Equivalent eccentric of valve motions.

    Parameters
    ----------
    displacement : Harmonics
        Of the valve from central, mm, shape (S, K), in the forward crank angle.

    Examples
    --------
    A throw of 25 mm, 105° ahead of the crank, about a middle 0.5 mm ahead of central:

    >>> found = virtual_eccentric(Harmonics(np.array([[0.5, 25 * np.exp(1j * np.radians(105.0))]])))
    >>> print(found.throw.round(6), found.angle.round(6), found.off_centre)
    [25.] [105.] [0.5]
    """
    first = displacement.c[..., 1]
    rest = displacement.c.copy()
    rest[..., :2] = 0.0
    left = np.max(np.abs(Harmonics(rest).on_grid(720)), axis=-1)
    return VirtualEccentric(np.abs(first), np.degrees(np.angle(first)), displacement.c[..., 0].real, left)


def of_side(side: SideEvents) -> VirtualEccentric:
    """Equivalent eccentric of each notch of a side."""
    return virtual_eccentric(side.displacement)
