"""Tolerances: what is read, the spread linear and by Monte Carlo, what cannot be assembled, the loosest set."""

from __future__ import annotations

import pickle
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from functools import cache, partial
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from linkmotion.commands.hold import HoldRequest, run_hold
from linkmotion.engine import Targets
from linkmotion.files.lengths import parse_length
from linkmotion.gears.sensitivity import Key, numbers, with_numbers
from linkmotion.linkage import LinkageError
from linkmotion.studies.assess import SideEvents, assess_side
from linkmotion.studies.figures.dimensions import CENTRAL, by_end, lap_keys
from linkmotion.studies.figures.figure import as_assessed, figures_of
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.tolerances.given import tolerances_from
from linkmotion.studies.tolerances.limits import Kept, holds, kept
from linkmotion.studies.tolerances.loosest import MOST, Loosest, cheapest, loosest, reachable, widest
from linkmotion.studies.tolerances.rows import governing
from linkmotion.studies.tolerances.spread import (
    BLOCK,
    Sampled,
    Spread,
    departures_of,
    linear_spread,
    monte_carlo,
    toleranced_side,
)
from linkmotion.studies.tolerances.tolerance import (
    GENERAL,
    GENERAL_ANGLE,
    Tolerance,
    ToleranceError,
    draws,
    general_tolerances,
)
from linkmotion.wear.condition import SOUND
from tests.gears_at_hand import EXAMPLES, example, with_valve

STEMS = tuple(path.stem for path in EXAMPLES)
SMALL, SMALL_ANGLE = 0.02, 0.005  # mm, degrees: so small that the events go linearly with them
IN = partial(parse_length, unit="in")


@cache
def side_of(stem: str) -> SideEvents:
    return toleranced_side(example(stem).side_state())


def small(side: SideEvents) -> dict[Key, Tolerance]:
    return general_tolerances(side.gear, side.settings[0], SMALL, SMALL_ANGLE)


