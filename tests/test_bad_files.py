"""A wrong file ends with 2 and two plain lines: which file, which line and key, what was read, what to do."""

from __future__ import annotations

import cmath
import math
import os
import re
import subprocess
import sys
import tomllib
from dataclasses import dataclass
from pathlib import Path

import pytest

from linkmotion.files.engine_file import LARGEST
from tests.bad_engines.changed import DOCK, METRE, changed, line_of_text, replaced, without
from tests.bad_engines.command import Command, assert_refused

FOUND = METRE + "\n"  # states are added below it


@pytest.fixture
def linkmotion(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Command:
    return Command(monkeypatch, capsys)


@dataclass(frozen=True)
class Wrong:
    """A wrong text: where the fault is told (a piece of the line, or its number), the key, and words that help."""

    what: str
    text: str
    at: str | int | None
    key: str
    words: tuple[str, ...]
    options: tuple[str, ...] = ()


def length(value: str, *words: str, at: str | None = None) -> Wrong:
    """A value of the radius rod's length in a file of millimetres."""
    text = changed("radius_rod", "length", value)
    return Wrong(f"length {value[:20]}", text, at or f"length = {value}"[:60], "radius_rod.length", words)


def state(what: str, tables: str, at: str, key: str, *words: str) -> Wrong:
    """A state written below the example's own."""
    return Wrong(what, f"{FOUND}{tables}\n", at, key, words)


HEAD = [
    Wrong("only comments", "# a\n# b\n", None, "", ("[engine]", "linkmotion begin")),
    Wrong("blank", " \n\t\n", None, "", ("empty", "linkmotion begin")),
    Wrong("no engine table", without("engine"), None, "", ("[engine]", "linkmotion begin")),
    Wrong("engine in double brackets", replaced("[engine]", "[[engine]]"), None, "", ("[engine]",)),
    Wrong("gear misspelt", changed("engine", "gear", '"walshaerts"'), "walshaerts", "engine.gear", ("did you mean 'walschaerts'",)),
    Wrong("gear unknown", changed("engine", "gear", '"steam turbine"'), "steam turbine", "engine.gear", ("walschaerts",)),
    Wrong("gear a number", changed("engine", "gear", "3"), "gear = 3", "engine.gear", ("words in quotes",)),
    Wrong("unit unknown", changed("engine", "unit", '"cm"'), 'unit = "cm"', "engine.unit", ("mm, in, ft, thou",)),
    Wrong("unit in full", changed("engine", "unit", '"inches"'), 'unit = "inches"', "engine.unit", ("in, ",)),
    Wrong("name a number", changed("engine", "name", "17"), "name = 17", "engine.name", ("17", "quotes")),
    Wrong("note a list", changed("engine", "note", "[1]"), "note = [1]", "engine.note", ("quotes",)),
    Wrong("name missing", changed("engine", "name", None), "[engine]", "engine.name", ("missing", "name =")),
    Wrong("unit missing", changed("engine", "unit", None), "[engine]", "engine.unit", ("missing", "mm, in, ft, thou")),
    Wrong("unknown key", changed("engine", "gera", '"x"'), "gera", "engine.gera", ("did you mean 'gear'",)),
]

SYNTAX = [
    Wrong("bracket left open", replaced("[eccentric_rod]", "[eccentric_rod"), "[eccentric_rod", "", ("TOML",)),
    Wrong("quote left open", replaced('gear = "walschaerts"', 'gear = "walschaerts'), 'gear = "walschaerts', "", ("TOML",)),
    Wrong("fraction without quotes", changed("expansion_link", "foot_drop", "5 1/2"), "foot_drop = 5 1/2", "", ("in quotes",)),
    Wrong("unit without quotes", changed("expansion_link", "foot_drop", "493 mm"), "foot_drop = 493 mm", "", ("in quotes",)),
    Wrong("decimal comma", changed("expansion_link", "foot_drop", "493,5"), "foot_drop = 493,5", "", ("point",)),
    Wrong("key twice", replaced("lower_arm = 814", "lower_arm = 814\nlower_arm = 813"), "lower_arm = 813", "", ("lower_arm", "twice")),
    Wrong("table twice", f"{METRE}\n[union_link]\nlength = 3\n", METRE.count("\n") + 2, "", ("union_link", "twice")),
    Wrong("NUL within", replaced("[union_link]", "[union_link]\n\0"), "\0", "", ("TOML",)),
    Wrong("deep list", f"deep = {'[' * 5000}{']' * 5000}\n{METRE}", None, "", ("deep",)),
    Wrong("deep table", f"deep = {'{a=' * 3000}1{'}' * 3000}\n{METRE}", None, "", ("deep",)),
    Wrong("deep value", changed("reversing.notches", "mid", "[" * 300 + "]" * 300), "mid = [[", "reversing.notches.mid", ("angle",)),
    Wrong("deep key", f"a{'.a' * 900} = 1\n{METRE}", "a.a.a", "a", ("unknown",)),
]

TABLES = [
    Wrong("table misspelt", replaced("[eccentric_rod]", "[eccentricrod]"), "[eccentricrod]", "eccentricrod", ("did you mean 'eccentric_rod'",)),
    Wrong("table unknown", f"{METRE}\n[boiler]\npressure = 12\n", "[boiler]", "boiler", ("known here", "eccentric_rod")),
    Wrong("table missing", without("union_link"), None, "", ("[union_link]", "missing", "length")),
    Wrong("notches missing", without("reversing.notches"), None, "notches", ("notches",)),
    Wrong("table a number", f"union_link = 325\n{without('union_link')}", "union_link = 325", "union_link", ("325", "[union_link]")),
    Wrong("key misspelt", changed("eccentric_rod", "lenght", "3"), "lenght", "eccentric_rod.lenght", ("did you mean 'length'",)),
    Wrong("key unknown", changed("eccentric_rod", "colour", "3"), "colour", "eccentric_rod.colour", ("known here: length",)),
    Wrong("key missing", changed("eccentric_rod", "length", None), "[eccentric_rod]", "eccentric_rod.length", ("missing", "give length")),
    Wrong("key of targets misspelt", changed("targets", "lead_diffrence", "3"), "lead_diffrence", "targets.lead_diffrence", ("'lead_difference'",)),
    Wrong("target below nothing", changed("targets", "lead_difference", "-1"), "lead_difference = -1", "targets.lead_difference", ("negative",)),
    Wrong("target over 100 %", changed("targets", "cutoff_difference", "200"), "cutoff_difference = 200", "targets.cutoff_difference", ("0 to 100",)),
    Wrong("target as text", changed("targets", "cutoff_difference", '"2 %"'), '"2 %"', "targets.cutoff_difference", ("0 to 100",)),
    Wrong("lead_within without lead", changed("targets", "lead_within", "0.3"), "lead_within = 0.3", "targets.lead", ("give lead",)),
]

FIGURES = [
    length("-1065", "negative"), length("0", "more than nothing"), length("nan", "not a finite length"),
    length("inf", "not a finite length"), length("-inf", "not a finite length"), length("1e400", "not a finite length"),
    length("true", "not a length"), length("[1]", "not a length"), length("{ a = 1 }", "not a length"),
    length("1e300", "over 100 metres", "unit"), length("9" * 60, "over 100 metres"), length('"nonsense"', "33.3 mm"),
    length('"5 furlongs"', "mm, in, ft, thou"), length('"33,3 mm"', "comma", "point"), length('"1 5/16"', "1 5/16 in"),
    length('""', "empty"), length('"?"', "?"), length("1979-05-27", "not a length"), length(f'"{"9" * 500}"', "too long"),
    length(r'"\u001b[31m5"', "not a length"), length("'''1\n2'''", "not a length", at="length = '''1"),
    Wrong("angle as text", changed("cylinder", "inclination", '"2.86 deg"'), "2.86 deg", "cylinder.inclination", ("plain number of degrees",)),
    Wrong("angle too large", changed("cylinder", "inclination", "400"), "inclination = 400", "cylinder.inclination", ("-360 to 360",)),
    Wrong("angle nan", changed("cylinder", "inclination", "nan"), "inclination = nan", "cylinder.inclination", ("-360 to 360",)),
    Wrong("angle true", changed("cylinder", "inclination", "true"), "inclination = true", "cylinder.inclination", ("degrees",)),
    Wrong("admission unknown", changed("valve", "admission", '"inner"'), "inner", "valve.admission", ("'outside' or 'inside'",)),
    Wrong("suspension unknown", changed("reversing", "suspension", '"block"'), '"block"', "reversing.suspension", ("sliding block",)),
]

NOTCHES = [
    Wrong("none", re.sub(r'(\[reversing\.notches\]\n).*?(?=\[targets\])', r"\1", METRE, flags=re.DOTALL), "[reversing.notches]",
          "reversing.notches", ("at least one",)),
    Wrong("not a table", changed("reversing", "notches", "3", without("reversing.notches")), "notches = 3", "reversing.notches", ("table",)),
    Wrong("unknown form", changed("reversing.notches", "mid", "{ dye = 3 }"), "dye", "reversing.notches.mid", ("die = height",)),
    Wrong("two forms", changed("reversing.notches", "mid", "{ die = 3, arm = 2 }"), "arm = 2", "reversing.notches.mid", ("die = height",)),
    Wrong("die nonsense", changed("reversing.notches", "mid", '{ die = "x" }'), 'die = "x"', "reversing.notches.mid", ("33.3 mm",)),
    Wrong("angle as text", changed("reversing.notches", "mid", '"-1.5"'), '"-1.5"', "reversing.notches.mid", ("plain number",)),
    Wrong("angle too large", changed("reversing.notches", "mid", "-361"), "-361", "reversing.notches.mid", ("-360 to 360",)),
    Wrong("angle true", changed("reversing.notches", "mid", "true"), "mid = true", "reversing.notches.mid", ("degrees",)),
    Wrong("angle list", changed("reversing.notches", "mid", "[1]"), "mid = [1]", "reversing.notches.mid", ("degrees",)),
]

VALVES = [
    Wrong("set in no notch", changed("valve", "set_in", '{ notch = "full ahead" }'), "full ahead", "valve.set_in", ("full forward, forward 65",)),
    Wrong("set_in key misspelt", changed("valve", "set_in", '{ notsh = "mid" }'), "notsh", "valve.set_in.notsh", ("did you mean 'notch'",)),
    Wrong("set_in no direction", changed("valve", "set_in", '{ notch = "mid", direction = "up" }'), '"up"', "valve.set_in.direction", ("forward",)),
    Wrong("set_in as text", changed("valve", "set_in", '"mid"'), 'set_in = "mid"', "valve.set_in", ("notch =",)),
    Wrong("set_in missing", changed("valve", "set_in", None), "[valve]", "valve.set_in", ("set_in = {",)),
    Wrong("set_by unknown", changed("valve", "set_by", '"equal leads"'), 'set_by = "equal leads"', "valve.set_by", ("'equal lead'",)),
    Wrong("central_at and set_by", changed("valve", "central_at", "900"), "central_at = 900", "valve.central_at", ("both", "one")),
    Wrong("neither", changed("valve", "set_by", None, changed("valve", "set_in", None)), "[valve]", "valve.central_at", ("set_by",)),
    Wrong("no lap", changed("valve", "steam_lap", None), "[valve]", "valve.steam_lap", ("steam_lap_front",)),
    Wrong("lap of one end", changed("valve", "steam_lap_front", "24", changed("valve", "steam_lap", None)), "[valve]", "valve.steam_lap",
          ("steam_lap_back",)),
    Wrong("lap given twice", changed("valve", "steam_lap_front", "30"), "steam_lap_front = 30", "valve.steam_lap_front", ("steam_lap",)),
    Wrong("no cutoffs to make equal", changed("valve", "steam_lap", "200", changed("valve", "set_by", '"equal cutoff"')),
          None, "valve", ("no place of the valve makes the cutoffs equal",)),
]

ONLY_RADIUS = changed("return_crank", "angle", None)
CRANKS = [
    Wrong("crank radius and stroke", changed("cylinder", "crank_radius", "265"), "crank_radius = 265", "cylinder.crank_radius", ("both", "one")),
    Wrong("neither", changed("cylinder", "stroke", None), "[cylinder]", "cylinder.crank_radius", ("crank_radius", "stroke", "one")),
    Wrong("rod shorter than crank", changed("connecting_rod", "length", "200"), "length = 200", "connecting_rod.length", ("200 mm", "longer")),
    Wrong("stroke longer than rod", changed("cylinder", "stroke", "3600"), "length = 1750", "connecting_rod.length", ("too short", "longer")),
    Wrong("return crank, one figure", ONLY_RADIUS, "pin_radius = 169", "return_crank.pin_radius", ("two", "length")),
    Wrong("return crank, no figure", changed("return_crank", "pin_radius", None, ONLY_RADIUS), "[return_crank]", "return_crank", ("two",)),
    Wrong("return crank, three figures", changed("return_crank", "length", "300"), "pin_radius = 169", "return_crank", ("two", "3")),
    Wrong("sense missing", changed("return_crank", "length", "300", ONLY_RADIUS), "[return_crank]", "return_crank.sense", ('"leads"', '"follows"')),
    Wrong("sense unknown", changed("return_crank", "sense", '"ahead"'), '"ahead"', "return_crank.sense", ("'leads' or 'follows'",)),
    Wrong("length out of reach", changed("return_crank", "sense", '"leads"', changed("return_crank", "length", "3000", ONLY_RADIUS)),
          "length = 3000", "return_crank.length", ("reach",)),
    Wrong("length short of the line", changed("return_crank", "length", "100", changed("return_crank", "pin_radius", None)),
          "length = 100", "return_crank.length", ("reach",)),
]

SUSPENSIONS = [
    *(Wrong(f"{key} missing", changed("reversing", key, None, DOCK), "[reversing]", f"reversing.{key}", ("lifting link", "give"))
      for key in ("shaft_x", "shaft_y", "arm", "lifting_link")),
    *(Wrong(f"block, {key} missing", changed("reversing", key, None), "[reversing]", f"reversing.{key}", ("sliding block", "give"))
      for key in ("shaft_x", "shaft_y", "arm")),
    Wrong("no lift pin", changed("radius_rod", "lift_pin", None, DOCK), "[radius_rod]", "radius_rod.lift_pin", ("lift_pin",)),
    Wrong("ideal, arm angles, no link", changed("reversing", "suspension", '"ideal"'), "[reversing.notches]", "reversing.notches", ("die = height",)),
    Wrong("ideal, arm angles, no shaft", changed("reversing", "shaft_x", None, changed("reversing", "suspension", '"ideal"', DOCK)),
          None, "reversing", ("shaft_x",)),
    Wrong("valve pin below union pin", changed("combination_lever", "upper_arm", "-814"), "upper_arm = -814", "combination_lever.upper_arm",
          ("less than lower_arm",)),
]

STATES = [
    Wrong("key misspelt", changed('state."as found"', "notes", '"x"'), 'notes = "x"', "notes", ("did you mean 'note'",)),
    Wrong("based on unknown", changed('state."as repaired"', "based_on", '"as fond"'), "as fond", "based_on", ("did you mean 'as found'",)),
    Wrong("based on itself", changed('state."as repaired"', "based_on", '"as repaired"'), 'based_on = "as repaired"', "based_on", ("ring",)),
    Wrong("based on a ring", changed('state."as found"', "based_on", '"as repaired"'), 'based_on = "as found"', "based_on", ("ring",)),
    Wrong("based on a number", changed('state."as repaired"', "based_on", "3"), "based_on = 3", "based_on", ("quotes",)),
    Wrong("note a number", changed('state."as found"', "note", "3"), "note = 3", "note", ("quotes",)),
    state("named drawing", "[state.drawing]", "[state.drawing]", "state.drawing", "another name"),
    state("wrong side", "[state.x.lefft.radius_rod]\nlength = 3", "lefft", "state.x.lefft", "did you mean 'left'"),
    state("no side", "[state.x.radius_rod]\nlength = 3", "[state.x.radius_rod]", "state.x.radius_rod", "both, left, right"),
    state("table misspelt", "[state.x.left.radius_rods]\nlength = 3", "radius_rods", "state.x.left.radius_rods", "did you mean 'radius_rod'"),
    state("table key misspelt", "[state.x.left.radius_rod]\nlenth = 3", "lenth", "state.x.left.radius_rod.lenth", "did you mean 'length'"),
    state("figure negative", "[state.x.left.radius_rod]\nlength = -3", "length = -3", "state.x.left.radius_rod.length", "negative"),
    state("not a table", "[state]\nx = 31415", "x = 31415", "state.x", "wanted a table"),
    state("rod shorter than crank", "[state.x.left.connecting_rod]\nlength = 200", "length = 200", "state.x.left.connecting_rod.length",
          "state 'x'", "left side"),
    state("three figures", "[state.x.both.return_crank]\nlength = 5", "[state.x.both.return_crank]", "return_crank", "two", "state 'x'"),
    state("suspension lacking", '[state.x.both.reversing]\nsuspension = "lifting link"', "[state.x.both.reversing]", "lifting_link", "give"),
    state("notches without the setting notch", "[state.x.both.reversing.notches]\nahead = 30\nfull-forward = 3", "[state.x.both.reversing.notches]",
          "state.x.both.reversing.notches", "full forward"),
]

GROUPS = {"head": HEAD, "syntax": SYNTAX, "tables": TABLES, "figures": FIGURES, "notches": NOTCHES, "valves": VALVES, "cranks": CRANKS,
          "suspensions": SUSPENSIONS, "states": STATES}
ALL = [pytest.param(wrong, id=f"{group}: {wrong.what}") for group, those in GROUPS.items() for wrong in those]


@pytest.mark.parametrize("wrong", ALL)
def test_a_wrong_file_is_refused_in_two_lines(wrong: Wrong, linkmotion: Command, tmp_path: Path) -> None:
    file = tmp_path / "engine.toml"
    file.write_text(wrong.text, encoding="utf-8")
    run = linkmotion("check", file, *wrong.options)
    assert_refused(run, file)
    line = wrong.at if isinstance(wrong.at, int) else wrong.at and line_of_text(wrong.text, wrong.at)
    if line:
        assert f"{file}, line {line}:" in run.err
    for word in (wrong.key, *wrong.words):
        assert word in run.err
    assert list(tmp_path.rglob("*")) == [file], "nothing is written"


def test_the_examples_that_are_made_wrong_are_right_before(linkmotion: Command, tmp_path: Path) -> None:
    for text in (METRE, DOCK):
        file = tmp_path / "engine.toml"
        file.write_text(text, encoding="utf-8")
        assert linkmotion("check", file, "--tables").code == 0


def test_a_key_with_a_space_is_told_as_it_must_be_written(linkmotion: Command, tmp_path: Path) -> None:
    file = tmp_path / "engine.toml"
    file.write_text(changed('state."as found"', "notes", '"x"'), encoding="utf-8")
    assert 'state."as found".notes' in linkmotion("check", file).err


# --- files that are no engine files -----------------------------------------------------------------------------------

BYTES = {
    "binary": (bytes(range(256)) * 40, "plain text"),
    "UTF-16": (METRE.encode("utf-16"), "UTF-8"),
    "Latin-1": (METRE.replace("Serravine", "Serrävine").encode("latin-1"), "UTF-8"),
    "empty": (b"", "linkmotion begin"),
    "old Macintosh line ends": (METRE.replace("\n", "\r").encode(), "TOML"),
}


@pytest.mark.parametrize("kind", BYTES)
def test_bytes_that_are_no_text_are_refused(kind: str, linkmotion: Command, tmp_path: Path) -> None:
    data, remedy = BYTES[kind]
    file = tmp_path / "engine.toml"
    file.write_bytes(data)
    run = linkmotion("check", file)
    assert_refused(run, file)
    assert remedy in run.err


def test_a_byte_order_mark_and_dos_line_ends_make_no_difference(linkmotion: Command, tmp_path: Path) -> None:
    for name, data in (("a", METRE.encode()), ("b", METRE.replace("\n", "\r\n").encode("utf-8-sig"))):
        (tmp_path / f"{name}.toml").write_bytes(data)
    plain, other = (linkmotion("check", tmp_path / f"{name}.toml", "--csv") for name in "ab")
    assert plain.code == other.code == 0
    assert plain.out == other.out


def test_a_missing_file_a_folder_and_a_circle_of_links_are_refused(linkmotion: Command, tmp_path: Path) -> None:
    (tmp_path / "circle.toml").symlink_to("circle.toml")
    for name, told in (("missing.toml", "no such file"), (".", "is a directory"), ("circle.toml", "symbolic links")):
        run = linkmotion("check", tmp_path / name)
        assert_refused(run, tmp_path / name)
        assert told in run.err
        assert "check the name" in run.err


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read every file")
def test_an_unreadable_file_is_refused(linkmotion: Command, tmp_path: Path) -> None:
    file = tmp_path / "engine.toml"
    file.write_text(METRE, encoding="utf-8")
    file.chmod(0)
    run = linkmotion("check", file)
    assert_refused(run, file)
    assert "permission denied" in run.err


def test_a_file_of_fifty_megabytes_is_refused_unread(linkmotion: Command, tmp_path: Path) -> None:
    file = tmp_path / "engine.toml"
    with file.open("wb") as out:
        out.truncate(50_000_000)
    run = linkmotion("check", file)
    assert_refused(run, file)
    assert "larger than a megabyte" in run.err
    file.write_bytes(METRE.encode() + b"#" * (LARGEST - len(METRE.encode())))
    assert linkmotion("check", file, "--tables").code == 0, "a file of the largest size allowed is read"


def as_process(*arguments: str | Path, seconds: float = 20) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", "from linkmotion.cli import main; main()", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, timeout=seconds, check=False)


def test_a_pipe_that_nobody_fills_is_refused_and_not_waited_for(tmp_path: Path) -> None:
    """The same road leads to /dev/zero, which has no size and no end: only plain files are read."""
    pipe = tmp_path / "engine.toml"
    os.mkfifo(pipe)
    done = as_process("check", pipe, seconds=4)
    assert done.returncode == 2
    assert done.stderr.startswith(str(pipe))


@pytest.mark.parametrize(
    ("text", "told"),
    [(changed("eccentric_rod", "length", "-3"), "eccentric_rod.length"), (changed("eccentric_rod", "length", "700"), "eccentric rod"),
     (f"deep = {'[' * 100_000}", "deep")],
)
def test_the_command_as_a_process_of_its_own_says_the_same(text: str, told: str, tmp_path: Path) -> None:
    file = tmp_path / "engine.toml"
    file.write_text(text, encoding="utf-8")
    done = as_process("check", file)
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.rstrip("\n").split("\n")) == 2
    assert told in done.stderr
    assert list(tmp_path.iterdir()) == [file]


