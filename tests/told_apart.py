"""How plainly readings tell a planted fault from other work, by a solution that shares no code with the product.

The fault is read on the gear as it is, without errors; then the other work is done to a sound gear, as much of it and
the valve as far on its spindle as come nearest to those readings, with all that is no fault of the gear as it may be:
dead centres, the axle's height, every other dimension within its tolerance. What is left, in the readings'
uncertainties, is how far apart the two are.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears.sensitivity import Key
from linkmotion.studies.diagnosis.priors import Priors, priors_of
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.figures.disturbances import RISE
from linkmotion.studies.figures.figure import Reading
from linkmotion.studies.setting.adjustments import work_on
from linkmotion.studies.tolerances.tolerance import general_tolerances
from tests.planted import EXACT
from tests.planted_engines import LEAD, PERCENT, adjustable
from tests.taken_readings import ENDS, Shop, Taking, shop

Floats = NDArray[np.float64]
APART = 3.0  # uncertainties: what is nearer the readings do not tell apart
_CAREFUL = Taking({"front": 0.0, "back": 0.0}, 0.0, 0.0, 0.0, 0.0, "forward", True, 0.0)
_STEP, _ROUNDS = 0.05, 6  # mm and degrees, of differences; of the search for the nearest
_STILL = 1e-4  # mm and degrees: what moves no reading by a hundredth of its uncertainty ends that search


class Rig:
    """One side of an example, read as the studies of advice read it: leads and cutoffs in every notch."""

    def __init__(self, name: str, side: str) -> None:
        self.shop: Shop = shop(name, side)
        own = self.shop.side
        self.priors: Priors = priors_of(own, general_tolerances(own.gear, own.settings[0]))
        self.blank: list[Reading] = []
        for i, notch in enumerate(own.notches):
            for end in ENDS:
                lead = Reading(side=side, kind="lead", notch=notch, end=end, value=0.0, sigma=LEAD)
                cutoff = replace(lead, kind="cutoff", unit="percent", sigma=PERCENT)
                self.blank += [each for way in own.driven(i) for each in (lead, replace(cutoff, direction=way))]
        self.sound = self.read({})
        self.slopes = {key: self._slope({key: _STEP}) / _STEP for key in self.priors.keys}
        self.spread = self._disturbances()

    def read(self, departures: dict[Key, float], taking: Taking = _CAREFUL) -> Floats:
        """What is read, in uncertainties; NaN where there is nothing to read. The valve's place is a departure too."""
        taking = replace(taking, place=departures.get(CENTRAL, 0.0))
        own = {key: by for key, by in departures.items() if key != CENTRAL}
        found = self.shop.read(self.blank, own, taking, np.random.default_rng(0))
        values = {(each.kind, each.notch, each.end, each.direction): each.value for each in found}
        names = [(each.kind, each.notch, each.end, each.direction) for each in self.blank]
        read = [values.get(own, np.nan) for own in names]
        return np.array(read) / [each.sigma for each in self.blank]

    def _slope(self, departures: dict[Key, float]) -> Floats:
        """Half the difference between a gear off so far one way and the other."""
        back = {key: -by for key, by in departures.items()}
        return (self.read(departures) - self.read(back)) / 2

    def _disturbances(self) -> list[Floats]:
        """What a standard deviation of everything that is no fault does to the readings."""
        risen = self.read({}, replace(_CAREFUL, rise=_STEP)) - self.sound
        found = [risen / _STEP * RISE]
        for end in ENDS:
            off = self.read({}, replace(_CAREFUL, off=_CAREFUL.off | {end: _STEP})) - self.sound
            found.append(off / _STEP * EXACT.doubt(end) / 2)
        spreads = zip(self.priors.keys, self.priors.sound.tolist(), strict=True)
        return found + [self.slopes[key] * std for key, std in spreads if key != CENTRAL]

    def apart(self, fault: Key, by: float, other: Key) -> float:
        """Uncertainties between a fault and as much of another, or of the valve's place alone, as comes nearest."""
        wanted, moved = self.read({fault: by}), [CENTRAL] if other == CENTRAL else [CENTRAL, other]
        slopes = np.column_stack([self.slopes[key] for key in moved])
        nearest, size = np.inf, np.zeros(len(moved))
        for _ in range(_ROUNDS):
            left = wanted - self.read(dict(zip(moved, size.tolist(), strict=True)))
            rows = np.isfinite(left) & np.all(np.isfinite(np.column_stack([slopes, *self.spread])), axis=1)
            unsure = np.column_stack(self.spread)[rows]
            inverse = np.linalg.inv(unsure @ unsure.T + np.eye(int(rows.sum())))
            nearest = min(nearest, float(left[rows] @ inverse @ left[rows]))
            own = slopes[rows]
            step = np.linalg.lstsq(own.T @ inverse @ own, own.T @ inverse @ left[rows], rcond=None)[0]
            size = size + step
            if np.max(np.abs(step)) < _STILL:
                break
        return float(np.sqrt(nearest))


@cache
def rig(name: str, side: str) -> Rig:
    """A side of an example."""
    return Rig(name, side)


def instead(name: str, fault: Key) -> tuple[Key, ...]:
    """What is altered with no more work than the fault is put back: the valve on its spindle, and the parts as cheap.

    Those that both sides share are not: with one side read they are left alone.
    """
    gear = shop(name).side.gear
    works = {key: work_on(gear, key) for key in adjustable(name) if key != fault}
    most = work_on(gear, fault).hours
    return tuple(key for key, work in works.items() if not work.shared and work.hours <= most)


def told_apart(name: str, side: str, fault: Key, by: float) -> float:
    """Uncertainties between a fault and the nearest to it of all that is no more work; below :data:`APART` alike."""
    own = rig(name, side)
    return min(own.apart(fault, by, other) for other in instead(name, fault))
