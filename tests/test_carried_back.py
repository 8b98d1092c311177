"""Readings carried back from the engine, beside those that are there."""

from __future__ import annotations

import json
import re
import shutil
import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import linkmotion as lm
from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.folder_of_engines import FolderOfEngines
from linkmotion.bench.screens.carried_screen import takes
from linkmotion.commands.carried import CarriedRequest, run_carried
from linkmotion.files.engine_file import read_engine
from linkmotion.files.faults import FileError
from linkmotion.files.marks_form import marks_form
from linkmotion.files.tram_file import parse_tram_marks, read_tram_marks
from linkmotion.gears.crank_motion import CrankMotion
from linkmotion.piston import dead_centre
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.carried_back import CONTRADICTS, KEPT, NEW, SAME, met
from linkmotion.studies.figures.figure import Reading
from linkmotion.studies.wheel_places import in_one_turn, wheel_place
from linkmotion.views.phone.marks_asked_for import mark_data, mark_screens

LEAD = Reading(side="left", kind="lead", notch="mid", end="front", value=3.0, sigma=0.05)
CUTOFF = Reading(
    side="left", kind="cutoff", notch="mid", direction="forward", end="back", value=40.0, sigma=0.25, unit="percent"
)


@pytest.fixture(scope="module")
def dock() -> SideEvents:
    return assess(read_engine("examples/dock_shunter.toml"), "drawing", ("left",)).sides[0]


@pytest.fixture(scope="module")
def cranks(dock: SideEvents) -> dict[str, CrankMotion]:
    return {"left": dock.gear.crank, "right": dock.gear.crank}


def verdicts(kept: list[Reading], brought: list[Reading], cranks: dict[str, CrankMotion]) -> list[str]:
    return [own.verdict for own in met(kept, brought, cranks)]


def test_each_figure_is_new_the_same_contradicted_or_not_read_again(cranks: dict[str, CrankMotion]) -> None:
    back, other = replace(LEAD, end="back"), replace(LEAD, notch="full forward")
    brought = [replace(LEAD, value=3.15), replace(back, value=3.3), replace(LEAD, side="right")]
    found = met([LEAD, back, other], brought, cranks)
    assert [own.verdict for own in found] == [SAME, CONTRADICTS, NEW, KEPT]
    assert [own.either.side for own in found] == ["left", "left", "right", "left"]
    assert found[1].apart == pytest.approx(0.3, abs=1e-12)
    assert found[1].allowed == pytest.approx(0.1 + 0.1, abs=1e-12)


def test_they_contradict_only_beyond_both_doubts_together(cranks: dict[str, CrankMotion]) -> None:
    rough = replace(LEAD, sigma=0.2)
    for apart, verdict in ((0.499, SAME), (0.501, CONTRADICTS), (-0.499, SAME), (-0.501, CONTRADICTS)):
        assert verdicts([LEAD], [replace(rough, value=3.0 + apart)], cranks) == [verdict]


def test_a_lead_come_up_to_the_other_way_is_another_reading(cranks: dict[str, CrankMotion]) -> None:
    ahead, astern = replace(LEAD, turned="forward"), replace(LEAD, turned="backward", value=2.0)
    assert verdicts([ahead], [astern], cranks) == [NEW, KEPT]
    assert verdicts([LEAD], [astern], cranks) == [CONTRADICTS]  # how the first was come to is not known


def test_several_takings_count_as_their_mean(cranks: dict[str, CrankMotion]) -> None:
    takings = [replace(LEAD, value=value) for value in (2.9, 3.1, 3.0, 3.4)]
    own = met([LEAD], takings, cranks)[0]
    assert own.brought is not None
    assert own.brought.value == pytest.approx(3.1, abs=1e-12)
    assert own.brought.sigma == pytest.approx(0.05 / 2, abs=1e-12)  # standard error of four


