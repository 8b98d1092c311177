"""What a diagnosis says: suspects, explanations, intervals, how well all fits, what to read next."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears.sensitivity import Key
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.diagnosis.alike import Alike, AsValve
from linkmotion.studies.diagnosis.estimate import DOUBTFUL as DOUBTFUL
from linkmotion.studies.diagnosis.next_reading import NextReading
from linkmotion.studies.diagnosis.worn_place import WornPlace
from linkmotion.studies.figures.disturbances import Method
from linkmotion.studies.figures.figure import Reading
from linkmotion.studies.figures.looseness import Loose

Array = NDArray[np.float64]
MISFIT = 1e-3  # probability of so bad a fit: below it the readings do not fit
STANDS_OUT = 3.5  # uncertainties by which a reading is off what all others say of it
MOST_GROWN = 3.0  # readings that scatter by more than so many times what is stated of them do not fit
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
        How far it is off its figure if it is wrong and the readings feel it (``SEEN`` uncertainties), whatever else
        is wrong: mean, and limits that hold it with 95 %; mm or degrees.
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
    low, high : tuple of float
        Limits that hold each with 95 %, if these are wrong, no other is, and the readings feel each: as of a suspect
        (the best estimate of one that they hardly feel may lie nearer to nothing).
    """

    keys: tuple[Key, ...]
    probability: float
    departures: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]


@dataclass(frozen=True)
class Worn:
    """A slot worn in one place, as the likeliest explanation has it.

    Attributes
    ----------
    place : WornPlace
        Where.
    ahead : float
        How far the centre line stands ahead there, mm; negative: back.
    """

    place: WornPlace
    ahead: float


@dataclass(frozen=True)
class Misread:
    """A reading that is likely to have been misread.

    Attributes
    ----------
    reading : Reading
        Which.
    probability : float
        Of that.
    by : float
        By how much, in its own unit.
    """

    reading: Reading
    probability: float
    by: float


@dataclass(frozen=True)
class Disturbance:
    """Something of the fitter's method that moves the readings, and is no fault of the gear.

    Attributes
    ----------
    name : str
        What.
    estimate, within : float
        How much of it there was, and how near that is known (19 in 20), in ``unit``.
    before : float
        How near it was known before anything was read.
    unit : str
        "mm" or "degrees".
    """

    name: str
    estimate: float
    within: float
    before: float
    unit: str


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
        Best estimate: the likeliest explanation's, as ``GearModel.predict`` takes it; where the valve stands on its
        spindle is among them, what the fitter's method did to the readings is not.
    covariance : float array, shape (D, D)
        Mean square about it, over all explanations.
    low, high : float array, shape (D,)
        Limits that hold each departure with 95 %, all told; of the guide's height, in the middle of the travel.
    suspects : tuple of Suspect
        One for each dimension, and for the slot worn in each of its places, likeliest first.
    explanations : tuple of Explanation
        Likeliest first, those not 20 to 1 against the first.
    expected, fitted : float array, shape (R,)
        The readings on a gear as figured, and on one as estimated, taken as these were (dead centres, play, springs);
        each in its own unit.
    stands_out : float array, shape (R,)
        How far each reading is off what all the others say of it, in uncertainties.
    misfit : float
        Sum of squares of what is left over, in uncertainties as grown and spreads; about R where all fits.
    fit : float
        Probability of a misfit as large, if the likeliest explanation is right.
    grown : float
        By how much the readings' uncertainties had to grow until they fitted; 1 where they are as stated.
    sure : float
        Probability that something that is accused is wrong; 0 where nothing is.
    sound : float
        Probability that no dimension is wrong, of those that these readings see.
    misread : tuple of Misread
        Readings that are likelier misread than not, the likeliest first.
    hidden : float array, shape (R,)
        How far each reading could be misread and not be noticed, in its own unit.
    disturbances : tuple of Disturbance
        Dead centres, the valve's place, the axle's height, the play.
    method : Method
        How the readings were taken, as stated or assumed.
    loose : Loose
        What play was reckoned with.
    alike : tuple of Alike
        Dimensions that these readings cannot tell apart.
    as_valve : tuple of AsValve
        Dimensions that these readings would see if it were known where the valve stands, and do not see as it is.
    worn : tuple of Worn
        What is worn off the slot in the likeliest explanation.
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
    grown: float
    sure: float
    sound: float
    misread: tuple[Misread, ...]
    hidden: Array
    disturbances: tuple[Disturbance, ...]
    method: Method
    loose: Loose
    alike: tuple[Alike, ...]
    as_valve: tuple[AsValve, ...]
    worn: tuple[Worn, ...]
    next: tuple[NextReading, ...]

    @property
    def first(self) -> tuple[Key, ...]:
        """What is wrong in the likeliest explanation."""
        return self.explanations[0].keys

    @property
    def fits(self) -> bool:
        """Whether the readings fit this gear, with no more than two of its dimensions wrong and one reading misread.

        Their uncertainties may have had to grow somewhat: that is told, and reckoned with.
        """
        return self.fit >= MISFIT and self.grown <= MOST_GROWN

    @property
    def accused(self) -> tuple[Suspect, ...]:
        """The likeliest suspects and all that these readings cannot tell from them: one of these; none if none is."""
        return tuple(own for own in self.suspects if own.standing in (FIRST, NOT_APART)) if self.first else ()

    @property
    def instead(self) -> tuple[Key, ...]:
        """What is wrong in the likeliest explanation, and in another that these readings allow is not."""
        every = [set(own.keys) for own in self.explanations if own.keys]
        return tuple(key for key in self.first if not all(key in own for own in every))

    @property
    def besides(self) -> tuple[Key, ...]:
        """What may be wrong too: only in explanations in which all of the likeliest is wrong as well."""
        first, more = set(self.first), [own.keys for own in self.explanations[1:]]
        held = [set(keys) for keys in more if not first <= set(keys)]
        added = dict.fromkeys(key for keys in more for key in keys if key not in first)
        return tuple(key for key in added if not any(key in own for own in held)) if first else ()

    def as_worn(self, side: SideEvents) -> SideEvents:
        """A side with what the likeliest explanation has worn off its slot.

        Parameters
        ----------
        side : SideEvents
            As assessed; of one whose slot is worn as the gauge has it there is no more.
        """
        worn = [loss for own in self.worn for loss in own.place.losses(own.ahead)]
        if not worn:
            return side
        slot = tuple(sorted(worn, key=lambda loss: loss.at))
        return replace(side, condition=replace(side.condition, slot=slot))

    def suspect(self, key: Key) -> Suspect:
        """The suspect of a dimension.

        Parameters
        ----------
        key : (table, key)
            One of ``keys``, or of a worn slot.
        """
        return next(own for own in self.suspects if own.key == key)
