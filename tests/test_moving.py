"""The tables behind the moving page, without a browser."""

from __future__ import annotations

import base64
import json
import re
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

from linkmotion.cli import app
from linkmotion.files.engine_file import parse_engine, read_engine
from linkmotion.files.faults import FileError
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.gears.reverser import Stop
from linkmotion.linkage import Harmonics, Wheel, solve
from linkmotion.studies.assess import assess
from linkmotion.studies.motion_table import weights
from linkmotion.studies.page_case import PageCase
from linkmotion.studies.page_data import REST, PageData, page_data
from linkmotion.views.moving.page_words import why
from linkmotion.wear.condition import SOUND
from tests.gears_at_hand import EXAMPLES

ENGINES = [path for path in EXAMPLES if not path.stem.endswith("-readings")]
WITHIN = 1e-3  # mm: a tenth of what the page must keep
LARGEST = 400_000  # bytes of a page


@pytest.fixture(scope="module")
def tables() -> dict[str, PageData]:
    return {path.stem: page_data(read_engine(path)) for path in ENGINES}


def at(table: PageData, case: PageCase, u: float) -> dict[str, Harmonics]:
    """Series of every quantity at a reverser position."""
    nodes = table.nodes
    if nodes.size == 1 or table.reverser is Stop:
        share = (nodes == nodes[np.argmin(abs(nodes - u))]).astype(float)
    else:
        share = weights(nodes, [u])[0]
    series = np.einsum("u,uqk->qk", share, case.motion.series)
    return {name: Harmonics(c) for name, c in zip(case.quantities, series, strict=True)}


@pytest.mark.parametrize("name", [path.stem for path in ENGINES])
def test_every_pin_stands_where_the_solver_puts_it_at_any_crank_angle_and_reverser_position(
    name: str, tables: dict[str, PageData]
) -> None:
    table, random = tables[name], np.random.default_rng(1)
    case = table.cases[0]
    for _ in range(20):
        u, angle = random.uniform(table.nodes.min(), table.nodes.max()), random.uniform(0, 2 * np.pi)
        stops = list(case.gear.notches.values())
        setting = stops[round(u)] if table.reverser is Stop else table.reverser(u)
        solved = solve(case.gear.declare(setting), Wheel.at(-angle), alone=False)
        found = at(table, case, u)
        for pin in solved.linkage.names:
            place = complex(np.ravel(solved[pin])[0])
            assert abs(found[f"{pin} x"](angle) - place.real) < WITHIN
            assert abs(found[f"{pin} y"](angle) - place.imag) < WITHIN
        valve = float(np.ravel(solved.along(VALVE_GUIDE))[0])
        assert abs(found["spindle"](angle) - valve) < WITHIN
        assert abs(found["spindle"](angle + 0.02) - valve) > WITHIN or abs(found["spindle"].rate()(angle)) < 0.1


@pytest.mark.parametrize("name", [path.stem for path in ENGINES])
def test_at_the_notches_the_table_gives_the_assessed_motion_of_every_state(
    name: str, tables: dict[str, PageData]
) -> None:
    table, angles = tables[name], np.linspace(0, 2 * np.pi, 37)
    for case in table.cases:
        side = assess(table.engine, case.state, case.sides[:1]).sides[0]
        assert tuple(case.notches) == side.notches
        for i, u in enumerate(case.notches.values()):
            ours = np.array([at(table, case, u + 1e-9)["spindle"](t) for t in angles]) - case.central_at
            theirs = np.array([side.displacement[i](t) for t in angles])
            assert np.max(np.abs(ours - theirs)) < 2 * WITHIN  # a worn slot's profile has corners


def test_the_items_and_what_they_do_to_one_another_make_up_the_state(tables: dict[str, PageData]) -> None:
    for table in tables.values():
        for case in table.cases[1:]:
            if case.rest is None:
                continue
            drawing = table.drawn(case.sides[0]).motion
            whole = case.motion - drawing
            for item in case.items:
                whole = whole - item.change
            left = whole - case.rest
            assert np.max(np.abs(left.series)) < 1e-9
            assert np.max(np.abs(left.figures)) < 1e-9


