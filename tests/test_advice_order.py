"""Setting advice in its order: what is off its drawing is put back, the valve trims, and no sound part is moved."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import linkmotion as lm
from linkmotion.engine import DRAWING
from linkmotion.face.advice import advised
from linkmotion.face.engine_advice import EngineAdvice
from linkmotion.files.engine_file import parse_engine
from linkmotion.files.readings_file import Readings
from linkmotion.sides import PAIR as SIDES
from linkmotion.studies.diagnosis.result import Explanation, Suspect
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.setting.basis import drawn_figures
from linkmotion.studies.setting.choices import LEAST
from linkmotion.studies.setting.known import accused
from tests.benchmarks.advice import planted_readings, planted_states
from tests.planted import EXACT, as_drawn
from tests.planted_engines import PLANTED, Faults, engine_with, taken
from tests.test_setting import BACK, FORE, ROD

EXAMPLES = Path(__file__).parents[1] / "examples"
GOODS, GAUGE = (str(EXAMPLES / f"{name}.toml") for name in ("stephenson_goods", "metre_gauge"))
READ = EXAMPLES / "readings" / "stephenson_goods.toml"


def of_state(name: str, state: str, **more: Any) -> EngineAdvice:
    return lm.advise(lm.read_engine(EXAMPLES / f"{name}.toml"), state=state, **more)


def works(advice: EngineAdvice) -> list[tuple[str, str, bool]]:
    return [(row["side"], row["dimension"], row["puts_back"]) for row in advice.rows()]


def before_and_after(advice: EngineAdvice) -> tuple[int, int]:
    own = advice.advice
    return len(own.out(own.held_before)), len(own.out(own.held_after))


def by_readings(name: str, planted: Faults, side: str, seed: int, **more: Any) -> EngineAdvice:
    """Advice by readings of a planted engine, by the independent solution, with their errors."""
    own = engine_with(name, planted, {})
    read = tuple(taken(name, own, side, np.random.default_rng(seed)))
    return advised(own, DRAWING, [side], Readings("read", DRAWING, "mm", "", read, {side: EXACT}), "diagnosis", **more)


# ---- what was advised wrongly once ----------------------------------------------------------------------------------


def test_a_side_as_drawn_is_not_set_to_follow_the_other() -> None:
    """The left link is a sister engine's; both sides' eccentrics were once keyed afresh for that."""
    advice = of_state("stephenson_goods", "as repaired")
    before, after = before_and_after(advice)
    assert after <= before == 11
    assert all(dimension == "valve.central_at" for _side, dimension, _back in works(advice))
    (repair,) = advice.repairs().rows()
    assert (repair["side"], repair["dimension"]) == ("left", "expansion_link.saddle_x")
    assert repair["off"] == pytest.approx(5 / 16, abs=1e-9)


def test_the_slipped_eccentric_is_put_back_and_not_the_good_one_turned_after_it() -> None:
    advice = of_state("stephenson_goods", "as found")
    first, *_rest = advice.rows()
    assert (first["side"], first["dimension"], first["puts_back"]) == ("right", "eccentrics.forward_angle", True)
    assert first["amount"] == pytest.approx(-1.5, abs=1e-9)
    assert {(side, dimension) for side, dimension, back in works(advice) if back} == {
        ("right", "eccentrics.forward_angle"), ("left", "reversing.lifting_link"), ("right", "reversing.lifting_link"),
        ("left", "eccentric_rods.forward"),
    }  # fmt: skip
    assert all(back or dimension == "valve.central_at" for _side, dimension, back in works(advice))
    before, after = before_and_after(advice)
    assert after < before


def test_the_bracket_and_the_rod_that_are_out_are_put_back_and_not_those_across_the_engine() -> None:
    advice = of_state("metre_gauge", "as found")
    assert [row for row in works(advice) if row[2]] == [
        ("left", "expansion_link.trunnion_x", True), ("right", "eccentric_rod.length", True),
    ]  # fmt: skip
    assert [row["amount"] for row in advice.rows() if row["puts_back"]] == [1.5, 1.0]
    assert advice.met


@pytest.mark.parametrize(("key", "off"), [(FORE, 2.4), (BACK, -3.0)])
def test_the_rod_that_the_readings_name_is_altered_and_not_the_other(key: tuple[str, str], off: float) -> None:
    advice = by_readings("gooch_tank", {"right": {key: off}}, "right", 5)
    first, *rest = advice.rows()
    assert first["dimension"] == ".".join(key)
    assert first["amount"] == pytest.approx(-off, abs=0.5)
    assert {row["dimension"] for row in rest} <= {"valve.central_at"}


@pytest.mark.parametrize(
    ("name", "seed"),
    [("dock_shunter", 1), ("metre_gauge", 2), ("stephenson_goods", 3), ("allan_saddle_tank", 1), ("dock_shunter", 2),
     ("stephenson_goods", 1)],
)  # fmt: skip
def test_a_sound_engine_with_noise_keeps_its_parts(name: str, seed: int) -> None:
    advice = by_readings(name, {"left": {}}, "left", seed)
    assert {row["dimension"] for row in advice.rows()} <= {"valve.central_at"}


def test_a_slipped_eccentric_is_put_back_though_every_target_is_met() -> None:
    """Equal leads, half as great again as drawn: no target is out, and still the eccentric is to be put back.

    The lifting link was planted too, 1/8 in. long: the readings cannot tell it from the arm, and it can be put back.
    """
    advice = lm.advise(lm.read_engine(GOODS), lm.read_readings(READ))
    assert before_and_after(advice) == (0, 0)
    first, *rest = advice.rows()
    assert (first["dimension"], first["puts_back"]) == ("eccentrics.forward_angle", True)
    assert first["amount"] == pytest.approx(-1.5, abs=1e-9)
    assert [(row["dimension"], row["puts_back"]) for row in rest] == [("reversing.lifting_link", True)]
    assert rest[0]["amount"] == pytest.approx(-1 / 8, abs=1 / 64 + 1e-9)
    assert advice.choose(LEAST).rows() == []  # the user may leave it, and is told so
    told = " ".join(advice.choose(LEAST).words().sentences(advice.foreseen))
    assert "This choice leaves it so" in told


# ---- the order of thought -------------------------------------------------------------------------------------------


def test_planted_states_are_put_back_and_never_made_worse() -> None:
    for case in itertools.chain(planted_states(12, 4), planted_states(12, 9, most=1)):
        assert all(after <= before for before, after in case.out.values()), case.planted
        assert not case.sound_moved
        assert case.undone in (None, True), case.planted


def test_planted_readings_are_followed_on_the_engine_itself() -> None:
    cases = list(planted_readings(6, 2))
    assert all(after <= before for case in cases for before, after in case.out.values())
    assert not any(case.sound_moved for case in cases)
    assert sum(bool(case.undone or case.alike) for case in cases) >= 4


def test_what_is_beyond_its_adjustment_is_taken_as_far_as_it_goes_and_the_rest_is_to_be_mended() -> None:
    own = engine_with("dock_shunter", {"left": {ROD: 5.0}}, {})
    advice = advised(own, PLANTED, ["left"], None, "diagnosis")
    assert advice.rows()[0]["amount"] == pytest.approx(-1 / 8, abs=1e-9)
    (repair,) = advice.found.repairs
    assert repair.part
    assert repair.off.by == pytest.approx(5.0 - 25.4 / 8, abs=1e-9)


def test_parts_that_make_up_for_one_another_are_not_put_back_to_put_more_targets_out() -> None:
    """The foot of the link is set back, and the rod was once made longer to match."""
    foot = ("expansion_link", "foot_backset")
    own = engine_with("dock_shunter", {"left": {ROD: 2.4, foot: -2.4}, "right": {}}, {})
    advice = advised(own, PLANTED, ["left", "right"], None, "diagnosis")
    before, after = before_and_after(advice)
    assert after <= before
    assert not any(back for _side, _dimension, back in works(advice))
    (left,) = advice.advice.not_put_back
    assert (left.off.key, left.off.by) == (ROD, pytest.approx(2.4, abs=1e-9))
    assert any("put back more targets would be out" in told for told in advice.words().sentences(advice.foreseen))
    once = advised(own, PLANTED, ["left", "right"], None, "diagnosis", once_mended=True)
    assert works(once)[0] == ("left", "eccentric_rod.length", True)
    assert once.met


def test_the_rest_is_set_for_the_engine_once_the_link_is_mended() -> None:
    mended = of_state("stephenson_goods", "as repaired", once_mended=True)
    assert (mended.met, mended.rows(), len(mended.repairs())) == (True, [], 1)
    assert "once that is mended" in " ".join(mended.words().sentences(mended.foreseen))


def test_sound_parts_are_moved_only_when_asked_and_told_so() -> None:
    asked = of_state("stephenson_goods", "as repaired", move_sound_parts=True)
    before, after = before_and_after(asked)
    assert after <= before
    assert any("they then follow what is wrong elsewhere" in told for told in asked.words().sentences(asked.foreseen))


def test_an_engine_without_a_nut_to_turn_is_told_what_stands_in_the_way() -> None:
    """Only the rod can be altered, and it is not known to be off: moving it would do, if it is asked for."""
    own = engine_with("dock_shunter", {"left": {FOOT: -2.0}}, {})
    own = replace(own, adjustments={"eccentric_rod": {"length": {"step": "1/64 in", "most": "1/8 in"}}})
    advice = advised(own, PLANTED, ["left"], None, "diagnosis")
    assert (advice.rows(), advice.barrier) == ([], "sound parts")
    asked = advised(own, PLANTED, ["left"], None, "diagnosis", move_sound_parts=True)
    assert (asked.barrier, asked.met) == ("", True)


def test_readings_that_do_not_fit_move_nothing_but_the_spindle_nut() -> None:
    """Leads that jump from notch to notch, though every part may be moved."""
    own = engine_with("metre_gauge", {}, {"left": 1.2})
    read = list(taken("metre_gauge", own, "left", np.random.default_rng(1)))
    by = {notch: 1.5 * (-1) ** i for i, notch in enumerate(dict.fromkeys(reading.notch for reading in read))}
    jumps = [by[own.notch] if (own.kind, own.end) == ("lead", "front") else 0.0 for own in read]
    wild = tuple(replace(own, value=own.value + jump) for own, jump in zip(read, jumps, strict=True))
    readings = Readings("wild", DRAWING, "mm", "", wild)
    advice = advised(own, DRAWING, ["left"], readings, "diagnosis", move_sound_parts=True)
    assert "do not fit" in advice.beliefs[0].note
    assert {each.key for each in advice.advice.problem.adjustments} == {CENTRAL}


def test_what_both_sides_share_is_one_unknown_of_the_advice() -> None:
    """The weighshaft's brackets are 5 mm low: both sides are believed to be so by the same, and the axle as high."""
    shaft = ("reversing", "shaft_y")
    own = engine_with("stephenson_goods", {side: {shaft: -5.0} for side in SIDES}, {})
    rng = np.random.default_rng(4)
    read = {side: tuple(taken("stephenson_goods", own, side, rng)) for side in SIDES}
    exact = dict.fromkeys(SIDES, EXACT)
    readings = Readings("both", DRAWING, "mm", "", (*read["left"], *read["right"]), exact)
    found = [each.found for each in advised(own, DRAWING, list(SIDES), readings, "diagnosis").beliefs]
    assert all(each is not None for each in found)
    by = [float(each.departures[each.keys.index(shaft)]) for each in found if each is not None]
    axle = [own.estimate for each in found if each for own in each.disturbances if own.name == "axle height"]
    sure = [each.suspect(shaft).probability for each in found if each is not None]
    assert by[0] == pytest.approx(by[1], abs=0.1)  # each by its own side's likeliest explanation
    assert sure[0] == pytest.approx(sure[1], abs=1e-9)
    assert axle[0] == pytest.approx(axle[1], abs=1e-9)
    few = Readings("few", DRAWING, "mm", "", (*read["left"], *read["right"][:2]), exact)
    left, right = advised(own, DRAWING, list(SIDES), few, "diagnosis").beliefs
    assert (left.basis, right.basis) == ("diagnosis", "drawing")
    assert "no diagnosis: 2 usable readings" in right.note
    assert left.found is not None
    assert sure[0] > left.found.suspect(shaft).probability  # both tell it more surely than one


