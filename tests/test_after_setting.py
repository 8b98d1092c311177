"""What setting takes up of tolerances: steps against every setting tried, figures against gears turned so set."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

import linkmotion as lm
from linkmotion.commands.hold import HoldRequest, run_hold
from linkmotion.engine import Targets
from linkmotion.gears.sensitivity import Key, numbers, with_numbers
from linkmotion.studies.assess import SideEvents, assess_side
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.figures.figure import Figure, as_assessed, figures_of
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.setting.adjustments import Adjustment, Given, adjustments_of, usual_adjustments
from linkmotion.studies.tolerances.after_setting import AfterSetting, after_setting, loosest_after_setting
from linkmotion.studies.tolerances.altered import altered
from linkmotion.studies.tolerances.gears_set import set_gears
from linkmotion.studies.tolerances.held import hold
from linkmotion.studies.tolerances.limits import kept
from linkmotion.studies.tolerances.loosest import loosest, reachable
from linkmotion.studies.tolerances.rounding import rounded
from linkmotion.studies.tolerances.setting_law import SettingLaw
from linkmotion.studies.tolerances.spread import departures_of, linear_spread, monte_carlo, toleranced_side
from linkmotion.studies.tolerances.tolerance import Tolerance, Tolerances, general_tolerances
from linkmotion.studies.tolerances.whole_steps import whole_steps
from linkmotion.wear.condition import SOUND
from tests.gears_at_hand import EXAMPLES, example

Array = NDArray[np.float64]
ROD, TRUNNION = ("eccentric_rod", "length"), ("expansion_link", "trunnion_x")
LIFTING, CRANK = ("reversing", "lifting_link"), ("return_crank", "angle")
DOCK = next(path for path in EXAMPLES if path.stem == "dock_shunter")


@cache
def side_of(stem: str, *notches: str) -> SideEvents:
    return toleranced_side(example(stem).side_state(), list(notches) or None)


def general(side: SideEvents, width: float = 1.0) -> dict[Key, Tolerance]:
    own = general_tolerances(side.gear, side.settings[0])
    return {key: each.scaled(width) for key, each in own.items()}


def adjusted(side: SideEvents, given: dict[Key, Given]) -> tuple[Adjustment, ...]:
    return adjustments_of(side.gear, given, [side.side])


def usual(side: SideEvents, finer: float = 1.0, further: float = 1.0) -> tuple[Adjustment, ...]:
    """What such gears have, with steps so much finer and a range so much wider."""
    found = usual_adjustments(side.gear, side.settings[0], False)
    given = {key: Given(own.step / finer, further * own.least, further * own.most) for key, own in found.items()}
    return adjusted(side, given)


def law_of(side: SideEvents, tolerances: Tolerances, given: tuple[Adjustment, ...], *notches: str) -> SettingLaw:
    law = SettingLaw.of(side, tolerances, given, Targets(), notches or None)
    assert law is not None
    return law


# ---- steps ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_whole_steps_against_every_setting_tried(count: int) -> None:
    """Of works some of which do nearly the same, limits to one side among them."""
    rng = np.random.default_rng(3)
    felt = rng.normal(size=(8, count))
    felt[:, -1] = felt[:, 0] + 0.3 * felt[:, -1]
    out = rng.normal(size=(400, 8)) * 4
    gram, pull = felt.T @ felt, out @ felt
    least, most = np.array([-2.0, 0, -3, -1])[:count], np.array([3.0, 4, 3, 2])[:count]
    found = whole_steps(gram, pull, least, most)
    every = np.array(list(product(*(np.arange(a, b + 1) for a, b in zip(least, most, strict=True)))))
    cost = np.sum((out[:, None, :] + every @ felt.T) ** 2, axis=-1)
    own = np.sum((out + found @ felt.T) ** 2, axis=-1)
    best = np.min(cost, axis=1)
    assert np.array_equal(found, np.round(found))
    assert np.all((found >= least) & (found <= most))
    assert np.all(own > best - 1e-9)
    assert np.mean(own > best + 1e-9) < 0.05  # a move of three works at once, now and then, would gain a little
    assert np.sum(own) < 1.002 * np.sum(best)


@pytest.mark.parametrize(("mean", "std"), [(0.0, 0.1), (0.0, 0.3), (0.4, 0.3), (1.3, 0.6), (0.5, 0.05)])
def test_rounding_as_a_linear_law_against_the_integral(mean: float, std: float) -> None:
    z = np.linspace(-9, 9, 2_000_001)
    weight = np.exp(-(z**2) / 2)
    weight /= np.sum(weight)
    steps = np.round(mean + std * z)
    always = np.sum(weight * steps)
    gain = np.sum(weight * steps * z) / std
    noise = np.sum(weight * (steps - always - gain * std * z) ** 2)
    assert rounded(mean, std) == pytest.approx((always, gain, noise), abs=2e-5)


# ---- what setting does to a gear ------------------------------------------------------------------------------------


def test_a_return_crank_turned_on_its_pin_keeps_its_length() -> None:
    """By the law of cosines, from the crank radius, the circle of its pin and the angle between."""
    gear = example("metre_gauge").side_state().gear
    own, radius = numbers(gear), gear.crank.radius
    found = altered(gear, CRANK, 0.5)
    assert set(found) == {CRANK, ("return_crank", "pin_radius")}

    def length(turned: float) -> float:
        out, angle = (own["return_crank", key] + turned * found["return_crank", key] for key in ("pin_radius", "angle"))
        return float(np.abs(radius - out * np.exp(1j * np.radians(angle))))

    def seen(turned: float) -> float:
        """The return crank's own angle at the crank pin."""
        out, angle = (own["return_crank", key] + turned * found["return_crank", key] for key in ("pin_radius", "angle"))
        return float(np.degrees(np.angle(out * np.exp(1j * np.radians(angle)) - radius)))

    assert length(1.0) == pytest.approx(length(0.0), abs=1e-9)
    assert abs(found["return_crank", "pin_radius"]) > 0.1
    assert abs(seen(1.0) - seen(0.0)) > 0.1
    assert altered(gear, ROD, 0.3) == {ROD: 0.3}


