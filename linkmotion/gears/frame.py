"""What every gear hangs on: crank, connecting rod and crosshead; the weighshaft's arm and its lifting link."""

from __future__ import annotations

from typing import Any

import numpy as np

from linkmotion.gears.book import RADIAN, CrankMotion, Reversing
from linkmotion.gears.reverser import Arm, Setting
from linkmotion.linkage import Linkage, Wheel, solve
from linkmotion.linkage.parts import XY

CROSSHEAD_PIN = "crosshead pin"
VALVE_PIN, VALVE_GUIDE = "valve pin", "valve guide"
CRANK = ("crank", "axle", "crank pin")
ECCENTRICS = tuple((f"{name} eccentric", "axle", f"{name} eccentric") for name in ("forward", "backward"))
LIFTING_ARM = ("lifting arm", "weighshaft", "arm pin")


def turned(crank: CrankMotion, x: Any, y: Any) -> XY:
    """A vector given in the cylinder line's own axes, in the frame's."""
    cosine, sine = np.cos(crank.slope), np.sin(crank.slope)
    return x * cosine - y * sine, x * sine + y * cosine


def declare_crank(gear: Linkage, crank: CrankMotion) -> XY:
    """Declare axle, crank pin and crosshead; gives the sketch of the crosshead pin (piston at mid-stroke)."""
    near = turned(crank, crank.rod, crank.height)
    gear.fixed("axle", 0.0, 0.0)
    gear.crank("crank pin", "axle", crank.radius, crank.front)
    gear.pin(CROSSHEAD_PIN, near)
    gear.rod("connecting rod", "crank pin", CROSSHEAD_PIN, crank.rod)
    gear.guide("slidebars", CROSSHEAD_PIN, turned(crank, 0.0, crank.height), crank.slope)
    return near


def declare_arm(gear: Linkage, shaft: Reversing, setting: Setting, sketch: XY) -> None:
    """Declare the weighshaft and its arm: standing at an angle, or free to be found near ``sketch``."""
    gear.fixed("weighshaft", shaft.shaft_x, shaft.shaft_y)
    if isinstance(setting, Arm):
        gear.fixed("arm pin", *arm_end(shaft, setting))
    else:
        gear.pin("arm pin", sketch)
        gear.rod("lifting arm", "weighshaft", "arm pin", shaft.arm)


def arm_end(shaft: Reversing, setting: Arm) -> XY:
    """End of the lifting arm at an angle."""
    angle = setting.angle * RADIAN
    return shaft.shaft_x + shaft.arm * np.cos(angle), shaft.shaft_y + shaft.arm * np.sin(angle)


def hung_from(end: XY, lifting_link: Any, level: Any) -> XY:
    """Sketch of a pin on a lifting link: under the arm's end when that is above ``level``, else over it."""
    place = _point(end)
    side = np.where(place.imag > np.real(level), -1.0, 1.0)
    return place.real, place.imag + side * np.real(lifting_link)


def plumb_end(shaft: Reversing, hung: XY) -> XY:
    """Sketch of the arm's end that holds a pin at ``hung``.

    Of its two places, the one that leaves the lifting link more nearly upright.
    """
    pivot, place = _point((shaft.shaft_x, shaft.shaft_y)), _point(hung)
    base = place - pivot
    far = np.abs(base)
    along = (far**2 + np.real(shaft.arm) ** 2 - np.real(shaft.lifting_link) ** 2) / (2 * far)
    rise = np.sqrt(np.maximum(np.real(shaft.arm) ** 2 - along**2, 0.0))
    one, two = (pivot + base / far * (along + 1j * side * rise) for side in (1, -1))
    end = np.where(np.abs(one.real - place.real) <= np.abs(two.real - place.real), one, two)
    return end.real, end.imag


def found_arm(gear: Linkage) -> Arm:
    """The arm angle at which a gear declared with its die brought to a place stands at front dead centre."""
    at_front = solve(gear, Wheel.at(0.0), alone=True)
    return Arm(np.degrees(np.angle(at_front["arm pin"] - at_front["weighshaft"])))


def _point(place: Any) -> Any:
    return np.real(place[0]) + 1j * np.real(place[1])
