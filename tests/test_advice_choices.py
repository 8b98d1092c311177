"""The choices of a setting, their hours; what is read cold and what is in service; the command that tells them."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

import linkmotion as lm
from linkmotion.cli.app import app
from linkmotion.engine import State
from linkmotion.face.advice import advised
from linkmotion.face.engine_advice import EngineAdvice
from linkmotion.files.adjustments_table import adjustments_given
from linkmotion.files.engine_file import parse_engine
from linkmotion.files.faults import FileError
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.setting.adjustments import adjustments_of
from linkmotion.studies.setting.basis import believed, drawn_figures
from linkmotion.studies.setting.choices import CUTOFFS, LEADS, LEAST, Choices, advise
from linkmotion.studies.setting.known import put_back
from linkmotion.studies.setting.problem import THRIFT, SettingProblem, Wish
from linkmotion.studies.setting.side import Off, SideEstimate
from tests.planted import as_drawn, engine
from tests.test_advice_order import of_state, works
from tests.test_setting import FORE, ROD, SIXTYFOURTH, given

EXAMPLES = Path(__file__).parents[1] / "examples"
GOODS, GAUGE = (str(EXAMPLES / f"{name}.toml") for name in ("stephenson_goods", "metre_gauge"))
ANGLE = ("eccentrics", "forward_angle")


# ---- choices and what they cost --------------------------------------------------------------------------------------


def goods_problem() -> tuple[SettingProblem, Choices]:
    """A rod that is long by three steps, its eccentric slipped, its link hung wrongly, and the valve off its place."""
    wrong = {FORE: 3 * SIXTYFOURTH, ANGLE: 0.75, ("expansion_link", "saddle_x"): 4.0, CENTRAL: 0.9}
    side = believed(as_drawn("stephenson_goods"), wrong)
    off = tuple(Off(key, by) for key, by in wrong.items() if key != CENTRAL)
    estimate = SideEstimate(side, drawn=drawn_figures(as_drawn("stephenson_goods")), off=off)
    keys = {**given((FORE, CENTRAL), 6), **given((ANGLE,), 6)}
    keys[ANGLE] = replace(keys[ANGLE], step=0.25, least=-1.5, most=1.5)
    adjustments = adjustments_of(side.gear, keys, ["left"])
    targets = engine("stephenson_goods").targets
    return SettingProblem([estimate], adjustments, targets), advise([estimate], adjustments, targets)


def test_each_choice_is_the_best_of_every_selection_and_every_place_of_the_valve() -> None:
    problem, choices = goods_problem()
    undo = {own.number: own.steps for own in put_back(problem)}
    assert len(undo) == 2
    ranges = [
        range(low, high + 1) if each.trims else (undo[n], 0)
        for n, (each, low, high) in enumerate(zip(problem.adjustments, problem.least, problem.most, strict=True))
    ]
    rows = np.array(list(itertools.product(*ranges)))
    left_out = np.sum([rows[:, n] == 0 for n in undo], axis=0)
    fewest = []
    for name, wish in ((LEADS, Wish("lead")), (CUTOFFS, Wish("cutoff"))):
        cost = problem.cost(rows, wish)
        least_left = min(left_out[cost[:, 0] < 2])
        best = min(map(tuple, cost[left_out == least_left].tolist()))
        own = problem.cost(choices[name].steps[None], wish)[0]
        assert tuple(own) == pytest.approx(best, abs=1e-6)
        fewest.append(int(problem.out(problem.misses(choices[name].steps[None]))[0]))
    wish = Wish(within=min(fewest), thrift=THRIFT)
    best = min(map(tuple, problem.cost(rows, wish).tolist()))
    assert tuple(problem.cost(choices[LEAST].steps[None], wish)[0]) == pytest.approx(best, abs=1e-6)
    assert choices[LEAST].hours <= min(choices[name].hours for name in (LEADS, CUTOFFS))


def test_choices_stand_side_by_side_with_their_hours_and_their_targets() -> None:
    advice = of_state("stephenson_goods", "as found")
    rows = advice.choices().rows()
    assert {name for row in rows for name in row["choice"].split(" = ")} == {LEADS, CUTOFFS, LEAST}
    (default,) = (row for row in rows if row["default"])
    assert default["hours"] == 8 + 3 + 3 + 2  # eccentric, two lifting links, rod
    least = next(row for row in rows if LEAST in row["choice"])
    assert least["hours"] < default["hours"]
    assert least["out"] <= default["out"]
    with pytest.raises(lm.UnknownName, match="did you mean 'least work'"):
        advice.choose("least")


def test_the_cutoffs_come_first_where_the_drawing_sets_by_them() -> None:
    """With both choices as good, the one by the drawing's own rule is taken."""
    side = believed(as_drawn("stephenson_goods"), {CENTRAL: 3.0})
    own = adjustments_of(side.gear, given((CENTRAL,), 8), ["left"])
    for rule, taken_first in (("equal lead", LEADS), ("equal cutoff", CUTOFFS), ("", LEADS)):
        found = advise([SideEstimate(side, valve_rule=rule)], own, engine("stephenson_goods").targets)
        assert found.default == taken_first


