"""The diagnosis against closed forms, general libraries and planted faults; tests/benchmarks/diagnosis.py has more."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import cycle
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.stats import multivariate_normal, norm

from linkmotion.commands.diagnose import DiagnoseRequest, run_diagnose
from linkmotion.files.engine_file import edit_engine, read_engine
from linkmotion.files.faults import FileError
from linkmotion.files.readings_file import read_readings
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.assess import assess
from linkmotion.studies.diagnosis import next_reading
from linkmotion.studies.diagnosis.estimate import estimated
from linkmotion.studies.diagnosis.evidence import NONE, Linear, sets_of
from linkmotion.studies.diagnosis.fit import Fit
from linkmotion.studies.diagnosis.mixture import Mixture
from linkmotion.studies.diagnosis.next_reading import Explained, candidates
from linkmotion.studies.diagnosis.one_sided import beyond_an_edge
from linkmotion.studies.diagnosis.priors import CHANCES, SIZES, Priors, priors_of
from linkmotion.studies.diagnosis.result import FIRST, NOT_APART, NOT_SEEN, Diagnosis, TooFewReadings
from linkmotion.studies.diagnosis.side_readings import Part
from linkmotion.studies.diagnosis.study import Case, diagnose, diagnose_together
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.figures.disturbances import RISE, Method
from linkmotion.studies.figures.figure import PUSHED, Reading
from linkmotion.studies.figures.looseness import looseness
from linkmotion.studies.tolerances.tolerance import general_tolerances
from tests.benchmarks.diagnosis import NAMES, Bench, cases, score
from tests.taken_readings import Taking, drawn_taking, form, shop

DOCK, GOODS = "examples/dock_shunter.toml", "examples/stephenson_goods.toml"
ROD: Key = ("eccentric_rod", "length")
CAREFUL = Taking({"front": 0.0, "back": 0.0}, 0.0, 0.0, 0.0, 0.0, "forward", True)


def planted(
    name: str, faults: dict[Key, float], seed: int = 3, taking: Taking = CAREFUL, side: str = "left"
) -> tuple[Any, Priors, list[Reading]]:
    """Readings by an independent solver, of a gear within its tolerances but for some faults, taken somehow."""
    own, rng = shop(name, side), np.random.default_rng(seed)
    priors = priors_of(own.side, general_tolerances(own.side.gear, own.side.settings[0]))
    truth = rng.standard_normal(len(priors.keys)) * priors.sound
    for key, size in ({CENTRAL: 0.0} | faults).items():
        truth[priors.keys.index(key)] = size
    departures = dict(zip(priors.keys, (truth @ priors.moves).tolist(), strict=True))
    return own.side, priors, own.read(form(own.side), departures, taking, rng)


def found_in(name: str, faults: dict[Key, float], seed: int = 3, taking: Taking = CAREFUL) -> Diagnosis:
    side, priors, readings = planted(name, faults, seed, taking)
    return diagnose(side, readings, priors)


# --- closed forms ---


@pytest.fixture
def some() -> tuple[Linear, Any, Any]:
    """A linear problem of five dimensions and a misreading (nothing by itself), and the sets' wider variances."""
    rng = np.random.default_rng(0)
    linear = Linear.about(rng.standard_normal((9, 6)), np.array([1.0, 1.0, 1.0, 1.0, 1.0, 0.0]))
    sets = sets_of(range(5), [5])
    return linear, sets, np.where(sets == NONE, 0.0, rng.uniform(20, 400, sets.shape))


def variances(linear: Linear, members: Any, wide: Any) -> Any:
    own = linear.base.copy()
    for member, more in zip(members, wide, strict=True):
        if member != NONE:
            own[member] += more
    return own


def test_evidence_is_that_of_the_normal_law_for_every_set(some: tuple[Linear, Any, Any]) -> None:
    linear, sets, wide = some
    residual = 4 * np.random.default_rng(1).standard_normal(9)
    ours = linear.evidence(sets, wide[:, None], residual)[:, 0] - 4.5 * np.log(2 * np.pi)
    for i, members in enumerate(sets):
        own = variances(linear, members, wide[i])
        law = multivariate_normal(np.zeros(9), linear.slopes * own @ linear.slopes.T + np.eye(9))
        assert ours[i] == pytest.approx(law.logpdf(residual), abs=1e-9)
    assert np.ptp(ours) > 1.0


def test_estimates_and_spreads_are_those_of_weighted_least_squares(some: tuple[Linear, Any, Any]) -> None:
    linear, sets, wide = some
    residual = 4 * np.random.default_rng(1).standard_normal(9)
    estimates = linear.estimates(sets, wide, np.tile(residual, (len(sets), 1)))
    spreads = linear.spreads(sets, wide)
    for i, members in enumerate(sets):
        there = np.flatnonzero(own := variances(linear, members, wide[i]))  # what has no variance is nothing
        slopes = linear.slopes[:, there]
        covariance = np.linalg.inv(slopes.T @ slopes + np.diag(1 / own[there]))
        np.testing.assert_allclose(estimates[i, there], covariance @ slopes.T @ residual, rtol=0, atol=1e-9)
        np.testing.assert_allclose(
            linear.covariance(members, wide[i])[np.ix_(there, there)], covariance, rtol=0, atol=1e-9
        )
        np.testing.assert_allclose(spreads[i, there], np.diag(covariance), rtol=0, atol=1e-9)
        assert np.all(np.delete(estimates[i], there) == 0.0)


