"""Notches given by the die's height, and the valve set for equal lead."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace

from scipy.optimize import brentq

from .assembly import first_solution, place_link
from .closing import NotClosed
from .drawing import Dims, read_drawing
from .joint_angles import RADIUS, VALVE, AngleGear
from .port_events import Revolution, lap


def die_place_for_height(dims: Dims, height: float) -> float:
    """Place along the slot in mm with the die ``height`` mm above the trunnion on front dead centre."""
    d = read_drawing(dims)
    gear, turn = AngleGear(d, 0.0), cmath.rect(1.0, place_link(d, d.front_dead_centre)[1])

    def excess(slot: float) -> float:
        return (turn * (d.slot_centre + gear.die_from_centre(slot))).imag - height

    return float(brentq(excess, -1.0, 1.0, xtol=1e-15, rtol=1e-15)) * d.slot_radius


def arm_for_height(dims: Dims, height: float) -> float:
    """Arm angle in degrees in (-180, 180] (die place in mm for suspension "ideal") for a die height in mm.

    Of two arm positions the one with the lifting link nearer to plumb; with a sliding block the one
    nearer to the die.
    """
    drawing = read_drawing(dims)
    place = die_place_for_height(dims, height)
    if drawing.suspension == "ideal":
        return place
    held = AngleGear(replace(drawing, suspension="ideal"), place)
    x = first_solution(held)
    pins = held.place_points(x, drawing.front_dead_centre)
    if drawing.suspension == "sliding block":
        along = cmath.rect(1.0, x[RADIUS])
        line_point = pins["die"] + 1j * drawing.lift_rise * along
        off = ((drawing.shaft - line_point) / along).imag
        nearest = drawing.shaft - 1j * off * along
        half = drawing.arm**2 - off**2
        ends = [nearest + k * math.sqrt(max(half, 0.0)) * along for k in (1, -1)]
        best = min(ends, key=lambda a: abs(a - pins["die"]))
    else:
        to_pin = pins["lift_pin"] - drawing.shaft
        along = to_pin / abs(to_pin)
        reach = (abs(to_pin) ** 2 + drawing.arm**2 - drawing.lifting_link**2) / (2 * abs(to_pin))
        half = drawing.arm**2 - reach**2
        ends = [drawing.shaft + along * (reach + 1j * k * math.sqrt(max(half, 0.0))) for k in (1, -1)]
        best = min(ends, key=lambda a: abs((a - pins["lift_pin"]).real))
    if half < 0.0:
        raise NotClosed(f"the lifting arm does not reach die height {height:g} mm")
    return math.degrees(cmath.phase(best - drawing.shaft))


def central_for_equal_lead(dims: Dims, arm: float) -> float:
    """Place of the spindle pin along the guide, mm, with the valve central, that makes both leads equal."""
    turn = Revolution(dims, arm, "forward")
    front, back = float(turn.at(0.0)[VALVE]), float(turn.at(turn.back_angle())[VALVE])
    steam = (lap(dims, "steam", "front") - lap(dims, "steam", "back")) / 2
    return (front + back) / 2 + (steam if dims["valve"]["admission"] == "outside" else -steam)
