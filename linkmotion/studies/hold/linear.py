"""Figures of the events as a linear function of what the tolerances leave open."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.figure import Figure, figures_of
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.figures.play import CLEARANCE, mean_change_and_slopes
from linkmotion.studies.hold.tolerances import Tolerances, moves

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


def linear_law(side: SideEvents, tolerances: Tolerances, notches: Iterable[str] | None = None) -> LinearLaw:
    """The linear law of the figures in some notches."""
    names = side.notches if notches is None else tuple(notches)
    sound = [key for key in tolerances if key[0] != CLEARANCE]
    loose = [key for key in tolerances if key[0] == CLEARANCE]
    keys, by = moves({key: tolerances[key] for key in sound}, side.gear, side.central_at)
    model = GearModel.of(side, figures_of(side, names), keys, afresh=True)
    columns = dict(zip(sound, by @ model.slopes.T, strict=True))
    change = np.zeros(len(model.figures))
    if loose:
        mean, std = ({key[1]: getattr(tolerances[key], what) for key in loose} for what in ("mean", "std"))
        change, slopes = mean_change_and_slopes(side, names, mean, std)
        columns |= dict(zip(loose, slopes.T, strict=True))
    slope = np.stack([columns[key] for key in tolerances], axis=-1) if tolerances else np.zeros((len(change), 0))
    return LinearLaw(model.figures, model.at_figures, change, slope)
