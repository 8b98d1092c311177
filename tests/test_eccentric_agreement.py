"""The gears with eccentrics agree with the joint-angle solution and with two libraries, which share no code with them.

Positions to 1e-7 mm, events to 1e-6 degrees. An event is held to the other solution by its own openings a millionth
of a degree before and after, which must be of opposite signs; its search for events is asked for one notch of each
example.
"""

from __future__ import annotations

from collections import Counter
from functools import cache

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from linkmotion.engine import DRAWING
from linkmotion.events import DIRECTIONS, both_ends
from linkmotion.gears import Arm, DieHeight, DieHeld, ReverserPosition
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.linkage import LinkageError, Wheel, solve
from linkmotion.linkage.constraints import misfit
from linkmotion.revolution import revolve
from linkmotion.studies.assess import assess
from linkmotion.valve import ENDS, Ports
from tests.drawn_eccentric_gears import eccentric_gears
from tests.drawn_gears import with_central
from tests.event_misses import ANGLE, PERCENT, POSITION, misses
from tests.gears_at_hand import (
    TRIAL,
    GearAtHand,
    every_gear,
    example,
    gear_from,
    number_of,
    of_engine,
    of_tables,
    plain_tables,
)
from tests.independent import eccentric_gears as joints
from tests.independent.closing import NotClosed
from tests.independent.eccentric_crossings import TurnedOnce
from tests.independent.eccentric_events import central_for_equal_lead, eccentric_events
from tests.independent.eccentric_gears import arm_for_die
from tests.independent.eccentric_trial_gears import KIND_OF
from tests.independent.port_events import KINDS
from tests.independent.stephenson_trial_gears import with_changes
from tests.independent.trial_gears import Tables

EXAMPLES = ("stephenson_goods", "gooch_tank", "allan_saddle_tank", "donkey_eccentric")
TRIALS = tuple(f"{name} ({kind})" for name, kind in KIND_OF.items())
EVERY = (*TRIALS, *EXAMPLES)
LINKED = tuple(name for name in EVERY if every_gear()[name].gear.slot is not None)
ANGLES = np.arange(0.0, 360.0, 10.0)
STEPS = 72  # of the product's wheel: the other solution steps every fifth degree on its way


def apart(one: object, other: object) -> float:
    """Largest difference; infinite where one is not a number."""
    return float(np.max(np.nan_to_num(np.abs(np.subtract(one, other)), nan=np.inf)))  # type: ignore[call-overload]


def kind_of(own: GearAtHand) -> str:
    """The other solution's word for a gear."""
    return own.gear.name.removeprefix("plain ")


def full_tables(name: str, state: str = DRAWING, side: str = "left") -> Tables:
    """A gear's tables for the other solutions, what may be left out filled in."""
    tables = plain_tables(example(name), state, side) if name in EXAMPLES else TRIAL[name][1]
    given = {"rocker": {"angle": 0.0} | tables["valve"]["rocker"]} if "rocker" in tables["valve"] else {}
    filled = tables | {"valve": tables["valve"] | given}
    if "reversing" in tables:
        filled["reversing"] = {"suspension": "lifting link"} | tables["reversing"]
    return filled


def gear_of(name: str, state: str = DRAWING, side: str = "left") -> GearAtHand:
    return of_engine(example(name), state, side) if name in EXAMPLES else every_gear()[name]


# ---- positions ------------------------------------------------------------------------------------------------------


def states_that_differ() -> list[tuple[str, str, str]]:
    """Examples' states and sides of which either solution is given something new."""
    every = [
        (name, state, side) for name in EXAMPLES for state in example(name).state_names for side in example(name).sides
    ]
    given: dict[str, tuple[str, str, str]] = {}
    for case in every:
        own = gear_of(*case)
        given.setdefault(repr((full_tables(*case), own.gear, own.settings)), case)
    return list(given.values())


@pytest.mark.parametrize(
    ("name", "state", "side"), [*((name, DRAWING, "left") for name in TRIALS), *states_that_differ()]
)
def test_spindle_die_and_link_stand_alike_in_every_notch_state_and_direction(name: str, state: str, side: str) -> None:
    """Running backward the other solution comes upon the same places from the other side: asked in the first notch."""
    own, tables = gear_of(name, state, side), full_tables(name, state, side)
    for row, (notch, setting) in enumerate(own.settings.items()):
        turned = revolve(own.gear, setting)
        for way, sense in (("forward", 1), ("backward", -1))[: 1 if row else 2]:
            at = sense * np.radians(ANGLES)
            theirs = joints.solve(tables, number_of(setting), ANGLES, way, kind_of(own))
            assert apart(turned.spindle[0](at), theirs.valve) < POSITION, (notch, way)
            if name in LINKED:
                assert apart(turned.die[0](at), theirs.die_place) < POSITION, (notch, way)
                assert apart(turned.swing[0](at), theirs.link_angle) < POSITION, (notch, way)


