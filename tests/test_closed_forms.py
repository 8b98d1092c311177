"""The product against closed forms derived here with sympy: the crank and rod, and the gear with long rods.

Which lengths must grow for a Walschaerts gear to tend to pure cosines? A rod hands on the movement along it
but for its lean, sqrt(l² − d²) − l, which vanishes as 1/l when the ends' height difference d keeps its size.
So the *rods* grow N-fold (connecting rod, union link, eccentric rod, radius rod with the slot radius), the
frame's x with them, while cranks, arms, levers and heights stay. Nothing need be small: the combination lever
and the link turn through any angle, but their pins' x are proportional all the same, the lever because its
three pins are in line, the link because its foot (below the trunnion, no backset: with level rods it has
nothing to make up for) and a die held in its slot lie on one line through the trunnion.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
import pytest
import sympy as sp

from linkmotion.events import DIRECTIONS, EVENTS, both_ends
from linkmotion.gears import Arm, DieHeld
from linkmotion.gears.book import ConnectingRod, Cylinder
from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.linkage import Wheel, solve
from linkmotion.revolution import revolve
from linkmotion.valve import ENDS, Ports
from tests.independent.trial_gears import OUTSIDE_GEAR, Tables, with_changes
from tests.references.constant_lead import walschaerts

ANGLE = np.radians(np.arange(0.0, 360.0, 1.5))
LAP, EXHAUST_LAP = OUTSIDE_GEAR["valve"]["steam_lap"], OUTSIDE_GEAR["valve"]["exhaust_lap"]
CASES = [(admission, die) for admission in ("outside", "inside") for die in (-110.0, -40.0, 60.0)]
r, rod, h, phi, t = sp.symbols("r L h phi t", real=True)


# ---- crank and rod with an offset line ------------------------------------------------------------------------------


def crosshead() -> sp.Expr:
    """Crosshead along the line with the crank at phi from the line's direction: the larger root."""
    s = sp.symbols("s", real=True)
    roots = sp.solve((s - r * sp.cos(phi)) ** 2 + (h - r * sp.sin(phi)) ** 2 - rod**2, s)
    return max(roots, key=lambda root: root.subs({r: 1, rod: 4, h: 0, phi: 0}))


def designs() -> np.ndarray[Any, Any]:
    """Columns r, L, h, slope (radians): a spread of engines and extremes, the line above and below the axle."""
    rng = np.random.default_rng(20260)
    radius = rng.uniform(150.0, 400.0, 200)
    length = radius * rng.uniform(2.5, 10.0, 200)
    height = rng.uniform(-0.9, 0.9, 200) * (length - radius)
    return np.column_stack([radius, length, height, np.radians(rng.uniform(-8.0, 8.0, 200))])


def test_dead_centres_are_where_crank_and_rod_are_in_line() -> None:
    """With h = (L ± r) sin A the crank stands at A, or opposite: ds/dphi is zero and s² = (L ± r)² − h²."""
    size, radius = sp.symbols("L r", positive=True)
    sine = sp.symbols("sinA", real=True)
    slide = crosshead().subs({rod: size, r: radius})
    for sign in (1, -1):  # the crank ahead in line with the rod, and folded back over it
        line = {sp.sin(phi): sign * sine, sp.cos(phi): sign * sp.sqrt(1 - sine**2), h: (size + sign * radius) * sine}
        assert sp.simplify(sp.expand(sp.diff(slide, phi).subs(line))) == 0
        assert sp.simplify((slide**2 - (size + sign * radius) ** 2 + h**2).subs(line)) == 0


def test_dead_centres_of_the_product_are_where_the_closed_form_stops() -> None:
    slide = sp.lambdify((r, rod, h, phi), crosshead())
    speed = sp.lambdify((r, rod, h, phi), sp.diff(crosshead(), phi))
    for radius, length, height, slope in designs():
        motion = CrankMotion(radius, length, height, slope)
        for angle, limit in zip((0.0, motion.back_crank_angle), motion.limits, strict=True):
            here = radius, length, height, motion.front_direction - slope - angle
            assert abs(speed(*here)) < 1e-12 * radius
            assert abs(slide(*here) - limit) < 1e-12 * length
            assert abs(speed(*here[:3], here[3] + 1e-6)) > 1e-8 * radius


