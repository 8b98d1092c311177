"""Crosshead and expansion link as dyads of the library pylinkage.

Crank, return-crank pin fixed to it, a slider dyad for the crosshead and a two-rod dyad for the link's foot.
The rest of the gear is no chain of dyads and is left to the other peers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from pylinkage import Crank, FixedDyad, Ground, RRPDyad, RRRDyad
from pylinkage.simulation import Linkage

from .trial_gears import Tables


@dataclass(frozen=True)
class DyadMotion:
    """Piston s along the cylinder line (mm), foot of the link (n, 2) (mm), link angle psi (degrees)."""

    piston: NDArray[np.float64]
    foot: NDArray[np.float64]
    link_angle: NDArray[np.float64]


def build(dims: Tables, step: float) -> Linkage:
    """Build the linkage one ``step`` (degrees) before front dead centre, to turn forward by steps."""
    cyl, link, pin = dims["cylinder"], dims["expansion_link"], dims["return_crank"]
    slope, height, r = math.radians(cyl["inclination"]), cyl["line_height"], cyl["crank_radius"]
    reach = r + dims["connecting_rod"]["length"]
    front = slope + math.asin(height / reach)
    up, across = math.sin(slope), math.cos(slope)
    on_line = [(a * across - height * up, a * up + height * across) for a in (reach - r, reach)]
    axle, trunnion = Ground(0.0, 0.0), Ground(link["trunnion_x"], link["trunnion_y"])
    near, far = (Ground(x, y) for x, y in on_line)
    turn = math.radians(step)
    crank = Crank(axle, r, angular_velocity=-turn, initial_angle=front + turn)
    crosshead = RRPDyad(crank.output, near, far, dims["connecting_rod"]["length"], *on_line[1])
    return_pin = FixedDyad(axle, crank.output, pin["pin_radius"], -math.radians(pin["angle"]))
    foot = (link["trunnion_x"] - link["foot_backset"], link["trunnion_y"] - link["foot_drop"])
    arm = math.hypot(link["foot_backset"], link["foot_drop"])
    link_foot = RRRDyad(return_pin, trunnion, dims["eccentric_rod"]["length"], arm, *foot)
    return Linkage([axle, trunnion, near, far, crank, crosshead, return_pin, link_foot])


def motion(dims: Tables, positions: int) -> DyadMotion:
    """One forward revolution from front dead centre in equal steps."""
    track = np.array(list(build(dims, 360.0 / positions).step(positions)), dtype=np.float64)
    crosshead, foot = track[:, 5], track[:, 7]
    link, slope = dims["expansion_link"], math.radians(dims["cylinder"]["inclination"])
    arm = foot - [link["trunnion_x"], link["trunnion_y"]]
    upright = math.atan2(-link["foot_drop"], -link["foot_backset"])
    angle = np.arctan2(arm[:, 1], arm[:, 0]) - upright
    return DyadMotion(
        piston=crosshead @ [math.cos(slope), math.sin(slope)],
        foot=foot,
        link_angle=np.degrees(np.angle(np.exp(1j * angle))),
    )
