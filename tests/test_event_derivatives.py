"""Derivatives of every event to every dimension, against central differences of the events themselves."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from linkmotion.engine import SideState
from linkmotion.events import EVENTS
from linkmotion.gears.reverser import Arm, DieHeight, figure
from linkmotion.gears.sensitivity import numbers, with_numbers
from linkmotion.studies.assess import SideEvents, assess_side
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.figures.figure import Figure, as_assessed, figures_of
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.tolerances.spread import toleranced_side
from linkmotion.valve import ENDS
from linkmotion.wear.condition import SOUND, Condition
from tests.gears_at_hand import EXAMPLES, Key, example, with_valve

STEMS = tuple(path.stem for path in EXAMPLES)
STEP = 2e-4  # mm, degrees: the events' own rounding (1e-10) over it is 1e-6, and its square is nothing
CASES = [(stem, "equal lead") for stem in STEMS] + [
    ("stephenson_goods", "equal opening"), ("gooch_tank", "equal opening"), ("metre_gauge", "equal cutoff"),
    ("stephenson_goods", "equal cutoff"), ("metre_gauge", "given"), ("donkey_eccentric", "given"),
]  # fmt: skip
NEAR = 3e-5  # mm or percent per mm or degree, and the same part of a large slope


def setup_of(stem: str, rule: str) -> SideState:
    """An example with its valve set by a rule in its first notch, or given half a millimetre off."""
    setup = replace(example(stem).side_state(), condition=SOUND)
    if rule == "given":
        return with_gear(setup, with_valve(setup.gear, set_by=None, central_at=assess_side(setup).central_at + 0.5))
    notch = next(iter(setup.notches))
    return with_gear(setup, with_valve(setup.gear, set_by=rule, set_in={"notch": notch, "direction": "forward"}))


def with_gear(setup: SideState, gear: Any) -> SideState:
    return replace(setup, gear=gear)


def figures_in(side: SideEvents, like: SideEvents) -> Any:
    """The figures of a side in the directions in which another is looked at."""
    return np.array([as_assessed(side, figure) for figure in figures_of(like)])


def difference(setup: SideState, like: SideEvents, key: Key) -> Any:
    """Central difference of every figure to one dimension; the reverser stays where it is."""
    value = numbers(setup.gear)[key]
    one, two = (
        figures_in(assess_side(with_gear(setup, with_numbers(setup.gear, {key: value + step})), like.notches), like)
        for step in (STEP, -STEP)
    )
    return (one - two) / (2 * STEP)


def model_of(side: SideEvents, notches: Any = None) -> GearModel:
    """Its figures to every dimension, the valve set afresh by its rule."""
    return GearModel.of(side, figures_of(side, notches), afresh=True)


def to(model: GearModel, key: Key) -> Any:
    """Derivatives of all figures to one dimension."""
    return model.slopes[:, model.keys.index(key)]


@cache
def found(stem: str, rule: str) -> tuple[SideState, SideEvents, GearModel]:
    setup = setup_of(stem, rule)
    names = tuple(setup.notches)
    side = assess_side(
        setup, [n for i, n in enumerate(names) if i in (0, len(names) // 2, len(names) - 1) or n == "mid"]
    )
    return setup, side, model_of(side)


def off(slope: Any, expected: Any) -> float:
    """Greatest departure, as a multiple of what is allowed; events that do not happen must be the same ones."""
    there = ~np.isnan(expected)
    assert np.array_equal(there, ~np.isnan(slope))
    slope, expected = slope[there], expected[there]
    return float(np.max(np.abs(slope - expected) / (NEAR * (1 + np.abs(expected)))))


@pytest.mark.parametrize(("stem", "rule"), CASES)
def test_every_event_of_each_end_to_every_dimension(stem: str, rule: str) -> None:
    """The other rules than equal leads add the same term to every dimension: each third is tried with them."""
    setup, side, derivatives = found(stem, rule)
    for key in list(numbers(side.gear))[:: 1 if rule == "equal lead" else 3]:
        assert off(to(derivatives, key), difference(setup, side, key)) < 1.0, key


@pytest.mark.parametrize("stem", ["dock_shunter", "stephenson_goods"])
def test_the_check_sees_a_slope_that_is_a_thousandth_off(stem: str) -> None:
    setup, side, derivatives = found(stem, "equal lead")
    key = next(key for key in derivatives.keys if "rod" in key[0] and np.ptp(to(derivatives, key)) > 0.1)
    assert off(1.001 * to(derivatives, key), difference(setup, side, key)) > 1.0


@pytest.mark.parametrize("stem", [s for s in STEMS if s not in ("donkey_eccentric", "southern_mineral")])  # no arm
def test_the_reverser_s_arm_turned_on_its_shaft(stem: str) -> None:
    """The notch in which the rule sets the valve turns with the others: the error is of the arm, not of a notch."""
    setup, side, derivatives = found(stem, "equal lead")

    def turned(by: float) -> Any:
        angles = [float(np.ravel(figure(s))[0]) + by for s in side.settings]
        notches = {name: Arm(angle) for name, angle in zip(side.notches, angles, strict=True)}
        gear: Any = setup.gear
        changed = replace(gear, reversing=replace(gear.reversing, notches=notches))
        return figures_in(assess_side(with_gear(setup, changed), side.notches), side)

    expected = (turned(STEP) - turned(-STEP)) / (2 * STEP)
    assert np.max(np.abs(expected)) > 0.01
    assert off(to(derivatives, ("reversing", "arm angle")), expected) < 1.0


@pytest.mark.parametrize("rule", ["equal lead", "given"])
def test_the_valve_moved_on_its_spindle_shifts_the_leads_of_the_ends_oppositely(rule: str) -> None:
    _setup, side, derivatives = found("dock_shunter", rule)
    moved = to(derivatives, CENTRAL)
    sign = side.ports.edge("steam", "front").sign
    for i, own in enumerate(derivatives.figures):
        if own.kind == "lead":
            assert abs(moved[i] + (sign if own.end == "front" else -sign)) < 1e-12
        if own.kind == "travel":
            assert abs(moved[i]) < 1e-12


def test_where_the_port_is_narrower_than_the_movement_only_its_width_tells() -> None:
    setup = setup_of("metre_gauge", "equal lead")
    side = assess_side(with_gear(setup, with_valve(setup.gear, port_width=20.0)))
    derivatives = model_of(side)
    full = [
        i
        for i, own in enumerate(derivatives.figures)
        if own.kind == "opening" and derivatives.at_figures[i] == 20.0 and side.notches.index(own.notch) == 0
    ]
    assert len(full) == 2
    for i in full:
        assert derivatives.slopes[i, derivatives.keys.index(("valve", "port_width"))] == 1.0
        assert np.count_nonzero(derivatives.slopes[i]) == 1


def test_a_lap_alters_the_lead_of_its_own_end_alone() -> None:
    setup = setup_of("metre_gauge", "given")
    lap = setup.gear.valve.steam_lap
    gear = with_valve(setup.gear, steam_lap=None, steam_lap_front=lap, steam_lap_back=lap)
    derivatives = model_of(assess_side(with_gear(setup, gear)))
    for i, own in enumerate(derivatives.figures):
        if own.kind == "lead":
            slopes = [to(derivatives, ("valve", f"steam_lap_{end}"))[i] for end in ENDS]
            assert slopes == ([-1.0, 0.0] if own.end == "front" else [0.0, -1.0])


def test_figures_are_told_in_the_order_of_their_values() -> None:
    _setup, side, derivatives = found("dock_shunter", "equal lead")
    for own, value in zip(derivatives.figures, derivatives.at_figures, strict=True):
        i = side.notches.index(own.notch)
        if own.kind == "travel":
            assert abs(value - side.motion.travel[i]) < 1e-9
        else:
            end = side.events[own.direction][own.end]
            assessed = end.percent[own.kind][i] if own.kind in EVENTS else getattr(end, own.kind)[i]
            assert abs(value - assessed) < 1e-9
    assert figures_of(side) == derivatives.figures


def test_one_notch_alone_gives_the_same_rows() -> None:
    side = toleranced_side(example("dock_shunter").side_state(), notches=["mid"])
    alone = model_of(side, ["mid"])
    _setup, _side, every = found("dock_shunter", "equal lead")
    rows = [every.figures.index(own) for own in alone.figures]
    assert np.max(np.abs(alone.slopes - every.slopes[rows])) < 1e-8


def test_a_die_height_s_notch_keeps_its_arm_angle() -> None:
    """A notch of the rack does not follow the gear's dimensions: that is what the differences were taken with."""
    setup, side, _derivatives = found("dock_shunter", "equal lead")
    notch = "mid"
    assert isinstance(setup.notches[notch], DieHeight)
    changed = assess_side(with_gear(setup, with_numbers(setup.gear, {("reversing", "shaft_y"): 775.0})), side.notches)
    at = side.notches.index(notch)
    assert figure(changed.settings[at]) == figure(side.settings[at])


