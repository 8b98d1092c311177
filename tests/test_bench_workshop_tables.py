"""Repairs, pins, tolerances and adjustments typed on the bench: plain keys of the file, the commands' own figures."""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from linkmotion.bench.adjustments_typed import adjustments_of
from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.entering import Wish, carry_out
from linkmotion.bench.folder_of_engines import FolderOfEngines
from linkmotion.bench.kept_file import SinceChanged
from linkmotion.bench.repairs_typed import EXCLUDED, NEEDED, repairs_of
from linkmotion.bench.screens import hold_screen, pins_screen, repairs_screen, setting_screen
from linkmotion.bench.tolerances_typed import tolerances_of
from linkmotion.commands.pins import PinsRequest, schedule
from linkmotion.files.adjustments_table import adjustments_given
from linkmotion.files.engine_file import read_engine
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import figure_at, leaves, read_tables
from linkmotion.files.tolerances_read import tolerances_given
from linkmotion.files.workshop_tables import set_somehow
from linkmotion.gears.keys import key_in_words
from tests.bench_at import DOCK, EXAMPLES, laid_out

INCH = 25.4
GOODS = "stephenson_goods"
AT = {"state": "drawing", "side": "left"}


@pytest.fixture
def work(tmp_path: Path) -> EngineAtWork:
    shutil.copytree(EXAMPLES / "winkle", tmp_path / "own")
    return EngineAtWork(FolderOfEngines(tmp_path / "own"), "winkle")


def wish(work: EngineAtWork, screen: ModuleType, do: str, **rest: Any) -> Mapping[str, Any]:
    told: Mapping[str, Any] = screen.takes(work, {"do": do, "seen": work.kept.version, **rest})
    return told


def typed(work: EngineAtWork, screen: ModuleType, name: str, value: str) -> Mapping[str, Any]:
    return wish(work, screen, "figure", name=name, value=value, **AT)


def comments(text: str) -> list[str]:
    return [line[line.index("#") :] for line in text.split("\n") if "#" in line]


def test_a_repair_is_begun_filled_in_and_taken_out_and_undone(work: EngineAtWork) -> None:
    before = work.kept.text
    wish(work, repairs_screen, "begin", repair="press in new  bushes", what="turn and bush", hours="6.5", state="")
    name = "press in new bushes"
    wish(work, repairs_screen, "together", repair=name, name="strip the motion", value=NEEDED)
    wish(work, repairs_screen, "together", repair=name, name="bush the left side", value=EXCLUDED)
    typed(work, repairs_screen, f'repair."{name}".metal', "2 thou + 0.1 mm")
    typed(work, repairs_screen, f'repair."{name}".cost', "75")
    wish(work, repairs_screen, "sets", repair=name, side="left", figure="wear.clearance.foot", value="3 thou")
    own = read_engine(work.path).repairs[name]
    assert (own.what, own.hours, own.cost) == ("turn and bush", 6.5, 75.0)
    assert own.metal == pytest.approx(0.002 * INCH + 0.1, abs=1e-12)
    assert (own.needs, own.excludes) == (("strip the motion",), ("bush the left side",))
    assert own.wear["left"]["clearance"] == {"foot": pytest.approx(0.003 * INCH, abs=1e-12)}
    assert comments(work.kept.text) == comments(before)
    wish(work, repairs_screen, "gone", name=name)
    assert work.kept.text.rstrip() == before.rstrip()
    for _ in range(7):
        carry_out(work, Wish("undo", work.kept.version))
    assert work.kept.text == before


def test_a_repair_that_leads_to_a_state_or_sets_what_another_does_is_refused_with_the_way_out(
    work: EngineAtWork,
) -> None:
    before = work.kept.text
    with pytest.raises(FileError, match="under Done with it") as found:
        wish(work, repairs_screen, "begin", repair="as it came", what="", hours="1", state="as found")
    assert "is set here and otherwise by" in found.value.problem
    with pytest.raises(FileError, match="must or cannot be done with it"):
        wish(work, repairs_screen, "gone", name="strip the motion")
    with pytest.raises(FileError, match="there is a repair of this name already"):
        wish(work, repairs_screen, "begin", repair="strip the  motion", what="", hours="1")
    with pytest.raises(FileError, match="read 'six'"):
        wish(work, repairs_screen, "begin", repair="other", what="", hours="six")
    assert work.kept.text == before


