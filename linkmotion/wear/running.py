"""The valve in motion with play in the gear: dragged after it, or thrown ahead of it.

With *drag* at the valve (slide valve, slow running) the valve follows through backlash: the play operator of
half-width w, half the lost motion at that crank angle. It stands still while the play is taken up, and its
travel is less by the play.

With *inertia* ruling (piston valve, fast running) the play lies on the side on which the valve's own
acceleration puts it: the gear has to push it forward where it accelerates forward, so there it lags by w;
its travel is more by the play.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np


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
        """Force that accelerates the valve, N, from its second derivative to the wheel angle, mm/rad²."""
        return self.mass * bend * 1e-3 * (2 * np.pi * self.revolutions / 60) ** 2


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
        Times round; the follower repeats from the second.
    """
    x: Any = np.asarray(driven, float)
    low, high = x - half_width, x + half_width
    y: Any = np.empty(np.broadcast_shapes(x.shape, np.shape(half_width)))
    last: Any = np.broadcast_to(x, y.shape)[..., 0]
    for _ in range(turns):
        for n in range(y.shape[-1]):
            last = np.minimum(np.maximum(last, low[..., n]), high[..., n])
            y[..., n] = last
    return y


def running(displacement: Any, bend: Any, free: Any, load: Load) -> Any:
    """Motion of the valve in running, mm.

    Parameters
    ----------
    displacement, bend : array, shape (..., N)
        The gear's own motion of the valve (mm) and its second derivative to the wheel angle (mm/rad²), in the
        direction of running, evenly round the wheel.
    free : array, broadcastable
        Lost motion at each position, mm (all of it, not half).
    load : Load
        Where inertia exceeds the drag it rules, elsewhere the drag.
    """
    half = np.asarray(free) / 2
    if not np.any(half):
        return displacement
    force = load.inertia(bend)
    rules = np.abs(force) > load.drag
    if not np.any(rules):
        return play(displacement, half)
    thrown = displacement - half * np.sign(force)
    if np.all(rules):
        return thrown
    return _mixed(displacement, half, thrown, rules)


def _mixed(x: Any, half: Any, thrown: Any, rules: Any) -> Any:
    """Backlash where the drag rules, thrown over where inertia does, carried on from one to the other."""
    shape = np.broadcast_shapes(np.shape(x), np.shape(half))
    x, half, thrown, rules = (np.broadcast_to(a, shape) for a in (x, half, thrown, rules))
    y = np.empty(shape)
    last = x[..., 0]
    for _ in range(2):
        for n in range(shape[-1]):
            followed = np.minimum(np.maximum(last, x[..., n] - half[..., n]), x[..., n] + half[..., n])
            last = np.where(rules[..., n], thrown[..., n], followed)
            y[..., n] = last
    return y