def test_intervals_of_a_mixture_are_quantiles_of_its_draws() -> None:
    sets = np.array([[NONE, NONE], [0, NONE], [0, 1]])
    weights, means = np.array([0.5, 0.3, 0.2]), np.array([[0.0, 0.0], [3.0, 0.0], [2.0, -4.0]])
    stds = np.array([[1.0, 1.0], [0.5, 1.0], [1.0, 2.0]])
    mixture = Mixture(sets, weights, means, stds, np.zeros(3))
    np.testing.assert_allclose(mixture.wrong(), [0.5, 0.2], rtol=0, atol=1e-12)
    rng = np.random.default_rng(1)
    which = rng.choice(3, 400_000, p=weights)
    draws = means[which] + stds[which] * rng.standard_normal((400_000, 2))
    np.testing.assert_allclose(mixture.intervals(), np.quantile(draws, [0.025, 0.975], axis=0), rtol=0, atol=0.03)
    mean, low, high = mixture.if_wrong(np.zeros(2))
    np.testing.assert_allclose(mean, [2.6, -4.0], rtol=0, atol=1e-12)
    width = norm.ppf(0.975) * 2.0
    np.testing.assert_allclose([low[1], high[1]], [-4 - width, -4 + width], rtol=0, atol=1e-6)
    wrong = draws[which > 0, 0]
    felt = wrong[np.abs(wrong) > 2.5]
    mean, low, high = mixture.if_wrong(np.array([2.5, 0.0]))  # of the other anything is felt
    np.testing.assert_allclose([low[0], high[0]], np.quantile(felt, [0.025, 0.975]), rtol=0, atol=0.02)
    assert mean[0] == pytest.approx(np.mean(felt), abs=0.01)


def test_covariances_of_two_unknowns_are_those_of_the_whole_matrix(some: tuple[Linear, Any, Any]) -> None:
    linear, sets, wide = some
    one, two = np.full(len(sets), 1), np.full(len(sets), 3)
    found = linear.between(sets, wide, one, two)
    expected = [linear.covariance(members, more)[1, 3] for members, more in zip(sets, wide, strict=True)]
    np.testing.assert_allclose(found, expected, rtol=0, atol=1e-9)


def test_of_two_faults_the_other_is_felt_too() -> None:
    """Against draws of both, which go together so that one makes up for the other."""
    sets = np.array([[0, NONE], [0, 1]])
    weights, means, stds = np.array([0.8, 0.2]), np.array([[3.0, 0.0], [2.4, 0.8]]), np.array([[0.3, 1.0], [1.0, 1.2]])
    between, least, usual = np.array([0.0, -0.9]), np.array([1.0, 1.5]), 0.4
    mixture = Mixture(sets, weights, means, stds, between)
    rng, count = np.random.default_rng(2), 600_000
    pair = rng.multivariate_normal(means[1], np.outer(stds[1], stds[1]) * [[1.0, -0.9], [-0.9, 1.0]], count)
    alone = 3.0 + 0.3 * rng.standard_normal(count)
    felt = np.all(np.abs(pair) > least, axis=1)
    value = np.concatenate([alone, pair[felt, 0]])
    weight = np.concatenate([np.full(count, 0.8), np.full(np.count_nonzero(felt), 0.2 / usual)])
    order = np.argsort(value)
    below = np.cumsum(weight[order]) / np.sum(weight)
    mean, low, high = mixture.if_wrong(least, usual)
    expected = np.interp([0.025, 0.975], below, value[order])
    np.testing.assert_allclose([low[0], high[0]], expected, rtol=0, atol=0.03)
    assert mean[0] == pytest.approx(float(np.average(value, weights=weight)), abs=0.01)
    np.testing.assert_allclose([low[1], high[1]], np.quantile(pair[felt, 1], [0.025, 0.975]), rtol=0, atol=0.03)
    blind = mixture.if_wrong(np.array([1.0, 0.0]))[1][0]  # pairs of which one is next to nothing counted as two faults
    assert expected[0] < blind - 0.2


def test_intervals_of_felt_faults_are_those_of_draws_of_such_gears_weighed_by_the_readings() -> None:
    """No closed form: gears with no, one or two faults, each felt, weighed by how likely they make what was read."""
    rng, count, usual_fault, least = np.random.default_rng(4), 2_000_000, 5.0, 2.5
    slopes, read = np.array([[1.0, 0.9], [0.1, 0.45]]), np.array([6.5, 2.0])
    sets = np.array([[NONE, NONE], [0, NONE], [1, NONE], [0, 1]])
    prior = np.array([0.4, 0.2, 0.2, 0.2])
    linear = Linear.about(slopes, np.ones(2))
    wide = np.where(sets == NONE, 0.0, usual_fault**2)
    log = linear.evidence(sets, wide[:, None], read)[:, 0]
    weights = prior * np.exp(log)
    residuals = np.tile(read, (4, 1))
    means, stds = linear.estimates(sets, wide, residuals), np.sqrt(linear.spreads(sets, wide))
    covariance = linear.between(sets, wide, np.zeros(4, int), np.ones(4, int))
    mixture = Mixture(sets, weights / np.sum(weights), means, stds, covariance / np.prod(stds, axis=1))
    usual = 2 * norm.sf(least / np.hypot(1.0, usual_fault))
    _mean, low, high = mixture.if_wrong(np.full(2, least), usual)
    which = rng.choice(4, count, p=prior)
    wrong = np.stack([np.isin(which, (1, 3)), np.isin(which, (2, 3))], axis=1)
    tail = norm.isf(usual / 2 * rng.random((count, 2))) * np.hypot(1.0, usual_fault)
    drawn = np.where(wrong, tail * rng.choice([-1.0, 1.0], (count, 2)), rng.standard_normal((count, 2)))
    likely = np.exp(-0.5 * np.sum((read - drawn @ slopes.T) ** 2, axis=1))
    for i in range(2):
        own = np.flatnonzero(wrong[:, i])
        own = own[np.argsort(drawn[own, i])]
        below = np.cumsum(likely[own]) / np.sum(likely[own])
        np.testing.assert_allclose(
            [low[i], high[i]], np.interp([0.025, 0.975], below, drawn[own, i]), atol=0.15, rtol=0
        )


