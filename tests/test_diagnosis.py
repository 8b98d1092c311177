"""The diagnosis against closed forms, general libraries and planted faults; tests/benchmarks/diagnosis.py has more."""

from __future__ import annotations

import json
from dataclasses import replace
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
from linkmotion.studies.assess import assess
from linkmotion.studies.diagnosis.evidence import NONE, Linear, sets_of
from linkmotion.studies.diagnosis.mixture import Mixture
from linkmotion.studies.diagnosis.next_reading import candidates
from linkmotion.studies.diagnosis.priors import Priors, priors_of
from linkmotion.studies.diagnosis.result import FIRST, NOT_APART, NOT_SEEN
from linkmotion.studies.diagnosis.study import Diagnosis, TooFewReadings, diagnose
from linkmotion.studies.figures.figure import Reading
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.tolerances.tolerance import general_tolerances
from tests.benchmarks.diagnosis import cases, form, ready, score

DOCK, GOODS = "examples/dock_shunter.toml", "examples/stephenson_goods.toml"
ALL = sorted(str(path) for path in Path("examples").glob("*.toml"))
ROD = ("eccentric_rod", "length")


def planted(
    path: str, faults: dict[Any, float], seed: int = 3, noise: float = 1.0
) -> tuple[Any, Priors, list[Reading]]:
    """Readings of a gear whose dimensions are within their tolerances but for some faults."""
    side, priors, blank = ready(path)
    rng = np.random.default_rng(seed)
    truth = rng.standard_normal(len(priors.keys)) * priors.sound
    for key, size in faults.items():
        truth[priors.keys.index(key)] = size
    read = GearModel.of(side, blank, priors.keys).predict(truth @ priors.moves)[0]
    read = read + rng.standard_normal(len(read)) * [reading.sigma for reading in blank]
    return side, priors, [replace(own, value=float(value)) for own, value in zip(blank, read, strict=True)]


def found_in(path: str, faults: dict[Any, float], seed: int = 3) -> Diagnosis:
    side, priors, readings = planted(path, faults, seed)
    return diagnose(side, readings, priors)


# --- closed forms ---


@pytest.fixture
def some() -> tuple[Linear, np.ndarray[Any, Any]]:
    rng = np.random.default_rng(0)
    slopes = rng.standard_normal((9, 6))
    return Linear.about(slopes, rng.uniform(20, 400, 6)), 4 * rng.standard_normal(9)


def test_evidence_is_that_of_the_normal_law_for_every_set(some: tuple[Linear, Any]) -> None:
    linear, residual = some
    sets = sets_of(6)
    taken, more = linear.misfit_taken(sets, residual), linear.gains(sets)[1]
    base = linear.slopes @ linear.slopes.T + np.eye(9)
    plain = residual @ np.linalg.solve(base, residual)
    for i, members in enumerate(sets):
        wide = np.ones(6)
        for member in members[members != NONE]:
            wide[member] += linear.ratio[member]
        law = multivariate_normal(np.zeros(9), linear.slopes * wide @ linear.slopes.T + np.eye(9))
        ours = -0.5 * (plain - taken[i] + linear.log_det + more[i] + 9 * np.log(2 * np.pi))
        assert ours == pytest.approx(law.logpdf(residual), abs=1e-9)
    assert np.ptp(taken) > 1.0


def test_estimates_and_spreads_are_those_of_weighted_least_squares(some: tuple[Linear, Any]) -> None:
    linear, residual = some
    sets = sets_of(6)
    estimates, spreads = linear.estimates(sets, np.tile(residual, (len(sets), 1))), linear.spreads(sets)
    for i, members in enumerate(sets):
        wide = np.ones(6)
        for member in members[members != NONE]:
            wide[member] += linear.ratio[member]
        covariance = np.linalg.inv(linear.slopes.T @ linear.slopes + np.diag(1 / wide))
        np.testing.assert_allclose(estimates[i], covariance @ linear.slopes.T @ residual, rtol=0, atol=1e-9)
        np.testing.assert_allclose(linear.covariance(members), covariance, rtol=0, atol=1e-9)
        np.testing.assert_allclose(spreads[i], np.diag(covariance), rtol=0, atol=1e-9)


def test_intervals_of_a_mixture_are_quantiles_of_its_draws() -> None:
    sets = np.array([[NONE, NONE], [0, NONE], [0, 1]])
    weights, means = np.array([0.5, 0.3, 0.2]), np.array([[0.0, 0.0], [3.0, 0.0], [2.0, -4.0]])
    stds = np.array([[1.0, 1.0], [0.5, 1.0], [1.0, 2.0]])
    mixture = Mixture(sets, weights, means, stds)
    np.testing.assert_allclose(mixture.wrong(), [0.5, 0.2], rtol=0, atol=1e-12)
    rng = np.random.default_rng(1)
    which = rng.choice(3, 400_000, p=weights)
    draws = means[which] + stds[which] * rng.standard_normal((400_000, 2))
    np.testing.assert_allclose(mixture.intervals(), np.quantile(draws, [0.025, 0.975], axis=0), rtol=0, atol=0.03)
    mean, low, high = mixture.if_wrong()
    np.testing.assert_allclose(mean, [2.6, -4.0], rtol=0, atol=1e-12)
    width = norm.ppf(0.975) * 2.0
    np.testing.assert_allclose([low[1], high[1]], [-4 - width, -4 + width], rtol=0, atol=1e-6)


