"""The loop equations written a second time, as a casadi graph solved position after position.

Unknowns differ from those of `joint_angles`: Cartesian pins, joined by squared rod lengths, on two turning
bodies (link angle and lever angle; a rocker's too, where there is one), so that a slip in the angle loops cannot be
copied here. The link is worked by a return crank, an eccentric or the other side's crosshead; its slot may be straight.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import casadi as ca
import numpy as np
from numpy.typing import NDArray

from .trial_gears import Tables

Pair = tuple[Any, Any]
UNKNOWNS = ("s", "psi", "dx", "dy", "qx", "qy", "tilt", "g")


def runs_forward(dims: Tables) -> float:
    """+1 when the radius rod runs forward from the die, -1 when it runs toward the axle."""
    return 1.0 if dims["expansion_link"]["slot_concave_to"] == "valve" else -1.0


def apart(a: Pair, b: Pair, distance: float) -> Any:
    """Closure of a rod, mm: zero with the two points ``distance`` apart."""
    return ((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2 - distance**2) / (2 * distance)


def on_line(dims: Tables, along: Any, square: Any) -> Pair:
    """Point given along and square to the cylinder line."""
    turn = math.radians(dims["cylinder"]["inclination"])
    c, t = math.cos(turn), math.sin(turn)
    return along * c - square * t, along * t + square * c


def on_link(dims: Tables, psi: Any, px: Any, py: Any) -> Pair:
    """Point of the link given from the trunnion with the link upright."""
    link = dims["expansion_link"]
    return (
        link["trunnion_x"] + px * ca.cos(psi) - py * ca.sin(psi),
        link["trunnion_y"] + px * ca.sin(psi) + py * ca.cos(psi),
    )


def lever_ends(dims: Tables, q: Pair, tilt: Any) -> tuple[Pair, Pair]:
    """Union pin and valve pin of a lever leaning ``tilt`` radians ahead at its top."""
    lever = dims["combination_lever"]
    up, ahead = (ca.sin(tilt), ca.cos(tilt)), (ca.cos(tilt), -ca.sin(tilt))
    upper, lower, offset = lever["upper_arm"], lever["lower_arm"], lever["offset"]
    union = (q[0] - lower * up[0], q[1] - lower * up[1])
    top = (q[0] + upper * up[0] + offset * ahead[0], q[1] + upper * up[1] + offset * ahead[1])
    return union, top


def driving_pin(dims: Tables, phi: Any) -> tuple[Pair, float]:
    """The pin that works the link's foot, and the rod between them."""
    if "other_side" not in dims:
        own = dims.get("return_crank") or dims["eccentric"]
        throw, ahead = own.get("pin_radius", own.get("throw")), math.radians(own["angle"])
        return (throw * ca.cos(phi - ahead), throw * ca.sin(phi - ahead)), dims["eccentric_rod"]["length"]
    other, slope = dims["other_side"], math.radians(dims["cylinder"]["inclination"])
    at, height = phi - math.radians(other["crank_angle"]) - slope, other["line_height"]
    r, rod = other["crank_radius"], other["connecting_rod"]
    along = r * ca.cos(at) + ca.sqrt(rod**2 - (height - r * ca.sin(at)) ** 2)
    return on_line(dims, along + other["arm_x"], height + other["arm_y"]), dims["drive_rod"]["length"]


def on_rocker(dims: Tables, turn: Any) -> tuple[Pair, Pair]:
    """The rocker's driven pin and its spindle arm's, turned by an angle from the lower arm plumb."""
    own = dims["valve"]["rocker"]
    lean = math.radians(own["angle"]) - turn
    driven = own["pivot_x"] + own["lower_arm"] * ca.sin(turn), own["pivot_y"] - own["lower_arm"] * ca.cos(turn)
    return driven, (own["pivot_x"] + own["upper_arm"] * ca.sin(lean), own["pivot_y"] + own["upper_arm"] * ca.cos(lean))


def to_spindle(dims: Tables, top: Pair, g: Any, turn: Any) -> list[Any]:
    """Closures from the lever's upper pin to the spindle pin, at g along its guide."""
    valve = dims["valve"]
    slope = math.radians(valve["guide_inclination"])
    pin = (g * math.cos(slope), valve["guide_height"] + g * math.sin(slope))
    if "rocker" not in valve:
        return [top[0] - pin[0], top[1] - pin[1]]
    driven, end = on_rocker(dims, turn)
    if "spindle_rod" in valve:
        last = apart(end, pin, valve["spindle_rod"])
    else:  # a block square to the spindle
        last = (end[0] - pin[0]) * math.cos(slope) + (end[1] - pin[1]) * math.sin(slope)
    return [top[0] - driven[0], top[1] - driven[1], last]


def in_slot(dims: Tables, psi: Any, d: Pair) -> Any:
    """Closure of the die in its slot."""
    link = dims["expansion_link"]
    if link.get("slot_form") == "straight":
        x, y = d[0] - link["trunnion_x"], d[1] - link["trunnion_y"]
        return x * ca.cos(psi) + y * ca.sin(psi) - link["slot_offset"]
    centre = on_link(dims, psi, link["slot_offset"] + runs_forward(dims) * link["slot_radius"], 0.0)
    return apart(d, centre, link["slot_radius"])


