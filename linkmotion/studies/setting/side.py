"""One side as it is believed to stand, and its events for any number of steps of the adjustments."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears.reverser import stacked
from linkmotion.gears.sensitivity import Key
from linkmotion.linkage.order import orders_to_try
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.event_figures import Figure, figures_of, values_of
from linkmotion.studies.setting.adjustments import Adjustment, by_crank_pin
from linkmotion.studies.variants import Variants

Array = NDArray[np.float64]
Steps = NDArray[np.int_]


@dataclass(frozen=True, eq=False)
class Belief:
    """How one side is believed to stand.

    Attributes
    ----------
    side : SideEvents
        Its gear; the valve stands where it is, however it was once set.
    shift : float array, shape (F,), or None
        What is added to the figures of that gear, so that they are those that were read; a figure with NaN is not
        looked at.
    spread : float array, shape (F, D), or None
        Doubt of the figures: their covariance is ``spread @ spread.T``.
    drawn : dict
        Figures of the drawing, by :class:`Figure`: what the levels of lead and cutoff are kept by. Those that are
        not given are kept by as they stand.
    faults : tuple of dict
        What may be wrong, likeliest first: how far each dimension is off its figure, mm and degrees; the steps that
        undo it are tried among others.
    sure : dict
        Probability of each dimension that it is wrong.
    """

    side: SideEvents
    shift: Array | None = None
    spread: Array | None = None
    drawn: Mapping[Figure, float] = field(default_factory=dict)
    faults: tuple[Mapping[Key, float], ...] = ()
    sure: Mapping[Key, float] = field(default_factory=dict)


class SettingSide:
    """One side as it is believed to stand: its figures for any number of steps of the adjustments.

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

    def __init__(self, belief: Belief, adjustments: Sequence[Adjustment]) -> None:
        self.side = as_it_stands(belief.side)
        self.spread = belief.spread
        self.own = [j for j, each in enumerate(adjustments) if each.on(self.side.side)]
        self.per_step = np.array([adjustments[j].per_step for j in self.own])
        self.figures: tuple[Figure, ...] = figures_of(self.side)
        self._variants = variants_of(self.side, [adjustments[j].key for j in self.own])
        self._known: dict[bytes, Array] = {}
        self._offset = self._worn() if belief.shift is None else self._worn() + belief.shift

    def _worn(self) -> Array:
        """What wear of the slot adds to the figures: it is taken to stay as it is."""
        side = self.side
        if side.condition.sound:
            return np.zeros(len(self.figures))
        columns = []
        for i in range(len(side.notches)):
            events = {way: {end: _notch(own, i) for end, own in ends.items()} for way, ends in side.events.items()}
            columns += values_of(events, side.driven(i), side.turned.travel[i : i + 1])
        return np.asarray(
            np.nan_to_num(np.concatenate(columns) - self._variants.figures(np.zeros((1, len(self.own))))[0][0])
        )

    def values(self, steps: Steps) -> Array:
        """Figures for each row of steps of all adjustments, shape (S, F)."""
        if not self.own:
            return np.repeat(self._variants.figures(np.zeros((1, 0)))[0] + self._offset, len(steps), axis=0)
        own = np.ascontiguousarray(steps[:, self.own])
        rows, back = np.unique(own, axis=0, return_inverse=True)
        new = np.array([row for row in rows if row.tobytes() not in self._known]).reshape(-1, len(self.own))
        if len(new):
            found = self._variants.figures(new * self.per_step)[0] + self._offset
            self._known |= {row.tobytes(): value for row, value in zip(new.astype(int), found, strict=True)}
        return np.array([self._known[row.tobytes()] for row in rows])[np.ravel(back)]


def as_it_stands(side: SideEvents) -> SideEvents:
    """A side with its valve left where it stands, and its return crank such that it can be turned on the crank pin."""
    valve = replace(side.gear.valve, central_at=side.central_at, set_by=None, set_in=None)
    gear = by_crank_pin(replace(side.gear, valve=valve))
    return replace(side, turned=replace(side.turned, gear=gear))


def variants_of(side: SideEvents, keys: Sequence[Key]) -> Variants:
    """The events of a side whose valve stands where it is, as some dimensions depart; in the order just turned in."""
    return Variants(
        gear=side.gear,
        names=side.notches,
        settings=side.settings,
        ways=tuple(side.driven(i) for i in range(len(side.notches))),
        keys=tuple(keys),
        set_in=None,
        free={},
        orders=[next(orders_to_try(side.gear.declare(stacked(side.settings))))],
    )


def _notch(events: Any, i: int) -> Any:
    """One notch of an end's events."""
    percent = {name: value[i : i + 1] for name, value in events.percent.items()}
    return replace(events, lead=events.lead[i : i + 1], opening=events.opening[i : i + 1], percent=percent)
