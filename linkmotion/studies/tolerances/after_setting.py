"""What tolerances make of the events of engines that have been set, and the loosest with which they keep their targets.

The same gears as in :mod:`.spread`, each set as :mod:`.setting_law` has it. The loosest set is sought on what setting
leaves: the cost rule of :mod:`.loosest`, on the linear law after setting; what a tolerance asks of the range of each
adjustment is held like a limit. Then all are scaled alike, as far as the wanted share of engines keeps everything after
setting, on a part of the gears really turned, which is what is believed; of their figures only leads and cutoffs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkmotion.engine import Targets
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.tolerances.gears_set import GearsToSet, set_gears
from linkmotion.studies.tolerances.limits import Hold, Kept, holds, kept, targeted
from linkmotion.studies.tolerances.loosest import (
    MOST,
    YIELD,
    Loosest,
    cheapest,
    felt_by,
    loads_on,
    reachable,
    scaled,
    wide_of,
)
from linkmotion.studies.tolerances.setting_law import SettingLaw
from linkmotion.studies.tolerances.spread import (
    BLOCK,
    SAMPLES,
    SEED,
    Sampled,
    Spread,
    departures_of,
    model_of,
    monte_carlo,
    spread_by,
    summed,
)
from linkmotion.studies.tolerances.tolerance import Tolerances

Array = NDArray[np.float64]
SET = 0.1  # of what a tolerance does as made: what leaves no more is taken up by setting
_PART = 5  # of the gears one in so many is turned for the loosest set
_ROUNDS, _NEAR = 8, 0.03  # as for the loosest set with nothing adjusted
_SPARE = 0.99  # of the set: so much below what is expected to do, lest it is turned once more for a hair
_FINE = 0.01  # of a factor: sought no closer
_NARROWEST = 0.05  # of the cheapest set, to begin with


@dataclass(frozen=True, eq=False)
class AfterSetting:
    """Gears made to tolerances, and set.

    Attributes
    ----------
    law : SettingLaw
        What setting does.
    linear, sampled : Spread, Sampled
        The figures after setting, by derivatives and of the gears turned.
    steps : float array, shape (S, A)
        Taken on each gear.
    kept : Kept
        How many engines keep the targets.
    left : dict
        By (table, key): of what a tolerance does to the target that feels it most, in any notch, so much is left after
        setting, 1 being all; without those that no target feels.
    loosest : Loosest or None
        The loosest set after setting, if it was sought; its ``sampled`` are a part of the gears, with their leads and
        cutoffs alone.
    """

    law: SettingLaw
    linear: Spread
    sampled: Sampled
    steps: Array
    kept: Kept
    left: dict[Key, float]
    loosest: Loosest | None = None

    @property
    def set_at_erection(self) -> tuple[Key, ...]:
        """Dimensions whose tolerances setting takes up."""
        return tuple(key for key, left in self.left.items() if left < SET)


def after_setting(law: SettingLaw, made: Sampled, targets: Targets, seed: int = SEED) -> AfterSetting:
    """Set the gears that :func:`~linkmotion.studies.tolerances.spread.monte_carlo` turned, with the same seed."""
    sampled, steps = _set(law, made, seed)
    limits, tolerances = holds(targets, sampled.figures, law.sides), made.tolerances
    in_steps, noise = law.left_in_steps(tolerances)
    linear = spread_by(in_steps, tolerances, noise)
    share = kept(limits, sampled.values, law.sides)
    return AfterSetting(law, linear, sampled, steps, share, _left(law, tolerances, targets))


def _left(law: SettingLaw, tolerances: Tolerances, targets: Targets) -> dict[Key, float]:
    """What setting leaves of what each tolerance does to the target, of all notches', that feels it most."""
    limits, _missed = reachable(holds(targets, law.every.figures, law.sides), law.every.value)
    before, after = (loads_on(limits, own, tolerances, YIELD) for own in (law.every, law.left()))
    felt, most = felt_by(before), (np.max(own, axis=0, initial=0.0) for own in (before, after))
    return {
        key: float(np.sqrt(then / was)) for key, feels, was, then in zip(tolerances, felt, *most, strict=True) if feels
    }


