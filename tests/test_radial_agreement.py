"""Radial gears, and those with a bell crank, agree with the joint-angle solution and with casadi; they share no code.

Positions to 1e-7 mm, events to 1e-6 degrees: on trial gears, the examples in every state, and gears by hypothesis.
"""

from __future__ import annotations

from collections import Counter
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings

from linkmotion.engine import DRAWING
from linkmotion.events import DIRECTIONS, both_ends
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.linkage import LinkageError, Wheel, solve
from linkmotion.linkage.constraints import misfit
from linkmotion.revolution import revolve
from linkmotion.studies.assess import assess
from linkmotion.valve import Ports
from tests.drawn_gears import with_central
from tests.drawn_radial_gears import radial_gears
from tests.event_misses import POSITION, misses
from tests.gears_at_hand import TRIAL, GearAtHand, every_gear, example, number_of, of_engine, of_tables, plain_tables
from tests.independent import radial_gears as joints
from tests.independent.bell_crank_trial_gears import KIND_OF as BELL_CRANKED
from tests.independent.closing import NotClosed
from tests.independent.radial_gears import TurnedRadial
from tests.independent.radial_trial_gears import KIND_OF as RADIAL
from tests.independent.trial_gears import Tables

EXAMPLES = ("hackworth_quarry", "marshall_pumping", "joy_mixed_traffic", "baker_express", "southern_mineral")
TRIALS = tuple(f"{name} ({kind})" for name, kind in (RADIAL | BELL_CRANKED).items())
EVERY = (*TRIALS, *EXAMPLES)
ANGLES = np.arange(0.0, 360.0, 10.0)
STEPS = 72  # of the product's wheel: the other solution steps every fifth degree on its way


def apart(one: object, other: object) -> float:
    """Largest difference; infinite where one is not a number."""
    return float(np.max(np.nan_to_num(np.abs(np.subtract(one, other)), nan=np.inf)))  # type: ignore[call-overload]


def tables_of(name: str, state: str = DRAWING, side: str = "left") -> Tables:
    """A gear's tables for the other solutions, what an example's file leaves out filled in."""
    if name not in EXAMPLES:
        return TRIAL[name][1]
    tables = plain_tables(example(name), state, side)
    given = {"cylinder": {"line_height": 0.0, "inclination": 0.0}, "valve": {"guide_inclination": 0.0}}
    return tables | {table: keys | tables[table] for table, keys in given.items()}


def gear_of(name: str, state: str = DRAWING, side: str = "left") -> GearAtHand:
    return of_engine(example(name), state, side) if name in EXAMPLES else every_gear()[name]


def states_that_differ() -> list[tuple[str, str, str]]:
    """Examples' states and sides of which the other solution is given something new."""
    every = [
        (name, state, side) for name in EXAMPLES for state in example(name).state_names for side in example(name).sides
    ]
    found: dict[str, tuple[str, str, str]] = {}
    for case in every:
        found.setdefault(repr((tables_of(*case), gear_of(*case).gear)), case)
    return list(found.values())


@pytest.mark.parametrize(
    ("name", "state", "side"), [*((name, DRAWING, "left") for name in TRIALS), *states_that_differ()]
)
def test_spindle_and_die_stand_alike_in_every_notch_and_direction(name: str, state: str, side: str) -> None:
    """Running backward the other solution comes upon the same places from the other side: asked in the first notch."""
    own, tables = gear_of(name, state, side), tables_of(name, state, side)
    for row, (notch, setting) in enumerate(own.settings.items()):
        turned = revolve(own.gear, setting)
        for way, sense in (("forward", 1), ("backward", -1))[: 1 if row else 2]:
            at = sense * np.radians(ANGLES)
            theirs = joints.solve(tables, number_of(setting), ANGLES, own.gear.name, way)
            assert apart(turned.spindle[0](at), theirs["valve"]) < POSITION, (notch, way)
            if own.gear.slot is not None:
                assert apart(turned.die[0](at), theirs["die"]) < POSITION, (notch, way)


@pytest.mark.parametrize("name", TRIALS)
def test_every_part_closes_at_each_tenth_of_a_degree_in_every_notch(name: str) -> None:
    own = gear_of(name)
    for notch, setting in own.settings.items():
        left = misfit(solve(own.gear.declare(setting), Wheel.revolution(3600)))
        assert len(left) >= 5
        assert max(left.values()) < 1e-9, (notch, left)