def first_two(side: SideEvents) -> list[str]:
    return [side.notches[0], side.notches[len(side.notches) // 2]]


@cache
def both(stem: str) -> tuple[Spread, Sampled]:
    side = side_of(stem)
    return linear_spread(side, small(side), first_two(side)), monte_carlo(side, small(side), first_two(side), 2000)


# ---- what is read ---------------------------------------------------------------------------------------------------


def read(tables: dict[str, Any], stem: str = "dock_shunter") -> dict[Key, Tolerance]:
    side = side_of(stem)
    return tolerances_from(tables, side.gear, side.settings[0], IN)


def test_what_is_given_is_the_user_s_and_the_rest_is_assumed() -> None:
    found = read({"eccentric_rod": {"length": "1/64 in"}, "return_crank": {"angle": 0.25}})
    assert found["eccentric_rod", "length"] == Tolerance(25.4 / 64)
    assert found["return_crank", "angle"] == Tolerance(0.25)
    assert found["radius_rod", "length"] == Tolerance(GENERAL, assumed=True)
    assert found["valve", "guide_inclination"] == Tolerance(GENERAL_ANGLE, assumed=True)
    line = found["cylinder", "inclination"]  # as far off at the end of the connecting rod as a length may be
    assert np.radians(line.within) * 57.5 * 25.4 == pytest.approx(GENERAL, rel=1e-6)
    assert found["reversing", "arm angle"] == Tolerance(GENERAL_ANGLE, assumed=True)


def test_the_general_rule_as_built_in_is_in_millimetres_whatever_the_file_s_unit() -> None:
    assert read({})["radius_rod", "length"].within == GENERAL
    assert read({"general": 0.01})["radius_rod", "length"].within == 0.254


def test_a_general_tolerance_of_nothing_leaves_what_is_named() -> None:
    found = read({"general": 0, "general_angle": 0, "eccentric_rod": {"length": 0.01}})
    assert found == {("eccentric_rod", "length"): Tolerance(0.254)}


def test_a_dimension_said_to_be_exact_has_no_tolerance() -> None:
    assert ("eccentric_rod", "length") not in read({"eccentric_rod": {"length": 0}})


def test_a_rule_that_sets_the_valve_is_followed_unless_said_otherwise() -> None:
    assert CENTRAL not in read({})
    assert read({"valve": {"central_at": "5 thou"}})[CENTRAL] == Tolerance(0.127)


def test_distributions_of_all_and_of_one() -> None:
    found = read({
        "distribution": "uniform",
        "radius_rod": {"length": {"within": "10 thou", "distribution": "normal"}},
        "union_link": {"length": 0.01},
    })  # fmt: skip
    assert found["radius_rod", "length"] == Tolerance(0.254, "normal")
    assert found["union_link", "length"] == Tolerance(0.254, "uniform")
    assert found["valve", "steam_lap"] == Tolerance(GENERAL, "uniform", assumed=True)


def test_a_small_table_within_a_table() -> None:
    found = read({"valve": {"rocker": {"lower_arm": "1/32 in"}}}, "stephenson_goods")
    assert found["valve", "rocker.lower_arm"] == Tolerance(25.4 / 32)


@pytest.mark.parametrize(
    ("table", "front", "back"),
    [({"steam_lap": 0.01}, 0.254, 0.254), ({"steam_lap_front": 0.03, "steam_lap": 0.01}, 0.762, 0.254)],
)
def test_a_lap_s_tolerance_is_that_of_each_end_where_there_is_a_lap_for_each(
    table: dict[str, float], front: float, back: float
) -> None:
    side = side_of("dock_shunter")
    gear = by_end(side.gear, lap_keys("steam_lap"))
    found = tolerances_from({"valve": table}, gear, side.settings[0], IN)
    assert [found[key].within for key in lap_keys("steam_lap")] == pytest.approx([front, back], rel=1e-12)
    if len(table) > 1:
        with pytest.raises(ToleranceError, match="one steam_lap for both ends") as told:
            tolerances_from({"valve": table}, side.gear, side.settings[0], IN)
        assert told.value.remedy.startswith("write steam_lap: ")


@pytest.mark.parametrize(
    ("tables", "path", "words"),
    [
        ({"eccentric_rod": {"lenght": 1}}, ("eccentric_rod", "lenght"), "eccentric_rod.length"),
        ({"eccentric_rod": {"length": -1}}, ("eccentric_rod", "length"), "0 or more"),
        ({"eccentric_rod": {"length": "wide"}}, ("eccentric_rod", "length"), "not a length"),
        ({"eccentric_rod": {"length": True}}, ("eccentric_rod", "length"), "half-width"),
        ({"return_crank": {"angle": "1/64 in"}}, ("return_crank", "angle"), "half-width"),
        ({"eccentric_rod": 0.1}, ("eccentric_rod",), "TABLE"),
        ({"general": float("nan")}, ("general",), "nan"),
        ({"distribution": "square"}, ("distribution",), "normal or uniform"),
        ({"valve": {"admission": 1}}, ("valve", "admission"), "no such length or angle"),
    ],
)
def test_what_is_no_tolerance_is_refused_with_its_place(tables: Any, path: tuple[str, ...], words: str) -> None:
    with pytest.raises(ToleranceError, match=words) as refused:
        read(tables)
    assert refused.value.path == path


@pytest.mark.parametrize("distribution", ["normal", "uniform"])
def test_draws_have_the_deviation_that_is_counted_with(distribution: Any) -> None:
    own = Tolerance(0.3, distribution)
    drawn = draws({("a", "b"): own}, 40_000, np.random.SeedSequence(5))[:, 0]
    assert abs(np.std(drawn) / own.std - 1) < 4 / np.sqrt(2 * drawn.size)
    assert abs(np.mean(drawn)) < 4 * own.std / np.sqrt(drawn.size)
    beyond = np.mean(np.abs(drawn) > 0.3)
    assert beyond == 0.0 if distribution == "uniform" else abs(beyond - 0.0455) < 0.005


# ---- variants against the gear turned alone -------------------------------------------------------------------------

CASES = [("dock_shunter", "equal lead"), ("metre_gauge", "equal cutoff"), ("stephenson_goods", "equal opening"),
         ("donkey_eccentric", "equal lead"), ("gooch_tank", None), ("allan_saddle_tank", "equal cutoff")]  # fmt: skip


@pytest.mark.parametrize(("stem", "rule"), CASES)
def test_each_variant_has_the_events_of_its_own_gear(stem: str, rule: str | None) -> None:
    """Against assess, which turns one gear and sets its valve by itself."""
    setup = replace(example(stem).side_state(), condition=SOUND)
    names = [next(iter(setup.notches))]
    way = {"notch": names[0], "direction": "forward"}
    given = {"set_by": rule, "set_in": way} if rule else {"set_by": None, "central_at": side_of(stem).central_at}
    setup = replace(setup, gear=with_valve(setup.gear, **given))
    side = assess_side(setup, names)
    tolerances = general_tolerances(side.gear, side.settings[0], 1.0, 0.1)
    tolerances.pop(("reversing", "arm angle"), None)
    departures = draws(tolerances, 4, np.random.SeedSequence(3))
    values, causes = GearModel.of(side, figures_of(side, names), tolerances, afresh=True).tried(departures)
    assert not causes
    for own, drawn in zip(values, departures, strict=True):
        changed = {key: numbers(side.gear)[key] + by for key, by in zip(tolerances, drawn, strict=True)}
        alone = assess_side(replace(setup, gear=with_numbers(setup.gear, changed)), names)
        expected = [as_assessed(alone, figure) for figure in figures_of(side, names)]
        assert np.max(np.abs(own - expected)) < 2e-7  # the variants' series may be 1e-8 mm rough
        assert np.max(np.abs(own - values[0])) == 0.0 or np.max(np.abs(own - values[0])) > 1e-3


def test_the_arm_and_the_valve_on_its_spindle_are_moved_too() -> None:
    side = side_of("dock_shunter")
    names = ["full forward"]
    values, _causes = GearModel.of(
        side, figures_of(side, names), [("reversing", "arm angle"), CENTRAL], afresh=True
    ).tried(np.array([[0.0, 0.0], [0.0, 0.5], [0.4, 0.0]]))
    lead = [i for i, own in enumerate(figures_of(side, names)) if own.kind == "lead"]
    assert np.max(np.abs(values[1, lead] - values[0, lead] - [-sign * 0.5 for sign in (-1, 1)])) < 1e-9
    assert abs(values[2, -1] - values[0, -1]) > 0.5  # travel, mm


# ---- linear and Monte Carlo -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("stem", STEMS)
def test_linear_and_monte_carlo_agree_within_the_sampling_error(stem: str) -> None:
    linear, sampled = both(stem)
    count = len(sampled.values)
    moves = linear.std > 1e-9
    assert np.max(np.abs(sampled.std[~moves]), initial=0.0) < 1e-6
    z_std = (sampled.std / np.where(moves, linear.std, 1.0) - 1)[moves] * np.sqrt(2 * count)
    z_mean = ((sampled.mean - linear.mean)[moves] / linear.std[moves]) * np.sqrt(count)
    assert np.max(np.abs(z_std)) < 4.0
    assert np.max(np.abs(z_mean)) < 4.0
    assert np.max(np.abs(sampled.nominal - linear.nominal)) < 1e-7


def test_the_agreement_is_lost_when_a_deviation_is_a_tenth_off() -> None:
    linear, sampled = both("dock_shunter")
    moves = linear.std > 1e-9
    z = (sampled.std[moves] / (1.1 * linear.std[moves]) - 1) * np.sqrt(2 * len(sampled.values))
    assert np.min(np.abs(z)) > 4.0


@pytest.mark.parametrize("stem", STEMS)
def test_shares_add_up_and_agree(stem: str) -> None:
    linear, sampled = both(stem)
    moves = linear.std > 1e-9
    assert np.max(np.abs(np.sum(linear.share[moves], axis=1) - 1.0)) < 1e-12
    error = 6 / np.sqrt(len(sampled.values))  # of a share: its slope and the variances are sampled
    assert np.max(np.abs(sampled.share - linear.share)[moves]) < error
    assert np.max(sampled.unexplained[moves]) < 1e-3


def test_the_governing_tolerance_halved_halves_what_it_contributes() -> None:
    side = side_of("dock_shunter")
    names, tolerances = first_two(side), small(side)
    before = linear_spread(side, tolerances, names)
    figure = before.figures[2]  # front cutoff
    key, share = before.shares(figure)[0]
    after = linear_spread(side, tolerances | {key: tolerances[key].scaled(0.5)}, names)
    i = before.of(figure)
    assert share > 0.1
    assert after.std[i] ** 2 == pytest.approx(before.std[i] ** 2 * (1 - 0.75 * share), rel=1e-9)


def test_half_of_the_interval_is_two_deviations() -> None:
    linear, sampled = both("metre_gauge")
    i = linear.figures.index(next(own for own in linear.figures if own.kind == "cutoff"))
    assert (linear.high[i] - linear.low[i]) / linear.std[i] == pytest.approx(2 * 1.95996, rel=1e-5)
    inside = np.mean((sampled.values[:, i] >= sampled.low[i]) & (sampled.values[:, i] <= sampled.high[i]))
    assert abs(inside - 0.95) < 1e-3


def test_a_wide_tolerance_is_no_longer_linear_and_says_so() -> None:
    side = side_of("dock_shunter")
    wide = {key: own.scaled(100.0) for key, own in small(side).items()}
    sampled = monte_carlo(side, wide, ["forward 50"], 1000)
    assert np.max(sampled.unexplained) > 0.01


# ---- the same result wherever it is run -----------------------------------------------------------------------------


def run_on(executor: Executor | None, seed: int = 7) -> Sampled:
    side = side_of("dock_shunter")
    tolerances = general_tolerances(side.gear, side.settings[0])
    return monte_carlo(side, tolerances, ["full forward"], 2500, seed, executor)


@cache
def run_here() -> Sampled:
    return run_on(None)


def same(one: Sampled, two: Sampled) -> bool:
    pairs = ((getattr(one, name), getattr(two, name)) for name in ("values", "mean", "std", "low", "high", "share"))
    return all(np.array_equal(a, b, equal_nan=True) for a, b in pairs) and one.causes == two.causes


def test_another_seed_gives_another_sample_and_the_same_seed_the_same() -> None:
    assert same(run_here(), run_on(None))
    assert not same(run_here(), run_on(None, seed=8))


@pytest.mark.parametrize("method", ["fork", "spawn"])
@pytest.mark.filterwarnings("ignore:.*multi-threaded.*fork:DeprecationWarning")
def test_two_processes_give_the_same_to_the_last_digit(method: str) -> None:
    with ProcessPoolExecutor(2, mp_context=get_context(method)) as executor:
        assert same(run_here(), run_on(executor))


@contextmanager
def cluster() -> Iterator[Executor]:
    """Two worker processes of dask on this machine's own loopback."""
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, host="127.0.0.1"
        ) as machines,
        distributed.Client(machines) as client,
    ):
        yield client.get_executor()


