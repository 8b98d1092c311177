"""As it stands, set afresh, in service: where the valve is, what setting mends, what heat does."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

import linkmotion as lm
from linkmotion.cli import app
from linkmotion.engine import AS_IT_STANDS, IN_SERVICE, SET_AFRESH
from linkmotion.files.engine_file import parse_engine
from linkmotion.files.faults import FileError
from linkmotion.studies.assess import assess
from linkmotion.studies.standing import how_it_stands
from tests.gears_at_hand import EXAMPLES, example

GAUGE = next(path for path in EXAMPLES if path.stem == "metre_gauge").read_text(encoding="utf-8")
LONG_ROD = "[state.x.left.radius_rod]\nlength = 941\n"
HEAT = "[state.x.left.wear]\nheat = { spindle = 100 }\nspindle_length = 700\n"


def with_state(more: str) -> str:
    return f"{GAUGE}\n{more}"


def lead(text: str, state: str, end: str, standing: str = AS_IT_STANDS) -> float:
    side = assess(parse_engine(text), state, ("left",), standing=standing).sides[0]
    return float(side.events["forward"][end].lead[side.notches.index("full forward")])


def test_the_valve_stays_where_the_drawing_set_it_and_setting_moves_it_by_half_the_difference() -> None:
    found = how_it_stands(parse_engine(with_state(LONG_ROD)), "x", ("left",))
    (drawn,) = how_it_stands(parse_engine(GAUGE), sides=("left",)).places.values()
    assert found.places == {"left": drawn}
    side = found.stands.assessment.sides[0]
    front, back = (float(side.events["forward"][end].lead[0]) for end in ("front", "back"))
    assert abs(found.moved["left"]) == pytest.approx(abs(front - back) / 2, abs=1e-9)
    assert found.afresh is not None
    new = found.afresh.assessment.sides[0].events["forward"]
    assert new["front"].lead[0] == pytest.approx(new["back"].lead[0], abs=1e-9)
    assert abs(front - back) > 0.4


@pytest.mark.parametrize("said", ["set_afresh = true", "central_at"])
def test_a_state_may_say_where_its_valve_is(said: str) -> None:
    head = f"[state.x]\n{said}\n" if said.startswith("set") else "[state.x.left.valve]\ncentral_at = 2600\n"
    text = with_state(head + LONG_ROD)
    side = assess(parse_engine(text), "x", ("left",)).sides[0]
    afresh = assess(parse_engine(text), "x", ("left",), standing=SET_AFRESH).sides[0]
    assert side.central_at == (2600.0 if said == "central_at" else afresh.central_at)


def test_a_state_on_one_that_was_set_afresh_has_its_valve_from_there() -> None:
    text = with_state(
        f"[state.x]\nset_afresh = true\n{LONG_ROD}[state.y]\nbased_on = 'x'\n[state.y.left.union_link]\nlength = 500\n"
    )
    engine = parse_engine(text)
    x, y = (assess(engine, state, ("left",)).sides[0] for state in ("x", "y"))
    assert y.central_at == x.central_at
    assert y.central_at != assess(engine, "y", ("left",), standing=SET_AFRESH).sides[0].central_at
    assert x.central_at != assess(engine, sides=("left",)).sides[0].central_at


def test_a_state_stands_cold_and_its_heat_is_told_in_service() -> None:
    """The spindle's growth, 11.7e-6 x 100 K x 700 mm, drives the leads apart by twice itself."""
    text = with_state(HEAT)
    cold, warm = ([lead(text, "x", end, how) for end in ("front", "back")] for how in (AS_IT_STANDS, IN_SERVICE))
    assert cold == [lead(GAUGE, "drawing", end) for end in ("front", "back")]
    assert abs((warm[0] - warm[1]) - (cold[0] - cold[1])) == pytest.approx(2 * 11.7e-6 * 100 * 700, abs=1e-9)
    found = how_it_stands(parse_engine(text), "x", ("left",))
    assert [stand.name for stand in found] == [AS_IT_STANDS, IN_SERVICE]
    assert found.wrong
    assert not found.stands.out


def test_the_library_looks_at_a_side_in_each_way(tmp_path: Path) -> None:
    file = tmp_path / "warm.toml"
    file.write_text(with_state(HEAT + LONG_ROD), encoding="utf-8")
    left = lm.read_engine(file)["x"].left
    moved = left.moved_by_setting
    assert left.set_afresh()["full forward"].front.lead == pytest.approx(
        left["full forward"].front.lead + np.sign(left.set_afresh()["full forward"].front.lead
        - left["full forward"].front.lead) * abs(moved), abs=1e-9
    )  # fmt: skip
    assert left.in_service()["full forward"].front.lead != left["full forward"].front.lead
    with pytest.raises(ValueError, match="no heat is given"):
        lm.read_engine(file)["drawing"].left.in_service()


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ("[state.x]\nset_afresh = 1\n", "write true"),
        ("[state.x]\nset_afresh = true\n[state.x.left.valve]\ncentral_at = 2600\n", "keep one of the two"),
    ],
)
def test_what_a_state_cannot_say_of_its_valves_is_refused(more: str, told: str) -> None:
    with pytest.raises(FileError, match=told) as refused:
        parse_engine(with_state(more))
    assert refused.value.key == "state.x.set_afresh"


def test_without_a_rule_nothing_is_set_afresh() -> None:
    rule = next(line for line in GAUGE.splitlines() if line.startswith("set_by"))
    where = next(line for line in GAUGE.splitlines() if line.startswith("set_in"))
    placed = GAUGE.replace(rule, "central_at = 2600").replace(where, "").replace("set_afresh = true", "")
    found = how_it_stands(parse_engine(placed), "as found")
    assert found.afresh is None
    with pytest.raises(ValueError, match="no rule to set it by"):
        assess(parse_engine(placed), "as found", standing=SET_AFRESH)
    with pytest.raises(FileError, match="no rule"):
        parse_engine(GAUGE.replace(rule, "central_at = 2600").replace(where, ""))


def test_check_lists_the_other_ways_on_request() -> None:
    path = str(next(path for path in EXAMPLES if path.stem == "metre_gauge"))
    short, whole = (
        CliRunner().invoke(app, ["check", path, "--state", "as found", "--tables", *more]).output
        for more in ([], ["--all-tables"])
    )
    assert "as found, set afresh, left side" not in short
    assert "as found, set afresh, left side" in whole
    assert len(how_it_stands(example("metre_gauge"), "as found").stands.out) == 50
