"""An engine file of one cylinder alone: what every command, sheet and page says of it is true of one cylinder.

The example is the middle one of three cylinders, its valve worked from both outside spindles: so left and right stand
in the names of its parts, and of no side.
"""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

import linkmotion as lm
from linkmotion.files.engine_file import read_engine
from linkmotion.studies.assess import assess
from linkmotion.studies.compared import every_compared
from tests.bad_engines.command import Command
from tests.one_cylinder import EXAMPLE, STATES, engine_with_shop, readings_beside, true_of_one, written

engine = pytest.fixture(name="engine")(engine_with_shop)
readings = pytest.fixture(name="readings")(readings_beside)


# ---- words

SAID: dict[str, tuple[str, ...]] = {
    "check": ("--tables", "--all-tables"),
    "wear": ("--notch", "mid", "--moving", "--lost", "--gains"),
    "adjust": (),
    "hold": ("--notch", "mid", "--samples", "200", "--no-search", "--processes", "1", "--shares"),
    "repairs": ("--notch", "mid"),
    "pins": (),
}


TOLD = [(command, state) for command in SAID for state in STATES if (command, state) != ("wear", "drawing")]
"""Of which state each is asked: wear is told against the drawing."""


@pytest.mark.parametrize(("command", "state"), TOLD)
def test_what_a_command_says_is_true_of_one_cylinder(
    command: str, state: str, engine: Path, linkmotion: Command
) -> None:
    run = linkmotion(command, engine, "--state", state, *SAID[command])
    assert run.code in (0, 1), run.err
    true_of_one(run.out)
    if command not in ("hold", "pins", "repairs"):
        assert "middle cylinder" in run.out.replace("No. 31, middle cylinder", "")


@pytest.mark.parametrize("state", STATES)
def test_json_names_the_one_side(state: str, engine: Path, linkmotion: Command) -> None:
    told = json.loads(linkmotion("check", engine, "--state", state, "--json").out)
    assert list(told["derived"][state]) == ["middle"]
    assert {row["side"] for key in ("valves", "events") for row in told[key]} == {"middle"}
    assert {row["side"] for row in told["findings"]} <= {"middle"}
    if state != "drawing":
        worn = json.loads(linkmotion("wear", engine, "--state", state, "--notch", "mid", "--json").out)
        assert [own["side"] for own in worn["sides"]] == ["middle"]
        assert not any("between" in figure for own in worn["sides"][0]["items"] for figure in own["changes"])
        compared = json.loads(linkmotion("compare", engine, "--state", "drawing", "--state", state, "--json").out)
        assert {row["side"] for row in compared["rows"]} == {"middle"}
    found = json.loads(linkmotion("adjust", engine, "--state", state, "--json").out)
    assert {own["side"] for own in found["sides"]} == {"middle"}


def test_states_side_by_side_are_told_in_one_table_that_marks_no_sides(engine: Path, linkmotion: Command) -> None:
    run = linkmotion("compare", engine, *(word for state in STATES for word in ("--state", state)), "--more")
    assert run.code == 0
    assert run.out.count("middle cylinder") == 3  # a head for each table
    assert "≠" not in true_of_one(run.out)
    refused = linkmotion("compare", engine, "--swap", "left_eccentric_rod")
    assert (refused.code, refused.out) == (2, "")
    assert refused.err.startswith("--swap: parts change between sides, and the engine file is of one cylinder alone")


def test_readings_of_it_are_asked_for_read_and_explained(
    engine: Path, readings: Path, tmp_path: Path, linkmotion: Command
) -> None:
    sheet, phone, form = (tmp_path / name for name in ("sheet.html", "phone.html", "form.csv"))
    run = linkmotion("form", engine, form, "--sheet", sheet, "--phone", phone)
    assert run.code == 0
    assert "Readings, middle cylinder" in true_of_one(written(sheet))
    true_of_one(written(phone))
    assert "[middle]" in phone.read_text("utf-8")
    assert "middle,mid,,lead" in form.read_text("utf-8")
    told = linkmotion("diagnose", engine, readings)
    assert told.code == 1
    assert told.out.startswith("middle cylinder: ")
    true_of_one(told.out)
    read = linkmotion("adjust", engine, readings)
    assert "middle cylinder" in true_of_one(read.out)
    back = linkmotion("carried", engine, readings, "--beside", readings)
    assert "0 that contradict" in true_of_one(back.out)
    assert json.loads(linkmotion("diagnose", engine, readings, "--json").out)["sides"][0]["side"] == "middle"
    assert lm.diagnose(lm.read_engine(engine), lm.read_readings(readings))["middle"].side.side == "middle"
    trammed = linkmotion("tram", engine, "--out-by", "0.5°")
    assert "drawing, middle cylinder" in true_of_one(trammed.out)


def test_pages_of_it_know_one_cylinder(engine: Path, tmp_path: Path, linkmotion: Command) -> None:
    page, sheets = tmp_path / "moving.html", tmp_path / "sheets.html"
    assert linkmotion("page", engine, "--state", "as found", "--into", page).code == 0
    data = page.read_text("utf-8")
    assert '"sides":["middle"]' in data
    assert '"whose":"middle cylinder"' in data
    assert linkmotion("measure", engine, "--state", "as found", "--into", sheets).code == 0
    heads = re.findall(r'<th class="box">(\w+)</th>', sheets.read_text("utf-8"))
    assert {"drawn", "found"} <= set(heads)
    assert not {"left", "right"} & set(heads)
    true_of_one(written(sheets))
    into = tmp_path / "report"
    assert linkmotion("check", engine, "--state", "as found", "--notch", "mid", "--into", into).code == 1
    told = true_of_one(written(into / "report.html"))
    assert "≠" not in told
    assert not list((into / "report-plots").glob("*left*"))


def test_the_record_tells_its_figures_once(engine: Path, linkmotion: Command) -> None:
    head = '[state."as found".both.left_eccentric_rod]\n'
    dated = f'{head}by = "A. Fitter"\non = 2026-03-01\n'
    engine.write_text(engine.read_text(encoding="utf-8").replace(head, dated), encoding="utf-8")
    run = linkmotion("history", engine, "--look")
    assert "as found, middle cylinder, left eccentric rod" in true_of_one(run.out)
    told = json.loads(linkmotion("history", engine, "--look", "--json").out)
    (own,) = [entry for entry in told["entries"] if entry["by"] == "A. Fitter"]
    assert (own["side"], [figure["side"] for figure in own["figures"]]) == ("middle", ["middle"])


# ---- what is counted


def test_targets_are_counted_once(engine: Path, linkmotion: Command) -> None:
    """In six notches, of which one is looked at in both directions, leads and cutoffs are held between the ends."""
    places = 7
    told = linkmotion("adjust", engine, "--state", "as found").out
    assert f" of {2 * places} targets of lead and cutoff" in told.partition("\n")[0]
    compared = list(every_compared(assess(read_engine(EXAMPLE), "as found")))
    assert len(compared) == 2 * places + 1  # and lost motion
    assert {side for own in compared for side, _figure, _sign in own.figures} == {"middle"}
    of_engines = json.loads(linkmotion("hold", engine, *SAID["hold"], "--json").out)
    assert len(of_engines["targets"]) == 4
    assert {row["between"] for row in of_engines["targets"]} == {"ends"}
