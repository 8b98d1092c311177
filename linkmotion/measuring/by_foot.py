"""The return crank's angle from where the foot of the link goes: an angle as a difference of lengths.

Axes and signs as everywhere: x forward, y up, from the axle; the angle is of the return-crank pin ahead of the crank
pin in forward running.
"""

from __future__ import annotations

from typing import Any

import numpy as np

Number = Any  # float or complex
_MOST_STEPS = 60
_NEAR = 1e-13  # of the circle: as near as a float tells


def angle_by_places(difference: Number, circle: Number, rise: Number, leads: bool) -> Number:
    """Angle (degrees) by how much further the foot stands from the axle on front dead centre than on back.

    With the pin's circle p and the pin at an angle d from the direction of the foot, the foot stands 2 p cos d further
    out on front dead centre: nothing, where the pin is square to it. The foot moves on the link's arc about there; what
    that adds goes by the difference squared.

    Parameters
    ----------
    difference, circle : number
        mm.
    rise : number
        Direction of the foot, as seen from the axle, above that of the crank on front dead centre, radians.
    leads : bool
        Whether the pin leads the crank pin in forward running.

    >>> round(float(angle_by_places(0.0, 112.7, np.radians(6.47), True)), 2)
    83.53
    """
    off = np.arccos(difference / (2 * circle))
    return np.degrees(1.0) * (off - rise if leads else -off - rise)


def foot_direction(trunnion: tuple[Number, Number], foot_arm: Number, reach: Number, below: bool) -> Number:
    """Direction in which the foot stands from the axle at a distance, above the level, radians."""
    apart = np.sqrt(trunnion[0] ** 2 + trunnion[1] ** 2)
    off = np.arccos((apart**2 + reach**2 - foot_arm**2) / (2 * apart * reach))
    return np.arctan(trunnion[1] / trunnion[0]) + (-off if below else off)


def angle_by_movement(
    movement: Number, crank: Number, length: Number, rod: Number, trunnion: tuple[Number, Number], foot_arm: Number,
    leads: bool,
) -> Number:  # fmt: skip
    """Angle (degrees) by the return crank's length and the whole movement of the foot, straight from end to end.

    The movement tells the pin's circle (:func:`circle_by_movement`); the circle p, the crank r and the length l between
    the pins make a triangle: cos a = (r² + p² − l²)/(2 r p).
    """
    circle = circle_by_movement(movement, rod, trunnion, foot_arm)
    angle = np.degrees(1.0) * np.arccos((crank**2 + circle**2 - length**2) / (2 * crank * circle))
    return angle if leads else -angle


def circle_by_movement(movement: Number, rod: Number, trunnion: tuple[Number, Number], foot_arm: Number) -> Number:
    """Radius of the return-crank pin's circle from the whole movement of the foot, by Newton's method.

    At the ends of its movement foot, axle and pin lie in one line: the foot is L + p and L − p from the axle.
    """
    circle = movement / 2
    for _ in range(_MOST_STEPS):
        moved, slope = _movement(circle, rod, trunnion, foot_arm)
        step = (moved - movement) / slope
        circle = circle - step
        if abs(step) < _NEAR * abs(circle):
            break
    moved, slope = _movement(circle, rod, trunnion, foot_arm)
    return circle - (moved - movement) / slope  # once more, for the complex step's part


def _movement(circle: Number, rod: Number, trunnion: tuple[Number, Number], foot_arm: Number) -> tuple[Number, Number]:
    """Straight movement of the foot by the pin's circle, and its slope to that."""
    apart = np.sqrt(trunnion[0] ** 2 + trunnion[1] ** 2)
    angles, slopes = [], []
    for way in (1, -1):
        reach = rod + way * circle
        cosine = (apart**2 + foot_arm**2 - reach**2) / (2 * apart * foot_arm)
        angles.append(np.arccos(cosine))
        slopes.append(way * reach / (apart * foot_arm * np.sqrt(1 - cosine**2)))
    half = (angles[0] - angles[1]) / 2
    return 2 * foot_arm * np.sin(half), foot_arm * np.cos(half) * (slopes[0] - slopes[1])
