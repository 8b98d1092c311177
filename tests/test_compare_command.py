"""``linkmotion compare``: what is marked, long names, the other figures, parts from elsewhere."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from linkmotion.cli import app
from linkmotion.files.engine_file import parse_engine
from linkmotion.files.faults import FileError
from linkmotion.studies.compare import borrowed, compare, swapped
from linkmotion.views.compare_view import headings
from tests.gears_at_hand import EXAMPLES

ENGINES = {path.stem: path for path in EXAMPLES}
DOCK = ENGINES["dock_shunter"]


def run(*wishes: str, engine: Path = DOCK) -> Any:
    return CliRunner().invoke(app, ["compare", str(engine), *wishes])


def cell(output: str, side: str, notch: str, end: int, column: int) -> str:
    """A figure with its marks, from the table of a side: columns parted by two spaces or more."""
    lines = output[output.index(f"{side} side") :].splitlines()
    first = next(i for i, line in enumerate(lines) if line.startswith(notch))
    return [part for part in lines[first + end].split("  ") if part.strip()][column].strip()


def test_marks_tell_the_ends_from_the_sides() -> None:
    ran = run("--state", "drawing", "--state", "as found", "--notch", "full forward", "--notch", "full backward")
    assert ran.exit_code == 1
    rows = {(r["side"], r["notch"], r["end"]): r for r in json.loads(
        run("--state", "drawing", "--state", "as found", "--json").output)["rows"]}  # fmt: skip
    limit = 1 / 64
    for side, other in (("left", "right"), ("right", "left")):
        for notch in ("full forward", "full backward"):
            for n, end in enumerate(("front", "back")):
                lead = rows[side, notch, end]["lead"][1]
                fellow = rows[side, notch, "back" if end == "front" else "front"]["lead"][1]
                marks = "✗" * (abs(lead - fellow) > limit) + "≠" * (
                    abs(lead - rows[other, notch, end]["lead"][1]) > limit
                )
                shown = cell(ran.output, side, notch, n, 4 if n == 0 else 2)
                assert shown == f"{marks} {lead:.3f}".strip()
    assert "✗: the ends differ by more than the target; ≠: the sides do." in ran.output


def test_a_state_with_a_long_name_is_told_by_a_letter() -> None:
    assert headings(("drawing", "as found")) == ("drawing", "as found")
    assert headings(("drawing", "as found, radius rod swapped")) == ("A", "B")
    ran = run("--state", "as found", "--swap", "radius_rod", "--notch", "mid")
    assert "A: as found; B: as found, radius rod swapped." in ran.output
    assert ran.output.isascii() is False


def test_the_other_figures_are_shown_on_request() -> None:
    plain, more = (
        run("--state", "drawing", "--state", "as found", "--notch", "mid", *wish).output for wish in ((), ("--more",))
    )
    for head in ("release, %", "compression, %", "opening, in", "travel, in", "lost motion, in"):
        assert head not in plain
        assert head in more
    engine = parse_engine(DOCK.read_text(encoding="utf-8"))
    lost = compare(engine, ["drawing", "as found"], ["mid"]).rows[0]["lost_motion"]
    assert f"{lost[1] / 25.4:.3f}" in more


@pytest.mark.parametrize(
    ("wishes", "words"),
    [
        ((), "one state alone"),
        (("--swap", "radius_rood"), "did you mean 'radius_rod'?"),
        (("--borrow", "radius_rod:left:" + str(ENGINES["stephenson_goods"])), "no 'radius_rod' of the"),
        (("--borrow", "radius_rod"), "write PART:left:OTHER.toml"),
        (("--state", "as fond"), "did you mean 'as found'?"),
    ],
)
def test_what_cannot_be_compared_is_refused(wishes: tuple[str, ...], words: str) -> None:
    error = run(*wishes).exception
    assert isinstance(error, FileError)
    assert words in str(error)


WORN = """
[state.worn.left.wear]
bow = { "radius rod" = "4 mm", "eccentric rod" = "2 mm" }
slot = [ { at = "-60 mm", front = "0.4 mm" }, { at = "60 mm", back = "0.2 mm" } ]
bent = { foot = { ahead = "0.5 mm" } }
clearance = { foot = "0.3 mm" }

[state.worn.right.wear]
bow = { "radius rod" = "1 mm" }
"""


def test_a_part_that_changes_sides_takes_its_own_wear_with_it() -> None:
    engine = parse_engine(ENGINES["metre_gauge"].read_text(encoding="utf-8") + WORN)
    rods, name = swapped(engine, "radius_rod", "worn")
    assert [rods.condition(name, side).bow["radius rod"] for side in ("left", "right")] == [1.0, 4.0]
    assert rods.condition(name, "left").bow["eccentric rod"] == 2.0
    links, name = swapped(engine, "expansion_link", "worn")
    left, right = (links.condition(name, side) for side in ("left", "right"))
    assert (left.slot, right.slot) == ((), engine.condition("worn", "left").slot)
    assert (left.bent["foot"], right.bent["foot"]) == ((0.0, 0.0), (0.5, 0.0))
    assert (dict(left.clearance), dict(right.clearance)) == ({"foot": 0.3}, {})
    result = compare(links, ["worn", name], ["mid"])
    worn_left = {row["end"]: row for row in result.rows if row["side"] == "left" and row["direction"] == "forward"}
    assert abs(worn_left["front"]["lead"][0] - worn_left["front"]["lead"][1]) > 0.01


def test_parts_joined_by_a_plus_change_sides_together() -> None:
    apart = run("--state", "as found", "--swap", "eccentric_rod", "--swap", "radius_rod", "--notch", "mid", "--json")
    both = run("--state", "as found", "--swap", "eccentric_rod+radius_rod", "--notch", "mid", "--json")
    assert json.loads(apart.output)["states"] == [
        "as found",
        "as found, eccentric rod swapped",
        "as found, radius rod swapped",
    ]
    assert json.loads(both.output)["states"] == ["as found", "as found, eccentric rod swapped, radius rod swapped"]


def test_a_borrowed_part_comes_unworn() -> None:
    engine = parse_engine(ENGINES["metre_gauge"].read_text(encoding="utf-8") + WORN)
    changed, name = borrowed(engine, engine, "radius_rod", "left", "worn")
    assert changed.condition(name, "left").bow == {"radius rod": 0.0, "eccentric rod": 2.0}
    assert changed.condition(name, "right").bow == {"radius rod": 1.0}