def test_what_items_do_to_one_another_is_small_beside_what_they_do(tables: dict[str, PageData]) -> None:
    case = next(c for c in tables["stephenson_goods"].cases if c.state == "as found" and "left" in c.sides)
    assert case.rest is not None
    sizes = [np.max(np.sum(np.abs(item.change.series), axis=-1)) for item in case.items]
    rest = np.max(np.sum(np.abs(case.rest.series), axis=-1))
    assert 0.01 < rest < 0.1 * max(sizes)


def test_an_item_alone_is_the_exact_difference_of_the_drawing_with_it(tables: dict[str, PageData]) -> None:
    table = tables["metre_gauge"]
    case = next(c for c in table.cases if c.state == "as found" and c.sides == ("right",))
    item = next(i for i in case.items if i.name == "union link, length")
    assert item.amount == pytest.approx(-6.0, abs=1e-9)
    assert not item.angle
    drawn = table.engine.side_state()
    gear: Any = drawn.gear
    changed = replace(gear, union_link=replace(gear.union_link, length=319.0))
    found = solve(changed.declare(table.reverser(10.0)), Wheel.revolution(48)).along(VALVE_GUIDE)
    before = solve(drawn.gear.declare(table.reverser(10.0)), Wheel.revolution(48)).along(VALVE_GUIDE)
    own = np.einsum("u,uk->k", weights(table.nodes, [10.0])[0], item.change.series[:, case.quantities.index("spindle")])
    assert np.max(np.abs(Harmonics(own).on_grid(96)[::2] - (found - before))) < 1e-6
    assert np.max(np.abs(found - before)) > 0.01


def test_clearances_let_the_valve_move_freely_and_add_up(tables: dict[str, PageData]) -> None:
    case = next(c for c in tables["dock_shunter"].cases if c.state == "as found" and c.sides == ("left",))
    parts = sum(item.change.lost for item in case.items)
    assert case.motion.lost.max() > 1.0
    assert np.max(np.abs(parts - case.motion.lost)) < 0.05  # dimensions change the levers a little


def test_a_worn_drawing_is_not_taken_for_sound() -> None:
    text = Path("examples/allan_saddle_tank.toml").read_text("utf-8")
    table = page_data(parse_engine(text + '\n[wear]\nclearance = { "rod pin" = 0.5 }\n'))
    case = next(c for c in table.cases if c.state == "as found" and c.sides == ("left",))
    assert table.engine.side_state().condition != SOUND
    assert [item.name for item in case.items] == ["radius rod, length", "clearance at the rod pin"]
    assert table.cases[0].motion.lost.max() > 0.1


def test_a_state_that_cannot_be_turned_is_left_out_and_told() -> None:
    text = Path("examples/metre_gauge.toml").read_text("utf-8")
    table = page_data(parse_engine(text + '\n[state."too short".both.eccentric_rod]\nlength = 500\n'))
    assert list(table.left_out) == ["too short"]
    assert "cannot pass" in str(table.left_out["too short"])
    assert "333.75 mm" in why(table.left_out["too short"], "mm")
    assert " in at crank angle" in why(table.left_out["too short"], "in")
    assert {case.state for case in table.cases} == {"drawing", "as found", "as repaired"}


def test_what_cannot_be_told_item_by_item_is_one_item() -> None:
    text = Path("examples/allan_saddle_tank.toml").read_text("utf-8")
    more = (
        '\n[state."valve moved".both.valve]\ncentral_at = 2630\n[state."valve moved".both.radius_rod]\nlength = 766\n'
    )
    case = page_data(parse_engine(text + more), ["valve moved"]).cases[-1]
    assert [item.name for item in case.items][:1] != [REST]
    total = sum(item.change.figures[0] for item in case.items)
    rest = 0.0 if case.rest is None else case.rest.figures[0]
    assert total + rest == pytest.approx(2630 - page_data(parse_engine(text), []).cases[0].central_at, abs=1e-9)


def test_nothing_of_the_engine_file_can_end_the_script_it_stands_in(tables: dict[str, PageData]) -> None:
    from linkmotion.views.moving.page import page

    name = "<script>alert(1)</script><img src=x onerror=alert(2)>"
    text = page(replace(tables["donkey_eccentric"], engine=replace(tables["donkey_eccentric"].engine, name=name)))
    assert name not in text
    assert "<img src=x" not in text
    assert "\\u003cscript\\u003ealert(1)" in text
    assert len(text.encode()) < LARGEST


