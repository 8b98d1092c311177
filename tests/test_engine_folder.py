"""A folder for an engine: what is what, by what stands in it; and every command finds its inputs there."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from linkmotion.files.engine_folder import EngineFolder
from linkmotion.files.faults import FileError
from tests.bad_engines.changed import EXAMPLES
from tests.bad_engines.command import Command, assert_refused

WINKLE = EXAMPLES / "winkle"


@pytest.fixture
def shed(tmp_path: Path) -> Path:
    return Path(shutil.copytree(WINKLE, tmp_path / "winkle"))


def test_what_is_what_goes_by_content_and_not_by_name(shed: Path) -> None:
    names = {
        "winkle.toml": "one.toml",
        "readings.toml": "two.toml",
        "marks.toml": "three.toml",
        "slot-right.csv": "four.csv",
    }
    for old, new in names.items():
        (shed / old).rename(shed / new)
    (shed / "photos" / "fork-stamp.png").rename(shed / "five.dat")
    folder = EngineFolder(shed)
    assert folder.engine() == shed / "one.toml"
    assert folder.readings == (shed / "two.toml",)
    assert folder.marks == (shed / "three.toml",)
    assert folder.slot_readings == (shed / "four.csv",)
    assert set(folder.photos) == {shed / "five.dat", shed / "photos" / "gear-before-stripping.png"}
    assert folder.unread == ()


def test_readings_as_a_table_are_known_too(shed: Path, linkmotion: Command) -> None:
    linkmotion("form", shed, shed / "form.csv")
    assert set(EngineFolder(shed).readings) == {shed / "form.csv", shed / "readings.toml"}


def test_reports_are_known_by_their_mark_and_are_no_photographs(shed: Path, linkmotion: Command) -> None:
    before = EngineFolder(shed).photos
    linkmotion("check", shed, "--notch", "mid")
    linkmotion("history", shed, "--dossier", shed / "dossier.html")
    folder = EngineFolder(shed)
    assert shed / "dossier.html" in folder.reports
    assert shed / "winkle-report" / "report.html" in folder.reports
    assert folder.photos == before


def test_what_cannot_be_read_is_listed_with_why(shed: Path, tmp_path: Path) -> None:
    (shed / "broken.toml").write_text("[readings\n")
    (shed / "latin.toml").write_bytes("[engine]\nname = 'Żółw'".encode("utf-16"))
    (shed / "other.toml").write_text("[tool]\nx = 1\n")
    (shed / "list.csv").write_text("bolts,nuts\n1,2\n")
    (shed / "diary.txt").write_text("rain")
    (tmp_path / "away.toml").write_text("[readings]\n")
    (shed / "link.toml").symlink_to(tmp_path / "away.toml")
    os.mkfifo(shed / "pipe.toml")
    why = {own.path.name: own.why for own in EngineFolder(shed).unread}
    assert why.keys() == {"broken.toml", "latin.toml", "other.toml", "list.csv", "diary.txt", "link.toml", "pipe.toml"}
    assert "line 1" in why["broken.toml"]
    assert "out of the folder" in why["link.toml"]
    assert "no ordinary file" in why["pipe.toml"]
    assert EngineFolder(shed).engine() == shed / "winkle.toml"


def test_a_folder_within_that_holds_an_engine_is_another_engines(shed: Path) -> None:
    shutil.copytree(WINKLE, shed / "sister")
    assert EngineFolder(shed).engine() == shed / "winkle.toml"
    assert EngineFolder(shed).readings == (shed / "readings.toml",)
    assert all("sister" not in str(photo) for photo in EngineFolder(shed).photos)


def test_every_command_takes_the_folder(shed: Path, linkmotion: Command) -> None:
    given = {
        "check": ["--notch", "mid", "--tables"], "wear": ["--state", "as found", "--notch", "mid"],
        "compare": ["--state", "as found", "--state", "return crank keyed", "--notch", "mid"],
        "hold": ["--notch", "mid", "--samples", "200", "--no-search"], "tram": [], "diagnose": ["--side", "left"],
        "adjust": ["--side", "left"], "cleanup": ["--state", "as found", "--side", "right", "--tables"],
        "beats": ["--notch", "mid"], "diagram": ["--notch", "full forward"], "page": ["--state", "drawing"],
        "card": [], "history": [], "form": [str(shed / "form.toml")],
    }  # fmt: skip
    for command, words in given.items():
        by_folder = linkmotion(command, shed, *words)
        assert by_folder.code in (0, 1), (command, by_folder.err)
        assert by_folder.err == "", command
    assert (shed / "winkle-moving.html").exists()
    assert (shed / "winkle-card.pdf").exists()


def test_inputs_found_in_the_folder_are_those_that_would_be_given(shed: Path, linkmotion: Command) -> None:
    engine = shed / "winkle.toml"
    pairs: tuple[tuple[list[str | Path], list[str | Path]], ...] = (
        (["diagnose", shed], ["diagnose", engine, shed / "readings.toml"]),
        (["tram", shed], ["tram", engine, shed / "marks.toml"]),
        (["adjust", shed], ["adjust", engine, shed / "readings.toml"]),
        (["cleanup", shed, "--state", "as found", "--side", "right", "--tables"],
         ["cleanup", engine, "--state", "as found", "--side", "right", "--tables", "--readings",
          shed / "slot-right.csv"]),
    )  # fmt: skip
    for by_folder, given in pairs:
        assert linkmotion(*by_folder) == linkmotion(*given)


def test_the_file_itself_finds_nothing_beside_it(shed: Path, linkmotion: Command) -> None:
    """Who gives the file gives what goes with it: adjust without readings reckons with the file alone."""
    assert_refused(linkmotion("diagnose", shed / "winkle.toml"), "linkmotion diagnose")
    assert_refused(linkmotion("tram", shed / "winkle.toml"), "linkmotion tram")
    assert "by the file" not in linkmotion("adjust", shed).out or linkmotion("adjust", shed / "winkle.toml").out


def test_the_other_sides_slot_readings_are_passed_over(shed: Path, linkmotion: Command) -> None:
    run = linkmotion("cleanup", shed, "--state", "drawing", "--side", "left", "--tables")
    assert_refused(run, shed / "winkle.toml")
    assert "no depth readings" in run.err
    (shed / "slot-right.csv").rename(shed / "slot.csv")
    assert linkmotion("cleanup", shed, "--state", "drawing", "--side", "left", "--tables").code in (0, 1)


def test_readings_of_another_engine_are_passed_over(shed: Path) -> None:
    shutil.copy(EXAMPLES / "readings" / "dock_shunter.toml", shed / "limpet.toml")
    assert (
        EngineFolder(shed).readings_of('Harrowquay Dock Company, class H, No. 5 "Winkle" (invented)')
        == shed / "readings.toml"
    )


@pytest.mark.parametrize("words", [("diagnose",), ("adjust",), ("reconcile", "--side", "right")])
def test_readings_that_name_another_engine_do_not_pass_for_none(words: tuple[str, ...], linkmotion: Command,
                                                                tmp_path: Path) -> None:  # fmt: skip
    """A name mistyped in the one file of distances: 'nothing measured contradicts itself' would be said of nothing."""
    shed = Path(shutil.copytree(EXAMPLES / "pipit", tmp_path / "pipit"))
    for name in ("readings.toml", "trammel.toml"):
        text = (shed / name).read_text(encoding="utf-8")
        (shed / name).write_text(text.replace("Pipit", "Pippit"), encoding="utf-8")
    run = linkmotion(words[0], shed, *words[1:])
    assert_refused(run, shed)
    told = " ".join(run.err.split())
    assert 'trammel.toml is of \'Tolmarsh Brick Company, No. 2 "Pippit"' in told
    assert "correct engine in [readings]" in told


def test_parts_are_borrowed_from_another_engines_folder(shed: Path, tmp_path: Path, linkmotion: Command) -> None:
    (tmp_path / "sister").mkdir()
    shutil.copy(EXAMPLES / "dock_sister.toml", tmp_path / "sister" / "s.toml")
    words: list[str | Path] = ["compare", shed, "--state", "drawing", "--notch", "mid", "--borrow"]
    by_folder = linkmotion(*words, f"radius_rod:left:{tmp_path / 'sister'}")
    assert by_folder == linkmotion(*words, f"radius_rod:left:{tmp_path / 'sister' / 's.toml'}")
    assert "Whelk" in by_folder.out


def crowded(shed: Path) -> None:
    shutil.copy(shed / "winkle.toml", shed / "second.toml")


def bare(shed: Path) -> None:
    (shed / "winkle.toml").unlink()


def unreadable(shed: Path) -> None:
    (shed / "winkle.toml").write_text("[engine\n")


def twice_read(shed: Path) -> None:
    shutil.copy(shed / "readings.toml", shed / "more.toml")


def twice_marked(shed: Path) -> None:
    shutil.copy(shed / "marks.toml", shed / "more.toml")


def two_slots(shed: Path) -> None:
    shutil.copy(shed / "slot-right.csv", shed / "more.csv")


def unread(shed: Path) -> None:
    (shed / "readings.toml").unlink()


def unmarked(shed: Path) -> None:
    (shed / "marks.toml").unlink()


WRONG = {
    "two engine files": (crowded, ["check"], ["2 engine files", "second.toml, winkle.toml", "give the file itself"]),
    "no engine file": (bare, ["check"], ["no engine file in this folder", "linkmotion begin"]),
    "a broken engine file": (unreadable, ["check"], ["line 1", "TOML"]),
    "two readings": (twice_read, ["diagnose"], ["2 files of readings", "more.toml, readings.toml"]),
    "two readings to adjust by": (twice_read, ["adjust"], ["2 files of readings"]),
    "no readings": (unread, ["diagnose"], ["no readings in this folder", "linkmotion form"]),
    "two of marks": (twice_marked, ["tram"], ["2 files of wheel marks", "marks.toml"]),
    "no marks": (unmarked, ["tram"], ["no wheel marks in this folder", "[tram]"]),
    "two slots": (
        two_slots, ["cleanup", "--state", "as found", "--side", "right", "--tables"], ["2 tables of slot"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", WRONG)
def test_a_folder_that_does_not_say_which_is_told(what: str, shed: Path, linkmotion: Command) -> None:
    make, words, said = WRONG[what]
    make(shed)
    before = sorted(shed.rglob("*"))
    run = linkmotion(words[0], shed, *words[1:])
    assert_refused(run, shed)
    for word in said:
        assert word in run.err
    assert sorted(shed.rglob("*")) == before


def test_a_folder_of_very_many_files_is_refused(tmp_path: Path) -> None:
    for number in range(2001):
        (tmp_path / f"{number}.txt").touch()
    with pytest.raises(FileError, match="more than 2000"):
        EngineFolder(tmp_path).engine()
