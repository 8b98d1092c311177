"""Gears made to tolerances, each set by its own readings.

Each gear's own figures are read in the notches looked at (those of the others are taken from the law of its
departures), and its steps follow. What they make of its figures is taken to the second order: what a step does as
drawn, what the gear's departures change of that, and what the steps themselves do. What is left out is of the third
order, and what alterations do to play.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkmotion.studies.tolerances.setting_law import SettingLaw
from linkmotion.studies.tolerances.whole_steps import whole_steps

Array = NDArray[np.float64]
_AT_A_TIME = 10_000


def set_gears(law: SettingLaw, values: Array, departures: Array) -> tuple[Array, Array]:
    """Figures of S gears after setting, shape (S, F), and the steps taken on each, shape (S, A).

    Parameters
    ----------
    values : float array, shape (S, F)
        Their figures as made; what is not known (NaN) stays so, and is taken from the law for setting.
    departures : float array, shape (S, D)
        From the drawing, as the tolerances count them.
    """
    found, steps = np.empty_like(values), np.empty((len(values), len(law.adjustments)))
    for start in range(0, len(values), _AT_A_TIME):
        some = slice(start, start + _AT_A_TIME)
        found[some], steps[some] = GearsToSet.of(law, values[some], departures[some]).after()
    return found, steps


@dataclass(frozen=True, eq=False)
class GearsToSet:
    """S gears.

    Attributes
    ----------
    law : SettingLaw
        How they are set.
    out : float array, shape (S, F)
        How far their figures are off as made.
    pull : float array, shape (S, A)
        As of :func:`~linkmotion.studies.tolerances.whole_steps.whole_steps`.
    bent : float array, shape (A, S, F)
        What the gear's departures change of what a step does.
    """

    law: SettingLaw
    out: Array
    pull: Array
    bent: Array

    @classmethod
    def of(cls, law: SettingLaw, values: Array, departures: Array) -> GearsToSet:
        """From figures and departures, as of :func:`set_gears`."""
        away = np.nan_to_num(law.every.change) + departures @ np.nan_to_num(law.every.slope).T
        out = values - law.as_made.value
        away[:, law.at] = np.where(np.isfinite(out), out, away[:, law.at])
        bent = np.array([departures @ (law.by @ bend.T) for bend in law.bends])
        return cls(law, out, away @ law.pulls.T, bent)

    def after(self, scale: float = 1.0) -> tuple[Array, Array]:
        """Figures after setting, shape (S, F), and the steps, shape (S, A).

        With everything as made so many times as far off.
        """
        law = self.law
        steps = whole_steps(law.gram, scale * self.pull, *law.limits)
        change = steps @ law.per_step.T + steps**2 @ (law.second @ law.slopes.T)
        for own, bend, bent in zip(steps.T, law.bends, self.bent, strict=True):
            change += own[:, None] * (scale * bent + steps @ (law.first @ bend.T) / 2)
        return law.as_made.value + scale * self.out + change, steps
