r"""The law of a figure: from the moment at which it is taken and the place of the spindle pin there.

One law serves both the figures of many gears (arrays of numbers) and their derivatives (numbers with a complex
step in each dimension): with x the pin's place, c the place that is central, s = ±1 and l the sense and the lap of
an edge, an opening is ``s (x - c) - l``, and an event stands where that is nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import EVENTS, longest_openings, signed_opening
from linkmotion.gears import Gear
from linkmotion.linkage import Harmonics
from linkmotion.linkage.nearby import Nearby
from linkmotion.linkage.turning_points import greatest, grid_size
from linkmotion.linkage.zeros import zeros
from linkmotion.piston import dead_centre, part_from
from linkmotion.studies.figures.dimensions import Varied
from linkmotion.studies.figures.figure import DEGREES, MM, TRAVEL, Figure, Reading
from linkmotion.valve import ENDS, Edge, Ports, displaced

Array = NDArray[Any]
Rows = NDArray[np.intp]
_CLOSINGS = (EVENTS[1], EVENTS[3])
_NEARBY = 0.5  # radians: what is found further off is looked for round the whole wheel


def flow_of(event: str) -> str:
    """Which of a port's edges makes an event: "steam" or "exhaust".

    Parameters
    ----------
    event : str
        One of ``EVENTS``.
    """
    return "steam" if event in EVENTS[:2] else "exhaust"


class Moments:
    """Forward crank angles, from front dead centre, at which figures of N cases are taken, radians.

    A case is a gear in a notch.

    Parameters
    ----------
    varied : Varied
        The gear that departs.
    departures : float array, shape (N, D)
        Of each case.
    spindle : Harmonics
        Place of the spindle pin, mm, shape (N, K).
    central : float array, shape (N,)
        Where that is with the valve central, mm.
    """

    def __init__(self, varied: Varied, departures: Array, spindle: Harmonics, central: Array) -> None:
        self.varied, self.departures, self.spindle, self.central = varied, departures, spindle, central
        self.gear = varied.gears(departures)
        self.ports = Ports.of(self.gear.valve)
        self._ends: dict[int, tuple[Array, Array]] = {}

    def of(self, figures: Sequence[Figure], rows: Rows) -> Array:
        """Moments of F figures in cases of each, radians, shape (F, S); NaN where an event does not happen.

        Parameters
        ----------
        figures : sequence of F figures
            Kind, end, direction and crank angle are looked at; the notch is that of the cases.
        rows : int array, shape (F, S)
            Numbers of the cases, of the N that this was made for.
        """
        found = np.empty(rows.shape)
        for i, figure in enumerate(figures):
            if figure.kind not in EVENTS:
                found[i] = self._at(figure)[rows[i]]
        self._seek(figures, rows, np.array([[figure.kind in EVENTS] for figure in figures]) & (rows >= 0), found)
        return found

    def _at(self, figure: Figure) -> Array:
        """Moments of a figure that is no event, shape (N,)."""
        if figure.kind in ("opening", TRAVEL):
            return self.farthest(self.ports.edge("steam", figure.end).sign if figure.end else 1)
        at = dead_centre(self.gear.crank, figure.end) if figure.end else 0.0
        if figure.at is not None:
            at = figure.forward * np.radians(figure.at)
        return np.broadcast_to(at, self.central.shape)

    def _seek(self, figures: Sequence[Figure], rows: Rows, which: NDArray[np.bool_], found: Array) -> None:
        """Look round the whole wheel for some of the events, which of rows (F, S), and put their angles in place."""
        edges: dict[tuple[str, str], list[int]] = {}
        for i in np.flatnonzero(np.any(which, axis=1)).tolist():
            edges.setdefault((flow_of(figures[i].kind), figures[i].end), []).append(i)
        if not edges:
            return
        cases = [np.unique(np.concatenate([rows[i, which[i]] for i in own])) for own in edges.values()]
        openings = [self._opening(key, there) for key, there in zip(edges, cases, strict=True)]
        passed, first = zeros(Harmonics(np.concatenate(openings))), 0
        forward, backward = (longest_openings(own, sum(map(len, cases))) for own in (passed, passed.reversed()))
        for own, there in zip(edges.values(), cases, strict=True):
            for i in own:
                opens, closes, _told = forward if figures[i].forward > 0 else backward
                at = closes if figures[i].kind in _CLOSINGS else opens
                found[i, which[i]] = figures[i].forward * at[first + np.searchsorted(there, rows[i, which[i]])]
            first += there.size

    def _opening(self, key: tuple[str, str], cases: Rows) -> Array:
        """The series of an edge's opening, by flow and end, in some of the cases."""
        edge = self.ports.edge(*key)
        laps = np.broadcast_to(edge.lap, self.central.size)[cases]
        return signed_opening(displaced(self.spindle[cases], self.central[cases]), Edge(edge.sign, laps)).c

    def farthest(self, sign: int) -> Array:
        """Forward crank angle at which the pin of each case is farthest, radians, shape (N,).

        Parameters
        ----------
        sign : int
            +1 for foremost, −1 for rearmost.
        """
        return self._farthest(sign)[0]

    def reached(self, sign: int) -> Array:
        """How far the pin of each case comes, mm along its guide, shape (N,).

        Parameters
        ----------
        sign : int
            +1 to the front, −1 to the rear.
        """
        return self._farthest(sign)[1]

    def _farthest(self, sign: int) -> tuple[Array, Array]:
        if not self._ends:
            count = len(self.spindle.c)
            angle, most = greatest(Harmonics(np.concatenate([self.spindle.c, -self.spindle.c])))
            self._ends = {1: (angle[:count], most[:count]), -1: (angle[count:], -most[count:])}
        return self._ends[sign]

    def followed(self, events: Sequence[Figure], rows: Rows, near: Array) -> Array:
        """Where events are, by Newton's method from where they stand on a gear much like these.

        What is not found there, or found far away, and what opens more than once, is looked for round the whole wheel.

        Parameters
        ----------
        events : sequence of E figures
        rows : int array, shape (E, S)
            The cases of each.
        near : float array, shape (E,)
            Forward crank angle on the gear much like them, radians.

        Returns
        -------
        array, shape (E, S)
            Forward crank angles, radians; NaN where an event does not happen.
        """
        laps, sense, falls = self._lines(events, rows)
        line = self.central[rows] + sense * laps  # place of the pin at which the edge is on the port's
        angle, there = np.empty(rows.shape), np.empty(rows.shape, bool)
        for notch in dict.fromkeys(event.notch for event in events):
            own = np.array([event.notch == notch for event in events])
            pins = Nearby(self.spindle[rows[np.argmax(own)]], near[own])
            beyond, speed, there[own] = pins.passing(line[own])
            angle[own] = near[own, None] + beyond
            there[own] &= ((sense[own] * speed < 0) == falls[own]) & (np.abs(beyond) < _NEARBY)
        there &= self._plain[rows]
        self._seek(events, rows, ~there, angle)
        return angle

    def _lines(self, events: Sequence[Figure], rows: Rows) -> tuple[Array, Array, Array]:
        """Laps (E, S) of the edges that make events, their senses (E, 1), and whether the pin falls there."""
        edges = [self.ports.edge(flow_of(event.kind), event.end) for event in events]
        laps = [np.broadcast_to(edge.lap, self.central.size)[own] for edge, own in zip(edges, rows, strict=True)]
        falls = np.array([[(event.kind in _CLOSINGS) != (event.forward < 0)] for event in events])
        return np.stack(laps), np.array([[float(edge.sign)] for edge in edges]), falls

    @cached_property
    def _plain(self) -> Array:
        """Whether each pin goes to and fro just once in a revolution, seen at the samples: it opens no port twice."""
        grid = self.spindle.on_grid(grid_size(self.spindle))
        ahead = np.diff(grid, axis=-1, append=grid[:, :1]) > 0
        return np.asarray(np.count_nonzero(np.diff(ahead, axis=-1, append=ahead[:, :1]), axis=-1) == 2)


