"""The Stephenson gear as a multibody model in exudyn, with the parts of `exudyn_gear`.

Crank with its eccentrics, connecting rod, crosshead, two eccentric rods, link, lifting link, and a spindle
(direct) or a rocker whose upper pin works in a block square to the spindle. In metres inside.
"""

from __future__ import annotations

import cmath
import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .exudyn_gear import MM, Bodies, Point, exu, items, settings
from .trial_gears import Tables

ORIGIN: Point = (0.0, 0.0)


def can_model(dims: Tables) -> bool:
    """Whether this model has the parts: a lifting link, and direct drive or a rocker without spindle rod."""
    plain = "hanger" not in dims["valve"] and "spindle_rod" not in dims["valve"]
    return plain and dims["reversing"]["suspension"] == "lifting link"


def eccentric_at(dims: Tables, which: str) -> complex:
    """Centre of an eccentric in the crank's own axes."""
    table = dims["eccentrics"]
    return cmath.rect(table[f"{which}_throw"], -math.radians(table[f"{which}_angle"]))


def link_pin(dims: Tables, name: str) -> Point:
    """A pin of the link in link axes."""
    return dims["expansion_link"][f"{name}_x"], dims["expansion_link"][f"{name}_y"]


def sketch(dims: Tables, bodies: Bodies, arm_end: Point) -> None:
    """Place all bodies with link and rocker upright and the lifting link plumb."""
    cyl, valve = dims["cylinder"], dims["valve"]
    line, slope = math.radians(cyl["inclination"]), math.radians(valve["guide_inclination"])
    r, length = cyl["crank_radius"], dims["connecting_rod"]["length"]
    front = line + math.asin(cyl["line_height"] / (length + r))
    reach = dims["eccentric_rods"]["forward"]
    if "rocker" in valve:
        level = valve["rocker"]["pivot_y"] - valve["rocker"]["lower_arm"]
    else:
        level = valve["guide_height"] + reach * math.tan(slope)
    hangs = math.copysign(dims["reversing"]["lifting_link"], arm_end[1] - level)
    saddle = (arm_end[0], arm_end[1] - hangs)
    mid = (reach - link_pin(dims, "forward_pin")[0], saddle[1] - link_pin(dims, "saddle")[1])
    bodies.add("crank", ORIGIN, front)
    bodies.add("connecting rod", (r * math.cos(front), r * math.sin(front)), front)
    bodies.add("crosshead", ((r + length) * math.cos(front), (r + length) * math.sin(front)), line)
    bodies.add("link", mid, slope)
    bodies.add("lifting link", saddle, math.copysign(math.pi / 2, hangs))
    for which in ("forward", "backward"):
        centre = eccentric_at(dims, which) * cmath.rect(1.0, front)
        x, y = link_pin(dims, f"{which}_pin")
        heading = math.atan2(mid[1] + y - centre.imag, mid[0] + x - centre.real)
        bodies.add(f"{which} rod", (centre.real, centre.imag), heading)
    if "rocker" in valve:
        bodies.add("rocker", (valve["rocker"]["pivot_x"], valve["rocker"]["pivot_y"]), 0.0)
    else:
        bodies.add("spindle", (mid[0], level), slope)


def join(dims: Tables, bodies: Bodies, arm_end: Point) -> tuple[str, Point]:
    """Put in every pin, guide and the slot; gives the body and point whose place along the guide is g."""
    cyl, link, valve = dims["cylinder"], dims["expansion_link"], dims["valve"]
    line, height = math.radians(cyl["inclination"]), cyl["line_height"]
    bodies.pin("ground", ORIGIN, "crank", ORIGIN)
    bodies.pin("crank", (cyl["crank_radius"], 0.0), "connecting rod", ORIGIN)
    bodies.pin("connecting rod", (dims["connecting_rod"]["length"], 0.0), "crosshead", ORIGIN)
    bodies.guide((-height * math.sin(line), height * math.cos(line)), line, "crosshead")
    bodies.hold_angle("crosshead")
    for which in ("forward", "backward"):
        centre = eccentric_at(dims, which)
        bodies.pin("crank", (centre.real, centre.imag), f"{which} rod", ORIGIN)
        end = (dims["eccentric_rods"][which], 0.0)
        bodies.pin(f"{which} rod", end, "link", link_pin(dims, f"{which}_pin"))
    bodies.pin("link", link_pin(dims, "saddle"), "lifting link", ORIGIN)
    bodies.pin("lifting link", (dims["reversing"]["lifting_link"], 0.0), "ground", arm_end)
    if "rocker" in valve:
        rocker = valve["rocker"]
        lean = math.radians(rocker["angle"])
        driven, die_at = "rocker", (0.0, -rocker["lower_arm"])
        read_at = (rocker["upper_arm"] * math.sin(lean), rocker["upper_arm"] * math.cos(lean))
        bodies.pin("ground", (rocker["pivot_x"], rocker["pivot_y"]), "rocker", ORIGIN)
    else:
        driven, die_at, read_at = "spindle", ORIGIN, ORIGIN
        bodies.guide((0.0, valve["guide_height"]), math.radians(valve["guide_inclination"]), "spindle")
        bodies.hold_angle("spindle")
    side = 1.0 if link["slot_concave_to"] == "valve" else -1.0
    centre_of_slot = bodies.marker("link", (side * link["slot_radius"], 0.0))
    markers, radius = [centre_of_slot, bodies.marker(driven, die_at)], link["slot_radius"] * MM
    bodies.mbs.AddObject(items.ObjectConnectorDistance(markerNumbers=markers, distance=radius))
    return driven, read_at


def valve_positions(dims: Tables, arm: float, crank_angles: NDArray[np.float64]) -> NDArray[np.float64]:
    """Valve position g in mm along the guide at each crank angle (degrees, forward running, in small steps)."""
    if not can_model(dims):
        raise ValueError("this model has a lifting link, and direct drive or a rocker without spindle rod")
    rev, turn = dims["reversing"], math.radians(arm)
    arm_end = (rev["shaft_x"] + rev["arm"] * math.cos(turn), rev["shaft_y"] + rev["arm"] * math.sin(turn))
    mbs: Any = exu.SystemContainer().AddSystem()
    bodies = Bodies(mbs, mbs.AddObject(items.ObjectGround()), {})
    sketch(dims, bodies, arm_end)
    body, point = join(dims, bodies, arm_end)
    bodies.drive("crank", [-math.radians(a) for a in crank_angles])
    sensor = mbs.AddSensor(
        items.SensorBody(
            bodyNumber=bodies.by_name[body][1], localPosition=[point[0] * MM, point[1] * MM, 0.0],
            storeInternal=True, writeToFile=False, outputVariableType=exu.OutputVariableType.Position,
        )
    )  # fmt: skip
    mbs.Assemble()
    mbs.SolveStatic(settings(len(crank_angles)))
    record = mbs.GetSensorStoredData(sensor)[1:]  # the first row is the sketch
    slope = math.radians(dims["valve"]["guide_inclination"])
    up = record[:, 2] - dims["valve"]["guide_height"] * MM
    along = record[:, 1] * math.cos(slope) + up * math.sin(slope)
    return np.asarray(along / MM, dtype=np.float64)
