"""Engine files are read exactly, laid over one another as said, and written back with their comments."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Callable
from dataclasses import fields
from fractions import Fraction
from pathlib import Path
from typing import Any, get_type_hints

import numpy as np
import pytest

from linkmotion.engine import Engine, Targets
from linkmotion.files.engine_file import edit_engine, parse_engine, read_engine
from linkmotion.files.faults import FileError
from linkmotion.files.lengths import parse_length
from linkmotion.gears import Arm, DieHeight, Walschaerts
from linkmotion.studies.assess import assess
from tests.bad_engines.changed import DOCK, EXAMPLES, METRE, changed

INCH = Fraction(254, 10)
LENGTHS = {
    (table, key.name)
    for table, kind in get_type_hints(Walschaerts).items()
    if table in {f.name for f in fields(Walschaerts)}
    for key in fields(kind)
    if key.metadata["kind"] == "length"
}


def walschaerts(engine: Engine, state: str = "drawing", side: str = "left") -> Walschaerts:
    gear = engine.gear(state, side)
    assert isinstance(gear, Walschaerts)
    return gear


# --- one length, many ways to write it --------------------------------------------------------------------------------


def mixed(inches: Fraction) -> str:
    """Whole inches and a fraction in lowest terms: ``1 5/16``."""
    whole, part = divmod(abs(inches), 1)
    return f"{'-' if inches < 0 else ''}{f'{whole} {part}' if whole and part else whole or part}"


def feet(inches: Fraction) -> str:
    whole, rest = divmod(abs(inches), 12)
    return f"{'-' if inches < 0 else ''}{whole}' {mixed(rest)}\""


FORMS: dict[str, tuple[str, Callable[[Fraction], str]]] = {
    "decimal inches": ("in", lambda inches: repr(float(inches))),
    "mixed fractions, file of inches": ("in", lambda inches: f"'{mixed(inches)}'"),
    "mixed fractions with their unit": ("mm", lambda inches: f"'{mixed(inches)} in'"),
    "hyphens and marks": ("mm", lambda inches: f"""'{re.sub("(?<=[0-9]) ", "-", mixed(inches))}"'"""),
    "feet and inches": ("ft", lambda inches: f"'''{feet(inches)}'''"),
    "millimetres": ("mm", lambda inches: repr(float(inches * INCH))),
    "millimetres, file of inches": ("in", lambda inches: f"'{float(inches * INCH)!r} mm'"),
    "thou": ("thou", lambda inches: repr(float(inches * 1000))),
    "thou, file of feet": ("ft", lambda inches: f"'{float(inches * 1000)!r} thou'"),
}


def rewritten(text: str, unit: str, form: Callable[[Fraction], str]) -> str:
    """An engine file of inches with every length in another form."""
    lines, table = [], ""
    for line in text.split("\n"):
        if heading := re.match(r"\[(.+?)\]", line):
            table = heading[1].rsplit(".", 1)[-1]
        if re.match("unit =", line):
            line = f'unit = "{unit}"'
        elif pair := re.match(r"""("?[\w ]+"?) = ("(?:[^"\\]|\\.)*"|[-\d.]+|\{ die = .*? \})""", line):
            key, value = pair[1], tomllib.loads(f"v = {pair[2]}")["v"]
            if (table, key) in LENGTHS or (table == "targets" and "lead" in key):
                line = f"{key} = {form(Fraction(parse_length(value, 'in')).limit_denominator(10**6) / INCH)}"
            elif table == "notches" and isinstance(value, dict):
                inches = Fraction(parse_length(value["die"], "in")).limit_denominator(10**6) / INCH
                line = f"{key} = {{ die = {form(inches)} }}"
        lines.append(line)
    return "\n".join(lines)


@pytest.mark.parametrize("form", FORMS)
def test_every_form_of_length_gives_the_same_engine(form: str) -> None:
    unit, write = FORMS[form]
    text = rewritten(DOCK, unit, write)
    assert text.count("\n") == DOCK.count("\n")
    assert sum(a != b for a, b in zip(text.split("\n"), DOCK.split("\n"), strict=True)) > 20
    drawn, engine = parse_engine(DOCK), parse_engine(text)
    assert engine.unit == unit
    assert engine.drawing == drawn.drawing
    assert {name: s.layers for name, s in engine.states.items()} == {name: s.layers for name, s in drawn.states.items()}
    assert engine.targets == drawn.targets