@pytest.mark.filterwarnings("ignore")  # dask's own, while it starts and stops
def test_a_dask_cluster_s_executor_gives_the_same_to_the_last_digit() -> None:
    pytest.importorskip("distributed")
    with cluster() as executor:
        assert same(run_here(), run_on(executor))


def test_progress_is_told_block_by_block() -> None:
    side = side_of("donkey_eccentric")
    told: list[tuple[int, int]] = []
    monte_carlo(side, small(side), samples=2 * BLOCK + 7, progress=lambda done, total: told.append((done, total)))
    assert told == [(BLOCK, 2 * BLOCK + 7), (2 * BLOCK, 2 * BLOCK + 7), (2 * BLOCK + 7, 2 * BLOCK + 7)]


def test_a_sample_drawn_whole_is_a_sample_drawn_block_by_block() -> None:
    """What one block holds does not depend on how many follow."""
    side = side_of("donkey_eccentric")
    short, long = (monte_carlo(side, small(side), samples=n) for n in (BLOCK, 2 * BLOCK))
    assert np.array_equal(short.values, long.values[:BLOCK])


def test_the_work_sent_to_another_process_is_light() -> None:
    side = side_of("dock_shunter")
    assert len(pickle.dumps(GearModel.of(side, figures_of(side), small(side), afresh=True))) < 100_000


