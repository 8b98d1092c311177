"""The bench's screens of work at the engine: marks, readings, what is wrong, how it is set, the record."""

from __future__ import annotations

import contextlib
import html
import json
import random
import re
import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, quote

import pytest
from typer.testing import CliRunner

from linkmotion.cli import app
from linkmotion.files.engine_file import read_engine
from linkmotion.files.readings_file import read_readings
from linkmotion.studies.setting.tram_marks import TURNED
from tests.bench_at import DOCK, EXAMPLES, Wire, laid_out, on_the_wire
from tests.printed_rows import in_order, rows_of

WINKLE = "winkle"
MID: dict[str, Any] = {
    "do": "reading",
    "side": "left",
    "notch": "mid",
    "kind": "lead",
    "direction": "",
    "at": None,
    "number": 0,
}


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Wire]:
    """A bench on a copy of the example's folder: engine, readings, marks, photographs."""
    shutil.copytree(EXAMPLES / WINKLE, tmp_path / "engines")
    with on_the_wire(laid_out(tmp_path / "engines")) as own:
        yield own


def take(bench: Wire, screen: str, **wish: Any) -> Any:
    return bench.ask(f"e/{WINKLE}/{screen}/take", wish)


def shown(bench: Wire, screen: str, query: str = "") -> str:
    """A screen's answer as text, rows of tables on lines of their own."""
    text = bench.ask(f"e/{WINKLE}/{screen}?{query}").text
    text = re.sub(r"<style>.*?</style>|<select.*?</select>", "", text, flags=re.DOTALL)
    text = re.sub(r"</(tr|p|li|h1|h2|caption)>|<br>", "\n", text)
    lines = (" ".join(re.sub(r"<[^>]+>", " ", line).split()) for line in text.split("\n"))
    return html.unescape("\n".join(lines))


def command(bench: Wire, name: str, *more: str) -> str:
    """What a command prints, in lines as long as they come."""
    with contextlib.chdir(bench.folder.path):
        ran = CliRunner().invoke(app, [name, f"{WINKLE}.toml", *more])
    assert ran.exit_code in (0, 1), ran.output
    return ran.stdout


@pytest.mark.parametrize(
    ("screen", "name", "file"),
    [("diagnosis/answer", "diagnose", "readings.toml"), ("setting/answer", "adjust", "readings.toml"),
     ("dead_centres", "tram", "marks.toml")],
)  # fmt: skip
def test_a_screen_answers_with_the_figures_of_its_command(bench: Wire, screen: str, name: str, file: str) -> None:
    printed, page = command(bench, name, file), shown(bench, screen, "state=drawing")
    answer = printed.split("\n", 1)[0]
    assert answer[:1].upper() + answer[1:] in page
    own = rows_of(printed)
    assert len(own) > 6
    lines = [re.sub(r"(?<=[±]) ", "", line).split() for line in page.splitlines()]
    for row in own:
        assert any(in_order(row, line) for line in lines), row


def test_what_is_typed_stands_in_a_plain_file_that_the_commands_read(bench: Wire) -> None:
    begun = take(bench, "read", do="begin", state="as found").read
    name = bench.folder.path / begun["to"].split("=")[1].replace("+", " ")
    assert name.name.startswith("winkle readings 20")
    at = {"file": name.name}
    for box, value in (("front", "1/32 in"), ("back", "4.1 mm")):
        told = take(bench, "read", **MID, **at, box=box, value=value, was="").read
        assert told["ok"], told
        assert "how near was it read?" in told["status"]
    told = take(bench, "read", do="head", name="within", value="0.1 mm", seen=told["version"], **at).read
    assert "2 of the left side, 0 of the right side. They can be used as they are." in told["status"]
    take(bench, "read", do="another", side="left", kind="lost motion", notch="mid", direction="forward", box="reads",
         at="90", value="30 thou", **at)  # fmt: skip
    found = read_readings(name, read_engine(bench.folder.path / "winkle.toml"))
    assert found.state == "as found"
    assert [(own.kind, own.end, own.at) for own in found.readings] == [
        ("lead", "front", None), ("lead", "back", None), ("lost motion", "", 90),
    ]  # fmt: skip
    assert [own.value for own in found.readings] == pytest.approx([25.4 / 32, 4.1, 0.03 * 25.4], abs=1e-9)
    page = bench.ask(f"e/{WINKLE}/read?side=left&readings={quote(name.name)}").text
    assert 'value="1/32 in"' in page
    assert 'value="30 thou"' in page, "a reading that is not asked for has its field too"