def test_with_no_fault_allowed_it_is_the_least_squares_solution_of_a_general_library() -> None:
    side, priors, readings = planted(DOCK, {})
    readings = [own for own in readings if own.kind in ("lead", "opening", "cutoff") and own.notch != "forward 40"]
    sound = replace(priors, number=(1.0, 0.0, 0.0))
    with np.errstate(divide="ignore"):  # the logarithm of no chance at all
        found = diagnose(side, readings, sound)
    model = GearModel.of(side, readings, priors.keys)
    sigma, read = np.array([r.sigma for r in readings]), np.array([r.value for r in readings])

    def residuals(z: Any) -> Any:
        left = (read - model.predict((z * priors.sound) @ priors.moves)) / sigma
        return np.concatenate([left, z], axis=1)

    def slopes(z: Any) -> Any:
        small = 1e-3 * np.eye(len(z))
        return (residuals(z + small) - residuals(z - small)).T / 2e-3

    start = np.zeros(len(priors.keys))
    library = least_squares(lambda z: residuals(z[None])[0], start, slopes, xtol=1e-12, ftol=1e-12, gtol=1e-12)
    ours = np.linalg.solve(priors.moves.T, found.departures) / priors.sound
    np.testing.assert_allclose(ours, library.x, rtol=0, atol=0.02)  # sound spreads; Gauss-Newton stops at 0.01
    assert found.misfit == pytest.approx(2 * library.cost, abs=0.01)
    assert found.first == ()


# --- planted faults ---


@pytest.mark.parametrize(("path", "seed"), [(DOCK, 5), (GOODS, 6)])
def test_intervals_hold_the_truth_and_the_fault_is_named(path: str, seed: int) -> None:
    side, priors, _all = ready(path)
    notches, kinds = ("full forward", "forward 50", "mid", "full backward"), ("lead", "opening", "die height")
    readings = [own for own in form(side) if own.notch in notches and own.kind in kinds]
    own = score(list(cases(side, priors, readings, 16, seed, "plain")))
    # 16 cases say so much: ± 2 standard deviations are 3 % of all intervals, 8 % of the planted ones and of the names.
    # The study of 500 (tests/benchmarks/diagnosis.py) holds 93 to 97 % and 95 %.
    assert 91.5 <= own.inside <= 98.5
    assert 85.0 <= own.inside_planted <= 100.0
    assert own.named >= 87.0
    assert own.how_many_named < 8
    assert own.unseen_told == 100.0
    assert own.misfits <= 5.0


def test_a_long_rod_is_found_with_its_length() -> None:
    found = found_in(DOCK, {ROD: 2.5})
    assert found.first == (ROD,)
    own = found.suspect(ROD)
    assert own.standing == FIRST
    assert own.low < 2.5 < own.high
    assert own.high - own.low < 1.2
    assert own.probability > 0.9
    assert found.fits


def test_a_narrow_port_is_found_though_the_figures_do_not_feel_it() -> None:
    port = ("valve", "port_width")
    found = found_in(DOCK, {port: -4.0})  # the openings bend where the port cuts them off
    assert found.first == (port,)
    assert found.fits
    assert found.suspect(port).low < -4.0 < found.suspect(port).high


def test_two_faults_are_found_together() -> None:
    faults = {ROD: -3.0, ("reversing", "arm"): 5.0}
    found = found_in(DOCK, faults)
    for key, size in faults.items():
        own = found.suspect(key)
        assert own.standing in (FIRST, NOT_APART)
        assert own.low < size < own.high


def test_a_sound_gear_is_not_accused() -> None:
    found = [found_in(DOCK, {}, seed) for seed in range(4)]
    assert sum(own.first == () for own in found) >= 3
    assert all(own.fits for own in found)


def test_what_these_readings_cannot_tell_apart_is_named() -> None:
    found = found_in(GOODS, {("reversing", "lifting_link"): 3.0})
    named = {own.key for own in found.suspects if own.standing in (FIRST, NOT_APART)}
    assert {("reversing", "lifting_link"), ("reversing", "shaft_y")} <= named
    group = next(own for own in found.alike if ("reversing", "lifting_link") in own.keys)
    rate = dict(zip(group.keys, group.rates, strict=True))
    longer, raised = rate["reversing", "lifting_link"], rate["reversing", "shaft_y"]
    assert longer / raised == pytest.approx(-1.0, abs=0.05)  # a longer link lowers it as a lower shaft does


def test_a_dimension_that_no_reading_sees_is_told() -> None:
    side, priors, readings = planted(DOCK, {})
    leads = [own for own in readings if own.kind == "lead"]
    found = diagnose(side, leads, priors)
    for key in (("valve", "exhaust_lap"), ("valve", "port_width"), ("expansion_link", "slot_top")):
        own = found.suspect(key)
        assert own.standing == NOT_SEEN
        assert own.seen == pytest.approx(0.0, abs=1e-6)
        spread = dict(zip(priors.keys, np.hypot(priors.sound, priors.wrong), strict=True))[key]
        assert own.high == pytest.approx(1.96 * spread, rel=0.02)  # nothing is known but what was before


