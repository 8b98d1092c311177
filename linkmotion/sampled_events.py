"""Events of valves whose motion is known at even steps round the wheel, read off by straight lines between them.

What play does to a valve has corners, so that no series serves; straight lines between a quarter of a degree's steps
are good to about a thousandth of a degree.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

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


def sampled_events(valve: Array, ports: Ports, piston: Piston, direction: str) -> SampledEvents:
    """Read the events off sampled motions.

    Parameters
    ----------
    valve : float array, shape (S, N)
        Displacement from central, mm, evenly round the wheel from front dead centre in the direction of running.
    ports, piston
        Figures of one gear, or one of each for every valve.
    """
    forward = direction == FORWARD
    least, most = valve.min(-1), valve.max(-1)
    lead, opening, angles, percent = {}, {}, {}, {}
    for end in ENDS:
        steam = ports.edge("steam", end)
        lead[end] = steam.opening(_at(valve, dead_centre(piston, end, forward)))
        opening[end] = np.minimum(steam.opening(most if steam.sign > 0 else least), ports.port_width)
        for flow, events in FLOWS.items():
            for event, angle in zip(events, _crossings(valve, ports.edge(flow, end)), strict=True):
                angles[end, event] = angle
                percent[end, event] = 100 * part_from(piston, end, angle if forward else -angle)
    return SampledEvents(lead, opening, angles, percent, most - least)


def ends_of(valve: Array, ports: Ports, piston: Piston, direction: str) -> dict[str, EndEvents]:
    """Events of both ends, by end, read off sampled motions; parameters as for :func:`sampled_events`.

    That a port just touches cannot be seen in samples, and is not told.
    """
    found = sampled_events(valve, ports, piston, direction)
    ends = {}
    for end in ENDS:
        steam = ports.edge("steam", end)
        most = steam.opening(valve.max(-1) if steam.sign > 0 else valve.min(-1))
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


def _at(signal: Array, angle: Any) -> Array:
    """Values at an angle, one for all or one for each."""
    rows, count = signal.shape
    place = np.broadcast_to(angle / _TURN * count, (rows,))
    low = np.floor(place).astype(int)
    row, part = np.arange(rows), place - low
    return np.asarray(signal[row, low % count] * (1 - part) + signal[row, (low + 1) % count] * part)


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
    one, two = signal[row, at] - line, signal[row, (at + 1) % signal.shape[-1]] - line
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray((at + one / (one - two)) * _TURN / signal.shape[-1])