def _set(law: SettingLaw, made: Sampled, seed: int) -> tuple[Sampled, Array]:
    departures = departures_of(made.tolerances, len(made.values), seed)
    values, steps = set_gears(law, made.values, departures)
    return summed(made.figures, made.tolerances, made.nominal, values, departures, made.causes), steps


def loosest_after_setting(
    law: SettingLaw,
    side: SideEvents,
    tolerances: Tolerances,
    targets: Targets,
    notches: Iterable[str] | None = None,
    wanted: float = YIELD,
    samples: int = SAMPLES,
    seed: int = SEED,
    executor: Executor | None = None,
    progress: Callable[[int, int], None] | None = None,
    model: GearModel | None = None,
) -> Loosest:
    """Scale tolerances until they are as loose as the targets allow after setting.

    Parameters
    ----------
    law : SettingLaw
        Of the same side, notches and tolerances.
    side, tolerances, targets, notches, wanted, samples, seed, executor, progress, model
        As for :func:`~linkmotion.studies.tolerances.loosest.loosest`.
    """
    held = targeted(law.figures)
    law, model = law.only(held), (model or model_of(side, tolerances, notches)).only(held)
    limits, missed = reachable(holds(targets, law.figures, law.sides), law.as_made.value)
    best = law.left().only(law.at)
    loads = loads_on(limits, best, tolerances, wanted, law.left_in_steps(tolerances)[1])
    loads = np.concatenate([loads, _of_ranges(law, tolerances, wanted)])
    part = min(samples, max(samples // _PART, BLOCK))

    def turned(own: Tolerances) -> Sampled:
        return monte_carlo(side, own, notches, part, seed, executor, progress, model)

    search = _Search(law, dict(tolerances), felt_by(loads), limits, wanted, part, seed, turned)
    sampled, met = search.found(cheapest(loads))
    return Loosest(dict(tolerances), sampled.tolerances, wanted, sampled, met, missed)


def _of_ranges(law: SettingLaw, tolerances: Tolerances, wanted: float) -> Array:
    """What each tolerance takes of each adjustment's range, squared, shape (A, D)."""
    least, most = law.limits
    asked = law.wanted(law.every.slope) * [own.std for own in tolerances.values()]
    return np.asarray((wide_of(wanted) * asked / ((most - least) / 2)[:, None]) ** 2)


@dataclass(frozen=True, eq=False)
class _Search:
    """Factors on the present tolerances, by a part of the gears; ``turned`` turns it at some tolerances."""

    law: SettingLaw
    present: Tolerances
    felt: NDArray[np.bool_]
    limits: tuple[Hold, ...]
    wanted: float
    part: int
    seed: int
    turned: Callable[[Tolerances], Sampled]

    def found(self, factors: Array) -> tuple[Sampled, Kept]:
        """The loosest set, turned and set, and what it keeps."""
        law = self.law.as_made
        departures = self._departures(factors)
        by_law = self._widest(law.value + law.change + departures @ law.slope.T, departures, MOST)
        factors = np.minimum(factors * max(by_law, _NARROWEST), MOST)
        for _ in range(_ROUNDS):
            made = self.turned(scaled(self.present, factors, self.felt))
            sampled, _steps = _set(self.law, made, self.seed)
            met = kept(self.limits, sampled.values, self.law.sides)
            by = self._widest(made.values, self._departures(factors), 2.0)
            wider = np.minimum(factors * max(by, 0.5) * _SPARE, MOST)
            if met.share >= self.wanted and (by < 1 + _NEAR or np.array_equal(wider, factors)):
                break
            factors = wider
        return sampled, met

    def _departures(self, factors: Array) -> Array:
        return departures_of(scaled(self.present, factors, self.felt), self.part, self.seed)

    def _widest(self, values: Array, departures: Array, most: float) -> float:
        """Greatest factor on all departures with which the wanted share keeps the limits after setting."""
        gears, low, high = GearsToSet.of(self.law, values, departures), 0.0, most
        while high - low > _FINE * max(high, 1.0):
            middle = (low + high) / 2
            enough = kept(self.limits, gears.after(middle)[0], self.law.sides).share >= self.wanted
            low, high = (middle, high) if enough else (low, middle)
        return low
