"""The schedule of pins and bushes: limits by the fits' own tables, what was found, what is beyond its size."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from linkmotion.files.engine_file import parse_engine, read_engine
from linkmotion.files.pins_table import found_diameters, read_pins
from linkmotion.files.source import Source
from linkmotion.wear.pin_schedule import joint
from tests.bad_engines.changed import EXAMPLES, METRE, replaced
from tests.bad_engines.command import Command, assert_refused

WINKLE = EXAMPLES / "winkle" / "winkle.toml"
TEXT = WINKLE.read_text(encoding="utf-8")


def test_a_metric_pin_has_the_limits_of_the_standard() -> None:
    """ISO 286, as printed: 25 H8/f7 is 0 to +33 and -41 to -20 micrometres; 40 H7/r6 0 to +25 and +34 to +50."""
    text = METRE + '\n[pins.foot]\npin = "25 mm"\nbush_outside = "40 mm"\n'
    engine = parse_engine(text)
    pin = read_pins(engine, Source(text, "m"))["foot"]
    assert pin.inner.hole == pytest.approx((25.0, 25.033), abs=1e-9)
    assert pin.inner.shaft == pytest.approx((24.959, 24.980), abs=1e-9)
    assert pin.outer is not None
    assert pin.outer.hole == pytest.approx((40.0, 40.025), abs=1e-9)
    assert pin.outer.shaft == pytest.approx((40.034, 40.050), abs=1e-9)
    assert (pin.quantity, pin.metal, pin.material) == (2, 0.0, "phosphor bronze")


def test_what_was_found_is_what_the_file_says() -> None:
    engine = read_engine(WINKLE)
    left, right = (found_diameters(engine, "as found", side) for side in ("left", "right"))
    assert set(left) == {"die pin", "foot"}
    assert left["die pin"].bush == pytest.approx((1.384 * 25.4, 1.395 * 25.4), abs=1e-9)
    assert left["die pin"].pin == pytest.approx((1.366 * 25.4, 1.372 * 25.4), abs=1e-9)
    assert left["die pin"].clearance == pytest.approx(
        engine.condition("as found", "left").clearance["die pin"], abs=1e-9
    )
    assert right["die pin"].pin == pytest.approx((1.37 * 25.4, 1.37 * 25.4), abs=1e-9)
    assert found_diameters(engine, "drawing", "left") == {}
    assert found_diameters(engine, "return crank keyed", "left") == left, "it is based on the other"


def test_a_later_clearance_that_was_not_taken_by_diameters_stands_instead() -> None:
    later = (
        '\n[state.bushed]\nbased_on = "as found"\n[state.bushed.left.wear]\nclearance = { "die pin" = "0.003 in" }\n'
    )
    engine = parse_engine(TEXT.replace("# What the shop could do", "# x", 1) + later)
    assert set(found_diameters(engine, "bushed", "left")) == {"foot"}


def test_what_is_beyond_its_size_is_told_and_what_is_not_is_not() -> None:
    engine = read_engine(WINKLE)
    pins = read_pins(engine, Source(engine.text, "w"))
    found = {side: found_diameters(engine, "as found", side) for side in ("left", "right")}

    def told(name: str) -> list[tuple[str, bool, bool]]:
        own = joint(pins[name], {side: each[name] for side, each in found.items() if name in each})
        return [(side, "pin" in words, "bush is" in words) for side, words, _size in own.remarks]

    assert told("die pin") == [("left", False, True), ("right", False, True)], "both pins clean up at 1.360"
    assert told("foot") == [("left", True, False), ("left", False, True)]
    assert told("lever pin") == []


def test_the_bore_before_pressing_is_that_of_the_bush_command(linkmotion: Command) -> None:
    words = ["--seat", "1 7/8", "--housing-outside", "2 3/4", "--bore", "1.360", "--length", "2", "--unit", "in"]
    bush = json.loads(linkmotion("bush", *words, "--running", "RC5", "--json").out)
    pins = json.loads(linkmotion("pins", WINKLE, "--state", "as found", "--json").out)
    die = next(own for own in pins["joints"] if own["joint"] == "die pin")
    assert die["bore_before_pressing"] == bush["bush_bore_before_pressing"]
    assert die["housing_bore"] == bush["housing_bore"]
    assert die["bush_outside"] == bush["bush_outside"]


def test_it_ends_with_one_where_something_is_beyond_its_size(linkmotion: Command) -> None:
    assert linkmotion("pins", WINKLE, "--state", "as found").code == 1
    run = linkmotion("pins", WINKLE)
    assert run.code == 0
    assert "none was found beyond" in " ".join(run.out.split())


def test_one_kind_of_pin_is_told_as_one(linkmotion: Command, tmp_path: Path) -> None:
    text = WINKLE.read_text(encoding="utf-8")
    before, _, after = text.partition("[pins.foot]")
    one = tmp_path / "one.toml"
    one.write_text(before + after[after.index('[state."as found"]') :].partition("[repair.")[0], encoding="utf-8")
    told = " ".join(linkmotion("pins", one, "--state", "as found").out.split())
    assert told.startswith("1 kind of pin, 2 in all; a pin or bush was found that is not of the size it is to have.")
    every = " ".join(linkmotion("pins", WINKLE, "--state", "as found").out.split())
    assert every.startswith("4 kinds of pin, 8 in all; a pin or bush of 2 of the kinds was found that is not")


def test_a_file_without_pins_is_told(linkmotion: Command) -> None:
    file = EXAMPLES / "dock_shunter.toml"
    run = linkmotion("pins", file)
    assert_refused(run, file)
    assert '[pins."die pin"]' in run.err


def test_every_joint_is_told_or_listed(linkmotion: Command) -> None:
    from linkmotion.wear.effects import pins_of

    pins = json.loads(linkmotion("pins", WINKLE, "--json").out)
    told = [own["joint"] for own in pins["joints"]] + pins["without_sizes"]
    assert sorted(told) == sorted(pins_of(read_engine(WINKLE).gear()))


def test_a_pin_that_is_turned_down_says_what_comes_off() -> None:
    text = replaced('turned_to = "1.360 in"', 'turned_to = "1.350 in"', TEXT)
    engine = parse_engine(text)
    assert read_pins(engine, Source(text, "w"))["die pin"].metal == pytest.approx(0.025 * 25.4, abs=1e-9)
