"""What is known of Baker's and the Southern gear, and of a link worked by the other side's crosshead.

Constant lead and harmonic limits are closed forms, worked out here from the parts. That in Baker's gear the bar pin
coincides with the yoke's trunnion in mid gear is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from math import radians, tan
from typing import Any, cast

import numpy as np
import pytest

import linkmotion as lm
from linkmotion.gears import Arm, DieHeld
from linkmotion.gears.sensitivity import numbers, with_numbers
from linkmotion.linkage import Wheel, solve
from linkmotion.revolution import revolve
from linkmotion.wear.lost_motion import joints_of
from tests.gears_at_hand import example, number_of, of_engine

YOKES = np.array([[58.0], [72.0], [90.0], [108.0], [123.0]])
BLOCKS = np.array([[-190.0], [-100.0], [0.0], [90.0], [180.0]])
ROUND = np.radians(np.arange(0.0, 360.0, 10.0))


def drawn(name: str) -> Any:
    return example(name).side_state().gear


def dead_centres(gear: Any, setting: Any) -> Any:
    """Places of the spindle pin at both dead centres, mm, shape (notches, 2)."""
    spindle = revolve(gear, setting).spindle
    at = np.array([0.0, gear.crank.back_crank_angle])
    return np.array([spindle[row](at) for row in range(spindle.c.shape[0])])


def struck(gear: Any, pin: str, to: complex, setting: Any, keys: tuple[tuple[str, str], tuple[str, str]]) -> Any:
    """The gear with two of its keys such that a pin stands at a place at both dead centres, by Newton's method."""
    wheel = Wheel.at([0.0, -float(gear.crank.back_crank_angle)])

    def off(values: Any) -> Any:
        made = with_numbers(gear, dict(zip(keys, values, strict=True)))
        return (np.ravel(solve(made.declare(setting), wheel)[pin]) - to).real

    values = np.array([numbers(gear)[key] for key in keys], float)
    for _ in range(12):
        here = off(values)
        step = 1e-4
        slopes = np.column_stack([(off(values + step * axis) - here) / step for axis in np.eye(2)])
        values = values - np.linalg.solve(slopes, here)
    return with_numbers(gear, dict(zip(keys, map(float, values), strict=True)))


# ---- constant lead --------------------------------------------------------------------------------------------------


def test_bakers_lead_is_one_wherever_the_yoke_stands_if_the_bar_pin_is_at_its_trunnion_on_both_dead_centres() -> None:
    gear = drawn("baker_express")
    keys = (("return_crank", "angle"), ("eccentric_rod", "length"))
    ideal = struck(gear, "radius-bar pin", complex(*gear.reversing.shaft), Arm(90.0), keys)
    assert np.max(np.ptp(dead_centres(ideal, Arm(YOKES)), axis=0)) < 1e-8
    longer = with_numbers(ideal, {("radius_bars", "length"): gear.radius_bars.length + 3.0})
    assert np.max(np.ptp(dead_centres(longer, Arm(YOKES)), axis=0)) > 0.5


def test_the_southern_lead_is_one_wherever_the_block_stands_if_the_link_is_struck_from_the_hanger_pin() -> None:
    gear = drawn("southern_mineral")
    link = gear.stationary_link
    keys = (("return_crank", "angle"), ("eccentric_rod", "length"))
    ideal = struck(gear, "hanger pin", complex(link.middle_x, link.middle_y - link.slot_radius), DieHeld(0.0), keys)
    assert np.max(np.ptp(dead_centres(ideal, DieHeld(BLOCKS)), axis=0)) < 1e-8
    longer = with_numbers(ideal, {("radius_hanger", "length"): gear.radius_hanger.length + 3.0})
    assert np.max(np.ptp(dead_centres(longer, DieHeld(BLOCKS)), axis=0)) > 0.3


@pytest.mark.parametrize("name", ["baker_express", "southern_mineral"])
def test_the_examples_leads_are_one_to_a_tenth_of_a_millimetre(name: str) -> None:
    side = lm.read_engine(f"examples/{name}.toml")["drawing"].left
    leads = [getattr(side[notch], end).lead for notch in side.notches for end in ("front", "back")]
    assert np.ptp(leads) < 0.1


# ---- harmonic limits ------------------------------------------------------------------------------------------------


def grown(gear: Any, times: float, kept: set[tuple[str, str]]) -> Any:
    """All lengths but those kept so many times as long."""
    lengths = {
        key: value * times
        for key, value in numbers(gear).items()
        if key not in kept and not key[1].endswith("angle") and key[0] != "cylinder" and "lap" not in key[1]
    }
    return with_numbers(gear, lengths)


def left_over(gear: Any, setting: Any, limit: Any) -> float:
    """Greatest difference of the spindle's movement from a harmonic one, both without their means, mm."""
    spindle = revolve(gear, setting).spindle[0](ROUND)
    return float(np.max(np.abs((spindle - spindle.mean()) - (limit - limit.mean()))))