def test_crosshead_agrees_with_the_closed_form() -> None:
    form = sp.lambdify((r, rod, h, phi), crosshead())
    for radius, length, height, slope in designs():
        motion = CrankMotion(radius, length, height, slope)
        expected = form(radius, length, height, motion.front_direction - slope - ANGLE)
        assert np.abs(motion.crosshead(ANGLE) - expected).max() < 1e-10
        wrong = form(radius * 1.000001, length, height, motion.front_direction - slope - ANGLE)
        assert np.abs(motion.crosshead(ANGLE) - wrong).max() > 1e-5


def test_crank_radius_is_recovered_from_the_true_stroke() -> None:
    """The stroke, solved by sympy for the crank radius, is the product's inverse; and it goes round."""
    stroke, radius, length, height = sp.symbols("S r L h", positive=True)
    far, near = (length + radius) ** 2 - height**2, (length - radius) ** 2 - height**2
    squared = (far + near - stroke**2) ** 2 - 4 * far * near  # (far + near − S²) = 2 sqrt(far · near)
    (root,) = [x for x in sp.solve(squared, radius) if x.subs({stroke: 4, length: 9, height: 1}) > 0]
    inverse = sp.lambdify((stroke, length, height), root)
    for given, size, up, _slope in designs():
        motion = CrankMotion(given, size, up, 0.0)
        true = motion.limits[0] - motion.limits[1]
        found = CrankMotion.of(Cylinder(stroke=true, line_height=up), ConnectingRod(length=size)).radius
        assert abs(found - given) < 1e-9 * given
        assert abs(inverse(true, size, abs(up)) - found) < 1e-9 * given


def test_piston_tends_to_first_order_obliquity_with_the_cube_of_the_rod() -> None:
    """(1 − cos t)/2 + (r/4L) sin² t; the next term is (r/L)³ sin⁴ t / 16."""
    short = sp.symbols("x", positive=True)  # r / L
    gone = (1 + 1 / short - sp.cos(t) - sp.sqrt(1 / short**2 - sp.sin(t) ** 2)) / 2
    series = sp.series(gone, short, 0, 4).removeO()
    first = (1 - sp.cos(t)) / 2 + short * sp.sin(t) ** 2 / 4
    assert sp.simplify(series - first - short**3 * sp.sin(t) ** 4 / 16) == 0
    form = sp.lambdify((short, t), first)
    error = [np.abs(CrankMotion(1.0, 6.0 * n, 0.0, 0.0).fraction(ANGLE) - form(1 / (6.0 * n), ANGLE)).max()
             for n in (1, 10)]  # fmt: skip
    assert abs(error[0] / error[1] - 1000) < 30
    assert abs(error[1] * 60.0**3 * 16 - 1) < 0.01


# ---- Walschaerts with long rods -------------------------------------------------------------------------------------


@cache
def long_rod_limit() -> tuple[Callable[..., Any], Callable[..., Any]]:
    """Valve displacement at crank angle t (forward running) of the gear with endless rods.

    Functions of (r, a, b, e, f, beta, die, t): crank, upper and lower arm of the lever, return-crank pin radius,
    foot drop, return-crank angle. First with the die held at a place in the slot, then at a height (as by a
    lifting link without end).
    """
    small, lean, length, die = sp.symbols("x d l sigma", positive=True)  # small = 1/N
    assert sp.limit(sp.sqrt((length / small) ** 2 - lean**2) - length / small, small, 0, "+") == 0
    assert sp.limit(length / small * (1 - sp.cos(die * small / length)), small, 0, "+") == 0  # slot: straight
    assert sp.limit(length / small * sp.sin(die * small / length), small, 0, "+") == die
    a, b, e, f, beta, place, swing, valve = sp.symbols("a b e f beta sigma psi v", real=True)
    union = r * sp.cos(t)  # crosshead and union pin move alike
    sine = sp.solve(sp.Eq(f * swing, e * sp.cos(t + beta)), swing)[0]  # foot's x = return-crank pin's x
    held, lifted = -place * sine, -place * sine / sp.sqrt(1 - sine**2)
    motions = []
    for lever in (held, lifted):  # pins of the lever in line: (v − union)/(a + b) = (lever − union)/b
        v = sp.solve(sp.Eq((valve - union) / (a + b), (lever - union) / b), valve)[0]
        motions.append(sp.lambdify((r, a, b, e, f, beta, place, t), v))
    return motions[0], motions[1]


