"""A file carried back to the bench: beside what is there, kept whole under a name of its own, or refused."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
import tomlkit

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.screens.carried_screen import takes
from linkmotion.files.carried_file import LARGEST
from linkmotion.files.faults import FileError
from tests.bench_at import DOCK, EXAMPLES, laid_out

HEAD = """[readings]
engine = {engine}
state = "drawing"
unit = "in"
within = "5 thou"
within_percent = 0.8

[left]
readings = [
    {{ notch = "full forward", kind = "lead", front = {lead} }},
    {{ notch = "full forward", kind = "cutoff", direction = "forward", front = "70 %" }},
]
"""


@pytest.fixture
def work(tmp_path: Path) -> EngineAtWork:
    """An engine with readings of one lead: 1/8 in at the front in full forward."""
    folder = laid_out(tmp_path, DOCK)
    text = carried(EngineAtWork(folder, DOCK), '"1/8 in"').split("\n")
    (tmp_path / "taken.toml").write_text("\n".join(line for line in text if "cutoff" not in line), "utf-8")
    return EngineAtWork(folder, DOCK)


def carried(work: EngineAtWork, lead: str) -> str:
    return HEAD.format(engine=tomlkit.item(work.must().name).as_string(), lead=lead)


def look(work: EngineAtWork, text: Any, beside: str = "taken.toml") -> Any:
    return takes(work, {"do": "look", "text": text, "beside": beside})


@pytest.mark.parametrize(
    ("lead", "words"),
    [
        (
            '"0.1349 in"',
            "2 figures were carried back: 1 new, 1 as they are there, 0 that contradict.",
        ),  # 9.9 thou of 10
        ('"0.1351 in"', "2 figures were carried back: 1 new, 0 as they are there, 1 that contradicts."),
    ],
)
def test_what_is_new_and_what_contradicts_is_told_beyond_both_doubts(work: EngineAtWork, lead: str, words: str) -> None:
    told = look(work, carried(work, lead))
    assert words in told["met"]
    assert told["good"]
    assert ("✗" in told["met"]) == ("1 that contradicts" in words)


def test_what_is_kept_is_a_file_of_its_own_and_is_kept_once(work: EngineAtWork, tmp_path: Path) -> None:
    text, before = carried(work, '"0.2 in"'), {own.name: own.read_bytes() for own in tmp_path.glob("*.toml")}
    told = takes(work, {"do": "keep", "text": text})
    after = {own.name: own.read_bytes() for own in tmp_path.glob("*.toml")}
    assert {name: after[name] for name in before} == before
    ((name, kept),) = {name: own for name, own in after.items() if name not in before}.items()
    assert kept == text.encode()
    assert told["to"].startswith("read?readings=")
    assert name.startswith(f"{DOCK} readings 20")
    again = look(work, text.replace("\n", "\r\n"))
    assert f"there already, as {name}" in again["met"]
    assert not again["good"]
    with pytest.raises(FileError, match="there already"):
        takes(work, {"do": "keep", "text": text})
    assert {own.name for own in tmp_path.glob("*.toml")} == set(after)


def test_wheel_marks_are_known_and_go_to_the_dead_centres(work: EngineAtWork) -> None:
    text = (EXAMPLES / "readings" / f"{DOCK}-marks.toml").read_text("utf-8")
    assert "pairs of wheel marks were carried back" in look(work, text)["met"]
    assert takes(work, {"do": "keep", "text": text})["to"].startswith("dead_centres?marks=")


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (lambda text: text.replace("drawing", "<img src=x onerror=alert(1)>"), "<img"),
        (lambda text: text.replace("Harrowquay", "Other"), "these are readings of"),
        (lambda text: text.replace("full forward", "full astern"), "no notch"),
        (lambda text: text + "#" * LARGEST, "larger"),
        (lambda text: "", "no readings file"),
        (lambda text: text + "\0", "no readings file"),
        (lambda text: "[engine]\nname = 'x'", "unknown"),
        (lambda text: 7, "cannot be understood"),
    ],
)
def test_what_is_no_readings_of_this_engine_is_refused_and_not_kept(
    work: EngineAtWork, tmp_path: Path, made: Any, words: str
) -> None:
    before = sorted(tmp_path.iterdir())
    text = made(carried(work, '"0.2 in"'))
    for do in ("look", "keep"):
        with pytest.raises(FileError) as refused:
            takes(work, {"do": do, "text": text, "beside": "taken.toml"})
        assert words in f"{refused.value.problem}"
    assert sorted(tmp_path.iterdir()) == before


def test_readings_of_another_folder_are_not_held_against(work: EngineAtWork, tmp_path: Path) -> None:
    shutil.copy(EXAMPLES / "readings" / f"{DOCK}.toml", tmp_path.parent / "outside.toml")
    for name in ("../outside.toml", f"{DOCK}.toml"):
        with pytest.raises(FileError, match="no such file"):
            look(work, carried(work, '"0.2 in"'), name)