@pytest.mark.parametrize(
    ("stem", "notch", "without", "near"),
    [
        ("metre_gauge", "forward 50", (CRANK,), 2e-4),
        ("metre_gauge", "forward 50", (), 4e-4),  # that a return crank's own departures change its way is left out
        ("stephenson_goods", "mid", (), 1e-4),
    ],
)
def test_gears_set_are_those_turned_so_set(stem: str, notch: str, without: tuple[Key, ...], near: float) -> None:
    """Against assess, which turns one gear, altered as it is set, and puts its valve by the rule by itself.

    To ``near`` mm, and twenty times that of the stroke's percents.
    """
    whole, setup = side_of(stem), replace(example(stem).side_state(), condition=SOUND)
    tolerances = {key: own for key, own in general(whole).items() if key != ("reversing", "arm angle")}
    given = tuple(each for each in usual(whole, finer=5.0) if each.key not in (CENTRAL, *without))
    law = law_of(whole, tolerances, given, notch)
    departures = departures_of(tolerances, 4, 5)
    values = GearModel.of(whole, law.figures, tolerances, afresh=True).predict(departures)
    found, steps = set_gears(law, values, departures)
    assert np.sum(steps != 0) > 2
    for own, drawn, taken in zip(found, departures, steps, strict=True):
        changed = {key: numbers(whole.gear)[key] + by for key, by in zip(tolerances, drawn, strict=True)}
        gear = with_numbers(setup.gear, changed).as_set()
        settled = {
            each.key: numbers(gear)[each.key] + n * each.per_step
            for each, n in zip(given, taken, strict=True)
            if each.key in numbers(gear)
        }
        alone = assess_side(replace(setup, gear=with_numbers(gear, settled)), [notch])
        exact = [as_assessed(alone, figure) for figure in law.figures]
        for number, figure in enumerate(law.figures):
            allowed = near if figure.kind in ("lead", "opening", "travel") else 20 * near
            assert own[number] == pytest.approx(exact[number], abs=allowed)


