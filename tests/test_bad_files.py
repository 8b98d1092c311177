"""A wrong file ends with 2 and two plain lines: which file, which line and key, what was read, what to do."""

from __future__ import annotations

import cmath
import math
import os
import re
import subprocess
import sys
import tomllib
from inspect import signature
from pathlib import Path

import pytest

from linkmotion import cli
from linkmotion.commands.input import telling
from linkmotion.files.engine_file import parse_engine
from linkmotion.files.faults import FileError
from linkmotion.files.source import LARGEST
from linkmotion.linkage import LinkageError, UnreachableError
from tests.bad_engines import wrong_form, wrong_links, wrong_record, wrong_repairs, wrong_sense, wrong_taken
from tests.bad_engines.changed import DOCK, EXAMPLES, METRE, changed, line_of_text
from tests.bad_engines.command import Command, Run, assert_refused
from tests.bad_engines.wrong import FOUND, Wrong

AS_FOUND = ["--state", "as found"]
TAKES: dict[str, list[str]] = {  # what a command must be given beside the engine file
    **{
        command: []
        for command in (
            "adjust",
            "beats",
            "card",
            "check",
            "diagram",
            "history",
            "hold",
            "measure",
            "page",
            "pins",
        )
    },
    **{
        "reconcile": [],
        "trace": ["picks.toml"],
        "tram": ["marks.toml"],
        "form": ["readings.toml"],
        "carried": ["readings.toml"],
        "diagnose": ["readings.toml"],
    },
    **{"wear": AS_FOUND, "repairs": AS_FOUND, "cleanup": AS_FOUND, "compare": ["--state", "drawing", *AS_FOUND]},
}
GROUPS = {
    "head": wrong_form.HEAD,
    "syntax": wrong_form.SYNTAX,
    "slips of the pen": wrong_form.SLIPS_OF_THE_PEN,
    "keys": wrong_form.KEYS,
    "blanks": wrong_form.BLANKS,
    "workshop tables": wrong_form.WORKSHOP,
    "tables": wrong_form.TABLES,
    "figures": wrong_form.FIGURES,
    "notches": wrong_sense.NOTCHES,
    "valves": wrong_sense.VALVES,
    "cranks": wrong_sense.CRANKS,
    "suspensions": wrong_sense.SUSPENSIONS,
    "states": wrong_sense.STATES,
    "links": wrong_links.LINKS,
    "sums": wrong_taken.SUMS,
    "takings": wrong_taken.TAKINGS,
    "pins": wrong_taken.PINS,
    "arcs": wrong_taken.ARCS,
    "rail": wrong_taken.RAIL,
    "worn": wrong_taken.WORN,
    "by the foot": wrong_taken.BY_FOOT,
    "records": wrong_record.RECORDS,
    "repairs": wrong_repairs.REPAIRS,
    "pins and bushes": wrong_repairs.PINS,
}
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
    (tmp_path / "empty").mkdir()
    for name, told, remedy in (
        ("missing.toml", "no such file", "check the name"),
        ("empty", "no engine file in this folder", "name the folder in which it is"),
        ("circle.toml", "symbolic links", "check the name"),
    ):
        run = linkmotion("check", tmp_path / name)
        assert_refused(run, tmp_path / name)
        assert told in run.err
        assert remedy in run.err


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read every file")
@pytest.mark.parametrize("command", sorted(TAKES))
def test_an_unreadable_file_is_refused(
    command: str, linkmotion: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)  # where a command that looks at its output first may write
    file = tmp_path / "engine.toml"
    file.write_text(METRE, encoding="utf-8")
    file.chmod(0)
    run = linkmotion(command, file, *TAKES[command])
    assert_refused(run, file)
    assert "permission denied" in run.err


def test_every_command_that_takes_an_engine_is_tried_on_an_unreadable_one() -> None:
    commands = [command.callback for command in cli.app.registered_commands if command.callback]
    assert {own.__name__ for own in commands if "engine" in signature(own).parameters} == set(TAKES)


def test_a_file_of_fifty_megabytes_is_refused_unread(linkmotion: Command, tmp_path: Path) -> None:
    file = tmp_path / "engine.toml"
    with file.open("wb") as out:
        out.truncate(50_000_000)
    run = linkmotion("check", file)
    assert_refused(run, file)
    assert "larger than a megabyte" in run.err
    file.write_bytes(METRE.encode() + b"#" * (LARGEST - len(METRE.encode())))
    assert linkmotion("check", file, "--tables").code == 0, "a file of the largest size allowed is read"


