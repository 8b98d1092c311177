"""A drawing whose sides are unlike: read, refused, worked out and written."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

import linkmotion as lm
from linkmotion.engine import SET_AFRESH, Engine
from linkmotion.files.engine_file import edit_engine, parse_engine
from linkmotion.files.faults import FileError
from linkmotion.files.seals import seals_now
from linkmotion.files.since_recorded import alterations
from linkmotion.files.written import written_figures
from linkmotion.studies.as_taken import as_taken
from linkmotion.studies.assess import assess
from linkmotion.studies.compare import borrowed
from linkmotion.studies.record_history import history
from tests.bad_engines.changed import EXAMPLES
from tests.gears_at_hand import example, of_engine

BRANCH = (EXAMPLES / "crosshead_branch.toml").read_text(encoding="utf-8")
DOCK = (EXAMPLES / "dock_shunter.toml").read_text(encoding="utf-8")
SISTER = (EXAMPLES / "derived_heavy_goods.toml").read_text(encoding="utf-8")


# ---- layers ---------------------------------------------------------------------------------------------------------


def dock(more: str) -> Engine:
    return parse_engine(f"{DOCK}\n{more}", "dock.toml")


def test_the_layers_lie_over_one_another_in_their_order() -> None:
    right, state = "[drawing.right.eccentric_rod]\nlength = 800\n", '[state."x".both.eccentric_rod]\nlength = 801\n'
    own = '[state."x".right.eccentric_rod]\nlength = 802\n'
    inches = 25.4
    for text, wanted in ((right, 800), (right + state, 801), (right + own, 802), (right + state + own, 802)):
        engine = dock(text if "state" in text else f"{text}[state.x]\n")
        assert engine.tables("x", "right")["eccentric_rod"]["length"] == pytest.approx(wanted * inches, abs=1e-9)
        assert engine.tables("drawing", "right")["eccentric_rod"]["length"] == pytest.approx(800 * inches, abs=1e-9)
        assert engine.tables("drawing", "left")["eccentric_rod"]["length"] == pytest.approx(31.53125 * inches, abs=1e-9)


def test_small_tables_and_notches_are_laid_over_key_by_key() -> None:
    engine = dock('[drawing.right.reversing.notches]\nmid = { die = "1/8" }\n')
    left, right = (engine.gear("drawing", side).notches for side in ("left", "right"))
    assert {name for name in left if left[name] != right[name]} == {"mid"}
    assert list(right) == list(left)
    settings = {side: of_engine(engine, "drawing", side).settings["mid"] for side in engine.sides}
    assert settings["left"] != settings["right"]


def test_a_valve_set_afresh_follows_the_rule_of_its_own_sides_drawing() -> None:
    more = '[drawing.right.valve]\nset_in = { notch = "forward 40", direction = "forward" }\n'
    engine = dock(f"{more}[state.afresh]\nset_afresh = true\n[state.afresh.both.eccentric_rod]\nlength = 31.6\n")
    right = assess(engine, "afresh", ("right",)).sides[0]
    number = right.notches.index("forward 40")
    leads = [float(right.events["forward"][end].lead[number]) for end in ("front", "back")]
    assert leads[0] == pytest.approx(leads[1], abs=1e-9)
    left = assess(engine, "afresh", ("left",), standing=SET_AFRESH).sides[0]
    leads = [float(left.events["forward"][end].lead[number]) for end in ("front", "back")]
    assert abs(leads[0] - leads[1]) > 1e-3


REFUSED = [
    ("[drawing.right.wear]\ndie_clearance = 0.004", "[drawing.right.wear]", "a side is not drawn worn",
     'state."as found"'),
    ("[drawing.rigth.eccentric_rod]\nlength = 31", "[drawing.rigth", "unknown", "did you mean 'right'?"),
    ("[drawing.middle.eccentric_rod]\nlength = 31", "[drawing.middle", "there is no side 'middle'", "known here: left"),
    ("[drawing.both.eccentric_rod]\nlength = 31", "[drawing.both", "alike for every side", "without drawing.both"),
    ("[drawing.right.eccentric_rod]\nlenght = 31", "lenght", "unknown", "did you mean 'length'?"),
    ("[drawing.right.eccentric_rods]\nlength = 31", "[drawing.right.ecc", "unknown", "did you mean 'eccentric_rod'?"),
    ("[drawing.right.eccentric_rod]\nlength = \"31 yd\"", "length = \"31 yd\"", "31 yd", "correct this figure"),
    ("[drawing.right.eccentric_rod]\nlength = \"?\"", "length = \"?\"", "still to be filled in", "eccentric"),
    ("[drawing]\nby = \"us\"", "by = \"us\"", "unknown", "known here: left, right"),
    ("[drawing.right]\nwho = \"us\"", "who", "unknown", "did you mean 'by'?"),
    ("drawing.right = 3", "drawing.right", "wanted a table", "[drawing.right]"),
    ("[drawing.right.connecting_rod]\nlength = 10", "length = 10", "(drawing, right side)", "it must be longer"),
    ("[drawing.right.valve]\ncentral_at = 70\n[state.afresh]\nset_afresh = true", "set_afresh", "of the right side",
     "valve.central_at"),
]  # fmt: skip


@pytest.mark.parametrize(("more", "at", "problem", "remedy"), REFUSED, ids=[own[1] for own in REFUSED])
def test_what_cannot_be_is_refused_with_its_line(more: str, at: str, problem: str, remedy: str) -> None:
    text = f"{more}\n{DOCK}" if more.startswith("drawing") else f"{DOCK}\n{more}\n"
    with pytest.raises(FileError) as refused:
        parse_engine(text, "dock.toml")
    assert problem in refused.value.problem
    assert remedy in refused.value.remedy
    assert refused.value.line is not None
    assert at in text.split("\n")[refused.value.line - 1]


def test_an_engine_of_one_cylinder_is_drawn_by_that_ones_name() -> None:
    with pytest.raises(FileError, match="one cylinder alone"):
        parse_engine(f"{SISTER}\n[drawing.left.equal_lever]\n")
    assert parse_engine(f"{SISTER}\n[drawing.middle.wheels_no]\n".replace("wheels_no", "reversing")).sides_drawn == {
        "middle": {"reversing": {}}
    }


# ---- figures as taken, by rule, records -----------------------------------------------------------------------------

TAKEN = '[drawing.right.eccentric_rod]\nlength = "31 1/2 +- 1/64 in"\n'


def test_a_figure_as_it_was_taken_is_that_sides_alone() -> None:
    engine = dock(f"{TAKEN}[state.x.right.eccentric_rod]\nlength = 32\n")
    rod = ("eccentric_rod", "length")
    assert as_taken(engine, "drawing", "right")[rod].doubt == pytest.approx(25.4 / 64, abs=1e-9)
    assert rod not in as_taken(engine, "drawing", "left")
    assert rod not in as_taken(engine, "x", "right")


def test_a_figure_by_rule_is_worked_on_the_side_that_gives_it() -> None:
    leads = DOCK.replace("\n[targets]\n", '\n[targets]\nlead = "1/8 in"\n', 1)
    own = parse_engine(f'{leads}\n[drawing.right.combination_lever]\nupper_arm = "by rule"\n')
    both = parse_engine(leads.replace('upper_arm = "2 3/4"', 'upper_arm = "by rule"', 1))
    found: Any = [engine.gear("drawing", side) for engine in (own, both) for side in ("left", "right")]
    arms = [gear.combination_lever.upper_arm for gear in found]
    assert arms[1] == arms[2] == arms[3]
    assert arms[0] == 2.75 * 25.4 != arms[1]
    assert ("drawing", "right", "combination_lever", "upper_arm") in own.taken
    shared = leads.replace('upper_arm = "2 3/4"', 'upper_arm = "by rule"', 1)
    with pytest.raises(FileError, match=r"the rule gives .* on the left and .* on the right"):
        parse_engine(f'{shared}\n[drawing.right.combination_lever]\nlower_arm = "25 in"\n')


def test_an_angle_by_readings_is_worked_on_the_side_that_gives_it() -> None:
    form = 'angle = { foot_at_front = "10 mm", foot_at_back = "10 mm" }'
    own: Any = dock(f"[drawing.right.return_crank]\n{form}\n")
    state: Any = dock(f"[state.x.right.return_crank]\n{form}\n")
    angle = own.gear("drawing", "right").return_crank.angle
    assert angle == state.gear("x", "right").return_crank.angle != own.gear("drawing", "left").return_crank.angle


RECORDED = """
[drawing.right]
by = "A. Draughtsman (invented)"
on = 1913-04-02
[drawing.right.eccentric_rod]
length = 31
note = "altered when the right link was renewed"
"""


def test_a_record_of_a_side_as_drawn_is_told_with_what_is_drawn_of_both() -> None:
    engine = dock(RECORDED)
    place = ("drawing", "right", "eccentric_rod")
    (entry,) = (own for own in history(engine, written_figures(engine)) if own.where == place)
    assert (entry.state, entry.side, entry.table, entry.on) == (*place, date(1913, 4, 2))
    (figure,) = entry.figures
    assert (figure.side, figure.dimension, figure.written, figure.before) == (
        "right", "eccentric_rod.length", "31", "31 17/32 in",
    )  # fmt: skip
    assert figure.by == pytest.approx(-25.4 * 17 / 32, abs=1e-9)


def test_what_is_drawn_of_a_side_is_not_altered_in_silence() -> None:
    today = date(2026, 1, 1)
    seals = seals_now(dock(RECORDED), today)
    assert alterations(dock(RECORDED), seals, today) == []
    (found,) = alterations(dock(RECORDED.replace("length = 31", "length = 30")), seals, today)
    assert (found.key, found.was, found.now) == ("drawing.right.eccentric_rod.length", "31", "30")


# ---- written --------------------------------------------------------------------------------------------------------


def test_a_figure_of_one_side_is_edited_in_that_sides_own_drawing() -> None:
    text = BRANCH.replace("[drawing.right.other_side]", "[drawing.right.other_side]  # opposite")
    engine = parse_engine(text)
    once = edit_engine(engine, "other_side.crank_angle", -89.5, side="right")
    assert once.text == text.replace("crank_angle = -90", "crank_angle = -89.5")
    angles = [once.tables("drawing", side)["other_side"]["crank_angle"] for side in once.sides]
    assert angles == [90.0, -89.5]
    made = edit_engine(once, "drive_rod.length", "525 mm", side="left")
    assert [made.tables("drawing", side)["drive_rod"]["length"] for side in made.sides] == [525.0, 524.0]
    lines = iter(made.text.split("\n"))
    assert all(line in lines for line in once.text.rstrip().split("\n"))  # each of them, in their order


def test_of_one_cylinder_alone_the_drawing_itself_is_edited() -> None:
    engine = parse_engine(SISTER)
    made = edit_engine(engine, "equal_lever.spindle_across", 310, side="middle")
    assert made.sides_drawn == {}
    assert made.drawing["equal_lever"]["spindle_across"] == 310.0 != engine.drawing["equal_lever"]["spindle_across"]


def test_an_engine_built_in_python_is_written_with_it() -> None:
    import tomllib

    tables = tomllib.loads(BRANCH)
    head = tables.pop("engine")
    made = lm.new_engine(head["name"], head["gear"], head["unit"], tables)
    again = lm.parse_engine(made.text)
    assert again.as_read.sides_drawn == example("crosshead_branch").sides_drawn
    assert again["drawing"].right.events().rows() == lm.parse_engine(BRANCH)["drawing"].right.events().rows()


def test_a_part_is_borrowed_as_it_is_drawn_for_that_side() -> None:
    engine, other = dock(""), dock("[drawing.right.eccentric_rod]\nlength = 30\n")
    for side, inches in (("left", 31.53125), ("right", 30.0)):
        made, state = borrowed(engine, other, "eccentric_rod", side)
        assert made.tables(state, side)["eccentric_rod"]["length"] == pytest.approx(inches * 25.4, abs=1e-9)
