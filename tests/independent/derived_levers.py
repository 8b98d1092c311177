"""The middle valve of a gear that derives it from both outside spindles: joint angles, then circles that cross.

Either outside gear by `joint_angles`, each from its own front dead centre; the levers in plan, along the spindles and
to the left of the engine's middle plane, every pin where two circles cross.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from . import joint_angles
from .closing import NotClosed
from .drawing import Dims, crank_radius, read_drawing

Floats = NDArray[np.float64]
PLACES = NDArray[np.complex128]  # along + 1j across, mm
SIDES = ("left", "right")
_ALIKE = ("return_crank", "eccentric_rod", "expansion_link", "combination_lever", "union_link")


def outside_tables(dims: Dims, side: str) -> dict[str, Any]:
    """The tables of an outside gear by itself."""
    own, rod, valve = dims[f"{side}_engine"], dims[f"{side}_radius_rod"], dims["valve"]
    return {
        "cylinder": {
            "crank_radius": crank_radius(dims),
            "line_height": own.get("line_height", 0.0),
            "inclination": own.get("inclination", 0.0),
        },
        "connecting_rod": {"length": own["connecting_rod"]},
        "crosshead": {"arm_x": own.get("arm_x", 0.0), "arm_y": own["arm_y"]},
        "valve": {"guide_height": own["guide_height"], "guide_inclination": valve.get("guide_inclination", 0.0)},
        "radius_rod": rod,
        "reversing": {**dims["reversing"], "lifting_link": rod["lifting_link"], "suspension": "lifting link"},
        **{table: dims[f"{side}_{table}"] for table in _ALIKE},
    }


def front_dead_centre(dims: Dims) -> float:
    """Direction of the middle crank, radians."""
    cylinder = dims["cylinder"]
    rise = cylinder.get("line_height", 0.0) / (dims["connecting_rod"]["length"] + crank_radius(dims))
    return math.radians(cylinder.get("inclination", 0.0)) + math.asin(rise)


def outside_valve(dims: Dims, side: str, arm: float, angles: Floats) -> Floats:
    """An outside spindle's driving pin along its line, mm, at angles of the middle crank (degrees, forward)."""
    own = outside_tables(dims, side)
    apart = math.degrees(read_drawing(own).front_dead_centre - front_dead_centre(dims))
    return joint_angles.solve(own, arm, angles + apart + dims[f"{side}_engine"]["crank_angle"]).valve


def levers(dims: Dims, along: dict[str, Floats]) -> Floats:
    """The middle spindle along its line, mm, from the outside spindles' driving pins along theirs."""
    long, equal = dims["two_to_one_lever"], dims["equal_lever"]
    other = "right" if long["worked_by"] == "left" else "left"
    pin = {
        side: along[side] + dims[f"{side}_engine"]["spindle_reach"] + 1j * dims[f"{side}_engine"]["spindle_across"]
        for side in SIDES
    }
    pivot = complex(long["pivot_x"], long.get("pivot_across", 0.0))
    forth = {side: 1.0 if pivot.real > float(np.mean(pin[side].real)) else -1.0 for side in SIDES}
    long_pin = crossing(pivot, long["long_arm"], pin[long["worked_by"]], long["link"], forth[long["worked_by"]])
    arm = (long_pin - pivot) / long["long_arm"]
    left = math.copysign(1.0, float(np.mean(arm.imag)))  # the long arm runs to the left
    # ahead of a lever that stands across is clockwise of its long arm where that runs to the left
    short_pin = pivot - long["short_arm"] * arm - left * 1j * long.get("short_pin_ahead", 0.0) * arm
    ahead = equal.get("pivot_ahead", 0.0)
    out = math.hypot(equal["outer_arm"], ahead)
    outer_pin = crossing(short_pin, out, pin[other], equal["outer_link"], forth[other])
    # the lever's own axes: from the line of the end pins, which the short arm's pin stands ahead of
    foot_ahead, foot_out = -ahead, -left * equal["outer_arm"]
    turned = (outer_pin - short_pin) / complex(foot_ahead, foot_out)
    middle_pin = short_pin + turned * complex(foot_ahead, left * equal["middle_arm"])
    off = middle_pin.imag - equal.get("spindle_across", 0.0)
    if np.any(np.abs(off) > equal["middle_link"]):
        raise NotClosed("the link to the middle spindle does not reach")
    return np.asarray(middle_pin.real - forth[other] * np.sqrt(equal["middle_link"] ** 2 - off**2))


def crossing(a: Any, from_a: float, b: Any, from_b: float, forth: float) -> PLACES:
    """Where circles about two points cross: the crossing farther along than the other, or less far (-1)."""
    line = np.asarray(b - a, complex)
    far = np.abs(line)
    foot = (far**2 + from_a**2 - from_b**2) / (2 * far)
    if np.any(foot**2 > from_a**2):
        raise NotClosed("a lever's link does not reach")
    rise = np.sqrt(from_a**2 - foot**2)
    one, two = (a + line / far * (foot + 1j * way * rise) for way in (1, -1))
    return np.where((one.real - two.real) * forth > 0, one, two)


def solve(dims: Dims, arm: float, angles: Floats) -> Floats:
    """The middle spindle along its line, mm, with both lifting arms at an angle, degrees.

    Raises `NotClosed` where the gear cannot pass.
    """
    return levers(dims, {side: outside_valve(dims, side, arm, angles) for side in SIDES})