@pytest.mark.parametrize(
    ("kind", "value", "told"),
    [
        ("lead", "1/0 in", "1/0"),
        ("lead", "76 %", "a lead is a length"),
        ("cutoff", "76", "of what?"),
        ("lead", "{ x = 1 }", "What stands in brackets says nothing"),
        ("lead", "<b>", "&lt;b&gt;"),
        ("lead", "nan", "nan"),
        ("lead", "1e400", "too large"),
        ("lead", "a\x00b", "a"),
    ],
)
def test_a_reading_that_cannot_be_is_told_at_its_field_and_nothing_is_written(
    bench: Wire, kind: str, value: str, told: str
) -> None:
    before = (bench.folder.path / "readings.toml").read_bytes()
    direction = "forward" if kind == "cutoff" else ""
    wish = MID | {"kind": kind, "direction": direction, "file": "readings.toml", "box": "back", "value": value}
    was = "" if kind == "cutoff" else "0.165"
    answer = take(bench, "read", **wish, was=was)
    assert answer.code == 422
    assert html.unescape(told) in answer.read["said"]
    assert (bench.folder.path / "readings.toml").read_bytes() == before


def test_two_windows_keep_both_or_the_second_is_told(bench: Wire) -> None:
    file = bench.folder.path / "readings.toml"
    first = file.read_text("utf-8")
    own = {**MID, "file": file.name}
    assert take(bench, "read", **own, box="front", value="0.03", was="0.028").code == 200
    assert take(bench, "read", **own, box="back", value="0.17", was="0.165").code == 200
    late = take(bench, "read", **own, box="front", value="0.04", was="0.028")
    assert late.code == 409
    assert "0.03" in late.read["said"]
    assert late.read["elsewhere"] is True
    tables = tomllib.loads(file.read_text("utf-8"))
    row = next(each for each in tables["left"]["readings"] if each["notch"] == "mid" and each["kind"] == "lead")
    assert (row["front"], row["back"]) == (0.03, 0.17)
    assert [line for line in first.splitlines() if "#" in line] == [
        line for line in file.read_text("utf-8").splitlines() if "#" in line
    ], "remarks stay"
    for _ in range(2):
        version = bench.ask(f"e/{WINKLE}/seen?file=readings.toml").read["version"]
        assert bench.ask(f"e/{WINKLE}/change", {"do": "undo", "seen": version, "file": file.name}).code == 200
    assert file.read_text("utf-8") == first
    assert bench.seen(WINKLE) == 0, "the engine's own file has not been touched"


def test_a_form_is_filled_in_and_its_blanks_taken_out(bench: Wire) -> None:
    command(bench, "form", "walk.toml")
    page = bench.ask(f"e/{WINKLE}/read?readings=walk.toml").text
    assert "Take out what was not read" in page
    assert 'value="?"' not in page, "a blank is an empty field"
    own = {**MID, "file": "walk.toml", "was": ""}
    told = take(bench, "read", **own, box="front", value="0.03").read
    told = take(bench, "read", do="head", name="within", value="4 thou", seen=told["version"], file="walk.toml").read
    told = take(bench, "read", do="blanks", seen=told["version"], file="walk.toml").read
    assert "They can be used as they are" in told["status"]
    found = read_readings(bench.folder.path / "walk.toml", read_engine(bench.folder.path / "winkle.toml"))
    assert [(each.notch, each.end) for each in found.readings] == [("mid", "front")]


def test_marks_typed_give_the_dead_centres_and_the_readings_their_doubt(bench: Wire) -> None:
    (bench.folder.path / "marks.toml").rename(bench.folder.path.parent / "marks.toml")
    wanted = tomllib.loads((bench.folder.path.parent / "marks.toml").read_text("utf-8"))
    name = take(bench, "dead_centres", do="begin").read["to"].split("=")[1].replace("+", " ")
    told: dict[str, Any] = {"version": 0}
    for key, value in wanted["tram"].items():
        told = take(bench, "dead_centres", do="head", file=name, name=key, value=value, seen=told["version"]).read
    for number, pair in enumerate(wanted["pair"]):
        for which, value in enumerate(pair["marks"]):
            own = {"number": number, "which": str(which), "value": value, "was": ""}
            told = take(bench, "dead_centres", do="mark", file=name, state="drawing", side="left", **own).read
            assert told["ok"], told
    shutil.move(bench.folder.path.parent / "marks.toml", bench.folder.path / "marks.toml")
    answer = command(bench, "tram", "marks.toml").split("\n", 1)[0]
    assert answer in told["status"]
    into = {"file": name, "readings": "readings.toml", "state": "drawing", "side": "left"}
    assert take(bench, "dead_centres", do="into readings", **into).code == 200
    found = read_readings(bench.folder.path / "readings.toml", read_engine(bench.folder.path / "winkle.toml"))
    assert found.method("left").dead_centres == pytest.approx({"front": 0.056, "back": 0.078}, abs=1e-9)


