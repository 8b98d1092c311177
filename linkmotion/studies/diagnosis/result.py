"""What a diagnosis says: suspects, explanations, intervals, how well all fits, what to read next."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears.sensitivity import Key
from linkmotion.studies.diagnosis.alike import Alike
from linkmotion.studies.diagnosis.fit import DOUBTFUL as DOUBTFUL
from linkmotion.studies.diagnosis.next_reading import NextReading
from linkmotion.studies.figures.figure import Reading

Array = NDArray[np.float64]
MISFIT = 1e-3  # probability of so bad a fit: below it the readings do not fit
STANDS_OUT = 3.5  # uncertainties by which a reading is off what all others say of it
FIRST, NOT_APART, LESS_LIKELY, NOT_SEEN = "first", "not told apart", "less likely", "not seen"


class TooFewReadings(ValueError):
    """There are not enough readings to conclude anything from."""


@dataclass(frozen=True)
class Suspect:
    """One dimension, as a suspect.

    Attributes
    ----------
    key : (table, key)
        Which.
    probability : float
        That it is wrong by far more than its tolerance.
    estimate, low, high : float
        How far it is off its figure if it is wrong: mean, and limits that hold it with 95 %; mm or degrees.
    odds : float
        Of the likeliest explanation against the likeliest in which this dimension is wrong.
    seen : float
        Uncertainties by which a fault of the usual size moves the readings.
    standing : str
        "first" (wrong in the likeliest explanation), "not told apart" (from the first, by these readings), "less
        likely", or "not seen" (by these readings, whatever it does).
    """

    key: Key
    probability: float
    estimate: float
    low: float
    high: float
    odds: float
    seen: float
    standing: str


@dataclass(frozen=True)
class Explanation:
    """Dimensions that may be wrong together.

    Attributes
    ----------
    keys : tuple of (table, key)
        None, one or two.
    probability : float
        Of this explanation.
    departures : tuple of float
        Best estimate of each, mm or degrees.
    """

    keys: tuple[Key, ...]
    probability: float
    departures: tuple[float, ...]


@dataclass(frozen=True, eq=False)
class Diagnosis:
    """What R readings say of D dimensions of one side.

    Attributes
    ----------
    side : str
        Which side.
    readings : tuple of Reading
        Those that were fitted.
    apart : tuple of (Reading, float)
        Those that were not, and what the gear as figured has there: lost motion by its clearances; NaN for events
        that do not happen on it.
    keys : tuple of (table, key)
        The D dimensions; mm and degrees.
    departures : float array, shape (D,)
        Best estimate: the likeliest explanation's, as :meth:`GearModel.predict` takes it.
    covariance : float array, shape (D, D)
        Mean square about it, over all explanations.
    low, high : float array, shape (D,)
        Limits that hold each departure with 95 %, all told; of the guide's height, in the middle of the travel.
    suspects : tuple of Suspect
        One for each dimension, likeliest first.
    explanations : tuple of Explanation
        Likeliest first, those not 20 to 1 against the first.
    expected, fitted : float array, shape (R,)
        The readings on a gear as figured, and on one as estimated; each in its own unit.
    stands_out : float array, shape (R,)
        How far each reading is off what all the others say of it, in uncertainties.
    misfit : float
        Sum of squares of what is left over, in uncertainties and sound spreads; about R where all fits.
    fit : float
        Probability of a misfit as large, if the likeliest explanation is right.
    alike : tuple of Alike
        Dimensions that these readings cannot tell apart.
    next : tuple of NextReading
        What to read next, the most telling first.
    """

    side: str
    readings: tuple[Reading, ...]
    apart: tuple[tuple[Reading, float], ...]
    keys: tuple[Key, ...]
    departures: Array
    covariance: Array
    low: Array
    high: Array
    suspects: tuple[Suspect, ...]
    explanations: tuple[Explanation, ...]
    expected: Array
    fitted: Array
    stands_out: Array
    misfit: float
    fit: float
    alike: tuple[Alike, ...]
    next: tuple[NextReading, ...]

    @property
    def first(self) -> tuple[Key, ...]:
        """What is wrong in the likeliest explanation."""
        return self.explanations[0].keys

    @property
    def fits(self) -> bool:
        """Whether the readings fit this gear at all, with no more than two of its dimensions wrong."""
        return self.fit >= MISFIT

    @property
    def would_fit_without(self) -> Reading | None:
        """The reading that stands out most, if the others fit this gear and all together do not."""
        from scipy.special import chdtrc

        worst = int(np.argmax(np.abs(self.stands_out)))
        rest = self.misfit - float(self.stands_out[worst]) ** 2
        if self.fits or chdtrc(len(self.readings) - 1, rest) < DOUBTFUL:
            return None
        return self.readings[worst]

    def suspect(self, key: Key) -> Suspect:
        """The suspect of a dimension."""
        return next(own for own in self.suspects if own.key == key)
