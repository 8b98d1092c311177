"""Figures of the events as a linear function of what the tolerances leave open."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkmotion.studies.assess import SideEvents
from linkmotion.studies.event_derivatives import event_derivatives
from linkmotion.studies.event_figures import Figure
from linkmotion.studies.hold.play import CLEARANCE, mean_change_and_slopes
from linkmotion.studies.hold.tolerances import Tolerances, moved_by

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
    found = event_derivatives(side, names)
    columns = {
        key: sum(found.to(own) * by for own, by in moved_by(key, side.gear, side.central_at).items())
        for key in tolerances if key[0] != CLEARANCE
    }  # fmt: skip
    change = np.zeros(len(found.value))
    loose = {key[1]: tolerance for key, tolerance in tolerances.items() if key[0] == CLEARANCE}
    if loose:
        mean, std = ({joint: getattr(own, what) for joint, own in loose.items()} for what in ("mean", "std"))
        change, slopes = mean_change_and_slopes(side, names, mean, std)
        columns |= {(CLEARANCE, joint): slopes[:, i] for i, joint in enumerate(loose)}
    slope = np.stack([columns[key] for key in tolerances], axis=-1) if tolerances else np.zeros((len(change), 0))
    return LinearLaw(found.figures, found.value, change, slope)