def test_it_is_said_of_each_pair_of_marks_how_the_wheel_was_turned(bench: Wire) -> None:
    name = take(bench, "dead_centres", do="begin").read["to"].split("=")[1].replace("+", " ")
    assert take(bench, "dead_centres", do="pair", file=name, seen=0).code == 200
    file = bench.folder.path / name
    assert {own["turned"] for own in tomllib.loads(file.read_text("utf-8"))["pair"]} == {"not noted"}
    page = bench.ask(f"e/{WINKLE}/dead_centres?marks={quote(name)}").text
    offered = re.search(r'id="m-pair_1_turned".*?</select>', page)
    assert offered is not None
    assert re.findall(r'<option value="([^"]*)"', offered[0]) == ["not noted", *TURNED]
    wish = {"do": "mark", "file": name, "which": "turned"}
    for number, way in enumerate([*TURNED, "not noted"]):
        assert take(bench, "dead_centres", **wish, number=number, value=way, was="not noted").read["ok"]
    assert [own["turned"] for own in tomllib.loads(file.read_text("utf-8"))["pair"]] == [*TURNED, *["not noted"] * 2]
    before = file.read_bytes()
    for way in ("pushed forward", "", "both ways"):
        assert take(bench, "dead_centres", **wish, number=0, value=way, was="forward").code == 422
    assert file.read_bytes() == before


def test_work_is_ticked_off_for_the_readings_that_asked_for_it(bench: Wire) -> None:
    page = bench.ask(f"e/{WINKLE}/setting/answer").text
    ticks = [json.loads(html.unescape(own)) for own in re.findall(r'data-tick="([^"]*)"', page)]
    assert len(ticks) == 3
    asked = json.loads(command(bench, "adjust", "readings.toml", "--json"))["work"]
    assert [own["work"].split(": ", 1)[1] for own in ticks] == [own["words"] for own in asked]
    told = take(bench, "setting", **ticks[0], on=True).read
    assert "1 piece of work ticked off" in told["status"]
    assert take(bench, "setting", **ticks[1], on=True).code == 200
    assert take(bench, "setting", **ticks[1], on=False).code == 200
    file = bench.folder.path / "winkle setting.toml"
    done = tomllib.loads(file.read_text("utf-8"))["done"]
    assert [(own["work"], own["readings"]) for own in done] == [(ticks[0]["work"], "readings.toml")]
    page = bench.ask(f"e/{WINKLE}/setting/answer").text
    assert page.count(" checked") == 1
    take(bench, "read", **MID, file="readings.toml", box="front", value="0.05", was="0.028")
    page = bench.ask(f"e/{WINKLE}/setting/answer").text
    assert " checked" not in page, "what is read anew asks for its own work"
    assert "Done before, by other readings" in page
    assert "Set, as ticked off" in bench.ask(f"e/{WINKLE}/record").text


@pytest.mark.parametrize("choice", ["equal leads", "equal cutoffs", "least work"])
def test_each_choice_is_the_commands(bench: Wire, choice: str) -> None:
    page = bench.ask(f"e/{WINKLE}/setting/answer?choice={quote(choice)}").text
    ticks = [json.loads(html.unescape(own)) for own in re.findall(r'data-tick="([^"]*)"', page)]
    asked = json.loads(command(bench, "adjust", "readings.toml", "--choice", choice, "--json"))["work"]
    assert [own["work"].split(": ", 1)[1] for own in ticks] == [own["words"] for own in asked]
    assert "--" not in page, "what to type next is no word for a page"


def test_the_sheet_prints_what_is_chosen_of_the_folders_own_readings(bench: Wire) -> None:
    page = bench.ask(f"e/{WINKLE}/setting/answer?choice=least+work&readings=..%2Fwinkle.toml").text
    found = re.search(r'href="[^"]*(setting/sheet[^"]*)"', page)
    assert found is not None
    asked = dict(parse_qsl(html.unescape(found[1]).partition("?")[2]))
    assert (asked["choice"], asked["readings"]) == ("least work", "readings.toml")
    sheet = bench.ask(f"e/{WINKLE}/{html.unescape(found[1]).removesuffix('&wait=yes')}")
    command(bench, "adjust", "readings.toml", "--choice", "least work", "--sheet", "least.html")
    written = (bench.folder.path / "least.html").read_text("utf-8")
    assert written[written.index("<body>") : written.index("</body>")] in sheet.text
    assert bench.ask(f"e/{WINKLE}/sheet/setting").code == 404, "it opens in one place"


