"""DEVELOPERS.md, 'How to add a gear', followed to the letter: the file it prints, and its registration."""

import importlib.util
import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

from linkmotion.cli import app
from linkmotion.files.engine_file import parse_engine, read_engine
from linkmotion.files.starter import starter
from linkmotion.gears import GEARS
from linkmotion.linkage import Wheel, solve
from linkmotion.studies.assess import assess
from linkmotion.studies.side_drawing import elevation_of
from linkmotion.views.elevation_svg import groups
from tests.read_elevation import read

ROOT = Path(__file__).parents[1]


def block(language: str) -> str:
    section = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("## How to add a gear")[1]
    found = re.search(rf"```{language}\n(.*?)```", section, re.DOTALL)
    assert found is not None, f"no {language} block in the section"
    return found[1]


@pytest.fixture
def toy_gear(tmp_path, monkeypatch):
    file = tmp_path / "crosshead_lever.py"
    file.write_text(block("python"), encoding="utf-8")
    spec = importlib.util.spec_from_file_location("crosshead_lever", file)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    monkeypatch.setitem(__import__("sys").modules, "crosshead_lever", module)
    spec.loader.exec_module(module)
    monkeypatch.setitem(GEARS, "crosshead lever", module.CrossheadLever)
    return module.CrossheadLever


def test_the_printed_gear_gives_events(toy_gear):
    side = assess(parse_engine(block("toml"))).sides[0]
    assert side.notches == ("fixed",)
    # the valve goes with the lever's head: travel about the stroke in the ratio of the arms
    assert side.motion.travel[0] == pytest.approx(200 * 50 / 300, rel=0.02)


def test_the_printed_gear_has_a_starter_file_and_errors(toy_gear):
    text = starter("crosshead lever", "mm")
    assert all(f"\n{key} = " in text for key in ("shaft_x", "shaft_y", "long_arm", "short_arm", "drop_link"))
    with pytest.raises(ValueError, match="did you mean 'short_arm'"):
        parse_engine(block("toml").replace("short_arm", "shrot_arm"))


def test_the_printed_gear_goes_through_the_command_with_plots_and_report(toy_gear, tmp_path):
    engine = tmp_path / "pump.toml"
    engine.write_text(block("toml"), encoding="utf-8")
    ran = CliRunner().invoke(app, ["check", str(engine)])
    assert (ran.exit_code, ran.exception) == (0, None), ran.output
    assert (tmp_path / "pump-report" / "report.html").stat().st_size > 100_000
    told = json.loads(CliRunner().invoke(app, ["check", str(engine), "--json"]).output)
    assert {row["notch"] for row in told["events"]} == {"fixed"}


WORN = """
[state.worn.both.wear.bow]
"drop link" = 3
"valve rod" = 2
[state.worn.both.wear.clearance]
"lever foot" = 0.4
[state.worn.both.wear.heat]
rods = 100
frame = 40
"""


@pytest.fixture
def worn_file(toy_gear, tmp_path):
    engine = tmp_path / "pump.toml"
    engine.write_text(block("toml") + WORN, encoding="utf-8")
    return str(engine)


def ran(*words):
    done = CliRunner().invoke(app, list(words), catch_exceptions=False)
    return done.exit_code, done.output


def test_the_printed_gear_wears_and_grows_warm(toy_gear, worn_file):
    """A bow shortens its rod by 8 b²/3L; a pin's clearance is felt at the spindle by the ratio of the arms."""
    left: Any = assess(read_engine(worn_file), "worn", ["left"], standing="in service").sides[0]
    shortened = 8 * 3**2 / (3 * 300), 8 * 2**2 / (3 * 300)
    assert left.gear.lever.drop_link == pytest.approx((300 - shortened[0]) * (1 + 11.7e-6 * 100), abs=1e-9)
    assert left.gear.lever.valve_rod == pytest.approx((300 - shortened[1]) * (1 + 11.7e-6 * 100), abs=1e-9)
    assert left.gear.lever.shaft_x == pytest.approx(900 * (1 + 11.7e-6 * 40), abs=1e-9)
    code, told = ran("wear", worn_file, "--state", "worn", "--json")
    lost = {row["name"]: row for row in json.loads(told)["sides"][0]["items"]}["clearance at the lever foot"]
    assert code == 0
    assert lost["lost"] == pytest.approx(0.4 * 50 / 300, rel=0.05)


def test_the_printed_gear_is_set_by_its_own_rod(toy_gear, worn_file):
    code, told = ran("adjust", worn_file, "--state", "worn", "--json")
    assert code in (0, 1)
    assert "lever.valve_rod" in {work["dimension"] for work in json.loads(told)["work"]} or json.loads(told)["all_met"]


def test_the_printed_gear_makes_a_card_model_and_a_page(toy_gear, worn_file, tmp_path):
    for command, file in (("card", "pump.pdf"), ("page", "pump.html")):
        code, told = ran(command, worn_file, "--into", str(tmp_path / file))
        assert code == 0, told
        assert (tmp_path / file).stat().st_size > 20_000
    page = (tmp_path / "pump.html").read_text(encoding="utf-8")
    assert "drop link" in page
    assert "valve rod" in page


def test_the_printed_gear_draws_itself(toy_gear):
    """Every pin where the linkage has it, all round the wheel, and every part there by its name."""
    side = assess(parse_engine(block("toml"))).sides[0]
    own = elevation_of(side)
    for angle in range(5, 365, 30):
        seen = read(groups(own, own.places(0, angle), {"front": "live steam", "back": "exhaust"}))
        solution = solve(side.gear.declare(side.settings[0]), Wheel.at(-np.radians(angle)))
        shown = list(seen.pins())
        assert {pin for pin, _body, _at in shown} == set(solution.linkage.names)
        assert max(abs(at - complex(np.ravel(solution[pin])[0])) for pin, _body, at in shown) < 0.01
        assert {"lever", "drop link", "valve rod", "connecting rod", "valve"} <= set(seen.bodies)
