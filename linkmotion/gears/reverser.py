"""Where the reverser stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Arm:
    """Lifting arm at an angle, degrees (0 = pointing forward, + up). May be an array of notches."""

    angle: Any


@dataclass(frozen=True)
class DieHeight:
    """Die brought to a place by the arm with the engine on front dead centre, mm: the arm angle is to be found."""

    height: Any


@dataclass(frozen=True)
class DieHeld:
    """Die held at one place of the slot, mm along it from the middle, + up (ideal suspension)."""

    place: Any


Setting = Arm | DieHeight | DieHeld
