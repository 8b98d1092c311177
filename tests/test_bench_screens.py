"""The bench's screens: each answers with the command's own figures, and its sheets are the command's sheets."""

from __future__ import annotations

import html
import io
import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import ezdxf
import pytest

from linkmotion.bench.folder_of_engines import FolderOfEngines
from linkmotion.commands.bush import BushRequest, run_bush
from linkmotion.commands.cleanup import CleanupRequest, run_cleanup
from linkmotion.commands.compare import CompareRequest, run_compare
from linkmotion.commands.hold import HoldRequest, run_hold
from linkmotion.commands.pins import PinsRequest, run_pins
from linkmotion.commands.repairs import RepairsRequest, run_repairs
from linkmotion.files.engine_file import read_engine
from tests.bench_at import DOCK, EXAMPLES, Answer, Wire, laid_out, on_the_wire

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
    assert "there are no [pins] in this file" in first(asked(bench, f"{DOCK}/pins"))


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


ROWS = [("-4 in", "2 thou", "0.003 in"), ("0", "1 thou", "2 thou"), ("3 in + 1 in", "0.0015", "0.1 mm")]


def enter_slot(bench: Wire, rows: list[tuple[str, str, str]], seen: int = -1, **other: str) -> Answer:
    typed = [dict(zip(("at", "front", "back"), row, strict=True)) for row in rows]
    wish = {"do": "slot", "state": "as found", "side": "right", "rows": typed}
    return bench.ask(f"e/{DOCK}/change", wish | {"seen": bench.seen() if seen < 0 else seen} | other)


def test_readings_typed_along_a_slot_are_in_the_file_and_cleaned_up_as_by_the_command(
    bench: Wire, capsys: Told
) -> None:
    file = bench.folder.path / f"{DOCK}.toml"
    before = file.read_bytes()
    assert "has not been read yet" in first(asked(bench, f"{DOCK}/slot/answer", state="as found", side="right"))
    told = enter_slot(bench, ROWS)
    assert told.code == 200, told.text
    assert told.read["words"] == "as found, right side: slot read at 3 places"
    losses = read_engine(file).condition("as found", "right").slot
    assert [(loss.at, loss.front, loss.back) for loss in losses] == [
        pytest.approx((25.4 * at, 25.4 * front, 25.4 * back), abs=1e-9)
        for at, front, back in ((-4, 0.002, 0.003), (0, 0.001, 0.002), (4, 0.0015, 0.1 / 25.4))
    ]
    text = asked(bench, f"{DOCK}/slot/answer", state="as found", side="right")
    found = by_command(capsys, run_cleanup(CleanupRequest(file, "as found", "right", output="json")))
    best = next(own for own in found["proposals"] if own["proposal"] == found["least_cut"])
    assert f"{best['proposal']}, mean cut {best['cut_mean']:.4f} in" in first(text)
    assert bench.ask(f"e/{DOCK}/change", {"do": "undo", "seen": bench.seen()}).code == 200
    assert file.read_bytes() == before, "with every comment"


def test_a_reading_that_is_none_is_told_at_its_field(bench: Wire) -> None:
    file = bench.folder.path / f"{DOCK}.toml"
    before = file.read_bytes()
    for row, column, value, said in (
        (1, "back", "2 apples", "unknown unit 'apples'"), (0, "front", "30 mm", "is the unit right?"),
        (2, "at", "x", "is not a length"),
    ):  # fmt: skip
        rows = [list(own) for own in ROWS]
        rows[row][("at", "front", "back").index(column)] = value
        told = enter_slot(bench, [(own[0], own[1], own[2]) for own in rows])
        assert told.code == 422
        assert told.read["field"] == f"slot.{row}.{column}"
        assert said in told.read["said"]
    twice = enter_slot(bench, [ROWS[0], ROWS[0]])
    assert twice.code == 422
    assert "two readings at one place" in twice.read["said"]
    assert enter_slot(bench, ROWS, state="drawing").code == 422
    assert enter_slot(bench, ROWS, side="both").code == 422
    assert enter_slot(bench, [("1", "2", "")]).code == 422
    assert enter_slot(bench, [ROWS[0]] * 201).code == 422
    for rows in ([1], [{}], [{"at": 1, "front": 2, "back": 3}], [{"at": "1", "front": "2", "back": "3", "x": "4"}]):
        wish = {"do": "slot", "seen": 0, "state": "as found", "side": "left", "rows": rows}
        assert bench.ask(f"e/{DOCK}/change", wish).code == 422
    assert file.read_bytes() == before


def test_a_second_window_is_told_of_readings_entered_elsewhere(bench: Wire) -> None:
    seen = bench.seen()
    assert enter_slot(bench, ROWS, seen).code == 200
    told = enter_slot(bench, ROWS[:2], seen)
    assert told.code == 409
    assert told.read["elsewhere"] is True
    assert bench.enter("31.6", seen).code == 200, "another figure is another place"


