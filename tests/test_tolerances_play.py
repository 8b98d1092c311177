"""Clearances among the tolerances, and a guide that turns about its own middle."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache, partial
from typing import Any

import numpy as np
import pytest

from linkmotion.commands.hold import HoldRequest, run_hold
from linkmotion.files.faults import FileError
from linkmotion.files.lengths import parse_length
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.figures.figure import figures_of
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.figures.play import CLEARANCE, clearable, freedom
from linkmotion.studies.in_motion import in_motion
from linkmotion.studies.tolerances.given import tolerances_from
from linkmotion.studies.tolerances.limits import holds, kept
from linkmotion.studies.tolerances.loosest import loosest
from linkmotion.studies.tolerances.spread import Sampled, Spread, linear_spread, monte_carlo, toleranced_side
from linkmotion.studies.tolerances.tolerance import (
    GUIDE,
    Tolerance,
    ToleranceError,
    draws,
    general_tolerances,
    moved_by,
    moves,
)
from linkmotion.wear.condition import Condition
from linkmotion.wear.lost_motion import DIE, lost_motion
from tests.gears_at_hand import EXAMPLES, example

STEMS = ("dock_shunter", "stephenson_goods", "metre_gauge", "donkey_eccentric")


@cache
def side_of(stem: str) -> SideEvents:
    return toleranced_side(example(stem).side_state())


def loose(side: SideEvents, amount: float, distribution: Any = "uniform") -> dict[Key, Tolerance]:
    return {(CLEARANCE, joint): Tolerance(amount, distribution, from_nothing=True) for joint in clearable(side.gear)}


@cache
def both(stem: str) -> tuple[Spread, Sampled]:
    side = side_of(stem)
    tolerances = general_tolerances(side.gear, side.settings[0], 0.02, 0.005) | loose(side, 0.06)
    return linear_spread(side, tolerances, side.notches[:1]), monte_carlo(side, tolerances, side.notches[:1], 2000)


# ---- what is drawn --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("distribution", ["normal", "uniform"])
def test_a_clearance_is_drawn_between_nothing_and_its_figure(distribution: Any) -> None:
    own = Tolerance(0.3, distribution, from_nothing=True)
    drawn = draws({(CLEARANCE, "foot"): own}, 40_000, np.random.SeedSequence(5))[:, 0]
    assert drawn.min() >= 0.0
    assert drawn.max() <= 0.3
    assert abs(np.mean(drawn) - own.mean) < 4 * own.std / np.sqrt(drawn.size)
    assert abs(np.std(drawn) / own.std - 1) < 4 / np.sqrt(2 * drawn.size)
    assert abs(np.std(drawn) / (1.05 * own.std) - 1) > 4 / np.sqrt(2 * drawn.size)  # the check can fail


def test_a_normal_clearance_has_the_deviation_of_a_normal_law_cut_off() -> None:
    from scipy.stats import truncnorm

    own = Tolerance(0.3, "normal", from_nothing=True)
    assert own.std == pytest.approx(0.3 / 4 * truncnorm(-2, 2).std(), rel=1e-12)


# ---- what play makes of the events ----------------------------------------------------------------------------------


@pytest.mark.parametrize("stem", STEMS)
def test_a_variant_with_clearances_runs_like_the_worn_gear_dragged(stem: str) -> None:
    """Against the wear model's own events in motion, which take the play up at twice as many positions."""
    side = side_of(stem)
    joints, notch = clearable(side.gear), side.notches[0]
    amounts = np.linspace(0.05, 0.2, len(joints))
    values, _causes = GearModel.of(side, figures_of(side, [notch]), loose(side, 1.0), afresh=True).tried(
        np.array([amounts, 0 * amounts])
    )
    pins = {joint: float(c) for joint, c in zip(joints, amounts, strict=True) if joint != DIE}
    slack = float(amounts[-1]) if joints[-1] == DIE else 0.0
    worn = replace(side, condition=Condition(clearance=pins, die_clearance=slack))
    found = in_motion(worn, 0, side.driven(0)[0])
    moving = found.figures() | {f"opening {end}": most for end, most in found.opening.items()}
    for value, figure in zip(values[0], figures_of(side, [notch]), strict=True):
        if figure.direction in ("", side.driven(0)[0]):
            assert value == pytest.approx(moving[f"{figure.kind} {figure.end}".strip()], abs=2e-3), figure
    assert np.max(np.abs(values[0] - values[1])) > 0.05


@pytest.mark.parametrize("stem", STEMS)
def test_a_travel_looked_at_alone_is_that_among_all_figures(stem: str) -> None:
    side = side_of(stem)
    every = list(figures_of(side, side.notches[:1]))
    travel = next(figure for figure in every if figure.kind == "travel")
    amounts = np.full((1, len(clearable(side.gear))), 0.15)
    among, alone = (
        GearModel.of(side, figures, loose(side, 1.0)).predict(amounts)[0, figures.index(travel)]
        for figures in (every, [travel])
    )
    assert alone == among
    assert among < GearModel.of(side, [travel], loose(side, 1.0)).at_figures[0] - 0.2