def test_a_hole_about_nothing_leaves_both_of_its_sides() -> None:
    """Nothing is felt, so what is wrong is far off one way or the other: a normal law without its middle."""
    mixture = Mixture(np.array([[0, NONE]]), np.ones(1), np.zeros((1, 1)), np.ones((1, 1)), np.zeros(1))
    mean, low, high = mixture.if_wrong(np.array([2.0]))
    edge = norm.isf(0.025 * 2 * norm.sf(2.0))
    np.testing.assert_allclose([mean[0], low[0], high[0]], [0.0, -edge, edge], rtol=0, atol=1e-6)


def test_beyond_an_edge_only_what_was_likely_before_is_said() -> None:
    """Readings feel it up to 3.5 alone, where they have it: the law in closed pieces, on a fine grid."""
    edge, near, before = 3.5, 0.1, 5.0
    one = Mixture(np.array([[0, NONE], [1, NONE]]), np.array([0.7, 0.3]), np.array([[edge, 1.0], [0.0, 2.0]]),
                  np.array([[near, 1.0], [1.0, 1.0]]), np.zeros(2))  # fmt: skip
    found = beyond_an_edge(one, 0, edge, np.full(2, before))
    x = np.linspace(2.0, 40.0, 400_000)
    law = norm.pdf(x, 0, before) * np.where(x < edge, np.exp(-0.5 * ((x - edge) / near) ** 2), 1.0)
    below = np.cumsum(law) / np.sum(law)
    expected = np.interp([0.025, 0.5, 0.975], below, x)
    mean, low, high = found.if_wrong(np.zeros(2))
    assert low[0] == pytest.approx(expected[0], abs=0.05)
    assert high[0] == pytest.approx(expected[2], abs=0.2)
    assert mean[0] == pytest.approx(np.sum(x * law) / np.sum(law), abs=0.1)
    np.testing.assert_allclose(found.wrong(), one.wrong(), rtol=0, atol=1e-12)
    np.testing.assert_allclose(found.if_wrong(np.zeros(2))[1][1], one.if_wrong(np.zeros(2))[1][1], rtol=0, atol=1e-6)
    short = beyond_an_edge(one, 0, 4.5, np.full(2, before))  # they have it well short of the edge: felt on both sides
    np.testing.assert_allclose(short.intervals(), one.intervals(), rtol=0, atol=1e-6)
    unfelt = replace(one, means=np.zeros((2, 2)), stds=np.full((2, 2), before))  # found beyond: nothing but the edge
    mean, low, high = beyond_an_edge(unfelt, 0, edge, np.full(2, before)).if_wrong(np.zeros(2))
    tail = norm.sf(edge / before)
    assert low[0] == pytest.approx(before * norm.isf(0.975 * tail), abs=0.05)
    assert high[0] == pytest.approx(before * norm.isf(0.025 * tail), abs=0.3)
    assert mean[0] == pytest.approx(before * norm.pdf(edge / before) / tail, abs=0.1)


def test_with_no_fault_allowed_it_is_the_least_squares_solution_of_a_general_library() -> None:
    """Dimensions, dead centres and play together, against scipy on the same exact predictions."""
    side, priors, readings = planted("dock_shunter", {})
    readings = [own for own in readings if own.kind in ("lead", "opening", "cutoff") and own.notch != "forward 40"]
    part = Part(side, readings, priors, Method())
    fit = Fit([part])
    sets = np.full((1, 2), NONE)
    fitted = fit.fitted(sets, np.zeros(1), fit.nothing()[0])
    ours = fitted.linear.estimates(sets, np.zeros((1, 2)), fitted.residual)[0]
    free = np.flatnonzero(part.base)
    columns, mean = part.disturbances.columns(part.model.about(part.departures(fitted.x[0])))

    def residuals(z: Any) -> Any:
        left = part.over(z[:, : part.exact]) - mean - z[:, part.exact :] @ columns.T
        return np.concatenate([left / part.sigma, z], axis=1)

    def slopes(z: Any) -> Any:
        small = 1e-3 * np.eye(len(z))
        return (residuals(z + small) - residuals(z - small)).T / 2e-3

    start = np.zeros(free.size)
    library = least_squares(lambda z: residuals(z[None])[0], start, slopes, xtol=1e-12, ftol=1e-12, gtol=1e-12)
    np.testing.assert_allclose(ours[free], library.x, rtol=0, atol=0.02)  # spreads
    misfit = float(fitted.linear.misfit(fitted.residual)[0])
    assert misfit == pytest.approx(2 * library.cost, abs=0.02)


# --- what is assumed ---


def test_the_size_of_a_fault_has_heavy_tails() -> None:
    """A mixture of normals: beside one with the same spread it has more both of small and of large faults."""
    assert sum(CHANCES) == pytest.approx(1.0, abs=1e-12)
    spread = np.sqrt(np.dot(CHANCES, np.square(SIZES)))
    beyond = sum(c * 2 * norm.sf(3 * spread / s) for c, s in zip(CHANCES, SIZES, strict=True))
    within = sum(c * (1 - 2 * norm.sf(0.1 * spread / s)) for c, s in zip(CHANCES, SIZES, strict=True))
    assert beyond > 5 * 2 * norm.sf(3.0)
    assert within > 2 * (1 - 2 * norm.sf(0.1))


