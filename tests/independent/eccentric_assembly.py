"""The right assembly of a gear with eccentrics at front dead centre, from which it is followed.

The rules: rods run forward, link and rocker stand roughly upright (less than a right angle from it), the die
works in the near part of the slot's circle, and what hangs from a point above the driving level hangs below
that point; from a point under that level it stands up.
"""

from __future__ import annotations

import cmath
import math

import numpy as np

from .closing import NotClosed
from .eccentric_gears import close
from .eccentric_loops import EccentricGear
from .plane_vectors import Floats

Guess = dict[str, float]


def guide_level(gear: EccentricGear, x: float) -> float:
    """Height in mm of the valve guide's line abreast of ``x``."""
    turn = gear.guide_turn
    return float(gear.dims["valve"]["guide_height"]) + x * turn.imag / turn.real


def swing_side(gear: EccentricGear) -> int:
    """+1 when the swing link's pivot is above the valve guide's line there, and so hangs down; else -1."""
    pivot = gear.dims["valve"]["hanger"]
    return 1 if float(pivot["pivot_y"]) > guide_level(gear, float(pivot["pivot_x"])) else -1


def driving_level(gear: EccentricGear, x: float) -> float:
    """Height in mm at which the driving pin works, abreast of ``x`` where it works on an inclined guide."""
    if gear.drive == "rocker":
        rocker = gear.dims["valve"]["rocker"]
        return float(rocker["pivot_y"]) - float(rocker["lower_arm"])
    if gear.drive == "hanger":
        hanger = gear.dims["valve"]["hanger"]
        return float(hanger["pivot_y"]) - swing_side(gear) * float(hanger["length"])
    return guide_level(gear, x)


def above(gear: EccentricGear, point: complex) -> int:
    """+1 when a point of suspension is above the driving level, -1 when it is below."""
    return 1 if point.imag > driving_level(gear, point.real) else -1


def rod_angle(length: float, rise: float) -> float:
    """Inclination in radians of a rod running forward."""
    return math.asin(min(max(rise / length, -0.9), 0.9))


def guess_link(gear: EccentricGear, x: Guess) -> complex:
    """Sketch the link at the height from which it hangs; gives its mid point."""
    heading, rods = cmath.rect(1.0, gear.front_dead_centre), gear.dims["eccentric_rods"]
    if gear.kind == "stephenson" and gear.suspension == "ideal":
        height, x["link hung"] = driving_level(gear, float(rods["forward"])) - gear.setting, 0.0
    else:
        bracket, hanger = gear.link_hangs_from()
        height = bracket.imag - above(gear, bracket) * hanger - gear.of_link("saddle").imag
        x["link hung"] = above(gear, bracket) * math.pi / 2
    ends = {}
    for which in ("forward", "backward"):
        centre, length = gear.eccentric(which) * heading, float(rods[which])
        rise = height + gear.of_link(f"{which}_pin").imag - centre.imag
        x[f"{which} rod"] = rod_angle(length, rise)
        ends[which] = centre + cmath.rect(length, x[f"{which} rod"])
    drawn = gear.of_link("forward_pin") - gear.of_link("backward_pin")
    x["link"] = -((ends["forward"] - ends["backward"]).real - drawn.real) / drawn.imag
    turn = cmath.rect(1.0, x["link"])
    return complex((ends["forward"] - turn * gear.of_link("forward_pin")).real, height)


def guess_radius_rod(gear: EccentricGear, x: Guess, mid: complex) -> complex:
    """Sketch the radius rod at the height from which it hangs; gives its front pin."""
    table, side = gear.dims["radius_rod"], gear.rod_side
    length, rise = float(table["length"]), float(table.get("lift_pin_rise", 0.0))
    level = driving_level(gear, mid.real + side * length)
    share = 0.0
    if gear.suspension == "ideal":
        height, x["rod hung"] = mid.imag + gear.setting, 0.0
    elif gear.suspension == "sliding block":
        end, _ = gear.rod_hangs_from()
        height, x["rod hung"] = end.imag - rise, side * (end.real - mid.real)
        share = x["rod hung"] / length
    else:
        end, hanger = gear.rod_hangs_from()
        height, x["rod hung"] = end.imag - above(gear, end) * hanger - rise, above(gear, end) * math.pi / 2
        share = float(table["lift_pin"]) / length
    die = (height - level * share) / (1.0 - share) if share < 0.9 else height
    x["die"] = die - mid.imag
    tilt = rod_angle(length, level - die)
    x["radius rod"] = tilt if side > 0 else math.pi - tilt
    return complex(mid.real, die) + cmath.rect(length, x["radius rod"])


