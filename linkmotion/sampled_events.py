"""Events of valves whose motion is known at even steps round the wheel, read off by straight lines between them.

What play does to a valve has corners, so that no series serves; straight lines between a quarter of a degree's steps
are good to about a thousandth of a degree.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import EVENTS, FLOWS, FORWARD, EndEvents, remark
from linkmotion.piston import Piston, dead_centre, part_from
from linkmotion.valve import ENDS, Edge, Ports

Array = NDArray[Any]
_TURN = 2 * np.pi


@dataclass(frozen=True)
class SampledEvents:
    """Figures of S valves in one direction of running, each of shape (S,).

    Attributes
    ----------
    lead, opening : dict
        By end, mm.
    angle : dict
        (end, event) → radians from front dead centre in the direction of running; NaN where it does not happen.
    percent : dict
        (end, event) → percent of stroke.
    travel : float array
        mm.
    """

    lead: dict[str, Array]
    opening: dict[str, Array]
    angle: dict[tuple[str, str], Array]
    percent: dict[tuple[str, str], Array]
    travel: Array


class Motion(Protocol):
    """S motions of a valve, mm from central, known at N even steps round the wheel in the direction of running."""

    @property
    def least(self) -> Array:
        """Rearmost places, shape (S,)."""

    @property
    def most(self) -> Array:
        """Foremost places, shape (S,)."""

    def at(self, angle: Any) -> Array:
        """Places at a crank angle, mm, shape (S,).

        Parameters
        ----------
        angle : float or array, shape (S,)
            One for all or one for each: radians from front dead centre in the direction of running.
        """

    def openings(self, edges: Sequence[Edge]) -> tuple[Array, Array]:
        """Angles at which the longest opening at each of E edges begins and ends.

        Parameters
        ----------
        edges : sequence of Edge
            E of them; the lap of each a number, or one for each motion.

        Returns
        -------
        opens, closes : arrays, shape (E, S)
            Radians from front dead centre in the direction of running; NaN without an opening.
        """


@dataclass(frozen=True, eq=False)
class Samples:
    """Any motions: ``valve`` has shape (S, N), from front dead centre in the direction of running."""

    valve: Array

    @cached_property
    def least(self) -> Array:
        """Rearmost places, shape (S,)."""
        return np.asarray(self.valve.min(-1))

    @cached_property
    def most(self) -> Array:
        """Foremost places, shape (S,)."""
        return np.asarray(self.valve.max(-1))

    def at(self, angle: Any) -> Array:
        """As :meth:`Motion.at`, by straight lines between the samples."""
        rows, count = self.valve.shape
        low, part = before(angle, rows, count)
        row = np.arange(rows)
        return np.asarray(self.valve[row, low % count] * (1 - part) + self.valve[row, (low + 1) % count] * part)

    def openings(self, edges: Sequence[Edge]) -> tuple[Array, Array]:
        """As :meth:`Motion.openings`, by straight lines between the samples."""
        opens, closes = zip(*(_crossings(self.valve, edge) for edge in edges), strict=True)
        return np.stack(opens), np.stack(closes)


def before(angle: Any, rows: int, count: int) -> tuple[NDArray[np.intp], Array]:
    """Of each row the last of ``count`` samples before a crank angle, and how far past it.

    Parameters
    ----------
    angle : float or array, shape (rows,)
        Radians from the first sample.
    rows, count : int
        How many rows; how many samples there are round the circle.

    Returns
    -------
    low : int array, shape (rows,)
        Number of the sample; not brought back into the turn.
    past : array, shape (rows,)
        From it to the angle, in steps, in [0, 1).
    """
    place = np.broadcast_to(angle / _TURN * count, (rows,))
    low = np.floor(place).astype(int)
    return low, place - low


def sampled_events(
    valve: Motion, ports: Ports, piston: Piston, direction: str, flows: Sequence[str] = tuple(FLOWS)
) -> SampledEvents:
    """Read the events off sampled motions.

    Parameters
    ----------
    valve : Motion
        S of them.
    ports, piston
        Figures of one gear, or one of each for every valve.
    direction : str
        "forward" or "backward": in which the motions were sampled.
    flows : sequence of str
        Steam, exhaust: whose events are looked for.
    """
    forward = direction == FORWARD
    lead, opening = {}, {}
    for end in ENDS:
        steam = ports.edge("steam", end)
        lead[end] = steam.opening(valve.at(dead_centre(piston, end, forward)))
        opening[end] = np.minimum(steam.opening(valve.most if steam.sign > 0 else valve.least), ports.port_width)
    angles: dict[tuple[str, str], Array] = {}
    percent: dict[tuple[str, str], Array] = {}
    if not flows:
        return SampledEvents(lead, opening, angles, percent, valve.most - valve.least)
    opens, closes = valve.openings([ports.edge(flow, end) for end in ENDS for flow in flows])
    events = [event for flow in flows for event in FLOWS[flow]]
    by_end = np.stack([opens, closes], axis=1).reshape(len(ENDS), len(events), -1)
    for end, angle in zip(ENDS, by_end, strict=True):
        part = 100 * part_from(piston, end, angle if forward else -angle)
        for number, event in enumerate(events):
            angles[end, event], percent[end, event] = angle[number], part[number]
    return SampledEvents(lead, opening, angles, percent, valve.most - valve.least)


def ends_of(valve: Array, ports: Ports, piston: Piston, direction: str) -> dict[str, EndEvents]:
    """Events of both ends, read off sampled motions.

    That a port just touches cannot be seen in samples, and is not told.

    Parameters
    ----------
    valve : array, shape (S, N)
        Displacement from central, mm, at N even steps from front dead centre in the direction of running.
    ports, piston
        Figures of one gear, or one of each for every valve.
    direction : str
        "forward" or "backward".

    Returns
    -------
    dict of EndEvents
        By "front" and "back".
    """
    samples, ends = Samples(valve), {}
    found = sampled_events(samples, ports, piston, direction)
    for end in ENDS:
        steam = ports.edge("steam", end)
        most = steam.opening(samples.most if steam.sign > 0 else samples.least)
        dead = dead_centre(piston, end, direction == FORWARD)
        ends[end] = EndEvents(
            found.lead[end],
            found.opening[end],
            np.maximum(most - ports.port_width, 0.0),
            {event: np.degrees(found.angle[end, event] - dead) % 360.0 for event in EVENTS},
            {event: found.percent[end, event] for event in EVENTS},
            {flow: _told(valve, ports.edge(flow, end)) for flow in FLOWS},
        )
    return ends


def _told(valve: Array, edge: Edge) -> tuple[str, ...]:
    """What is unusual about a port of each valve."""
    over = edge.sign * valve > np.reshape(edge.lap, (-1, 1))
    times = np.count_nonzero(over & ~np.roll(over, 1, axis=-1), axis=-1)
    return tuple(remark(int(number), bool(row[0])) for number, row in zip(times, over, strict=True))


def _crossings(valve: Array, edge: Edge) -> tuple[Array, Array]:
    """Angles at which the longest opening of each valve at an edge begins and ends; NaN where there is none."""
    line = edge.sign * np.broadcast_to(edge.lap, valve.shape[:1])  # the valve's place at which the edge is at the line
    over = valve > line[:, None] if edge.sign > 0 else valve < line[:, None]
    changes = np.empty(over.shape, bool)
    np.not_equal(over[:, 1:], over[:, :-1], out=changes[:, :-1])
    np.not_equal(over[:, 0], over[:, -1], out=changes[:, -1])
    falls = changes & over
    rises = np.logical_xor(changes, falls, out=changes)
    number = np.count_nonzero(rises, axis=-1)
    rise, fall = rises.argmax(-1), falls.argmax(-1)
    for row in np.flatnonzero(number > 1):
        rise[row], fall[row] = _longest(np.flatnonzero(rises[row]), np.flatnonzero(falls[row]), valve.shape[-1])
    opens, closes = (np.where(number > 0, _between(valve, line, at), np.nan) for at in (rise, fall))
    return opens, closes


def _longest(rises: Array, falls: Array, count: int) -> tuple[int, int]:
    lengths = [((falls - rise) % count).min() for rise in rises]
    rise = int(rises[int(np.argmax(lengths))])
    return rise, int(falls[int(np.argmin((falls - rise) % count))])


def _between(signal: Array, line: Array, at: Array) -> Array:
    """Where a signal passes a line between a sample and the next, radians."""
    row = np.arange(len(signal))
    return passing(signal[row, at] - line, signal[row, (at + 1) % signal.shape[-1]] - line, at, signal.shape[-1])


def passing(one: Array, two: Array, at: Array, count: int) -> Array:
    """Where straight lines from a sample to the next pass nothing.

    Parameters
    ----------
    one, two : arrays, shape (S,)
        Values at the sample and at the next, on either side of nothing.
    at : int array, shape (S,)
        Number of the sample.
    count : int
        Samples round the circle.

    Returns
    -------
    array, shape (S,)
        Radians from the first sample.

    Examples
    --------
    >>> print(np.degrees(passing(np.array([-1.0]), np.array([3.0]), np.array([10]), 360)))
    [10.25]
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray((at + one / (one - two)) * _TURN / count)