def value(figure: Figure, angle: Any, place: Any, gear: Gear, ports: Ports, central: Any) -> Any:
    """What a figure is, in its own unit.

    Parameters
    ----------
    figure : Figure
        Of any kind but lost motion; of a reading an event in degrees is told in the turn nearest to what was read.
    angle : array
        Forward crank angle of the moment, radians.
    place : array
        Spindle pin along its guide then (for a die height the die's; for the travel its whole movement; of a spot its
        own distance or place), mm.
    gear, ports
        Whose dimensions are numbers, or arrays of variants, or carry a complex step.
    central : array
        Place of the pin with the valve central, mm.
    """
    valve = place - central
    match figure.kind:
        case "die height" | "travel" | "distance" | "place":
            return place
        case "lead":
            return ports.edge("steam", figure.end).opening(valve)
        case "opening":
            opening = ports.edge("steam", figure.end).opening(valve)
            cut = np.where(np.real(opening) > np.real(ports.port_width), ports.port_width, opening)
            return np.where(np.real(cut) < 0.0, 0.0, cut) if isinstance(figure, Reading) else cut  # complex steps pass
        case "valve":
            front, back = (ports.edge("steam", end) for end in ENDS)
            return valve - front.sign * (front.lap - back.lap) / 2
    return _event(figure, angle, gear)


def _event(figure: Figure, angle: Any, gear: Gear) -> Any:
    if figure.unit == DEGREES:
        past = figure.forward * (angle - dead_centre(gear.crank, figure.end)) / np.radians(1.0)
        about = figure.value if isinstance(figure, Reading) else 180.0  # the turn nearest to what was read
        return past - 360.0 * np.round((np.real(past) - about) / 360.0)
    part = part_from(gear.crank, figure.end, angle)
    front, rear = gear.crank.limits
    return part * (front - rear) if figure.unit == MM else 100.0 * part
