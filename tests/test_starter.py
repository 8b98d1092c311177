"""``linkmotion begin``: starter files that say every key, and can be filled in by hand."""

from __future__ import annotations

import itertools
import json
import re
import tomllib
from dataclasses import fields
from pathlib import Path
from typing import Any, get_type_hints

import pytest

from linkmotion.files.adjustments_table import adjustments_given
from linkmotion.files.engine_file import read_engine
from linkmotion.files.lengths import UNITS
from linkmotion.files.pins_table import read_pins
from linkmotion.files.source import Source
from linkmotion.files.starter import starter
from linkmotion.gears import GEARS
from linkmotion.gears.letters import letters
from linkmotion.sides import side_words
from tests.bad_engines.changed import EXAMPLES
from tests.bad_engines.command import Command, assert_refused


def written(folder: Path, text: str, name: str = "engine.toml") -> Path:
    (folder / name).write_text(text, encoding="utf-8")
    return folder / name


GEARS_AND_UNITS = [(gear, unit) for gear in sorted(GEARS) for unit in UNITS]


def active(text: str) -> list[int]:
    """Numbers of the lines that still hold a "?" to fill in."""
    return [i for i, line in enumerate(text.split("\n"), 1) if re.match(r'[^#]*= "\?"', line)]


@pytest.mark.parametrize(("gear", "unit"), GEARS_AND_UNITS)
def test_a_starter_names_every_key_with_its_meaning(gear: str, unit: str, linkmotion: Command, tmp_path: Path) -> None:
    file = tmp_path / "ours.toml"
    run = linkmotion("begin", gear, file, "--unit", unit)
    assert (run.code, run.err) == (0, "")
    assert str(file) in run.out
    text = file.read_text(encoding="utf-8")
    assert tomllib.loads(text)["engine"] == {"name": "our engine", "gear": gear, "unit": unit}
    hints, own = get_type_hints(GEARS[gear]), letters(GEARS[gear])
    for table in fields(GEARS[gear]):
        body = text.split(f"\n[{table.name}]\n")[1].split("\n# Weigh")[0]
        for key in fields(hints[table.name]):
            if key.metadata["kind"] == "notches":
                assert f"[{table.name}.notches]\n# {own[table.name, key.name]}: " in text
            else:
                letter = f"{own[table.name, key.name]}: " if (table.name, key.name) in own else ""
                told = re.escape(letter + key.metadata["meaning"])
                assert re.search(rf"^(# )?{key.name} = .*# {told}", body, re.MULTILINE), key.name


def test_what_a_starter_says_of_figures_as_taken_is_read(tmp_path: Path) -> None:
    """Every form in its first lines, add among them: the face of a slot is read, its centre line is wanted."""
    head = starter("walschaerts", "mm").partition("[engine]")[0]
    told = re.search(r"an arc (\{ chord[^}]*\})", head)
    added = re.search(r'(add = "[^"]*")', head)
    assert told is not None
    assert added is not None
    text = (EXAMPLES / "dock_sister.toml").read_text(encoding="utf-8")
    line = next(line for line in text.splitlines() if line.startswith("slot_radius = "))
    radii = []
    for form in (told[1], told[1].replace(" }", f", {added[1]} }}")):
        file = written(tmp_path, text.replace(line, f"slot_radius = {form}"))
        radii.append(read_engine(file).drawing["expansion_link"]["slot_radius"])
    assert radii[0] == pytest.approx(310**2 / (8 * 10.05) + 10.05 / 2, abs=1e-9)
    assert radii[1] - radii[0] == pytest.approx(50 / 2, abs=1e-9)


def test_no_gear_is_said_to_have_a_lever_that_it_has_not() -> None:
    assert "combination_lever" not in {table.name for table in fields(GEARS["gooch"])}
    assert "combination-lever pin" not in starter("gooch", "mm")


