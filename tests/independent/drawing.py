"""The drawing of a Walschaerts gear read from nested dimension tables, as plain and complex numbers.

A point (x, y) of the side elevation is the complex number x + iy; turning by an angle is a product with
exp(i angle).
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import brentq

Dims = Mapping[str, Any]


@dataclass(frozen=True)
class OtherCrosshead:
    """The other side's crank (mm, radians ahead), rod, height of its line, and its crosshead's arm in its axes."""

    crank: float
    ahead: float
    rod: float
    line_height: float
    arm: complex


@dataclass(frozen=True)
class Drawing:
    """Fixed figures of one gear: lengths in mm, angles in radians, points and offsets as complex mm."""

    crank: float
    rod: float
    line_height: float
    line_turn: complex  # exp(i inclination of the cylinder line)
    crosshead_arm: complex  # in the cylinder line's own axes
    eccentric: complex  # return-crank pin or eccentric over the direction of the crank: e exp(-i beta)
    other: OtherCrosshead | None  # what drives the link instead of a return crank
    eccentric_rod: float
    trunnion: complex
    foot: complex  # from the trunnion, link upright
    slot_radius: float
    slot_side: int  # +1 when concave to the valve, -1 when concave to the axle
    slot_centre: complex  # centre of curvature from the trunnion, link upright
    radius_rod: float
    lift_pin: float
    lift_rise: float  # square to the rod, + turned +90 degrees from die -> lever pin
    lower_arm: float
    valve_pin: complex  # from the union pin, over the lever's direction (union pin -> radius-rod pin)
    union_link: float
    guide_foot: complex
    guide_turn: complex  # exp(i inclination of the valve guide)
    suspension: str
    shaft: complex
    arm: float
    lifting_link: float

    def driver(self, heading: Any) -> Any:
        """The pin that works the link's foot, by the unit vector(s) along the crank."""
        if self.other is None:
            return self.eccentric * heading
        pin = self.other.crank * heading * cmath.exp(-1j * self.other.ahead) / self.line_turn
        along = np.real(pin) + np.sqrt(self.other.rod**2 - (self.other.line_height - np.imag(pin)) ** 2)
        return (along + 1j * self.other.line_height + self.other.arm) * self.line_turn

    @property
    def driver_middle(self) -> complex:
        """About where that pin stands in the middle of its travel."""
        if self.other is None:
            return 0j
        return (self.other.rod + 1j * self.other.line_height + self.other.arm) * self.line_turn

    @property
    def front_dead_centre(self) -> float:
        """Direction of the crank, radians, with the piston farthest from the axle."""
        return cmath.phase(self.line_turn) + math.asin(self.line_height / (self.rod + self.crank))

    @property
    def back_dead_centre(self) -> float:
        """Direction of the crank, radians, with the piston nearest to the axle."""
        return cmath.phase(self.line_turn) + math.pi + math.asin(self.line_height / (self.rod - self.crank))

    @property
    def piston_limits(self) -> tuple[float, float]:
        """Crosshead pin along the cylinder line, mm, at the back and at the front dead centre."""
        h2 = self.line_height**2
        return math.sqrt((self.rod - self.crank) ** 2 - h2), math.sqrt((self.rod + self.crank) ** 2 - h2)


def crank_radius(dims: Dims) -> float:
    """Crank radius in mm; from the true piston stroke when only ``stroke`` is given."""
    cylinder, length = dims["cylinder"], float(dims["connecting_rod"]["length"])
    if "crank_radius" in cylinder:
        return float(cylinder["crank_radius"])
    stroke, h2 = float(cylinder["stroke"]), float(cylinder.get("line_height", 0.0)) ** 2

    def excess(r: float) -> float:
        return math.sqrt((length + r) ** 2 - h2) - math.sqrt((length - r) ** 2 - h2) - stroke

    # the offset lengthens the stroke beyond 2r, so r is at most half the stroke
    return float(brentq(excess, 0.3 * stroke, 0.5 * stroke + 1e-9, xtol=1e-13, rtol=1e-15))