def test_the_setting_of_a_gear_against_every_setting_tried_on_it() -> None:
    """Every gear turned with every setting of three works: front against back, and each end against the drawing."""
    side = side_of("dock_shunter", "full forward", "full backward")
    tolerances = general(side)
    given = adjusted(side, {key: Given(0.3, -0.6, 0.6, hours=1.0) for key in (TRUNNION, LIFTING, ROD)})
    law, count = law_of(side, tolerances, given), 8
    departures = departures_of(tolerances, count, 2)
    model = GearModel.of(side, figures_of(side), tolerances, afresh=True)
    values = model.predict(departures)
    _found, steps = set_gears(law, values, departures)
    every = np.array(list(product(range(-2, 3), repeat=3)))
    columns = [model.keys.index(each.key) for each in given]
    found, held = [], rows_of(law.figures)
    for i in range(count):
        rows = np.repeat(departures[i][None], len(every), axis=0)
        rows[:, columns] += every * [each.per_step for each in given]
        off = np.nan_to_num(model.predict(rows) - model.at_figures)
        cost = np.sum((off @ held.T) ** 2, axis=1) + np.sum((every / 2) ** 2, axis=1)  # an hour each, over two steps
        own = cost[np.flatnonzero(np.all(every == steps[i], axis=1))[0]]
        assert own < np.min(cost) + 0.02  # the squares of two settings as good as alike, by their slopes as drawn
        assert own < cost[len(every) // 2] + 1e-12  # as made
        found.append(own < np.min(cost) + 1e-9)
    assert np.sum(found) >= count - 1


def rows_of(figures: tuple[Figure, ...]) -> Array:
    """What a setting holds, as multiples of what is allowed: front against back, and each end against the drawing.

    Between the sides both depart, hence the root of two; targets are 0.4 mm and 2 % of the stroke, 5 % where a notch
    drives neither way.
    """
    rows = []
    for kind, limit in (("lead", 0.4), ("cutoff", 2.0)):
        fronts = [i for i, own in enumerate(figures) if (own.kind, own.end) == (kind, "front")]
        for front in fronts:
            back = figures.index(replace(figures[front], end="back"))
            ways = sum(figures[i].notch == figures[front].notch for i in fronts)
            allowed = 5.0 if kind == "cutoff" and ways == 2 else limit
            for first, second, factor in ((front, back, 1.0), (front, front, 2**0.5), (back, back, 2**0.5)):
                row = np.zeros(len(figures))
                row[first] += factor / allowed
                row[second] -= factor / allowed * (second != first)
                rows.append(row)
    return np.array(rows)


def test_a_rod_that_can_be_set_is_made_up_for_to_half_a_step() -> None:
    side = side_of("metre_gauge")
    tolerances = {ROD: Tolerance(1.0, "uniform")}
    law = law_of(side, tolerances, adjusted(side, {ROD: Given(0.25, -2.0, 2.0, hours=0.01)}))
    made = monte_carlo(side, tolerances, samples=400)
    after, departures = after_setting(law, made, Targets()), departures_of(tolerances, 400, 1)
    left = departures[:, 0] + 0.25 * after.steps[:, 0]
    assert np.max(np.abs(departures)) > 0.9
    assert np.max(np.abs(left)) < 0.125 + 1e-3
    exact = GearModel.of(side, law.figures, [ROD], afresh=True).predict(left[:, None])
    assert np.nanmax(np.abs(after.sampled.values - exact)) < 2e-3
    assert after.set_at_erection == (ROD,)
    assert after.left[ROD] < 0.01


def test_no_more_is_taken_up_than_the_range_allows() -> None:
    side = side_of("metre_gauge")
    tolerances = {ROD: Tolerance(2.0, "uniform")}
    law = law_of(side, tolerances, adjusted(side, {ROD: Given(0.5, 0.0, 0.5, hours=0.01)}))  # made longer, and once
    made = monte_carlo(side, tolerances, samples=400)
    steps, departures = after_setting(law, made, Targets()).steps[:, 0], departures_of(tolerances, 400, 1)[:, 0]
    assert set(steps) == {0.0, 1.0}
    assert np.all(steps[departures < -0.26] == 1)
    assert np.all(steps[departures > -0.24] == 0)


def test_a_gear_as_drawn_is_left_alone_and_one_that_cannot_be_turned_stays_unknown() -> None:
    side = side_of("dock_shunter", "full forward", "mid")
    tolerances = general(side)
    law = law_of(side, tolerances, usual(side))
    values = np.array([law.as_made.value, np.full(len(law.figures), np.nan)])
    found, steps = set_gears(law, values, np.zeros((2, len(tolerances))))
    assert not np.any(steps)
    assert np.array_equal(found[0], values[0])
    assert np.all(np.isnan(found[1]))


def test_no_gear_is_further_from_the_drawing_for_being_set() -> None:
    """By what a setting goes by; and all together are far nearer."""
    side = side_of("stephenson_goods")
    tolerances = general(side)
    law = law_of(side, tolerances, usual(side))
    made = monte_carlo(side, tolerances, samples=600)
    after = after_setting(law, made, Targets())
    held = rows_of(law.figures).T
    before, now = (
        np.sum((np.nan_to_num(values - made.nominal) @ held) ** 2, axis=1)
        for values in (made.values, after.sampled.values)
    )
    assert np.all(now < before + 0.01)
    assert np.mean(now) < 0.3 * np.mean(before)
    assert after.kept.share > kept(after.kept.holds, made.values, 2).share + 0.3


# ---- the linear law -------------------------------------------------------------------------------------------------


@cache
def finely_set(stem: str) -> tuple[SettingLaw, AfterSetting]:
    side = side_of(stem)
    tolerances = general(side, 0.08)
    law = law_of(side, tolerances, usual(side, finer=1e5))
    return law, after_setting(law, monte_carlo(side, tolerances, samples=2000), Targets())


@pytest.mark.parametrize("stem", ["metre_gauge", "stephenson_goods", "gooch_tank"])
def test_linear_and_monte_carlo_agree_where_steps_are_fine_and_no_limit_is_reached(stem: str) -> None:
    law, after = finely_set(stem)
    assert np.all((after.steps > law.limits[0]) & (after.steps < law.limits[1]))
    made = linear_spread(side_of(stem), after.sampled.tolerances)
    count, moves = len(after.steps), (made.std > 1e-6) & (after.linear.std > 0.01 * made.std)  # less is second order
    z = (after.sampled.std / after.linear.std - 1)[moves] * np.sqrt(2 * count)
    assert np.sum(moves) > 20
    assert np.max(np.abs(z)) < 4.0
    mean = (after.sampled.mean - after.linear.mean)[moves] / after.linear.std[moves] * np.sqrt(count)
    assert np.max(np.abs(mean)) < 4.0
    lead = [i for i, figure in enumerate(law.figures) if figure.kind == "lead" and made.std[i] > 1e-4]
    assert np.max(after.linear.std[lead] / made.std[lead]) < 1.0  # otherwise nothing were tried


def test_the_steps_wanted_against_a_general_least_squares_solver() -> None:
    """Parts of steps for each tolerance alone, by numpy's lstsq on what is held and on the hours."""
    side = side_of("metre_gauge")
    law = law_of(side, general(side), usual(side))
    held, slope = rows_of(law.every.figures), np.nan_to_num(law.every.slope)
    work = np.diag([np.sqrt(each.hours) / max(each.most, -each.least) for each in law.adjustments])
    felt, asked = (
        np.vstack([held @ law.each_step, work]),
        np.vstack([-held @ slope, np.zeros((len(work), slope.shape[1]))]),
    )
    steps = np.linalg.lstsq(felt, asked, rcond=None)[0]
    assert np.max(np.abs(steps)) > 1.0
    assert np.max(np.abs(law.wanted(slope) - steps)) < 1e-8


# ---- the whole answer -----------------------------------------------------------------------------------------------


def test_without_anything_to_set_by_the_answers_are_those_of_gears_as_made() -> None:
    stem, names = "metre_gauge", ["full forward"]
    setup, side = example(stem).side_state(), side_of("metre_gauge", "full forward")
    own, targets = general(side), example(stem).targets
    still = tuple(replace(each, least=0, most=0) for each in usual(side))
    for given in ((), still):
        found = hold(setup, side, own, targets, given, names, samples=1500)
        assert found.after is None
        made = monte_carlo(side, own, names, 1500)
        assert np.array_equal(found.sampled.values, made.values)
        assert found.loosest is not None
        assert found.loosest.tolerances == loosest(side, own, targets, names, samples=1500).tolerances


def test_with_adjustments_the_answers_as_made_are_the_same() -> None:
    side, setup = side_of("dock_shunter", "mid"), example("dock_shunter").side_state()
    own, targets = general(side), example("dock_shunter").targets
    plain, found = (hold(setup, side, own, targets, given, ["mid"], samples=1500) for given in ((), usual(side)))
    assert plain.loosest is not None
    assert found.loosest is not None
    assert found.after is not None
    assert np.array_equal(plain.sampled.values, found.sampled.values)
    assert plain.loosest.tolerances == found.loosest.tolerances
    assert found.share == found.after.kept.share > plain.share == found.kept.share


def test_the_loosest_set_after_setting_keeps_the_targets_with_another_seed_and_no_looser_one_does() -> None:
    side, targets = side_of("stephenson_goods", "full forward", "mid"), example("stephenson_goods").targets
    tolerances = general(side)
    law = SettingLaw.of(side, tolerances, usual(side), targets)
    assert law is not None
    found = loosest_after_setting(law, side, tolerances, targets, wanted=0.9, samples=2000)
    assert found.met
    shares = []
    for width in (1.0, 1.3):
        wider = {key: own.scaled(width) for key, own in found.tolerances.items()}
        again = after_setting(law, monte_carlo(side, wider, samples=2000, seed=77), targets, 77)
        limits, _missed = reachable(again.kept.holds, again.sampled.nominal)
        assert [str(limit) for limit in limits] == [str(limit) for limit in found.kept.holds]
        shares.append(kept(limits, again.sampled.values, 2))
    assert shares[0].share > 0.9 - 4 * np.hypot(shares[0].error, found.kept.error)
    assert shares[1].share < 0.86
    as_made = loosest(side, tolerances, targets, wanted=0.9, samples=2000)
    rod = ("eccentric_rods", "forward")
    assert found.factors[rod] > 2 * as_made.factors[rod]


def test_the_command_says_what_to_hold_and_what_is_set(capsys: pytest.CaptureFixture[str]) -> None:
    request = HoldRequest(DOCK, notches=("full backward",), samples=1000)
    status = run_hold(request)
    told = " ".join(capsys.readouterr().out.split())
    share = float(told.split("At the present tolerances ")[1].split(" %")[0])
    assert status == int(share < 95)
    assert "of engines keep every target after setting" in told
    assert told.index("What must be held") < told.index("What setting takes up") < told.index("Targets, and")
    set_up = told.split("Set at erection")[1].split("·")[0]
    assert "reversing: lifting link ±" in set_up
    assert "steam lap" not in set_up
    run_hold(replace(request, output="json"))
    data = json.loads(capsys.readouterr().out)
    assert data["kept_after_setting"] == pytest.approx(share / 100, abs=6e-4)
    assert {(row["table"], row["key"]) for row in data["setting"]} == {ROD, TRUNNION, LIFTING, CRANK, CENTRAL}
    lap = next(row for row in data["tolerances"] if row["key"] == "steam_lap")
    assert lap["set_at_erection"] is False
    assert lap["left_by_setting"] == pytest.approx(1.0, abs=0.2)  # nothing that is set makes up for a lap
    run_hold(replace(request, samples=400, search=False, setting=False))
    assert "adjustments" not in capsys.readouterr().out
    run_hold(replace(request, output="json", setting=False))
    plain = json.loads(capsys.readouterr().out)
    assert plain["kept"] == data["kept"]
    assert plain["kept_after_setting"] is None


def test_what_alters_both_sides_at_once_is_left_alone_and_said(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    text = DOCK.read_text()
    own = tmp_path / "own.toml"
    own.write_text(text.replace("[adjustments]\n", "[adjustments]\nreversing.arm_angle = { step = 0.25, most = 1 }\n"))
    run_hold(HoldRequest(own, notches=("mid",), samples=400, search=False))
    told = " ".join(capsys.readouterr().out.split())
    assert "the file gives no adjustments" not in told
    assert "Left alone, since it alters both sides at once: reversing: arm angle" in told
    assert "Set at erection" in told


def test_the_face_gives_the_gears_after_setting_too() -> None:
    engine = lm.read_engine(str(DOCK))
    found = engine["drawing"].left.hold("mid", samples=600)
    made, then = (found.values("mid", "front.cutoff", "forward", after_setting=own) for own in (False, True))
    assert np.std(then) < 0.7 * np.std(made)
    assert found.share_after_setting is not None
    assert "eccentric_rod.length" in found.set_at_erection
    assert "after setting" in repr(found)
    assert found.rows()[0]["std_after_setting"] is not None
    plain = engine["drawing"].left.hold("mid", samples=600, setting=False)
    assert plain.share == found.share
    assert plain.share_after_setting is None
    with pytest.raises(ValueError, match=r"\[adjustments\]"):
        plain.values("mid", "front.lead", after_setting=True)
