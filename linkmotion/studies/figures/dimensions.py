"""The dimensions on which figures depend, and gears on which some of them depart from their figures."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears import Arm, DieHeld, Gear, ReverserPosition
from linkmotion.gears.reverser import Stop, figure
from linkmotion.gears.sensitivity import Key, numbers, with_numbers
from linkmotion.linkage import Linkage
from linkmotion.valve import ENDS

Array = NDArray[Any]
CENTRAL: Key = ("valve", "central_at")
LAPS = ("steam_lap", "exhaust_lap")
REVERSER: dict[type[Any], Key] = {Arm: ("reversing", "arm angle"), DieHeld: ("reversing", "die place")}


def dimensions_of(gear: Gear, setting: ReverserPosition) -> tuple[Key, ...]:
    """Every dimension that the figures may depend on, by (table, key).

    ("reversing", "arm angle") turns the arm on its shaft (or "die place" shifts the die), alike in every notch;
    ("valve", "central_at") is a shift of the valve on its spindle, beside what a setting rule gives.

    Parameters
    ----------
    gear : Gear
        Its keys that hold numbers are dimensions.
    setting : ReverserPosition
        Of the kind that all notches have; its figure is of no account.
    """
    reverser = (REVERSER[type(setting)],) if type(setting) in REVERSER else ()
    return tuple(dict.fromkeys((*numbers(gear), *reverser, CENTRAL)))


def by_end(gear: Gear, keys: Iterable[Key]) -> Gear:
    """The gear with a lap that its file gives for both ends written for each of them, if any of the keys asks for it.

    The two steam edges of a valve, and the two of its ports, have each their own place: as made or as worn, a lap is
    one for each end.

    Parameters
    ----------
    gear : Gear
        With or without laps for both ends.
    keys : iterable of (table, key)
        Of any dimensions.
    """
    asked = set(keys)
    for lap in LAPS:
        both = getattr(gear.valve, lap)
        if both is not None and asked & set(lap_keys(lap)):
            ends: dict[str, Any] = {lap: None} | {f"{lap}_{end}": both for end in ENDS}
            gear = replace(gear, valve=replace(gear.valve, **ends))
    return gear


def lap_keys(lap: str) -> tuple[Key, ...]:
    """The keys of a lap at each end, the front's first.

    Parameters
    ----------
    lap : str
        "steam_lap" or "exhaust_lap".

    Examples
    --------
    >>> lap_keys("steam_lap")
    (('valve', 'steam_lap_front'), ('valve', 'steam_lap_back'))
    """
    return tuple(("valve", f"{lap}_{end}") for end in ENDS)


@dataclass(frozen=True, eq=False)
class Varied:
    """A gear in some notches, of which some dimensions depart from their figures.

    Attributes
    ----------
    gear : Gear
        The figures.
    keys : tuple of (table, key)
        The D dimensions that may depart, in the order of every array of departures; mm and degrees.
    settings : dict
        The reverser in each notch.
    """

    gear: Gear
    keys: tuple[Key, ...]
    settings: dict[str, ReverserPosition]

    @cached_property
    def _given(self) -> dict[Key, float]:
        return numbers(self.gear)

    def gears(self, departures: Array, tall: bool = False) -> Gear:
        """The gears as they depart, as one gear whose dimensions are arrays.

        Parameters
        ----------
        departures : array, shape (S, D)
            mm and degrees; of dimensions that are no key of a table (the reverser, clearances) nothing is seen here.
        tall : bool
            Whether the dimensions have the shape (S, 1), to be turned, or (S,).
        """
        given = self._given
        varied = {key: given[key] + own for key, own in zip(self.keys, departures.T, strict=True) if key in given}
        return with_numbers(self.gear, {key: own[:, None] for key, own in varied.items()} if tall else varied)

    def reverser(self, notch: str, departures: Array) -> Array:
        """The figure of the reverser in a notch on each gear, shape (S,): degrees of an arm, mm of a die or a stop.

        Parameters
        ----------
        notch : str
            Its name.
        departures : array, shape (S, D)
            mm and degrees.
        """
        setting = self.settings[notch]
        if isinstance(setting, Stop):  # the stop is a dimension's
            return np.broadcast_to(figure(self.gears(departures).notches[notch]), len(departures))
        return np.asarray(float(np.ravel(figure(setting))[0]) + self.by(REVERSER[type(setting)], departures))

    def linkage(self, departures: Array, which: NDArray[np.intp]) -> Linkage:
        """The linkage of some of S gears in N notches, its dimensions of shape (V, 1).

        Parameters
        ----------
        departures : array, shape (S, D)
            mm and degrees.
        which : int array, shape (V,)
            Numbers of the variants, of N S, notch by notch.
        """
        notch, gear = np.divmod(which, len(departures))
        settings = np.stack([self.reverser(name, departures) for name in self.settings])[notch, gear]
        kind = type(next(iter(self.settings.values())))
        return self.gears(departures[gear], tall=True).declare(kind(settings[:, None]))

    def by(self, key: Key, departures: Array) -> Array:
        """Departures of one dimension, shape (S,); noughts if it may not depart.

        Parameters
        ----------
        key : (table, key)
            Of the dimension.
        departures : array, shape (S, D)
            mm and degrees.
        """
        return departures[:, self.keys.index(key)] if key in self.keys else np.zeros(len(departures))

    def about(self, departures: Array) -> Varied:
        """The same of a gear whose figures have moved.

        Parameters
        ----------
        departures : array, shape (D,)
            mm and degrees.
        """
        row = np.asarray(departures, float)[None]
        given = self._given
        moved = {key: given[key] + float(by) for key, by in zip(self.keys, row[0], strict=True) if key in given}
        settings = {name: type(own)(float(self.reverser(name, row)[0])) for name, own in self.settings.items()}
        return replace(self, gear=with_numbers(self.gear, moved), settings=settings)


def departed(gear: Gear, settings: Mapping[str, ReverserPosition], departures: Mapping[Key, float]) -> Varied:
    """A gear and its reverser with some dimensions off their figures.

    Parameters
    ----------
    gear : Gear
        As it is given.
    settings : dict
        The reverser in each notch, by its name.
    departures : dict
        By (table, key), mm and degrees.
    """
    keys: Sequence[Key] = tuple(departures)
    return Varied(by_end(gear, keys), tuple(keys), dict(settings)).about(np.array([departures[key] for key in keys]))
