r"""What is read, from the moment at which it is read and the place of the spindle pin there.

One law serves both the readings of many gears (arrays of numbers) and their derivatives (numbers with a complex
step in each dimension): with x the pin's place, c the place that is central, s = ±1 and l the sense and the lap of
an edge, an opening is ``s (x - c) - l``, and an event stands where that is nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import EVENTS, EndEvents, end_events
from linkmotion.gears import Gear
from linkmotion.linkage import Harmonics
from linkmotion.linkage.turning_points import greatest
from linkmotion.studies.readings.kinds import DEGREES, MM, Reading
from linkmotion.valve import Ports

Array = NDArray[np.float64]
_CLOSINGS = (EVENTS[1], EVENTS[3])
_FOLLOWING, _NEARBY, _SAME = 6, 0.5, 1e-10  # steps; radians: of one step and of the whole; of the last step


def flow_of(event: str) -> str:
    """Which of a port's edges makes an event."""
    return "steam" if event in EVENTS[:2] else "exhaust"


class Moments:
    """Forward crank angles, from front dead centre, at which readings of S gears (or notches) are taken, radians."""

    def __init__(self, spindle: Harmonics, gear: Gear, ports: Ports) -> None:
        self.spindle, self.gear, self.ports = spindle, gear, ports
        self._events: dict[tuple[str, str], EndEvents] = {}
        self._ends: dict[int, Array] = {}

    def of(self, reading: Reading) -> Array:
        """Shape (S,); NaN where an event does not happen."""
        count = self._count
        dead = np.broadcast_to(self.gear.crank.back if reading.end == "back" else 0.0, (count,))
        if reading.kind in EVENTS:
            past = np.radians(self._found(reading.end, reading.running).angle[reading.kind])
            return np.asarray(dead + reading.forward * past)
        if reading.kind == "opening":
            sign = self.ports.edge("steam", reading.end).sign
            if sign not in self._ends:
                self._ends[sign] = self._farthest(sign)
            return self._ends[sign]
        return np.asarray(dead) if reading.at is None else np.full(count, reading.forward * np.radians(reading.at))

    def followed(self, events: Sequence[Reading], rows: NDArray[np.intp], near: Array) -> Array:
        """Where events are, by Newton's method from where they stand on a gear much like these.

        What is not found there, or found far away, is looked for round the whole wheel.

        Parameters
        ----------
        events : sequence of E readings
        rows : int array, shape (E, S)
            The gears of each.
        near : float array, shape (E,)
            Forward crank angle on the gear much like them.
        """
        edges = [self.ports.edge(flow_of(event.kind), event.end) for event in events]
        laps = np.stack([_rows_of(edge.lap, self._count)[own] for edge, own in zip(edges, rows, strict=True)])
        sense = np.array([[float(edge.sign)] for edge in edges])
        central = _rows_of(self.gear.valve.central_at, self._count)[rows]
        falls = np.array([[(event.kind in _CLOSINGS) != (event.forward < 0)] for event in events])
        spindle = Harmonics(self.spindle.c[rows])
        rate, angle = spindle.rate(), np.broadcast_to(near[:, None], rows.shape)
        with np.errstate(divide="ignore", invalid="ignore"):
            for _ in range(_FOLLOWING):
                opening, speed = sense * (spindle(angle) - central) - laps, sense * rate(angle)
                step = np.clip(opening / speed, -_NEARBY, _NEARBY)
                angle = angle - step
                if np.max(np.abs(step)) < _SAME:
                    break
            there = (np.abs(step) < _SAME) & ((speed < 0) == falls) & (np.abs(angle - near[:, None]) < _NEARBY)
        for i in np.flatnonzero(~np.all(there, axis=1)).tolist():
            angle[i] = np.where(there[i], angle[i], self.of(events[i])[rows[i]])
        return angle

    @property
    def _count(self) -> int:
        return int(self.spindle.c.shape[0])

    def _found(self, end: str, running: str) -> EndEvents:
        if (end, running) not in self._events:
            c = self.spindle.c.copy()
            c[..., 0] -= self.gear.valve.central_at
            found = end_events(Harmonics(c), self.ports, self.gear.crank, end, running)
            self._events[end, running] = found
        return self._events[end, running]

    def _farthest(self, sign: int) -> Array:
        """Where each pin is foremost (+1) or rearmost (−1)."""
        return greatest(Harmonics(sign * self.spindle.c))[0]


def value(reading: Reading, angle: Any, place: Any, gear: Gear, ports: Ports) -> Any:
    """What is read, in the reading's unit.

    Parameters
    ----------
    angle : array
        Forward crank angle of the moment, radians.
    place : array
        Spindle pin along its guide then (for a die height: the die's), mm.
    gear, ports
        Whose dimensions are numbers or arrays of variants.
    """
    valve = place - gear.valve.central_at
    match reading.kind:
        case "die height":
            return place
        case "lead":
            return ports.edge("steam", reading.end).opening(valve)
        case "opening":
            return _in_use(ports.edge("steam", reading.end).opening(valve), ports.port_width)
        case "valve":
            front, back = (ports.edge("steam", end) for end in ("front", "back"))
            return valve - front.sign * (front.lap - back.lap) / 2
    return _event(reading, angle, gear)


def _event(reading: Reading, angle: Any, gear: Gear) -> Any:
    crank, back = gear.crank, reading.end == "back"
    if reading.unit == DEGREES:
        past = reading.forward * (angle - (crank.back if back else 0.0)) / np.radians(1.0)
        return past - 360.0 * np.round((np.real(past) - reading.value) / 360.0)  # the turn nearest to what was read
    gone = crank.fraction(angle)
    part = 1.0 - gone if back else gone
    front, rear = crank.limits
    return part * (front - rear) if reading.unit == MM else 100.0 * part


def _in_use(opening: Any, width: Any) -> Any:
    """Opening not less than nothing and not more than the port's width."""
    cut = np.where(np.real(opening) > np.real(width), width, opening)
    return np.where(np.real(cut) < 0.0, 0.0, cut)


def _rows_of(number: Any, count: int) -> Array:
    return np.broadcast_to(np.asarray(number, float), (count,))
