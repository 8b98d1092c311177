"""A body of the drawing: its shapes in its own axes, and how it follows the pins: drawn once, only placed anew."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from linkmotion.elevation.outlines import Shape

Places = Mapping[str, complex]
"""Pin to where it stands, mm in the frame's axes."""


class Pose(NamedTuple):
    """Where a body stands: a point of its own axes lies at ``origin + turn * point``."""

    origin: complex
    turn: complex


@dataclass(frozen=True)
class Fast:
    """Fast on the frame, its axes the frame's."""

    def place(self, places: Places) -> Pose:
        """Where it stands, whatever moves."""
        return Pose(0j, 1 + 0j)


@dataclass(frozen=True)
class Pinned:
    """On two pins, which its own points ``at_a`` and ``at_b`` are kept on."""

    a: str
    b: str
    at_a: complex
    at_b: complex

    def place(self, places: Places) -> Pose:
        """The similarity that brings both points to their pins."""
        turn = (places[self.b] - places[self.a]) / (self.at_b - self.at_a)
        return Pose(places[self.a] - turn * self.at_a, turn)


@dataclass(frozen=True)
class Along:
    """Carried by one pin, at which its own origin stands, at a fixed ``turn`` (complex, of length one)."""

    pin: str
    turn: complex = 1 + 0j

    def place(self, places: Places) -> Pose:
        """The pin's place."""
        return Pose(places[self.pin], self.turn)


@dataclass(frozen=True)
class Turning:
    """Carried by one pin, its own axes turned by ``turn`` from the line through two others."""

    pin: str
    a: str
    b: str
    turn: complex = 1 + 0j

    def place(self, places: Places) -> Pose:
        """The pin's place, and the line's direction."""
        way = (places[self.b] - places[self.a]) * self.turn
        return Pose(places[self.pin], way / abs(way))


Follows = Fast | Pinned | Along | Turning


@dataclass(frozen=True, eq=False)
class Body:
    """A body of the drawing.

    Attributes
    ----------
    name : str
        Of the part that it shows, as the linkage has it.
    kind : str
        What sort of thing it is: "rod", "lever", "link", "die", "wheel", "frame", "cylinder" and the like.
    shapes : tuple of Shape
        From the hindmost to the foremost, mm in its own axes.
    follows : Follows
        How it goes with the pins.
    spine : tuple of complex
        Places on it to which its name may point; none where it needs no name.
    within : str
        Name of the region of the frame outside which it is not seen, if any.
    """

    name: str
    kind: str
    shapes: tuple[Shape, ...]
    follows: Follows
    spine: tuple[complex, ...] = ()
    within: str = ""


@dataclass(frozen=True)
class Rider:
    """A point that goes with two pins: the centre of a link's slot, to which its die is square."""

    name: str
    on: Pinned
    at: complex

    def place(self, places: Places) -> complex:
        """Where it stands."""
        origin, turn = self.on.place(places)
        return origin + turn * self.at


def unit(vector: complex) -> complex:
    """A complex number brought to length one."""
    return vector / abs(vector)


def direction(radians: float) -> complex:
    """The unit vector of a direction."""
    return complex(np.exp(1j * radians))