def sizes(tables: Tables) -> tuple[float, ...]:
    """(r, a, b, e, f, beta) of a gear."""
    lever, pin = tables["combination_lever"], tables["return_crank"]
    return (tables["cylinder"]["crank_radius"], lever["upper_arm"], lever["lower_arm"], pin["pin_radius"],
            tables["expansion_link"]["foot_drop"], math.radians(pin["angle"]))  # fmt: skip


def long_rods(times: float, admission: str) -> Tables:
    """The outside trial gear with its rods lengthened; every pin at mid-stroke stays at its height."""
    sign = 1 if admission == "outside" else -1
    length = {name: times * OUTSIDE_GEAR[name]["length"] for name in ("connecting_rod", "union_link", "radius_rod")}
    middle = length["connecting_rod"] + OUTSIDE_GEAR["crosshead"]["arm_x"] + length["union_link"]
    trunnion, upper = middle - length["radius_rod"], sign * OUTSIDE_GEAR["combination_lever"]["upper_arm"]
    height = OUTSIDE_GEAR["expansion_link"]["trunnion_y"]
    hang = OUTSIDE_GEAR["reversing"]["lifting_link"] * times
    rod_pin, arm = OUTSIDE_GEAR["radius_rod"], OUTSIDE_GEAR["reversing"]["arm"]
    return with_changes(OUTSIDE_GEAR, {
        **{name: {"length": size} for name, size in length.items()},
        "eccentric_rod": {"length": trunnion},
        "expansion_link": {"trunnion_x": trunnion, "foot_backset": 0.0, "slot_radius": length["radius_rod"]},
        "return_crank": {"angle": sign * OUTSIDE_GEAR["return_crank"]["angle"]},
        "combination_lever": {"upper_arm": upper},
        "valve": {"admission": admission, "guide_height": height + upper, "central_at": middle},
        "reversing": {
            "lifting_link": hang,
            "shaft_x": trunnion + rod_pin["lift_pin"] - arm,
            "shaft_y": height + rod_pin["lift_pin_rise"] + hang,
        },
    })  # fmt: skip


def off_the_limit(times: float, admission: str, die: float, wrong: float = 0.0) -> float:
    """Greatest difference from the limit's valve displacement, mm; ``wrong`` spoils the limit's die place."""
    tables = long_rods(times, admission)
    turn = revolve(walschaerts(tables), DieHeld(np.array([[die]])))
    limit = long_rod_limit()[0](*sizes(tables), die + wrong, ANGLE)
    return float(np.abs(turn.displacement(tables["valve"]["central_at"])(ANGLE) - limit).max())


@pytest.mark.parametrize(("admission", "die"), CASES)
def test_valve_tends_to_the_harmonic_limit_in_proportion(admission: str, die: float) -> None:
    error = [off_the_limit(times, admission, die) for times in (1.0, 10.0, 100.0)]
    ratios = error[0] / error[1], error[1] / error[2]
    assert all(9 < ratio < 11 for ratio in ratios), ratios
    assert abs(ratios[1] - 10) < 0.05  # measured 0.04 at most
    assert error[2] < 0.15  # mm


@pytest.mark.parametrize(("admission", "die"), CASES)
def test_a_limit_half_a_millimetre_wrong_is_not_tended_to(admission: str, die: float) -> None:
    error = [off_the_limit(times, admission, die, wrong=0.5) for times in (10.0, 100.0)]
    assert not 9 < error[0] / error[1] < 11