def return_crank(dims: Dims) -> tuple[float, float]:
    """Pin radius in mm and angle ahead of the crank pin in radians, from any two of the three figures."""
    table, r = dims["return_crank"], crank_radius(dims)
    if "pin_radius" in table and "angle" in table:
        return float(table["pin_radius"]), math.radians(table["angle"])
    c = float(table["length"])
    if "angle" in table:
        beta = math.radians(table["angle"])
        return r * math.cos(beta) + math.sqrt(c**2 - (r * math.sin(beta)) ** 2), beta
    e = float(table["pin_radius"])
    beta = math.acos((r**2 + e**2 - c**2) / (2 * r * e))
    return e, {"leads": beta, "follows": -beta}[table["sense"]]


def _driving_pin(dims: Dims) -> tuple[float, float]:
    """Radius in mm and angle ahead of the crank pin in radians of what the wheel turns to work the link, if it does."""
    if "return_crank" in dims:
        return return_crank(dims)
    own = dims.get("eccentric", {"throw": 0.0, "angle": 0.0})
    return float(own["throw"]), math.radians(own["angle"])


def _other_crosshead(table: Mapping[str, float]) -> OtherCrosshead:
    return OtherCrosshead(
        table["crank_radius"],
        math.radians(table["crank_angle"]),
        table["connecting_rod"],
        table.get("line_height", 0.0),
        complex(table.get("arm_x", 0.0), table["arm_y"]),
    )


def read_drawing(dims: Dims) -> Drawing:
    """Gather the figures of the nested tables ``dims`` (mm and degrees) into a `Drawing`."""
    cylinder, crosshead, valve = dims["cylinder"], dims["crosshead"], dims["valve"]
    link, rod, lever, reversing = (
        dims[name] for name in ("expansion_link", "radius_rod", "combination_lever", "reversing")
    )
    e, beta = _driving_pin(dims)
    driving_rod = dims["drive_rod" if "other_side" in dims else "eccentric_rod"]
    side = {"valve": 1, "axle": -1}[link.get("slot_concave_to", "valve")]
    return Drawing(
        crank=crank_radius(dims),
        rod=float(dims["connecting_rod"]["length"]),
        line_height=float(cylinder.get("line_height", 0.0)),
        line_turn=cmath.exp(1j * math.radians(cylinder.get("inclination", 0.0))),
        crosshead_arm=complex(crosshead["arm_x"], crosshead["arm_y"]),
        eccentric=cmath.rect(e, -beta),
        other=_other_crosshead(dims["other_side"]) if "other_side" in dims else None,
        eccentric_rod=float(driving_rod["length"]),
        trunnion=complex(link["trunnion_x"], link["trunnion_y"]),
        foot=complex(-link.get("foot_backset", 0.0), -link["foot_drop"]),
        slot_radius=float(link["slot_radius"]),
        slot_side=side,
        slot_centre=link.get("slot_offset", 0.0) + side * link["slot_radius"] + 0j,
        radius_rod=float(rod["length"]),
        lift_pin=float(rod.get("lift_pin", 0.0)),
        lift_rise=side * float(rod.get("lift_pin_rise", 0.0)),
        lower_arm=float(lever["lower_arm"]),
        valve_pin=complex(lever["lower_arm"] + lever["upper_arm"], -lever.get("offset", 0.0)),
        union_link=float(dims["union_link"]["length"]),
        guide_foot=complex(0.0, valve["guide_height"]),
        guide_turn=cmath.exp(1j * math.radians(valve.get("guide_inclination", 0.0))),
        suspension=str(reversing["suspension"]),
        shaft=complex(reversing.get("shaft_x", 0.0), reversing.get("shaft_y", 0.0)),
        arm=float(reversing.get("arm", 0.0)),
        lifting_link=float(reversing.get("lifting_link", 0.0)),
    )
