"""Valve motion with a worn slot or a raised axle: every position by MINPACK's hybrid method on all loops at once.

The wear is read at the die's own place inside the equations (nothing is iterated between turning the gear and
reading the slot), the axle is raised by moving the wheel's centre while the frame stays.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import casadi as ca
import numpy as np
from scipy.optimize import fsolve

from .pin_gears import Floats, PinGear, Stand, drawn_places, front_dead_centre, in_radians

Profile = Callable[[Any], Any]  # place along the slot, mm → how far the path stands ahead, mm


def valve_with_slot(
    gear: PinGear, turn: float, crank_angles: Floats, profile: Profile, along_drawn: bool = False
) -> Floats:
    """Spindle pin along its guide, mm.

    A place is the angle seen from the centre of curvature times the radius of the path there, or of the drawn slot.
    """
    link = gear.dims["expansion_link"]
    hollow = 0.0 if along_drawn else 1.0 if link.get("slot_concave_to") == "valve" else -1.0
    loops, radius = _loops(gear), link["slot_radius"]
    front, arm = front_dead_centre(gear.dims), in_radians(gear, turn)
    drawn = drawn_places(gear, turn, crank_angles)

    def misfit(unknown: Floats, phi: float) -> Floats:
        """Loops, the wear at the place, and the place; the last two unknowns are wear and place."""
        pins, ahead, place = unknown[:-2], unknown[-2], unknown[-1]
        closed, sine = (np.asarray(part, dtype=float).ravel() for part in loops(pins, [phi, arm], ahead))
        own = place - (radius - hollow * ahead) * math.asin(sine[0])
        return np.array([*closed, ahead - profile(place), own])

    valve = []
    for angle, start in zip(np.radians(crank_angles), drawn, strict=True):
        found = fsolve(misfit, [*start, 0.0, 0.0], args=(front - angle,), xtol=1e-13)
        left = np.max(np.abs(misfit(found, front - angle)))
        if not left < 1e-9:
            raise ArithmeticError(f"not closed by {left:.1e} mm")
        valve.append(found[1])
    return np.array(valve)


def _loops(gear: PinGear) -> Any:
    """All closures and the sine of the die's angle seen from the centre, with how far the path stands ahead given."""
    x, given, ahead = ca.SX.sym("x", gear.count), ca.SX.sym("given", 2), ca.SX.sym("ahead")
    sines: list[Any] = []

    def seen(sine: Any) -> Any:
        sines.append(sine)
        return ahead

    closures = gear.closures(x, Stand(given[0], given[1], ahead=seen))
    return ca.Function("loops", [x, given, ahead], [ca.vertcat(*closures), sines[0]])


def valve_with_axle_raised(gear: PinGear, turn: float, crank_angles: Floats, rise: float) -> Floats:
    """Spindle pin along its guide, mm, with the axle ``rise`` mm above its place; the frame and its gear stay."""
    return drawn_places(gear, turn, crank_angles, rise)[:, 1]
