"""Where the reverser stands, and the curved slot whose die it moves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.linkage import Solution
from linkmotion.linkage.parts import XY


@dataclass(frozen=True)
class Arm:
    """Lifting arm at an angle, degrees (0 = pointing forward, + up). May be an array of notches."""

    angle: Any


@dataclass(frozen=True)
class DieHeight:
    """Die held at a height by the arm with the engine on front dead centre, mm: the arm angle is to be found."""

    height: Any


@dataclass(frozen=True)
class DieHeld:
    """Die held at one place of the slot, mm along it from the middle, + up (ideal suspension)."""

    place: Any


Setting = Arm | DieHeight | DieHeld


@dataclass(frozen=True)
class Slot:
    """A curved slot in a link, as seen by its die.

    Attributes
    ----------
    heel, toe : str
        Two pins of the link that give its pose.
    heel_at, toe_at, centre_at : (x, y)
        Their places, and the slot's centre of curvature, in the link's own axes, mm.
    die : str
        The die pin.
    radius : float
        Slot radius, mm.
    concave_forward : bool
        True when the slot is concave to the valve (centre of curvature ahead).
    top, bottom : float
        Reach of the die pin above and below the middle, along the slot, mm.
    """

    heel: str
    toe: str
    heel_at: XY
    toe_at: XY
    centre_at: XY
    die: str
    radius: Any
    concave_forward: bool
    top: Any
    bottom: Any

    def turn(self, solution: Solution) -> Any:
        """Turning of the link from upright as a unit complex number."""
        return (solution[self.toe] - solution[self.heel]) / (_complex(self.toe_at) - _complex(self.heel_at))

    def swing(self, solution: Solution) -> Any:
        """Angle of the link from upright, degrees, + anticlockwise."""
        return np.degrees(np.angle(self.turn(solution)))

    def seen_from_link(self, solution: Solution, pin: str) -> Any:
        """Path of a pin in the link's own axes, complex mm."""
        return _complex(self.heel_at) + (solution[pin] - solution[self.heel]) / self.turn(solution)

    def die_place(self, solution: Solution) -> Any:
        """Place of the die along the slot's centre line from its middle, mm, + up."""
        arm = self.seen_from_link(solution, self.die) - _complex(self.centre_at)
        return -self.radius * np.angle(-arm) if self.concave_forward else self.radius * np.angle(arm)

    def at(self, place: Any) -> tuple[Any, Any]:
        """Point of the slot's centre line at a place along it, (x, y) in the link's own axes."""
        angle = place / self.radius
        forth = -1.0 if self.concave_forward else 1.0
        x, y = self.centre_at
        return x + forth * self.radius * np.cos(angle), y + self.radius * np.sin(angle)


def _complex(place: XY) -> Any:
    return place[0] + 1j * place[1]
