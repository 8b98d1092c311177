"""A slot worn where its die works in one notch, to be planted in readings (`tests/taken_readings.py`)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class WornSlot:
    """One face worn from ``low`` to ``high`` (mm along the slot from its middle, + up), fading out over ``fades``.

    The face gives way by twice ``by``: the centre line stands ahead by ``by`` (negative: back), and the die is loose
    there by as much as the face has lost.
    """

    low: float
    high: float
    fades: float
    by: float

    def ahead(self, place: Floats) -> Floats:
        """How far the centre line stands ahead at some places."""
        beyond = np.clip(np.maximum(self.low - place, place - self.high) / self.fades, 0.0, 1.0)
        return self.by * (1 + np.cos(np.pi * beyond)) / 2

    def clearance(self, place: Floats) -> Floats:
        """Of the die there."""
        return 2 * np.abs(self.ahead(place))
