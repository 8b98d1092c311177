"""The two faces of a slot as read with a depth gauge; places, depths and losses as in :mod:`.slot_drawing`."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from linkmotion.wear.slot_drawing import FRONT, Floats, SlotDrawing, SlotError

_STATIONS = 201  # along a face, beside the readings' own places; between them the extremes are found exactly
_ONE_PLACE = 0.1  # mm: no gauge foot is set nearer than this


class ReadingError(SlotError):
    """Readings that cannot be used."""


@dataclass(frozen=True, eq=False)
class FaceReadings:
    """Readings on one face.

    Attributes
    ----------
    places : float array, shape (n,)
        Along the slot from its middle, + up, mm, in any order; readings at one place, or within a tenth of a
        millimetre of the next, are averaged.
    losses : float array, shape (n,)
        Loss of metal, square to the face, mm; a little below zero is a burr.
    """

    places: Any
    losses: Any

    def __post_init__(self) -> None:
        places, losses = np.atleast_1d(np.asarray(self.places, float)), np.atleast_1d(np.asarray(self.losses, float))
        if places.ndim != 1 or places.shape != losses.shape or not places.size:
            raise ReadingError("a face wants as many losses as places, one at least", "give a loss to every place")
        if not (np.all(np.isfinite(places)) and np.all(np.isfinite(losses))):
            raise ReadingError("a reading is not a number", "leave the reading out")
        object.__setattr__(self, "places", places)
        object.__setattr__(self, "losses", losses)

    @cached_property
    def averaged(self) -> tuple[Floats, Floats]:
        """Places in order, each once, and the mean loss at each."""
        order = np.argsort(self.places, kind="stable")
        which = np.cumsum(np.diff(self.places[order], prepend=-np.inf) > _ONE_PLACE) - 1
        count = np.bincount(which)
        return tuple(np.bincount(which, weights=each[order]) / count for each in (self.places, self.losses))  # type: ignore[return-value]


@dataclass(frozen=True, eq=False)
class SlotReadings:
    """Depth readings along both faces, and how sure the gauge is; one sigma each, mm.

    Attributes
    ----------
    front, back : FaceReadings
        What was read.
    uncertainty : float
        Of one reading by itself.
    zero, tilt : float
        Of what all readings of a face share: the gauge's zero; and a tilt of what it was read from (a straightedge, a
        template), as what it makes at an end of the slot, mid slot true. Each as large as ``uncertainty`` if not given.
    """

    front: FaceReadings
    back: FaceReadings
    uncertainty: float
    zero: float = np.nan
    tilt: float = np.nan

    def __post_init__(self) -> None:
        for key in ("zero", "tilt"):
            if np.isnan(getattr(self, key)):
                object.__setattr__(self, key, self.uncertainty)
            if not (np.isfinite(getattr(self, key)) and getattr(self, key) >= 0):
                raise SlotError(f"the gauge's {key} is uncertain by less than nothing", "give one sigma, or 0")
        if not (np.isfinite(self.uncertainty) and self.uncertainty > 0):
            raise SlotError("the gauge's uncertainty must be above zero", "give one sigma, such as 0.02 mm")

    def on(self, face: str) -> FaceReadings:
        """Readings of one face."""
        return self.front if face == FRONT else self.back


@dataclass(frozen=True, eq=False)
class WornFace:
    """A face as worn: straight lines of loss between the readings, level beyond the last ones.

    A burr (loss below zero) is taken as dressed off.
    """

    drawing: SlotDrawing
    face: str
    readings: FaceReadings

    @property
    def sign(self) -> int:
        """+1 where the size of the face grows with wear, −1 where it falls."""
        return self.drawing.sign(self.face)

    def loss(self, place: Any) -> Any:
        """Loss at a place, mm, none below zero."""
        places, losses = self.readings.averaged
        return np.interp(place, places, np.maximum(losses, 0.0))

    @cached_property
    def stations(self) -> Floats:
        """Places at which the face is looked at: evenly along it, and at the readings."""
        even = np.linspace(-self.drawing.bottom, self.drawing.top, _STATIONS)
        return np.unique(np.concatenate([even, self.readings.averaged[0]]))