@pytest.mark.parametrize(("gear", "unit"), list(zip(sorted(GEARS), itertools.cycle(UNITS), strict=False)))
def test_a_starter_still_to_be_filled_is_told_question_by_question(
    gear: str, unit: str, linkmotion: Command, tmp_path: Path
) -> None:
    file = tmp_path / "ours.toml"
    linkmotion("begin", gear, file, "--unit", unit)
    text = file.read_text(encoding="utf-8")
    places = active(text)
    assert len(places) >= 6
    for place in places:
        run = linkmotion("check", file)
        assert_refused(run, file)
        assert f"line {place}:" in run.err
        assert "?" in run.err
        lines = text.split("\n")
        figure = "10" if re.match(r'\w*angle\b|"full', lines[place - 1]) else '"100 mm"'
        lines[place - 1] = lines[place - 1].replace('"?"', figure, 1)
        text = "\n".join(lines)
        file.write_text(text, encoding="utf-8")
    run = linkmotion("check", file)
    assert_refused(run, file)
    assert "crank_radius" in run.err, "the choice between crank radius and stroke is the user's"


@pytest.mark.parametrize("gear", sorted(GEARS))
def test_a_starter_sets_the_valve_in_a_notch_that_the_gear_has(gear: str, linkmotion: Command, tmp_path: Path) -> None:
    linkmotion("begin", gear, tmp_path / "ours.toml")
    text = (tmp_path / "ours.toml").read_text(encoding="utf-8")
    notch = re.search(r'set_in = \{ notch = "(.*?)"', text)
    assert notch
    own = "reversing" in {table.name for table in fields(GEARS[gear])}
    assert f'"{notch[1]}" = "?"' in text if own else notch[1] == "fixed", (
        "without a reverser: fixed, as nothing else is given"
    )


def test_a_question_mark_is_told_as_a_figure_still_to_be_filled_in(linkmotion: Command, tmp_path: Path) -> None:
    file = tmp_path / "ours.toml"
    linkmotion("begin", "walschaerts", file)
    assert "fill in" in linkmotion("check", file).err


def filled(text: str, given: dict[str, Any]) -> str:
    """A starter's text with an engine's figures written in, as by hand: key by key, each in its own line."""
    path: list[str] = []
    lines: list[str] = []
    told: list[list[str]] = []  # paths of notches written
    for line in text.split("\n"):
        if heading := re.match(r"(?:# )?\[([\w.]+)\]$", line):
            path = heading[1].split(".")
            line = f"[{heading[1]}]" if at(given, path) else line
        key = re.match(r"(?:# )?(\w+) = ", line)
        if path[:1] in (["engine"], ["targets"]) or not (key or '"?"' in line or line.startswith("mid = ")):
            lines.append(line)
        elif path[-2:] == ["reversing", "notches"]:
            notches = {} if path in told else at(given, path)
            lines += [f"{json.dumps(name)} = {as_toml(value)}" for name, value in notches.items()]
            told.append(path)
        elif key:
            table = at(given, path)
            lines.append(f"{key[1]} = {as_toml(table[key[1]])}" if key[1] in table else f"# {line.removeprefix('# ')}")
    return "\n".join(lines)


def at(given: dict[str, Any], path: list[str]) -> dict[str, Any]:
    """A table of an engine's figures; empty where it has none such."""
    for step in path:
        given = given.get(step, {})
    return given


def as_toml(value: Any) -> str:
    """A figure, words, or a small table as TOML writes them."""
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{key} = {as_toml(each)}' for key, each in value.items())} }}"
    return json.dumps(value, ensure_ascii=False)


