"""DEVELOPERS.md, 'How to add a gear', followed to the letter: the file it prints, and its registration."""

import importlib.util
import json
import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from linkmotion import assess, parse_engine
from linkmotion.cli import app
from linkmotion.files.starter import starter
from linkmotion.gears import GEARS

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
    module = importlib.util.module_from_spec(spec)
    monkeypatch.setitem(__import__("sys").modules, "crosshead_lever", module)
    spec.loader.exec_module(module)
    monkeypatch.setitem(GEARS, "crosshead lever", module.CrossheadLever)
    return module.CrossheadLever


def test_the_printed_gear_gives_events(toy_gear):
    side = assess(parse_engine(block("toml"))).sides[0]
    assert side.notches == ("fixed",)
    # the valve goes with the lever's head: travel about the stroke in the ratio of the arms
    assert side.turned.travel[0] == pytest.approx(200 * 50 / 300, rel=0.02)


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