def test_a_shifted_length_is_not_the_same_engine() -> None:
    assert parse_engine(changed("eccentric_rod", "length", '"31 9/16 in"', DOCK)).drawing != parse_engine(DOCK).drawing


def test_figures_are_read_as_they_stand() -> None:
    engine = parse_engine(DOCK)
    assert engine.name == 'Harrowquay Dock Company, class H, No. 4 "Limpet" (invented)'
    assert (engine.unit, engine.gear_type) == ("in", Walschaerts)
    assert engine.drawing["crosshead"] == {"arm_x": 44.45, "arm_y": float(Fraction(-209, 16) * INCH)}
    assert engine.drawing["return_crank"] == {"pin_radius": float(Fraction(71, 16) * INCH), "angle": 83.5}
    assert engine.drawing["valve"]["set_in"] == {"notch": "full forward", "direction": "forward"}
    notches = engine.drawing["reversing"]["notches"]
    assert list(notches)[:2] == ["full forward", "forward 65"]
    assert notches["full forward"] == Arm(-21.25)
    assert notches["forward 25"] == DieHeight(float(Fraction(-7, 8) * INCH))


def test_keys_left_out_take_their_defaults() -> None:
    short = changed("cylinder", "inclination", None, changed("valve", "exhaust_lap", None, DOCK))
    gear = parse_engine(short).gear()
    assert gear.cylinder.inclination == 0.0
    assert gear.valve.laps("exhaust", "front") == 0.0
    forward = '{ notch = "mid", direction = "forward" }'
    silent, told = (parse_engine(changed("valve", "set_in", v, DOCK)) for v in ('{ notch = "mid" }', forward))
    silent_at, told_at = (assess(engine, notches=["mid"]).sides[0].central_at for engine in (silent, told))
    assert silent_at == told_at


def test_targets_given_are_chosen_and_the_others_are_defaults() -> None:
    plain = DOCK.split("\n[targets]", maxsplit=1)[0]
    assert parse_engine(plain).targets == Targets()
    assert Targets().chosen == frozenset()
    engine = parse_engine(f'{plain}\n[targets]\nlead = "1/8 in"\ncutoff_difference = 1.5\n')
    assert engine.targets.chosen == {"lead", "cutoff_difference"}
    assert engine.targets.lead == float(Fraction(1, 8) * INCH)
    assert engine.targets.cutoff_difference == 1.5
    assert (engine.targets.lead_difference, engine.targets.side_cutoff_difference) == (0.4, 2.0)
    whole = parse_engine(DOCK).targets
    assert whole.chosen == {"lead_difference", "cutoff_difference", "side_lead_difference", "side_cutoff_difference"}
    assert whole.lead_difference == float(INCH / 64)


# --- states -----------------------------------------------------------------------------------------------------------

LAYERS = """
[state.worn.both.union_link]
length = 320
[state.worn.both.eccentric_rod]
length = 921
[state.worn.left.eccentric_rod]
length = 922
[state.mended]
based_on = "worn"
[state.mended.both.eccentric_rod]
length = 923
[state.mended.right.eccentric_rod]
length = 924
[state.plain]
based_on = "drawing"
"""


def test_states_are_laid_over_the_drawing_base_first_then_both_then_the_side() -> None:
    engine = parse_engine(METRE.split("\n[state.")[0] + LAYERS)

    def rods(state: str) -> list[tuple[float, float]]:
        gears = [walschaerts(engine, state, side) for side in ("left", "right")]
        return [(gear.eccentric_rod.length, gear.union_link.length) for gear in gears]

    assert rods("drawing") == rods("plain") == [(920.5, 325), (920.5, 325)]
    assert rods("worn") == [(922, 320), (921, 320)]
    # "mended" says "both" later than "worn" says "left"; its own side is laid last
    assert rods("mended") == [(923, 320), (924, 320)]
    assert engine.state_names == ("drawing", "worn", "mended", "plain")


