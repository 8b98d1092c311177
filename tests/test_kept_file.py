"""Files worked on at the bench: two windows, other programs, the way back, and a kill at any moment."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.entering import Wish, carry_out
from linkmotion.bench.folder_of_engines import EARLIER, FolderOfEngines
from linkmotion.bench.kept_file import SinceChanged
from linkmotion.files.engine_file import read_engine
from linkmotion.files.faults import FileError
from tests.bench_at import DOCK, DONKEY, ROD, laid_out
from tests.killed import KINDS, killed_at_random, laid_out_for

FILE = f"{DOCK}.toml"


def at_work(folder: Path) -> EngineAtWork:
    return EngineAtWork(laid_out(folder), DOCK)


def entry(work: EngineAtWork, value: str, name: str = ROD, seen: int | None = None, side: str = "left") -> Wish:
    return Wish("figure", work.kept.version if seen is None else seen, "as found", side, name, value)


def rod(path: Path, side: str = "left") -> float:
    return float(read_engine(path).gear("as found", side).eccentric_rod.length)  # type: ignore[attr-defined]


def test_an_entry_is_in_the_plain_file_at_once_and_the_one_before_is_kept(tmp_path: Path) -> None:
    before = (laid_out(tmp_path).path / FILE).read_text("utf-8")
    work = EngineAtWork(FolderOfEngines(tmp_path), DOCK)
    change = carry_out(work, entry(work, "31 19/32 in"))
    assert change is not None
    assert change.words.startswith("as found, left side: eccentric rod")
    assert "31 19/32 in (was not given)" in change.words
    assert rod(tmp_path / FILE) == pytest.approx((31 + 19 / 32) * 25.4, abs=1e-9)
    assert (tmp_path / EARLIER / f"{DOCK} {date.today().isoformat()}.toml").read_text("utf-8") == before
    assert work.kept.journal.text_at(0) == before


def test_undo_redo_and_back_to_a_time(tmp_path: Path) -> None:
    work = at_work(tmp_path)
    texts = [work.kept.text]
    for value in ("31.5", "31.6", "31.7"):
        carry_out(work, entry(work, value))
        texts.append(work.kept.text)
    for step in (2, 1, 0):
        carry_out(work, Wish("undo", work.kept.version))
        assert (tmp_path / FILE).read_text("utf-8") == texts[step]
    assert carry_out(work, Wish("undo", work.kept.version)) is None
    for step in (1, 2, 3):
        carry_out(work, Wish("redo", work.kept.version))
        assert (tmp_path / FILE).read_text("utf-8") == texts[step]
    carry_out(work, Wish("back", work.kept.version, number=1))
    assert (tmp_path / FILE).read_text("utf-8") == texts[1]
    again = EngineAtWork(FolderOfEngines(tmp_path), DOCK)
    carry_out(again, Wish("undo", again.kept.version))
    assert (tmp_path / FILE).read_text("utf-8") == texts[3], "another day the way back is still known"


def test_two_windows_keep_both_edits_of_different_figures_and_tell_of_the_same(tmp_path: Path) -> None:
    work = at_work(tmp_path)
    seen = work.kept.version
    carry_out(work, entry(work, "31.6", seen=seen))
    carry_out(work, entry(work, "14.1", "union_link.length", seen))
    found = read_engine(tmp_path / FILE).gear("as found", "left")
    assert found.eccentric_rod.length == pytest.approx(31.6 * 25.4, abs=1e-9)  # type: ignore[attr-defined]
    assert found.union_link.length == pytest.approx(14.1 * 25.4, abs=1e-9)  # type: ignore[attr-defined]
    before = (tmp_path / FILE).read_bytes()
    with pytest.raises(SinceChanged, match=r"changed elsewhere since, to 31\.6 \(you had seen nothing\)"):
        carry_out(work, entry(work, "31.8", seen=seen))
    with pytest.raises(SinceChanged):
        carry_out(work, Wish("undo", seen))
    assert (tmp_path / FILE).read_bytes() == before


@pytest.mark.parametrize("known", [True, False], ids=["with a journal", "before the first change"])
def test_what_another_program_changes_is_noticed_and_kept(tmp_path: Path, known: bool) -> None:
    work = at_work(tmp_path)
    if known:
        carry_out(work, entry(work, "31.6"))
    seen, text = work.kept.version, work.kept.text
    other = text.replace('lower_arm = "29 1/4"', 'lower_arm = "29 1/8"')
    assert other != text
    (tmp_path / FILE).write_text(other, "utf-8")
    assert work.must().drawing["combination_lever"]["lower_arm"] == pytest.approx(29.125 * 25.4, abs=1e-9)
    assert work.kept.version > seen
    with pytest.raises(SinceChanged, match="changed elsewhere since, to 29 1/8"):
        carry_out(work, Wish("figure", seen, name="combination_lever.lower_arm", value="29.2"))
    carry_out(work, entry(work, "14.1", "union_link.length", seen))
    assert 'lower_arm = "29 1/8"' in (tmp_path / FILE).read_text("utf-8")
    carry_out(work, Wish("undo", work.kept.version))
    assert (tmp_path / FILE).read_text("utf-8") == other


def test_two_benches_on_a_folder_see_one_another(tmp_path: Path) -> None:
    one, two = at_work(tmp_path), EngineAtWork(FolderOfEngines(tmp_path), DOCK)
    carry_out(one, entry(one, "31.6"))
    carry_out(two, entry(two, "14.1", "union_link.length"))
    carry_out(one, entry(one, "31.7"))
    assert two.kept.look()
    assert two.kept.text == one.kept.text == (tmp_path / FILE).read_text("utf-8")
    assert [change.number for change in two.kept.journal.changes] == [0, 1, 2, 3]


def test_where_the_system_has_no_locks_of_its_own_an_entry_is_kept_and_one_writer_waits_for_another(
    tmp_path: Path,
) -> None:
    """Two runs of 15 entries each at once, without what Windows lacks; every one is in the journal."""
    laid_out(tmp_path)
    begun = EngineAtWork(FolderOfEngines(tmp_path), DOCK)
    carry_out(begun, entry(begun, "31.5"))
    runs = [subprocess.Popen([sys.executable, "-W", "ignore", "-c", _NO_LOCKS, str(tmp_path), key]) for key in "ab"]
    assert [run.wait(120) for run in runs] == [0, 0]
    found = EngineAtWork(FolderOfEngines(tmp_path), DOCK).kept
    assert [change.number for change in found.journal.changes] == list(range(32))
    assert {change.kind for change in found.journal.changes} == {"begun", "entry"}
    gear = read_engine(tmp_path / FILE).gear("as found", "left")
    assert gear.eccentric_rod.length == pytest.approx(31.614 * 25.4, abs=1e-9)  # type: ignore[attr-defined]
    assert gear.union_link.length == pytest.approx(14.114 * 25.4, abs=1e-9)  # type: ignore[attr-defined]


_NO_LOCKS = """
import sys
sys.modules["fcntl"] = None
from pathlib import Path
from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.entering import Wish, carry_out
from linkmotion.bench.folder_of_engines import FolderOfEngines
import linkmotion.bench.serving
work = EngineAtWork(FolderOfEngines(Path(sys.argv[1])), "dock_shunter")
name, first = {"a": ("eccentric_rod.length", 31.6), "b": ("union_link.length", 14.1)}[sys.argv[2]]
for number in range(15):
    value = f"{first + number / 1000:.3f}"
    assert carry_out(work, Wish("figure", work.kept.version, "as found", "left", name, value))