def test_a_blunder_is_told_as_a_misfit_and_points_at_its_reading() -> None:
    side, priors, readings = planted(DOCK, {ROD: 2.5})
    at = next(i for i, own in enumerate(readings) if own.kind == "lead" and own.notch == "forward 40")
    wrong = [*readings]
    wrong[at] = replace(wrong[at], value=wrong[at].value + 2.0)
    found = diagnose(side, wrong, priors)
    assert not found.fits
    assert int(np.argmax(np.abs(found.stands_out))) == at
    assert diagnose(side, readings, priors).fits


def test_the_next_reading_tells_more_than_another_of_the_same_effort() -> None:
    side, priors, readings = planted(GOODS, {("reversing", "lifting_link"): 3.0, ("eccentrics", "forward_angle"): 1.0})
    few = [own for own in readings if own.kind in ("lead", "opening") and own.notch in ("full forward", "mid")]
    found = diagnose(side, few, priors)
    first, last = found.next[0], found.next[-1]
    assert first.chance > first.now + 0.02
    assert first.chance >= last.chance
    assert not {own.reading for own in found.next} & set(few)
    known = {(own.kind, own.notch, own.end) for own in few}
    assert all((own.kind, own.notch, own.end) not in known for own in candidates(side, tuple(few)))


@pytest.mark.parametrize("path", ALL)
def test_every_gear_can_be_diagnosed(path: str) -> None:
    _side, priors, _readings = ready(path)
    key = next(key for key in priors.keys if key[0] in ("eccentric_rod", "eccentric_rods"))
    found = found_in(path, {key: 3.0})
    own = found.suspect(key)
    assert own.standing in (FIRST, NOT_APART)
    assert own.low < 3.0 < own.high
    assert found.fits
    assert np.all(np.linalg.eigvalsh(found.covariance) > -1e-9)


def test_the_estimated_gear_gives_the_fitted_readings() -> None:
    side, priors, readings = planted(DOCK, {ROD: 2.5})
    found = diagnose(side, readings, priors)
    given = GearModel.of(side, found.readings, found.keys).predict(found.departures)[0]
    np.testing.assert_allclose(given, found.fitted, rtol=0, atol=1e-6)


def test_too_few_readings_are_refused_and_lost_motion_is_left_apart() -> None:
    side, priors, readings = planted(DOCK, {})
    lost = replace(readings[0], kind="lost motion", direction="forward", end="", at=90.0, value=0.4)
    with pytest.raises(TooFewReadings, match="2 usable readings"):
        diagnose(side, [*readings[:2], lost], priors)
    found = diagnose(side, [*readings[:5], lost], priors)
    assert found.apart == ((lost, 0.0),)
    assert len(found.readings) == 5


# --- the command ---


def test_the_examples_name_their_planted_faults(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    picture = tmp_path / "suspects.svg"
    request = DiagnoseRequest(Path(DOCK), Path("examples/readings/dock_shunter.toml"), picture=picture)
    assert run_diagnose(request) == 1
    words = capsys.readouterr().out
    assert "Likeliest wrong: eccentric rod: length" in words
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


def test_wrong_requests_are_told(tmp_path: Path) -> None:
    request = DiagnoseRequest(Path(DOCK), Path("examples/readings/dock_shunter.toml"))
    with pytest.raises(FileError, match="no readings of the right side"):
        run_diagnose(replace(request, sides=("right",)))
    with pytest.raises(FileError, match="--fault"):
        run_diagnose(replace(request, fault="wide"))
    text = Path("examples/readings/dock_shunter.toml").read_text(encoding="utf-8").splitlines()
    few = tmp_path / "few.toml"
    few.write_text("\n".join([*text[:19], "]"]), encoding="utf-8")
    with pytest.raises(FileError, match="2 usable readings"):
        run_diagnose(replace(request, readings=few))


def test_the_engine_of_the_examples_is_theirs() -> None:
    for name in ("dock_shunter", "stephenson_goods"):
        assert read_engine(f"examples/{name}.toml").name in Path(f"examples/readings/{name}.toml").read_text("utf-8")


def test_readings_of_a_gear_in_another_state_do_not_fit() -> None:
    engine = read_engine(DOCK)
    readings = read_readings("examples/readings/dock_shunter.toml", engine).of("left")
    others = {"return_crank.angle": 85.0, "reversing.lifting_link": "14", "radius_rod.length": "3' 1 15/16\""}
    for key, figure in others.items():
        engine = edit_engine(engine, key, figure, "otherwise")
    side = assess(engine, "otherwise", ("left",)).sides[0]
    found = diagnose(side, readings, priors_of(side, general_tolerances(side.gear, side.settings[0])))
    assert not found.fits  # with the eccentric rod four things are not as that state has them
    assert ("return_crank", "angle") in found.first
