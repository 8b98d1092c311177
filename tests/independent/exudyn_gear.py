"""The gear as a multibody model in exudyn: ten rigid bodies, revolute joints, two guides, a curved slot.

Thirty coordinates, thirty constraints (with a sliding block nine bodies, the block being a third guide). The
static solver carries the crank through the wanted angles as load
steps; with no loads and no stiffness its Newton iteration solves the constraints alone. Here in metres.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import exudyn
import numpy as np
from exudyn import itemInterface
from numpy.typing import NDArray

from .trial_gears import Tables

exu: Any = exudyn  # its item classes carry no types
items: Any = itemInterface
MM = 1e-3
Point = tuple[float, float]


@dataclass
class Bodies:
    """Rigid bodies of one multibody system, each placed by a sketch of the engine on front dead centre."""

    mbs: Any
    ground: int
    by_name: dict[str, tuple[int, int]]  # name -> node, body

    def add(self, name: str, origin: Point, angle: float) -> None:
        """Add a body with its own axes at ``origin`` (mm) turned by ``angle`` (radians)."""
        node = self.mbs.AddNode(items.NodeRigidBody2D(referenceCoordinates=[origin[0] * MM, origin[1] * MM, angle]))
        body = self.mbs.AddObject(items.ObjectRigidBody2D(nodeNumber=node, mass=1.0, inertia=1.0))
        self.by_name[name] = (node, body)

    def marker(self, name: str, point: Point) -> int:
        """Mark a point of a body in its own axes, or of the ground, in mm."""
        body = self.ground if name == "ground" else self.by_name[name][1]
        place = [point[0] * MM, point[1] * MM, 0.0]
        return int(self.mbs.AddMarker(items.MarkerBodyRigid(bodyNumber=body, localPosition=place)))

    def pin(self, first: str, at: Point, second: str, there: Point) -> None:
        """Revolute joint between points of two bodies."""
        markers = [self.marker(first, at), self.marker(second, there)]
        self.mbs.AddObject(items.ObjectJointRevolute2D(markerNumbers=markers))

    def guide(self, at: Point, direction: float, name: str) -> None:
        """Body ``name`` slides, unturned in its own axes, along a line through ``at`` on the ground."""
        axis, normal = [math.cos(direction), math.sin(direction), 0.0], [0.0, 1.0, 0.0]
        markers = [self.marker("ground", at), self.marker(name, (0.0, 0.0))]
        self.mbs.AddObject(
            items.ObjectJointPrismatic2D(
                markerNumbers=markers, axisMarker0=axis, normalMarker1=normal, constrainRotation=False
            )
        )

    def block(self, name: str, at: Point, there: Point) -> None:
        """The line through ``at`` along a body's own x axis passes through a point of the ground."""
        markers = [self.marker("ground", there), self.marker(name, at)]
        self.mbs.AddObject(
            items.ObjectJointPrismatic2D(
                markerNumbers=markers, axisMarker0=[1.0, 0.0, 0.0], normalMarker1=[0.0, 1.0, 0.0],
                constrainRotation=False,
            )
        )  # fmt: skip

    def hold_angle(self, name: str) -> None:
        """Keep a body from turning."""
        self.drive(name, [0.0])

    def drive(self, name: str, turns: Sequence[float]) -> None:
        """Turn a body by ``turns[k]`` radians from its sketch at load step k."""
        ground_node = self.mbs.AddNode(items.NodePointGround())
        fixed = self.mbs.AddMarker(items.MarkerNodeCoordinate(nodeNumber=ground_node, coordinate=0))
        angle = self.mbs.AddMarker(items.MarkerNodeCoordinate(nodeNumber=self.by_name[name][0], coordinate=2))
        steps = len(turns)

        def offset(mbs: Any, t: float, item: int, base: float) -> float:
            return float(turns[min(max(round(t * steps) - 1, 0), steps - 1)])

        self.mbs.AddObject(
            items.ObjectConnectorCoordinate(markerNumbers=[fixed, angle], offsetUserFunction=offset if steps > 1 else 0)
        )


def sketch(dims: Tables, bodies: Bodies, arm_end: Point) -> None:
    """Place all bodies with link and lever upright, rods level and the lifting link plumb."""
    cyl, link, rev = dims["cylinder"], dims["expansion_link"], dims["reversing"]
    rod, lever, guide = dims["radius_rod"], dims["combination_lever"], dims["valve"]
    line, slope = math.radians(cyl["inclination"]), math.radians(guide["guide_inclination"])
    r, length = cyl["crank_radius"], dims["connecting_rod"]["length"]
    front = line + math.asin(cyl["line_height"] / (length + r))
    crank_pin = (r * math.cos(front), r * math.sin(front))
    crosshead = ((r + length) * math.cos(front), (r + length) * math.sin(front))
    lead = front - math.radians(dims["return_crank"]["angle"])
    e = dims["return_crank"]["pin_radius"]
    return_pin = (e * math.cos(lead), e * math.sin(lead))
    trunnion = (link["trunnion_x"], link["trunnion_y"])
    foot = (trunnion[0] - link["foot_backset"], trunnion[1] - link["foot_drop"])
    runs = 1.0 if link["slot_concave_to"] == "valve" else -1.0
    hung = rev["suspension"] == "lifting link"
    plumb = 1.0 if arm_end[1] > trunnion[1] else -1.0
    die_y = arm_end[1] - (plumb * rev["lifting_link"] if hung else 0.0) - rod["lift_pin_rise"]
    lever_x = trunnion[0] + runs * rod["length"]
    spindle = (lever_x, guide["guide_height"] + lever_x * math.tan(slope))
    union = (lever_x, spindle[1] - lever["lower_arm"] - lever["upper_arm"])
    heading = math.atan2(foot[1] - return_pin[1], foot[0] - return_pin[0])
    for name, origin, angle in (
        ("crank", (0.0, 0.0), front),
        ("connecting rod", crank_pin, front),
        ("crosshead", crosshead, line),
        ("eccentric rod", return_pin, heading),
        ("link", trunnion, 0.0),
        ("radius rod", (trunnion[0], die_y), 0.0 if runs > 0 else math.pi),
        ("lever", union, math.pi / 2),
        ("union link", (lever_x - dims["union_link"]["length"], union[1]), 0.0),
        ("lifting link", (arm_end[0], die_y + rod["lift_pin_rise"]), plumb * math.pi / 2),
        ("spindle", spindle, slope),
    ):
        if hung or name != "lifting link":
            bodies.add(name, origin, angle)


