"""What is taken to be likely of a gear's dimensions before anything is read.

Every dimension is as near its figure as its tolerance says; and up to two of them may be wrong by far more than
that. How far, and how likely, are common practice, no source; both can be set. The law of a fault's size has heavy
tails: a small, a usual and a large fault, each normal with its own spread, so that one of four millimetres and one of
a third of a millimetre are both found for what they are. The valve's place on its spindle is no suspect: every engine
has been set since it was drawn. A lap is one for each end.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears.sensitivity import Key
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.dimensions import CENTRAL, LAPS, by_end, dimensions_of, lap_keys
from linkmotion.studies.figures.disturbances import PLACE
from linkmotion.studies.tolerances.tolerance import GUIDE, Tolerance, kind_of, moves

Array = NDArray[np.float64]
FAULT = 0.01  # of the crank radius: standard deviation of a length that is wrong
FAULT_ANGLE = 1.0  # degrees: likewise of an angle
BEYOND = 4.0  # a usual fault is at least so many times as wide as the tolerance
NUMBER = (0.4, 0.4, 0.2)  # probability that none, one or two dimensions are wrong
SIZES = (0.15, 0.6, 2.0)  # spreads of a small, a usual and a large fault, in that of a usual wrong dimension
CHANCES = (0.35, 0.4, 0.25)  # of a fault to be of each of these
MISREAD = 0.05  # probability that one reading of a side is misread
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
        Standard deviation of a dimension that is as it should be, and of what is usually added when it is wrong
        (nothing for the valve on its spindle, which is no suspect); mm, degrees.
    moves : float array, shape (D, D)
        What a departure of each moves of every dimension; itself, but for the slope of the valve's guide, which turns
        about the middle of the spindle's travel, and so moves its height where the file counts it.
    number : tuple of float
        Probability that none, one or two are wrong.
    misread : float
        Probability that one reading is misread.
    """

    keys: tuple[Key, ...]
    sound: Array
    wrong: Array
    moves: Array
    number: tuple[float, float, float] = NUMBER
    misread: float = MISREAD

    @cached_property
    def ratio(self) -> Array:
        """Variance of a usual fault over that of a sound dimension, shape (D,)."""
        return np.asarray((self.wrong / self.sound) ** 2)

    def felt(self, least: Array) -> Array:
        """What part of the faults in each dimension is as large as ``least`` or larger, shape (D,).

        Parameters
        ----------
        least : float array, shape (D,)
            mm, degrees.
        """
        from scipy.special import ndtr

        stds = np.hypot(self.sound[:, None], self.wrong[:, None] * np.array(SIZES))
        return np.asarray(2 * ndtr(-least[:, None] / stds) @ np.array(CHANCES))


def priors_of(
    side: SideEvents,
    tolerances: Mapping[Key, Tolerance],
    fault: float | None = None,
    fault_angle: float = FAULT_ANGLE,
    number: tuple[float, float, float] = NUMBER,
    place: float = PLACE,
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
        Standard deviation of a length (mm) and of an angle (degrees) that is usually wrong.
    number : tuple of float
        Probability that none, one or two dimensions are wrong.
    place : float
        How far the valve may stand from where the file has it on its spindle, mm either way (19 in 20).

    Notes
    -----
    The cylinder's line is set by its far end: a wrong slope is as far out there as a wrong length.
    """
    fault = FAULT * float(side.gear.crank.radius) if fault is None else fault
    known = _by_end({**tolerances, CENTRAL: Tolerance(place)})
    gear = by_end(side.gear, known)
    if GUIDE in known and _HEIGHT not in known:
        known[_HEIGHT] = Tolerance(_EXACT)
    keys = tuple(key for key in dimensions_of(gear, side.settings[0]) if key in known)
    sound = np.array([known[key].std for key in keys])
    wide = {key: fault if kind_of(gear, key) == "length" else fault_angle for key in keys}
    wide[_LINE] = float(np.degrees(fault / gear.connecting_rod.length))
    wrong = np.maximum([wide[key] for key in keys], BEYOND * sound)
    wrong[sound < 2 * _EXACT] = BEYOND * _EXACT
    wrong[[key == CENTRAL for key in keys]] = 0.0
    return Priors(keys, sound, wrong, moves({key: known[key] for key in keys}, gear, side.central_at)[1], number)


def _by_end(tolerances: Mapping[Key, Tolerance]) -> dict[Key, Tolerance]:
    """The same with a lap's tolerance given to each end's lap."""
    found = dict(tolerances)
    for lap in LAPS:
        both = found.pop(("valve", lap), None)
        if both is not None:
            found |= dict.fromkeys(lap_keys(lap), both)
    return found
