"""What every gear hangs on: crank, connecting rod and crosshead; the weighshaft's arm and its lifting link."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from linkmotion.gears.book import RADIAN, Reversing
from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.gears.reverser import Arm
from linkmotion.linkage import Linkage, UnreachableError
from linkmotion.linkage.parts import XY, real_point

CROSSHEAD_PIN = "crosshead pin"
VALVE_PIN, VALVE_GUIDE = "valve pin", "valve guide"
CRANK = ("crank", "axle", "crank pin")
ECCENTRICS = tuple((f"{name} eccentric", "axle", f"{name} eccentric") for name in ("forward", "backward"))
LIFTING_ARM = ("lifting arm", "weighshaft", "arm pin")


def in_frame_axes(crank: CrankMotion, x: Any, y: Any) -> XY:
    """A vector given in the cylinder line's own axes, in the frame's, mm.

    Parameters
    ----------
    crank : CrankMotion
        Which has the line's slope.
    x, y : float or array
        Along the line and square to it, mm.
    """
    cosine, sine = np.cos(crank.slope), np.sin(crank.slope)
    return x * cosine - y * sine, x * sine + y * cosine


def declare_crank(gear: Linkage, crank: CrankMotion, on_rod: Mapping[str, XY] | None = None) -> XY:
    """Declare axle, crank pin and crosshead; gives the sketch of the crosshead pin (piston at mid-stroke).

    Parameters
    ----------
    gear : Linkage
        Without any of these.
    crank : CrankMotion
        Dimensions.
    on_rod : dict, optional
        Further pins of the connecting rod, declared before: ahead of the crank pin along the rod, and to the left of
        its line, mm.
    """
    near = in_frame_axes(crank, crank.rod, crank.height)
    gear.fixed("axle", 0.0, 0.0)
    gear.crank("crank pin", "axle", crank.radius, crank.front_direction)
    gear.pin(CROSSHEAD_PIN, near)
    if on_rod is None:
        gear.rod("connecting rod", "crank pin", CROSSHEAD_PIN, crank.rod)
    else:
        gear.plate("connecting rod", {"crank pin": (0.0, 0.0), CROSSHEAD_PIN: (crank.rod, 0.0), **on_rod})
    gear.guide("slidebars", CROSSHEAD_PIN, in_frame_axes(crank, 0.0, crank.height), crank.slope)
    return near


def declare_arm(gear: Linkage, shaft: Reversing, setting: Arm) -> None:
    """Declare the weighshaft and its arm, standing at an angle.

    Parameters
    ----------
    gear : Linkage
        Without either.
    shaft, setting : Reversing, Arm
        The weighshaft's table; its arm's angle.
    """
    gear.fixed("weighshaft", shaft.shaft_x, shaft.shaft_y)
    gear.fixed("arm pin", *arm_end(shaft, setting))


def arm_end(shaft: Reversing, setting: Arm) -> XY:
    """End of the lifting arm at an angle, mm from the axle.

    Parameters
    ----------
    shaft, setting : Reversing, Arm
        As for :func:`declare_arm`.
    """
    angle = setting.angle * RADIAN
    return shaft.shaft_x + shaft.arm * np.cos(angle), shaft.shaft_y + shaft.arm * np.sin(angle)


def hung_from(end: XY, lifting_link: Any, level: Any) -> XY:
    """Sketch of a pin on a lifting link: under the arm's end when that is above a level, else over it.

    Parameters
    ----------
    end : (x, y)
        The arm's end, mm.
    lifting_link : float or array
        Length, mm.
    level : float or array
        Height, mm above the axle, about which what hangs there stands.
    """
    place = real_point(*end)
    side = np.where(place.imag > np.real(level), -1.0, 1.0)
    return place.real, place.imag + side * np.real(lifting_link)


def declare_hanging(gear: Linkage, link: str, end: str, pin: str, length: Any) -> None:
    """Declare a link on which a pin hangs from a fixed point, or stands over it, as sketched (``hung_from``).

    Parameters
    ----------
    gear : Linkage
        With both pins declared.
    link, end, pin : str
        The link's name; the point it hangs from; what hangs on it.
    length : float or array
        mm.
    """
    gear.rod(link, end, pin, length)
    (_x, top), (_x, bottom) = (gear.near[gear.names[each]] for each in (end, pin))
    gear.facing(link, end, pin, (0.0, bottom - top))


def ends_holding(shaft: Reversing, hung: Any) -> tuple[Any, Any]:
    """Both places of the arm's end that hold a pin by the lifting link, or come nearest to it; complex mm.

    First the one that leaves the lifting link more nearly upright.

    Parameters
    ----------
    shaft : Reversing
        Weighshaft, arm and lifting link.
    hung : complex or array
        Place of the pin, mm.
    """
    pivot, arm = _pivot(shaft), np.real(shaft.arm)
    far = np.abs(hung - pivot)
    along = (far**2 + arm**2 - np.real(shaft.lifting_link) ** 2) / (2 * far)
    rise = np.sqrt(np.maximum(arm**2 - along**2, 0.0))
    one, two = (pivot + (hung - pivot) / far * (along + 1j * side * rise) for side in (1, -1))
    first = np.abs(one.real - hung.real) <= np.abs(two.real - hung.real)
    return np.where(first, one, two), np.where(first, two, one)


def arms_holding(shaft: Reversing, hung: Any) -> list[Arm]:
    """The arm angles that hold a pin, first the one with the lifting link more upright.

    Parameters
    ----------
    shaft, hung
        As for :func:`ends_holding`.

    Raises
    ------
    UnreachableError
        Arm and link do not reach it, or are too long for it.
    """
    far = np.abs(hung - _pivot(shaft))
    least = np.abs(shaft.arm - shaft.lifting_link)
    short = np.maximum(far - shaft.arm - shaft.lifting_link, 0.0) - np.maximum(least - far, 0.0)
    return [arm_to(shaft, end, short, "lifting link") for end in ends_holding(shaft, hung)]


def arm_to(shaft: Reversing, end: Any, short: Any, holder: str) -> Arm:
    """The arm angle that brings the arm's end to a place.

    Parameters
    ----------
    shaft : Reversing
        Whose arm it is.
    end : complex or array
        The place, mm from the axle.
    short : float or array
        How far arm and holder fall short of what they hold, mm, or (−) are too long for it; 0 where they reach.
    holder : str
        What the arm holds by, for the message.

    Raises
    ------
    UnreachableError
        Anything is short.
    """
    if np.any(short):
        worst = float(np.ravel(short)[np.argmax(np.abs(short))])
        raise UnreachableError(("lifting arm", holder), worst, 0.0)
    return Arm(np.degrees(np.angle(end - _pivot(shaft))))


def _pivot(shaft: Reversing) -> Any:
    return real_point(shaft.shaft_x, shaft.shaft_y)
