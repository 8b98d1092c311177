"""What a fitter reads on the engine, and what a gear of other dimensions would have him read.

The valve stands where it stands: a rule by which it was once set is not applied anew when a dimension departs
from its figure, as it is in a tolerance study. Its own place on the spindle is one of the unknowns.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears import Gear, Setting
from linkmotion.gears.reverser import figure, stacked
from linkmotion.gears.sensitivity import Key, numbers, with_numbers
from linkmotion.linkage import Harmonics
from linkmotion.linkage.order import Order, orders_to_try
from linkmotion.revolution import revolve
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.event_figures import REVERSER, dimensions_of
from linkmotion.studies.readings.kinds import Reading as Reading
from linkmotion.studies.readings.slopes import angles_of, slopes_of
from linkmotion.studies.readings.turned import predicted
from linkmotion.wear.condition import Condition

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ReadingModel:
    """R readings as a function of the departures of D dimensions from their figures.

    Attributes
    ----------
    gear : Gear
        The figures; its valve has a ``central_at`` of its own.
    keys : tuple of (table, key)
        The D dimensions, in the order of every array of departures; mm and degrees.
    readings : tuple of Reading
        The R readings.
    settings : dict
        The reverser in each notch that is read.
    condition : Condition
        Clearances, from which lost motion follows.
    worn : dict of Harmonics
        What a worn slot adds to the spindle's motion, by notch; it is taken not to change with the dimensions.
    free : dict of arrays
        Lost motion round the wheel, mm, by notch (evenly from front dead centre).
    """

    gear: Gear
    keys: tuple[Key, ...]
    readings: tuple[Reading, ...]
    settings: dict[str, Setting]
    condition: Condition = field(repr=False)
    worn: dict[str, Harmonics] = field(repr=False)
    free: dict[str, Array] = field(repr=False)

    @classmethod
    def of(cls, side: SideEvents, readings: Iterable[Reading], keys: Sequence[Key] | None = None) -> ReadingModel:
        """From a side as assessed; the valve stays where the side has it.

        Parameters
        ----------
        side : SideEvents
            With the notches that are read among its own.
        readings : iterable of Reading
            Of this side.
        keys : sequence of (table, key), optional
            Dimensions that may depart; unless given all of the gear, the reverser's arm on its shaft and the
            valve on its spindle.

        Raises
        ------
        ValueError
            A reading of another side or of a notch that the side does not have, or an unknown dimension.
        """
        found = tuple(readings)
        at = dict(zip(side.notches, side.settings, strict=True))
        for reading in found:
            if reading.side != side.side or reading.notch not in at:
                raise ValueError(f"{reading}: no reading of this side ({side.side}) and its notches")
        gear = replace(side.gear, valve=replace(side.gear.valve, central_at=side.central_at, set_by=None, set_in=None))
        known = dimensions_of(gear, side.settings[0])
        if unknown := set(keys or ()) - set(known):
            raise ValueError(f"no dimensions of this gear: {sorted(unknown)}")
        read = dict.fromkeys(reading.notch for reading in found)
        wanted = {notch: at[notch] for notch in read}
        free = {notch: side.lost[side.notches.index(notch)] for notch in read}
        own = known if keys is None else tuple(keys)
        return cls(gear, own, found, wanted, side.condition, _worn(side, wanted, gear), free)

    def predict(self, departures: Any) -> Array:
        """What would be read on S gears.

        Parameters
        ----------
        departures : float array, shape (S, D)
            From the figures of ``keys``, mm and degrees.

        Returns
        -------
        float array, shape (S, R)
            In each reading's own unit; NaN where the gear cannot be assembled or the event does not happen.
        """
        return predicted(self, np.atleast_2d(np.asarray(departures, float)))

    @cached_property
    def at_figures(self) -> Array:
        """What would be read with every dimension at its figure, shape (R,)."""
        return np.asarray(self.predict(np.zeros((1, len(self.keys))))[0])

    @cached_property
    def slopes(self) -> Array:
        """Derivatives at the figures, shape (R, D): the reading's unit per mm or degree."""
        return slopes_of(self)

    @cached_property
    def angles(self) -> Array:
        """Forward crank angle from front dead centre at which each reading is taken, radians, shape (R,)."""
        return angles_of(self)

    @cached_property
    def orders(self) -> list[Order]:
        """Orders of solution to be tried, best first."""
        return list(orders_to_try(self.gear.declare(stacked(list(self.settings.values())))))

    def about(self, departures: Any) -> ReadingModel:
        """The same readings of a gear whose figures have moved by departures, shape (D,)."""
        by = dict(zip(self.keys, np.asarray(departures, float).tolist(), strict=True))
        given = numbers(self.gear)
        gear = with_numbers(self.gear, {key: given[key] + own for key, own in by.items() if key in given})
        settings = {name: _moved(setting, by) for name, setting in self.settings.items()}
        return replace(self, gear=gear, settings=settings)

    def only(self, indices: Iterable[int]) -> ReadingModel:
        """The model of some of the readings."""
        readings = tuple(self.readings[i] for i in indices)
        settings = {notch: self.settings[notch] for notch in dict.fromkeys(reading.notch for reading in readings)}
        return replace(self, readings=readings, settings=settings)


def _moved(setting: Setting, by: dict[Key, float]) -> Setting:
    """The reverser's setting with its own departure; a stop is a dimension's."""
    own = by.get(REVERSER.get(type(setting), ("", "")))
    return setting if own is None else type(setting)(float(np.ravel(figure(setting))[0]) + own)


def _worn(side: SideEvents, settings: dict[str, Setting], gear: Gear) -> dict[str, Harmonics]:
    """What slot wear or an offset die adds to the spindle's motion, by notch."""
    if not (side.condition.slot or side.condition.die_offset):
        return {}
    found = {}
    for notch, setting in settings.items():
        as_worn = side.turned.spindle.c[side.notches.index(notch)]
        sound = revolve(gear, setting).spindle.c[0]
        count = max(as_worn.size, sound.size)
        found[notch] = Harmonics(np.pad(as_worn, (0, count - as_worn.size)) - np.pad(sound, (0, count - sound.size)))
    return found