@pytest.mark.parametrize("stem", STEMS)
def test_without_clearance_the_figures_are_bit_for_bit_those_of_the_gear_alone(stem: str) -> None:
    side = side_of(stem)
    tolerances = general_tolerances(side.gear, side.settings[0], 0.1, 0.02)
    names = side.notches[:1]
    drawn = draws(tolerances, 5, np.random.SeedSequence(2))
    none = {key: own.scaled(0.0) for key, own in loose(side, 1.0).items()}
    alone, _why = GearModel.of(side, figures_of(side, names), tolerances, afresh=True).tried(drawn)
    with_none, _why = GearModel.of(side, figures_of(side, names), tolerances | none, afresh=True).tried(
        np.pad(drawn, ((0, 0), (0, len(none))))
    )
    assert np.array_equal(alone, with_none)


def test_leads_and_travel_fall_by_half_of_the_lost_motion() -> None:
    side = side_of("dock_shunter")
    names, joints = ["full forward"], clearable(side.gear)
    values, _why = GearModel.of(side, figures_of(side, names), loose(side, 1.0), afresh=True).tried(
        np.array([[0.1] * len(joints), [0.0] * len(joints)])
    )
    pins = {joint: 0.1 for joint in joints if joint != DIE}
    lost = lost_motion(side.gear, side.settings[0], Condition(clearance=pins, die_clearance=0.1), 1440).total
    x = side.displacement[:1].on_grid(1440)[0]
    change = dict(zip(((f.end, f.kind) for f in figures_of(side, names)), values[0] - values[1], strict=True))
    back = round(float(side.gear.crank.back_crank_angle) / (2 * np.pi) * 1440)
    assert change["front", "lead"] == pytest.approx(-lost[0] / 2, abs=1e-3)
    assert change["back", "lead"] == pytest.approx(-lost[back] / 2, abs=1e-3)
    assert change["", "travel"] == pytest.approx(-(lost[x.argmax()] + lost[x.argmin()]) / 2, abs=1e-3)
    assert change["front", "cutoff"] > 0.1  # the port closes later


def test_the_freedom_of_all_joints_is_the_lost_motion_of_a_millimetre_at_each() -> None:
    side = side_of("stephenson_goods")
    pins = {joint: 1.0 for joint in clearable(side.gear) if joint != DIE}
    lost = lost_motion(side.gear, side.settings[0], Condition(clearance=pins, die_clearance=1.0), 720).total
    own = freedom(side, side.notches[:1], clearable(side.gear))[side.notches[0]]
    assert np.max(np.abs(own.sum(0) - lost)) < 1e-12


@pytest.mark.parametrize("stem", STEMS)
def test_linear_and_monte_carlo_agree_with_clearances_too(stem: str) -> None:
    linear, sampled = both(stem)
    count = len(sampled.values)
    moves_much = linear.std > 1e-6
    z_std = (sampled.std / np.where(moves_much, linear.std, 1.0) - 1)[moves_much] * np.sqrt(2 * count)
    z_mean = ((sampled.mean - linear.mean)[moves_much] / linear.std[moves_much]) * np.sqrt(count)
    assert np.max(np.abs(z_std)) < 4.0
    assert np.max(np.abs(z_mean)) < 4.0
    assert np.max(np.abs(sampled.nominal - linear.nominal)) < 1e-7
    off = np.abs(linear.mean - linear.nominal)[moves_much] / linear.std[moves_much]
    assert np.max(off) > 0.5  # clearances do move the mean
    assert np.max(np.abs(np.sum(linear.share[moves_much], axis=1) - 1)) < 1e-12
    assert np.max(np.abs(sampled.share - linear.share)[moves_much]) < 6 / np.sqrt(count)


def test_the_loosest_set_with_clearances_meets_the_targets() -> None:
    side = side_of("dock_shunter")
    tolerances = general_tolerances(side.gear, side.settings[0]) | loose(side, 0.1)
    names = ["full forward"]
    found = loosest(side, tolerances, example("dock_shunter").targets, names, 0.9, 1000)
    assert found.met
    others = monte_carlo(side, found.tolerances, names, 2000, seed=9)
    again = kept(holds(example("dock_shunter").targets, others.figures, 2), others.values, 2)
    assert again.share > 0.9 - 4 * again.error
    assert len({round(factor, 3) for key, factor in found.factors.items() if key[0] == CLEARANCE}) > 3


