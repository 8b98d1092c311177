"""The bench's screens: each answers with the command's own figures, and its sheets are the command's sheets."""

from __future__ import annotations

import html
import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest

from linkmotion.bench.folder_of_engines import FolderOfEngines
from linkmotion.bench.screen import screens
from linkmotion.commands.bush import BushRequest, run_bush
from linkmotion.commands.compare import CompareRequest, run_compare
from linkmotion.commands.hold import HoldRequest, run_hold
from linkmotion.commands.pins import PinsRequest, run_pins
from linkmotion.commands.repairs import RepairsRequest, run_repairs
from tests.bench_at import DOCK, EXAMPLES, Wire, on_the_wire

WINKLE = "winkle"
Told = pytest.CaptureFixture[str]


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Wire]:
    folder = tmp_path / "engines"
    shutil.copytree(EXAMPLES / WINKLE, folder)
    shutil.copy(EXAMPLES / f"{DOCK}.toml", folder)
    with on_the_wire(FolderOfEngines(folder)) as own:
        yield own


def asked(bench: Wire, path: str, **choices: str) -> str:
    """What a screen's answer says, its signs of HTML read."""
    found = bench.ask(f"e/{path}?{urlencode(choices)}")
    assert found.code == 200, found.text
    return html.unescape(re.sub(r"data:image[^\"]*", "", found.text))


def first(text: str) -> str:
    """The answer itself."""
    found = re.search(r'<p class="answer[^"]*">(.*?)</p>', text)
    assert found is not None
    return found[1]


def table_rows(text: str, title: str) -> list[list[str]]:
    """The cells of each row of a table."""
    found = re.search(rf"<caption>{re.escape(title)}</caption>(.*?)</table>", text, re.DOTALL)
    assert found is not None
    body = found[1].partition("<tbody>")[2]
    return [re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row) for row in re.findall(r"<tr.*?</tr>", body)]


def by_command(told: Told, done: Any) -> Any:
    """What a command's run printed as JSON."""
    assert done in (0, 1)
    return json.loads(told.readouterr().out)


def test_states_side_by_side_are_those_of_the_command(bench: Wire, capsys: Told) -> None:
    text = asked(bench, f"{DOCK}/compare/answer", state="as found", beside="drawing")
    states = ("drawing", "as found")
    told = by_command(capsys, run_compare(CompareRequest(bench.folder.path / f"{DOCK}.toml", states, json=True)))
    rows = [row for row in told["rows"] if row["side"] == "right"]
    shown = table_rows(text, "right side")
    assert len(shown) == len(rows) > 10
    for row, cells in zip(rows, shown, strict=True):
        assert cells[:3] == [row["notch"], row["direction"], row["end"]]
        assert [cell.split()[-1] for cell in cells[3:5]] == [f"{lead:.3f}" for lead in row["lead"]]
    assert f"as found: {told['out_of_target'][-1]} out of target" in first(text)
    assert text.count("<figure") == 5
    alone = asked(bench, f"{DOCK}/compare/answer", state="drawing", beside="drawing")
    assert "compared with itself" in first(alone)
    three = asked(bench, f"{DOCK}/compare/answer", state="as repaired", beside="drawing", **{"and": "as found"})
    assert len(table_rows(three, "left side")[0]) == 3 + 2 * 3


def test_tolerances_are_those_of_the_command(bench: Wire, capsys: Told) -> None:
    text = asked(bench, f"{DOCK}/hold/answer", state="drawing", side="left", notch="mid")
    own = HoldRequest(bench.folder.path / f"{DOCK}.toml", notches=("mid",), search=False, output="json")
    told = by_command(capsys, run_hold(own))
    assert f"{100 * told['kept_after_setting']:.1f} %" in first(text)
    assert f"{100 * told['kept']:.1f} % as made" in first(text)
    assert "10,000 engines" in text
    assert text.count("<figure") == 4


def test_a_long_study_is_asked_with_the_screens_own_choices(bench: Wire) -> None:
    later = re.search(r'data-later="([^"]*)"', asked(bench, f"{DOCK}/hold", notch="mid", seek="loosest"))
    assert later is not None
    assert "seek=loosest" in later[1]
    assert "notch=mid" in later[1]


@pytest.mark.parametrize("hours", ["", "39", "20,5 h"])
def test_repairs_are_those_of_the_command(bench: Wire, capsys: Told, hours: str) -> None:
    text = asked(bench, f"{WINKLE}/repairs/answer", state="as found", hours=hours)
    had = {"": None, "39": 39.0, "20,5 h": 20.5}[hours]
    own = RepairsRequest(bench.folder.path / f"{WINKLE}.toml", "as found", hours=had, json=True)
    best = by_command(capsys, run_repairs(own))["best"]
    if best["repairs"]:
        assert ", ".join(best["repairs"]).lower() in first(text).lower()
        assert f"({best['hours']:g} h)" in first(text)
    else:
        assert "no repair gains anything" in first(text)
    assert ("sheet/job-cards" in text) == bool(best["repairs"])
    assert '<b class="named">A</b> strip the motion' in text, "the letter by which the tables name it"