# ---- what cannot be assembled ---------------------------------------------------------------------------------------


def test_variants_that_do_not_meet_are_counted_and_the_others_are_untouched() -> None:
    side = side_of("dock_shunter")
    names, key = ["full forward"], ("eccentric_rod", "length")
    departures = np.zeros((40, 1))
    departures[[3, 17, 18], 0] = 400.0  # far too long
    departures[29, 0] = -600.0  # far too short
    departures[5, 0] = 0.3
    values, causes = GearModel.of(side, figures_of(side, names), [key], afresh=True).tried(departures)
    bad = np.isin(np.arange(40), [3, 17, 18, 29])
    assert np.all(np.isnan(values[bad]))
    assert causes.total() == 4
    assert all("eccentric rod" in cause for cause in causes)
    alone, none = GearModel.of(side, figures_of(side, names), [key], afresh=True).tried(departures[[5, 0]])
    assert not none
    assert np.max(np.abs(values[5] - alone[0])) < 1e-9
    assert np.max(np.abs(values[~bad][[0, 1, 2, 3]] - alone[1])) < 1e-9


@pytest.mark.parametrize(("stem", "wide"), [("dock_shunter", 20.0), ("gooch_tank", 12.0)])
def test_the_same_variants_fail_as_when_each_gear_is_assessed_alone(stem: str, wide: float) -> None:
    side = side_of(stem)
    setup, name = replace(example(stem).side_state(), condition=SOUND), side.notches[0]
    tolerances = general_tolerances(side.gear, side.settings[0], wide, 0.05)
    tolerances.pop(("reversing", "arm angle"))
    departures = draws(tolerances, 200, np.random.SeedSequence(4))
    values, causes = GearModel.of(side, figures_of(side, [name]), tolerances, afresh=True).tried(departures)
    lost = np.flatnonzero(np.isnan(values[:, -1]))
    assert 0 < causes.total() == lost.size < 40
    for i in (*lost, *np.flatnonzero(~np.isnan(values[:, -1]))[:4]):
        changed = {key: numbers(side.gear)[key] + by for key, by in zip(tolerances, departures[i], strict=True)}
        own = replace(setup, gear=with_numbers(setup.gear, changed))
        if i in lost:
            with pytest.raises(LinkageError):
                assess_side(own, [name])
        else:
            assert assess_side(own, [name]).motion.travel[0] == pytest.approx(values[i, -1], abs=1e-7)