def test_a_worn_side_is_refused() -> None:
    setup = replace(example("dock_shunter").side_state(), condition=Condition(clearance={"foot": 0.2}))
    with pytest.raises(ValueError, match="sound gear"):
        model_of(assess_side(setup))


def test_a_reading_follows_the_rule_like_an_event() -> None:
    """The valve at a crank angle, a cutoff as an angle and as a length: each gear set afresh for equal leads."""
    setup, side, _derivatives = found("dock_shunter", "equal lead")
    at = Figure(kind="valve", notch="mid", direction="forward", at=77.0)
    cutoff = Figure(kind="cutoff", notch="mid", direction="forward", end="back", unit="degrees")
    model = GearModel.of(side, [at, cutoff, replace(cutoff, unit="mm")], afresh=True)

    def read(own: SideEvents) -> Any:
        i = own.notches.index("mid")
        events, (front, back) = own.events["forward"]["back"], own.gear.crank.limits
        stroke = events.percent["cutoff"][i] / 100 * (front - back)
        return np.array([own.displacement[i](np.radians(77.0)), events.angle["cutoff"][i], stroke])

    assert np.max(np.abs(model.at_figures - read(side))) < 1e-8
    for key in (("eccentric_rod", "length"), ("cylinder", "crank_radius"), ("valve", "guide_height")):
        value = numbers(setup.gear)[key]
        one, two = (
            read(assess_side(with_gear(setup, with_numbers(setup.gear, {key: value + step})), side.notches))
            for step in (STEP, -STEP)
        )
        assert off(to(model, key), (one - two) / (2 * STEP)) < 1.0, key
    assert np.max(np.abs(model.slopes)) > 1.0


def test_a_figure_of_which_play_says_nothing_is_refused_with_clearances() -> None:
    side = toleranced_side(example("dock_shunter").side_state())
    height = Figure(kind="die height", notch="mid")
    with pytest.raises(ValueError, match="what a clearance does to it is not known"):
        GearModel.of(side, [height], [("clearance", "foot")])
