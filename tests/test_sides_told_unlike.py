"""An engine whose sides are drawn unlike: every command and view tells each by its own drawing."""

from __future__ import annotations

import re
from base64 import b64decode
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from linkmotion.engine import Engine
from linkmotion.files.engine_file import parse_engine
from linkmotion.gears.sensitivity import numbers
from linkmotion.studies.assess import assess
from linkmotion.studies.compare import compare
from linkmotion.studies.page_data import page_data
from linkmotion.studies.setting.known import off_drawing
from linkmotion.studies.side_drawing import elevation_of
from linkmotion.studies.table import event_rows
from linkmotion.studies.which_wear import differences
from linkmotion.views.measuring_parts import Measured
from linkmotion.views.parts_off import parts_off
from linkmotion.views.readings_sheet import readings_sheet
from tests.bad_engines.changed import EXAMPLES
from tests.bad_engines.command import Command
from tests.gears_at_hand import example, of_engine

BRANCH = (EXAMPLES / "crosshead_branch.toml").read_text(encoding="utf-8")


def alike_on_paper() -> str:
    """The example as such a gear had to be written once: the right side in a state."""
    text = BRANCH.replace("[drawing.right.", '[state."both sides".right.')
    return text.replace('\n[state."both sides"', '\n[state."both sides"]\nset_afresh = true\n\n[state."both sides"', 1)


def rows(engine: Engine, state: str, side: str) -> list[dict[str, Any]]:
    found = event_rows(assess(engine, state, (side,)))
    return [{key: value for key, value in row.items() if key not in ("state", "side")} for row in found]


def same(one: list[dict[str, Any]], other: list[dict[str, Any]]) -> bool:
    """Whether two tables tell the same, figures to 1e-12 of theirs (or of 1)."""
    assert [list(row) for row in one] == [list(row) for row in other]
    pairs = [(a[key], b[key]) for a, b in zip(one, other, strict=True) for key in a]
    plain = [pair for pair in pairs if not all(isinstance(each, float) for each in pair)]
    figures = np.array([pair for pair in pairs if all(isinstance(each, float) for each in pair)])
    assert len(figures) > 50
    off = np.abs(figures[:, 0] - figures[:, 1]) / np.maximum(1.0, np.abs(figures[:, 0]))
    return all(a == b for a, b in plain) and bool(np.nanmax(off) < 1e-12)


@pytest.mark.parametrize("engine", ["crosshead_branch", "metre_gauge"])
def test_a_readings_sheet_shows_each_side_by_its_own_gear(engine: str) -> None:
    sheet = readings_sheet(example(engine), assess(example(engine)).sides, "mm")
    assert re.findall("<h1>Readings, ([^<]*)</h1>", sheet) == ["left side", "right side"]
    shown = [b64decode(data).decode() for data in re.findall(r'<img src="data:image/svg\+xml;base64,([^"]*)"', sheet)]
    assert [re.findall("(left|right) side; notch", picture) for picture in shown] == [["left"], ["right"]]
    one, other = (re.findall(' d="([^"]*)"', picture) for picture in shown)
    assert (one == other) == (engine == "metre_gauge")