@pytest.mark.parametrize("name", ['4" pin', "it's.dotted", "Żółw & <b>", "a#b"])
def test_a_repair_of_any_name_stands_in_the_file_and_goes(work: EngineAtWork, name: str) -> None:
    before = work.kept.text
    wish(work, repairs_screen, "begin", repair=name, what='he said "so"', hours="2")
    assert read_engine(work.path).repairs[name].what == 'he said "so"'
    figures = next(own for own in repairs_of(work, work.must()) if own.name == name).figures
    typed(work, repairs_screen, figures[1].name, "3")
    assert read_engine(work.path).repairs[name].hours == 3.0
    wish(work, repairs_screen, "gone", name=name)
    assert read_tables(work.kept.text) == read_tables(before)


def test_every_repair_of_the_file_can_go_and_nothing_else_does(work: EngineAtWork) -> None:
    for own in [own for own in work.must().repairs.values() if own.name != "strip the motion"]:
        for key in (own.excludes, own.needs):
            for other in key:
                wish(work, repairs_screen, "together", repair=own.name, name=other, value="may")
    text = work.kept.text
    for name in work.must().repairs:
        left = {place: own for place, own in leaves(read_tables(text)).items() if place[:2] != ("repair", name)}
        wish(work, repairs_screen, "gone", name=name)
        text = work.kept.text
        assert leaves(read_tables(text)) == left
    assert "# The engine as it came in." in text
    assert repairs_of(work, work.must()) == []


def test_pins_typed_are_the_schedule_of_the_command(work: EngineAtWork) -> None:
    before = work.kept.text
    with pytest.raises(FileError, match="Pin's diameter as drawn: missing"):
        typed(work, pins_screen, 'pins."lift pin".running', "RC5")
    sizes = {"pin": '[ "1.125 in", "1.127 in" ]', "running": "RC4", "bush_outside": "1 1/2 in",
             "housing_outside": "2 1/4", "length": "1 1/4 in", "quantity": "4", "material": "cast iron"}  # fmt: skip
    for key, value in sizes.items():
        typed(work, pins_screen, f'pins."lift pin".{key}', value)
    engine = read_engine(work.path)
    found = {own.pin.name: own.pin for own in schedule(PinsRequest(work.path, "as found"), engine).joints}["lift pin"]
    assert found.size == pytest.approx(1.126 * INCH, abs=1e-9)
    assert (found.inner.name, found.quantity, found.material) == ("RC4", 4, "cast iron")
    assert found.rings is not None
    assert found.rings.outside == pytest.approx(2.25 * INCH, abs=1e-9)
    with pytest.raises(FileError, match="A worn pin is turned to: is more than the pin has"):
        typed(work, pins_screen, 'pins."die pin".pin', "1.3 in")
    for key in reversed(sizes):
        typed(work, pins_screen, f'pins."lift pin".{key}', "")
    assert work.kept.text.split() == before.split(), "the joint's table goes with its last figure"


@pytest.mark.parametrize("name", ["winkle", DOCK, GOODS, "donkey_eccentric", "joy_mixed_traffic", "baker_express"])
def test_tolerances_are_named_and_assumed_as_hold_has_them(tmp_path: Path, name: str) -> None:
    work = EngineAtWork(laid_out(tmp_path, "winkle/winkle" if name == "winkle" else name), name)
    engine = work.must()
    gear = engine.gear()
    held = tolerances_given(engine, gear, set_somehow(gear))
    shown = {own.name: own for part in tolerances_of(work, engine, "drawing", "left").values() for own in part}
    words = {f"{part}: {own.words}".lower() for part, every in tolerances_of(work, engine, "drawing", "left").items()
             for own in every}  # fmt: skip
    for key, own in held.items():
        part, _colon, last = key_in_words(key).partition(": ")
        part = "clearance at the pins, as made" if part == "clearance" else part
        assert f"{part}: {last}".lower() in words
        place = ("tolerances", key[0], *([key[1]] if key[0] == "clearance" else key[1].replace(" ", "_").split(".")))
        given = figure_at(work.document, place) is not None
        found = next((each for each in shown.values() if each.place == place), None)
        assert found is not None, key
        assert ("assumed" in found.more) == (own.assumed and not given)