def test_bakers_valve_tends_to_two_circles_as_its_parts_grow() -> None:
    """The foot swings as the return crank's pin; q/(p+q) of that at the bar pin, and tan β of it up; valve arm over
    driven arm of that at the bell crank; by the lever 1 + upper/lower of it, less upper/lower of the crosshead's.
    """
    gear: Any = replace(drawn("baker_express"), bell_crank=replace(drawn("baker_express").bell_crank, angle=0.0))
    square = {  # everything level or plumb in the middle of its movement
        ("return_crank", "angle"): -90.0, ("eccentric_rod", "length"): 1750.0,
        ("valve", "guide_height"): 512.0, ("crosshead", "arm_y"): -210.0,
        ("gear_connecting_rod", "bar_pin"): 500.0, ("gear_connecting_rod", "length"): 890.0,
    }  # fmt: skip
    gear = cast("Any", with_numbers(gear, square))
    kept = {("return_crank", "pin_radius")}
    rod, lever, bell = gear.gear_connecting_rod, gear.combination_lever, gear.bell_crank
    tilt = 20.0
    foot = 150.0 * np.cos(ROUND - np.pi / 2)
    lift = foot * (rod.length - rod.bar_pin) / rod.length * tan(radians(tilt))
    taken = bell.valve_arm / bell.driven_arm * lift
    share = lever.upper_arm / lever.lower_arm
    limit = (1 + share) * taken - share * 330.0 * np.cos(ROUND)
    left = [left_over(grown(gear, times, kept), Arm(90.0 + tilt), limit) for times in (40.0, 80.0)]
    assert left[0] < 1.0
    assert left[0] / left[1] == pytest.approx(2.0, abs=0.1)


def test_the_southern_valve_tends_to_two_circles_as_its_parts_grow() -> None:
    """The hanger pin moves fore and aft as the return crank's pin, and falls tan s of that as the block stands ahead;
    the yoke pin rises 1 + e times as much, less e times the return crank's own rise, e = how far it is beyond.
    """
    gear: Any = drawn("southern_mineral")
    square = {  # everything level or plumb in the middle of its movement
        ("return_crank", "angle"): 90.0, ("eccentric_rod", "yoke_pin_rise"): 0.0,
        ("stationary_link", "middle_x"): gear.eccentric_rod.length, ("stationary_link", "middle_y"): 740.0,
        ("bell_crank", "shaft_x"): 1600.0, ("bell_crank", "shaft_y"): 590.0, ("valve", "guide_height"): 350.0,
    }  # fmt: skip
    gear = cast("Any", with_numbers(gear, square))
    rod, bell, link = gear.eccentric_rod, gear.bell_crank, gear.stationary_link
    kept = {("return_crank", "pin_radius")}
    beyond, lean = rod.yoke_pin / rod.length - 1, 0.2
    fore, up = 130.0 * np.cos(ROUND + np.pi / 2), -130.0 * np.sin(ROUND + np.pi / 2)
    limit = bell.valve_arm / bell.driven_arm * ((1 + beyond) * -tan(lean) * fore - beyond * up)
    left = [
        left_over(grown(gear, times, kept), DieHeld(lean * link.slot_radius * times), limit) for times in (40.0, 80.0)
    ]
    assert left[0] < 1.0
    assert left[0] / left[1] == pytest.approx(2.0, abs=0.1)


# ---- wear -----------------------------------------------------------------------------------------------------------


def test_every_joint_of_bakers_gear_is_a_pin() -> None:
    """Ten pins that can wear, and no die: return crank, foot, bars at both ends, the gear rod's top, the bell crank's
    shaft, both ends of the valve rod, the lever's own pins to union link and spindle, and the union link's other end.
    """
    own = of_engine(example("baker_express"))
    assert own.gear.slot is None
    pins = set(joints_of(own.gear.declare(next(iter(own.settings.values())))))
    assert {"return-crank pin", "foot", "radius-bar pin", "bell-crank pin", "valve-rod pin", "lever pin"} <= pins
    assert {"union pin", "crosshead-arm pin", "arm pin", "bell-crank shaft"} <= pins


def test_a_low_crosshead_on_one_side_moves_the_other_sides_valve() -> None:
    engine = example("crosshead_branch")
    before, after = (engine.side_state(state, "left").gear for state in ("drawing", "as found"))
    alike = with_numbers(after, {("drive_rod", "length"): numbers(before)["drive_rod", "length"]})
    setting = Arm(number_of(of_engine(engine).settings["full forward"]))
    shifted = revolve(alike, setting).spindle[0](ROUND) - revolve(before, setting).spindle[0](ROUND)
    assert np.ptp(shifted) > 0.05


# ---- a straight slot ------------------------------------------------------------------------------------------------


def test_a_straight_slot_keeps_the_die_on_its_line_and_is_the_limit_of_a_long_radius() -> None:
    engine = example("dock_shunter")
    gear: Any = engine.side_state().gear
    link: Any = gear.expansion_link
    straight = replace(gear, expansion_link=replace(link, slot_form="straight", slot_radius=None, slot_offset=2.0))
    own = of_engine(engine)
    arm = Arm(number_of(own.settings["full forward"]))
    turned = revolve(straight, arm)
    at = turned.solution
    own_x = (at["foot"] - at["trunnion"]) / complex(-link.foot_backset, -link.foot_drop)
    along = (at["die pin"] - at["trunnion"]) / own_x
    assert np.max(np.abs(along.real - 2.0)) < 1e-9
    spindle = turned.spindle[0](ROUND)
    left = [
        np.max(np.abs(revolve(with_numbers(replace(gear, expansion_link=replace(link, slot_offset=2.0)),
        {("expansion_link", "slot_radius"): radius}), arm).spindle[0](ROUND) - spindle))
        for radius in (1e5, 1e6)
    ]  # fmt: skip
    assert left[0] < 0.2
    assert left[0] / left[1] == pytest.approx(10.0, rel=0.05)
