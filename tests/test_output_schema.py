"""What the commands answer with ``--json``: every key described, every length in the file's unit, one rounding."""

import csv
import io
import json
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from typer.testing import CliRunner

from linkmotion.cli.app import app
from linkmotion.commands import input as asked
from linkmotion.engine import Engine
from linkmotion.files import engine_file
from linkmotion.files.results import in_unit
from linkmotion.studies.row_figures import Length, PerLength

ROOT = Path(__file__).parents[1]
SCHEMA = json.loads((ROOT / "linkmotion" / "files" / "output_schema.json").read_text(encoding="utf-8"))
DEFS = SCHEMA["$defs"]
COMMANDS = [one["$ref"].rpartition("/")[2] for one in SCHEMA["oneOf"]]
EXAMPLES = ROOT / "examples"
DOCK, GAUGE, GOODS, DONKEY, ALLAN = (
    str(EXAMPLES / f"{name}.toml")
    for name in ("dock_shunter", "metre_gauge", "stephenson_goods", "donkey_eccentric", "allan_saddle_tank")
)
WINKLE = str(EXAMPLES / "winkle")
READ = EXAMPLES / "readings"
TRACED = str(EXAMPLES / "pictures" / "dock_arrangement-picks.toml")
ASKED = {
    "check": ([DOCK, "--state", "as found"], [DONKEY]),
    "wear": ([DOCK, "--state", "as found", "--notch", "mid"], [GAUGE, "--state", "as found", "--notch", "mid"]),
    "compare": ([DOCK, "--state", "drawing", "--state", "as found"], [GAUGE, "--swap", "radius_rod"]),
    "hold": ([DOCK, "--notch", "mid", "--samples", "300"], [DONKEY, "--samples", "200"]),
    "cleanup": ([DOCK, "--state", "as found"], [DOCK, "--state", "as found", "--side", "right", "--readings",
                                                str(READ / "dock_shunter-right-slot.csv")],
                [ALLAN, "--state", "link out"]),
    "bush": (["--seat", "40", "--housing-outside", "80", "--bore", "30", "--length", "40", "--freezer", "-18"],
             ["--seat", "1.75", "--housing-outside", "3.25", "--bore", "1.25", "--length", "1.5", "--unit", "in"]),
    "tram": ([DOCK, str(READ / "dock_shunter-marks.toml")], [GAUGE, "--out-by", "0.5°"]),
    "carried": ([DOCK, str(READ / "dock_shunter.toml"), "--beside", str(READ / "dock_shunter.toml")],
                [DOCK, str(READ / "dock_shunter-marks.toml")]),
    "diagnose": ([DOCK, str(READ / "dock_shunter.toml")], [GOODS, str(READ / "stephenson_goods.toml")]),
    "adjust": ([DOCK, str(READ / "dock_shunter.toml")], [GOODS, str(READ / "stephenson_goods.toml")]),
    "reconcile": ([str(EXAMPLES / "dock_sister.toml"), str(READ / "dock_sister-trammel.toml"), "--side", "left"],
                  [GAUGE, "--state", "as found"]),
    "beats": ([DOCK, "--state", "as found"], [DONKEY]),
    "diagram": ([DOCK, "--notch", "mid", "--bore", "14 in", "--speed", "60 rpm"], [DONKEY]),
    "page": ([DONKEY, "--into", "page.html"], [GAUGE, "--into", "page.html"]),
    "card": ([DONKEY, "--into", "card.pdf"], [GAUGE, "--into", "card.pdf"]),
    "bench": ([str(Path(DONKEY).parent)], ["."]),
    "history": ([WINKLE, "--since", "2026-01-01"], [DOCK, "--part", "eccentric_rod"]),
    "repairs": ([WINKLE, "--state", "as found", "--notch", "mid", "--hours", "39"],
                [WINKLE, "--state", "as found", "--notch", "mid", "--hours", "0"]),
    "trace": ([str(EXAMPLES / "dock_sister.toml"), TRACED], [DOCK, TRACED]),
    "pins": ([WINKLE, "--state", "as found"], [WINKLE]),
}  # fmt: skip


