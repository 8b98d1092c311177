"""Figures of many gears at once, each with dimensions of its own.

All notches of all gears are turned together: a row for each, notch by notch.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import EVENTS
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.linkage import Harmonics, Linkage, Solution
from linkmotion.linkage.many import Orders, Variants, longer
from linkmotion.studies.figures.dimensions import CENTRAL, Varied
from linkmotion.studies.figures.figure import SPOTTED, TRAVEL, Figure
from linkmotion.studies.figures.law import Moments, Rows, value
from linkmotion.studies.figures.play import GREATEST, Play
from linkmotion.studies.figures.play import LOST as LOST
from linkmotion.studies.figures.spots import places_in
from linkmotion.studies.figures.starts import Starts
from linkmotion.valve import Ports, displaced
from linkmotion.valve_setting import RuleError, place_by_rule

Array = NDArray[Any]
NO_PLACE = "the valve cannot be set by its rule"
DIE = "die height"


@dataclass(frozen=True, eq=False)
class Moved:
    """What moves the valve in each notch: the gear as some dimensions depart, and what is added to it.

    Attributes
    ----------
    varied : Varied
        The gear, in every notch in which it is turned.
    set_in : str
        Notch in which the valve is set afresh on each gear by its rule; "" where it stays where it is.
    worn : dict of Harmonics
        What a worn slot adds to the spindle's motion, by notch; it is taken not to change with the dimensions.
    orders : Orders
        In which the gear is solved.
    """

    varied: Varied
    set_in: str
    worn: Mapping[str, Harmonics] = field(repr=False)
    orders: Orders = field(repr=False)

    @property
    def notches(self) -> list[str]:
        """Every notch in which the gear is turned."""
        return list(self.varied.settings)

    def with_wear(self, c: Array, count: int) -> Array:
        """Spindle series with what wear adds.

        Parameters
        ----------
        c : complex array, shape (notches * count, K)
            Coefficients, mm, notch by notch.
        count : int
            How many gears.
        """
        if not self.worn:
            return c
        own = [self.worn[notch].c for notch in self.notches]
        longest = max(c.shape[-1], *(each.shape[-1] for each in own))
        return np.asarray(longer(c, longest) + np.repeat([longer(each, longest) for each in own], count, axis=0))


class Turned:
    """S gears turned in every notch, and their figures.

    Parameters
    ----------
    moved : Moved
        What departs.
    departures : array, shape (S, D)
        Of each gear, mm and degrees.
    with_die : bool
        Whether the die is looked at too.
    pins : sequence of str
        Pins that are looked at too.
    starts : Starts, optional
        Where Newton's method starts; the sketch's, if not given.

    Attributes
    ----------
    told : object array, shape (S,)
        "" for a gear that can be assembled and set, else why not.
    """

    def __init__(
        self, moved: Moved, departures: Array, with_die: bool, pins: Sequence[str], starts: Starts | None = None
    ) -> None:
        self.moved, self.departures, self.count = moved, departures, len(departures)
        self.rows = np.tile(departures, (len(moved.notches), 1))
        near = None if starts is None else partial(starts.near, departures)
        paths, told = Variants(self._declared(with_die, pins), moved.orders, near).turned(len(self.rows))
        self.told = _first_told(told.reshape(-1, self.count))
        lost = np.tile(self.told != "", len(moved.notches))
        to_and_fro = np.eye(1, paths.c.shape[-1], 1) + 0j  # stands in for what cannot turn, and is looked at no further
        c = np.where(lost[:, None], to_and_fro, paths.c)
        self.spindle = Harmonics(moved.with_wear(c[0], self.count))
        self.die = Harmonics(c[1 if with_die else 0])
        placed = zip(c[-2 * len(pins) :: 2], c[1 - 2 * len(pins) :: 2], strict=True) if pins else []
        self.pins = {pin: (Harmonics(x), Harmonics(y)) for pin, (x, y) in zip(pins, placed, strict=True)}
        self.flat = moved.varied.gears(departures)
        self.ports = Ports.of(self.flat.valve)
        self.central = self._central()
        self.moments = Moments(moved.varied, self.rows, self.spindle, np.tile(self.central, len(moved.notches)))

    def values(self, figures: Sequence[Figure], near: Array, play: Play) -> Array:
        """The figures, each in its own unit, shape (S, F); NaN for gears that are told and events that do not happen.

        Parameters
        ----------
        figures : sequence of F figures
            Of the notches turned.
        near : array, shape (F,)
            Forward crank angle, radians, at which an event stands on a gear much like these, from which it is followed;
            NaN where it is to be looked for.
        play : Play
            What play adds.
        """
        found = np.empty((self.count, len(figures)))
        rows = np.stack([self.rows_of(figure.notch) for figure in figures]) if figures else np.empty((0, 0), int)
        angles = self._angles(figures, rows, near)
        for i, figure in enumerate(figures):
            if figure.kind in (LOST, GREATEST):
                found[:, i] = play.lost_at(figure)
                continue
            with np.errstate(invalid="ignore"):
                place = self._place(figure, angles[i], rows[i])
                found[:, i] = value(figure, angles[i], place, self.flat, self.ports, self.central)
        if play.keys or play.worn is not None:
            found += play.changes(figures, self._valve, self.ports, self.flat.crank, self._clearances(play))
        found[self.told != ""] = np.nan
        return found

    def rows_of(self, notch: str) -> Rows:
        """Numbers of a notch's rows, shape (S,).

        Parameters
        ----------
        notch : str
            One of those turned.
        """
        return self.moved.notches.index(notch) * self.count + np.arange(self.count)

    def _place(self, figure: Figure, angle: Array, rows: Rows) -> Array:
        if figure.kind == TRAVEL:
            return np.asarray(self.moments.reached(1)[rows] - self.moments.reached(-1)[rows])
        if figure.kind == "opening":
            return self.moments.reached(self.ports.edge("steam", figure.end).sign)[rows]
        if figure.kind in EVENTS:  # told by their moments alone
            return np.zeros(rows.shape)
        if figure.kind in SPOTTED and figure.spot is not None:
            return figure.spot.value(self.flat, lambda pin: self._pin(pin, rows, angle))
        return np.asarray((self.die if figure.kind == DIE else self.spindle)[rows](angle))

    def _pin(self, pin: str, rows: Rows, angle: Array) -> Array:
        x, y = self.pins[pin]
        return np.asarray(x[rows](angle) + 1j * y[rows](angle))

    def _valve(self, notch: str) -> Harmonics:
        """Displacement of the valve in a notch, mm, shape (S, K)."""
        return displaced(self.spindle[self.rows_of(notch)], self.central)

    def _clearances(self, play: Play) -> Array:
        """Shape (S, C)."""
        own = [self.moved.varied.by(key, self.departures) for key in play.keys]
        return np.reshape(own, (len(own), self.count)).T

    def _declared(
        self, with_die: bool, pins: Sequence[str]
    ) -> Callable[[Rows], tuple[Linkage, Callable[[Solution], Any]]]:
        """What declares some of the rows, and looks at their spindle pin (at their die, and at pins)."""
        varied = self.moved.varied

        def declare(which: Rows) -> tuple[Linkage, Callable[[Solution], Any]]:

            def look(solution: Solution) -> Any:
                looked = [solution.along(VALVE_GUIDE)]
                if with_die:
                    looked.append(varied.gears(self.rows[which], tall=True).die_height(solution))
                for place in map(places_in(solution), pins):
                    looked += [place.real, place.imag]
                return np.stack(np.broadcast_arrays(*looked))

            return varied.linkage(self.departures, which), look

        return declare

    def _central(self) -> Array:
        """Place of the pin with the valve central in each gear, mm: where it stays, or by the rule."""
        valve = self.flat.valve
        if not self.moved.set_in:
            return np.asarray(np.broadcast_to(valve.central_at, self.count), float)
        spindle = self.spindle[self.rows_of(self.moved.set_in)]
        found, left = np.zeros(self.count), np.flatnonzero(self.told == "")
        while left.size:
            own = self.moved.varied.gears(self.departures[left])
            try:
                found[left] = place_by_rule(own.valve, spindle[left], Ports.of(own.valve), own.crank)
                break
            except RuleError as error:
                self.told[left[error.failed]] = NO_PLACE
                left = left[~error.failed]
        return found + self.moved.varied.by(CENTRAL, self.departures)

    def _angles(self, figures: Sequence[Figure], rows: Rows, near: Array) -> Array:
        """Forward crank angle of each figure on each gear, shape (F, S)."""
        found = np.empty(rows.shape)
        events = np.array([figure.kind in EVENTS for figure in figures], bool) & ~np.isnan(near)
        for which, moments in ((events, self.moments.followed), (~events, self.moments.of)):
            own = [figure for figure, there in zip(figures, which, strict=True) if there]
            if own:
                found[which] = moments(own, rows[which], *([near[which]] if which is events else []))
        return found


def _first_told(told: Array) -> Array:
    """What is told of each gear, shape (S,), by the first of its notches, shape (N, S), that cannot be turned."""
    first = np.argmax(told != "", axis=0)
    return np.asarray(told[first, np.arange(told.shape[1])])


def reasons(told: Array) -> Counter[str]:
    """How many gears cannot be had, by the reason.

    Parameters
    ----------
    told : object array, shape (S,)
        As of :class:`Turned`.
    """
    return Counter(told[told != ""].tolist())
