"""The closed forms for two eccentrics are the limits they claim to be, reached at the rates they claim."""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from . import virtual_eccentric as virtual
from .eccentric_gears import solve
from .eccentric_trial_gears import PLAIN_DIRECT
from .joint_angles import Positions
from .stephenson_trial_gears import with_changes
from .virtual_eccentric import TwoEccentrics, VirtualEccentric

CRANK_ANGLES = np.arange(0.0, 360.0, 4.0)


def worst(a: np.ndarray, b: np.ndarray) -> float:
    """Largest difference, where an answer that is not a number counts as infinitely wrong."""
    assert a.shape == b.shape
    return float(np.nan_to_num(np.abs(a - b), nan=np.inf).max())


@cache
def moved(kind: str, pair: TwoEccentrics, die: float) -> Positions:
    """The gear of two eccentrics with its die held."""
    tables = virtual.stephenson_layout(pair) if kind == "stephenson" else virtual.gooch_layout(pair, pair.rod, 1.6e4)
    return solve(tables, pair.side * virtual.arc_place(die, pair.rod), CRANK_ANGLES[::2], kind=kind)


def error_over_throw(kind: str, pair: TwoEccentrics, die: float, oblique: bool = True) -> float:
    """Largest error of the virtual eccentric over the throw, with or without its terms in c/l."""
    form = virtual.stephenson(pair, die) if kind == "stephenson" else virtual.gooch(pair, die)
    if not oblique:
        form = VirtualEccentric(pair.parts[0], die / pair.half_link * pair.parts[1])
    motion = moved(kind, pair, die)
    valve = motion.valve - motion.valve.mean()
    return float(np.abs(valve - form.displacement(motion.crank_angle)).max()) / pair.throw


@pytest.mark.parametrize("kind", ["stephenson", "gooch"])
@pytest.mark.parametrize("rods", ["open", "crossed"])
@pytest.mark.parametrize("die", [0.0, 60.0, -120.0])
def test_virtual_eccentric_is_the_limit_of_long_rods(kind: str, rods: str, die: float) -> None:
    def pair(throw: float, longer: float) -> TwoEccentrics:
        return TwoEccentrics(throw, 15.0, 150.0, 1500.0 * longer, rods)

    shrinking = [error_over_throw(kind, pair(60.0 / k, k), die) for k in (2.0, 4.0, 8.0)]
    fixed = [error_over_throw(kind, pair(60.0, k), die) for k in (2.0, 4.0, 8.0)]
    plain = [error_over_throw(kind, pair(60.0 / k, k), die, oblique=False) for k in (4.0, 8.0)]
    rates = [math.log2(a / b) for errors in (shrinking, fixed) for a, b in pairwise(errors)]
    assert worst(np.array(rates), np.array([2.0, 2.0, 1.0, 1.0])) < 0.08
    assert abs(math.log2(plain[0] / plain[1]) - 1.0) < 0.15
    assert plain[1] > 4.0 * shrinking[2]


@pytest.mark.parametrize("rods", ["open", "crossed"])
def test_mid_gear_lap_and_lead_is_exact(rods: str) -> None:
    pair = TwoEccentrics(60.0, 15.0, 150.0, 1500.0, rods)
    front, back = solve(virtual.stephenson_layout(pair), 0.0, [0.0, 180.0]).valve
    assert abs((back - front) / 2 - virtual.mid_gear_lap_and_lead(pair)) < 1e-11
    first_order = virtual.stephenson(pair, 0.0).lap_and_lead
    assert 1e-3 < abs(first_order - virtual.mid_gear_lap_and_lead(pair)) < 0.1


@pytest.mark.parametrize("rods", ["open", "crossed"])
@pytest.mark.parametrize("die", [70.0, -140.0])
def test_gooch_lead_is_constant_as_the_hanger_lengthens(rods: str, die: float) -> None:
    pair = TwoEccentrics(60.0, 15.0, 150.0, 1500.0, rods)

    def error(hanger: float) -> float:
        tables = virtual.gooch_layout(pair, 1500.0, hanger)
        place = virtual.arc_place(die, 1500.0)
        front, back = solve(tables, place, [0.0, 180.0], kind="gooch").valve
        return float(back - front) / 2 - virtual.mid_gear_lap_and_lead(pair)

    errors = [error(1000.0 * 2.0**k) for k in range(5)]
    assert abs(errors[0]) > 1e-4
    assert worst(np.array([math.log2(a / b) for a, b in pairwise(errors)]), np.ones(4)) < 0.01
    assert abs(2.0 * errors[-1] - errors[-2]) < 2e-5


@pytest.mark.parametrize("height", [0.0, 45.0])
def test_plain_eccentric_is_an_offset_crank(height: float) -> None:
    level = {"valve": {"guide_height": height, "guide_inclination": 0.0}}
    motion = solve(with_changes(PLAIN_DIRECT, level), 114.0, CRANK_ANGLES, kind="eccentric")
    exact = virtual.plain_eccentric_place(55.0, 114.0, 1300.0, height, CRANK_ANGLES)
    assert worst(motion.valve, exact) < 1e-11
    assert worst(motion.valve, virtual.plain_eccentric_place(55.0, 113.9, 1300.0, height, CRANK_ANGLES)) > 0.01