def unpacked(text: str) -> list[int]:
    """Whole numbers of seven bits a byte, least first, the sign in the first bit; read as a reader would by hand."""
    found, digits = [], ""
    for byte in base64.b64decode(text):
        digits = f"{byte & 127:07b}{digits}"
        if byte < 128:
            found.append((int(digits[:-1] or "0", 2) + int(digits[-1])) * (-1) ** int(digits[-1]))
            digits = ""
    return found


@pytest.mark.parametrize("name", ["gooch_tank", "dock_shunter", "donkey_eccentric"])
def test_the_packed_motion_comes_out_as_it_went_in(name: str, tables: dict[str, PageData]) -> None:
    """At every node, by numpy's own Chebyshev series: to a hundredth of what is printed, and of pins, of a pixel."""
    from linkmotion.views.moving.payload import as_script, payload

    table = tables[name]
    data = json.loads(as_script(payload(table)))
    nodes, steps = table.nodes, data["steps"]
    x = 2 * (nodes - nodes[-1]) / (nodes[0] - nodes[-1]) - 1
    for raw, case in zip(data["cases"], table.cases, strict=True):
        numbers = iter(unpacked(raw["series"]))
        for q, quantity in enumerate(case.quantities):
            told = quantity in ("spindle", "die", "link", "crosshead pin x", "crosshead pin y")
            rows = np.zeros((nodes.size, case.motion.series.shape[-1]), complex)
            for n in range(next(numbers)):
                own = [next(numbers) for _ in range(2 * next(numbers))]
                rows[n, : len(own) // 2] = np.array(own[::2]) + 1j * np.array(own[1::2])
            rows *= steps["fine" if told else "coarse"]
            found = rows if table.reverser is Stop else np.polynomial.chebyshev.chebval(x, rows).T
            missed = Harmonics(found - case.motion.series[:, q]).on_grid(2 * found.shape[-1])
            assert np.max(np.abs(missed)) < (1e-4 if told else 1e-2), (case.state, quantity)
        assert next(numbers, None) is None
        if raw["lost"]:
            lost = np.cumsum(np.reshape(unpacked(raw["lost"]), (nodes.size, -1)), axis=-1) * steps["free"]
            assert np.max(np.abs(np.polynomial.chebyshev.chebval(x, lost).T - case.motion.lost)) < 1e-3


def test_the_reverser_has_forward_at_one_end_and_mid_in_the_middle_whatever_its_figures(
    tables: dict[str, PageData],
) -> None:
    from linkmotion.views.moving.payload import payload

    ahead = {}
    for name, table in tables.items():
        every = [at for case in table.cases for at in case.notches.values()]
        for case, sent in zip(table.cases, payload(table)["cases"], strict=True):
            span, notches = sent["span"], table.drawn(case.sides[0]).notches
            if name == "donkey_eccentric":
                assert span is None
                continue
            assert sorted((span["forward"], span["backward"])) == pytest.approx([min(every), max(every)], abs=1e-9)
            assert (span["forward"] > span["mid"]) == (notches["full forward"] > notches["mid"])
            assert span["mid"] == pytest.approx(notches["mid"], abs=1e-9)
            for side in case.sides:
                ahead[name, side] = span["forward"] > span["backward"]
    assert ahead["metre_gauge", "left"]
    assert ahead["metre_gauge", "right"]
    assert not ahead["gooch_tank", "left"]
    assert ahead["crosshead_branch", "left"] != ahead["crosshead_branch", "right"]  # one is the other way round


def test_the_play_is_sent_as_the_way_in_which_a_pin_moves_in_its_hole(tables: dict[str, PageData]) -> None:
    """Of a rod's far end that is along the rod, as far as a longer rod takes the valve (a difference of two gears)."""
    table = tables["dock_shunter"]
    case = next(c for c in table.cases if c.state == "as found" and c.sides == ("left",))
    clearance, node = case.side.condition.clearance["foot"], 7
    gear: Any = case.gear
    setting = table.reverser(table.nodes[node])

    def valve(longer: float) -> Any:
        rod = replace(gear.eccentric_rod, length=gear.eccentric_rod.length + longer)
        solved = solve(replace(gear, eccentric_rod=rod).declare(setting), Wheel.revolution(24))
        return solved.along(VALVE_GUIDE), solved["foot"] - solved["return-crank pin"]

    (ahead, along), (behind, _) = valve(1e-3), valve(-1e-3)
    sent = [Harmonics(case.motion.series[node, case.quantities.index(f"foot play {axis}")]) for axis in "xy"]
    way = np.array([complex(*(own(float(t)) for own in sent)) for t in np.arange(24) * 2 * np.pi / 24])
    wanted = clearance * (ahead - behind) / 2e-3 * along / np.abs(along)
    assert np.max(np.abs(wanted)) > 0.05
    assert np.max(np.abs(way - wanted)) < 1e-3


@pytest.mark.parametrize("name", [path.stem for path in ENGINES])
def test_the_tour_has_five_plain_sentences_that_speak_of_parts_that_are_there(
    name: str, tables: dict[str, PageData]
) -> None:
    from linkmotion.views.moving.payload import payload

    data = payload(tables[name])
    parts = set(data["drawings"][0]["named"])
    steps = data["tour"]
    assert len(steps) == 5
    for step in steps:
        assert set(step["parts"]) <= parts
        assert step["parts"]
        assert step["words"].count(".") == 1
    timed = set(steps[2]["parts"])
    assert ("return crank" in timed) == ("return_crank" in {table.name for table in fields(tables[name].cases[0].gear)})
    assert ({"forward eccentric", "backward eccentric"} <= timed) == (
        name in ("stephenson_goods", "gooch_tank", "allan_saddle_tank")
    )
    reversing = {"hackworth_quarry": "slide", "joy_mixed_traffic": "slide", "marshall_pumping": "swinging link"}
    reversing |= {"baker_express": "reversing yoke", "southern_mineral": "stationary link"}
    reversing |= {"derived_heavy_goods": "left expansion link"}
    assert reversing.get(name, "eccentric" if name == "donkey_eccentric" else "expansion link") in steps[3]["parts"]


def test_the_command_writes_one_page_and_says_what_it_shows(tmp_path: Path) -> None:
    file = tmp_path / "page.html"
    ran = CliRunner().invoke(app, ["page", "examples/gooch_tank.toml", "--into", str(file), "--json"])
    assert ran.exit_code == 0
    told = json.loads(ran.output)
    assert told["states"] == ["drawing"]
    assert told["bytes"] == file.stat().st_size
    assert file.read_text("utf-8").startswith("<!doctype html>")
    assert list(tmp_path.iterdir()) == [file]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--into", "page.toml"], "let it end with .html"),
        (["--state", "as fuond"], "did you mean 'as found'"),
        (["--state", "too short"], "cannot be shown"),
    ],
)
def test_the_command_refuses_in_two_lines_and_writes_nothing(tmp_path: Path, arguments: list[str], said: str) -> None:
    engine = tmp_path / "engine.toml"
    text = Path("examples/metre_gauge.toml").read_text("utf-8")
    engine.write_text(text + '\n[state."too short".both.eccentric_rod]\nlength = 500\n', "utf-8")
    with pytest.raises(FileError, match=re.escape(said)) as refused:
        CliRunner().invoke(app, ["page", str(engine), *arguments], catch_exceptions=False)
    assert str(refused.value).count("\n") == 1
    assert list(tmp_path.iterdir()) == [engine]


def test_a_slip_eccentric_s_differences_are_weighed_at_its_stops() -> None:
    text = Path("examples/donkey_eccentric.toml").read_text("utf-8")
    text += '\n[state.found.both.eccentric_rod]\nlength = "22 5/8"\n'
    text += "\n[state.found.both.wear]\nangle_slip = { eccentric = 1.5 }\n"
    table = page_data(parse_engine(text))
    case = table.cases[-1]
    assert case.state == "found"
    assert len(case.items) == 2
    whole = case.motion - table.cases[0].motion
    sizes = [np.max(np.sum(np.abs(item.change.series), axis=-1)) for item in case.items]
    assert min(sizes) > 0.1
    assert case.rest is not None
    assert np.max(np.sum(np.abs(case.rest.series), axis=-1)) < 0.2 * np.max(np.sum(np.abs(whole.series), axis=-1))
