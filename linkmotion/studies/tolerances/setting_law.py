r"""What setting takes up of the departures of gears made to tolerances.

The fitter alters what the engine can be set by, so that every lead and cutoff comes as near as may be to what the
drawing gives. With z the departures of the figures of all notches, W what is held of them (each difference between
the ends, and each end's own figure, which the other side is held against) as a multiple of what is allowed, and
K = W J the same per step of each adjustment, the steps taken are the whole ones within their limits that make

    |W z + K n|² + |Λ n|²

least. Λ goes with the hours of the work: its whole range must gain as much as a target just met. Leads and cutoffs
count alike, each by what is allowed of it: with either put first fewer engines keep all. A gear as drawn is left alone.

In the linear law n goes with z as far as the steps are small beside what is wanted, and rounding adds its own spread;
limits are left out. Gears are set one by one in :mod:`.gears_set`.

A valve that has a rule is set by it on every gear, and moved in whole steps from there. What alters both sides at once
is left alone: it makes up for no difference between them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from linkmotion.engine import Targets
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.figure import Figure, figures_of
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.setting.adjustments import Adjustment
from linkmotion.studies.tolerances.altered import paths
from linkmotion.studies.tolerances.limits import Hold, holds
from linkmotion.studies.tolerances.linear import LinearLaw, law_of
from linkmotion.studies.tolerances.rounding import rounded_off
from linkmotion.studies.tolerances.tolerance import Tolerances, moves

Array = NDArray[np.float64]
_FINEST = {"mm": 0.02, "percent": 0.1}  # a target of nothing is measured against these
_WORK = 1.0  # of what is allowed, for an hour's work over its whole range


@dataclass(frozen=True, eq=False)
class SettingLaw:
    """A adjustments of one side, F figures looked at, D tolerances, K of the gear's own dimensions.

    Attributes
    ----------
    adjustments : tuple of Adjustment
        Of this side alone, each with a range.
    every : LinearLaw
        Of the figures in all notches, as made.
    at : int array, shape (F,)
        Numbers of the figures looked at among those of all notches.
    each_step : float array, shape (figures of all notches, A)
        What a step does to each.
    pulls, gram : float array, shapes (A, figures of all notches) and (A, A)
        K'W, and K'K + Λ'Λ.
    by, first, second : float arrays, shapes (D, K), (A, K), (A, K)
        How tolerances and steps move the gear's own dimensions.
    slopes, bends : float arrays, shapes (F, K) and (A, F, K)
        Slopes of the figures as drawn, and what a step changes of them.
    sides : int
        How many the engine has.
    """

    adjustments: tuple[Adjustment, ...]
    every: LinearLaw
    at: NDArray[np.intp]
    each_step: Array
    pulls: Array
    gram: Array
    by: Array
    first: Array
    second: Array
    slopes: Array
    bends: Array
    sides: int

    @classmethod
    def of(
        cls,
        side: SideEvents,
        tolerances: Tolerances,
        adjustments: Iterable[Adjustment],
        targets: Targets,
        notches: Iterable[str] | None = None,
    ) -> SettingLaw | None:
        """Of a side assessed in all its notches; None where nothing can be set.

        Parameters
        ----------
        side, tolerances
            As for :func:`~linkmotion.studies.tolerances.spread.linear_spread`.
        adjustments : iterable of Adjustment
            What the engine can be set by.
        targets : Targets
            What a setting is measured by.
        notches : iterable of str, optional
            Those looked at; all of the side's, if not given. A setting has all of them in mind.
        """
        own = tuple(each for each in adjustments if each.side == side.side and each.most > each.least)
        if not own:
            return None
        keys, first, second = paths(side.gear, own)
        toleranced, by = moves(tolerances, side.gear, side.central_at)
        known = tuple(dict.fromkeys((*toleranced, *keys)))
        by, first, second = (_placed(known, *each) for each in ((toleranced, by), (keys, first), (keys, second)))
        model = GearModel.of(side, figures_of(side), known, afresh=True)
        every = law_of(model, tolerances, by)
        at = np.array([model.figures.index(figure) for figure in figures_of(side, notches)], int)
        slopes, near = np.nan_to_num(model.slopes), model.only(at)
        each_step = slopes @ first.T
        sides = len(side.gear.sides)
        pulls, gram = _measured(holds(targets, every.figures, sides), every, each_step, own)
        bends = np.array([np.nan_to_num(near.about(row).slopes) - slopes[at] for row in first])
        return cls(own, every, at, each_step, pulls, gram, by, first, second, slopes[at], bends, sides)

    def only(self, columns: NDArray[np.intp]) -> SettingLaw:
        """The same with some of the figures looked at."""
        return replace(self, at=self.at[columns], slopes=self.slopes[columns], bends=self.bends[:, columns])

    @property
    def figures(self) -> tuple[Figure, ...]:
        """The F figures looked at."""
        return tuple(self.every.figures[i] for i in self.at)

    @property
    def as_made(self) -> LinearLaw:
        """Of the figures looked at, with nothing adjusted."""
        return self.every.only(self.at)

    @property
    def per_step(self) -> Array:
        """What a step of each adjustment does to each figure, shape (F, A)."""
        return np.asarray(self.each_step[self.at])

    @property
    def limits(self) -> tuple[Array, Array]:
        """Steps allowed, the one way and the other, shape (A,) each."""
        least, most = ([getattr(each, name) for each in self.adjustments] for name in ("least", "most"))
        return np.array(least, float), np.array(most, float)

    def wanted(self, slope: Array) -> Array:
        """Steps that departures of all notches' figures, shape (figures, D), ask for, whatever the range: (A, D)."""
        return np.asarray(-np.linalg.solve(self.gram, self.pulls @ np.nan_to_num(slope)))

    def left(self) -> LinearLaw:
        """The law of all notches' figures after setting in parts of steps, whatever the range: the best it could do."""
        return _set(self.every, self.each_step, self.wanted(self.every.slope), self._wanted_always)

    def left_in_steps(self, tolerances: Tolerances) -> tuple[LinearLaw, Array]:
        """The law of the figures looked at after setting in whole steps, and what rounding adds, shape (F, A).

        The latter has a column for each cause of one standard deviation.
        """
        std = np.array([own.std for own in tolerances.values()])
        taken, always, noise = rounded_off(self.gram, self.wanted(self.every.slope), self._wanted_always, std)
        return _set(self.as_made, self.per_step, taken, always), self.per_step @ noise

    @property
    def _wanted_always(self) -> Array:
        """Steps asked for by what clearances change on the mean, shape (A,)."""
        return self.wanted(self.every.change[:, None])[:, 0]