def guess_drive(gear: EccentricGear, x: Guess, driving: complex) -> None:
    """Sketch rocker or swing link roughly plumb, and the spindle."""
    valve = gear.dims["valve"]
    if gear.drive == "rocker":
        rocker = valve["rocker"]
        lower, upper = float(rocker["lower_arm"]), float(rocker["upper_arm"])
        x["rocker"] = rod_angle(lower, driving.real - float(rocker["pivot_x"]))
        leaning = math.radians(float(rocker["angle"])) - x["rocker"]
        driving = complex(rocker["pivot_x"], rocker["pivot_y"]) + 1j * cmath.rect(upper, -leaning)
    elif gear.drive == "hanger":
        hanger, side = valve["hanger"], swing_side(gear)
        lean = rod_angle(float(hanger["length"]), driving.real - float(hanger["pivot_x"]))
        x["swing"] = -side * (math.pi / 2 - lean)
    over = (driving - 1j * float(valve["guide_height"])) / gear.guide_turn
    x["valve"] = over.real
    if "spindle_rod" in valve:
        length = float(valve["spindle_rod"])
        x["valve"] += length
        x["spindle"] = cmath.phase(gear.guide_turn) - rod_angle(length, over.imag)
    elif gear.drive == "rocker":
        x["spindle"] = over.imag


def sketch(gear: EccentricGear) -> Floats:
    """All unknowns at front dead centre, roughly."""
    x: Guess = {"piston": gear.piston_limits[1], "connecting rod": gear.front_dead_centre}
    if gear.kind == "eccentric":
        centre = gear.eccentric("forward") * cmath.rect(1.0, gear.front_dead_centre)
        reach = float(gear.dims["eccentric_rod"]["length"])
        x["forward rod"] = rod_angle(reach, driving_level(gear, centre.real + reach) - centre.imag)
        driving = centre + cmath.rect(reach, x["forward rod"])
    else:
        mid = guess_link(gear, x)
        if gear.kind == "stephenson":
            level = driving_level(gear, mid.real)
            x["die"] = level - mid.imag
            driving = complex(mid.real, level)
        else:
            driving = guess_radius_rod(gear, x, mid)
    guess_drive(gear, x, driving)
    return np.array([x[name] for name in gear.names])


def keeps_assembly(gear: EccentricGear, solution: Floats) -> bool:
    """Whether rods run their stated way, and link, rocker and die stand as the rules say."""
    x = dict(zip(gear.names, solution, strict=True))
    ahead = [x["connecting rod"] - cmath.phase(gear.line_turn)]
    ahead += [x[name] for name in ("forward rod", "backward rod", "link", "rocker") if name in x]
    if "spindle_rod" in gear.dims["valve"]:
        ahead.append(x["spindle"] - cmath.phase(gear.guide_turn))
    if "radius rod" in x:
        ahead.append(x["radius rod"] if gear.rod_side > 0 else x["radius rod"] - math.pi)
    if "die" in x and gear.slot_side:
        ahead.append(x["die"] / float(gear.dims["expansion_link"]["slot_radius"]))
    if "swing" in x:
        ahead.append(x["swing"] + swing_side(gear) * math.pi / 2)
    return all(math.cos(angle) > 0.0 for angle in ahead)


def hangs_as_ruled(gear: EccentricGear, solution: Floats) -> bool:
    """Whether what hangs is below a point above the driving level, or above one below it."""
    x = dict(zip(gear.names, solution, strict=True))
    hung = []
    if "link hung" in x and not (gear.kind == "stephenson" and gear.suspension == "ideal"):
        hung.append(("link hung", gear.link_hangs_from()[0]))
    if "rod hung" in x and gear.suspension == "lifting link":
        hung.append(("rod hung", gear.rod_hangs_from()[0]))
    return all(math.sin(x[name]) * above(gear, point) > 0.0 for name, point in hung)


def first_solution(gear: EccentricGear) -> Floats:
    """Solve at front dead centre in the assembly the rules choose."""
    try:
        x = close(gear, sketch(gear), gear.front_dead_centre)
    except np.linalg.LinAlgError as singular:
        raise NotClosed("no assembly at front dead centre") from singular
    if not (keeps_assembly(gear, x) and hangs_as_ruled(gear, x)):
        raise NotClosed("no assembly at front dead centre obeys the rules")
    return x
