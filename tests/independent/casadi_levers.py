"""The levers of a derived valve once more, by casadi's root finder: both levers' angles and the spindle's place.

In plan, along the spindles and to the left; the outside spindles come from `casadi_loop`, turned by their cranks.
"""

from __future__ import annotations

import math
from typing import Any

import casadi as ca
import numpy as np
from numpy.typing import NDArray

from .casadi_loop import Pair, apart, build
from .derived_levers import front_dead_centre, outside_tables
from .drawing import read_drawing
from .trial_gears import Tables

Floats = NDArray[np.float64]


def closures(dims: Tables, x: Any, worked: Any, other: Any) -> Any:
    """Three links of a gear whose right spindle works the long arm, the levers ahead of the spindles."""
    long, equal, turned, floating, spindle = dims["two_to_one_lever"], dims["equal_lever"], x[0], x[1], x[2]

    def arm(foot: Pair, ahead: float, across: float, by: Any) -> Pair:
        """A point of a lever from a pin of it, turned anticlockwise as seen from above."""
        return (
            foot[0] + ahead * ca.cos(by) - across * ca.sin(by),
            foot[1] + ahead * ca.sin(by) + across * ca.cos(by),
        )

    pivot = long["pivot_x"], long["pivot_across"]
    short = arm(pivot, long["short_pin_ahead"], long["short_arm"], turned)
    ends = {
        name: arm(short, -equal["pivot_ahead"], way * equal[f"{name}_arm"], floating)
        for name, way in (("outer", 1), ("middle", -1))
    }
    right, left = (dims[f"{side}_engine"] for side in ("right", "left"))
    return ca.vertcat(
        apart(arm(pivot, 0.0, -long["long_arm"], turned), (worked, right["spindle_across"]), long["link"]),
        apart(ends["outer"], (other, left["spindle_across"]), equal["outer_link"]),
        apart(ends["middle"], (spindle, equal["spindle_across"]), equal["middle_link"]),
    )


def middle_spindle(dims: Tables, arm: float, positions: int) -> Floats:
    """Its place along its line, mm, at evenly many angles of the middle crank, forward from front dead centre.

    The outside cranks must stand a whole number of steps from the middle one.
    """
    along = {}
    for side in ("left", "right"):
        own = outside_tables(dims, side)
        apart_by = math.degrees(read_drawing(own).front_dead_centre - front_dead_centre(dims))
        steps = (apart_by + dims[f"{side}_engine"]["crank_angle"]) * positions / 360
        assert abs(steps - round(steps)) < 1e-9
        valve = build(own, positions)(arm, np.arange(positions) * 360.0 / positions)
        along[side] = np.roll(valve, -round(steps)) + dims[f"{side}_engine"]["spindle_reach"]
    x, ends = ca.SX.sym("x", 3), ca.SX.sym("ends", 2)
    equations = {"x": x, "p": ends, "g": closures(dims, x, ends[0], ends[1])}
    find = ca.rootfinder("levers", "newton", equations, {"abstol": 1e-11, "max_iter": 60})
    stands, found = np.array([0.0, 0.0, dims["two_to_one_lever"]["pivot_x"] - dims["equal_lever"]["middle_link"]]), []
    for worked, other in zip(along["right"], along["left"], strict=True):
        stands = np.ravel(np.array(find(stands, [worked, other])))
        found.append(stands[2])
    return np.array(found)
