"""Three general-purpose libraries solve examples of Walschaerts gear over a revolution, and the product agrees.

casadi (root finding on the loop equations), exudyn (multibody dynamics) and pylinkage (dyads) share
nothing with the product or with one another.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from linkmotion.gears import Arm
from linkmotion.gears.frame import CROSSHEAD_PIN, VALVE_GUIDE
from linkmotion.linkage import Solution, Wheel, solve
from tests.gears_at_hand import example, gear_from, number_of, of_engine, plain_tables
from tests.independent.trial_gears import OUTSIDE_GEAR, Tables, with_changes

ENGINES = ("dock_shunter", "metre_gauge")
CASES = [(name, notch) for name in ENGINES for notch in of_engine(example(name)).settings]
DRIVEN = ("inside_goods", "crosshead_branch")  # by an eccentric on the axle; by the other side's crosshead
COUNT = 180
ANGLES = np.arange(COUNT) * 360.0 / COUNT
WITHIN = 1e-6  # mm, and degrees of the link


def by_product(name: str, notch: str) -> Solution:
    own = of_engine(example(name))
    return solve(own.gear.declare(own.settings[notch]), Wheel.revolution(COUNT))


def over_a_rocker(rod: float | None) -> Tables:
    """A trial gear with a rocker above its lever, the spindle on it by a rod or by a block."""
    lever_x, height = 2000.0, OUTSIDE_GEAR["valve"]["guide_height"]
    rocker = {"pivot_x": lever_x, "pivot_y": height + 210.0, "lower_arm": 210.0, "upper_arm": 190.0, "angle": 6.0}
    valve = {"guide_height": height + 395.0, "guide_inclination": 2.0, "rocker": rocker}
    return with_changes(OUTSIDE_GEAR, {"valve": valve | ({} if rod is None else {"spindle_rod": rod})})


def furthest(one: object, other: object) -> float:
    """Largest difference; infinite where one is not a number."""
    return float(np.max(np.nan_to_num(np.abs(np.subtract(one, other)), nan=np.inf)))  # type: ignore[call-overload]


@pytest.mark.parametrize(("name", "notch"), CASES)
def test_casadi_finds_the_same_valve_motion(name: str, notch: str) -> None:
    pytest.importorskip("casadi")
    from tests.independent import casadi_loop

    own = of_engine(example(name))
    valve = casadi_loop.build(plain_tables(example(name)), COUNT)(number_of(own.settings[notch]), ANGLES)
    assert furthest(by_product(name, notch).along(VALVE_GUIDE), valve) < WITHIN


@pytest.mark.parametrize("state", ["drawing", "as found"])
@pytest.mark.parametrize("name", DRIVEN)
def test_casadi_finds_the_same_where_no_return_crank_works_the_link(name: str, state: str) -> None:
    pytest.importorskip("casadi")
    from tests.independent import casadi_loop

    for side in example(name).sides:
        own = of_engine(example(name), state, side)
        revolution = casadi_loop.build(plain_tables(example(name), state, side), COUNT)
        for setting in own.settings.values():
            turned = solve(own.gear.declare(setting), Wheel.revolution(COUNT))
            assert furthest(turned.along(VALVE_GUIDE), revolution(number_of(setting), ANGLES)) < WITHIN


@pytest.mark.parametrize("straight", [False, True])
@pytest.mark.parametrize("rod", [None, 400.0])
def test_casadi_finds_the_same_over_a_rocking_shaft_and_with_a_straight_slot(rod: float | None, straight: bool) -> None:
    """An inside valve over a rocker: the lever's upper pin works its lower arm, the spindle is on its upper arm."""
    pytest.importorskip("casadi")
    from tests.independent import casadi_loop

    tables, shaft = over_a_rocker(rod), Wheel.revolution(COUNT)
    if straight:
        link = {key: value for key, value in tables["expansion_link"].items() if key != "slot_radius"}
        tables["expansion_link"] = link | {"slot_form": "straight", "slot_offset": 3.0, "slot_bottom": 150.0}
    revolution = casadi_loop.build(tables, COUNT)
    for arm in tables["reversing"]["notches"].values():
        turned = solve(gear_from(tables).declare(Arm(arm)), shaft)
        assert furthest(turned.along(VALVE_GUIDE), revolution(arm, ANGLES)) < WITHIN


@pytest.mark.parametrize(("name", "notch"), CASES)
def test_exudyn_finds_the_same_valve_motion(name: str, notch: str) -> None:
    pytest.importorskip("exudyn")
    from tests.independent import exudyn_gear

    own = of_engine(example(name))
    valve = exudyn_gear.valve_positions(plain_tables(example(name)), number_of(own.settings[notch]), ANGLES)
    assert furthest(by_product(name, notch).along(VALVE_GUIDE), valve) < WITHIN


@pytest.mark.parametrize("name", ENGINES)
def test_pylinkage_finds_the_same_crosshead_foot_and_link_swing(name: str) -> None:
    pytest.importorskip("pylinkage")
    from tests.independent import dyad_library

    dyads = dyad_library.motion(plain_tables(example(name)), COUNT)
    gear: Any = of_engine(example(name)).gear
    turned = by_product(name, "mid")
    line = np.exp(1j * gear.crank.slope)
    assert furthest((turned[CROSSHEAD_PIN] * np.conj(line)).real, dyads.piston) < WITHIN
    assert furthest(turned["foot"], dyads.foot @ [1, 1j]) < WITHIN
    assert furthest(gear.slot.swing(turned), dyads.link_angle) < WITHIN


def test_a_tenth_of_a_millimetre_on_the_eccentric_rod_would_be_seen() -> None:
    """The comparison can fail: with one rod altered the peers' valve is off by thousands of times the tolerance."""
    pytest.importorskip("casadi")
    from tests.independent import casadi_loop

    tables = plain_tables(example("metre_gauge"))
    tables["eccentric_rod"] = {"length": tables["eccentric_rod"]["length"] + 0.1}
    arm = number_of(of_engine(example("metre_gauge")).settings["full forward"])
    valve = casadi_loop.build(tables, COUNT)(arm, ANGLES)
    assert furthest(by_product("metre_gauge", "full forward").along(VALVE_GUIDE), valve) > 1e-3
