"""What is known of a middle valve that is worked by both outside spindles through a 2:1 and an equal lever.

That such a valve goes as far as both outside ones together, the other way, and that play at the levers counts two- and
threefold, is worked out here from the parts; of the levers' use at 120 degrees common practice, no source.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from linkmotion.commands.steam_options import engine_given
from linkmotion.commands.wear import WearRequest, run_wear
from linkmotion.events import DIRECTIONS, both_ends
from linkmotion.files.engine_file import parse_engine
from linkmotion.files.faults import FileError
from linkmotion.gears import Arm
from linkmotion.gears.sensitivity import numbers, with_numbers
from linkmotion.linkage import LinkageError, Wheel, solve
from linkmotion.linkage.constraints import misfit
from linkmotion.revolution import revolve
from linkmotion.studies.assess import assess
from linkmotion.valve import Ports
from linkmotion.views.request import Request
from linkmotion.wear.condition import Condition
from linkmotion.wear.lost_motion import joints_of, lost_motion
from tests.drawn_gears import with_central
from tests.gears_at_hand import EXAMPLES, example, gear_from, number_of, of_engine, plain_tables
from tests.independent import derived_levers
from tests.independent.closing import NotClosed
from tests.independent.derived_events import middle_events
from tests.independent.trial_gears import Tables
from tests.test_agreement import compare

NAME = "derived_heavy_goods"
TENS = np.arange(0.0, 360.0, 10.0)
POSITION = 1e-7  # mm
TURN = 512
SIDES = ("left", "right")
GUIDE = "valve guide"


@cache
def drawn() -> Any:
    return example(NAME).side_state().gear


def test_beats_of_one_of_three_cylinders_are_refused() -> None:
    with pytest.raises(FileError, match="one of three cylinders"):
        engine_given(Request(Path(__file__).parents[1] / "examples" / f"{NAME}.toml"), {}, {})


# ---- another solution -----------------------------------------------------------------------------------------------


def by_product(tables: Tables, arm: float) -> Any:
    """The spindle along its line at every tenth degree, mm; None where the product refuses."""
    try:
        turned = solve(gear_from(tables, "derived valve").declare(Arm(arm)), Wheel.revolution(4 * TENS.size))
    except LinkageError:
        return None
    assert max(misfit(turned).values()) < 1e-9
    return turned.along(GUIDE)[::4]


@pytest.mark.parametrize("state", ["drawing", "as found"])
def test_the_middle_spindle_stands_where_joint_angles_and_crossing_circles_have_it(state: str) -> None:
    own, tables = of_engine(example(NAME), state), plain_tables(example(NAME), state)
    for setting in own.settings.values():
        spindle = revolve(own.gear, setting).spindle[0](np.radians(TENS))
        assert np.max(np.abs(spindle - derived_levers.solve(tables, number_of(setting), TENS))) < POSITION


@pytest.mark.parametrize("notch", list(of_engine(example(NAME)).settings))
def test_casadi_finds_the_same_movement_of_the_middle_spindle(notch: str) -> None:
    """A general root finder on the loop equations of both gears and the levers, to 1e-6 mm."""
    pytest.importorskip("casadi")
    from tests.independent import casadi_levers

    own = of_engine(example(NAME))
    theirs = casadi_levers.middle_spindle(plain_tables(example(NAME)), number_of(own.settings[notch]), 180)
    ours = solve(own.gear.declare(own.settings[notch]), Wheel.revolution(180)).along(GUIDE)
    assert np.max(np.abs(ours - theirs)) < 1e-6


def altered(seed: int) -> tuple[Tables, float]:
    """The example's tables with every figure off, the levers' pins out of line, either way about, ahead or behind."""
    rng = np.random.default_rng(seed)
    tables = plain_tables(example(NAME))
    way, behind = rng.choice([-1, 1]), rng.choice([False, True])
    for table, keys in tables.items():
        for key, value in keys.items():
            if isinstance(value, int | float) and not isinstance(value, bool) and table != "valve":
                most = 0.5 if key in ("crank_angle", "angle", "inclination") else 3.0
                keys[key] = float(value) + rng.uniform(-most, most)
                keys[key] *= way if key in ("spindle_across", "pivot_across") and not table.endswith("engine") else 1
    tables["two_to_one_lever"]["worked_by"] = {1: "right", -1: "left"}[int(way)]
    tables["two_to_one_lever"]["short_pin_ahead"] = rng.uniform(-40.0, 40.0)
    tables["equal_lever"]["pivot_ahead"] = rng.uniform(-40.0, 40.0)
    tables["two_to_one_lever"]["pivot_x"] -= 300.0 * behind
    tables["valve"] |= {"guide_inclination": rng.uniform(-2.0, 2.0)}
    return tables, float(rng.uniform(-30.0, 5.0))


SEEN: dict[bool, int] = {True: 0, False: 0}


@settings(max_examples=20)
@given(st.integers(0, 2**32 - 1))
def test_gears_with_every_figure_off_stand_alike_or_are_refused_by_both(seed: int) -> None:
    tables, arm = altered(seed)
    ours = by_product(tables, arm)
    try:
        theirs = derived_levers.solve(tables, arm, TENS)
    except NotClosed:
        theirs = None
    SEEN[theirs is not None] += 1
    assert (ours is None) == (theirs is None)
    assert ours is None or np.max(np.abs(ours - theirs)) < POSITION


def events_apart(tables: Tables, arm: float, central: float, way: str) -> None:
    """Events of the middle cylinder by the product and by the other solution: 1e-6 degrees, 1e-7 percent, 1e-7 mm."""
    gear = gear_from(tables, "derived valve")
    told = both_ends(revolve(gear, Arm(arm)).displacement(central), Ports.of(gear.valve), gear.crank, way)
    other = middle_events(with_central(tables, central), arm, way)
    assert set(other) == {"front", "back"}
    compare(other, told, 0)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("state", "notch"),
    [*(("drawing", notch) for notch in of_engine(example(NAME)).settings), ("as found", "full forward")],
)
def test_the_middle_valves_events_are_those_of_the_other_solution(state: str, notch: str) -> None:
    """In every notch as drawn, in turn forward and backward, and of a gear whose sides are not alike."""
    own, central = of_engine(example(NAME), state), float(assess(example(NAME)).sides[0].central_at)
    way = DIRECTIONS[list(own.settings).index(notch) % 2]
    events_apart(plain_tables(example(NAME), state), number_of(own.settings[notch]), central, way)


@settings(max_examples=4)
@given(st.integers(0, 2**32 - 1), st.sampled_from(DIRECTIONS), st.floats(-4.0, 4.0))
def test_gears_with_every_figure_off_have_the_same_events(seed: int, way: str, off: float) -> None:
    """The valve is set up to 4 mm off the middle of its travel, so that some ports never open or close."""
    tables, arm = altered(seed)
    spindle = by_product(tables, arm)
    assume(spindle is not None)
    central = float(np.max(spindle) + np.min(spindle)) / 2 + off
    events_apart(tables, arm, central, way)


def test_most_of_those_gears_were_compared() -> None:
    if not SEEN[True]:
        test_gears_with_every_figure_off_stand_alike_or_are_refused_by_both()
    assert SEEN[True] > 4 * SEEN[False]


def test_a_hundredth_of_a_millimetre_of_a_lever_would_be_seen() -> None:
    own, tables = of_engine(example(NAME)), plain_tables(example(NAME))
    tables["equal_lever"] = tables["equal_lever"] | {"middle_link": 160.01}
    setting = own.settings["mid"]
    spindle = revolve(own.gear, setting).spindle[0](np.radians(TENS))
    off = spindle - derived_levers.solve(tables, number_of(setting), TENS)
    assert np.all(np.abs(np.abs(off) - 0.01) < 1e-4)


# ---- what the levers make -------------------------------------------------------------------------------------------


def long_levers(times: float) -> Any:
    """The engine with a level middle cylinder, even cranks and like sides, and its levers and links so much larger."""
    gear = drawn()
    keys = [
        *(("two_to_one_lever", key) for key in ("long_arm", "short_arm", "link", "pivot_across")),
        *(("equal_lever", key) for key in ("outer_arm", "middle_arm", "outer_link", "middle_link", "spindle_across")),
        *((f"{side}_engine", "spindle_across") for side in SIDES),
    ]
    held = numbers(gear)
    grown = {key: held[key] * times for key in keys}
    even = {("cylinder", "inclination"): 0.0, ("left_engine", "crank_angle"): 120.0}
    even |= {
        ("right_engine", "crank_angle"): -120.0,
        ("connecting_rod", "length"): held["left_engine", "connecting_rod"],
    }
    ahead = held["two_to_one_lever", "pivot_x"] + held["two_to_one_lever", "link"] * (times - 1)
    return with_numbers(gear, grown | even | {("two_to_one_lever", "pivot_x"): ahead})


def harmonics(path: Any) -> Any:
    return np.fft.fft(path) / TURN


def moved(gear: Any, arm: float) -> tuple[Any, Any, Any]:
    """Middle, left and right spindles along their lines over a turn, mm."""
    turned = solve(gear.declare(Arm(arm)), Wheel.revolution(TURN))
    return turned.along(GUIDE), *(turned.along(f"{side} {GUIDE}") for side in SIDES)


def test_the_middle_valve_goes_as_far_as_both_others_the_other_way_as_the_levers_grow() -> None:
    """What is left of it is how the levers' swing tilts their links: s⁴/(8 a² l), of the third power of their size."""
    left = []
    for times in (1.0, 2.0, 4.0):
        middle, one, two = (path - path.mean() for path in moved(long_levers(times), 5.0))
        left.append(float(np.max(np.abs(middle + one + two))))
    assert 0.1 < left[0] < 1.0
    assert left[0] / left[1] == pytest.approx(8.0, abs=0.6)
    assert left[1] / left[2] == pytest.approx(8.0, abs=0.2)


