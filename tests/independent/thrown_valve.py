"""A valve with mass and dry friction between the two faces of its play, by integration from event to event.

Held to a face it moves with it until the force there would have to pull; then Newton's law with the friction, by
``scipy.integrate.solve_ivp``, until it stops or a face meets it, from which it does not bounce.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

Floats = NDArray[np.float64]
Motion = Callable[[float], tuple[float, float, float]]  # angle → place, velocity, acceleration
TURN = 2 * np.pi
STEP = 0.01  # rad: no event is looked for more coarsely


@dataclass(frozen=True)
class Thrown:
    """Faces by their motions to the wheel angle (mm, mm/rad, mm/rad²); friction over mass in mm/rad²."""

    low: Motion
    high: Motion
    slowing: float

    def turned(self, turns: int, positions: int) -> Floats:
        """Place of the valve in the last of so many turns, from rest in the middle of the play."""
        angle, place, speed = 0.0, (self.low(0.0)[0] + self.high(0.0)[0]) / 2, 0.0
        wanted = TURN * (turns - 1 + np.arange(positions) / positions)
        found = np.full(positions, np.nan)
        face: int | None = None
        while angle < TURN * turns:
            until, places, face, speed = self.phase(face, angle, place, speed, TURN * turns)
            now = (wanted >= angle) & (wanted < until)
            found[now] = [places(each) for each in wanted[now]]
            angle, place = until, places(until)
        return found

    def motion(self, face: int) -> Motion:
        return self.low if face < 0 else self.high

    def phase(
        self, face: int | None, angle: float, place: float, speed: float, end: float
    ) -> tuple[float, Callable[[float], float], int | None, float]:
        """What the valve does next: until when, its places, and then its face (or none) and speed."""
        if face is not None:
            own = self.motion(face)
            until = self.first_angle(angle, end, lambda t: -face * (own(t)[2] + self.slowing * np.sign(own(t)[1])))
            return until, lambda t: own(t)[0], None, own(until)[1]
        return self.flight(angle, place, speed, end)

    def flight(
        self, angle: float, place: float, speed: float, end: float
    ) -> tuple[float, Callable[[float], float], int | None, float]:
        """Free of both faces, from ``speed`` to rest, or until one of them meets it."""
        slow = -self.slowing * np.sign(speed)
        events: list[Any] = [
            lambda t, s: s[0] - self.low(t)[0] + 1e-12,
            lambda t, s: self.high(t)[0] - s[0] + 1e-12,
            lambda t, s: s[1] * np.sign(speed) if speed else 1.0,
        ]
        for each in events:
            each.terminal, each.direction = True, -1
        law = {"fun": lambda t, s: [s[1], slow if speed else 0.0], "t_span": (angle, end), "y0": [place, speed]}
        done = solve_ivp(**law, events=events, max_step=STEP, dense_output=True, rtol=1e-10, atol=1e-12)
        until, places = float(done.t[-1]), lambda t: float(done.sol(t)[0])
        if done.t_events[0].size or done.t_events[1].size:
            face = -1 if done.t_events[0].size else 1
            return until, places, face, self.motion(face)(until)[1]
        return until, places, None, 0.0 if done.t_events[2].size else speed

    def first_angle(self, start: float, end: float, push: Callable[[float], float]) -> float:
        """Where a face would first have to pull."""
        fine = np.arange(start, end + STEP, STEP / 4)
        for before, after in pairwise(fine):
            if push(after) < 0:
                if push(before) < 0:
                    return float(before)
                while after - before > 1e-13 * end:
                    middle = (before + after) / 2
                    before, after = (middle, after) if push(middle) >= 0 else (before, middle)
                return float(after)
        return end
