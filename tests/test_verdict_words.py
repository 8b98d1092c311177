"""Verdicts in words: of which engine they are said, of which side, of which part, and to how many digits."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

import linkmotion as lm
from linkmotion.cli import app
from linkmotion.commands.adjust import AdjustRequest, run_adjust
from linkmotion.face.advice import advised
from linkmotion.face.engine_advice import EngineAdvice
from linkmotion.files.engine_file import parse_engine
from linkmotion.files.faults import FileError
from linkmotion.gears.sensitivity import Key, numbers
from linkmotion.studies.diagnosis.alike import alike
from linkmotion.studies.diagnosis.result import Diagnosis, Explanation
from linkmotion.views.diagnosis_view import Words
from tests.planted import EXAMPLES, priors
from tests.planted_engines import PLANTED, engine_with

BACKSET: Key = ("expansion_link", "foot_backset")


def told(advice: EngineAdvice) -> str:
    return " ".join(advice.words().sentences(advice.foreseen))


# ---- advice for the engine once it is mended -------------------------------------------------------------------------


def test_what_holds_once_a_part_is_mended_is_not_said_of_the_engine_as_it_stands() -> None:
    """A foot that no adjustment sets back, by so much that targets are out."""
    engine = engine_with("dock_shunter", {"left": {BACKSET: 3.0}, "right": {}}, {})
    now, mended = (
        advised(engine, PLANTED, ["left", "right"], None, "diagnosis", once_mended=own) for own in (False, True)
    )
    assert now.out_now == mended.out_now == len(now.advice.out(now.advice.held_before)) > 0
    assert not mended.advice.out(mended.advice.held_before)
    assert "as it stands" in told(now)
    assert "as it stands" not in told(mended)
    assert told(mended).startswith("Nothing is to be set once what is told below is mended: all 72 targets")
    assert {own.given for own in now.foreseen} == {"by the file"}
    assert {own.given for own in mended.foreseen} == {"once mended"}


def test_a_part_that_is_named_is_not_something_else() -> None:
    """A foot so far back that no adjustment of the gear reaches the targets."""
    engine = engine_with("dock_shunter", {"left": {BACKSET: 9.0}, "right": {}}, {})
    said = told(advised(engine, PLANTED, ["left", "right"], None, "diagnosis"))
    assert "what is told above, that no adjustment mends, may be why (--once-mended tells" in said
    assert "something else" not in said


def test_an_engine_with_targets_out_ends_with_1_though_none_is_out_once_it_is_mended() -> None:
    words = ["adjust", str(EXAMPLES / "allan_saddle_tank.toml"), "--state", "as found", "--once-mended"]
    ran = CliRunner().invoke(app, words)
    assert ran.exit_code == 1
    said = " ".join(ran.output.split())
    assert said.startswith("Nothing is to be set once what is told below is mended: all 64 targets")
    assert "as it stands" not in said


# ---- whose side ------------------------------------------------------------------------------------------------------


def test_what_is_the_same_of_both_sides_is_told_once() -> None:
    """A middle cylinder has one valve; a weighshaft is one for both sides."""
    for name, whose, part in (
        ("derived_heavy_goods", "middle cylinder", "left eccentric rod: length"),
        ("metre_gauge", "both sides", "reversing: shaft y"),
    ):
        advice = lm.advise(lm.read_engine(EXAMPLES / f"{name}.toml"), state="as found")
        own = list(advice.words().sentences(advice.foreseen))
        assert next(sentence for sentence in own if part in sentence).startswith(f"{whose}: {part}")
        assert sum(part in sentence for sentence in own) == 1
        bare = [sentence.removeprefix("✗ ").split(": ", 1)[-1] for sentence in own]
        assert len(bare) == len(set(bare))


def test_a_crank_that_leads_on_one_side_follows_on_the_other_and_neither_is_wrong() -> None:
    engine = lm.read_engine(EXAMPLES / "crosshead_branch.toml")
    for state in ("drawing", "as repaired"):
        advice = lm.advise(engine, state=state)
        assert not advice.repairs().rows()
        assert "crank angle" not in told(advice)
    text = (EXAMPLES / "crosshead_branch.toml").read_text(encoding="utf-8")
    wrong = text + '\n[state."as read".right.other_side]\ncrank_angle = -88.5\n'
    own = advised(parse_engine(wrong), "as read", ["left", "right"], None, "diagnosis")
    (row,) = own.repairs().rows()
    assert (row["side"], row["dimension"]) == ("right", "other_side.crank_angle")
    assert row["off"] == pytest.approx(1.5, abs=1e-9)


def test_a_part_off_by_less_than_is_felt_is_no_work() -> None:
    """A bow b shortens a rod L by 8b²/3L: a leads' difference moves by twice that, 0.4 mm of it being the target."""
    text = (EXAMPLES / "pipit" / "pipit.toml").read_text(encoding="utf-8")
    unset = "".join(line for line in text.splitlines(True) if not line.startswith("eccentric_rods.forward = { step"))
    assert unset != text
    for bow, told_as_work in ((3.0, False), (6.0, False), (7.4, True), (14.0, True)):
        wear = f'\n[state.bowed.left.wear]\nbow = {{ "forward eccentric rod" = "{bow} mm" }}\n'
        own = advised(parse_engine(unset + wear), "bowed", ["left", "right"], None, "diagnosis")
        rows = own.repairs().rows()
        assert [row["dimension"] for row in rows] == ["eccentric_rods.forward"] * told_as_work
        assert ("eccentric rods: forward is" in told(own)) == told_as_work
        length = numbers(parse_engine(text).gear("drawing", "left"))[("eccentric_rods", "forward")]
        assert [row["off"] for row in rows] == pytest.approx([-8 * bow**2 / 3 / length] * told_as_work, rel=0.01)


