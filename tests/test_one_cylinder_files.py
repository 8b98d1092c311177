"""An engine file of one cylinder alone: what files, options, the library and the bench may say of its one side."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest

import linkmotion as lm
from linkmotion.files.engine_file import parse_engine, read_engine
from linkmotion.files.faults import FileError
from linkmotion.files.starter import starter
from linkmotion.gears import GEARS
from tests.bad_engines.changed import EXAMPLES, METRE
from tests.bad_engines.command import Command, assert_refused
from tests.bench_at import Wire, laid_out, on_the_wire
from tests.one_cylinder import EXAMPLE, NAME, SHOP, STATES, engine_with_shop, readings_beside, seen, true_of_one

engine = pytest.fixture(name="engine")(engine_with_shop)
readings = pytest.fixture(name="readings")(readings_beside)


# ---- what a file may say --------------------------------------------------------------------------------------------


def test_a_state_may_name_the_cylinder_or_say_both() -> None:
    named = parse_engine(EXAMPLE.read_text("utf-8").replace(".both.", ".middle."))
    plain = read_engine(EXAMPLE)
    for state in STATES:
        assert named.gear(state) == plain.gear(state, "middle")
        assert named.condition(state) == plain.condition(state)
    assert plain.sides == ("middle",)
    later = parse_engine(EXAMPLE.read_text("utf-8") + '\n[state."as found".middle.left_eccentric_rod]\nlength = 1085\n')
    assert later.gear("as found").left_eccentric_rod.length == 1085.0  # type: ignore[attr-defined]


STRAY = [
    ('\n[state."as found".left.valve]\nsteam_lap = 29\n', 'state."as found".left', "write middle, or both"),
    ("\n[state.x.right.wear]\naxle_height = 1\n", "state.x.right", "write middle, or both"),
    (SHOP.replace(".middle.wear", ".right.wear"), 'repair."bush the levers".right', "write middle, or both"),
]


@pytest.mark.parametrize(("more", "key", "remedy"), STRAY)
def test_a_side_that_it_has_not_is_refused_with_key_and_remedy(
    more: str, key: str, remedy: str, tmp_path: Path, linkmotion: Command
) -> None:
    file = tmp_path / "engine.toml"
    text = EXAMPLE.read_text("utf-8") + more
    file.write_text(text, encoding="utf-8")
    run = linkmotion("check", file, "--tables")
    assert_refused(run, file)
    line = next(n for n, own in enumerate(text.splitlines(), 1) if own.startswith(f"[{key}"))
    assert f"line {line}: {key}: there is no side" in run.err
    assert run.err.endswith(f"  {remedy}\n")


def test_a_target_between_sides_is_refused(tmp_path: Path, linkmotion: Command) -> None:
    file = tmp_path / "engine.toml"
    file.write_text(EXAMPLE.read_text("utf-8").replace("[targets]", "[targets]\nside_lead_difference = 1"), "utf-8")
    run = linkmotion("check", file, "--tables")
    assert_refused(run, file)
    assert "targets.side_lead_difference: a target between sides" in run.err
    assert not any("side" in row["target"] for row in lm.read_engine(EXAMPLE).targets.rows())


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [("read.toml", "[middle]", "[left]"), ("read.csv", "middle,", "right,"), ("read.csv", "middle,", "port,")],
)
def test_readings_of_a_side_that_it_has_not_are_refused(
    name: str, old: str, new: str, engine: Path, readings: Path, linkmotion: Command
) -> None:
    text = readings.read_text("utf-8")
    if name.endswith(".csv"):
        text = "state,as found\nunit,mm\nwithin,0.1\nside,notch,kind,front,back\nmiddle,mid,lead,3.4,3.4\n"
    file = readings.with_name(f"wrong-{name}")
    file.write_text(text.replace(old, new), encoding="utf-8")
    run = linkmotion("diagnose", engine, file)
    assert_refused(run, file)
    assert "side" in run.err
    assert "middle" in run.err.splitlines()[1]


def test_a_state_of_two_sides_has_no_middle(tmp_path: Path, linkmotion: Command) -> None:
    file = tmp_path / "engine.toml"
    file.write_text(METRE + "\n[state.x.middle.valve]\nsteam_lap = 20\n", encoding="utf-8")
    run = linkmotion("check", file, "--tables")
    assert_refused(run, file)
    assert "known here: left, right, both" in run.err


ONE_SIDE = {"hold": (), "tram": ("--out-by", "0.5°"), "card": (), "cleanup": ("--state", "as found")}
SEVERAL = {
    "check": (), "wear": ("--state", "as found"), "form": ("FORM.toml",), "diagnose": ("READINGS",), "adjust": (),
    "reconcile": ("--state", "as found"),
}  # fmt: skip


@pytest.mark.parametrize("command", [*ONE_SIDE, *SEVERAL])
def test_a_side_on_the_command_line_is_one_of_the_file_s_own(
    command: str, engine: Path, readings: Path, tmp_path: Path, linkmotion: Command
) -> None:
    there = {"FORM.toml": str(tmp_path / "form.toml"), "READINGS": str(readings)}
    words = [there.get(word, word) for word in (ONE_SIDE | SEVERAL)[command]]
    for side, remedy in (("left", "write middle, or both"), ("midle", "did you mean 'middle'?")):
        run = linkmotion(command, engine, *words, "--side", side)
        assert_refused(run, engine)
        assert f"--side: there is no side {side!r}" in run.err
        assert run.err.endswith(f"  {remedy}\n")


def test_the_cylinder_s_name_and_both_mean_the_same(engine: Path, linkmotion: Command) -> None:
    runs = {linkmotion("check", engine, "--tables", "--side", side).out for side in ("middle", "both")}
    assert len(runs | {linkmotion("check", engine, "--tables").out}) == 1
    refused = linkmotion("cleanup", EXAMPLES / "dock_shunter.toml", "--state", "as found", "--side", "both")
    assert (refused.code, refused.out) == (2, "")
    assert "--side: a sheet is for one slot\n  give --side left or --side right" in refused.err


def test_a_starter_file_of_it_names_no_left_and_right_side() -> None:
    text = true_of_one(starter("derived valve", "mm"))
    assert '[state."as found".middle.' in text
    assert '[repair."bush the middle cylinder".middle.wear]' in text
    assert "side_lead_difference" not in text
    assert '[state."as found".left.' in starter("walschaerts", "mm")


# ---- the library ----------------------------------------------------------------------------------------------------


def test_the_library_names_the_side_that_there_is() -> None:
    engine = lm.read_engine(EXAMPLE)
    found = engine["as found"]
    assert found.sides == ("middle",)
    assert found["middle"].name == "middle"
    assert "middle cylinder" in found["middle"].events().title
    assert {row["side"] for row in found.events().rows()} == {"middle"}
    advice = lm.advise(engine, state="as found", sides=("middle",))
    assert [own.side for own in advice.foreseen] == ["middle"]
    longer = engine.edit("left_eccentric_rod.length", 1083, "tried", "middle")
    assert longer["tried"]["middle"].dimension("left_eccentric_rod.length") == 1083.0
    assert lm.read_engine(EXAMPLES / "dock_shunter.toml")["drawing"].sides == ("left", "right")


@pytest.mark.parametrize(
    "ask",
    [
        lambda engine: engine["as found"].left,
        lambda engine: engine["as found"]["right"],
        lambda engine: engine.edit("valve.steam_lap", 30, "x", "left"),
        lambda engine: lm.advise(engine, sides=("left",)),
        lambda engine: lm.reconcile(engine, state="as found", side="right"),
    ],
)
def test_the_library_says_what_to_ask_for_instead(ask: Callable[[lm.Engine], Any]) -> None:
    engine = lm.read_engine(EXAMPLE)
    with pytest.raises(
        lm.UnknownName, match=r"there is no side '(left|right)': .* of one cylinder alone; write middle"
    ):
        ask(engine)
    with pytest.raises(KeyError, match="no side 'left' of this engine"):
        engine.as_read.gear("as found", "left")


@pytest.mark.parametrize("gear", GEARS)
def test_every_gear_says_what_its_sides_are(gear: str) -> None:
    assert GEARS[gear].sides == (("middle",) if gear == "derived valve" else ("left", "right"))


# ---- the bench ------------------------------------------------------------------------------------------------------


@pytest.fixture
def bench(tmp_path: Path, readings: Path) -> Iterator[Wire]:
    folder = tmp_path / "engines"
    laid_out(folder, NAME)
    (folder / "read.toml").write_text(readings.read_text("utf-8"), encoding="utf-8")
    with on_the_wire(laid_out(folder, NAME)) as own:
        yield own


@pytest.mark.parametrize("screen", ["side", "check", "wear", "read", "hold", "sheets", "carried", "dead_centres"])
def test_no_screen_offers_a_side_to_choose(screen: str, bench: Wire) -> None:
    words = {"readings": "read.toml"} if screen == "read" else {}
    page = bench.ask(f"e/{NAME}/{screen}?{urlencode({'state': 'as found', **words})}")
    assert page.code == 200
    assert '<select name="side">' not in page.text
    assert 'data-choose="side"' not in page.text
    plain = true_of_one(seen(page.text))
    if screen in ("side", "read", "carried"):
        assert "iddle cylinder" in plain


def test_a_figure_is_entered_where_the_state_has_its_own(bench: Wire) -> None:
    wish = {"do": "figure", "seen": bench.seen(NAME), "state": "as found", "side": "both",
            "name": "left_eccentric_rod.length", "value": "1084"}  # fmt: skip
    assert bench.ask(f"e/{NAME}/change", wish).code == 200
    text = (bench.folder.path / f"{NAME}.toml").read_text("utf-8")
    assert '[state."as found".both.left_eccentric_rod]\nlength = 1084\n' in text
    assert read_engine(bench.folder.path / f"{NAME}.toml").gear("as found").left_eccentric_rod.length == 1084.0  # type: ignore[attr-defined]
    refused = bench.ask(f"e/{NAME}/change", wish | {"side": "left", "seen": bench.seen(NAME)})
    assert refused.code != 200
    assert "one cylinder alone" in refused.text


def test_readings_of_sides_are_refused_in_the_file_that_is_read(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="there is no side 'left'"):
        parse_engine(EXAMPLE.read_text("utf-8") + '\n[state."as found".left]\nnote = "x"\n')