def test_a_wrong_slope_of_the_line_is_as_far_out_at_the_rods_end_as_a_wrong_length() -> None:
    side = shop("stephenson_goods").side
    priors = priors_of(side, general_tolerances(side.gear, side.settings[0]), fault=20.0)
    slope = priors.wrong[priors.keys.index(("cylinder", "inclination"))]
    assert abs(np.tan(np.radians(slope)) * side.gear.connecting_rod.length - 20.0) < 0.01


def test_a_lap_is_one_for_each_end_and_the_valves_place_is_no_suspect() -> None:
    found = found_in("dock_shunter", {})
    keys = {own.key for own in found.suspects}
    assert {("valve", f"{lap}_lap_{end}") for lap in ("steam", "exhaust") for end in ("front", "back")} <= keys
    assert ("valve", "steam_lap") not in keys
    assert CENTRAL not in keys
    assert CENTRAL in found.keys


# --- sound engines, read as in a shop ---


def test_play_dead_centres_springs_and_setting_accuse_no_sound_engine() -> None:
    found = list(cases(NAMES, "sound", 18, 11))
    own = score(found, "sound")
    assert sum(any(suspect.probability > 0.5 for suspect in case.found.suspects) for case in found) <= 1, own
    assert sum(not case.found.fits for case in found) <= 1, own
    held = [case.found.low[i] <= case.truth[key] <= case.found.high[i] for case in found
            for i, key in enumerate(case.found.keys) if key in case.truth]  # fmt: skip
    assert 0.92 < np.mean(held) < 0.98  # of some 600, 95 % ± 3 with what goes together within a case


def test_readings_that_scatter_twice_as_far_as_stated_are_told_and_accuse_nothing() -> None:
    found = [case.found for case in cases(NAMES[:4], "noisy", 8, 12)]
    assert sum(own.grown > 1.0 for own in found) >= 7
    assert all(1.3 < own.grown < 3.0 for own in found if own.grown > 1.0)
    assert sum(bool(own.first) for own in found) <= 1
    assert all(own.fits for own in found)


@pytest.mark.parametrize("name", NAMES)
def test_each_disturbance_moves_the_readings_as_the_independent_gear_does(name: str) -> None:
    """A dead centre, the valve's place and the axle's height, each alone: nothing is left over but rounding."""
    own = Bench.of(name)
    quiet = replace(CAREFUL, noise=0.0)
    for taking in (
        replace(quiet, off={"front": 0.4, "back": 0.0}),
        replace(quiet, off={"front": 0.0, "back": -0.4}),
        replace(quiet, place=1.5, rise=5.0),
    ):
        readings = own.shop.read(own.blank, {}, taking, np.random.default_rng(0))
        part = Part(own.shop.side, readings, own.priors, Method())
        x = np.zeros(part.exact)
        x[part.keys.index(CENTRAL)] = taking.place / own.priors.sound[part.keys.index(CENTRAL)]
        x[-1] = taking.rise / RISE
        columns, _mean = part.disturbances.columns(part.model.about(part.departures(x)))
        spread = 0.5 / np.sqrt(3)  # degrees: anywhere within what is taken by eye
        by = columns[:, :2] @ (np.array([taking.off["front"], taking.off["back"]]) / spread)
        assert np.max(np.abs(part.over(x[None])[0] - by) / part.sigma) < 0.05
        assert np.max(np.abs(part.read - part.at_figures) / part.sigma) > 1.0  # it was felt


def test_play_lowers_both_leads_turned_forward_and_raises_them_turned_backward() -> None:
    own = Bench.of("dock_shunter")
    leads = [blank for blank in own.blank if blank.kind == "lead" and blank.notch == "full forward"]
    for turned, sign in (("forward", -1.0), ("backward", 1.0)):
        told = [replace(blank, turned=turned) for blank in leads]
        part = Part(own.shop.side, told, own.priors, Method())
        _columns, mean = part.disturbances.columns(part.model)
        assert np.all(sign * mean > 0.1)  # mm
    for turned in ("", "both ways"):
        part = Part(own.shop.side, [replace(blank, turned=turned) for blank in leads], own.priors, Method())
        assert np.all(part.disturbances.columns(part.model)[1] == 0.0)


@pytest.mark.parametrize(("pushed", "ahead"), [("pushed forward", 1.0), ("pushed back", -1.0)])
def test_a_spindle_pushed_one_way_moves_the_leads_as_its_length_does(pushed: str, ahead: float) -> None:
    """A valve ahead by half of the play opens the port at one end by that, and closes the other by it."""
    own = Bench.of("metre_gauge")
    leads = [replace(blank, turned=pushed) for blank in own.blank if blank.kind == "lead" and blank.notch == "mid"]
    part = Part(own.shop.side, leads, own.priors, Method())
    _columns, mean = part.disturbances.columns(part.model)
    play = 0.25 * np.sum(own.shop.free["mid"], axis=0)  # mm: a quarter at every joint, in all of the wheel's positions
    for reading, by in zip(leads, mean, strict=True):
        place = 0 if reading.end == "front" else round(play.size / 2)
        opens = 1.0 if (reading.end == "front") == (own.shop.tables["valve"]["admission"] == "inside") else -1.0
        # anywhere from half to all of a play that is anywhere from none to that: three eighths of its half
        assert by == pytest.approx(opens * ahead * 0.375 * play[place] / 2, rel=0.01)


