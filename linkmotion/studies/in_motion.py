"""Events of a worn gear in motion: lost motion taken up by drag or thrown over by inertia.

What play does to the valve has corners, so these events are read off 1,440 positions (a quarter of a degree).
Without play the exact events are given.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import EVENTS, FORWARD
from linkmotion.piston import dead_centre
from linkmotion.sampled_events import Samples, sampled_events
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
    angle : dict
        (end, event) → degrees from the end's dead centre in the direction of running.
    travel, lost : float
        Valve travel in motion; greatest lost motion, mm.
    """

    lead: dict[str, float]
    opening: dict[str, float]
    percent: dict[tuple[str, str], float]
    angle: dict[tuple[str, str], float]
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
    valve, free = valve_in_motion(side, notch, direction, load)
    if not np.any(free):
        return _exact(side, notch, direction)
    return _sampled(side, direction, valve, float(np.max(free)))


def valve_in_motion(
    side: SideEvents, notch: int, direction: str, load: Load
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Valve from central and its lost motion, mm, at :data:`POSITIONS` places in the direction of running."""
    free = lost_motion(side.gear, side.settings[notch], side.condition, POSITIONS).total
    series = side.displacement[notch : notch + 1]
    if direction != FORWARD:
        series, free = series.reversed(), np.roll(free[::-1], 1)
    return running(series.on_grid(POSITIONS)[0], free, load), free


def _exact(side: SideEvents, notch: int, direction: str) -> InMotion:
    ends = side.events[direction]
    return InMotion(
        {end: float(own.lead[notch]) for end, own in ends.items()},
        {end: float(own.opening[notch]) for end, own in ends.items()},
        {(end, event): float(own.percent[event][notch]) for end, own in ends.items() for event in EVENTS},
        {(end, event): float(own.angle[event][notch]) for end, own in ends.items() for event in EVENTS},
        float(side.motion.travel[notch]),
        0.0,
    )


def _sampled(side: SideEvents, direction: str, valve: NDArray[Any], lost: float) -> InMotion:
    piston = side.gear.crank
    found = sampled_events(Samples(valve[None]), side.ports, piston, direction)
    angle = {
        (end, event): float(np.degrees(at[0] - dead_centre(piston, end, direction == FORWARD)) % 360.0)
        for (end, event), at in found.angle.items()
    }
    return InMotion(
        {end: float(lead[0]) for end, lead in found.lead.items()},
        {end: float(most[0]) for end, most in found.opening.items()},
        {where: float(percent[0]) for where, percent in found.percent.items()},
        angle,
        float(found.travel[0]),
        lost,
    )