def test_a_cutoff_read_as_a_length_or_an_angle_is_held_against_percent() -> None:
    # the slider-crank by the cosine rule, its line above the axle: the crank's angle for a crosshead so far on
    r, rod, h = 250.0, 1400.0, 60.0
    cranks = {"left": CrankMotion(radius=r, rod=rod, height=h, slope=0.0)}
    front, back = np.sqrt((rod + r) ** 2 - h**2), np.sqrt((rod - r) ** 2 - h**2)
    stroke, gone = front - back, 0.4 * (front - back)
    length = replace(CUTOFF, unit="mm", value=gone, sigma=0.0025 * stroke)
    distance, lean = np.hypot(back + gone, h), np.arctan2(h, back + gone)
    inside = np.arccos((r**2 + distance**2 - rod**2) / (2 * r * distance))
    dead = np.pi + np.arctan2(h, back)
    past = {"forward": dead - (lean + inside), "backward": 2 * np.pi + lean - inside - dead}
    for direction, turn in past.items():
        share = replace(CUTOFF, direction=direction)
        degrees = replace(share, unit="degrees", value=float(np.degrees(turn)), sigma=0.1)
        for other in (replace(length, direction=direction), degrees):
            own = met([share], [other], cranks)[0]
            assert own.verdict == SAME
            assert own.apart == pytest.approx(0.0, abs=1e-6)
    assert verdicts([CUTOFF], [replace(length, value=gone + 0.02 * stroke)], cranks) == [CONTRADICTS]


def test_the_wheel_stands_where_the_figure_is_to_be_read(dock: SideEvents) -> None:
    for notch in ("full forward", "mid", "full backward"):
        number = dock.notches.index(notch)
        for direction in dock.driven(number):
            for end in ("front", "back"):
                shut = wheel_place(dock, notch, "cutoff", direction, end)
                edge = dock.ports.edge("steam", end)
                at = [
                    float(edge.opening(dock.valve_at(number, np.radians(shut.angle + by), direction)))
                    for by in (-1, 0, 1)
                ]
                assert at[0] > 0 > at[2]
                assert at[1] == pytest.approx(0.0, abs=1e-6)
                wide = wheel_place(dock, notch, "opening", direction, end)
                most = float(edge.opening(dock.valve_at(number, np.radians(wide.angle), direction)))
                assert min(most, float(dock.gear.valve.port_width)) == pytest.approx(
                    float(dock.events[direction][end].opening[number]), abs=2e-3
                )
    assert wheel_place(dock, "mid", "lead", "", "front").angle == 0.0


def test_one_turn_of_the_wheel_comes_to_all_of_a_notch(dock: SideEvents) -> None:
    own = [wheel_place(dock, "mid", kind, way, end) for kind, way, end in (
        ("lead", "", "front"), ("lead", "", "back"), ("opening", "", "front"), ("cutoff", "forward", "front"),
        ("cutoff", "backward", "front"), ("die height", "", ""))]  # fmt: skip
    assert in_one_turn(own) == [0, 2, 5, 3, 1, 4]  # in mid gear the ports open widest at the dead centres


def _files(folder: Path, read: str) -> tuple[Path, Path, Path]:
    """An engine, readings that are there, and the same carried back with one of them otherwise."""
    engine, there, back = (folder / name for name in ("engine.toml", "there.toml", "back.toml"))
    shutil.copy("examples/dock_shunter.toml", engine)
    text = Path("examples/readings/dock_shunter.toml").read_text("utf-8")
    there.write_text(text, "utf-8")
    first = re.search(r'kind = "lead",\s+front = (\S+?),', text)
    assert first is not None
    back.write_text(text.replace(first[0], f'kind = "lead", front = "{read}",', 1), "utf-8")
    return engine, there, back