def test_a_pushed_spindle_is_no_fault_where_the_file_says_so() -> None:
    """Play of 0.25 mm a pin, all on one side at the leads: said, it is reckoned with; and the play is found by it."""
    pushed = replace(CAREFUL, clearance=0.25, lag=1.0, turned="pushed forward")
    both = [planted("metre_gauge", {}, taking=replace(pushed, turned=way))[2] for way in PUSHED]
    side, priors, _rows = planted("metre_gauge", {})
    for readings in (both[0], [*both[0], *(own for own in both[1] if own.kind == "lead")]):
        assert {own.turned for own in readings if own.kind == "lead"} <= set(PUSHED)
        found = diagnose(side, readings, priors)
        assert found.fits
        assert found.grown == 1.0
        assert found.first == ()
        place = next(own for own in found.disturbances if own.name == "valve on its spindle")
        assert abs(place.estimate) < place.within  # it stands where the file has it
    leads = [[own for own in each if own.kind == "lead"] for each in both]
    apart = [one.value - two.value for one, two in zip(*leads, strict=True)]
    assert max(map(abs, apart)) > 1.0  # mm: what a push does is felt
    silent = [replace(own, turned="") for own in both[0]]
    alone = diagnose(side, silent, priors)
    off = {own.disturbances[0].name: own.disturbances[0].estimate for own in (alone,)}
    assert abs(off["valve on its spindle"]) > 0.3  # unsaid, it looks like the spindle's length


def test_lost_motion_that_was_read_says_how_much_play_there_is() -> None:
    side, priors, readings = planted("dock_shunter", {})
    lost = replace(readings[0], kind="lost motion", direction="forward", end="", at=90.0, value=0.4)
    assumed, told = (diagnose(side, rows, priors) for rows in (readings[:9], [*readings[:9], lost]))
    assert not assumed.loose.known
    assert assumed.loose.most == pytest.approx(1.73, abs=0.1)  # mm: a quarter of a millimetre at every joint
    assert told.loose.known
    assert told.loose.most < 0.6
    assert told.apart == ((lost, 0.0),)


def test_a_dead_centre_by_trammel_leaves_less_to_explain_a_return_crank_by() -> None:
    side, priors, readings = planted("dock_shunter", {("return_crank", "angle"): -1.0})
    leads = [own for own in readings if own.kind == "lead"]
    by_eye, by_trammel = (
        diagnose(side, leads, priors, Method(dict.fromkeys(("front", "back"), doubt))) for doubt in (0.5, 0.05)
    )
    crank = ("return_crank", "angle")
    assert by_trammel.suspect(crank).seen > 1.2 * by_eye.suspect(crank).seen


# --- what a fitter's method does to the readings, each by itself and to its full size ---


# One way for each engine: that both ways move readings alike is test_each_disturbance's affair, and the sound engines
# above have all of them at random.


@pytest.mark.parametrize(("name", "said"), list(zip(NAMES, cycle((True, False)))))
def test_play_of_a_tenth_at_every_pin_accuses_nothing(name: str, said: bool) -> None:
    """All of it taken up, wheel turned forward or not noted."""
    found = found_in(name, {}, taking=replace(CAREFUL, clearance=0.1, lag=1.0, said=said))
    assert found.first == ()
    assert found.fits
    assert found.grown == 1.0
    assert max(own.probability for own in found.suspects) < 0.5


@pytest.mark.parametrize(("name", "front", "back"), list(zip(NAMES, cycle((0.0, 0.5)), cycle((-0.5, 0.0)))))
def test_a_dead_centre_half_a_degree_out_accuses_nothing(name: str, front: float, back: float) -> None:
    found = found_in(name, {}, taking=replace(CAREFUL, off={"front": front, "back": back}))
    assert found.first == ()
    assert found.fits
    assert max(own.probability for own in found.suspects) < 0.5


@pytest.mark.parametrize(("name", "place"), list(zip(NAMES, cycle((1.7, -1.7)))))
def test_a_valve_off_its_place_is_told_as_that_and_no_part_is_blamed(name: str, place: float) -> None:
    found = found_in(name, {}, taking=replace(CAREFUL, place=place))
    i = found.keys.index(CENTRAL)
    assert found.low[i] < place < found.high[i]
    assert found.high[i] - found.low[i] < 4.0  # mm: it is found, not only allowed for
    assert found.first == ()
    assert max(own.probability for own in found.suspects) < 0.5


@pytest.mark.parametrize("name", NAMES)
def test_a_front_edge_a_millimetre_short_is_the_front_lap_and_not_both(name: str) -> None:
    front, back = ("valve", "steam_lap_front"), ("valve", "steam_lap_back")
    found = found_in(name, {front: -1.0})
    assert found.first == (front,)
    assert found.suspect(front).low < -1.0 < found.suspect(front).high
    assert found.suspect(back).probability < 0.5


# --- planted faults ---


def test_planted_faults_are_accused_and_their_intervals_hold_them() -> None:
    found = list(cases(NAMES, "single", 18, 13))
    named = [own.standing in (FIRST, NOT_APART) for case in found for own in [case.found.suspect(case.planted[0])]]
    held = [
        own.low <= case.truth[own.key] <= own.high for case in found for own in [case.found.suspect(case.planted[0])]
    ]
    assert sum(named) >= 17
    assert sum(held) >= 16
    alone = [own.key for case in found for own in case.found.suspects if own.probability > 0.5
             if own.key not in case.planted]  # fmt: skip
    assert len(alone) <= 1


