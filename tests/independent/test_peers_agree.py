"""The four independent solutions agree with each other, and would show it if one of them were wrong."""

from __future__ import annotations

import math

import numpy as np
import pytest

from .closing import NotClosed
from .drawing import read_drawing
from .joint_angles import Positions, solve
from .notches import arm_for_height, central_for_equal_lead
from .port_events import port_events
from .trial_gears import INSIDE_GEAR, OUTSIDE_GEAR, TRIAL_GEARS, Tables, with_changes

CRANK_ANGLES = np.arange(0.0, 360.0, 2.0)
CASES = [(gear, notch) for gear, tables in TRIAL_GEARS.items() for notch in tables["reversing"]["notches"]]
WITH_ARM = [case for case in CASES if TRIAL_GEARS[case[0]]["reversing"]["suspension"] != "ideal"]
RODS = (
    ("connecting_rod", "length", "crank_pin", "crosshead_pin"),
    ("eccentric_rod", "length", "return_crank_pin", "foot"),
    ("expansion_link", "slot_radius", "slot_centre", "die"),
    ("radius_rod", "length", "die", "lever_pin"),
    ("combination_lever", "lower_arm", "union_pin", "lever_pin"),
    ("union_link", "length", "crosshead_arm_pin", "union_pin"),
)


@pytest.fixture(scope="module")
def solved() -> dict[tuple[str, str], Positions]:
    """Every trial gear in every notch by joint angles."""
    gears = {name: tables["reversing"]["notches"] for name, tables in TRIAL_GEARS.items()}
    return {(gear, notch): solve(TRIAL_GEARS[gear], gears[gear][notch], CRANK_ANGLES) for gear, notch in CASES}


def worst(a: np.ndarray, b: np.ndarray) -> float:
    """Largest difference, where an answer that is not a number counts as infinitely wrong."""
    assert a.shape == b.shape
    return float(np.nan_to_num(np.abs(a - b), nan=np.inf).max())


@pytest.mark.parametrize(("gear", "notch"), CASES)
def test_rods_keep_their_drawn_lengths(gear: str, notch: str, solved: dict[tuple[str, str], Positions]) -> None:
    tables, motion = TRIAL_GEARS[gear], solved[gear, notch]
    assert motion.closure < 1e-11
    for table, key, one, other in RODS:
        apart = np.hypot(*(motion.points[one] - motion.points[other]).T)
        assert worst(apart, np.full_like(apart, tables[table][key])) < 2e-11, (table, key)
    slope = math.radians(tables["valve"]["guide_inclination"])
    over_guide = motion.points["valve_pin"] - [0.0, tables["valve"]["guide_height"]]
    assert np.abs(over_guide @ [-math.sin(slope), math.cos(slope)]).max() < 1e-11
    assert worst(over_guide @ [math.cos(slope), math.sin(slope)], motion.valve) < 1e-11


@pytest.mark.parametrize(("gear", "notch"), CASES)
def test_casadi_agrees(gear: str, notch: str, solved: dict[tuple[str, str], Positions]) -> None:
    pytest.importorskip("casadi")
    from . import casadi_loop

    tables = TRIAL_GEARS[gear]
    revolution = casadi_loop.build(tables, len(CRANK_ANGLES))
    assert worst(revolution(tables["reversing"]["notches"][notch], CRANK_ANGLES), solved[gear, notch].valve) < 1e-9


@pytest.mark.parametrize(("gear", "notch"), WITH_ARM)
def test_exudyn_agrees(gear: str, notch: str, solved: dict[tuple[str, str], Positions]) -> None:
    pytest.importorskip("exudyn")
    from . import exudyn_gear

    tables = TRIAL_GEARS[gear]
    valve = exudyn_gear.valve_positions(tables, tables["reversing"]["notches"][notch], CRANK_ANGLES)
    assert worst(valve, solved[gear, notch].valve) < 1e-6


@pytest.mark.parametrize("gear", TRIAL_GEARS)
def test_pylinkage_agrees(gear: str, solved: dict[tuple[str, str], Positions]) -> None:
    pytest.importorskip("pylinkage")
    from . import dyad_library

    dyads, angles = dyad_library.motion(TRIAL_GEARS[gear], len(CRANK_ANGLES)), solved[gear, "mid"]
    assert worst(dyads.piston, angles.piston) < 1e-6  # mm
    assert worst(dyads.foot, angles.points["foot"]) < 1e-6  # mm
    assert worst(dyads.link_angle, angles.link_angle) < 1e-6  # degrees


