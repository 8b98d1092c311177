"""Figures of the events as a linear function of what the tolerances leave open."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.figure import Figure, figures_of
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.figures.play import CLEARANCE
from linkmotion.studies.tolerances.tolerance import Tolerances, moves

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class LinearLaw:
    """Figures as a linear function of what the tolerances leave open.

    Attributes
    ----------
    figures : tuple of Figure, length F
        Which.
    value, change : float array, shape (F,)
        As drawn with no clearance; what clearances at their means change.
    slope : float array, shape (F, D)
        To each tolerance's own quantity, per mm or degree.
    """

    figures: tuple[Figure, ...]
    value: Array
    change: Array
    slope: Array

    def only(self, columns: NDArray[np.intp]) -> LinearLaw:
        """The same of some of the figures."""
        own = tuple(self.figures[i] for i in columns)
        return LinearLaw(own, self.value[columns], self.change[columns], self.slope[columns])


def linear_law(
    side: SideEvents,
    tolerances: Tolerances,
    notches: Iterable[str] | None = None,
    model: GearModel | None = None,
) -> LinearLaw:
    """The linear law of the figures in some notches.

    To a clearance the slopes are differences over a standard deviation either way of its mean: where a lead is taken
    near the valve's reversal, or an event all but fails to happen, they hold for clearances of that size.

    Parameters
    ----------
    side : SideEvents
        Sound, as :func:`~.spread.toleranced_side` gives it.
    tolerances : dict
        D of them, by (table, key).
    notches : iterable of str, optional
        By name; all of the side's unless given.
    model : GearModel, optional
        As given by :func:`~.spread.model_of` for the same, where it serves more than once.
    """
    keys, by = moves(tolerances, side.gear, side.central_at)
    return law_of(model or GearModel.of(side, figures_of(side, notches), keys, afresh=True), tolerances, by)


def law_of(model: GearModel, tolerances: Tolerances, by: Array) -> LinearLaw:
    """The same of a gear model, by how far each of the D tolerances moves its dimensions, shape (D, dimensions)."""
    slope, change = model.slopes @ by.T, np.zeros(len(model.figures))
    loose = [i for i, key in enumerate(tolerances) if key[0] == CLEARANCE]
    if loose:
        mean, std = (np.array([getattr(own, what) for own in tolerances.values()]) for what in ("mean", "std"))
        apart = np.diag(std)[loose]
        one, *rest = model.predict((mean + np.concatenate([0 * apart[:1], apart, -apart])) @ by)
        more, less = np.split(np.array(rest), 2)
        slope[:, loose] = (more - less).T / (2 * std[loose])
        change = one - model.at_figures
    return LinearLaw(model.figures, model.at_figures, change, slope)