def test_a_state_differs_only_in_what_it_names() -> None:
    engine = read_engine(EXAMPLES / "dock_shunter.toml")
    for side, rod in (("left", Fraction(607, 16)), ("right", Fraction(303, 8))):
        tables, drawn = engine.tables("as found", side), engine.tables()
        assert tables["radius_rod"].pop("length") == float(rod * INCH)
        drawn["radius_rod"].pop("length")
        for table in (
            "cylinder",
            "connecting_rod",
            "crosshead",
            "valve",
            "expansion_link",
            "radius_rod",
            "combination_lever",
        ):
            assert tables[table] == drawn[table]
    assert engine.gear("as repaired", "right") == engine.gear("drawing", "right")
    assert engine.gear("as repaired", "left") != engine.gear("drawing", "left")


@pytest.mark.parametrize(
    ("table", "keys", "gone"),
    [
        ("cylinder", "crank_radius = 265", "stroke"),
        ("valve", "central_at = 1600", "set_by"),
        ("valve", "steam_lap_front = 23\nsteam_lap_back = 24", "steam_lap"),
        ("valve", "exhaust_lap_front = 1\nexhaust_lap_back = 0", "exhaust_lap"),
        ("return_crank", "length = 300\nangle = 84.25", "pin_radius"),
    ],
)
def test_a_state_may_give_one_figure_instead_of_another(table: str, keys: str, gone: str) -> None:
    engine = parse_engine(f"{METRE}\n[state.x.left.{table}]\n{keys}\n")
    left, right = engine.tables("x", "left")[table], engine.tables("x", "right")[table]
    assert gone in right
    assert gone not in left


def test_a_notch_by_die_height_keeps_the_arm_angle_of_the_drawing() -> None:
    """The rack is cut once: a longer lifting link lowers the die in every notch, it does not move the rack."""
    engine = read_engine(EXAMPLES / "dock_shunter.toml")
    angles = {}
    for state in ("drawing", "as found"):
        side = assess(engine, state, ["left"]).sides[0]
        angles[state] = [float(np.ravel(setting.angle)[0]) for setting in side.settings if isinstance(setting, Arm)]
    assert len(angles["drawing"]) == 8
    assert angles["as found"] == pytest.approx(angles["drawing"], abs=1e-9, rel=0)


def test_a_state_that_names_one_notch_keeps_the_others() -> None:
    engine = parse_engine(f"{METRE}\n[state.x.both.reversing.notches]\nmid = -2\n")
    notches = engine.side_state("x").notches
    assert notches["mid"] == Arm(-2.0)
    assert notches["full forward"] == Arm(32.5)
    assert list(notches) == list(engine.side_state().notches)


# --- return crank -----------------------------------------------------------------------------------------------------

RADIUS, PIN, ANGLE = 254.0, float(Fraction(71, 16) * INCH), 83.5
LENGTH = math.sqrt(RADIUS**2 + PIN**2 - 2 * RADIUS * PIN * math.cos(math.radians(ANGLE)))  # law of cosines
RETURN_CRANKS = {
    "length and angle": f'length = "{LENGTH!r} mm"\nangle = {ANGLE}',
    "length and pin_radius": f'length = "{LENGTH!r} mm"\npin_radius = "4 7/16"\nsense = "leads"',
}


def with_return_crank(keys: str) -> str:
    """The drawing alone (the example's states give an angle, which is not in every form)."""
    drawing = DOCK.split("\n[state.")[0]
    return re.sub(r"(?ms)^\[return_crank\].*?(?=^\[)", lambda _: f"[return_crank]\n{keys}\n\n", drawing, count=1)


@pytest.mark.parametrize("form", RETURN_CRANKS)
def test_every_form_of_return_crank_gives_the_same_pin(form: str) -> None:
    gear = walschaerts(parse_engine(with_return_crank(RETURN_CRANKS[form])))
    radius, angle = gear.return_crank.polar(gear.crank.radius)
    assert gear.crank.radius == RADIUS
    assert radius == pytest.approx(PIN, abs=1e-9, rel=0)
    assert math.degrees(angle) == pytest.approx(ANGLE, abs=1e-9, rel=0)


def test_a_pin_that_follows_stands_on_the_other_side() -> None:
    text = with_return_crank(RETURN_CRANKS["length and pin_radius"].replace("leads", "follows"))
    gear = walschaerts(parse_engine(text))
    assert math.degrees(gear.return_crank.polar(RADIUS)[1]) == pytest.approx(-ANGLE, abs=1e-9, rel=0)