# --- gears that do not go together ------------------------------------------------------------------------------------


def gap_to_foot(rod: float, crank_angle: float) -> float:
    """How far rod and link fall short from return-crank pin to trunnion (metre-gauge example), mm, by plain trigonometry."""
    slope = math.radians(2.86)
    # dead centre: crank and rod in one line; the radius is that of stroke 530, rod 1750, line 15 above the axle
    radius = math.sqrt((4 * (1750**2 - 15**2) - 530**2) / (16 * 1750**2 / 530**2 - 4))
    front = slope + math.asin(15 / (1750 + radius))
    pin = cmath.rect(169, front - math.radians(crank_angle + 84.25))
    return abs(complex(975, 636) - pin) - rod - math.hypot(493, 79)


def told_gap(message: str) -> tuple[float, float]:
    found = re.search(r"too short to meet, by ([\d.]+) mm at crank angle (\d+)°", message)
    assert found, message
    return float(found[1]), float(found[2])


@pytest.mark.parametrize("rod", [700.0, 820.0, 831.0])
def test_a_rod_that_cannot_reach_is_told_with_its_shortfall_and_where(rod: float, linkmotion: Command, tmp_path: Path) -> None:
    file = tmp_path / "engine.toml"
    text = changed("eccentric_rod", "length", f"{rod}")
    file.write_text(text, encoding="utf-8")
    run = linkmotion("check", file)
    assert_refused(run, file)
    found = re.search(r"line (\d+): (eccentric_rod|expansion_link): notch '[\w ]+': the gear cannot pass: ([a-z ]+): ", run.err)
    assert found, run.err
    assert int(found[1]) == line_of_text(text, f"[{found[2]}]")
    assert set(found[3].split(" and ")) == {"eccentric rod", "expansion link"}
    short, angle = told_gap(run.err)
    about = [gap_to_foot(rod, angle + d / 100) for d in range(-51, 52)]  # the angle is told to a degree
    assert min(about) - 0.006 <= short <= max(about) + 0.006  # and the gap to 0.01 mm
    assert short > 0.5, "a gap worth telling"


