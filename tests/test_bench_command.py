"""``linkmotion bench``, ``linkmotion`` alone, and what a new engine's file begins as."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from linkmotion.bench.blanks import blanks
from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.filling import fill, wanted
from linkmotion.bench.folder_of_engines import FolderOfEngines
from linkmotion.bench.new_engine import EXAMPLE, begin, example
from linkmotion.bench.opening import BenchRequest, run_bench
from linkmotion.bench.screen import screens
from linkmotion.cli.in_the_browser import words_alone
from linkmotion.files.engine_file import read_engine
from linkmotion.files.faults import FileError
from linkmotion.gears import GEARS
from tests.bench_at import DOCK, EXAMPLES, laid_out
from tests.desk import own_process


class Terminal:
    """A stream somebody sits at, or not."""

    def __init__(self, seated: bool) -> None:
        self.seated = seated

    def isatty(self) -> bool:
        return self.seated


@pytest.mark.parametrize(
    ("seated", "display", "words"),
    [(True, True, ["bench"]), (False, True, ["--help"]), (True, False, ["--help"])],
)
def test_alone_it_opens_the_bench_where_somebody_sits_before_a_screen(
    seated: bool, display: bool, words: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "platform", "linux")
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    if display:
        monkeypatch.setenv("DISPLAY", ":0")
    monkeypatch.setattr(sys, "stdin", Terminal(seated))
    monkeypatch.setattr(sys, "stdout", Terminal(True))
    assert words_alone() == words


def test_alone_without_a_terminal_it_ends_with_the_help(tmp_path: Path) -> None:
    shutil.copy(EXAMPLES / f"{DOCK}.toml", tmp_path)
    done = subprocess.run(
        [sys.executable, "-m", "linkmotion"],
        cwd=tmp_path, capture_output=True, timeout=60, stdin=subprocess.DEVNULL, check=False,
        env=os.environ | {"DISPLAY": ":0", "PYTHONPATH": str(EXAMPLES.parent)},
    )  # fmt: skip
    assert done.returncode == 0
    assert b"linkmotion bench opens the browser" in done.stdout


def test_a_command_that_the_bench_took_over_points_to_it() -> None:
    done = own_process("live", str(EXAMPLES / f"{DOCK}.toml"))
    assert done.returncode == 2
    assert done.stdout == b""
    assert b"linkmotion bench FOLDER" in done.stderr


def test_no_folder_and_a_port_that_is_taken_are_told(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no such folder"):
        run_bench(BenchRequest(tmp_path / "none", open=False))
    with pytest.raises(FileError, match="not a folder"):
        run_bench(BenchRequest(Path(shutil.copy(EXAMPLES / f"{DOCK}.toml", tmp_path)), open=False))
    with socket.create_server(("127.0.0.1", 0)) as taken, pytest.raises(FileError, match="choose another"):
        run_bench(BenchRequest(tmp_path, taken.getsockname()[1], open=False))


def test_the_example_is_the_one_of_the_examples_and_is_put_there_once(tmp_path: Path) -> None:
    folder = FolderOfEngines(tmp_path)
    assert folder.listed() == []
    assert example(folder) == EXAMPLE
    assert (tmp_path / f"{EXAMPLE}.toml").read_bytes() == (EXAMPLES / f"{DOCK}.toml").read_bytes()
    with pytest.raises(FileError, match="already"):
        example(folder)


@pytest.mark.parametrize("gear", GEARS)
def test_a_new_engine_of_every_gear_is_asked_for_its_figures(gear: str, tmp_path: Path) -> None:
    folder = FolderOfEngines(tmp_path)
    assert begin(folder, {"engine": 'A "new" one', "file": "new", "gear": gear, "unit": "mm"}) == "new"
    work = EngineAtWork(folder, "new")
    assert work.engine is None
    assert wanted(work) > 2
    first = next(own for part in blanks(work).values() for own in part if not own.value and own.needed and own.unit)
    with pytest.raises(FileError, match="not a length"):
        fill(work, first.name, "three apples", work.kept.version)
    before = wanted(work)
    fill(work, first.name, "1234.5", work.kept.version)
    assert wanted(work) == before - 1
    fill(work, first.name, "", work.kept.version)
    assert wanted(work) == before


def test_a_drawing_s_figures_taken_out_and_filled_in_again_make_the_same_engine(tmp_path: Path) -> None:
    folder = laid_out(tmp_path, DOCK)
    file = tmp_path / f"{DOCK}.toml"
    text = file.read_text("utf-8")
    for given in ('"31 17/32 in"', '"4 7/16"', "-21.25"):
        assert text.count(given) >= 1
        text = text.replace(given, '"?"', 1)
    file.write_text(text, "utf-8")
    work = EngineAtWork(folder, DOCK)
    assert work.engine is None
    for name, value in (("eccentric_rod.length", "31 17/32 in"), ("return_crank.pin_radius", "4 7/16"),
                        ("reversing.notches.full forward", "-21.25")):  # fmt: skip
        fill(work, name, value, work.kept.version)
    plain = [
        " ".join(text.split()) for text in (file.read_text("utf-8"), (EXAMPLES / f"{DOCK}.toml").read_text("utf-8"))
    ]
    assert plain[0] == plain[1]
    assert read_engine(file).drawing == read_engine(EXAMPLES / f"{DOCK}.toml").drawing


def test_every_screen_has_one_question_and_its_own_place() -> None:
    own = list(screens().values())
    assert all(screen.question.endswith("?") for screen in own)
    assert len({screen.place for screen in own}) == len(own)
