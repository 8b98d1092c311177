"""Events of valves whose motion is known at even steps round the wheel, read off by straight lines between them.

What play does to a valve has corners, so that no series serves; straight lines between a quarter of a degree's steps
are good to about a thousandth of a degree.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import EVENTS, FORWARD
from linkmotion.piston import Piston, dead_centre, part_from
from linkmotion.valve import ENDS, Ports

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
    lead, opening, angles, percent = {}, {}, {}, {}
    for end in ENDS:
        steam = _opening(valve, ports, "steam", end)
        lead[end] = _at(steam, dead_centre(piston, end, forward))
        opening[end] = np.minimum(steam.max(-1), ports.port_width)
        for flow, events in (("steam", EVENTS[:2]), ("exhaust", EVENTS[2:])):
            own = steam if flow == "steam" else _opening(valve, ports, flow, end)
            for event, angle in zip(events, _crossings(own), strict=True):
                angles[end, event] = angle
                percent[end, event] = 100 * part_from(piston, end, angle if forward else -angle)
    return SampledEvents(lead, opening, angles, percent, np.ptp(valve, axis=-1))


def _opening(valve: Array, ports: Ports, flow: str, end: str) -> Array:
    edge = ports.edge(flow, end)
    return np.asarray(edge.sign * valve - (edge.lap if np.ndim(edge.lap) == 0 else np.reshape(edge.lap, (-1, 1))))


def _at(signal: Array, angle: Any) -> Array:
    """Values at an angle, one for all or one for each."""
    rows, count = signal.shape
    place = np.broadcast_to(angle / _TURN * count, (rows,))
    low = np.floor(place).astype(int)
    row, part = np.arange(rows), place - low
    return np.asarray(signal[row, low % count] * (1 - part) + signal[row, (low + 1) % count] * part)


def _crossings(signal: Array) -> tuple[Array, Array]:
    """Angles at which the longest opening of each begins and ends; NaN where there is none."""
    over = signal > 0
    after = np.roll(over, -1, axis=-1)
    rises, falls = ~over & after, over & ~after
    number = rises.sum(-1)
    rise, fall = rises.argmax(-1), falls.argmax(-1)
    for row in np.flatnonzero(number > 1):
        rise[row], fall[row] = _longest(np.flatnonzero(rises[row]), np.flatnonzero(falls[row]), signal.shape[-1])
    return tuple(np.where(number > 0, _between(signal, at), np.nan) for at in (rise, fall))  # type: ignore[return-value]


def _longest(rises: Array, falls: Array, count: int) -> tuple[int, int]:
    lengths = [((falls - rise) % count).min() for rise in rises]
    rise = int(rises[int(np.argmax(lengths))])
    return rise, int(falls[int(np.argmin((falls - rise) % count))])


def _between(signal: Array, at: Array) -> Array:
    row = np.arange(len(signal))
    one, two = signal[row, at], signal[row, (at + 1) % signal.shape[-1]]
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray((at + one / (one - two)) * _TURN / signal.shape[-1])