def test_a_link_that_does_not_close_in_one_state_only_is_told_with_state_and_side(linkmotion: Command, tmp_path: Path) -> None:
    file = tmp_path / "engine.toml"
    text = f"{FOUND}[state.x.right.eccentric_rod]\nlength = 700\n"
    file.write_text(text, encoding="utf-8")
    assert linkmotion("check", file, "--tables").code == 0
    run = linkmotion("check", file, "--state", "x")
    assert_refused(run, file)
    assert f"line {line_of_text(text, '[state.x.right.eccentric_rod]')}: state.x.right.eccentric_rod: " in run.err
    assert "state 'x'" in run.err
    assert "right side" in run.err


GEOMETRY = [
    ("union link short", changed("union_link", "length", "30"), ("combination lever",)),
    ("connecting rod ten times too long", changed("connecting_rod", "length", "17500"), ()),
    ("die height out of reach", changed("reversing.notches", "mid", "{ die = 700 }"), ("'mid'", "lifting arm")),
    ("arm angle out of reach", changed("reversing.notches", "mid", "90", DOCK), ("'mid'", "radius rod", "lifting link")),
    ("die height beyond the slot's circle", changed("reversing.notches", "mid", "{ die = 45 }", DOCK), ("'mid'",)),
    ("radius rod far too long", changed("radius_rod", "length", "9999"), ()),
    ("radius rod far too short", changed("radius_rod", "length", "16"), ()),
    ("link hollow to the axle", changed("expansion_link", "slot_concave_to", '"axle"'), ("radius rod",)),
    ("cylinder upright", changed("cylinder", "inclination", "90"), ()),
]