# --- back to the file -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["dock_shunter.toml", "metre_gauge.toml"])
def test_an_engine_keeps_its_text_and_gives_itself_again(name: str) -> None:
    file = EXAMPLES / name
    engine = read_engine(file)
    assert engine.text == file.read_text(encoding="utf-8")
    assert parse_engine(engine.text) == engine


def changed_lines(before: Engine, after: Engine) -> tuple[list[str], list[str]]:
    old, new = before.text.split("\n"), after.text.split("\n")
    return [line for line in old if line not in new], [line for line in new if line not in old]


def test_an_edit_changes_its_own_line_and_keeps_that_lines_comment() -> None:
    engine = parse_engine(DOCK)
    after = edit_engine(engine, "eccentric_rod.length", "32 in")
    gone, come = changed_lines(engine, after)
    assert gone == ['length = "31 17/32 in"      # return-crank pin to foot pin of the link']
    assert len(come) == 1
    assert re.fullmatch(r'length = "32 in"\s+# return-crank pin to foot pin of the link', come[0])
    assert after.drawing["eccentric_rod"] == {"length": 812.8}
    assert {t: k for t, k in after.drawing.items() if t != "eccentric_rod"} == {
        t: k for t, k in engine.drawing.items() if t != "eccentric_rod"
    }
    assert after.states == engine.states


def test_an_edit_of_a_state_leaves_the_drawing_alone() -> None:
    engine = parse_engine(DOCK)
    after = edit_engine(engine, "radius_rod.length", 38.0, "as found", "left")
    assert after.drawing == engine.drawing
    assert walschaerts(after, "as found").radius_rod.length == 965.2
    assert after.gear("as found", "right") == engine.gear("as found", "right")
    gone, come = changed_lines(engine, after)
    assert (len(gone), len(come)) == (1, 1)


@pytest.mark.parametrize(("state", "side"), [("as proposed", "both"), ("as found", "right"), ("as found", "both")])
def test_an_edit_makes_the_state_side_and_table_that_it_needs(state: str, side: str) -> None:
    engine = parse_engine(DOCK)
    after = edit_engine(engine, "union_link.length", "14 1/16", state, side)
    new = float(Fraction(225, 16) * INCH)
    expected = {"both": [new, new], "right": [355.6, new]}[side]
    assert [walschaerts(after, state, each).union_link.length for each in ("left", "right")] == expected
    assert after.drawing == engine.drawing
    gone, _ = changed_lines(engine, after)
    assert gone == [], "every line is kept, comments too"
    assert [line for line in after.text.split("\n") if line in set(engine.text.split("\n"))] != []


def test_an_edit_of_a_key_that_was_not_there_is_put_in() -> None:
    after = edit_engine(parse_engine(DOCK), "combination_lever.offset", -1.5)
    assert walschaerts(after).combination_lever.offset == -38.1
    assert edit_engine(parse_engine(METRE), "valve.exhaust_lap", 2).drawing["valve"]["exhaust_lap"] == 2.0


def test_an_edit_may_put_one_figure_instead_of_another_in_a_state() -> None:
    after = edit_engine(parse_engine(METRE), "cylinder.crank_radius", 264, "as found")
    assert after.gear("as found").crank.radius == 264.0
    assert after.gear().cylinder.stroke == 530.0


@pytest.mark.parametrize(
    ("key", "value"), [("eccentric_rod.length", -3), ("eccentric_rod.lenght", 3), ("boiler.pressure", 12)]
)
def test_a_wrong_edit_is_refused_and_names_the_key(key: str, value: Any) -> None:
    with pytest.raises(FileError, match=re.escape(key.split(".")[0])):
        edit_engine(parse_engine(METRE), key, value)


def test_the_reading_of_a_text_is_told_under_the_name_given(tmp_path: Path) -> None:
    with pytest.raises(FileError) as refusal:
        parse_engine(changed("eccentric_rod", "length", "-3"), "bench notes")
    assert (refusal.value.file, refusal.value.key) == ("bench notes", "eccentric_rod.length")
    assert refusal.value.line == changed("eccentric_rod", "length", "-3").split("\n").index("length = -3") + 1
