"""Cells of a CSV table that no spreadsheet takes for a formula."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkmotion.files.cells import shielded, table, unshielded
from linkmotion.files.engine_file import read_engine
from linkmotion.files.readings_file import read_readings
from linkmotion.files.results import as_csv
from tests.bad_engines.changed import replaced
from tests.bad_engines.command import Command


@given(st.lists(st.one_of(st.text(st.characters(codec="utf-8", exclude_characters="\0\r")), st.floats(-9, 9))))
def test_no_cell_of_words_begins_like_a_formula_and_all_are_read_back(cells: list[str | float]) -> None:
    ((*read,),) = csv.reader(io.StringIO(table([["first", *cells]]), newline=""))
    for cell, shown in zip(cells, read[1:], strict=True):
        if isinstance(cell, str):
            assert not shown.startswith(("=", "+", "-", "@", "\t"))
            assert unshielded(shown) == cell or cell.startswith("'")
        else:
            assert float(shown) == cell


def test_figures_are_not_shielded() -> None:
    assert [shielded(cell) for cell in (-0.5, -3, None, "-0.5")] == [-0.5, -3, None, "'-0.5"]


def test_a_state_that_reads_like_a_formula_is_words_in_the_csv_of_the_events() -> None:
    text = as_csv([{"state": '=HYPERLINK("x")', "notch": "+mid"}], "mm")
    assert list(csv.reader(io.StringIO(text)))[1] == ['\'=HYPERLINK("x")', "'+mid"]


def test_names_that_read_like_formulas_come_back_out_of_a_form(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    engine, file = tmp_path / "engine.toml", tmp_path / "form.csv"
    engine.write_text(replaced('"mid" =', '"=mid" ='), encoding="utf-8")
    linkmotion = Command(monkeypatch, capsys)
    assert linkmotion("form", engine, file, "--notch", "=mid", "--side", "left").code == 0
    text = file.read_text(encoding="utf-8")
    cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row if not row[0].startswith("#")]
    assert "'=mid" in cells
    assert not any(cell.startswith(("=", "+", "-", "@")) for cell in cells)
    filled = text.replace("within,?", "within,0.1 mm").replace("within_percent,?", "within_percent,1")
    lines = [line.replace("?", "2 mm") for line in filled.splitlines() if "?" not in line or ",lead," in line]
    file.write_text("\n".join(lines), encoding="utf-8")
    assert {reading.notch for reading in read_readings(file, read_engine(engine)).of("left")} == {"=mid"}
