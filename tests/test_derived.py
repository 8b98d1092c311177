"""Figures derived from those given: true stroke, dead centres, return crank, angular advance."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from linkmotion.cli import app
from linkmotion.files.engine_file import read_engine

EXAMPLES = Path(__file__).parents[1] / "examples"


def test_stroke_and_dead_centres_of_an_offset_line() -> None:
    """Hand computation: the crank and rod in one line at either end, the line 0.59 in. or 15 mm off the axle."""
    gear = read_engine(EXAMPLES / "metre_gauge.toml").gear()
    derived = gear.derived()
    r, rod, h = derived["crank radius"][0], 1750.0, 15.0
    assert derived["stroke"][0] == pytest.approx(
        math.sqrt((rod + r) ** 2 - h**2) - math.sqrt((rod - r) ** 2 - h**2), abs=1e-9
    )
    assert derived["stroke"][0] == pytest.approx(530.0, abs=1e-9)
    front, back = math.asin(h / (rod + r)), math.asin(h / (rod - r))
    apart = derived["front to back dead centre, running forward"][0]
    assert apart == pytest.approx(180 - math.degrees(back - front), abs=1e-12)
    assert apart < 179.9


def test_return_crank_by_the_law_of_cosines() -> None:
    derived = read_engine(EXAMPLES / "dock_shunter.toml").gear().derived()
    inches = math.sqrt(100 + 4.4375**2 - 2 * 10 * 4.4375 * math.cos(math.radians(83.5)))
    assert derived["return crank, crank pin to its pin"] == (pytest.approx(25.4 * inches, abs=1e-9), "length")


def test_advance_is_told_beyond_and_short_of_the_right_angle() -> None:
    beyond: Any = read_engine(EXAMPLES / "gooch_tank.toml").gear()
    short: Any = read_engine(EXAMPLES / "stephenson_goods.toml").gear()
    assert beyond.derived()["fore-gear eccentric's angular advance, beyond the right angle"] == (17.75, "angle")
    assert beyond.eccentrics.forward_angle == 107.75
    assert short.derived()["fore-gear eccentric's negative advance, short of the right angle"] == (17.25, "angle")
    assert short.eccentrics.forward_angle == -72.75


def test_check_shows_them_and_json_holds_them() -> None:
    runner = CliRunner()
    shown = " ".join(runner.invoke(app, ["check", str(EXAMPLES / "donkey_eccentric.toml"), "--tables"]).output.split())
    assert "the right angle 17.00°" in shown
    found = json.loads(runner.invoke(app, ["check", str(EXAMPLES / "dock_shunter.toml"), "--json"]).output)
    assert found["derived"]["drawing"]["left"]["stroke"] == {"figure": 20.0, "unit": "in"}
    assert {"virtual_throw", "virtual_angle", "virtual_advance"} <= found["events"][0].keys()


def test_sides_that_differ_are_told_apart() -> None:
    shown = CliRunner().invoke(app, ["check", str(EXAMPLES / "dock_shunter.toml"), "--tables", "--state", "as found"])
    assert "left 83.31°, right 83.50°" in " ".join(shown.output.split())