def _set(law: LinearLaw, per_step: Array, taken: Array, always: Array) -> LinearLaw:
    return LinearLaw(law.figures, law.value, law.change + per_step @ always, law.slope + per_step @ taken)


def _placed(known: Sequence[tuple[str, str]], keys: Sequence[tuple[str, str]], rows: Array) -> Array:
    """Rows whose columns are some dimensions, with a column for each of those known."""
    found = np.zeros((len(rows), len(known)))
    found[:, [known.index(key) for key in keys]] = rows
    return found


def _measured(
    limits: Iterable[Hold], law: LinearLaw, per_step: Array, adjustments: Sequence[Adjustment]
) -> tuple[Array, Array]:
    """K'W and K'K + Λ'Λ; of a figure that is held against the other side's, which departs as much, the square root."""
    unit, rows = np.eye(len(law.figures)), []
    for hold in limits:
        row = hold.along(unit) * (np.sqrt(2) if hold.between == "sides" else 1.0) / max(hold.limit, _FINEST[hold.unit])
        if np.all(np.isfinite(law.value[row != 0])):
            rows.append(row)
    held = np.array(rows).reshape(-1, len(law.figures))
    felt = held @ per_step
    work = [_WORK**2 * max(each.hours, 0.01) / max(each.most, -each.least) ** 2 for each in adjustments]
    return felt.T @ held, felt.T @ felt + np.diag(work)