"""


NO_FIGURES = ["", "31 31 in", "nan", "-4", "1e400", "[" * 300, '" = 1', "?", "3 parsecs", "{ over = 1 }"]


@pytest.mark.parametrize("value", NO_FIGURES)
def test_what_is_no_figure_is_refused_with_the_remedy_and_nothing_is_written(tmp_path: Path, value: str) -> None:
    work = at_work(tmp_path)
    before = (tmp_path / FILE).read_bytes()
    if value == "":
        assert carry_out(work, entry(work, value)) is None, "an empty field of a state is as drawn"
    else:
        with pytest.raises(FileError) as refused:
            carry_out(work, entry(work, value))
        assert refused.value.remedy
    assert (tmp_path / FILE).read_bytes() == before
    assert not (tmp_path / EARLIER).exists()


def test_a_figure_that_cannot_be_turned_is_kept_and_told(tmp_path: Path) -> None:
    work = at_work(tmp_path)
    carry_out(work, entry(work, "25 in"))
    assert rod(tmp_path / FILE) == pytest.approx(25 * 25.4, abs=1e-9)
    with pytest.raises(FileError, match="eccentric rod"):
        work.stand("as found")


def test_a_folder_that_cannot_be_written_into_is_told(tmp_path: Path) -> None:
    work = at_work(tmp_path)
    (tmp_path / EARLIER).write_text("mine", "utf-8")
    with pytest.raises(FileError, match="in the way"):
        EngineAtWork(FolderOfEngines(tmp_path), DOCK)
    with pytest.raises(FileError):
        carry_out(work, entry(work, "31.6"))
    assert (tmp_path / EARLIER).read_text("utf-8") == "mine"
    assert (tmp_path / FILE).read_text("utf-8") == work.kept.text


def test_only_plain_files_of_the_folder_are_opened(tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    laid_out(outside, DONKEY)
    folder = laid_out(tmp_path / "in", DOCK)
    (folder.path / "linked.toml").symlink_to(outside / f"{DONKEY}.toml")
    (folder.path / "beside.toml").symlink_to(folder.path / FILE)
    (folder.path / "loop.toml").symlink_to(folder.path / "loop.toml")
    (folder.path / "folder.toml").mkdir()
    os.mkfifo(folder.path / "pipe.toml")
    assert {own.name for own in folder.listed()} == {DOCK, "beside"}
    for name in ("linked", "loop", "folder", "pipe", "../outside/donkey_eccentric", "", ".", "/etc/passwd", "x\0"):
        with pytest.raises(FileError, match="no engine of this name"):
            EngineAtWork(folder, name)
    work = EngineAtWork(folder, DOCK)
    (folder.path / FILE).unlink()
    (folder.path / FILE).symlink_to(outside / f"{DONKEY}.toml")  # while it is worked on
    before = (outside / f"{DONKEY}.toml").read_bytes()
    with pytest.raises(FileError):
        carry_out(work, entry(work, "31.6"))
    assert (outside / f"{DONKEY}.toml").read_bytes() == before


NO_NAMES = ["", "..", "a/b", "a\\b", ".hidden", "x" * 61, "con\n", "-x", "a.", FILE[:-5], FILE[:-5].upper()]


@pytest.mark.parametrize("name", NO_NAMES)
def test_a_new_file_has_a_name_that_is_free_and_can_be_one(tmp_path: Path, name: str) -> None:
    folder = laid_out(tmp_path)
    if name == "con\n":
        assert folder.new(name).name == "con.toml"
        return
    with pytest.raises(FileError):
        folder.new(name)


def test_a_kill_at_any_moment_loses_nothing_that_was_answered(tmp_path: Path) -> None:
    laid_out(tmp_path)
    for answered, kept in killed_at_random("figure", tmp_path, 10, seed=3):
        assert kept in (answered, answered + 1)
    names = {path.name for path in tmp_path.iterdir()}
    assert names == {FILE, f"{DONKEY}.toml", EARLIER}, "no half written file is left once it was opened again"


@pytest.mark.parametrize("name", [name for name in KINDS if name != "figure"])
def test_nor_of_what_is_typed_into_a_table_of_the_shop_or_at_the_engine(tmp_path: Path, name: str) -> None:
    laid_out_for(KINDS[name], tmp_path / "own")
    before = {path.name for path in (tmp_path / "own").iterdir()}
    for answered, kept in killed_at_random(name, tmp_path / "own", 2, seed=5):
        assert kept in (answered, answered + 1)
        assert kept > 0
    assert {path.name for path in (tmp_path / "own").iterdir()} == {*before, EARLIER}


def test_what_was_journalled_and_not_written_is_written_by_whoever_opens_it_next(tmp_path: Path) -> None:
    work = at_work(tmp_path)
    before = work.kept.text
    carry_out(work, entry(work, "31.6"))
    after = work.kept.text
    journal = tmp_path / EARLIER / f"{DOCK}.changes"
    lines = journal.read_bytes().splitlines(keepends=True)
    assert b'"written"' in lines[-1]
    journal.write_bytes(b"".join(lines[:-1]))
    (tmp_path / FILE).write_text(before, "utf-8")  # as if it had been killed between the two
    assert EngineAtWork(FolderOfEngines(tmp_path), DOCK).kept.text == after
    assert (tmp_path / FILE).read_text("utf-8") == after
    (tmp_path / FILE).write_text(before, "utf-8")  # now it is somebody who put it back
    again = EngineAtWork(FolderOfEngines(tmp_path), DOCK)
    assert again.kept.text == before
    assert again.kept.journal.changes[-1].kind == "outside"