def test_the_spread_is_over_those_that_can_be_assembled() -> None:
    side = side_of("dock_shunter")
    tolerances = {("eccentric_rod", "length"): Tolerance(260.0, "uniform")}
    sampled = monte_carlo(side, tolerances, ["full forward"], 300)
    assert 0 < sampled.failed < 300
    there = ~np.isnan(sampled.values[:, -1])
    assert np.sum(~there) == sampled.failed
    assert sampled.mean[-1] == pytest.approx(np.mean(sampled.values[there, -1]), rel=1e-12)
    target = holds(Targets(), sampled.figures, 2)
    whole = there[:150] & there[150:300]
    assert kept(target, sampled.values, 2).share <= np.mean(whole)


# ---- targets and the loosest set ------------------------------------------------------------------------------------


def test_targets_are_looked_at_in_each_notch_direction_and_end() -> None:
    figures = figures_of(side_of("dock_shunter"), ["full forward", "mid"])
    plain = holds(Targets(), figures, 2)
    assert len(plain) == 3 * 6  # two directions in mid gear; lead and cutoff: between ends, and each end's sides
    assert len(holds(Targets(lead=3.0), figures, 2)) == 3 * 8
    assert str(plain[0]) == "lead front against back, full forward, running forward"


def test_who_keeps_the_targets_is_counted_over_pairs() -> None:
    figures = figures_of(side_of("donkey_eccentric"), ["forward"])
    limits = holds(Targets(lead=3.0), figures, 2)
    values = np.zeros((8, len(figures)))
    front, back = (next(i for i, own in enumerate(figures) if (own.kind, own.end) == ("lead", end))
                   for end in ("front", "back"))  # fmt: skip
    values[:, [front, back]] = 3.0
    values[1, front] = 3.41  # of its fellow end, of its fellow side, and of the lead wanted: all beyond 0.4
    values[6] = np.nan
    found = kept(limits, values, 2)
    assert (found.engines, found.share) == (4, 0.5)
    by = {str(hold): share for hold, share in zip(limits, found.each, strict=True)}
    assert by["lead front against back, forward, running forward"] == 0.5
    assert by["back lead, left against right, forward, running forward"] == 0.75
    assert by["cutoff front against back, forward, running forward"] == 0.75


@pytest.mark.parametrize("wanted", [0.5, 0.95])
def test_the_widest_factor_is_the_one_that_halving_comes_to(wanted: float) -> None:
    """Against counting who keeps the limits with one factor after another."""
    figures = figures_of(side_of("donkey_eccentric"), ["forward"])
    limits, rng = holds(Targets(lead=3.0), figures, 2), np.random.default_rng(11)
    nominal = np.where([figure.kind == "lead" for figure in figures], 3.1, 40.0)
    departures = rng.normal(0.0, 0.3, (4001, len(figures)))
    departures[5] = np.nan
    low, high = 0.0, 50.0
    for _ in range(60):
        middle = (low + high) / 2
        enough = kept(limits, nominal + middle * departures, 2).share >= wanted
        low, high = (middle, high) if enough else (low, middle)
    found = widest(limits, nominal, departures, wanted, 50.0, 2)
    assert 0.1 < found < 5.0
    assert found == pytest.approx(low, rel=1e-12)
    assert widest(limits, nominal, departures, wanted, found / 2, 2) == found / 2
    assert widest(limits, nominal, 0.0 * departures[10:], wanted, 7.0, 2) == 7.0  # what stands still keeps them


