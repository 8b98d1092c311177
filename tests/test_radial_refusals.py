"""What a radial gear's file is refused with, and where."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from linkmotion.files.engine_file import parse_engine
from linkmotion.files.faults import FileError
from linkmotion.files.starter import starter
from linkmotion.gears import DieHeight
from tests.bad_engines.command import Command
from tests.gears_at_hand import EXAMPLES, example


def text_of(name: str) -> str:
    return next(path for path in EXAMPLES if path.stem == name).read_text(encoding="utf-8").split("\n[state")[0]


REFUSED = [
    ("joy_mixed_traffic", '"mid" = 0', '"mid" = { die = 0 }', "reversing.notches", "runs to and fro"),
    ("hackworth_quarry", '"mid" = 0', '"mid" = { die = 0 }', "reversing.notches", "arm's angle in degrees"),
    ("hackworth_quarry", 'valve_pin = "2\'"', 'valve_pin = "17 1/8 in"', "eccentric_rod.valve_pin", "no lap and lead"),
    ("hackworth_quarry", 'throw = "2 1/2"', 'throw = "18 in"', "eccentric.throw", "distance between its centres"),
    ("hackworth_quarry", 'shaft_y = "16 13/16"', 'shaft_y = "1 1/2 in"', "reversing.shaft_y", "within the eccentric"),
    ("hackworth_quarry", "[slide]", '[slide]\nradius = "3 in"\n#', "slide.radius", "further along its arc"),
    ("joy_mixed_traffic", "pin = 680", "pin = 1700", "connecting_rod.pin", "at the crank pin"),
    ("joy_mixed_traffic", "lever_pin = 208", "lever_pin = 520", "correcting_link.lever_pin", "at the foot"),
    ("joy_mixed_traffic", "lower_arm = 468", "lower_arm = 0", "valve_lever.lower_arm", "distance between them"),
    ("joy_mixed_traffic", "upper_arm = 78", "upper_arm = -468", "valve_lever.upper_arm", "less than lower_arm"),
    ("joy_mixed_traffic", "pivot_y = -500", "", "anchor.pivot_y", "or guide"),
    (
        "joy_mixed_traffic",
        "pivot_y = -500",
        "pivot_y = -500\nguide = { point_x = 1020, point_y = 0 }",
        "anchor.pivot_x",
        "keep guide, or",
    ),
    ("joy_mixed_traffic", "top = 140", "", "slide.top", "swinging_link.length"),
    (
        "joy_mixed_traffic",
        "[slide]",
        "[swinging_link]\nlength = 800\n[slide]",
        "reversing.arm",
        "swinging link needs it",
    ),
]


@pytest.mark.parametrize(("name", "old", "new", "key", "words"), REFUSED, ids=[f"{row[3]} {row[4]}" for row in REFUSED])
def test_figures_that_cannot_be_are_refused_by_name(name: str, old: str, new: str, key: str, words: str) -> None:
    text = text_of(name)
    assert text.count(old) >= 1
    with pytest.raises(FileError) as refusal:
        parse_engine(text.replace(old, new, 1))
    assert str(refusal.value.key).replace('."mid"', "").replace(".mid", "") == key
    assert words in re.sub(r"\s+", " ", str(refusal.value))


@pytest.mark.parametrize("gear", ["hackworth", "marshall", "joy"])
def test_a_starters_notches_are_angles(gear: str) -> None:
    text = starter(gear, "mm")
    assert "\nmid = 0\n" in text
    assert "{ die =" not in text


def test_a_place_of_the_die_is_no_setting() -> None:
    with pytest.raises(TypeError, match="no die to bring to a place"):
        example("joy_mixed_traffic").gear().setting(DieHeight(10.0))


def test_a_die_that_cannot_pass_is_told_at_its_slide(linkmotion: Command, tmp_path: Path) -> None:
    before, slide = text_of("joy_mixed_traffic").split("[slide]")
    slide = slide.replace("radius = 800", "radius = 150").replace("offset = 0", "offset = 90")
    file = tmp_path / "engine.toml"
    file.write_text(f"{before}[slide]{slide}", encoding="utf-8")
    run = linkmotion("check", file, "--tables")
    assert run.code == 2
    assert re.search(
        r"line \d+: slide: notch 'full forward': the gear cannot pass: slot and", " ".join(run.err.split())
    )
    assert "slide.radius = 150: 1500" in run.err