def test_a_long_rod_is_found_with_its_length_in_a_set_of_its_twins() -> None:
    rng = np.random.default_rng(5)
    for _ in range(3):
        found = found_in("dock_shunter", {ROD: 2.5}, taking=drawn_taking(rng))
        own = found.suspect(ROD)
        assert own.standing in (FIRST, NOT_APART)
        assert own.low < 2.5 < own.high
        assert own in found.accused
        assert len(found.accused) <= 6
        assert found.fits
        assert found.sure > 0.9


def test_a_small_and_a_large_fault_are_both_found_for_what_they_are() -> None:
    lap = ("valve", "exhaust_lap_front")
    for size in (-0.8, -4.0):
        found = found_in("metre_gauge", {lap: size})
        assert found.first == (lap,)
        assert found.suspect(lap).low < size < found.suspect(lap).high


def test_a_front_edge_that_is_short_is_told_of_the_front_alone() -> None:
    front, back = ("valve", "steam_lap_front"), ("valve", "steam_lap_back")
    found = found_in("dock_shunter", {front: -1.5}, taking=replace(CAREFUL, place=1.0))
    told = {own.key: own for own in found.accused}
    assert front in told
    assert told[front].low < -1.5 < told[front].high
    assert found.suspect(back).standing not in (FIRST,)


def test_a_narrow_port_is_found_though_the_figures_do_not_feel_it() -> None:
    port = ("valve", "port_width")
    found = found_in("dock_shunter", {port: -4.0})  # the openings bend where the port cuts them off
    assert found.first == (port,)
    assert found.fits
    assert found.suspect(port).low < -4.0 < found.suspect(port).high


def test_a_port_wider_than_the_valve_opens_it_is_told_as_that_wide_or_wider() -> None:
    port = ("valve", "port_width")
    for wider in (6.0, 9.0):  # mm: beyond 5 or so the openings are alike
        own = found_in("stephenson_goods", {port: wider}).suspect(port)
        assert own.standing == FIRST
        assert own.low < wider < own.high


def test_two_faults_are_found_together() -> None:
    faults: dict[Key, float] = {ROD: -3.0, ("reversing", "arm"): 8.0}
    found = found_in("dock_shunter", faults)
    for key, size in faults.items():
        own = found.suspect(key)
        assert own.standing in (FIRST, NOT_APART)
        assert own.low < size < own.high


def test_what_these_readings_cannot_tell_apart_is_named() -> None:
    found = found_in("stephenson_goods", {("reversing", "lifting_link"): 5.0})
    accused = {own.key for own in found.accused}
    assert {("reversing", "lifting_link"), ("reversing", "shaft_y")} <= accused
    assert all(own.probability < 0.6 for own in found.accused)  # none of twins is accused by itself
    group = next(own for own in found.alike if ("reversing", "lifting_link") in own.keys)
    rate = dict(zip(group.keys, group.rates, strict=True))
    longer, raised = rate["reversing", "lifting_link"], rate["reversing", "shaft_y"]
    assert longer / raised == pytest.approx(-1.0, abs=0.05)  # a longer link lowers it as a lower shaft does


def test_a_dimension_that_no_reading_sees_is_told() -> None:
    side, priors, readings = planted("dock_shunter", {})
    found = diagnose(side, [own for own in readings if own.kind == "lead"], priors)
    for key in (("valve", "exhaust_lap_front"), ("valve", "port_width"), ("expansion_link", "slot_top")):
        own = found.suspect(key)
        assert own.standing == NOT_SEEN
        assert own.seen == pytest.approx(0.0, abs=1e-6)
        assert own.probability == 0.0  # left out


def test_one_misread_figure_is_named_for_retaking_and_never_a_right_one() -> None:
    found = list(cases(NAMES, "misread", 12, 14))
    named = [any(own.reading == case.slip for own in case.found.misread) for case in found]
    assert sum(named) >= 11
    assert not [own for case in found for own in case.found.misread if own.reading != case.slip]
    assert all(np.all(case.found.hidden > 0) for case in found)


def test_a_misreading_beside_a_fault_is_told_and_the_fault_is_still_found() -> None:
    side, priors, readings = planted("dock_shunter", {ROD: 2.5})
    at = next(i for i, own in enumerate(readings) if own.kind == "lead" and own.notch == "forward 40")
    wrong = [*readings]
    wrong[at] = replace(wrong[at], value=wrong[at].value + 2.0)
    found = diagnose(side, wrong, priors)
    assert [own.reading for own in found.misread] == [wrong[at]]
    assert found.misread[0].by == pytest.approx(2.0, abs=0.5)
    assert found.suspect(ROD).standing in (FIRST, NOT_APART)
    assert found.fitted[at] == pytest.approx(readings[at].value, abs=0.5)


def test_readings_full_of_blunders_do_not_fit() -> None:
    side, priors, readings = planted("dock_shunter", {})
    rng = np.random.default_rng(1)
    wild = [replace(own, value=own.value + 12 * own.sigma * float(rng.standard_normal())) for own in readings]
    found = diagnose(side, wild, priors)
    assert not found.fits
    assert found.grown > 3.0


# --- both sides ---


def test_what_both_sides_share_is_told_more_surely_by_both() -> None:
    shared = ("reversing", "shaft_y")
    both = [Case(*_case("stephenson_goods", {shared: -5.0}, side)) for side in ("left", "right")]
    alone = diagnose(both[0].side, both[0].readings, both[0].priors)
    left, right = diagnose_together(both)
    assert left.suspect(shared).probability == pytest.approx(right.suspect(shared).probability, abs=1e-6)
    assert left.suspect(shared).probability > alone.suspect(shared).probability + 0.2
    assert left.suspect(shared).low < -5.0 < left.suspect(shared).high