def test_fewer_gears_are_the_first_of_more_and_wider_ones_depart_in_proportion() -> None:
    side = side_of("dock_shunter")
    own = general_tolerances(side.gear, side.settings[0])
    many, few = departures_of(own, 3 * BLOCK + 10, 4), departures_of(own, 2 * BLOCK, 4)
    assert many.shape == (3 * BLOCK + 10, len(own))
    assert np.array_equal(many[: 2 * BLOCK], few)
    wide = departures_of({key: each.scaled(3.0) for key, each in own.items()}, 2 * BLOCK, 4)
    assert np.max(np.abs(wide - 3.0 * few)) < 1e-12 * np.max(np.abs(wide))


def test_the_cheapest_factors_against_a_general_solver() -> None:
    from scipy.optimize import minimize

    rng = np.random.default_rng(2)
    for limits, dimensions in ((1, 5), (3, 6), (12, 9)):
        loads = rng.exponential(1.0, (limits, dimensions)) * (rng.uniform(size=(limits, dimensions)) < 0.7)
        own = cheapest(loads, most=4.0)
        assert np.max(loads @ own**2) < 1 + 1e-9
        rule = {"type": "ineq", "fun": lambda w, a=loads: 1 - a @ w, "jac": lambda w, a=loads: -a}
        best = minimize(
            lambda w: np.sum(w**-0.5), np.minimum(own**2, 15.0) * 0.8, jac=lambda w: -0.5 * w**-1.5, method="SLSQP",
            bounds=[(1e-6, 16.0)] * dimensions, constraints=[rule], options={"maxiter": 500, "ftol": 1e-12},
        )  # fmt: skip
        assert np.sum(1 / own) < best.fun * (1 + 1e-5)


@cache
def loosest_of(stem: str) -> Loosest:
    side = side_of(stem)
    tolerances = general_tolerances(side.gear, side.settings[0])
    return loosest(side, tolerances, example(stem).targets, first_two(side), 0.9, 2000)


def kept_of(stem: str, sampled: Sampled) -> Kept:
    """What gears with all their figures keep of an example's targets."""
    return kept(holds(example(stem).targets, sampled.figures, 2), sampled.values, 2)


@pytest.mark.parametrize("stem", ["dock_shunter", "stephenson_goods"])
def test_the_loosest_set_meets_the_targets_with_another_seed_too(stem: str) -> None:
    side, found = side_of(stem), loosest_of(stem)
    assert found.met
    again = monte_carlo(side, found.tolerances, first_two(side), 2000, seed=99)
    share = kept_of(stem, again)
    assert share.share > 0.9 - 4 * share.error
    assert found.kept.share < 0.9 + 4 * share.error  # and no more than wanted: it is the loosest


def test_a_little_looser_still_and_the_targets_are_missed() -> None:
    side, found = side_of("dock_shunter"), loosest_of("dock_shunter")
    wider = {key: own.scaled(1.25) for key, own in found.tolerances.items()}
    assert kept_of("dock_shunter", monte_carlo(side, wider, first_two(side), 2000)).share < 0.88


def test_what_the_targets_do_not_feel_is_let_go_and_what_they_feel_most_is_held_closest() -> None:
    found = loosest_of("dock_shunter")
    assert found.factors["expansion_link", "slot_top"] == MOST
    side = side_of("dock_shunter")
    spread = linear_spread(side, found.present, first_two(side))
    limits = holds(example("dock_shunter").targets, spread.figures, 2)
    assert [str(limit) for limit in limits] == [str(limit) for limit in found.kept.holds]
    key, _share = governing(limits[int(np.argmin(found.kept.each))], spread)
    assert found.factors[key] <= sorted(found.factors.values())[4]