def test_a_return_crank_given_by_another_angle_may_only_have_slipped_and_is_then_no_longer() -> None:
    """Half a degree back on its pin leaves its length as it was; half a degree about the axle does not."""
    path = EXAMPLES / "baker_express.toml"
    slipped = lm.advise(lm.read_engine(path), state="as found")
    assert not slipped.repairs().rows()
    assert "seen from the axle" in slipped.sentences()[0]
    text = path.read_text(encoding="utf-8")
    slip = 'angle_slip = { "return crank" = -0.5 }'
    assert text.count(slip) == 1
    turned = text.replace(slip, '[state."as found".right.return_crank]\nangle = -93.8')
    own = advised(parse_engine(turned), "as found", ["left", "right"], None, "diagnosis")
    (row,) = own.repairs().rows()
    assert row["dimension"] == "return_crank.length"
    assert "unless the return crank has only turned where it is fixed" in told(own)
    assert "unless" not in told(slipped)


def test_a_state_against_that_of_the_readings_is_refused_with_what_else_to_give() -> None:
    folder = EXAMPLES / "winkle"
    request = AdjustRequest(folder / "winkle.toml", folder / "readings.toml", "as found")
    with pytest.raises(FileError, match="give the file itself, without readings"):
        run_adjust(request)


def test_a_notch_in_which_one_side_alone_drives_is_told_to_be_left_out() -> None:
    advice = lm.advise(lm.read_engine(EXAMPLES / "allan_saddle_tank.toml"), state="as found")
    assert "since one side alone drives there: mid, running backward" in told(advice)
    drawn = lm.advise(lm.read_engine(EXAMPLES / "allan_saddle_tank.toml"))
    assert "one side alone" not in told(drawn)


# ---- digits ----------------------------------------------------------------------------------------------------------


def test_a_figure_over_its_target_never_reads_as_the_target() -> None:
    advice = lm.advise(lm.read_engine(EXAMPLES / "dock_shunter.toml"), state="as found")
    words, goals = advice.words(), advice.advice.goals
    goal = next(own for own in goals if own.hold.unit == "mm")
    hair = goal.limit + 0.001
    allowed, over, under = words.held(goal, hair, goal.limit - 0.001)
    assert allowed != over
    assert float(over.split()[0]) > float(allowed.split()[0]) >= float(under.split()[0])
    assert words.held(goal, 2 * goal.limit)[0] == words.size("mm", goal.limit)


# ---- a diagnosis -----------------------------------------------------------------------------------------------------