def test_a_target_that_the_drawing_misses_is_held_to_what_the_drawing_gives() -> None:
    text = Path(GAUGE).read_text(encoding="utf-8").replace("cutoff_difference = 2.0", "cutoff_difference = 0.3")
    own = parse_engine(text, "engine.toml")
    advice = advised(own, DRAWING, ["left", "right"], None, "diagnosis")
    missed = [goal for goal in advice.advice.goals if goal.by_drawing]
    assert missed
    assert before_and_after(advice) == (0, 0)
    assert advice.rows() == []
    drawn = drawn_figures(as_drawn("metre_gauge"))
    for goal in missed:
        pair = [
            f for f in drawn if (f.kind, f.notch, f.direction) == (goal.hold.what, goal.hold.notch, goal.hold.direction)
        ]
        assert goal.limit == pytest.approx(abs(drawn[pair[0]] - drawn[pair[1]]), abs=1e-9)


# ---- what a diagnosis names -----------------------------------------------------------------------------------------


class Said:
    """As much of a diagnosis as names what is off."""

    def __init__(self, *explanations: tuple[float, dict[tuple[str, str], float]]) -> None:
        self.explanations = [Explanation(tuple(own), share, *[tuple(own.values())] * 3) for share, own in explanations]

    @property
    def sound(self) -> float:
        return sum(own.probability for own in self.explanations if not own.keys)

    def suspect(self, key: tuple[str, str]) -> Suspect:
        share = sum(own.probability for own in self.explanations if key in own.keys)
        return Suspect(key, share, 0.0, 0.0, 0.0, 1.0, 9.0, "")