def test_hours_are_read_from_the_file_or_assumed() -> None:
    table = '[adjustments]\neccentric_rod.length = { step = "1/64 in", most = "1/8 in", cost = 3.5 }\n'
    table += 'valve.central_at = { step = "1/64 in", most = "1/8 in" }\n'
    text = Path(GAUGE).read_text(encoding="utf-8") + table
    own, side = parse_engine(text, "engine.toml"), as_drawn("metre_gauge")
    found, assumed = adjustments_given(own, "engine.toml", side.gear, side.settings[0])
    rod, valve = adjustments_of(side.gear, found, ["left"], assumed)
    assert (rod.key, rod.hours, rod.hours_assumed) == (ROD, 3.5, False)
    assert (valve.key, valve.hours, valve.hours_assumed) == (CENTRAL, 0.5, True)
    for wrong in ('"3 h"', "-1", "true", "2000"):
        with pytest.raises(FileError, match="a plain number of hours is wanted") as told:
            parse_engine(text.replace("cost = 3.5", f"cost = {wrong}"), "engine.toml")
        assert told.value.key == "adjustments.eccentric_rod.length.cost"


# ---- cold and hot ---------------------------------------------------------------------------------------------------

HOT = {"heat": {"spindle": 100.0}, "spindle_length": 900.0}


def hot(**wear: Any) -> EngineAdvice:
    own = replace(engine("metre_gauge"), adjustments={})
    own = replace(own, states={"hot": State("hot", wear={"both": HOT | wear})})
    return advised(own, "hot", ["left", "right"], None, "diagnosis")


def test_a_valve_is_set_cold_so_that_it_is_right_when_its_spindle_has_grown() -> None:
    """A spindle of 900 mm by 100 K: 900 × 100 × 11.7e-6 = 1.053 mm ahead; inside admission opens the front port so."""
    advice = hot()
    assert works(advice) == [("left", "valve.central_at", False), ("right", "valve.central_at", False)]
    assert [row["amount"] for row in advice.rows()] == [-1.0, -1.0]  # two steps of half a millimetre back
    assert advice.met
    left = advice.foreseen[0]
    assert left.in_service is not None
    assert left.grows == pytest.approx(1.053, abs=1e-3)
    for i, reading in enumerate(left.readings):
        if reading.kind == "lead":
            sign = 1 if reading.end == "front" else -1
            assert left.expected[0, i] == pytest.approx(reading.value, abs=1e-9)  # as it stands, read cold
            assert left.in_service[:, i] - left.expected[:, i] == pytest.approx(sign * 1.053, abs=1e-3)
    told = " ".join(advice.words().sentences(advice.foreseen))
    assert "carries the valve 1.05 mm ahead" in told


def test_what_does_not_get_warm_has_no_figures_in_service() -> None:
    advice = of_state("metre_gauge", "as found")
    assert all(own.in_service is None and own.grows == 0 for own in advice.foreseen)


def test_the_sheet_has_what_is_read_cold_beside_what_is_in_service(tmp_path: Path) -> None:
    text = Path(GAUGE).read_text(encoding="utf-8")
    wear = "[state.hot]\n[state.hot.both.wear]\nheat = { spindle = 100 }\nspindle_length = 900\n"
    file, sheet = tmp_path / "engine.toml", tmp_path / "sheet.html"
    file.write_text(text + wear, encoding="utf-8")
    ran = CliRunner().invoke(app, ["adjust", str(file), "--state", "hot", "--sheet", str(sheet)])
    assert ran.exit_code == 1, ran.output
    page = sheet.read_text(encoding="utf-8")
    assert "read cold<br>after" in page
    assert "in<br>service" in page
    assert "find the true dead centres" in page
    assert "Hours in all, both sides: 1 h" in page


# ---- the command ----------------------------------------------------------------------------------------------------


def test_the_command_tells_another_choice_and_what_is_to_be_mended() -> None:
    ran = CliRunner().invoke(app, ["adjust", GOODS, "--state", "as found", "--choice", LEAST, "--json"])
    told = json.loads(ran.output)
    assert (ran.exit_code, told["choice"]) == (1, LEAST)
    assert [row["dimension"] for row in told["repairs"]] == ["expansion_link.saddle_x"]
    (own,) = (row for row in told["choices"] if LEAST in row["names"])
    assert own["work"] == [f"{row['side']} side: {row['words']}" for row in told["work"]]
    assert own["hours"] == sum(row["hours"] for row in told["work"])
    assert all(row["hours_assumed"] for row in told["work"])
    ran = CliRunner().invoke(app, ["adjust", GOODS, "--state", "as found"])
    order = [ran.output.index(words) for words in ("0. First find the true dead centres", "1. right side, put back")]
    assert order == sorted(order)
    assert "renew or alter it" in ran.output
    assert "told here: equal leads; --choice takes another" in " ".join(ran.output.split())