@pytest.mark.parametrize(("text", "parts"), [case[1:] for case in GEOMETRY], ids=[case[0] for case in GEOMETRY])
def test_parts_that_do_not_go_together_are_named_with_millimetres_and_angle(
    text: str, parts: tuple[str, ...], linkmotion: Command, tmp_path: Path
) -> None:
    file = tmp_path / "engine.toml"
    file.write_text(text, encoding="utf-8")
    run = linkmotion("check", file)
    assert_refused(run, file)
    assert re.search(rf"^{re.escape(str(file))}, line \d+: ", run.err)
    assert re.search(r"by \d+\.\d\d mm at crank angle \d+°", run.err)
    for part in parts:
        assert part in run.err
    assert list(tmp_path.rglob("*")) == [file]


# --- options ------------------------------------------------------------------------------------------------------------

OPTIONS = [
    (("--state", "as fond"), "did you mean 'as found'"),
    (("--notch", "mod"), "did you mean 'mid'"),
    (("--notch", ""), "known here"),
    (("--crank-angle", "nan"), "crank angle"),
    (("--crank-angle", "inf"), "crank angle"),
]


@pytest.mark.parametrize(("options", "remedy"), OPTIONS)
def test_a_wrong_option_is_refused_before_anything_is_printed(
    options: tuple[str, ...], remedy: str, linkmotion: Command, tmp_path: Path
) -> None:
    file = tmp_path / "engine.toml"
    file.write_text(METRE, encoding="utf-8")
    run = linkmotion("check", file, *options)
    assert (run.code, run.out) == (2, "")
    assert remedy in run.err
    assert 1 <= len(run.err.rstrip("\n").split("\n")) <= 2
    assert list(tmp_path.rglob("*")) == [file]