def test_a_fault_of_one_side_is_told_of_that_side() -> None:
    left, right = diagnose_together(
        [Case(*_case("dock_shunter", {ROD: 2.5}, "left")), Case(*_case("dock_shunter", {}, "right"))]
    )
    assert left.suspect(ROD).standing in (FIRST, NOT_APART)
    assert right.first == ()


def test_readings_of_a_side_that_fit_no_gear_say_nothing_of_the_other() -> None:
    left = Case(*_case("dock_shunter", {ROD: 2.5}, "left"))
    side, priors, readings = planted("dock_shunter", {}, side="right")
    rng = np.random.default_rng(1)
    wild = tuple(replace(own, value=own.value + 12 * own.sigma * float(rng.standard_normal())) for own in readings)
    own, other = diagnose_together([left, Case(side, wild, priors)])
    assert not other.fits
    assert own.fits
    assert own.grown == 1.0
    alone = diagnose(left.side, left.readings, left.priors)
    np.testing.assert_allclose(own.departures, alone.departures, rtol=0, atol=1e-12)


def test_two_sides_alone_and_together_agree_where_nothing_is_shared() -> None:
    """The donkey engine has no reverser, and its axle stands in fixed bearings: only the springs are in common."""
    both = [Case(*_case("donkey_eccentric", {}, side)) for side in ("left", "right")]
    together = diagnose_together(both)
    for case, found in zip(both, together, strict=True):
        alone = diagnose(case.side, case.readings, case.priors)
        np.testing.assert_allclose(found.departures, alone.departures, rtol=0, atol=0.05)


def _case(name: str, faults: dict[Key, float], side: str) -> tuple[Any, tuple[Reading, ...], Priors]:
    own, priors, readings = planted(name, faults, 3 if side == "left" else 4, side=side)
    return own, tuple(readings), priors


# --- what to read next ---


def test_the_next_reading_tells_more_than_another_of_the_same_effort() -> None:
    faults: dict[Key, float] = {("eccentrics", "forward_angle"): 2.0}
    side, priors, readings = planted("stephenson_goods", faults)
    few = [own for own in readings if own.kind in ("lead", "opening") and own.notch in ("full forward", "mid")]
    found = diagnose(side, few, priors)
    first, last = found.next[0], found.next[-1]
    assert first.chance > first.now + 0.02
    assert first.chance >= last.chance
    known = {(own.kind, own.notch, own.end) for own in few}
    assert all((own.kind, own.notch, own.end) not in known for own in candidates(side, tuple(few)))


def test_a_lead_tells_more_of_the_return_crank_where_dead_centres_are_known() -> None:
    """A lead goes by a dead centre that is out as by the return crank: by eye the next lead tells less of it."""
    own = Bench.of("dock_shunter")
    few = [blank for blank in own.blank if blank.kind == "opening"]
    crank = own.priors.keys.index(("return_crank", "angle"))
    narrows = []
    for doubt in (0.5, 0.05):
        part = Part(own.shop.side, few, own.priors, Method(dict.fromkeys(("front", "back"), doubt)))
        unknown = np.zeros(part.base.size)  # the return crank by five spreads, the dead centres; all else is known
        unknown[crank], unknown[part.exact : part.exact + 2] = 25.0, 1.0
        view = Explained((crank,), 1.0, np.zeros(part.base.size), np.diag(unknown))
        told = next_reading.next_readings(part, [view], most=100)
        narrows.append(next(each.narrows for each in told if str(each.reading) == "front lead, full backward"))
    by_eye, by_trammel = narrows
    assert by_trammel > by_eye + 0.02


@pytest.mark.parametrize("name", NAMES)
def test_every_gear_can_be_diagnosed(name: str) -> None:
    priors = planted(name, {})[1]
    key = next(key for key in priors.keys if key[0] in ("eccentric_rod", "eccentric_rods"))
    size = 6.0 if name == "donkey_eccentric" else 4.0  # there it looks like the valve's place on its spindle
    found = found_in(name, {key: size})
    own = found.suspect(key)
    assert own.standing in ((NOT_SEEN,) if name == "donkey_eccentric" else (FIRST, NOT_APART))
    assert own.standing == NOT_SEEN or own.low < size < own.high
    assert found.fits
    assert np.all(np.linalg.eigvalsh(found.covariance) > -1e-9)


def test_too_few_readings_are_refused() -> None:
    side, priors, readings = planted("stephenson_goods", {})
    lost = replace(readings[0], kind="lost motion", direction="forward", end="", at=90.0, value=0.4)
    assert len(diagnose(side, readings[:3], priors).readings) == 3
    with pytest.raises(TooFewReadings, match="2 usable readings"):
        diagnose(side, [*readings[:2], lost], priors)


def test_explanations_that_count_are_probabilities() -> None:
    side, priors, readings = planted("dock_shunter", {ROD: 2.5})
    found = estimated(Part(side, readings, priors, Method()))
    assert np.sum(found.weights) == pytest.approx(1.0, abs=1e-12)
    assert np.all(np.diff(found.weights) <= 0)


# --- the command ---