def test_it_costs_less_than_scaling_all_alike() -> None:
    """By the cost rule itself, at no fewer engines within the targets."""
    side, found = side_of("dock_shunter"), loosest_of("dock_shunter")
    own = sum(1 / np.array(list(found.factors.values())))
    alike = len(found.present) / own  # the factor at which all alike would cost as much
    same_cost = {key: each.scaled(alike) for key, each in found.present.items()}
    with_them = kept_of("dock_shunter", monte_carlo(side, same_cost, first_two(side), 2000))
    assert with_them.share < found.kept.share


def test_a_target_that_the_drawing_misses_is_told_and_left_out() -> None:
    side = side_of("dock_shunter")
    linear = linear_spread(side, small(side), ["forward 50"])
    targets = Targets(cutoff_difference=0.01)
    within, missed = reachable(holds(targets, linear.figures, 2), linear.nominal)
    assert [hold.what for hold, _size in missed] == ["cutoff"]
    assert missed[0][1] > 0.01
    assert len(within) == 5


def test_the_loosest_set_is_the_same_in_two_processes() -> None:
    side = side_of("donkey_eccentric")
    tolerances = general_tolerances(side.gear, side.settings[0])
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as executor:
        two = loosest(side, tolerances, Targets(), wanted=0.9, samples=1500, executor=executor)
    assert two.tolerances == loosest(side, tolerances, Targets(), wanted=0.9, samples=1500).tolerances


# ---- the command ----------------------------------------------------------------------------------------------------

DOCK = next(path for path in EXAMPLES if path.stem == "dock_shunter")
DONKEY = next(path for path in EXAMPLES if path.stem == "donkey_eccentric")


def test_the_command_prints_what_is_to_be_held(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    request = HoldRequest(DOCK, notches=("full forward",), samples=1000, pictures=tmp_path / "plots",
                          tables={"eccentric_rod": {"length": "1/64 in"}})  # fmt: skip
    status = run_hold(request)
    told = capsys.readouterr().out
    assert status == (1 if float(told.split("At the present tolerances ")[1].split(" %")[0]) < 95 else 0)
    assert "eccentric rod: length" in told
    assert "0.0156" in told  # 1/64 in., in the file's own unit
    assert "assumed" in told
    drawn = sorted(path.name for path in (tmp_path / "plots").iterdir())
    assert len(drawn) == 4  # shares and spread of two figures
    assert b"share of the variance" in (tmp_path / "plots" / drawn[0]).read_bytes()


def test_json_and_csv_hold_the_same_figures(capsys: pytest.CaptureFixture[str]) -> None:
    import csv
    import json

    for output in ("json", "csv"):
        run_hold(HoldRequest(DONKEY, samples=400, search=False, output=output))
    text = capsys.readouterr().out
    cut = text.index("notch,direction")
    data, rows = json.loads(text[:cut]), list(csv.DictReader(text[cut:].splitlines()))
    assert len(rows) == len(data["events"]) == 26
    for row, event in zip(rows, data["events"], strict=True):
        assert float(row["std"]) == event["std"]
    assert data["kept_by_loosest"] is None


def test_a_wrong_tolerance_is_told_in_two_lines() -> None:
    with pytest.raises(ValueError, match=r"tolerances\.eccentric_rod\.lenght") as refused:
        run_hold(HoldRequest(DOCK, tables={"eccentric_rod": {"lenght": 1}}))
    assert len(str(refused.value).splitlines()) == 2


@pytest.mark.parametrize(
    ("mean", "high", "shown", "explained"), [(-3.0, -2.0, "never", False), (-1.0, 0.5, "-1.00", True)]
)
def test_an_opening_that_never_comes_is_not_printed_as_less_than_nothing_without_a_word(
    mean: float, high: float, shown: str, explained: bool
) -> None:
    from linkmotion.views.printout import Block, laid_out
    from linkmotion.views.tolerance_table import overlap_line, spread_table

    row = {"notch": "mid", "direction": "forward", "end": "front", "what": "opening", "unit": "mm"}
    rows = [row | {"mean": mean, "low": 2 * mean - high, "high": high}]
    blocks: list[Block] = [spread_table(rows, "", "mm"), *overlap_line(rows)]
    printed = "\n".join(line.text for line in laid_out(blocks, 120, "utf-8"))
    assert shown in printed.replace("−", "-")
    assert ("-" in printed.replace("−", "-")) == explained
    assert ("opens on some of the gears only" in printed) == explained