@pytest.mark.parametrize("options", [("--side", "up"), ("--running", "away"), ("--bogus",), ("--json", "--csv"), ("--crank-angle", "x")])
def test_an_option_that_does_not_exist_or_contradicts_ends_with_2(options: tuple[str, ...], linkmotion: Command, tmp_path: Path) -> None:
    file = tmp_path / "engine.toml"
    file.write_text(METRE, encoding="utf-8")
    run = linkmotion("check", file, *options)
    assert (run.code, run.out) == (2, "")
    assert options[0] in run.err


# --- figures that no engine has, each of them read without a word -----------------------------------------------------

SILLY = [
    ("inches instead of millimetres", changed("engine", "unit", '"in"', METRE.split("\n[state.")[0])),
    ("negative lap", changed("valve", "steam_lap", "-24")),
    ("no port to speak of", changed("valve", "port_width", "1e-9")),
    ("admission the wrong way", changed("valve", "admission", '"outside"')),
]


@pytest.mark.parametrize("text", [case[1] for case in SILLY], ids=[case[0] for case in SILLY])
def test_a_silly_engine_is_not_passed_as_within_the_targets(text: str, linkmotion: Command, tmp_path: Path) -> None:
    tomllib.loads(text)
    file = tmp_path / "engine.toml"
    file.write_text(text, encoding="utf-8")
    run = linkmotion("check", file, "--tables")
    assert run.code in (1, 2)
    assert "All within the targets" not in run.out