MARKS = """\
[tram]
tyre_diameter = "54 in"
mark = "0.01 in"
play = "0.02 in"

[[pair]]
end = "front"
marks = ["3.25 in", "14.65 in"]
turned = "forward"
"""  # in units of their own, whatever the engine's


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Files are written into a folder of their own, and nothing is served."""

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("linkmotion.bench.serving.serve", lambda _folder, _port, tell: tell("http://127.0.0.1:1/"))
    monkeypatch.setattr("linkmotion.bench.opening.ready", lambda _folder: None)
    monkeypatch.setattr("webbrowser.open", lambda _address: True)


def answer(command: str, wishes: list[str]) -> Any:
    ran = CliRunner().invoke(app, [command, *wishes, "--json"], catch_exceptions=False)
    assert ran.exit_code in (0, 1), ran.output
    return json.loads(ran.output)


@cache
def answered(command: str, example: int) -> Any:
    return answer(command, ASKED[command][example])


@pytest.mark.parametrize(("command", "example"), [(name, i) for name in COMMANDS for i in range(len(ASKED[name]))])
def test_every_answer_has_the_head_and_the_keys_of_the_schema_and_no_others(command: str, example: int) -> None:
    told = answered(command, example)
    jsonschema.Draft202012Validator({"$ref": f"#/$defs/{command}", "$defs": DEFS}).validate(told)
    assert list(told)[:3] == ["linkmotion", "command", "unit"]
    assert told["command"] == command
    for _kind, value in figures(told, DEFS[command], told):
        assert value is None or value == round(value, 6)


def test_the_schema_describes_every_key_of_every_command_that_has_json() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    with_json = {
        command.callback.__name__  # type: ignore[union-attr]
        for command in app.registered_commands
        if "json" in command.callback.__annotations__
    }
    assert with_json == set(COMMANDS) == set(ASKED)
    for node in objects(SCHEMA):
        if node.get("type") == "object":
            assert "additionalProperties" in node
            assert all(key.get("description") for key in node.get("properties", {}).values()), node


def test_a_new_key_that_is_not_described_is_refused() -> None:
    validator = jsonschema.Draft202012Validator({"$ref": "#/$defs/check", "$defs": DEFS})
    told = json.loads(json.dumps(answered("check", 1)))
    told["events"][0]["novelty"] = 1
    assert [error.validator for error in validator.iter_errors(told)] == ["additionalProperties"]


@pytest.mark.parametrize("command", ["check", "wear", "compare", "hold", "cleanup", "tram", "beats", "diagram", "card"])
def test_lengths_and_nothing_else_change_with_the_unit(command: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same engine asked in millimetres: every length 25.4 times as many, every other figure as it was."""
    Path("marks.toml").write_text(MARKS, encoding="utf-8")
    wishes = [DOCK, "marks.toml"] if command == "tram" else ASKED[command][0]
    inches = answer(command, wishes) if command == "tram" else answered(command, 0)

    def in_mm(path: Path) -> Engine:
        return replace(engine_file.read_engine(path), unit="mm")

    monkeypatch.setattr(asked, "read_engine", in_mm)
    mm = answer(command, wishes)
    assert (inches["unit"], mm["unit"]) == ("in", "mm")
    lengths = 0
    for (kind, one), (_kind, other) in zip(
        figures(inches, DEFS[command], inches), figures(mm, DEFS[command], mm), strict=True
    ):
        if one is None:
            assert other is None
            continue
        scale = {"length": 25.4, "per_length": 1 / 25.4}.get(kind, 1.0)
        assert abs(one * scale - other) <= 0.51e-6 * (1 + scale), kind
        lengths += kind == "length" and one != 0
    assert lengths > 0 or command in ("beats", "diagram")  # these two tell no lengths


def test_the_writer_marks_no_figure_that_is_none() -> None:
    told = in_unit({"a": Length(25.4), "b": [PerLength(1.0), float("inf"), 1 / 3, -1e-9], "unit": "mm"}, "in")
    assert told == {"a": 1.0, "b": [25.4, None, 0.333333, 0.0], "unit": "in"}


def test_the_csv_has_the_keys_and_figures_of_the_json_with_units_on_lengths() -> None:
    text = CliRunner().invoke(app, ["check", *ASKED["check"][0], "--csv"]).output
    rows = list(csv.DictReader(io.StringIO(text)))
    events = answered("check", 0)["events"]
    kinds = DEFS["check"]["properties"]["events"]["items"]["properties"]
    assert len(rows) == len(events)
    for row, event in zip(rows, events, strict=True):
        for key, value in event.items():
            heading = f"{key} (in)" if kinds[key]["$ref"].startswith("#/$defs/length") else key
            assert row.pop(heading) == ("" if value is None else str(value))
        assert not row


def figures(value: Any, node: Any, row: Any) -> Iterator[tuple[str, Any]]:
    """(kind as the schema has it, figure) of everything that is one."""
    kind = ""
    while "$ref" in node:
        kind = node["$ref"].rpartition("/")[2]
        node = DEFS[kind]
    if isinstance(value, dict):
        for key, each in value.items():
            yield from figures(each, node.get("properties", {}).get(key) or node["additionalProperties"], value)
    elif isinstance(value, list):
        for each in value:
            yield from figures(each, node["items"], row)
    elif value is None or (isinstance(value, float | int) and not isinstance(value, bool)):
        kind = kind.removesuffix("_or_none")
        if kind == "measured":
            kind = "length" if row["unit"] in ("mm", "in", "ft", "thou") else "figure"
        yield kind, value


def objects(node: Any) -> Iterator[dict[str, Any]]:
    """Every object within a schema."""
    if isinstance(node, dict):
        yield node
    for each in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
        yield from objects(each)
