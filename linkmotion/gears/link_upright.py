"""Eccentric rod and backset of a Walschaerts link, sought on the loop of return crank, rod and link.

Upright at the dead centres, in the mean of both; and swinging as far to either side of upright.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears.gear import Gear
from linkmotion.gears.sensitivity import Key, numbers, with_numbers
from linkmotion.gears.walschaerts import Walschaerts

ROD, BACKSET = ("eccentric_rod", "length"), ("expansion_link", "foot_backset")
Numbers = Mapping[Key, Any]
_SAMPLES = 720
_STEP = 0.5  # mm, of a difference taken on the loop


class NoRule(ValueError):
    """A rule that cannot be followed: what is lacking, and what to do.

    Attributes
    ----------
    problem, remedy : str
    """

    def __init__(self, problem: str, remedy: str) -> None:
        self.problem, self.remedy = problem, remedy
        super().__init__(f"{problem}; {remedy}")


def on_the_loop(gear: Gear, sought: tuple[Key, ...]) -> dict[Key, float]:
    """Eccentric rod and backset of a Walschaerts gear, one or both.

    Parameters
    ----------
    gear, sought : Gear, tuple of (table, key)
        Complete but for those sought.

    Raises
    ------
    NoRule
        No such link can be.
    """
    from scipy.optimize import root

    known = numbers(gear)
    drop = known["expansion_link", "foot_drop"]
    far = abs(complex(known["expansion_link", "trunnion_x"], known["expansion_link", "trunnion_y"] - drop))
    guess = {ROD: far, BACKSET: 0.1 * drop}
    start = [guess[key] for key in sought]

    def missed(x: NDArray[np.float64]) -> list[float]:
        lean = _lean(gear, known | dict(zip(sought, x.tolist(), strict=True)))
        front, back = lean[0], lean[-1]
        by = {ROD: front + back, BACKSET: float(np.max(lean)) + float(np.min(lean))}
        return [by[key] for key in sought]

    with np.errstate(invalid="ignore"):
        done = root(missed, start, method="hybr")
    if not done.success or not np.all(np.isfinite(done.x)) or np.max(np.abs(missed(done.x))) > 1e-6:
        names = " and ".join(".".join(key) for key in sought)
        raise NoRule(
            f"no link of these figures can be laid out with {names} by rule", "look at the link's other figures"
        )
    return dict(zip(sought, (float(own) for own in done.x), strict=True))


def err_together(
    gear: Gear, found: Mapping[Key, float], alone: Mapping[Key, Mapping[Key, float]]
) -> dict[Key, dict[Key, float]]:
    """What the rules add to the doubts of two dimensions that were sought together, mm.

    Each rule alone gives its dimension from the other's, rod = R(backset) + e and backset = B(rod) + f; so what an
    engine departs from the rules by moves them by (e + R' f)/(1 - R' B') and (f + B' e)/(1 - R' B'): far more than by
    e and f where R' B' is near 1.

    Parameters
    ----------
    gear, found, alone
        Complete but for the two; as they were sought; what each rule alone adds to its own.
    """
    slopes = {}
    pairs = list(zip(found, reversed(list(found)), strict=True))
    for key, other in pairs:
        up, down = (
            on_the_loop(with_numbers(gear, {other: found[other] + way * _STEP, key: np.nan}), (key,))[key]
            for way in (1, -1)
        )
        slopes[key] = (up - down) / (2 * _STEP)
    left = 1 - math.prod(slopes.values())
    return {key: {key: alone[key][key] / left, other: slopes[key] * alone[other][other] / left} for key, other in pairs}


def _lean(gear: Gear, known: Numbers) -> NDArray[np.float64]:
    """How far the link leans from upright, radians: at front dead centre, round the wheel, and at back dead centre."""
    assert isinstance(gear, Walschaerts)
    turned = np.concatenate([[0.0], 2 * np.pi * np.arange(_SAMPLES) / _SAMPLES, [float(gear.crank.back_crank_angle)]])
    radius, ahead = gear.return_crank.polar(gear.crank.radius)
    pin = radius * np.exp(1j * (gear.crank.front_direction - turned - ahead))
    upright = -known[BACKSET] - 1j * known["expansion_link", "foot_drop"]
    across = pin - complex(known["expansion_link", "trunnion_x"], known["expansion_link", "trunnion_y"])
    reach, far = abs(upright), np.abs(across)
    opening = np.arccos((reach**2 + far**2 - known[ROD] ** 2) / (2 * reach * far))
    either = [np.angle(across * np.exp(1j * side * opening) / upright) for side in (1, -1)]
    return np.asarray(np.where(np.abs(either[0]) < np.abs(either[1]), *either))
