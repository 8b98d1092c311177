"""The command ``adjust``: the [adjustments] of a file, the words of the shop, the sheet, the plots."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from linkmotion.cli.app import app
from linkmotion.engine import Engine
from linkmotion.files.adjustments_table import adjustments_given
from linkmotion.files.engine_file import parse_engine
from linkmotion.files.faults import FileError
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.setting.adjustments import Given
from linkmotion.studies.setting.basis import believed
from linkmotion.valve import ENDS
from tests.planted import EXAMPLES, as_drawn

ADJUSTED = EXAMPLES / "dock_shunter.toml"
OWN_TABLE = re.compile(r"^\[adjustments\]\n(.+\n)+", re.MULTILINE)
TEXT = OWN_TABLE.sub("", ADJUSTED.read_text(encoding="utf-8"))  # what can be altered is then assumed
INCH = 25.4
OWN = """
[adjustments.valve]
central_at = { pitch = "1/16 in", turn = "1/6", most = "1/8 in" }
[adjustments.eccentric_rod]
length = { step = "1/64 in", most = "1/8 in" }
[adjustments.expansion_link]
trunnion_x = { step = "1/64 in", least = 0, most = "1/16 in" }
[adjustments.reversing]
arm_angle = { step = 0.25, most = 1 }
"""


@pytest.fixture(scope="module")
def shunter(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The dock shunter's file, silent on what can be altered."""
    assert "[adjustments" not in TEXT
    file = tmp_path_factory.mktemp("engine") / "engine.toml"
    file.write_text(TEXT, encoding="utf-8")
    return file


def with_adjustments(text: str = OWN) -> Engine:
    return parse_engine(TEXT + text, "engine.toml")


def read(text: str = OWN) -> tuple[dict[Key, Given], bool]:
    side = as_drawn("dock_shunter")
    return adjustments_given(with_adjustments(text), "engine.toml", side.gear, side.settings[0])