@pytest.mark.parametrize(
    ("table", "key"),
    [
        ("connecting_rod", "length"), ("crosshead", "arm_y"), ("return_crank", "angle"),
        ("return_crank", "pin_radius"), ("eccentric_rod", "length"), ("expansion_link", "foot_drop"),
        ("expansion_link", "trunnion_x"), ("expansion_link", "foot_backset"),
        ("expansion_link", "trunnion_y"), ("expansion_link", "slot_offset"), ("crosshead", "arm_x"),
        ("cylinder", "crank_radius"), ("reversing", "arm"), ("reversing", "shaft_x"),
        ("expansion_link", "slot_radius"), ("radius_rod", "length"), ("radius_rod", "lift_pin_rise"),
        ("radius_rod", "lift_pin"), ("combination_lever", "lower_arm"), ("combination_lever", "upper_arm"),
        ("combination_lever", "offset"), ("union_link", "length"), ("valve", "guide_height"),
        ("valve", "guide_inclination"), ("cylinder", "line_height"), ("cylinder", "inclination"),
        ("reversing", "lifting_link"), ("reversing", "shaft_y"),
    ],
)  # fmt: skip
def test_peers_notice_every_dimension_alike(table: str, key: str) -> None:
    """A change of 0.1 mm or degree shows far above the tolerances, and alike in the three whole gears."""
    pytest.importorskip("casadi")
    pytest.importorskip("exudyn")
    from . import casadi_loop, exudyn_gear

    angles, arm = CRANK_ANGLES[:60], 202.0
    changed = with_changes(INSIDE_GEAR, {table: {key: INSIDE_GEAR[table][key] + 0.1}})
    drawn, new = solve(INSIDE_GEAR, arm, angles).valve, solve(changed, arm, angles).valve
    assert np.abs(new - drawn).max() > 1e-4
    assert worst(casadi_loop.build(changed, len(angles))(arm, angles), new) < 1e-9
    assert worst(exudyn_gear.valve_positions(changed, arm, angles), new) < 1e-6


@pytest.mark.parametrize(("gear", "notch"), list(dict(CASES[::-1]).items()))
def test_backward_running_meets_the_same_events_in_reverse(gear: str, notch: str) -> None:
    """In the first notch of each gear."""
    tables = TRIAL_GEARS[gear]
    arm = tables["reversing"]["notches"][notch]
    ahead, astern = port_events(tables, arm), port_events(tables, arm, "backward")
    reverse = {
        "admission": "cutoff",
        "cutoff": "admission",
        "release": "compression",
        "compression": "release",
    }
    for end in ("front", "back"):
        assert sum(map(len, ahead[end].found.values())) >= 4
        for kind, other in reverse.items():
            there = sorted(((-e.angle) % 360.0, e.percent) for e in ahead[end].found[kind])
            back = sorted((e.angle, e.percent) for e in astern[end].found[other])
            assert worst(np.array(there), np.array(back)) < 1e-8


def test_drawing_reads_every_way_of_giving_crank_and_return_crank() -> None:
    arm, angles = 190.0, CRANK_ANGLES[:30]
    plain = solve(INSIDE_GEAR, arm, angles).valve
    back, front = read_drawing(INSIDE_GEAR).piston_limits
    r, pin = INSIDE_GEAR["cylinder"]["crank_radius"], INSIDE_GEAR["return_crank"]
    beta = math.radians(pin["angle"])
    length = math.sqrt(r**2 + pin["pin_radius"] ** 2 - 2 * r * pin["pin_radius"] * math.cos(beta))
    cylinder = {k: v for k, v in INSIDE_GEAR["cylinder"].items() if k != "crank_radius"}
    for changes in (
        {"cylinder": cylinder | {"stroke": front - back}},
        {"return_crank": {"length": length, "angle": pin["angle"]}},
        {"return_crank": {"length": length, "pin_radius": pin["pin_radius"], "sense": "follows"}},
    ):
        assert worst(solve({**INSIDE_GEAR, **changes}, arm, angles).valve, plain) < 1e-9


@pytest.mark.parametrize("gear", TRIAL_GEARS)
@pytest.mark.parametrize("height", [-80.0, 0.0, 70.0])
def test_notch_by_die_height(gear: str, height: float) -> None:
    tables = TRIAL_GEARS[gear]
    die = solve(tables, arm_for_height(tables, height), [0.0]).points["die"][0, 1]
    assert abs(die - tables["expansion_link"]["trunnion_y"] - height) < 1e-10


@pytest.mark.parametrize("gear", TRIAL_GEARS)
def test_equal_lead(gear: str) -> None:
    tables: Tables = TRIAL_GEARS[gear]
    arm = tables["reversing"]["notches"]["half forward"]
    central = central_for_equal_lead(tables, arm)
    ends = port_events(with_changes(tables, {"valve": {"central_at": central}}), arm)
    moved = port_events(with_changes(tables, {"valve": {"central_at": central + 0.01}}), arm)
    assert abs(ends["front"].lead - ends["back"].lead) < 1e-9
    assert abs(abs(moved["front"].lead - moved["back"].lead) - 0.02) < 1e-9


@pytest.mark.parametrize(
    ("table", "key", "value"), [("eccentric_rod", "length", 860.0), ("union_link", "length", 30.0)]
)
def test_a_gear_that_cannot_pass_is_refused(table: str, key: str, value: float) -> None:
    with pytest.raises(NotClosed):
        solve(with_changes(OUTSIDE_GEAR, {table: {key: value}}), 0.0, CRANK_ANGLES)