FOOT = ("expansion_link", "foot_backset")


@pytest.mark.parametrize(
    ("explanations", "named"),
    [
        ([(0.9, {ROD: 1.2})], [(ROD, 1.2, ())]),
        (
            [(0.5, {FOOT: 1.1}), (0.3, {ROD: 1.2})],
            [(ROD, 1.2, (FOOT,))],
        ),  # the one that can be put back, measured first
        ([(0.8, {FOOT: 1.1}), (0.1, {ROD: 1.2})], [(FOOT, 1.1, ())]),  # far less likely: not named in its stead
        ([(0.4, {}), (0.3, {ROD: 1.2})], []),
        ([(0.3, {FOOT: 1.1}), (0.25, {ROD: 1.2}), (0.1, {})], [(ROD, 1.2, (FOOT,))]),  # one of the two, ten to one
        ([(0.4, {ROD: 1.2}), (0.3, {})], []),  # nothing may be wrong
        ([(0.5, {ROD: 1.2, FOOT: 0.5}), (0.4, {ROD: 1.2})], [(ROD, 1.2, ())]),  # the second is not needed
        ([(0.2, {ROD: 1.2})], []),
        ([(0.9, {CENTRAL: 1.2})], []),  # the valve's place has no figure: it is trimmed
    ],
)
def test_a_diagnosis_names_what_is_surely_off(explanations: Any, named: Any) -> None:
    found = accused(Said(*explanations), {ROD: 2.0, CENTRAL: 0.5})  # type: ignore[arg-type]
    assert [(off.key, off.by, off.alike) for off in found] == named