@pytest.fixture(scope="module")
def taken(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Leads and two cutoffs read on both sides, the left eccentric rod long and both spindles out."""
    lines = ["[readings]", 'state = "drawing"', 'unit = "mm"', "within = 0.1", "within_percent = 0.5"]
    lines += ['dead_centres = "0.02°"', 'turned = "both ways"']  # as well as it can be done
    for name, wrong in (("left", {("eccentric_rod", "length"): 1.3, CENTRAL: 0.5}), ("right", {CENTRAL: -0.5})):
        side = believed(as_drawn("dock_shunter", name), wrong)
        lines.append(f"[{name}]\nreadings = [")
        for i, notch in enumerate(side.notches):
            front, back = (float(side.events["forward"][end].lead[i]) for end in ENDS)
            lines.append(f'{{ notch = "{notch}", kind = "lead", front = {front:.2f}, back = {back:.2f} }},')
            if notch in ("full forward", "backward 50"):
                way = side.driven(i)[0]
                front, back = (float(side.events[way][end].percent["cutoff"][i]) for end in ENDS)
                own = f'kind = "cutoff", direction = "{way}", front = "{front:.1f} %", back = "{back:.1f} %"'
                lines.append(f'{{ notch = "{notch}", {own} }},')
        lines.append("]")
    path = tmp_path_factory.mktemp("readings") / "readings.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def run(*arguments: str | Path) -> tuple[int, str]:
    ran = CliRunner().invoke(app, ["adjust", *map(str, arguments)])
    if ran.exception is not None and not isinstance(ran.exception, SystemExit):
        raise ran.exception
    return ran.exit_code, ran.output


# ---- the [adjustments] table -----------------------------------------------------------------------------------------


def test_adjustments_are_read_with_steps_limits_and_threads() -> None:
    found, assumed = read()
    assert not assumed
    flat = INCH / 16 / 6
    expected = {
        CENTRAL: (flat, -INCH / 8, INCH / 8, 1 / 6),
        ("eccentric_rod", "length"): (INCH / 64, -INCH / 8, INCH / 8, 0.0),
        ("expansion_link", "trunnion_x"): (INCH / 64, 0.0, INCH / 16, 0.0),
        ("reversing", "arm angle"): (0.25, -1.0, 1.0, 0.0),
    }
    assert set(found) == set(expected)
    for key, (step, least, most, turn) in expected.items():
        own = found[key]
        assert np.abs(np.array([own.step, own.least, own.most, own.turn]) - [step, least, most, turn]).max() < 1e-12


def test_usual_adjustments_are_assumed_where_the_file_says_nothing() -> None:
    found, assumed = read("")
    assert assumed
    assert found[CENTRAL].step == INCH / 64
    assert ("return_crank", "angle") in found


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("[adjustments.valve]\ncentral = { step = 1, most = 2 }", "did you mean 'valve.central_at'"),
        ("[adjustments.valve]\ncentral_at = { most = 2 }", "give one: step"),
        ("[adjustments.valve]\ncentral_at = { step = 1 }", "most is missing"),
        ("[adjustments.valve]\ncentral_at = { step = 0, most = 2 }", "a step of nothing"),
        ('[adjustments.valve]\ncentral_at = { step = "1/8 in", most = "1/16 in" }', "no step fits"),
        ('[adjustments.valve]\ncentral_at = { step = "1 thou", most = "1 in" }', "is the unit right"),
        ('[adjustments.valve]\ncentral_at = { pitch = "1/16 in", turn = "a flat", most = "1/8 in" }', "is a flat"),
        ('[adjustments.valve]\ncentral_at = { step = "1/64 in", turn = 1, most = "1/8 in" }', "of what thread"),
        ("[adjustments.valve]\ncentral_at = 3", "wanted a table"),
        ('[adjustments.valve]\ncentral_at = { step = "1/64 inn", most = 1 }', "closest is in"),
        ('[adjustments.reversing]\narm_angle = { step = "1/64 in", most = 1 }', "a plain number of degrees"),
        ("[adjustments]\nvalve = 3", "no such length or angle"),
    ],
)
def test_wrong_adjustments_get_a_clear_message(table: str, words: str) -> None:
    with pytest.raises(FileError, match=words) as told:
        read("\n" + table + "\n")
    assert told.value.line is not None
    assert told.value.line > TEXT.count("\n")
    assert told.value.key.startswith("adjustments")


# ---- the command -----------------------------------------------------------------------------------------------------


def test_command_finds_the_planted_fault_and_what_will_be_read(shunter: Path, taken: Path) -> None:
    code, output = run(shunter, taken, "--json")
    found = json.loads(output)
    assert code == 1  # targets are out as it stands
    assert found["all_met"]
    assert found["adjustments_assumed"]
    work = [(each["side"], each["dimension"], each["steps"]) for each in found["work"]]
    assert work == [
        ("left", "eccentric_rod.length", -3), ("left", "valve.central_at", 1), ("right", "valve.central_at", -1),
    ]  # fmt: skip
    assert found["work"][0]["words"] == "Shorten the eccentric rod by 3/64 in (3 steps of 1/64 in)"
    left = found["sides"][0]["readings"]
    assert all(len(reading["expected"]) == 4 for reading in left)  # as it stands, and after each piece
    true = believed(
        as_drawn("dock_shunter"), {("eccentric_rod", "length"): 1.3 - 3 * INCH / 64, CENTRAL: 0.5 - INCH / 64}
    )
    for reading in (each for each in left if each["kind"] == "lead"):
        lead = true.events["forward"][reading["end"]].lead[true.notches.index(reading["notch"])]
        assert abs(reading["expected"][-1] - lead) < 0.05  # mm


def test_the_engines_own_adjustments_are_used_on_its_readings() -> None:
    """The example: an eccentric rod 3/32 in. too long is shortened by 3/32, and the fine thread does the rest."""
    code, output = run(ADJUSTED, EXAMPLES / "readings" / "dock_shunter.toml", "--json")
    found = json.loads(output)
    assert (code, found["all_met"], found["adjustments_assumed"]) == (1, True, False)
    assert [(each["dimension"], each["steps"]) for each in found["work"]] == [
        ("eccentric_rod.length", -6), ("valve.central_at", 1),
    ]  # fmt: skip
    assert [each["if_need_be"] for each in found["work"]] == [False, True]  # 0.002 in over, known within 0.004


def test_it_is_told_which_work_puts_right_what_is_wrong(tmp_path: Path) -> None:
    shunter = EXAMPLES / "readings" / "dock_shunter.toml"
    _code, output = run(ADJUSTED, shunter)
    assert "put back (0.0899 in more than drawn), 2 h: Shorten the eccentric rod" in " ".join(output.split())
    assert "which alone tells them apart, before 1 is done" in " ".join(output.split())
    assert "Do 2 only if need be" in output
    fixed = tmp_path / "engine.toml"  # the rod cannot be altered
    lines = ADJUSTED.read_text(encoding="utf-8").splitlines()
    kept = [line for line in lines if not line.startswith("eccentric_rod.length")]
    assert len(kept) == len(lines) - 1
    fixed.write_text("\n".join(kept), encoding="utf-8")
    _code, output = run(fixed, shunter)
    assert "eccentric rod: length is 0.0899 in more than drawn: no adjustment mends it" in " ".join(output.split())


def test_what_is_within_its_targets_is_left_alone(shunter: Path) -> None:
    code, output = run(shunter)
    assert code == 0
    assert "Leave it alone" in output
    assert "nothing was read" in output


def test_readings_may_be_laid_over_the_drawing(shunter: Path, taken: Path) -> None:
    _code, output = run(shunter, taken, "--basis", "drawing", "--side", "left", "--json")
    found = json.loads(output)
    assert [side["basis"] for side in found["sides"]] == ["drawing"]
    assert "only targets whose figures were read" in found["sides"][0]["note"]
    assert [work["dimension"] for work in found["work"]] == ["valve.central_at"]  # no part is known to be off
    reading = found["sides"][0]["readings"][0]
    assert reading["expected"][0] == reading["read"]
    _code, output = run(shunter, taken, "--basis", "drawing", "--side", "left", "--move-sound-parts", "--json")
    found = json.loads(output)
    assert found["moving_sound_parts"]
    assert found["work"][0]["dimension"] == "eccentric_rod.length"


def test_readings_that_fit_no_gear_are_not_diagnosed(shunter: Path, taken: Path, tmp_path: Path) -> None:
    """Leads that jump from notch to notch by millimetres: only what was read is then set by."""
    text = taken.read_text(encoding="utf-8").partition("[right]")[0]
    wild = tmp_path / "wild.toml"
    rows = [line for line in text.splitlines() if '"lead"' in line]
    for n, line in enumerate(rows):
        front = float(line.split("front = ")[1].split(",")[0])
        text = text.replace(line, line.replace(f"front = {front:.2f}", f"front = {front + (-1) ** n * 1.5:.2f}"))
    wild.write_text(text, encoding="utf-8")
    _code, output = run(shunter, wild, "--json")
    side = json.loads(output)["sides"][0]
    assert side["basis"] == "drawing"
    assert "do not fit this gear" in side["note"]


def test_turns_of_a_thread_are_told(taken: Path, tmp_path: Path) -> None:
    own = tmp_path / "engine.toml"
    own.write_text(TEXT + '[adjustments.valve]\ncentral_at = { pitch = "1/16 in", turn = "1/6", most = "1/8 in" }\n')
    _code, output = run(own, taken, "--side", "right", "--json")
    found = json.loads(output)
    assert not found["adjustments_assumed"]
    (work,) = found["work"]
    assert work["steps"] in (-1, -2)
    assert work["words"].endswith(("(1/6 turn of the thread)", "(1/3 turn of the thread)"))


def test_side_without_readings_is_refused(shunter: Path, taken: Path, tmp_path: Path) -> None:
    left = tmp_path / "left.toml"
    left.write_text(taken.read_text(encoding="utf-8").partition("[right]")[0], encoding="utf-8")
    with pytest.raises(FileError, match="no readings of the right side"):
        run(shunter, left, "--side", "right")


def test_sheet_and_plots_are_written(taken: Path, tmp_path: Path) -> None:
    hostile = tmp_path / "engine.toml"
    hostile.write_text(
        TEXT.replace('name = "Harrowquay', 'name = "<script>alert(1)</script> Harrowquay', 1), encoding="utf-8"
    )
    sheet, pictures = tmp_path / "sheet.html", tmp_path / "plots"
    run(hostile, taken, "--sheet", sheet, "--pictures", pictures)
    page = sheet.read_text(encoding="utf-8")
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert "traps hands" in page
    assert page.count("<h1>") == 2  # a page for each side: there are too many readings for one
    order = [
        page.index(words) for words in ("Shorten the eccentric rod by 3/64 in", "Lengthen the valve spindle by 1/64 in")
    ]
    assert order == sorted(order)
    readings = 2 * 10 * 2 + 2 * 10  # left with two pieces of work, right with one; ten notches' worth each of two ends
    assert page.count('class="blank"') == readings
    assert "http" not in page.replace("http://www.w3.org", "")
    names = {path.name for path in pictures.iterdir()}
    assert names == {f"{side}-{plot}.svg" for side in ("left", "right") for plot in ("readings", "effects")}
    drawing = (pictures / "left-effects.svg").read_text(encoding="utf-8")
    assert all(words in drawing for words in (">lengthen<", ">1/64 in<", "front lead, full forward (mm)"))


def test_readings_of_a_state_that_gives_its_return_crank_by_other_figures_are_advised_on(tmp_path: Path) -> None:
    """As found the left one is given by its pin's circle and angle; a setting keeps its length and angle."""
    text = (EXAMPLES / "readings" / "dock_shunter.toml").read_text(encoding="utf-8")
    text = re.sub(r"^dead_centres = .*$", 'dead_centres = "by eye"', text, flags=re.MULTILINE)
    taken = tmp_path / "readings.toml"
    taken.write_text(text.replace('state = "drawing"', 'state = "as found"', 1), encoding="utf-8")
    code, output = run(ADJUSTED, taken)
    assert code == 1
    assert "radius rod: length is 1/16 in more than drawn: no adjustment mends it" in " ".join(output.split())


@pytest.mark.parametrize("name", ["dock_shunter", "stephenson_goods"])
def test_nothing_stands_in_the_way_of_targets_that_are_told_as_met(name: str) -> None:
    """What is over its limit by less than its doubt counts as met everywhere: in the answer and in the reasons."""
    asked = (EXAMPLES / f"{name}.toml", EXAMPLES / "readings" / f"{name}.toml")
    found = json.loads(run(*asked, "--json")[1])
    _code, told = run(*asked)
    assert found["all_met"]
    assert found["barrier"] == ""
    assert "cannot all be met" not in told