def explained(*every: tuple[tuple[Key, ...], float]) -> Diagnosis:
    """A diagnosis with these explanations and nothing else to tell."""
    found = object.__new__(Diagnosis)
    own = tuple(Explanation(keys, share, *([(0.1,) * len(keys)] * 3)) for keys, share in every)
    object.__setattr__(found, "explanations", own)
    return found


ANGLE, LINK, SHAFT = ("eccentrics", "forward_angle"), ("reversing", "lifting_link"), ("reversing", "shaft_y")


def test_what_every_explanation_names_is_not_one_of_those_that_look_alike() -> None:
    found = explained(((ANGLE, LINK), 0.5), ((ANGLE, SHAFT), 0.4))
    assert (found.instead, found.besides) == ((LINK,), ())
    found = explained(((ANGLE,), 0.6), ((ANGLE, LINK), 0.1))
    assert (found.instead, found.besides) == ((), (LINK,))
    found = explained(((ANGLE,), 0.6), ((LINK,), 0.2), ((ANGLE, LINK), 0.1))
    assert (found.instead, found.besides) == ((ANGLE,), ())
    found = explained(((), 0.6), ((ANGLE,), 0.2))
    assert (found.instead, found.besides) == ((), ())


def test_the_examples_say_which_of_two_faults_is_sure() -> None:
    engine = lm.read_engine(EXAMPLES / "stephenson_goods.toml")
    readings = lm.read_readings(EXAMPLES / "readings" / "stephenson_goods.toml")
    own = lm.diagnose(engine, readings).left.found
    answer, *rest = Words(own, "in", frozenset({ANGLE})).sentences()
    assert answer.index("eccentrics: forward angle") < answer.index("reversing: lifting link")
    assert answer.endswith("or one of 6 that look like it.")
    assert rest[0].startswith("These readings cannot tell reversing: lifting link from: ")


def test_what_is_hardly_felt_is_not_alike_to_what_moves_other_readings() -> None:
    """Two dimensions that move different readings, the second by little more than three uncertainties."""
    one, other = ("valve", "port_width"), ("valve", "rocker.angle")
    two = replace(priors("stephenson_goods"), keys=(one, other), sound=np.ones(2), wrong=np.array([5.0, 5.0]))
    inner, seen = np.diag([80.0, 0.2]), np.array([46.0, 3.2])
    assert alike(inner, seen, two) == ()
    inner[0, 1] = inner[1, 0] = 0.97 * np.sqrt(80.0 * 0.2)
    (group,) = alike(inner, seen, two)
    assert group.keys == (one, other)


@pytest.mark.parametrize(("state", "told"), [("long", False), ("drawing", True)])
def test_a_part_that_the_file_says_to_be_off_is_not_one_that_readings_cannot_tell(
    state: str, told: bool, tmp_path: Path
) -> None:
    """Measured and put back as the first work, it cannot also be said that moving the valve comes before it.

    The valve stands 1.5 mm from its place too, so that it is moved.
    """
    long = "\n[state.long.both.radius_rod]\nlength = 733\n[adjustments]\nradius_rod.length = { step = 0.5, most = 5 }\n"
    usual = "valve.central_at = { step = 0.5, most = 5 }\n"
    file, readings = tmp_path / "gooch.toml", tmp_path / "readings.toml"
    file.write_text((EXAMPLES / "gooch_tank.toml").read_text(encoding="utf-8") + long + usual, encoding="utf-8")
    left = lm.read_engine(file)["long"].left
    rows = "".join(
        f'    {{ notch = "{notch}", kind = "lead", front = {left[notch].front.lead + 1.5:.2f}, '
        f"back = {left[notch].back.lead - 1.5:.2f} }},\n"
        for notch in ("full forward", "forward 50", "full backward")
    )
    head = f'[readings]\nstate = "{state}"\nunit = "mm"\nwithin = 0.3\ndead_centres = "by trammel"\n'
    readings.write_text(f"{head}[left]\nreadings = [\n{rows}]\n", encoding="utf-8")
    said = " ".join(CliRunner().invoke(app, ["adjust", str(file), str(readings)]).output.split())
    assert ("cannot tell the valve's place on its spindle from" in said and "radius rod: length" in said) is told
    assert ("Shorten the radius rod" in said) is not told
