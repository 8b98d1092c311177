"""The right assembly at front dead centre, from which every revolution is followed.

Crosshead and link foot are placed in closed form by the stated rules. The rest starts from level rods and a
plumb lifting link; the union link is tried ahead and behind, and the rules choose.

Of the two the lever is nearest to upright, over the revolution, with the union pin on the side of the arm's
pin where an upright lever has it with the piston at mid-stroke. (Judged at front dead centre alone the rule
is wrong: the lever leans most there, either way by as much, and the wrong assembly may lean less.)
"""

from __future__ import annotations

import cmath
import math

import numpy as np

from .closing import NotClosed
from .drawing import Drawing
from .joint_angles import (
    ECC,
    LEVER,
    LIFT,
    PSI,
    RADIUS,
    ROD,
    SLOT,
    UNION,
    VALVE,
    AngleGear,
    Floats,
    S,
)


def place_link(d: Drawing, crank: float) -> tuple[float, float]:
    """Angle of the eccentric rod and of the link (radians) at one direction of the crank."""
    pin = d.driver(cmath.rect(1.0, crank))
    line, reach = d.trunnion - pin, abs(d.foot)
    cosine = (abs(line) ** 2 + d.eccentric_rod**2 - reach**2) / (2 * abs(line) * d.eccentric_rod)
    if not -1.0 < cosine < 1.0:
        raise NotClosed("eccentric rod too short or too long at front dead centre")
    side = math.copysign(1.0, ((d.trunnion - d.driver_middle).conjugate() * d.foot).imag)
    rod = cmath.phase(line) + side * math.acos(cosine)
    foot = pin + cmath.rect(d.eccentric_rod, rod) - d.trunnion
    return rod, cmath.phase(foot / d.foot)


def arm_side(gear: AngleGear) -> int:
    """+1 when the arm's end is above the radius rod, -1 below, the rod lying level with its die at mid-slot.

    Judged with the rod where it actually lies the rule is ambiguous: a die far up the slot satisfies it too.
    """
    level = (gear.drawing.trunnion + gear.drawing.slot_centre).imag
    return 1 if gear.arm_end.imag > level else -1


def union_side(d: Drawing) -> int:
    """+1 when an upright lever has its union pin ahead of the arm's pin with the piston at mid-stroke, else -1."""
    mid = (sum(d.piston_limits) / 2 + 1j * d.line_height + d.crosshead_arm) * d.line_turn
    return 1 if (d.trunnion + d.slot_side * d.radius_rod - mid).real > 0 else -1


def starts(gear: AngleGear) -> list[Floats]:
    """Guesses at front dead centre: union link level, ahead or behind; radius rod level; lifting link plumb."""
    d, crank = gear.drawing, gear.drawing.front_dead_centre
    s = d.piston_limits[1]
    crosshead = (s + 1j * d.line_height) * d.line_turn
    arm_pin = crosshead + d.crosshead_arm * d.line_turn
    ecc, psi = place_link(d, crank)
    rod = 0.0 if d.slot_side > 0 else math.pi
    lever_pin = d.trunnion + d.slot_side * d.radius_rod
    guide = d.guide_foot.imag + lever_pin.real * d.guide_turn.imag / d.guide_turn.real
    foot_height = guide - d.valve_pin.real
    found = []
    for union_angle in (0.0, math.pi):
        union = complex((arm_pin + cmath.rect(d.union_link, union_angle)).real, foot_height)
        lever = cmath.phase(complex(lever_pin.real, guide) - union)
        x = np.zeros(10)
        x[S], x[ROD] = s, cmath.phase(crosshead - d.crank * cmath.rect(1.0, crank))
        x[[ECC, PSI, RADIUS, LEVER, UNION]] = ecc, psi, rod, lever, union_angle
        x[VALVE] = lever_pin.real
        if d.suspension == "ideal":
            x[SLOT] = gear.arm / d.slot_radius
        elif d.suspension == "sliding block":
            x[LIFT] = d.slot_side * (gear.arm_end.real - d.trunnion.real)
        else:
            x[LIFT] = arm_side(gear) * math.pi / 2
            hung = gear.arm_end.imag - arm_side(gear) * d.lifting_link - d.slot_side * d.lift_rise - d.trunnion.imag
            x[SLOT] = np.clip(hung / d.slot_radius, -0.3, 0.3)
        found.append(x)
    return found


def obeys_rules(gear: AngleGear, x: Floats) -> bool:
    """Lift pin below an arm end above the rod, above one below it; union link, link and rods as stated."""
    if not gear.keeps_assembly(x, gear.drawing.front_dead_centre):
        return False
    if math.cos(x[UNION]) * union_side(gear.drawing) < 0:
        return False
    if gear.drawing.suspension != "lifting link":
        return True
    return math.sin(x[LIFT]) * arm_side(gear) > 0


def first_solution(gear: AngleGear) -> Floats:
    """Solve at front dead centre, choosing the allowed assembly with the lever nearest to upright."""
    solved = []
    for start in starts(gear):
        try:
            x = gear.close(start, gear.drawing.front_dead_centre)
        except (NotClosed, np.linalg.LinAlgError):
            continue
        if obeys_rules(gear, x):
            solved.append(x)
    if not solved:
        raise NotClosed("no assembly at front dead centre")
    return min(solved, key=lambda x: abs(math.cos(x[LEVER])) + (math.sin(x[LEVER]) < 0))
