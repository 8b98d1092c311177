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
        """Piston's distance from its front limit as a fraction of the stroke."""


def dead_centre(piston: Piston, end: str, forward: bool = True) -> Any:
    """Crank angle of an end's dead centre from the front one, radians in forward running or in backward."""
    if end == "front":
        return 0.0
    return piston.back_crank_angle if forward else 2 * np.pi - piston.back_crank_angle


def part_from(piston: Piston, end: str, forward_angle: Any) -> Any:
    """Piston's distance from an end's dead centre at a forward crank angle (radians), in parts of the stroke."""
    gone = piston.fraction(forward_angle)
    return gone if end == "front" else 1 - gone
