"""What is typed on the bench of a new engine: its drawing in steps, targets, who found what and when."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.figures_of_parts import places
from linkmotion.bench.filling import add_notch, fill, filled, steps
from linkmotion.bench.folder_of_engines import FolderOfEngines
from linkmotion.bench.new_engine import begin
from linkmotion.bench.quadrant import quadrant
from linkmotion.bench.record_entry import said_of
from linkmotion.bench.table_figures import enter
from linkmotion.bench.targets_typed import targets_of
from linkmotion.engine import DRAWING
from linkmotion.files.engine_file import read_engine
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import figure_at, read_tables, typed
from linkmotion.files.journal import Change
from linkmotion.sides import BOTH
from linkmotion.studies.assess import assess
from linkmotion.views.taken_words import with_doubt
from tests.bench_at import DOCK, DONKEY, EXAMPLES, laid_out


def test_a_target_typed_is_the_one_that_check_holds(tmp_path: Path) -> None:
    work = EngineAtWork(laid_out(tmp_path, DOCK), DOCK)

    def typed_in(key: str, value: str) -> Change | None:
        return enter(work, targets_of(work), f"targets.{key}", value, work.kept.version, "target")

    assert typed_in("lead_difference", "1/32 in") is not None
    assert read_engine(work.path).targets.lead_difference == pytest.approx(25.4 / 32, abs=1e-12)
    assert next(own for own in targets_of(work) if own.place[1] == "lead_difference").value == "1/32 in"
    before = work.path.read_bytes()
    for key, value in (("lead_difference", "two apples"), ("no_target", "1")):
        with pytest.raises(FileError):
            typed_in(key, value)
    assert work.path.read_bytes() == before


def test_who_found_it_is_said_in_the_file_and_a_day_that_is_none_is_refused(tmp_path: Path) -> None:
    work = EngineAtWork(laid_out(tmp_path, DOCK), DOCK)

    def say(state: str, key: str, value: str) -> None:
        figures = dict(said_of(work)).get(state, [])
        enter(work, figures, f'state."{state}".{key}', value, work.kept.version, state)

    say("as found", "on", "2026-03-14")
    say("as found", "by", "P. Osk (invented)")
    record = read_engine(work.path).records["state", "as found"]
    assert (record.on, record.by) == (date(2026, 3, 14), "P. Osk (invented)")
    before = work.path.read_bytes()
    for state, key, value in (("as found", "on", "last week"), ("no state", "by", "x"), ("as found", "gear", "x")):
        with pytest.raises(FileError):
            say(state, key, value)
    assert work.path.read_bytes() == before


def test_a_new_engine_is_asked_in_steps_and_what_is_proposed_is_what_the_file_then_holds(tmp_path: Path) -> None:
    folder = FolderOfEngines(tmp_path)
    drawn = read_tables((EXAMPLES / f"{DOCK}.toml").read_text("utf-8"))
    name = begin(folder, {"engine": "A / new one", "file": "", "gear": "walschaerts", "unit": "in"})
    assert name == "a new one"
    work = EngineAtWork(folder, name)
    first, own, rest = steps(work)
    assert [step.wanted for step in (first, own, rest)] == [8, 15, 5]
    assert add_notch(work, "forward 50", work.kept.version) is not None
    with pytest.raises(FileError, match="already"):
        add_notch(work, "forward  50", work.kept.version)
    radius = "expansion_link.slot_radius"
    for blank in [each for step in steps(work) for part in step.parts.values() for each in part]:
        value = figure_at(drawn, blank.place)
        if value is not None and blank.name not in (radius, "valve.set_in") and typed(value) != blank.value:
            fill(work, blank.name, typed(value), work.kept.version)
    fill(work, "reversing.notches.forward 50", "die -1 3/4 in", work.kept.version)
    fill(work, "valve.set_in", "full forward, running forward", work.kept.version)
    assert filled(work)["wanted"] == 1
    told = filled(work)["proposed"][radius]
    fill(work, radius, "by rule", work.kept.version)
    engine = work.must()
    taken = engine.taken["expansion_link", "slot_radius"]
    assert told == with_doubt(taken.value, taken.doubt, taken.unit, work.shown)
    assert taken.value == pytest.approx(37.875 * 25.4, abs=1e-9)
    assert places(work, DRAWING, BOTH)[radius].worked == told, "and it is marked on the engine's side"
    assert read_tables(work.kept.text)["reversing"]["notches"]["forward 50"] == {"die": "-1 3/4 in"}


@pytest.mark.parametrize("name", ["dock_shunter", "stephenson_goods", "southern_mineral"])
def test_the_quadrant_goes_from_backward_to_forward_with_its_lever_in_the_notch(name: str) -> None:
    side = assess(read_engine(EXAMPLES / f"{name}.toml"), DRAWING, ("left",)).sides[0]
    found = quadrant(side, "mid")
    assert found is not None
    assert set(found.notches) == set(side.notches)
    assert (found.notches[0], found.notches[-1]) == ("full backward", "full forward")
    drives = [side.drives[side.notches.index(notch)] for notch in found.notches]
    assert drives == sorted(drives, key=["backward", "both", "forward"].index)
    teeth = found.svg.count("<path") - 2  # but for lever and knob
    assert teeth == len(side.notches)


def test_what_is_not_reversed_has_no_quadrant() -> None:
    side = assess(read_engine(EXAMPLES / f"{DONKEY}.toml"), DRAWING, ("left",)).sides[0]
    assert quadrant(side, side.notches[0]) is None