def test_hours_that_are_none_and_a_file_without_repairs(bench: Wire) -> None:
    assert "'some' is no number of hours" in first(asked(bench, f"{WINKLE}/repairs/answer", hours="some"))
    assert "No repairs are written" in first(asked(bench, f"{DOCK}/repairs/answer"))


def test_pins_are_those_of_the_command(bench: Wire, capsys: Told) -> None:
    text = asked(bench, f"{WINKLE}/pins", state="as found")
    told = by_command(capsys, run_pins(PinsRequest(bench.folder.path / f"{WINKLE}.toml", "as found", json=True)))
    shown = {row[0]: row for row in table_rows(text, "To make")}
    assert list(shown) == [joint["joint"] for joint in told["joints"]]
    for joint in told["joints"]:
        assert shown[joint["joint"]][3] == "–".join(f"{each:.4f}" for each in joint["bore"])
    assert "no sizes of pins are given" in first(asked(bench, f"{DOCK}/pins"))


def test_a_bush_is_that_of_the_command_and_errors_are_at_their_field(bench: Wire, capsys: Told) -> None:
    sizes = {"seat": "1 7/8 in", "housing_outside": "3 in", "bore": "1.36", "length": "2 in", "warm": "150"}
    text = asked(bench, f"{WINKLE}/pins", **sizes)
    own = BushRequest(
        seat="1 7/8 in", housing_outside="3 in", bore="1.36", length="2 in", warm=150.0, unit="in", output="json"
    )
    told = by_command(capsys, run_bush(own))
    bush = text.partition('<div id="bush">')[2]
    least, most = told["bush_outside"]
    turned = re.search(r"turn the bush (\S+) to (\S+) in", bush)
    assert turned is not None, "within the limits, to the last digit that is shown"
    assert least <= float(turned[1]) < least + 1.01e-4
    assert most - 1.01e-4 < float(turned[2]) <= most
    assert "aria-invalid" not in bush
    for field, value in (("housing", "cheese"), ("press", "H7/zz"), ("bore", "2 apples"), ("freezer", "cold")):
        wrong = asked(bench, f"{WINKLE}/pins", **sizes | {field: value})
        assert re.findall(r'name="(\w+)"[^>]*aria-invalid', wrong) == [field], value
        assert f'id="wrong-{field}"' in wrong
    part = asked(bench, f"{WINKLE}/pins", seat="1 7/8 in")
    assert re.findall(r'name="(\w+)"[^>]*aria-invalid', part) == ["housing_outside", "bore", "length"]


FILE_WORDS = re.compile(
    r"\[[a-z_]+\]|\b\w{2,} = [\[{\"\d]|\b[a-z]+_[a-z]+(?![\w.-]*\.(?:toml|png|csv))|\w\.(?:length|angle)\b"
)
"""What stands so in a file and is nobody's speech: heads of tables, keys with their values."""


@pytest.mark.parametrize("name", [WINKLE, DOCK])
@pytest.mark.parametrize("screen", list(screens()))
def test_no_screen_speaks_as_the_file_does(bench: Wire, screen: str, name: str) -> None:
    for path in (screen, f"{screen}/answer"):
        text = asked(bench, f"{name}/{path}", state="as found")
        seen = re.sub(r"<[^>]*>", " ", re.sub(r"<(script|style)\b.*?</\1>", " ", text, flags=re.DOTALL))
        assert seen.strip() or path.endswith("/answer")
        assert [seen[own.start() - 40 : own.end() + 40] for own in FILE_WORDS.finditer(seen)] == []


def test_every_sheet_opens_and_nothing_is_written(bench: Wire) -> None:
    before = {own: own.read_bytes() for own in bench.folder.path.rglob("*") if own.is_file()}
    text = asked(bench, f"{WINKLE}/sheets", state="as found")
    names = re.findall(r'<a href="(sheet/[^"]*)&wait=yes"', text)
    kinds = [re.match(r"sheet/([\w-]+)", name) for name in names]
    assert [kind[1] for kind in kinds if kind] == [
        "report", "measuring", "readings", "pins", "job-cards", "card",
    ]  # fmt: skip
    for name in names:
        own = bench.ask(f"e/{WINKLE}/{name}")
        assert own.code == 200, own.text
        policy = own.headers["content-security-policy"]
        assert "frame-ancestors 'none'" in policy
        assert "unsafe" not in policy
        if own.headers["content-type"].startswith("text/html"):
            assert "default-src 'none'; style-src 'sha256-" in policy
            assert not re.search(r"<script|\sstyle=|\son\w+=", re.sub(r"data:[^\"]*", "", own.text))
        else:
            assert own.body.startswith(b"%PDF")
    assert {own: own.read_bytes() for own in bench.folder.path.rglob("*") if own.is_file()} == before
    assert "job-cards" not in asked(bench, f"{DOCK}/sheets")
