"""A slot worn in one place, as a suspect: where its die works in full gear, as engines work most.

There the slot's centre line stands off, elsewhere it is where it was: a figure that is taken with the die in that place
moves as by the whole centre line (``slot_offset``), any other not at all. So it takes readings in two notches at least
to tell the one from the other. One face gives way more than the other, and leaves the die loose there: the valve may
hang back by that too. The places looked at are those of the two outermost notches in which the valve is driven, each
if it was read; a slot whose faces were read with the gauge is known, and no suspect.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears.sensitivity import Key
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.disturbances import Disturbances
from linkmotion.studies.figures.figure import Figure
from linkmotion.studies.figures.model import GearModel
from linkmotion.wear.condition import FaceLoss

Array = NDArray[np.float64]
WORN_SLOT = "worn slot"
"""In place of a table in the key of such a suspect; the notch is in place of the key: ("worn slot", "full forward")."""
CENTRE_LINE: Key = ("expansion_link", "slot_offset")
WORN = 0.8  # mm: how far a worn centre line usually stands off; common practice, no source
_FADES = 0.05  # of the slot's length: from the end of the die's path so far until the slot is as it was


@dataclass(frozen=True)
class WornPlace:
    """Where a slot may be worn.

    Attributes
    ----------
    key : (table, key)
        By which it is told.
    low, high : float
        Ends of the die's path in that notch, mm along the slot from its middle, + up.
    fades : float
        Beyond which the slot is as it was from so far on, mm.
    """

    key: Key
    low: float
    high: float
    fades: float

    def worn(self, place: Array) -> Array:
        """How much of the wear there is at some places along the slot, 0 to 1.

        Parameters
        ----------
        place : array
            mm from its middle, + up.
        """
        beyond = np.maximum(self.low - place, place - self.high)
        return np.clip(1.0 - beyond / self.fades, 0.0, 1.0)

    def losses(self, ahead: float) -> tuple[FaceLoss, ...]:
        """The faces that have the centre line so far ahead there: all of it is lost by the face that gave way.

        Parameters
        ----------
        ahead : float
            mm; negative: back.
        """
        front, back = max(2 * ahead, 0.0), max(-2 * ahead, 0.0)
        ends = (FaceLoss(self.low - self.fades), FaceLoss(self.high + self.fades))
        return ends[0], FaceLoss(self.low, front, back), FaceLoss(self.high, front, back), ends[1]


def worn_places(side: SideEvents, read: Sequence[Figure], keys: Sequence[Key]) -> tuple[WornPlace, ...]:
    """Where a side's slot may be worn, as far as the readings can tell that from the whole slot being off.

    Parameters
    ----------
    side : SideEvents
        As assessed.
    read : sequence of Figure
        What was read on it.
    keys : sequence of (table, key)
        Dimensions that may be off; without the slot's centre line among them there is none.
    """
    slot = side.gear.slot
    notches = {figure.notch for figure in read}
    if slot is None or CENTRE_LINE not in keys or side.condition.slot or len(notches) < 2:
        return ()
    low, high = side.motion.die_reach
    driven = [i for i in range(len(side.notches)) if side.driven(i)]
    if not driven:
        return ()
    driven.sort(key=lambda i: float(low[i] + high[i]))
    fades = _FADES * float(slot.top + slot.bottom)
    return tuple(
        WornPlace((WORN_SLOT, side.notches[i]), float(low[i]), float(high[i]), fades)
        for i in sorted({driven[0], driven[-1]})
        if side.notches[i] in notches
    )


def columns(
    places: Sequence[WornPlace], side: SideEvents, about: GearModel, disturbances: Disturbances
) -> tuple[Array, Array]:
    """Slopes of R figures to W worn places, per mm: of the centre line, and of the die's clearance there, taken up.

    Where nothing is said of how the wheel was turned the valve may hang back either way: two slopes for each place.

    Parameters
    ----------
    places, side : sequence of WornPlace, SideEvents
        Of that side.
    about : GearModel
        The figures, about a gear.
    disturbances : Disturbances
        Of the same.

    Returns
    -------
    arrays, shape (R, W) and (R, 2 W)
        Each place's two one after the other.
    """
    if not places:
        return np.zeros((len(about.figures), 0)), np.zeros((len(about.figures), 0))
    whole = about.slopes[:, about.keys.index(CENTRE_LINE)]
    rows = [side.notches.index(figure.notch) for figure in about.figures]
    at = side.motion.die[rows](np.nan_to_num(about.angles))
    there = np.column_stack([place.worn(at) for place in places])
    known, either = disturbances.die_lag(about)
    lags = np.column_stack([known + either, known - either])
    return whole[:, None] * there, np.reshape(there[:, :, None] * lags[:, None], (len(at), -1))
