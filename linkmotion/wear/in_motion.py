"""A valve in motion with the play of its gear: where it is all round the wheel."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import FORWARD
from linkmotion.gears import Gear, ReverserPosition
from linkmotion.gears.reverser import stacked
from linkmotion.linkage import Harmonics
from linkmotion.wear.condition import Condition
from linkmotion.wear.lost_motion import lost_motion
from linkmotion.wear.running import Load, running

POSITIONS = 1440
"""A quarter of a degree apart: what play does to a valve has corners, so that no series serves."""


def free_round(gear: Gear, settings: Sequence[ReverserPosition], condition: Condition) -> NDArray[Any]:
    """Lost motion at the spindle, mm, shape (S, POSITIONS): evenly from front dead centre in forward running."""
    shape = (len(settings), POSITIONS)
    if not condition.loose:
        return np.zeros(shape)
    return np.array(np.broadcast_to(lost_motion(gear, stacked(tuple(settings)), condition, POSITIONS).total, shape))


def dragged(valve: Harmonics, free: NDArray[Any], load: Load, direction: str) -> NDArray[Any]:
    """Where a valve is in motion, mm, shape (S, POSITIONS): evenly round in the direction of running.

    Parameters
    ----------
    valve : Harmonics
        Where the gear alone has it, mm, shape (S, K), in the forward crank angle.
    free : array, shape (S, POSITIONS)
        As :func:`free_round` gives it.
    load : Load
        What takes up the play.
    direction : str
        "forward" or "backward".
    """
    if direction != FORWARD:
        valve, free = valve.reversed(), np.roll(free[:, ::-1], 1, axis=-1)
    return np.asarray(running(valve.on_grid(POSITIONS), free, load))
