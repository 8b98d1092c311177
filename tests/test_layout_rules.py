"""Figures that nobody has, by the rules of the trade: met by engines as printed and drawn, and marked as proposals."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import linkmotion as lm
from linkmotion.files.engine_file import parse_engine, read_engine
from linkmotion.files.faults import FileError
from linkmotion.gears.layout_rules import BY_RULE, proposed, rules_of
from linkmotion.gears.link_upright import NoRule
from linkmotion.gears.sensitivity import Key, numbers, with_numbers
from linkmotion.studies.assess import assess
from linkmotion.studies.reconciling.reconciled import INFERRED, RULE
from tests.bad_engines.changed import EXAMPLES
from tests.measured_gears import shop

PRINTED = Path(__file__).parent / "references" / "gears"
RULED = [path for path in sorted([*EXAMPLES.glob("*.toml"), *PRINTED.glob("*.toml")])
         if rules_of(read_engine(path).gear_type)]  # fmt: skip
DOCK = (EXAMPLES / "dock_shunter.toml").read_text(encoding="utf-8")
GOODS = (EXAMPLES / "stephenson_goods.toml").read_text(encoding="utf-8")
ROD: Key = ("eccentric_rod", "length")


def _lead(path: Path) -> float:
    """Of the first notch, mean of the ends: what the engine was laid out for."""
    side = assess(read_engine(path)).sides[0]
    return float(np.mean([side.events["forward"][end].lead[0] for end in ("front", "back")]))


@pytest.mark.parametrize("path", RULED, ids=lambda path: path.stem)
def test_engines_were_built_to_the_rules_within_their_doubts(path: Path) -> None:
    gear, lead = read_engine(path).gear(), _lead(path)
    given, looked_at = numbers(gear), 0
    for key in rules_of(type(gear)):
        if key in given:
            own = proposed(with_numbers(gear, {key: np.nan}), (key,), lead)[key]
            assert abs(own.value - given[key]) <= own.doubt, key
            looked_at += 1
    assert looked_at >= 6


@pytest.mark.parametrize("name", ["dock_shunter", "metre_gauge"])
def test_two_that_are_sought_together_rest_on_both_rules_and_err_together(name: str) -> None:
    """Against both rules followed one by one, each missed by a millimetre, until they agree."""
    from scipy.optimize import fsolve

    gear = read_engine(EXAMPLES / f"{name}.toml").gear()
    keys = (ROD, ("expansion_link", "foot_backset"))
    together = proposed(with_numbers(gear, dict.fromkeys(keys, np.nan)), keys, None)

    def by_rule(key: Key, beside: Key, value: float) -> float:
        return proposed(with_numbers(gear, {beside: value, key: np.nan}), (key,), None)[key].value

    for missed, rule in (((1.0, 0.0), keys[0]), ((0.0, 1.0), keys[1])):
        laid = fsolve(
            lambda x, missed=missed: [by_rule(keys[0], keys[1], x[1]) + missed[0] - x[0],
                                      by_rule(keys[1], keys[0], x[0]) + missed[1] - x[1]],
            [together[key].value for key in keys],
        )  # fmt: skip
        alone = rules_of(type(gear))[rule].doubt(0.0)
        for key, at in zip(keys, laid, strict=True):
            assert at - together[key].value == pytest.approx(together[key].parts[rule] / alone, rel=0.03)
    for key in keys:
        assert abs(numbers(gear)[key] - together[key].value) <= together[key].doubt
    assert together[ROD].doubt > 10 * rules_of(type(gear))[ROD].doubt(0.0), "the two rules all but say the same"


def test_a_link_laid_out_by_rule_swings_equally_and_stands_upright_at_dead_centres() -> None:
    """Looked at on the whole linkage, not on the loop that the rule sought it on."""
    from linkmotion.linkage import Wheel, solve
    from linkmotion.piston import dead_centre

    gear = read_engine(EXAMPLES / "dock_shunter.toml").gear()
    keys = (ROD, ("expansion_link", "foot_backset"))
    found = proposed(with_numbers(gear, dict.fromkeys(keys, np.nan)), keys, None)
    laid = with_numbers(gear, {key: own.value for key, own in found.items()})
    solution = solve(laid.declare(next(iter(laid.notches.values()))), Wheel.revolution(1440))
    upright = -found[keys[1]].value - 1j * numbers(gear)["expansion_link", "foot_drop"]
    lean = np.degrees(np.angle((solution["foot"] - solution["trunnion"]) / upright))
    back = round(float(np.degrees(dead_centre(laid.crank, "back"))) * 4)
    assert np.max(lean) + np.min(lean) == pytest.approx(0.0, abs=2e-3)
    assert lean[0] + lean[back] == pytest.approx(0.0, abs=2e-3)
    assert np.max(lean) > 20.0


def test_lap_and_lead_by_the_combination_lever_are_what_the_lead_was_laid_out_for() -> None:
    """With the radius rod's die on the trunnion (mid gear) the valve moves by the crosshead alone."""
    text = DOCK.replace("\n[targets]\n", '\n[targets]\nlead = "3/16 in"\n', 1)
    text = text.replace('upper_arm = "2 3/4"', 'upper_arm = "by rule"')
    side = assess(parse_engine(text), sides=("left",)).sides[0]
    mid = side.notches.index("mid")
    leads = [side.events["forward"][end].lead[mid] for end in ("front", "back")]
    assert np.mean(leads) == pytest.approx(25.4 * 3 / 16, abs=0.5)


