"""Readings files written anew row by row, and files begun beside an engine's."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from linkmotion.bench.files_beside import FilesBeside
from linkmotion.files.figure_edit import GONE
from linkmotion.files.readings_edit import RowPlace, with_reading, without_blanks
from tests.bench_at import EXAMPLES, laid_out

WINKLE = "winkle"


def test_a_row_comes_and_goes_without_touching_the_others() -> None:
    text = (EXAMPLES / WINKLE / "readings.toml").read_text("utf-8")
    place = RowPlace("right", "mid", "lead")
    longer = with_reading(text, place, "front", "1/8 in")
    before, after = tomllib.loads(text), tomllib.loads(longer)
    assert after.pop("right") == {"readings": [{"notch": "mid", "kind": "lead", "front": "1/8 in"}]}
    assert after == before
    assert without_blanks(text) == text
    assert with_reading(longer, place, "front", GONE).startswith(text.rstrip("\n"))
    assert tomllib.loads(with_reading(longer, place, "front", GONE))["right"] == {"readings": []}


def test_a_row_that_cannot_be_written_alone_is_refused() -> None:
    twice = (
        '[left]\nreadings = [{ notch = "a", kind = "lead", front = 1 }, { notch = "a", kind = "lead", front = 2 }]\n'
    )
    place = RowPlace("left", "a", "lead")
    with pytest.raises(ValueError, match="by hand"):
        with_reading(twice, place, "front", GONE)
    assert "front = 3" in with_reading(twice, RowPlace("left", "a", "lead", number=1), "front", 3)


def test_files_are_begun_beside_one_another(tmp_path: Path) -> None:
    folder = laid_out(tmp_path)
    beside = FilesBeside(folder, "an engine/with <signs>")
    names = [beside.begin("readings", "[readings]\n") for _ in range(3)]
    assert len(set(names)) == 3
    assert all((tmp_path / own).is_file() for own in names)
    assert set(beside.listed("readings")) == set(names)
