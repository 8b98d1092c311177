"""A straight line of the board on which a strip of card runs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linkmotion.studies.card.shapes import Points

STRAP, FOOT, FREE = 8.0, 9.0, 2.5  # width of a strap, length of its glued foot, play along the strip's end
EYE = 8.0  # from a pin, kept clear of straps for its fastener
BORE = 13.0  # half the height in which the cylinder is drawn


@dataclass(frozen=True, eq=False)
class Track:
    """A line of the board: board = origin + along * (s + i h); ``travel`` is from where to where its pin moves."""

    origin: complex
    along: complex
    travel: tuple[float, float]

    def board(self, place: complex | Points) -> Points:
        """A place of the track on the board, complex mm.

        Parameters
        ----------
        place : complex or array
            Along (real) and left of (imaginary) the track, mm.
        """
        return np.asarray(self.origin + self.along * place)

    def seen(self, point: complex | Points) -> Points:
        """A point of the board, along (real) and left of (imaginary) the track, mm.

        Parameters
        ----------
        point : complex or array
            On the board, mm.
        """
        return np.asarray((point - self.origin) / self.along)

    @property
    def length(self) -> float:
        """Of the movement."""
        return self.travel[1] - self.travel[0]

    @property
    def turn(self) -> float:
        """Degrees by which it rises."""
        return float(np.degrees(np.angle(self.along)))