def harmonic_events(cosine: float, sine: float, admission: str, end: str, direction: str) -> np.ndarray[Any, Any]:
    """Angles (degrees) and percents of the four events when v = cosine · cos t + sine · sin t: shape (2, 4).

    An edge opens when k v = lap, at the phase of k v less arccos(lap/amplitude), and closes as much after it.
    """
    sine = sine if direction == "forward" else -sine
    steam = (-1 if admission == "outside" else 1) * (1 if end == "front" else -1)
    at = []
    for k, lap in ((steam, LAP), (-steam, EXHAUST_LAP)):
        middle = math.atan2(k * sine, k * cosine)
        half = math.acos(lap / math.hypot(cosine, sine))
        at += [middle - half, middle + half]
    gone = np.array(at) - (0.0 if end == "front" else math.pi)
    return np.array([np.degrees(gone) % 360.0, 50 * (1 - np.cos(gone))])


def event_errors(times: float, admission: str, die: float, wrong: float = 0.0) -> np.ndarray[Any, Any]:
    """Event angles (degrees) and percents less those of the limit: shape (2, directions · ends · events)."""
    tables = long_rods(times, admission)
    gear, motion = walschaerts(tables), long_rod_limit()[0]
    turn = revolve(gear, DieHeld(np.array([[die]])))
    cosine, sine = (float(motion(*sizes(tables), die + wrong, at)) for at in (0.0, math.pi / 2))
    errors = []
    for direction in DIRECTIONS:
        found = both_ends(turn.displacement(gear.valve.central_at), Ports.of(gear.valve), gear.crank, direction)
        for end in ENDS:
            got = np.array([[table[name][0] for name in EVENTS] for table in (found[end].angle, found[end].percent)])
            error = got - harmonic_events(cosine, sine, admission, end, direction)
            error[0] = (error[0] + 180) % 360 - 180
            errors.append(error)
    return np.concatenate(errors, axis=1)


@pytest.mark.parametrize(("admission", "die"), CASES)
def test_events_tend_to_the_harmonic_closed_form_in_proportion(admission: str, die: float) -> None:
    """The worst of the events of both ends and directions, in degrees and in percent of the stroke.

    The error is c/N + d/N²: a tenfold step divides it by 10 (1 + 0.9 d/(c N)) about. The first step is not yet
    in proportion (measured 8.2 to 13.1; the gear's own rod is only six cranks long, and the error at N = 1 is up
    to 14 degrees); the second must be, and nearer to ten by about ten times (measured 5.5 to 13.8).
    """
    error = [event_errors(times, admission, die) for times in (1.0, 10.0, 100.0)]
    worst = np.abs(error).max(axis=2)  # (times, angle or percent)
    first, second = worst[0] / worst[1], worst[1] / worst[2]
    assert np.all(np.abs(second - 10) < 0.3), second
    assert np.all(np.abs(second - 10) < 0.25 * np.abs(first - 10)), (first, second)
    falls_alike = np.abs(10 * error[2] - error[1]).max(axis=1) / worst[1]
    assert np.all(falls_alike < 0.03), falls_alike  # event by event, in parts of the worst
    assert worst[2, 0] < 0.15  # degrees: measured 0.126 at most
    assert worst[2, 1] < 0.1  # percent of the stroke: measured 0.073 at most


@pytest.mark.parametrize("admission", ["outside", "inside"])
def test_events_do_not_tend_to_a_limit_half_a_millimetre_wrong(admission: str) -> None:
    error = [np.abs(event_errors(times, admission, -110.0, wrong=0.5)).max(axis=1) for times in (10.0, 100.0)]
    assert not np.any((error[0] / error[1] > 9.5) & (error[0] / error[1] < 10.5))


@pytest.mark.parametrize("admission", ["outside", "inside"])
def test_die_hung_from_long_links_keeps_its_height_instead_of_its_place(admission: str) -> None:
    """A lifting link lengthened with the rods holds the die's height: it moves by the tangent of the link's angle."""
    error = []
    for times in (4.0, 40.0):
        tables = long_rods(times, admission)
        tables["reversing"]["shaft_y"] -= 80.0
        gear = walschaerts(tables)
        turn = solve(gear.declare(Arm(0.0)), Wheel.revolution(240))
        moved = turn.along(VALVE_GUIDE) - tables["valve"]["central_at"]
        error.append([np.abs(moved - limit(*sizes(tables), -80.0, ANGLE)).max() for limit in long_rod_limit()[::-1]])
    lifted, held = zip(*error, strict=True)
    assert 9 < lifted[0] / lifted[1] < 12
    assert held[1] > 1.0  # mm: not the limit of a die held in its place