@pytest.mark.parametrize("arm", [5.0, -10.1, -30.0])
def test_of_the_mean_and_each_third_harmonic_it_has_minus_twice_an_own_gears_and_of_the_others_the_same(
    arm: float,
) -> None:
    """−(e^{ina} + e^{−ina}) = −2 cos na of the n-th harmonic, at a = 120 degrees: 1, or −2 where 3 divides n.

    So of every third harmonic it is off by three times what an own gear would have; the means of the outside ones
    change from notch to notch, and its own place with them (the next test).
    """
    gear = long_levers(1000.0)
    middle = harmonics(moved(gear, arm)[0])
    own = harmonics(solve(gear.outside("left").declare(Arm(arm)), Wheel.revolution(TURN)).along(GUIDE))
    assert abs(own[1]) > 15.0
    for n in range(1, 9):
        assert abs(middle[n] - (-2 if n % 3 == 0 else 1) * own[n]) < 5e-3, n
    assert abs(own[3]) > 0.01
    assert abs(middle[3] - own[3]) == pytest.approx(3 * abs(own[3]), abs=5e-3)


def test_its_middle_drifts_from_notch_to_notch_by_minus_twice_the_outside_ones_drift() -> None:
    gear = long_levers(1000.0)
    paths = [moved(gear, arm) for arm in (5.0, -10.1, -30.0)]
    middle, left, right = (np.array([own[i].mean() for own in paths]) for i in range(3))
    assert np.ptp(left) > 0.2
    assert np.max(np.abs(np.diff(left) - np.diff(right))) < 1e-6
    assert np.diff(middle) == pytest.approx(-2 * np.diff(left), abs=5e-3)


