"""Events told by the product held to another solution, by its own openings a millionth of a degree either side."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from linkmotion.valve import ENDS
from tests.independent.eccentric_crossings import TurnedOnce
from tests.independent.port_events import KINDS

POSITION = 1e-7  # mm
ANGLE = 1e-6  # degrees
PERCENT = 1e-7  # of stroke: at most 1 % of it in a degree


def misses(told: dict[str, Any], turned: TurnedOnce, way: str, shift: float = 0.0) -> Iterator[str]:
    """Events of the first row, ``shift`` degrees later than told, that are not where the other solution has them."""
    for end in ENDS:
        events = told[end]
        if abs(events.lead[0] - turned.lead(end)) > POSITION:
            yield f"{end} lead"
        for event, (flow, rising) in KINDS.items():
            angle, number = events.angle[event][0] + shift, turned.openings(flow, end)
            if np.isnan(angle):
                good = number == 0
            else:
                before, after = (turned.opening(flow, end, way, angle + aside) for aside in (-ANGLE, ANGLE))
                percent = turned.percent(end, way, angle)
                good = before * rising < 0 < after * rising and abs(percent - events.percent[event][0]) < PERCENT
                good &= (number > 1) == ("opens twice" in events.missing[flow][0])
            if not good:
                yield f"{end} {event}"
