"""One side as it is believed to stand, and its events for any number of steps of the adjustments."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears.sensitivity import Key
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.figure import Figure, as_assessed, figures_of
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.setting.adjustments import Adjustment
from linkmotion.valve_setting import staying
from linkmotion.wear.condition import SOUND

Array = NDArray[np.float64]
Steps = NDArray[np.int_]


@dataclass(frozen=True)
class Off:
    """A dimension that is known to be off its drawing.

    Attributes
    ----------
    key : (table, key)
        Which.
    by : float
        How much more it is than drawn, mm or degrees.
    sure : float
        Probability that it is: 1 where the file or the gauge says so, less where a diagnosis does.
    alike : tuple of (table, key)
        What may be off in its stead: the readings cannot tell.
    """

    key: Key
    by: float
    sure: float = 1.0
    alike: tuple[Key, ...] = ()


@dataclass(frozen=True)
class Undecided:
    """What the readings have likely off, not surely enough to alter anything.

    Attributes
    ----------
    sure : float
        Probability that something is.
    keys : tuple of (table, key)
        What it may be.
    """

    sure: float
    keys: tuple[Key, ...]


@dataclass(frozen=True, eq=False)
class SideEstimate:
    """How one side is believed to stand.

    Attributes
    ----------
    side : SideEvents
        Its gear as its targets are judged: in service where it gets warm. The valve stands where it is, however it was
        once set.
    shift : float array, shape (F,), or None
        What is added to the figures of that gear, so that they are those that were read; a figure with NaN is not
        looked at.
    spread : float array, shape (F, D), or None
        Doubt of the figures: their covariance is ``spread @ spread.T``.
    drawn : dict
        Figures of the sound drawing, by :class:`Figure`: what the levels of lead and cutoff are kept by, and what a
        target that the drawing misses is held to. Levels that are not given are kept as they stand.
    off : tuple of Off
        What is known to be off its drawing.
    fits : bool
        Whether what was read fits the gear; nothing but the trim rests on readings that do not.
    read_cold : SideEvents or None
        The side as it is read, where ``side`` is warm.
    valve_rule : str
        The drawing's rule for setting the valve, "equal lead" and the like; "" if there is none.
    as_valve : tuple of (table, key)
        Dimensions that the readings cannot tell from the valve's place on its spindle.
    undecided : Undecided or None
        What may well be off, though nothing is held to be.
    """

    side: SideEvents
    shift: Array | None = None
    spread: Array | None = None
    drawn: Mapping[Figure, float] = field(default_factory=dict)
    off: tuple[Off, ...] = ()
    fits: bool = True
    read_cold: SideEvents | None = None
    valve_rule: str = ""
    as_valve: tuple[Key, ...] = ()
    undecided: Undecided | None = None

    @property
    def as_read(self) -> SideEvents:
        """The side as it is read: cold."""
        return self.side if self.read_cold is None else self.read_cold


class SettingSide:
    """One side as it is believed to stand: its figures for any number of steps of the adjustments.

    Parameters
    ----------
    estimate : SideEstimate
        How it is believed to stand.
    adjustments : sequence of A Adjustments
        Of the whole engine.

    Attributes
    ----------
    side : SideEvents
        As it stands; its valve is left where it is, however it was once set.
    own : list of int
        Which of the engine's adjustments alter it.
    spread : float array, shape (F, D), or None
        As believed.
    figures : tuple of Figure
        What is looked at, F of them.
    """

    def __init__(self, estimate: SideEstimate, adjustments: Sequence[Adjustment]) -> None:
        self.side = as_it_stands(estimate.side)
        self.spread = estimate.spread
        self.own = [j for j, each in enumerate(adjustments) if each.on(self.side.side)]
        self.per_step = np.array([adjustments[j].per_step for j in self.own])
        self.figures: tuple[Figure, ...] = figures_of(self.side)
        self._model = model_of(self.side, [adjustments[j].key for j in self.own])
        self._known: dict[bytes, Array] = {}
        self._offset = self._worn() if estimate.shift is None else self._worn() + estimate.shift

    def _worn(self) -> Array:
        """What wear of the slot adds to the figures: it is taken to stay as it is."""
        if self.side.condition.sound:
            return np.zeros(len(self.figures))
        as_worn = np.array([as_assessed(self.side, figure) for figure in self.figures])
        return np.asarray(np.nan_to_num(as_worn - self._model.at_figures))

    def values(self, steps: Steps) -> Array:
        """The figures, mm and percent of stroke, shape (S, F).

        Parameters
        ----------
        steps : int array, shape (S, A)
            Rows of steps of all adjustments; what was turned is kept.
        """
        if not self.own:
            return np.repeat(self._model.predict(np.zeros((1, 0))) + self._offset, len(steps), axis=0)
        own = np.ascontiguousarray(steps[:, self.own])
        rows, back = np.unique(own, axis=0, return_inverse=True)
        new = np.array([row for row in rows if row.tobytes() not in self._known]).reshape(-1, len(self.own))
        if len(new):
            found = self._model.predict(new * self.per_step) + self._offset
            self._known |= {row.tobytes(): value for row, value in zip(new.astype(int), found, strict=True)}
        return np.array([self._known[row.tobytes()] for row in rows])[np.ravel(back)]


def as_it_stands(side: SideEvents) -> SideEvents:
    """A side with its valve left where it stands, and its return crank such that it can be turned on the crank pin.

    Parameters
    ----------
    side : SideEvents
        As assessed.
    """
    gear = staying(side.gear, side.central_at).as_set()
    return replace(side, motion=replace(side.motion, gear=gear))


def model_of(side: SideEvents, keys: Sequence[Key]) -> GearModel:
    """The figures of a side as if its slot were sound, its valve left where it stands, as some dimensions depart.

    Parameters
    ----------
    side : SideEvents
        As assessed.
    keys : sequence of (table, key)
        The dimensions.
    """
    return GearModel.of(replace(side, condition=SOUND), figures_of(side), keys)