def as_process(*arguments: str | Path, seconds: float = 120) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", "from linkmotion.cli import main; main()", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, timeout=seconds, check=False)


def test_a_pipe_that_nobody_fills_is_refused_and_not_waited_for(tmp_path: Path) -> None:
    """The same road leads to /dev/zero, which has no size and no end: only plain files are read."""
    pipe = tmp_path / "engine.toml"
    os.mkfifo(pipe)
    done = as_process("check", pipe)  # that nobody fills: waited for, it would never end
    assert done.returncode == 2
    assert done.stderr.startswith(str(pipe))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (changed("eccentric_rod", "length", "700"), "eccentric rod"),
        (f"deep = {'[' * 100_000}", "deep"),
    ],
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
    """Shortfall of rod and link between return-crank pin and trunnion, mm: the metre-gauge example by trigonometry."""
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


@pytest.mark.parametrize("rod", [700.0, 831.0])
def test_a_rod_that_cannot_reach_is_told_with_its_shortfall_and_where(
    rod: float, linkmotion: Command, tmp_path: Path
) -> None:
    file = tmp_path / "engine.toml"
    text = changed("eccentric_rod", "length", f"{rod}")
    file.write_text(text, encoding="utf-8")
    run = linkmotion("check", file)
    assert_refused(run, file)
    found = re.search(
        r"line (\d+): (eccentric_rod|expansion_link): notch '[\w ]+': the gear cannot pass: ([a-z ]+): ", run.err
    )
    assert found, run.err
    assert int(found[1]) == line_of_text(text, f"[{found[2]}]")
    assert set(found[3].split(" and ")) == {"eccentric rod", "expansion link"}
    short, angle = told_gap(run.err)
    about = [gap_to_foot(rod, angle + d / 100) for d in range(-51, 52)]  # the angle is told to a degree
    assert min(about) - 0.006 <= short <= max(about) + 0.006  # and the gap to 0.01 mm
    assert short > 0.5, "a gap worth telling"


def test_a_link_that_does_not_close_in_one_state_only_is_told_with_state_and_side(
    linkmotion: Command, tmp_path: Path
) -> None:
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
    ("union link short", changed("union_link", "length", "30"), ("union link",)),
    ("connecting rod ten times too long", changed("connecting_rod", "length", "17500"), ()),
    ("die height out of reach", changed("reversing.notches", "mid", "{ die = 700 }"), ("'mid'", "lifting arm")),
    (
        "arm angle out of reach",
        changed("reversing.notches", "mid", "90", DOCK),
        ("'mid'", "radius rod", "lifting link"),
    ),
    ("die height beyond the slot's circle", changed("reversing.notches", "mid", "{ die = 45 }", DOCK), ("'mid'",)),
    ("radius rod far too short", changed("radius_rod", "length", "16"), ()),
]


@pytest.mark.parametrize(("text", "parts"), [case[1:] for case in GEOMETRY], ids=[case[0] for case in GEOMETRY])
def test_parts_that_do_not_go_together_are_named_with_amount_and_angle(
    text: str, parts: tuple[str, ...], linkmotion: Command, tmp_path: Path
) -> None:
    file = tmp_path / "engine.toml"
    file.write_text(text, encoding="utf-8")
    run = linkmotion("check", file)
    assert_refused(run, file)
    assert re.search(rf"^{re.escape(str(file))}, line \d+: ", run.err)
    assert re.search(r"by \d+\.\d+ (mm|in) at crank angle \d+°", run.err)
    for part in parts:
        assert part in run.err
    assert list(tmp_path.rglob("*")) == [file]


@pytest.mark.parametrize(
    ("fault", "part"),
    [
        (
            UnreachableError(("spindle rod", "valve guide"), 170.5, -2.5),
            "spindle rod and valve guide: too short to meet",
        ),
        (UnreachableError(("link hanger",), -3.0, 0.0), "link hanger: too long to fit"),
        (LinkageError("radius rod: the assembly jumps"), "radius rod: the assembly jumps"),
    ],
)
def test_a_gear_that_a_study_cannot_turn_is_told_like_one_that_cannot_be_passed(fault: LinkageError, part: str) -> None:
    path = EXAMPLES / "gooch_tank.toml"
    engine = parse_engine(path.read_text(encoding="utf-8"))
    with pytest.raises(FileError) as told, telling(engine, path):
        raise fault
    assert_refused(Run(2, "", f"{told.value}\n"), path)
    assert part in told.value.problem
    assert told.value.line == line_of_text(engine.text, "[valve]")
    assert "check the figures of these parts" in told.value.remedy