def test_sheets_are_those_that_the_commands_write(bench: Wire) -> None:
    command(bench, "adjust", "readings.toml", "--sheet", "setting.html")
    command(bench, "history", "--look", "--dossier", "dossier.html")
    for screen, file in (("setting", "setting.html"), ("record", "dossier.html")):
        answer = bench.ask(f"e/{WINKLE}/{screen}/sheet")
        assert answer.code == 200
        written = (bench.folder.path / file).read_text("utf-8")
        body = written[written.index("<body>") : written.index("</body>")]
        assert body in answer.text
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
    assert bench.ask(f"e/{WINKLE}/check/sheet").code == 404


def test_only_photographs_of_the_folder_are_shown(bench: Wire) -> None:
    page = bench.ask(f"e/{WINKLE}/record").text
    names = re.findall(r'src="[^"]*photograph\?name=([^"]+)"', page)
    assert names == ["photos/gear-before-stripping.png", "photos/fork-stamp.png"]
    answer = bench.ask(f"e/{WINKLE}/photograph?name={names[0]}")
    assert answer.code == 200
    assert answer.headers["content-type"].startswith("image/")
    secret = bench.folder.path.parent / "secret.png"
    shutil.copy(bench.folder.path / names[0], secret)
    (bench.folder.path / "photos" / "linked.png").symlink_to(secret)
    for name in ("../secret.png", str(secret), "photos/linked.png", "winkle.toml", "", "photos", "%00", "photos/../x"):
        assert bench.ask(f"e/{WINKLE}/photograph?name={quote(name)}").code == 404, name


def test_the_record_is_looked_at_and_only_on_request_added_to(bench: Wire) -> None:
    record = bench.folder.path / "winkle.recorded.toml"
    record.unlink()
    assert "Not recorded yet" in bench.ask(f"e/{WINKLE}/record").text
    assert not record.exists(), "looking writes nothing"
    assert take(bench, "record", do="record").code == 200
    assert record.exists()
    assert "Not recorded yet" not in bench.ask(f"e/{WINKLE}/record").text


@pytest.mark.parametrize("name", ["winkle.toml", f"{DOCK}.toml", "winkle.recorded.toml", "../x.toml", "earlier/x.toml"])
def test_only_files_of_their_kind_are_written(bench: Wire, name: str) -> None:
    before = {own: own.read_bytes() for own in bench.folder.path.iterdir() if own.is_file()}
    assert take(bench, "read", **MID, file=name, box="front", value="0.03", was="").code == 422
    assert take(bench, "read", do="head", file=name, name="within", value="0.1", seen=0).code == 422
    assert bench.ask(f"e/{WINKLE}/change", {"do": "undo", "seen": 0, "file": name}).code == 422
    assert bench.ask(f"e/{WINKLE}/seen?file={quote(name)}").code == 404
    assert {own: own.read_bytes() for own in bench.folder.path.iterdir() if own.is_file()} == before


def test_wishes_made_wrong_at_random_are_answered_cleanly(bench: Wire) -> None:
    rng = random.Random(5)
    before = {own: own.read_bytes() for own in bench.folder.path.iterdir() if own.is_file()}
    values: list[Any] = [None, True, -1, 2**70, 1e308, "", "x" * 500, [], {}, "\0", 0, float("1e-320")]
    values += ["readings.toml", "marks.toml", "mid", "left", "<b>", "front", "0", "lead", "../x", "reading", "nan"]
    words = "do file seen state side name value was number notch kind direction at box which readings as_read on"
    keys = words.split()
    codes = set()
    for _ in range(400):
        wish = {key: rng.choice(values) for key in rng.sample(keys, rng.randrange(len(keys)))}
        dos = ["reading", "head", "another", "blanks", "mark", "pair", "into readings", "tick", *values]
        answer = take(
            bench, rng.choice(["read", "dead_centres", "setting", "record", "check"]), **wish | {"do": rng.choice(dos)}
        )
        assert answer.code < 500, (wish, answer.text)
        codes.add(answer.code)
    assert 422 in codes
    half = {"do": "head", "file": "readings.toml", "name": "note", "value": "\ud800", "seen": 0}
    assert take(bench, "read", **half).code == 400, "half a sign can stand in no file"
    kept = {own: own.read_bytes() for own in before if own.suffix == ".toml" and "readings" not in own.name}
    assert all(before[own] == data for own, data in kept.items() if own.name != "marks.toml")