def suspension(dims: Tables, psi: Any, d: Pair, q: Pair, arm: Any) -> Any:
    """Closure of what holds the radius rod up."""
    link, rod, rev = dims["expansion_link"], dims["radius_rod"], dims["reversing"]
    forward, rise = runs_forward(dims), rod["lift_pin_rise"]
    tx, ty = (q[0] - d[0]) / rod["length"], (q[1] - d[1]) / rod["length"]
    mx, my = -ty * forward, tx * forward
    end = (rev["shaft_x"] + rev["arm"] * ca.cos(arm), rev["shaft_y"] + rev["arm"] * ca.sin(arm))
    if rev["suspension"] == "lifting link":
        pin = (d[0] + rod["lift_pin"] * tx + rise * mx, d[1] + rod["lift_pin"] * ty + rise * my)
        return apart(pin, end, rev["lifting_link"])
    if rev["suspension"] == "sliding block":
        return (end[0] - d[0]) * mx + (end[1] - d[1]) * my - rise
    angle = arm / link["slot_radius"]  # ideal: ``arm`` is the die place along the slot, mm
    from_trunnion = link["slot_offset"] + forward * link["slot_radius"] * (1 - ca.cos(angle))
    return d[1] - on_link(dims, psi, from_trunnion, link["slot_radius"] * ca.sin(angle))[1]


def closures(dims: Tables, x: Any, phi: Any, arm: Any) -> Any:
    """Closures, one for each unknown named in ``UNKNOWNS`` (mm, radians) and a rocker's, crank direction ``phi``."""
    cyl, link = dims["cylinder"], dims["expansion_link"]
    s, psi, dx, dy, qx, qy, tilt, g = (x[i] for i in range(8))
    d, q = (dx, dy), (qx, qy)
    crank_pin = (cyl["crank_radius"] * ca.cos(phi), cyl["crank_radius"] * ca.sin(phi))
    driver, driving_rod = driving_pin(dims, phi)
    crosshead = on_line(dims, s, cyl["line_height"])
    arm_pin = on_line(dims, s + dims["crosshead"]["arm_x"], cyl["line_height"] + dims["crosshead"]["arm_y"])
    foot = on_link(dims, psi, -link["foot_backset"], -link["foot_drop"])
    union, top = lever_ends(dims, q, tilt)
    return ca.vertcat(
        apart(crosshead, crank_pin, dims["connecting_rod"]["length"]),
        apart(foot, driver, driving_rod),
        in_slot(dims, psi, d),
        apart(q, d, dims["radius_rod"]["length"]),
        suspension(dims, psi, d, q, arm),
        apart(union, arm_pin, dims["union_link"]["length"]),
        *to_spindle(dims, top, g, x[8] if "rocker" in dims["valve"] else 0.0),
    )


def rough_start(dims: Tables, arm: float) -> NDArray[np.float64]:
    """Engine on front dead centre, as a fitter would sketch it: link and lever upright, rod level."""
    link, rod, rev = dims["expansion_link"], dims["radius_rod"], dims["reversing"]
    forward = runs_forward(dims)
    end_y = rev["shaft_y"] + rev["arm"] * math.sin(math.radians(arm))
    up = arm
    if rev["suspension"] == "lifting link":
        above = 1.0 if end_y > link["trunnion_y"] else -1.0
        up = end_y - above * rev["lifting_link"] - rod["lift_pin_rise"] - link["trunnion_y"]
    elif rev["suspension"] == "sliding block":
        up = end_y - rod["lift_pin_rise"] - link["trunnion_y"]
    s = dims["cylinder"]["crank_radius"] + dims["connecting_rod"]["length"]
    lever_x = link["trunnion_x"] + forward * rod["length"]
    guide_y = dims["valve"]["guide_height"] + lever_x * math.tan(math.radians(dims["valve"]["guide_inclination"]))
    rocker, spindle, turn = dims["valve"].get("rocker"), lever_x, []
    if rocker is not None:
        guide_y, turn = rocker["pivot_y"] - rocker["lower_arm"], [0.0]
        spindle = rocker["pivot_x"] + dims["valve"].get("spindle_rod", 0.0)
    lever_y = guide_y - dims["combination_lever"]["upper_arm"]
    return np.array([s, 0.0, link["trunnion_x"], link["trunnion_y"] + up, lever_x, lever_y, 0.0, spindle, *turn])


def build(dims: Tables, positions: int) -> Callable[[float, NDArray[np.float64]], NDArray[np.float64]]:
    """Build the solver once; it is then called with the arm (degrees, or mm when ideal) and crank angles.

    The callable takes ``positions`` crank angles in degrees, forward running, each solved from the one
    before, and returns the valve position g in mm.
    """
    size = len(UNKNOWNS) + ("rocker" in dims["valve"])
    x, phi, arm = ca.SX.sym("x", size), ca.SX.sym("phi"), ca.SX.sym("arm")
    equations = {"x": x, "p": ca.vertcat(phi, arm), "g": closures(dims, x, phi, arm)}
    first = ca.rootfinder("first", "newton", equations, {"abstol": 1e-11, "max_iter": 60})
    step = ca.rootfinder("step", "fast_newton", equations, {"abstol": 1e-12, "abstolStep": 1e-12, "max_iter": 12})
    before, given = ca.MX.sym("before", size), ca.MX.sym("given", 2)
    chain = ca.Function("one", [before, given], [step(before, given)]).mapaccum("revolution", positions)
    cyl = dims["cylinder"]
    reach = cyl["crank_radius"] + dims["connecting_rod"]["length"]
    front = math.radians(cyl["inclination"]) + math.asin(cyl["line_height"] / reach)
    ideal = dims["reversing"]["suspension"] == "ideal"

    def revolution(arm: float, crank_angles: NDArray[np.float64]) -> NDArray[np.float64]:
        reverser = arm if ideal else math.radians(arm)
        directions = front - np.radians(crank_angles)
        begin = first(rough_start(dims, arm), [directions[0], reverser])
        given = np.vstack([directions, np.full(positions, reverser)])
        solved: NDArray[np.float64] = np.array(chain(begin, given), dtype=np.float64)
        return np.asarray(solved[UNKNOWNS.index("g")], dtype=np.float64)

    return revolution
