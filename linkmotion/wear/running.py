"""The valve in motion with play in the gear: dragged after it, or thrown ahead of it.

The valve lies against one or the other face of the play, a half-width w (half the lost motion at that crank angle)
behind or ahead of where the gear alone would have it, or it is on its way between them. The gear can push it but
not hold it: the valve leaves a face as soon as that face falls back faster than the drag alone would slow the
valve, goes on by itself with the drag slowing it, until it stops or the other face meets it, and goes on with
that face: it is taken not to bounce.

With *drag* ruling (slide valve, slow running) the valve stops where it is left: it follows through backlash, the
play operator of half-width w, and its travel is less by the play. With *inertia* ruling (piston valve, fast running)
it flies across the play about the middle of its travel and lies at the far side at both ends: its travel is more
by the play. In a sine of amplitude A the flight without drag lasts the angle t with t − sin t = 2w/A.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import FORWARD
from linkmotion.gears import Gear, ReverserPosition
from linkmotion.gears.reverser import stacked
from linkmotion.linkage import Harmonics
from linkmotion.wear.condition import Condition
from linkmotion.wear.lost_motion import lost_motion

POSITIONS = 1440
"""A quarter of a degree apart: what play does to a valve has corners, so that no series serves."""
SLIDE_VALVE_DRAG = (4400.0, 8800.0)
"""Least and greatest mean drag of a locomotive's plain slide valve under steam, N, as measured: 450 kg on the Chicago,
Burlington and Quincy (Dingler 267 (1888) 200-202); 1800 kg for two valves (Tresca, Dingler 151 (1859) 1-6)."""
BALANCED_VALVE_DRAG = 1300.0
"""The same of a balanced slide valve, N: 135 kg, where the plain one took 450 (Dingler 267)."""
_MOST_TURNS = 24  # a valve that has not found its round by then has none (very loose and fast); the last is given
_SAME = 1e-9  # mm: the round repeats


@dataclass(frozen=True)
class Load:
    """What the valve resists with.

    Attributes
    ----------
    drag : float
        Friction of valve and spindle against motion, N.
    mass : float
        Moving mass of valve and spindle, kg.
    revolutions : float
        Of the wheel per minute.
    """

    drag: float = 1.0
    mass: float = 0.0
    revolutions: float = 0.0

    def inertia(self, bend: Any) -> Any:
        """Force that accelerates the valve, N.

        Parameters
        ----------
        bend : float or array
            Second derivative of its place to the wheel angle, mm/rad².
        """
        return self.mass * bend * 1e-3 * (2 * np.pi * self.revolutions / 60) ** 2


def free_round(gear: Gear, settings: Sequence[ReverserPosition], condition: Condition) -> NDArray[Any]:
    """Lost motion at the spindle, mm, shape (S, POSITIONS): evenly from front dead centre in forward running.

    Parameters
    ----------
    gear : Gear
        As it stands.
    settings : sequence of S ReverserPositions
        All of one kind.
    condition : Condition
        Its clearances.
    """
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


def play(driven: Any, half_width: Any, turns: int = 2) -> Any:
    """Play operator over a closed revolution: the follower of a driven motion through backlash.

    ``y[n] = min(max(y[n-1], x[n] - w[n]), x[n] + w[n])``, run round until it repeats.

    Parameters
    ----------
    driven : array, shape (..., N)
        Driving motion x, in the order in which it is run through.
    half_width : array, broadcastable
        Half the play, w, not negative.
    turns : int
        Times round at most; the follower repeats from the second, and once it is where it was a turn before.
    """
    x: Any = np.asarray(driven, float)
    return between(x - half_width, x + half_width, turns)


def between(low: Any, high: Any, turns: int = 2) -> Any:
    """The play operator from the faces between which the follower lies.

    Parameters
    ----------
    low, high : arrays of one shape (..., N)
        Rearmost and foremost place at each position, in the order in which they are run through.
    turns : int
        As for :func:`play`.
    """
    y: Any = np.empty(low.shape)
    last: Any = (low[..., 0] + high[..., 0]) / 2
    for turn in range(turns):
        for n in range(y.shape[-1]):
            last = np.minimum(np.maximum(last, low[..., n]), high[..., n])
            if turn and np.array_equal(last, y[..., n]):
                return y
            y[..., n] = last
    return y


def running(displacement: Any, free: Any, load: Load) -> Any:
    """Motion of the valve in running, mm.

    Parameters
    ----------
    displacement : array, shape (..., N)
        The gear's own motion of the valve, mm, in the direction of running, evenly round the wheel.
    free : array, broadcastable
        Lost motion at each position, mm (all of it, not half).
    load : Load
        Drag and inertia: their ratio decides.
    """
    half = np.asarray(free) / 2
    if not np.any(half):
        return displacement
    inertia = load.inertia(1.0)  # N at 1 mm/rad²
    if not inertia > 0.0:
        return play(displacement, half)
    x: Any = np.asarray(displacement, float)
    low, high = x - half, x + half
    slowing = load.drag / inertia * (2 * np.pi / x.shape[-1]) ** 2  # mm less in each step than in the one before
    rows = zip(low.reshape(-1, x.shape[-1]), high.reshape(-1, x.shape[-1]), strict=True)
    return np.array([_carried(one.tolist(), other.tolist(), slowing) for one, other in rows]).reshape(low.shape)


def _carried(low: list[float], high: list[float], slowing: float) -> list[float]:
    """Place of the valve at each position between the faces ``low`` and ``high``, round the wheel until it repeats.

    Its step from one position to the next is the last one less the drag's share, unless a face is in the way; then
    it has the face's own step.
    """
    count = len(low)
    place, step = (low[0] + high[0]) / 2, 0.0
    y = [0.0] * count
    for _ in range(_MOST_TURNS):
        changed = 0.0
        for n in range(count):
            step = max(step - slowing, 0.0) if step > 0.0 else min(step + slowing, 0.0)
            place += step
            if place < low[n]:
                place, step = low[n], low[n] - low[n - 1]
            elif place > high[n]:
                place, step = high[n], high[n] - high[n - 1]
            changed = max(changed, abs(place - y[n]))
            y[n] = place
        if changed < _SAME:
            break
    return y