def test_limits_are_entered_and_change_what_is_proposed(bench: Wire, capsys: Told) -> None:
    path = f"{DOCK}/slot/answer"
    assert "worn centre, limited" in first(asked(bench, path, state="as found"))

    def limit(name: str, value: str) -> Answer:
        wish = {"do": "cleanup", "seen": bench.seen(), "name": name, "value": value}
        return bench.ask(f"e/{DOCK}/change", wish)

    for name in ("cleanup.cut_front", "cleanup.cut_back"):
        assert limit(name, "0.020 in").code == 200
    told = by_command(
        capsys, run_cleanup(CleanupRequest(bench.folder.path / f"{DOCK}.toml", "as found", "left", output="json"))
    )
    assert told["least_cut"] == "drawn centre", "the one that keeps the ends within the targets"
    assert "drawn centre, mean cut 0.0056 in" in first(asked(bench, path, state="as found"))
    text = (bench.folder.path / f"{DOCK}.toml").read_text("utf-8")
    assert re.search(r'cut_front = "0.020 in" +# deepest cut this shop will take', text), "the comment stays"
    wrong = limit("cleanup.gauge", "coarse")
    assert wrong.code == 422
    assert wrong.read["field"] == "cleanup.gauge"
    assert limit("cleanup.nothing", "1").code == 422
    assert limit("cleanup.gauge", "").code == 200
    assert "standard uncertainty of one depth reading" in first(asked(bench, path, state="as found"))


def test_the_clean_up_that_is_chosen_is_drawn_and_its_drawings_are_the_commands(bench: Wire, tmp_path: Path) -> None:
    choice = {"state": "as found", "side": "left", "cleanup": "drawn centre"}
    assert "Drawn centre: machining drawing" in asked(bench, f"{DOCK}/slot/answer", **choice)
    before = sorted(own.name for own in bench.folder.path.iterdir())
    query = urlencode(choice)
    dxf, page = (bench.ask(f"e/{DOCK}/sheet/{name}?{query}") for name in ("dxf", "machining"))
    assert sorted(own.name for own in bench.folder.path.iterdir()) == before
    into = tmp_path / "sheets"
    run_cleanup(CleanupRequest(bench.folder.path / f"{DOCK}.toml", "as found", "left", into=into))
    assert dxf.headers["content-disposition"].startswith("attachment; filename*=UTF-8''dock_shunter-left-slot-drawn")
    own = [
        [each.dxf.all_existing_dxf_attribs() | {"handle": "", "owner": "", "kind": each.dxftype()} for each in
         ezdxf.read(io.StringIO(text)).modelspace()]
        for text in (dxf.text, (into / "slot-drawn-centre.dxf").read_text("utf-8"))
    ]  # fmt: skip
    assert own[0] == own[1]
    assert len(own[0]) > 30
    made = (into / "slot-drawn-centre.html").read_text("utf-8")
    tables = r"<table.*?</table>"
    assert re.findall(tables, page.text, re.DOTALL) == re.findall(tables, made, re.DOTALL)


def test_every_sheet_opens_and_nothing_is_written(bench: Wire) -> None:
    before = {own: own.read_bytes() for own in bench.folder.path.rglob("*") if own.is_file()}
    text = asked(bench, f"{WINKLE}/sheets", state="as found")
    names = re.findall(r'<a href="(sheet/[^"]*)"', text)
    kinds = [re.match(r"sheet/([\w-]+)", name) for name in names]
    assert [kind[1] for kind in kinds if kind] == [
        "report", "measuring", "readings", "pins", "job-cards", "card", "setting",
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


@pytest.mark.parametrize("name", ["../winkle.toml", "/etc/passwd", "marks.toml", "none", ""])
def test_readings_are_only_those_of_the_folder(bench: Wire, name: str) -> None:
    own = bench.ask(f"e/{WINKLE}/sheet/setting?{urlencode({'readings': name})}")
    assert own.code == 404
    assert "no such readings" in own.text


def test_a_table_of_readings_in_the_engines_own_folder_serves(tmp_path: Path, capsys: Told) -> None:
    folder = tmp_path / WINKLE
    shutil.copytree(EXAMPLES / WINKLE, folder)
    with on_the_wire(FolderOfEngines(folder)) as own:
        text = asked(own, f"{WINKLE}/slot/answer", state="as found", side="right")
    request = CleanupRequest(folder / f"{WINKLE}.toml", "as found", "right", output="json", home=folder)
    told = by_command(capsys, run_cleanup(request))
    best = next((each for each in told["proposals"] if each["proposal"] == told["least_cut"]), None)
    assert (best["proposal"] if best else "No proposal") in first(text)


def test_a_gear_without_a_slot(tmp_path: Path) -> None:
    with on_the_wire(laid_out(tmp_path / "engines", "donkey_eccentric")) as own:
        assert "no slot in a gear of this kind" in first(asked(own, "donkey_eccentric/slot/answer"))
        assert "machining" not in asked(own, "donkey_eccentric/sheets")
        assert own.ask("e/donkey_eccentric/sheet/machining").code == 404
        assert own.ask("e/donkey_eccentric/sheet/nothing").code == 404