@pytest.mark.parametrize(("name", "shaft_y", "passes"), [("gooch_tank", "10", True), ("dock_shunter", "3000", False)])
def test_every_command_tells_one_story_of_a_gear(
    name: str, shaft_y: str, passes: bool, linkmotion: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    source = (EXAMPLES / f"{name}.toml").read_text(encoding="utf-8").split("\n[state.")[0]
    worn = '\n[state.worn.both.wear]\nclearance = { "die pin" = 0.4 }\n'
    file = tmp_path / "engine.toml"
    file.write_text(changed("reversing", "shaft_y", shaft_y, source) + worn, encoding="utf-8")
    few = ["--no-search", "--samples", "200", *(["--notch", "full forward"] if passes else [])]
    runs = {"check": ["--tables"], "diagram": ["--json"], "hold": few}
    drawn = [linkmotion(command, file, *options) for command, options in runs.items()]
    found = [linkmotion(command, file, "--state", "worn", *options) for command, options in runs.items()]
    wear = linkmotion("wear", file, "--state", "worn")  # turns the drawing too, to compare with it
    assert [run.code != 2 for run in (*drawn, *found, wear)] == [passes] * 7, (drawn, found, wear)
    if not passes:
        assert_refused(wear, file)
        assert {run.err for run in drawn} == {wear.err}
        assert {run.err.replace(" (state 'worn', left side)", "") for run in found} == {wear.err}


# --- options ----------------------------------------------------------------------------------------------------------

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


@pytest.mark.parametrize(
    "options", [("--side", "up"), ("--direction", "away"), ("--bogus",), ("--json", "--csv"), ("--crank-angle", "x")]
)
def test_an_option_that_does_not_exist_or_contradicts_ends_with_2(
    options: tuple[str, ...], linkmotion: Command, tmp_path: Path
) -> None:
    file = tmp_path / "engine.toml"
    file.write_text(METRE, encoding="utf-8")
    run = linkmotion("check", file, *options)
    assert (run.code, run.out) == (2, "")
    assert options[0] in run.err


NUMBERS = [
    (("check", "--crank-angle", "abc"), "--crank-angle: 'abc' is not a number\n  give one, such as 45 or 12.5\n"),
    (("hold", "--samples", "2.5"), "--samples: '2.5' is not a whole number\n  give one, such as 200\n"),
    (("wear", "--drag", "-3"), "--drag: '-3' is too little\n  give 0 or more\n"),
]


@pytest.mark.parametrize(("words", "told"), NUMBERS)
def test_what_is_no_number_is_refused_in_plain_words(
    words: tuple[str, str, str], told: str, linkmotion: Command, tmp_path: Path
) -> None:
    file = tmp_path / "engine.toml"
    file.write_text(METRE, encoding="utf-8")
    run = linkmotion(words[0], file, *words[1:])
    assert (run.code, run.out, run.err) == (2, "", told)


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
    assert "within the targets" not in run.out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["chek"], "Did you mean 'check'?"),
        (["check"], "Missing argument"),
        (["check", str(EXAMPLES / "metre_gauge.toml"), "--side", "middle"], "--side"),
        (["check", "x.toml", "--json", "--csv"], "exclude one another"),
        (["wear", "x.toml", "--state", "y", "--drag", "-1"], "--drag"),
        (["check", "x.toml", "--paper", "A3"], "'--paper': 'A3' is not one of 'A4', 'letter'"),
    ],
)
def test_words_on_the_command_line_that_mean_nothing_are_told_in_two_lines(
    words: list[str], told: str, linkmotion: Command
) -> None:
    run = linkmotion(*words)
    assert (run.code, run.out) == (2, "")
    assert told in run.err
    assert len(run.err.splitlines()) == 2


def test_a_command_that_there_is_not_is_told_so_by_a_process_of_its_own_too() -> None:
    done = as_process("chek")
    assert (done.returncode, done.stdout) == (2, "")
    assert "Did you mean 'check'?" in done.stderr
    assert len(done.stderr.splitlines()) == 2


def test_no_words_at_all_give_the_help_and_a_reader_that_leaves_is_no_fault() -> None:
    assert "cleanup" in as_process().stdout
    command = f"{sys.executable} -c 'from linkmotion.cli import main; main()' --help | head -c 1"
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, timeout=120, check=False)
    assert "Traceback" not in done.stderr