def test_sides_drawn_unlike_are_not_told_to_be_alike(linkmotion: Command, tmp_path: Path) -> None:
    said = {}
    for name, text in (("unlike", BRANCH), ("alike", alike_on_paper())):
        (file := tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
        said[name] = linkmotion("check", file).out
    assert "both sides alike" in said["alike"]  # which was told of a right side that could not work
    assert "alike" not in said["unlike"]
    assert "drawing, as it stands, right side" in said["unlike"]


def test_the_right_side_as_drawn_is_what_a_state_had_to_say_of_it() -> None:
    """Its valve set by the rule on its own gear, where a state's stood where the left one's did."""
    engine, before = parse_engine(BRANCH), parse_engine(alike_on_paper())
    assert same(rows(engine, "drawing", "right"), rows(before, "both sides", "right"))
    assert same(rows(engine, "drawing", "left"), rows(before, "drawing", "left"))
    assert not same(rows(engine, "drawing", "right"), rows(before, "drawing", "right"))


def test_a_state_of_a_side_stands_on_that_sides_drawing() -> None:
    engine = example("crosshead_branch")
    for state in ("drawing", "as found", "as repaired"):
        setup = engine.side_state(state, "right")
        assert setup.rack == engine.gear("drawing", "right") != engine.gear("drawing", "left")
        assert of_engine(engine, state, "right").settings == of_engine(engine, "drawing", "right").settings


def test_a_state_tells_no_departure_that_is_only_the_drawings_own() -> None:
    engine = parse_engine(BRANCH + '\n[state."as read"]\nnote = "nothing differs"\n')
    drawn, read = (engine.side_state(state, "right") for state in ("drawing", "as read"))
    assert differences(drawn, read) == []
    side = assess(engine, "as read", ("right",)).sides[0]
    assert off_drawing(engine, "as read", side) == ()
    assert parts_off(engine, "as read", "right", elevation_of(side, engine)) == {}
    told = compare(engine, ("drawing", "as read")).rows
    assert {row["side"] for row in told} == {"left", "right"}
    assert all(row[key][0] == row[key][1] for row in told for key in ("lead", "cutoff_percent", "valve_travel"))
    found = {key for key, value in numbers(engine.gear("drawing", "right")).items() if value != numbers(
        engine.gear("drawing", "left"))[key]}  # fmt: skip
    assert ("other_side", "crank_angle") in found


def test_a_side_that_only_a_state_says_to_be_opposite_is_asked_to_be_drawn_so() -> None:
    """Files written before a drawing could say so are told what they lack; a part that is only off is not."""
    from linkmotion.face.advice import advised

    said = {}
    off = f'{BRANCH}\n[state."both sides".right.other_side]\ncrank_angle = -88.5\n'
    for name, text in (("opposite", alike_on_paper()), ("off", off)):
        engine = parse_engine(text)
        advice = advised(engine, "both sides", list(engine.sides), None, "diagnosis")
        said[name] = " ".join(advice.words().sentences(advice.foreseen))
        assert "crank angle is" in said[name]
    wanted = (
        "unless this side is drawn the other way round: then the file wants crank_angle in [drawing.right.other_side]"
    )
    assert wanted in said["opposite"]
    assert "the other way round" not in said["off"]


def test_the_moving_page_begins_each_side_where_it_is_drawn() -> None:
    table = page_data(example("crosshead_branch"), ["drawing", "as found"])
    drawn, right = table.cases[:2], table.cases[-1]
    assert [case.sides for case in drawn] == [("left",), ("right",)]
    assert (right.state, right.sides) == ("as found", ("right",))
    names = [item.name for item in right.items]
    assert names
    assert not [name for name in names if "crank angle" in name or "notch" in name]
    assert table.drawn("right") is drawn[1]


def test_a_measuring_sheet_has_the_drawings_figure_of_each_side() -> None:
    engine = example("crosshead_branch")
    measured = Measured(engine.gear_type, engine, True, "as found", engine.unit)
    found = {row.key: row.figures for part in measured.parts(None) for row in part.rows if part.table == "other_side"}
    assert found["crank_angle"][0] == "left 90, right -90"
    assert found["connecting_rod"][0] == "1500.00"


def test_the_telephone_is_told_where_the_wheel_stands_by_the_side_that_is_read() -> None:
    from linkmotion.files.readings_form import form
    from linkmotion.views.phone.asked_for import screens

    engine = example("crosshead_branch")
    sides = assess(engine, "drawing").sides
    for side, angle in {own.side: own.events["forward"]["front"].angle["cutoff"] for own in sides}.items():
        text = form(engine, sides[0], engine.sides, engine.unit, ())
        told = [own for own in screens(sides, (), text) if own.side == side and own.own.kind == "cutoff"]
        number = sides[0].notches.index("forward 50")
        (own,) = (
            own for own in told if (own.own.notch, own.own.direction, own.end) == ("forward 50", "forward", "front")
        )
        assert own.wheel.angle == pytest.approx(float(angle[number]), abs=0.5)