@pytest.mark.parametrize("name", EVERY)
def test_every_part_closes_at_each_tenth_of_a_degree_in_every_notch(name: str) -> None:
    own = gear_of(name)
    for notch, setting in own.settings.items():
        left = misfit(solve(own.gear.declare(setting), Wheel.revolution(3600)))
        assert len(left) >= 4
        assert max(left.values()) < 1e-9, (notch, left)


# ---- drawn gears ----------------------------------------------------------------------------------------------------

KEPT: Counter[bool] = Counter()


def by_product(kind: str, tables: Tables, place: float) -> np.ndarray | None:
    """Spindle along its guide at each of ANGLES, mm; None when the product refuses."""
    own, setting = drawn_gear(kind, tables, place)
    try:
        return solve(own.gear.declare(setting), Wheel.revolution(STEPS)).along(VALVE_GUIDE)[:: STEPS // ANGLES.size]
    except LinkageError:
        return None


def drawn_gear(kind: str, tables: Tables, place: float) -> tuple[GearAtHand, ReverserPosition]:
    """The product's gear and its setting."""
    own = of_tables("drawn", tables, "plain eccentric" if kind == "eccentric" else kind)
    return own, type(next(iter(own.settings.values())))(place)


def by_joint_angles(kind: str, tables: Tables, place: float) -> np.ndarray | None:
    """The same by the independent solution."""
    try:
        return joints.solve(tables, place, ANGLES, kind=kind).valve
    except NotClosed:
        return None


@settings(max_examples=60)
@given(eccentric_gears())
def test_drawn_gears_stand_alike_or_are_refused_by_both(drawn: tuple[str, Tables, float]) -> None:
    ours, theirs = by_product(*drawn), by_joint_angles(*drawn)
    KEPT[theirs is not None] += 1
    assert (ours is None) == (theirs is None)
    assert ours is None or apart(ours, theirs) < POSITION


def test_most_drawn_gears_were_compared() -> None:
    if not KEPT:
        test_drawn_gears_stand_alike_or_are_refused_by_both()
    assert KEPT[True] >= 54
    assert KEPT[True] > 10 * KEPT[False]


@pytest.mark.parametrize(("forward", "backward"), [(1139.0, 1185.0), (1133.0, 1210.0)])
def test_a_gooch_gear_with_unequal_rods_is_not_refused(forward: float, backward: float) -> None:
    """Its link leans 14 degrees back and 30 forward, or 8 and 37."""
    tables = with_changes(TRIAL["Gooch (gooch)"][1], {"eccentric_rods": {"forward": forward, "backward": backward}})
    for place in tables["reversing"]["notches"].values():
        own, setting = drawn_gear("gooch", tables, place)
        spindle = revolve(own.gear, setting).spindle[0](np.radians(ANGLES))
        assert apart(spindle, by_joint_angles("gooch", tables, place)) < POSITION


# ---- events ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", EVERY)
def test_events_are_alike_in_every_notch_and_both_directions(name: str) -> None:
    own, tables = gear_of(name), full_tables(name)
    if name in EXAMPLES:
        tables = with_central(tables, assess(example(name), sides=example(name).sides[:1]).sides[0].central_at)
    central, ports = tables["valve"]["central_at"], Ports.of(own.gear.valve)
    for notch, setting in own.settings.items():
        turned = TurnedOnce(tables, number_of(setting), kind_of(own))
        motion = revolve(own.gear, setting).displacement(central)
        for way in DIRECTIONS:
            told = both_ends(motion, ports, own.gear.crank, way)
            assert list(misses(told, turned, way)) == [], (notch, way)


@pytest.mark.parametrize("name", EXAMPLES)
def test_assessed_events_are_those_of_the_other_search(name: str) -> None:
    """Of the whole way from engine file to table, with the valve set for equal leads; a notch in the middle."""
    side, tables, kind = (
        assess(example(name), sides=example(name).sides[:1]).sides[0],
        full_tables(name),
        kind_of(gear_of(name)),
    )
    central = central_for_equal_lead(tables, number_of(side.settings[0]), kind)
    assert abs(side.central_at - central) < 1e-9  # mm
    row = len(side.notches) // 2 - 1
    found = eccentric_events(with_central(tables, central), number_of(side.settings[row]), "backward", kind)
    for end in ENDS:
        events = side.events["backward"][end]
        assert abs(events.lead[row] - found[end].lead) < POSITION
        for event in KINDS:
            (theirs,) = found[end].found[event]
            assert abs(events.angle[event][row] - theirs.angle) < ANGLE
            assert abs(events.percent[event][row] - theirs.percent) < PERCENT


@settings(max_examples=20)
@given(eccentric_gears())
def test_drawn_gears_have_the_same_events(drawn: tuple[str, Tables, float]) -> None:
    """With the valve central in the middle of its travel."""
    kind, tables, place = drawn
    valve = by_product(kind, tables, place)
    assume(valve is not None and by_joint_angles(kind, tables, place) is not None)
    assert valve is not None
    central = float(valve.max() + valve.min()) / 2
    own, setting = drawn_gear(kind, tables, place)
    turned = TurnedOnce(with_central(tables, central), place, kind)
    motion = revolve(own.gear, setting).displacement(central)
    for way in DIRECTIONS:
        assert list(misses(both_ends(motion, Ports.of(own.gear.valve), own.gear.crank, way), turned, way)) == []


def test_events_three_millionths_of_a_degree_off_would_be_seen() -> None:
    own, tables = gear_of("Gooch (gooch)"), full_tables("Gooch (gooch)")
    setting = own.settings["half forward"]
    turned = TurnedOnce(tables, number_of(setting), "gooch")
    motion = revolve(own.gear, setting).displacement(tables["valve"]["central_at"])
    told = both_ends(motion, Ports.of(own.gear.valve), own.gear.crank, "forward")
    assert list(misses(told, turned, "forward")) == []
    for shift in (-3e-6, 3e-6):
        assert len(list(misses(told, turned, "forward", shift))) == len(ENDS) * len(KINDS)


# ---- notches --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", LINKED)
def test_die_places_ask_for_the_same_arm(name: str) -> None:
    """Above and below mid link in turn, from gear to gear."""
    own, tables = gear_of(name), full_tables(name)
    place = (-60.0, 85.0)[LINKED.index(name) % 2]
    turned = number_of(own.gear.setting(DieHeight(place))) - arm_for_die(tables, place, kind_of(own))
    assert abs((turned + 180) % 360 - 180) < 1e-9, place  # degrees, or mm with the ideal suspension


@pytest.mark.parametrize("name", LINKED)
@pytest.mark.parametrize("place", [-60.0, 0.0, 85.0])
def test_the_arm_found_puts_the_die_where_it_was_asked(name: str, place: float) -> None:
    own, tables = gear_of(name), full_tables(name)
    arm = number_of(own.gear.setting(DieHeight(place)))
    assert abs(joints.solve(tables, arm, [0.0], kind=kind_of(own)).die_place[0] - place) < 1e-9


@settings(max_examples=12)
@given(eccentric_gears(), st.floats(-110.0, 110.0))
def test_drawn_gears_take_the_better_arm_for_a_die_place(drawn: tuple[str, Tables, float], place: float) -> None:
    """The arm brings the die there by the other solution, which finds none with its lifting link more upright."""
    kind, tables, setting = drawn
    assume(kind != "eccentric" and tables["reversing"]["suspension"] != "ideal")
    try:
        theirs = arm_for_die(tables, place, kind)
    except NotClosed:
        return
    own, _setting = drawn_gear(kind, tables, setting)
    arm = number_of(own.gear.setting(DieHeight(place)))
    assert abs(joints.at_front(tables, arm, kind)["die"] - place) < 1e-6
    assert joints.leaning(tables, arm, kind) < joints.leaning(tables, theirs, kind) + 1e-9


def test_an_arm_angle_with_the_ideal_suspension_says_where_the_real_link_would_hold_the_die() -> None:
    tables = full_tables("Gooch (gooch)")
    ideal = gear_from(with_changes(tables, {"reversing": {"suspension": "ideal"}}), "gooch")
    for arm in (8.0, -12.0):
        setting = ideal.setting(Arm(arm))
        assert isinstance(setting, DieHeld)
        assert abs(number_of(setting) - joints.solve(tables, arm, [0.0], kind="gooch").die_place[0]) < 1e-9


# ---- libraries ------------------------------------------------------------------------------------------------------

QUARTERS = np.arange(0.0, 360.0, 4.0)


@cache
def spindles(name: str) -> dict[float, np.ndarray]:
    """Spindle at each of QUARTERS by the product, by the figure of the notch."""
    own = gear_of(name)
    wheel = Wheel.revolution(QUARTERS.size)
    return {number_of(s): solve(own.gear.declare(s), wheel).along(VALVE_GUIDE) for s in own.settings.values()}


@pytest.mark.parametrize("name", EVERY)
def test_casadi_finds_the_same_motion_in_every_notch(name: str) -> None:
    pytest.importorskip("casadi")
    from tests.independent import casadi_eccentric

    revolution = casadi_eccentric.build(full_tables(name), QUARTERS.size, kind_of(gear_of(name)))
    for place, spindle in spindles(name).items():
        assert apart(revolution(place, QUARTERS)[0], spindle) < 1e-9


BY_EXUDYN = ("open rods, rocker", "crossed rods, direct", "launch link", "hung from below", "inclined")


@pytest.mark.parametrize("name", [*(f"{name} (stephenson)" for name in BY_EXUDYN), "stephenson_goods"])
def test_exudyn_finds_the_same_motion_in_every_notch(name: str) -> None:
    pytest.importorskip("exudyn")
    from tests.independent import exudyn_eccentric

    assert exudyn_eccentric.can_model(full_tables(name))
    for place, spindle in spindles(name).items():
        assert apart(exudyn_eccentric.valve_positions(full_tables(name), place, QUARTERS), spindle) < 1e-6