@pytest.mark.parametrize("file", sorted(EXAMPLES.glob("*.toml")), ids=lambda file: file.stem)
def test_a_starter_filled_with_an_examples_figures_is_that_engine(
    file: Path, linkmotion: Command, tmp_path: Path
) -> None:
    theirs, ours = read_engine(file), tmp_path / "ours.toml"
    linkmotion("begin", theirs.gear_type.name, ours, "--unit", theirs.unit)
    head = ours.read_text(encoding="utf-8").split("\n[targets]\n")[0]
    ours.write_text(filled(head, tomllib.loads(file.read_text(encoding="utf-8"))), encoding="utf-8")
    for side in theirs.sides:
        assert read_engine(ours).gear(side=side) == theirs.gear(side=side)
    run, example = (linkmotion("check", each, "--csv") for each in (ours, file))
    assert run.out == example.out
    assert run.out.count("\n") > 4


@pytest.mark.parametrize("file", sorted(EXAMPLES.glob("*.toml")), ids=lambda file: file.stem)
def test_what_a_starter_says_of_further_tables_can_be_used_as_it_stands(
    file: Path, linkmotion: Command, tmp_path: Path
) -> None:
    gear, unit = read_engine(file).gear_type, read_engine(file).unit
    tail = starter(gear.name, unit).split("\n[targets]\n")[1]
    marked = re.sub(r"^# (?=\[|[\w.]+ = )", "", tail, flags=re.MULTILINE).replace('"?"', '"700 mm"')
    found = tomllib.loads(f"[targets]\n{marked}")
    slotted = bool({"expansion_link", "slide", "stationary_link"} & set(get_type_hints(gear)))
    further = {"targets", "state", "tolerances", "adjustments", "repair", "pins"}
    assert set(found) == further | ({"cleanup"} if slotted else set())
    drawing = re.split(r"\n\[(?:targets|tolerances|adjustments|cleanup|state)\b", file.read_text(encoding="utf-8"))[0]
    ours = written(tmp_path, f"{drawing}\n[targets]\n{marked}")
    engine = read_engine(ours)
    side = engine.sides[0]
    wear = engine.condition("as found", side)
    assert (bool(wear.clearance), bool(wear.bow), bool(wear.slot)) == (True, True, slotted)
    assert engine.records["state", "as found", side, "wear"].by == "A. N. Other"
    assert engine.repairs[f"bush the {side_words(side)}"].touches(side)
    assert set(read_pins(engine, Source(engine.text, str(ours)))) == {"crank pin"}
    setup = engine.side_state()
    setting = setup.gear.setting(next(iter(setup.notches.values())))
    assert len(adjustments_given(engine, str(ours), setup.gear, setting)[0]) == 2
    assert linkmotion("hold", ours, "--json", "--samples", "200").code in (0, 1)


def test_a_starter_overwrites_nothing(linkmotion: Command, tmp_path: Path) -> None:
    file = written(tmp_path, "mine")
    for place in (file, tmp_path):
        run = linkmotion("begin", "walschaerts", place)
        assert_refused(run, place)
        assert "nothing was written" in run.err
    assert file.read_text(encoding="utf-8") == "mine"
    assert list(tmp_path.iterdir()) == [file]


def test_a_link_to_nowhere_is_followed_and_stays_a_link(linkmotion: Command, tmp_path: Path) -> None:
    """Links are followed, never replaced: the starter stands where the link points, where nothing was."""
    (tmp_path / "link.toml").symlink_to(tmp_path / "elsewhere.toml")
    run = linkmotion("begin", "walschaerts", tmp_path / "link.toml")
    assert run.code == 0, run
    assert (tmp_path / "link.toml").is_symlink()
    assert "[expansion_link]" in (tmp_path / "elsewhere.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "remedy"),
    [
        (("walshaerts", "x.toml"), "did you mean 'walschaerts'"),
        (("walschaerts", "x.toml", "--unit", "cm"), "mm, in, ft, thou"),
    ],
)
def test_a_starter_for_an_unknown_gear_or_unit_is_refused(
    arguments: tuple[str, ...], remedy: str, linkmotion: Command, tmp_path: Path
) -> None:
    run = linkmotion("begin", arguments[0], tmp_path / arguments[1], *arguments[2:])
    assert (run.code, run.out) == (2, "")
    assert remedy in run.err
    assert list(tmp_path.iterdir()) == []
