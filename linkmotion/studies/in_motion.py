"""Events of a worn gear in motion: lost motion taken up by drag or thrown over by inertia.

What play does to the valve has corners, so these events are read off 1,440 positions (a quarter of a degree)
by straight interpolation: good to about a thousandth of a degree. Without play the exact events are given.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import EVENTS, FORWARD
from linkmotion.studies.assess import SideEvents
from linkmotion.valve import ENDS
from linkmotion.wear.lost_motion import lost_motion
from linkmotion.wear.running import Load, running

POSITIONS = 1440


@dataclass(frozen=True)
class InMotion:
    """Figures of one notch in one direction of running.

    Attributes
    ----------
    lead, opening : dict
        By end, mm.
    percent : dict
        (end, event) → percent of stroke; NaN where it does not happen.
    travel, lost : float
        Valve travel in motion; greatest lost motion, mm.
    """

    lead: dict[str, float]
    opening: dict[str, float]
    percent: dict[tuple[str, str], float]
    travel: float
    lost: float

    def figures(self) -> dict[str, float]:
        """Every figure by name: "lead front", "cutoff back", …, "lead difference", "travel", "lost motion"."""
        found = {f"lead {end}": self.lead[end] for end in ENDS}
        found |= {f"{event} {end}": self.percent[end, event] for event in EVENTS for end in ENDS}
        found["lead difference"] = self.lead["front"] - self.lead["back"]
        found["cutoff difference"] = self.percent["front", "cutoff"] - self.percent["back", "cutoff"]
        return found | {"travel": self.travel, "lost motion": self.lost}


def in_motion(side: SideEvents, notch: int, direction: str, load: Load) -> InMotion:
    """Figures of a side in motion."""
    free = lost_motion(side.gear, side.settings[notch], side.condition, POSITIONS).total
    if not np.any(free):
        return _exact(side, notch, direction)
    series = side.displacement[notch : notch + 1]
    if direction != FORWARD:
        series, free = series.reversed(), np.roll(free[::-1], 1)
    x = series.on_grid(POSITIONS)[0]
    bend = series.rate().rate().on_grid(POSITIONS)[0]
    return _sampled(side, direction, running(x, bend, free, load), float(np.max(free)))


def _exact(side: SideEvents, notch: int, direction: str) -> InMotion:
    ends = side.events[direction]
    return InMotion(
        {end: float(own.lead[notch]) for end, own in ends.items()},
        {end: float(own.opening[notch]) for end, own in ends.items()},
        {(end, event): float(own.percent[event][notch]) for end, own in ends.items() for event in EVENTS},
        float(side.turned.travel[notch]),
        0.0,
    )


def _sampled(side: SideEvents, direction: str, valve: NDArray[Any], lost: float) -> InMotion:
    forward = direction == FORWARD
    piston = side.gear.crank
    lead, opening, percent = {}, {}, {}
    for end in ENDS:
        dead = 0.0 if end == "front" else float(piston.back) if forward else 2 * np.pi - float(piston.back)
        steam = side.ports.edge("steam", end).opening(valve)
        lead[end] = float(
            np.interp(dead / (2 * np.pi) * POSITIONS, np.arange(POSITIONS + 1), np.append(steam, steam[0]))
        )
        opening[end] = float(min(steam.max(), side.ports.port_width))
        for flow, events in (("steam", EVENTS[:2]), ("exhaust", EVENTS[2:])):
            for event, angle in zip(events, _crossings(side.ports.edge(flow, end).opening(valve)), strict=True):
                gone = float(piston.fraction(angle if forward else -angle))
                percent[end, event] = 100 * (gone if end == "front" else 1 - gone)
    return InMotion(lead, opening, percent, float(np.ptp(valve)), lost)


def _crossings(signal: NDArray[Any]) -> tuple[float, float]:
    """Angles (radians) at which the longest opening begins and ends; NaN when there is none."""
    over = signal > 0
    rises = np.flatnonzero(~over & np.roll(over, -1))
    falls = np.flatnonzero(over & ~np.roll(over, -1))
    if rises.size == 0:
        return np.nan, np.nan
    lengths = [((falls - rise) % signal.size).min() for rise in rises]
    rise = int(rises[int(np.argmax(lengths))])
    fall = int(falls[int(np.argmin((falls - rise) % signal.size))])
    return tuple(_between(signal, at) for at in (rise, fall))  # type: ignore[return-value]


def _between(signal: NDArray[Any], at: int) -> float:
    one, two = signal[at], signal[(at + 1) % signal.size]
    return float((at + one / (one - two)) * 2 * np.pi / signal.size)