# ---- drawn gears ----------------------------------------------------------------------------------------------------

KEPT: Counter[bool] = Counter()


@settings(max_examples=25)
@given(radial_gears())
def test_drawn_gears_stand_alike_or_are_refused_by_both(drawn: tuple[str, Tables, float]) -> None:
    """And with the valve central in the middle of its travel they have the same events, both ways."""
    kind, tables, arm = drawn
    own = of_tables("drawn", tables, kind)
    setting = type(next(iter(own.settings.values())))(arm)
    try:
        ours = solve(own.gear.declare(setting), Wheel.revolution(STEPS)).along(VALVE_GUIDE)[:: STEPS // ANGLES.size]
    except LinkageError:
        ours = None
    try:
        theirs = joints.solve(tables, arm, ANGLES, kind)["valve"]
    except NotClosed:
        theirs = None
    KEPT[theirs is not None] += 1
    assert (ours is None) == (theirs is None)
    if ours is None or theirs is None:
        return
    assert apart(ours, theirs) < POSITION
    central = float(ours.max() + ours.min()) / 2
    turned = TurnedRadial(with_central(tables, central), arm, kind)
    motion = revolve(own.gear, setting).displacement(central)
    for way in DIRECTIONS:
        assert list(misses(both_ends(motion, Ports.of(own.gear.valve), own.gear.crank, way), turned, way)) == []


def test_most_drawn_gears_were_compared() -> None:
    if not KEPT:
        test_drawn_gears_stand_alike_or_are_refused_by_both()
    assert KEPT[True] >= 20
    assert KEPT[True] > 5 * KEPT[False]


# ---- events ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", EVERY)
def test_events_are_alike_in_every_notch_and_both_directions(name: str) -> None:
    own, tables = gear_of(name), tables_of(name)
    if name in EXAMPLES:
        tables = with_central(tables, assess(example(name), sides=example(name).sides[:1]).sides[0].central_at)
    central, ports = tables["valve"]["central_at"], Ports.of(own.gear.valve)
    for notch, setting in own.settings.items():
        turned = TurnedRadial(tables, number_of(setting), own.gear.name)
        motion = revolve(own.gear, setting).displacement(central)
        for way in DIRECTIONS:
            assert list(misses(both_ends(motion, ports, own.gear.crank, way), turned, way)) == [], (notch, way)


def test_events_three_millionths_of_a_degree_off_would_be_seen() -> None:
    own, tables = gear_of("inside admission (joy)"), tables_of("inside admission (joy)")
    setting = own.settings["full forward"]
    turned = TurnedRadial(tables, number_of(setting), "joy")
    told = both_ends(
        revolve(own.gear, setting).displacement(tables["valve"]["central_at"]),
        Ports.of(own.gear.valve),
        own.gear.crank,
        "forward",
    )
    assert list(misses(told, turned, "forward")) == []
    assert len(list(misses(told, turned, "forward", 3e-6))) == 8


# ---- a general library ----------------------------------------------------------------------------------------------

QUARTERS = np.arange(0.0, 360.0, 4.0)


@cache
def spindles(name: str) -> dict[float, np.ndarray]:
    """Spindle at each of QUARTERS by the product, by the arm's angle."""
    own, wheel = gear_of(name), Wheel.revolution(QUARTERS.size)
    return {number_of(s): solve(own.gear.declare(s), wheel).along(VALVE_GUIDE) for s in own.settings.values()}


@pytest.mark.parametrize("name", EVERY)
def test_casadi_finds_the_same_motion_in_every_notch(name: str) -> None:
    pytest.importorskip("casadi")
    from tests.independent import casadi_bell_crank, casadi_radial

    kind = gear_of(name).gear.name
    kinds = casadi_bell_crank.BellCrankSketch if kind in BELL_CRANKED.values() else casadi_radial.Sketch
    revolution = casadi_radial.build(kinds(tables_of(name), kind), QUARTERS.size)
    for arm, spindle in spindles(name).items():
        assert apart(revolution(arm, QUARTERS), spindle) < 1e-9