def test_the_command_the_library_and_the_bench_say_the_same_of_a_file_carried_back(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    engine, there, back = _files(tmp_path, "1/2 in")
    kept, other = tmp_path / "kept.toml", tmp_path / "other.toml"
    assert run_carried(CarriedRequest(engine, back, there, kept, json=True)) == 1
    told = json.loads(capsys.readouterr().out)["figures"]
    assert [own["verdict"] for own in told].count(CONTRADICTS) == 1
    assert kept.read_bytes() == back.read_bytes()
    rows = lm.carried_back(lm.read_engine(engine), back, there, other).rows()
    assert other.read_bytes() == back.read_bytes()
    assert len(rows) == len(told) > 10
    for row, own in zip(rows, told, strict=True):
        for key, value in own.items():
            assert row[key] == (pytest.approx(value, abs=5.1e-7) if isinstance(value, float) else value), key
    work = EngineAtWork(FolderOfEngines(tmp_path), "engine")
    shown = takes(work, {"do": "look", "text": back.read_text("utf-8") + "\n# again\n", "beside": "there.toml"})
    assert "1 that contradicts" in shown["met"]
    assert run_carried(CarriedRequest(engine, there, there)) == 0
    with pytest.raises(FileError, match="it would be lost"):
        run_carried(CarriedRequest(engine, back, there, there))


def test_wheel_marks_and_other_files_carried_back(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    engine, there, _back = _files(tmp_path, "1/8 in")
    marks = tmp_path / "marks.toml"
    shutil.copy("examples/readings/dock_shunter-marks.toml", marks)
    assert run_carried(CarriedRequest(engine, marks, there)) == 0
    assert "4 pairs of wheel marks were carried back." in capsys.readouterr().out
    with pytest.raises(FileError, match="no readings"):
        lm.carried_back(lm.read_engine(engine), marks)
    for text in ("", "[readings]\nengine = 5\n", "\0"):
        marks.write_text(text, "utf-8")
        with pytest.raises(FileError):
            run_carried(CarriedRequest(engine, marks))


def test_readings_and_marks_in_one_file_are_each_kept_as_a_file_of_its_own(tmp_path: Path) -> None:
    engine, there, back = _files(tmp_path, "1/8 in")
    marks = Path("examples/readings/dock_shunter-marks.toml").read_text("utf-8")
    both = back.read_text("utf-8") + "\n" + marks[marks.index("[tram]") :]
    back.write_text(both, "utf-8")
    kept, made = tmp_path / "kept.toml", tmp_path / "made.toml"
    assert run_carried(CarriedRequest(engine, back, there, kept, made)) in (0, 1)
    assert kept.read_text("utf-8") + "\n" + made.read_text("utf-8") == both
    unit = lm.read_engine(engine).as_read.unit
    assert read_tram_marks(made, unit).pairs == parse_tram_marks(marks, "marks", unit).pairs
    back.write_text(both.replace("marks = [", "marks = [ 5, ", 1), "utf-8")
    with pytest.raises(FileError) as found:
        run_carried(CarriedRequest(engine, back))
    assert found.value.line == both[: both.index("marks = [")].count("\n") + 1, "as the whole file counts"
    with pytest.raises(FileError, match="nothing of this kind"):
        run_carried(CarriedRequest(engine, there, None, None, tmp_path / "none.toml"))
    assert not (tmp_path / "none.toml").exists()
    work = EngineAtWork(FolderOfEngines(tmp_path), "engine")
    for own in (kept, made):
        own.unlink()
    assert takes(work, {"do": "keep", "text": both})["to"].startswith("read?readings=")
    assert sorted(
        own.name[:13] if "marks" in own.name else own.name[:14] for own in tmp_path.glob("engine *.toml")
    ) == ["engine marks ", "engine reading"]
    assert takes(work, {"do": "look", "text": both, "beside": ""})["good"] is False


def test_the_telephone_asks_for_the_marks_of_the_form(dock: SideEvents) -> None:
    screens = mark_screens(dock)
    told = mark_data(screens, ["in"], 7)
    form = tomllib.loads(marks_form("in"))
    assert sorted(pair["end"] for pair in told["pairs"]) == sorted(pair["end"] for pair in form["pair"])
    keys = [step["key"] for step in told["steps"]]
    assert keys[0] == "tyre"
    assert [key for pair in told["pairs"] for key in pair["marks"]] == keys[1:]
    assert [step["drawn"] for step in told["steps"][1:]] == [*range(7, 7 + len(screens))]
    for first, second in zip(screens[::2], screens[1::2], strict=True):
        dead = np.degrees(dead_centre(dock.gear.crank, first.end, True))
        turned = [(own.wheel.angle - dead + 180) % 360 - 180 for own in (first, second)]
        assert turned == [pytest.approx(-18, abs=1e-9), pytest.approx(18, abs=1e-9)], "short of it, then past it"
