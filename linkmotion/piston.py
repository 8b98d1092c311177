"""The piston as the valve events see it: its dead centres, and how far it stands from them."""

from __future__ import annotations

from typing import Any, Protocol

import numpy as np


class Piston(Protocol):
    """What the events must know of the crank and piston."""

    @property
    def back_crank_angle(self) -> Any:
        """Crank angle of back dead centre from front dead centre in forward running, radians."""

    def fraction(self, forward_angle: Any) -> Any:
        """Piston's distance from its front limit as a fraction of the stroke.

        Parameters
        ----------
        forward_angle : float or array
            Crank angle from front dead centre in forward running, radians.
        """


def dead_centre(piston: Piston, end: str, forward: bool = True) -> Any:
    """Crank angle of an end's dead centre from the front one.

    With the cylinder line off the axle the two are not half a turn apart.

    Parameters
    ----------
    piston : Piston
        Crank and piston.
    end : str
        "front" or "back".
    forward : bool
        Whether the angle goes in the direction of forward running, or of backward.

    Returns
    -------
    float or array
        Radians in [0, 2 pi), of the shape of ``back_crank_angle``; 0.0 for the front.
    """
    if end == "front":
        return 0.0
    return piston.back_crank_angle if forward else 2 * np.pi - piston.back_crank_angle


def part_from(piston: Piston, end: str, forward_angle: Any) -> Any:
    """Piston's distance from an end's dead centre, in parts of the stroke.

    Parameters
    ----------
    piston : Piston
        Crank and piston.
    end : str
        "front" or "back".
    forward_angle : float or array
        Crank angle from front dead centre in forward running, radians.
    """
    gone = piston.fraction(forward_angle)
    return gone if end == "front" else 1 - gone