def join(dims: Tables, bodies: Bodies, arm_end: Point) -> None:
    """Put in every pin, guide and the slot; lengths come from the drawing, never from the sketch."""
    cyl, link, rod = dims["cylinder"], dims["expansion_link"], dims["radius_rod"]
    lever, cross = dims["combination_lever"], dims["crosshead"]
    line = math.radians(cyl["inclination"])
    runs = 1.0 if link["slot_concave_to"] == "valve" else -1.0
    o: Point = (0.0, 0.0)
    beta, e = math.radians(dims["return_crank"]["angle"]), dims["return_crank"]["pin_radius"]
    bodies.pin("ground", o, "crank", o)
    bodies.pin("crank", (cyl["crank_radius"], 0.0), "connecting rod", o)
    bodies.pin("connecting rod", (dims["connecting_rod"]["length"], 0.0), "crosshead", o)
    height = cyl["line_height"]
    bodies.guide((-height * math.sin(line), height * math.cos(line)), line, "crosshead")
    bodies.pin("crank", (e * math.cos(beta), -e * math.sin(beta)), "eccentric rod", o)
    foot = (-link["foot_backset"], -link["foot_drop"])
    bodies.pin("eccentric rod", (dims["eccentric_rod"]["length"], 0.0), "link", foot)
    bodies.pin("ground", (link["trunnion_x"], link["trunnion_y"]), "link", o)
    centre = bodies.marker("link", (link["slot_offset"] + runs * link["slot_radius"], 0.0))
    die = bodies.marker("radius rod", o)
    bodies.mbs.AddObject(items.ObjectConnectorDistance(markerNumbers=[centre, die], distance=link["slot_radius"] * MM))
    bodies.pin("radius rod", (rod["length"], 0.0), "lever", (lever["lower_arm"], 0.0))
    bodies.pin("crosshead", (cross["arm_x"], cross["arm_y"]), "union link", o)
    bodies.pin("union link", (dims["union_link"]["length"], 0.0), "lever", o)
    if dims["reversing"]["suspension"] == "lifting link":
        bodies.pin("radius rod", (rod["lift_pin"], runs * rod["lift_pin_rise"]), "lifting link", o)
        bodies.pin("lifting link", (dims["reversing"]["lifting_link"], 0.0), "ground", arm_end)
    else:
        bodies.block("radius rod", (0.0, runs * rod["lift_pin_rise"]), arm_end)
    bodies.pin("lever", (lever["lower_arm"] + lever["upper_arm"], -lever["offset"]), "spindle", o)
    bodies.guide((0.0, dims["valve"]["guide_height"]), math.radians(dims["valve"]["guide_inclination"]), "spindle")
    for sliding in ("crosshead", "spindle"):
        bodies.hold_angle(sliding)


def settings(steps: int) -> Any:
    """Give the static solver's settings: equal load steps, full Newton down to rounding."""
    chosen = exu.SimulationSettings()
    solver = chosen.staticSolver
    solver.numberOfLoadSteps, solver.adaptiveStep, solver.verboseMode = steps, False, 0
    solver.newton.useModifiedNewton = False
    solver.newton.absoluteTolerance, solver.newton.relativeTolerance = 1e-13, 1e-16
    chosen.solution.file.write = False
    chosen.solution.sensors.writePeriod = 0.5 / steps
    return chosen


def valve_positions(dims: Tables, arm: float, crank_angles: NDArray[np.float64]) -> NDArray[np.float64]:
    """Valve position g in mm along the guide at each crank angle (degrees, forward running, in small steps).

    Only for suspensions with an arm; ``arm`` in degrees.
    """
    rev = dims["reversing"]
    if rev["suspension"] not in ("lifting link", "sliding block"):
        raise ValueError("this model carries the radius rod by an arm")
    turn = math.radians(arm)
    arm_end = (rev["shaft_x"] + rev["arm"] * math.cos(turn), rev["shaft_y"] + rev["arm"] * math.sin(turn))
    mbs = exu.SystemContainer().AddSystem()
    bodies = Bodies(mbs, mbs.AddObject(items.ObjectGround()), {})
    sketch(dims, bodies, arm_end)
    join(dims, bodies, arm_end)
    bodies.drive("crank", [-math.radians(a) for a in crank_angles])
    spindle = items.SensorNode(
        nodeNumber=bodies.by_name["spindle"][0], storeInternal=True, writeToFile=False,
        outputVariableType=exu.OutputVariableType.Position,
    )  # fmt: skip
    sensor = mbs.AddSensor(spindle)
    mbs.Assemble()
    mbs.SolveStatic(settings(len(crank_angles)))
    record = mbs.GetSensorStoredData(sensor)[1:]  # the first row is the sketch
    slope = math.radians(dims["valve"]["guide_inclination"])
    along = record[:, 1] * math.cos(slope) + (record[:, 2] - dims["valve"]["guide_height"] * MM) * math.sin(slope)
    return np.asarray(along / MM, dtype=np.float64)