def test_the_examples_name_their_planted_faults(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    picture = tmp_path / "suspects.svg"
    request = DiagnoseRequest(Path(DOCK), Path("examples/readings/dock_shunter.toml"), picture=picture)
    assert run_diagnose(request) == 1
    words = capsys.readouterr().out
    assert "eccentric rod: length, off its figure by +0.0" in words
    assert "or one that looks like it" in " ".join(words.split())
    assert "These readings cannot tell it from: expansion link: foot backset" in " ".join(words.split())
    assert "certify nothing" in words
    assert picture.read_bytes().startswith(b"<?xml")
    assert run_diagnose(replace(request, json=True)) == 1
    data = json.loads(capsys.readouterr().out)
    (side,) = data["sides"]
    (rod,) = [own for own in side["suspects"] if own["dimension"] == "eccentric_rod.length"]
    assert rod["low"] < 3 / 32 < rod["high"]
    assert side["fits"]
    goods = DiagnoseRequest(Path(GOODS), Path("examples/readings/stephenson_goods.toml"), json=True)
    assert run_diagnose(goods) == 1
    (side,) = json.loads(capsys.readouterr().out)["sides"]
    named = {*side["first"], *side["not_told_apart"]}
    assert {"eccentrics.forward_angle", "reversing.lifting_link"} <= named


def test_a_misread_figure_is_told_with_its_line_and_what_it_should_be(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    text = Path("examples/readings/dock_shunter.toml").read_text(encoding="utf-8")
    wrong = tmp_path / "readings.toml"
    wrong.write_text(text.replace("front = 0.108, back = 0.131", "front = 0.170, back = 0.131"), encoding="utf-8")
    assert run_diagnose(DiagnoseRequest(Path(DOCK), wrong)) == 1
    words = " ".join(capsys.readouterr().out.split())
    line = next(i for i, row in enumerate(wrong.read_text("utf-8").splitlines(), 1) if "0.170" in row)
    assert f"Take again first: front lead, forward 50 (line {line}): read 0.170 in, where with the others" in words
    assert "dead centres within front 0.056° and back 0.078°" in words


def test_wrong_requests_are_told(tmp_path: Path) -> None:
    request = DiagnoseRequest(Path(DOCK), Path("examples/readings/dock_shunter.toml"))
    with pytest.raises(FileError, match="no readings of the right side"):
        run_diagnose(replace(request, side="right"))
    with pytest.raises(FileError, match="--fault"):
        run_diagnose(replace(request, fault="wide"))
    text = Path("examples/readings/dock_shunter.toml").read_text(encoding="utf-8").splitlines()
    few = tmp_path / "few.toml"
    few.write_text("\n".join([*text[:21], "]"]), encoding="utf-8")
    with pytest.raises(FileError, match="2 usable readings"):
        run_diagnose(replace(request, readings=few))


def test_the_engine_of_the_examples_is_theirs() -> None:
    for name in ("dock_shunter", "stephenson_goods"):
        assert read_engine(f"examples/{name}.toml").name in Path(f"examples/readings/{name}.toml").read_text("utf-8")


def test_readings_of_a_gear_in_another_state_do_not_fit() -> None:
    engine = read_engine(DOCK)
    readings = read_readings("examples/readings/dock_shunter.toml", engine).of("left")
    others = {"return_crank.angle": 85.0, "reversing.lifting_link": "14", "radius_rod.length": "3' 1 15/16\""}
    others |= {"combination_lever.upper_arm": "3", "expansion_link.foot_drop": "11 1/2"}
    for key, figure in others.items():
        engine = edit_engine(engine, key, figure, "otherwise")
    side = assess(engine, "otherwise", ("left",)).sides[0]
    found = diagnose(side, readings, priors_of(side, general_tolerances(side.gear, side.settings[0])))
    assert not found.fits  # with the eccentric rod six things are not as that state has them


# ---- what the next reading is worth ---------------------------------------------------------------------------------


def test_chance_of_a_right_answer_of_two_like_explanations_is_that_of_the_normal_law() -> None:
    """Two explanations as likely as each other, their readings Δ apart, each with the same spread σ: Φ(Δ/2σ)."""
    apart, std = np.array([0.0, 0.5, 1.0, 3.0, 12.0]), 0.7
    means = np.stack([np.full(5, 4.0), 4.0 + apart])
    found = next_reading._chances(np.array([0.5, 0.5]), means, np.full((2, 5), std))
    assert np.max(np.abs(found - norm.cdf(apart / (2 * std)))) < 2e-3


def test_a_reading_narrows_an_interval_as_its_information_says() -> None:
    """Against the covariance after it, found by adding the reading's information and inverting."""
    rng = np.random.default_rng(4)
    root = rng.normal(size=(4, 4))
    covariance, slopes, sigma = root @ root.T + 0.1 * np.eye(4), rng.normal(size=(6, 4)), rng.uniform(0.1, 2.0, 6)
    narrowed = np.array(
        [
            np.sqrt(np.diag(np.linalg.inv(np.linalg.inv(covariance) + np.outer(row, row) / own**2)))
            for row, own in zip(slopes, sigma, strict=True)
        ]
    )
    part = 1 - narrowed / np.sqrt(np.diag(covariance))  # of each dimension, by each reading
    found = next_reading._narrowing(covariance, [1, 3], slopes, sigma)
    assert np.max(np.abs(found - part[:, [1, 3]].max(axis=1))) < 1e-10


def test_clearances_that_the_state_gives_say_how_much_play_there_is() -> None:
    """As found the left side has three to six tenths of a millimetre at four pins; the joints not named have none."""
    worn = assess(read_engine(DOCK), "as found", ("left",)).sides[0]
    side = replace(worn, condition=replace(worn.condition, slot=()))  # of a slot's losses their mean is taken
    lead = Reading(side="left", kind="lead", notch="mid", end="front", value=3.0, sigma=0.05)
    loose = looseness(side, [lead])
    assert loose.known
    assert loose.clearances["foot"] == pytest.approx(0.012 * 25.4, abs=1e-9)
    assert loose.clearances["trunnion"] == 0.0
    mean = float(np.mean(side.lost[side.notches.index("mid")]))
    assert loose.most == pytest.approx(mean, rel=0.01)
