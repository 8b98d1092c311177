"""Drawings of the gears at hand, and where the linkage alone has their pins."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np

from linkmotion.elevation.paths import Given, Paths
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.gears import Gear
from linkmotion.linkage import Wheel, solve
from linkmotion.revolution import revolve
from linkmotion.views.elevation_svg import groups
from tests.gears_at_hand import GearAtHand, every_gear
from tests.read_elevation import Picture, read

NEAR = 0.01  # mm
POSITIONS = np.arange(12) * 30.0 + 7.0  # degrees
SPACES = {"front": "live steam", "back": "exhaust"}


@dataclass(frozen=True, eq=False)
class Made:
    """A gear with its drawing, and its notches to be looked at."""

    gear: Gear
    elevation: Elevation
    central: float
    notches: tuple[int, ...]


def made(hand: GearAtHand) -> Made:
    """The drawing of a gear, its valve set for equal travel each way in the first notch."""
    motion = revolve(hand.gear, hand.together())
    low, high = motion.extremes
    central = float(low[0] + high[0]) / 2
    reach = float(max(np.max(high) - central, central - np.min(low)))
    stood = tuple(hand.settings.values())
    paths = Paths.of(hand.gear, motion.solution, tuple(hand.settings), stood, central, reach, Given())
    return Made(hand.gear, Elevation.of(paths), central, tuple(sorted({0, len(stood) // 2, len(stood) - 1})))


@cache
def drawn(name: str) -> Made:
    return made(every_gear()[name])


def picture(own: Made, notch: int, angle: float) -> tuple[Picture, dict[str, complex]]:
    """The drawing as read back, and where the linkage alone has every pin."""
    seen, places = _seen(own, notch, angle)
    return seen, dict(places)


@lru_cache(maxsize=16)
def _seen(own: Made, notch: int, angle: float) -> tuple[Picture, dict[str, complex]]:
    solution = solve(own.gear.declare(own.elevation.paths.settings[notch]), Wheel.at(-np.radians(angle)))
    places = {pin: complex(np.ravel(solution[pin])[0]) for pin in solution.linkage.names}
    return read(groups(own.elevation, own.elevation.places(notch, angle), SPACES)), places


def moments(own: Made) -> list[tuple[int, float]]:
    """Twelve wheel positions, each in one of the notches looked at."""
    return [(own.notches[i % len(own.notches)], float(angle)) for i, angle in enumerate(POSITIONS)]