def test_tolerances_typed_are_those_that_hold_reckons_with(work: EngineAtWork) -> None:
    before = work.kept.text
    told = typed(work, hold_screen, "tolerances.general", "0.2 mm")
    assert told["beside"]["tolerances.radius_rod.length"] == "± 0.0079 in assumed"
    typed(work, hold_screen, "tolerances.return_crank.angle", '{ within = 0.05, distribution = "uniform" }')
    typed(work, hold_screen, "tolerances.clearance.foot", "5 thou")
    typed(work, hold_screen, "tolerances.reversing.arm_angle", "0.02")
    typed(work, hold_screen, "tolerances.valve.steam_lap", "")
    engine = read_engine(work.path)
    held = tolerances_given(engine, engine.gear(), set_somehow(engine.gear()))
    assert held["radius_rod", "length"].within == pytest.approx(0.2, abs=1e-12)
    assert held["valve", "steam_lap"].assumed
    assert (held["return_crank", "angle"].within, held["return_crank", "angle"].distribution) == (0.05, "uniform")
    assert held["clearance", "foot"].within == pytest.approx(0.005 * INCH, abs=1e-12)
    assert held["reversing", "arm angle"].within == 0.02
    assert comments(work.kept.text) == comments(before)
    for value in ("-1", "two apples", "nan"):
        with pytest.raises(FileError):
            typed(work, hold_screen, "tolerances.radius_rod.length", value)
    with pytest.raises(FileError, match="cannot be understood"):
        typed(work, hold_screen, "tolerances.radius_rod.wings", "1")


def test_what_is_usual_written_down_is_what_was_assumed(tmp_path: Path) -> None:
    for number, name in enumerate((GOODS, "donkey_eccentric", "gooch_tank")):
        work = EngineAtWork(laid_out(tmp_path / str(number), name), name)
        engine = work.must()
        gear = engine.gear()
        usual, assumed = adjustments_given(engine, name, gear, set_somehow(gear))
        assert assumed
        assert sum(bool(own.usual) for own in adjustments_of(work, engine)) == len(usual) > 0
        wish(work, setting_screen, "usual")
        written, assumed = adjustments_given(work.must(), name, gear, set_somehow(gear))
        assert (written, assumed) == (usual, False)


def test_adjustments_are_typed_step_or_pitch_and_taken_out(work: EngineAtWork) -> None:
    before, spindle = work.kept.text, "adjustments.valve.central_at"
    typed(work, setting_screen, f"{spindle}.step", "0.5 mm")
    assert figure_at(work.document, ("adjustments", "valve", "central_at")) == {"most": "1/8 in", "step": "0.5 mm"}
    typed(work, setting_screen, f"{spindle}.pitch", "1/16 in")
    typed(work, setting_screen, f"{spindle}.turn", "1/8")
    typed(work, setting_screen, f"{spindle}.cost", "1.5")
    wish(work, setting_screen, "begin", dimension="radius_rod.length", step="1/64 in", most="1/16 in", cost="")
    wish(work, setting_screen, "gone", name="return_crank.angle")
    engine = read_engine(work.path)
    given, _assumed = adjustments_given(engine, "x", engine.gear(), set_somehow(engine.gear()))
    own = given["valve", "central_at"]
    assert (own.step, own.turn, own.hours) == (pytest.approx(INCH / 128, abs=1e-12), 1 / 8, 1.5)
    assert given["radius_rod", "length"].most == pytest.approx(INCH / 16, abs=1e-12)
    assert ("return_crank", "angle") not in given
    assert comments(work.kept.text) == [own for own in comments(before) if own != "# a new key"]
    for name, value in ((f"{spindle}.most", ""), (f"{spindle}.most", "3 ft"), (f"{spindle}.turn", "a bit")):
        with pytest.raises(FileError):
            typed(work, setting_screen, name, value)
    with pytest.raises(FileError, match="most is missing"):
        wish(work, setting_screen, "begin", dimension="cylinder.crank_radius", step="1", most="")


def test_a_second_window_is_told_and_another_figure_is_kept(work: EngineAtWork) -> None:
    seen = work.kept.version
    typed(work, hold_screen, "tolerances.general", "0.2 mm")
    with pytest.raises(SinceChanged, match=r"to 0\.2 mm"):
        hold_screen.takes(work, {"do": "figure", "name": "tolerances.general", "value": "0.3 mm", "seen": seen, **AT})
    hold_screen.takes(work, {"do": "figure", "name": "tolerances.general_angle", "value": "0.3", "seen": seen, **AT})
    assert work.must().tolerances["general"] == "0.2 mm"
    assert work.must().tolerances["general_angle"] == 0.3