# ---- the guide ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("stem", [path.stem for path in EXAMPLES])
def test_the_guide_turns_about_the_middle_of_the_pin_s_travel(stem: str) -> None:
    side = side_of(stem)
    valve, small = side.gear.valve, 1e-4
    moved = {
        key[1]: getattr(valve, key[1]) + small * by for key, by in moved_by(GUIDE, side.gear, side.central_at).items()
    }
    x = side.central_at * np.cos(np.radians(valve.guide_inclination))
    before = valve.guide_height + x * np.tan(np.radians(valve.guide_inclination))
    after = moved["guide_height"] + x * np.tan(np.radians(moved["guide_inclination"]))
    assert moved["guide_inclination"] != valve.guide_inclination
    assert abs(after - before) < 1e-7  # of the second order; about x = 0 it would be some 2e-3 mm
    assert moved_by(CENTRAL, side.gear, side.central_at) == {CENTRAL: 1.0}


def test_linear_and_sampled_gears_turn_the_guide_alike_and_it_matters_little() -> None:
    side = side_of("metre_gauge")
    only = {GUIDE: Tolerance(0.1)}
    keys, by = moves(only, side.gear, side.central_at)
    assert keys == (GUIDE, ("valve", "guide_height"))
    linear, sampled = linear_spread(side, only, ["mid"]), monte_carlo(side, only, ["mid"], 1000)
    lead = [i for i, figure in enumerate(linear.figures) if figure.kind == "lead"]
    assert np.max(np.abs(sampled.std[lead] / linear.std[lead] - 1)) < 4 / np.sqrt(2000)
    assert np.max(linear.std[lead]) < 0.05  # mm; turned about x = 0 it is some 0.2
    about_origin = GearModel.of(side, figures_of(side, ["mid"]), [GUIDE], afresh=True).tried(np.array([[0.0], [0.1]]))[
        0
    ]
    assert abs(np.diff(about_origin[:, lead[0]])[0]) > 0.3
    assert by.shape == (1, 2)


# ---- what is read ---------------------------------------------------------------------------------------------------


def read(tables: dict[str, Any], stem: str = "dock_shunter") -> dict[Key, Tolerance]:
    side = side_of(stem)
    return tolerances_from(tables, side.gear, side.settings[0], partial(parse_length, unit="in"))


def test_clearances_are_read_by_the_names_of_the_joints() -> None:
    found = read({"clearance": {"die pin": "4 thou", "die_in_the_slot": {"within": 0.005, "distribution": "uniform"}}})
    assert found[CLEARANCE, "die pin"] == Tolerance(0.1016, from_nothing=True)
    assert found[CLEARANCE, DIE] == Tolerance(0.127, "uniform", from_nothing=True)
    assert (CLEARANCE, "foot") not in found  # none is assumed
    every = read({"general_clearance": "3 thou", "clearance": {"foot": 0}})
    assert (CLEARANCE, "foot") not in every
    assert every[CLEARANCE, "lever pin"].within == pytest.approx(0.0762, abs=1e-9)
    assert {key[1] for key in every if key[0] == CLEARANCE} == {*clearable(side_of("dock_shunter").gear)} - {"foot"}


@pytest.mark.parametrize(
    ("tables", "words"),
    [
        ({"clearance": {"dye pin": 1}}, "clearance.die_pin"),
        ({"clearance": {"foot": -1}}, "0 or more"),
        ({"clearance": 0.1}, "TABLE"),
        ({"general_clearance": "wide"}, "not a length"),
    ],
)
def test_a_wrong_clearance_is_refused(tables: Any, words: str) -> None:
    with pytest.raises(ToleranceError, match=words):
        read(tables)


def test_the_example_s_clearances_are_told_by_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    dock = next(path for path in EXAMPLES if path.stem == "dock_shunter")
    run_hold(HoldRequest(dock, notches=("full forward",), samples=400, search=False))
    told = capsys.readouterr().out
    line = next(line for line in told.splitlines() if line.startswith("clearance: die in the slot"))
    assert "0.0040" in line
    assert line.rstrip().endswith("from nothing")
    assert "dragged after the gear" in told


def test_every_share_is_told_on_request_and_in_json(capsys: pytest.CaptureFixture[str]) -> None:
    dock = next(path for path in EXAMPLES if path.stem == "dock_shunter")
    for wishes in ({"shares": True}, {"output": "json"}):
        run_hold(HoldRequest(dock, notches=("mid",), samples=400, search=False, **wishes))
    told = capsys.readouterr().out
    cut = told.index("\n{") + 1
    assert "mid, running backward: share of each tolerance in the spread" in told[:cut]
    for row in json.loads(told[cut:])["shares"]:
        assert 0.85 < sum(row["shares"].values()) < 1.15  # by least squares on 400 gears
        assert list(row["shares"].values()) == sorted(row["shares"].values(), reverse=True)


@pytest.mark.parametrize("samples", [199, 1_000_001])
def test_samples_that_say_nothing_or_fill_the_memory_are_refused(samples: int) -> None:
    with pytest.raises(FileError, match=f"--samples: read {samples}"):
        run_hold(HoldRequest(EXAMPLES[0], samples=samples))
