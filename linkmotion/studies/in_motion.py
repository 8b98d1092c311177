"""The figures of one notch in one direction of running, by name, as differences are made of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linkmotion.events import EVENTS
from linkmotion.studies.assess import SideEvents
from linkmotion.valve import ENDS


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


def in_motion(side: SideEvents, notch: int, direction: str) -> InMotion:
    """Figures of a side in motion, its play taken up by its load.

    Parameters
    ----------
    side, notch, direction : SideEvents, int, str
        As assessed; number of the notch; "forward" or "backward".
    """
    ends = side.events[direction]
    return InMotion(
        {end: float(own.lead[notch]) for end, own in ends.items()},
        {end: float(own.opening[notch]) for end, own in ends.items()},
        {(end, event): float(own.percent[event][notch]) for end, own in ends.items() for event in EVENTS},
        {(end, event): float(own.angle[event][notch]) for end, own in ends.items() for event in EVENTS},
        float(side.travel[direction][notch]),
        float(np.max(side.lost[notch])),
    )