def test_a_figure_by_rule_is_marked_as_a_proposal_with_its_doubt() -> None:
    text = DOCK.replace('slot_radius = "3\' 1 7/8\\""', 'slot_radius = "by rule"')
    assert text != DOCK
    engine = parse_engine(text)
    own = engine.taken["expansion_link", "slot_radius"]
    assert own.value == pytest.approx(37.875 * 25.4, abs=1e-9)
    assert own.doubt == pytest.approx(0.01 * 37.875 * 25.4, rel=1e-6)
    assert own.how.startswith(BY_RULE)
    assert "Live Steamer" in own.how
    assert engine.text == text  # what was written stays


def test_reconciling_tells_a_proposal_from_a_figure_and_distances_replace_it() -> None:
    from linkmotion.studies.figures.figure import DISTANCE, Reading
    from linkmotion.studies.figures.spots import Spot
    from linkmotion.studies.reconciling.one_estimate import reconcile

    text = DOCK.replace('length = "31 17/32 in"      #', 'length = "by rule"      #', 1)
    engine = parse_engine(text)
    tolerances = shop("dock_shunter.toml").tolerances
    alone = reconcile(engine, "as found", "left", (), tolerances).of(ROD)
    assert (alone.origin, alone.drawn) == (RULE, None)
    assert alone.doubt == pytest.approx(6.0, rel=0.1)
    true = shop("dock_shunter.toml")
    readings = []
    for notch in true.notches:
        for end in ("front", "back"):
            pins = true.pins(true.tables, notch, end, 0.0)
            spot = Spot("return-crank pin", "foot")
            value = abs(pins[spot.pin] - pins[spot.since])
            readings.append(
                Reading(side="left", kind=DISTANCE, notch=notch, end=end, spot=spot, value=value, sigma=0.1)
            )
    told = reconcile(engine, "as found", "left", readings, tolerances).of(ROD)
    assert told.origin == INFERRED
    assert told.value == pytest.approx(800.89375, abs=told.doubt)
    assert told.doubt < 0.6


WRONG = [
    (DOCK, 'length = "4\' 9 1/2\\""', 'length = "by rule"', "no rule is known for connecting_rod.length"),
    (DOCK, 'foot_drop = "11 15/16"', 'foot_drop = "by rule"', "no rule is known for expansion_link.foot_drop"),
    (DOCK, '"mid" = { die = 0 }', '"mid" = { die = "by rule" }', "no rule is known for reversing.notches.mid"),
    (DOCK, 'diameter = "3\' 6\\""', 'diameter = "by rule"', "no rule is known for it"),
    (DOCK, 'length = "31 9/16 in" ', 'length = "by rule" ', "a state holds what was found"),
    (DOCK, 'upper_arm = "2 3/4"', 'upper_arm = "by rule"', "give, among the targets, the lead"),
    (DOCK, 'upper_arm = "2 3/4"', 'upper_arm = "by rul"', "by rul"),
]


@pytest.mark.parametrize(("text", "old", "new", "told"), WRONG, ids=[own[3] for own in WRONG])
def test_a_rule_that_cannot_be_followed_is_told(text: str, old: str, new: str, told: str) -> None:
    changed = text.replace(old, new, 1)
    if changed == text:
        pytest.fail(f"{old!r} is not in the example")
    with pytest.raises(FileError) as error:
        parse_engine(changed)
    assert told in str(error.value)
    assert error.value.line


def test_two_that_rest_on_one_another_are_refused() -> None:
    gear = read_engine(EXAMPLES / "dock_shunter.toml").gear()
    both = (("radius_rod", "length"), ("expansion_link", "slot_radius"))
    with pytest.raises(NoRule, match="by rule too"):
        proposed(with_numbers(gear, dict.fromkeys(both, np.nan)), both, 5.0)
    rod = numbers(gear)["radius_rod", "length"]
    assert proposed(with_numbers(gear, {both[1]: np.nan}), (both[1],), None)[both[1]].value == rod


def test_stephenson_rods_and_eccentrics_by_one_another() -> None:
    engine = lm.read_engine(EXAMPLES / "stephenson_goods.toml").as_read
    gear = engine.gear()
    given = numbers(gear)
    keys = tuple(("eccentrics", f"backward_{what}") for what in ("throw", "angle"))
    found = proposed(with_numbers(gear, dict.fromkeys(keys, np.nan)), keys, None)
    assert found[keys[0]].value == given["eccentrics", "forward_throw"]
    assert found[keys[1]].value == -given["eccentrics", "forward_angle"]
    both = tuple(("eccentric_rods", name) for name in ("forward", "backward"))
    rods = proposed(with_numbers(gear, dict.fromkeys(both, np.nan)), both, None)
    radius, behind = given["expansion_link", "slot_radius"], given["expansion_link", "forward_pin_x"]
    assert rods[both[0]].value == pytest.approx(radius + behind, abs=1e-9)
