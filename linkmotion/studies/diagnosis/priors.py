"""What is taken to be likely of a gear's dimensions before anything is read.

Every dimension is as near its figure as its tolerance says; and up to two of them may be wrong by far more than
that. How far, and how likely, are common practice, no source; both can be set.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears.sensitivity import Key
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.dimensions import CENTRAL, dimensions_of
from linkmotion.studies.tolerances.tolerance import GENERAL, GUIDE, Tolerance, kind_of, moves

Array = NDArray[np.float64]
FAULT = 0.01  # of the crank radius: standard deviation of a length that is wrong
FAULT_ANGLE = 1.0  # degrees: likewise of an angle
BEYOND = 4.0  # a fault is at least so many times as wide as the tolerance
NUMBER = (0.25, 0.5, 0.25)  # probability that none, one or two dimensions are wrong
_LINE: Key = ("cylinder", "inclination")
_HEIGHT: Key = ("valve", "guide_height")
_EXACT = 1e-6  # mm: of a height that is taken as exact, but that the guide's slope carries with it


@dataclass(frozen=True, eq=False)
class Priors:
    """Spreads of D dimensions.

    Attributes
    ----------
    keys : tuple of (table, key)
        The dimensions that may depart from their figures.
    sound, wrong : float array, shape (D,)
        Standard deviation of a dimension that is as it should be, and of what is added when it is wrong; mm, degrees.
    moves : float array, shape (D, D)
        What a departure of each moves of every dimension; itself, but for the slope of the valve's guide, which turns
        about the middle of the spindle's travel, and so moves its height where the file counts it.
    number : tuple of float
        Probability that none, one or two are wrong.
    """

    keys: tuple[Key, ...]
    sound: Array
    wrong: Array
    moves: Array
    number: tuple[float, float, float] = NUMBER

    @cached_property
    def ratio(self) -> Array:
        """Variance of a fault over that of a sound dimension, shape (D,)."""
        return np.asarray((self.wrong / self.sound) ** 2)


def priors_of(
    side: SideEvents,
    tolerances: Mapping[Key, Tolerance],
    fault: float | None = None,
    fault_angle: float = FAULT_ANGLE,
    number: tuple[float, float, float] = NUMBER,
) -> Priors:
    """Spreads from tolerances.

    Parameters
    ----------
    side : SideEvents
        Whose gear it is.
    tolerances : mapping
        As :func:`~linkmotion.studies.tolerances.given.tolerances_from` gives them. A dimension that is not among them
        is taken as exact, but for the valve on its spindle: set by a rule or not, it stands where the nuts are.
    fault, fault_angle : float
        Standard deviation of a length (mm) and of an angle (degrees) that is wrong.
    number : tuple of float
        Probability that none, one or two dimensions are wrong.

    Notes
    -----
    The cylinder's line is set by its far end: a wrong slope is as far out there as a wrong length.
    """
    gear = side.gear
    fault = FAULT * float(gear.crank.radius) if fault is None else fault
    general = next((own.within for own in tolerances.values() if own.assumed), GENERAL)
    known = {CENTRAL: Tolerance(general, assumed=True), **tolerances}
    if GUIDE in known and _HEIGHT not in known:
        known[_HEIGHT] = Tolerance(_EXACT)
    keys = tuple(key for key in dimensions_of(gear, side.settings[0]) if key in known)
    sound = np.array([known[key].std for key in keys])
    wide = {key: fault if kind_of(gear, key) == "length" else fault_angle for key in keys}
    wide[_LINE] = float(np.degrees(fault / gear.connecting_rod.length))
    wrong = np.maximum([wide[key] for key in keys], BEYOND * sound)
    wrong[sound < 2 * _EXACT] = BEYOND * _EXACT
    return Priors(keys, sound, wrong, moves({key: known[key] for key in keys}, gear, side.central_at)[1], number)