# ---- play -----------------------------------------------------------------------------------------------------------

COUNTS = {
    "2:1 lever pivot": 3.0,
    "short-arm pin": 2.0,
    "long-arm pin": 1.0,
    "outer-arm pin": 1.0,
    "middle-arm pin": 1.0,
}


def free(gear: Any, pins: dict[str, float], setting: Any) -> dict[str, Any]:
    return {
        pin: float(np.mean(each)) for pin, each in lost_motion(gear, setting, Condition(clearance=pins)).joints.items()
    }


def test_play_of_the_levers_counts_up_to_threefold() -> None:
    """The pivot's moves the short arm's pin by half as much again, the long arm held; that pin's counts twice."""
    found = free(drawn(), dict.fromkeys(COUNTS, 1.0), Arm(5.0))
    for pin, times in COUNTS.items():
        assert found[pin] == pytest.approx(times, rel=0.03), pin


@pytest.mark.parametrize("pin", ["foot", "trunnion", "lever pin", "union pin"])
def test_play_of_each_side_counts_as_on_its_own_valve_so_of_both_twice(pin: str) -> None:
    gear, setting = drawn(), Arm(5.0)
    found = free(gear, {f"{side} {pin}": 0.5 for side in SIDES}, setting)
    for side in SIDES:
        own = free(gear.outside(side), {pin: 0.5}, setting)[pin]
        assert own > 0.05
        assert found[f"{side} {pin}"] == pytest.approx(own, rel=0.03)


def test_play_of_either_die_counts_as_on_its_own_valve() -> None:
    gear, setting, loose = drawn(), Arm(5.0), Condition(die_clearance=0.2)
    found = lost_motion(gear, setting, loose).joints
    assert set(found) == {f"{side} die in the slot" for side in SIDES}
    for side in SIDES:
        (own,) = lost_motion(gear.outside(side), setting, loose).joints.values()
        assert np.mean(own) > 0.1
        assert np.mean(found[f"{side} die in the slot"]) == pytest.approx(np.mean(own), rel=0.03)


@pytest.mark.parametrize(("name", "remedy"), [(NAME, "of its own gear"), ("baker_express", "leave it out")])
def test_a_worn_slot_of_a_gear_that_has_none_of_its_own_is_refused(name: str, remedy: str) -> None:
    text = next(path for path in EXAMPLES if path.stem == name).read_text("utf-8")
    worn = text + '\n[state."slot read".both.wear]\nslot = [{ at = 0, front = 0.3, back = 0.1 }]\n'
    with pytest.raises(FileError, match="this gear has no slot of its own") as told:
        parse_engine(worn).side_state("slot read")
    assert remedy in str(told.value)


def test_no_tie_of_a_die_to_its_slot_is_a_joint() -> None:
    joints = joints_of(drawn().declare(Arm(5.0)))
    assert {"left die pin", "right die pin", "left spindle pin", "short-arm pin", "valve pin"} <= set(joints)
    assert not [pin for pin, part in joints.items() if "slot" in pin or part.endswith("slot")]


# ---- the drawing ----------------------------------------------------------------------------------------------------


def test_each_side_by_itself_is_a_walschaerts_gear_with_sound_leads() -> None:
    """Drift of its mean from notch to notch, a third of what the middle leads drift by."""
    gear = drawn()
    for side in SIDES:
        outside = gear.outside(side)
        assert not list(outside.own_faults())
        spindle = revolve(outside, Arm(np.array([[5.0], [-10.1], [-30.0]]))).spindle
        at = np.array([0.0, outside.crank.back_crank_angle])
        leads = np.array([spindle[row](at) for row in range(3)])
        assert np.ptp(leads.mean(axis=1)) < 1.5


def test_wear_of_one_of_three_cylinders_is_told_once_and_of_no_other_side(capsys: pytest.CaptureFixture[str]) -> None:
    path = Path(__file__).parents[1] / "examples" / f"{NAME}.toml"
    run_wear(WearRequest(path, "as found", json=True, notches=("mid",)))
    (told,) = json.loads(capsys.readouterr().out)["sides"]
    assert len(told["items"]) > 3
    assert not any("between sides" in figure for item in told["items"] for figure in item["changes"])
    run_wear(WearRequest(path, "as found", notches=("mid",)))
    printed = capsys.readouterr().out
    assert printed.startswith("as found, middle cylinder:")
    assert "left side" not in printed
    assert "right side" not in printed
