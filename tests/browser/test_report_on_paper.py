"""The report as Chromium prints it on A4 and on Letter, and as a phone shows it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pymupdf
import pytest

from linkmotion.files.engine_file import read_engine
from tests.bad_engines.changed import EXAMPLES
from tests.bad_engines.command import Command

DOCK = EXAMPLES / "dock_shunter.toml"
LEAST = 7.95  # points: 8, and the printer's rounding
PHONE = {"width": 390, "height": 844}


@pytest.fixture
def report(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Path:
    run = Command(monkeypatch, capsys)("check", DOCK, "--state", "as found", "--state", "drawing", "--into", tmp_path)
    assert run.code == 1
    return tmp_path / "report.html"


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_every_sheet_says_of_which_engine_and_state_it_is(paper: str, report: Path, browser: Any) -> None:
    """Engine, state, date and page stand on every sheet; nothing is smaller than 8 pt; nothing runs off the paper."""
    page = browser.new_page()
    page.goto(report.as_uri())
    printed = pymupdf.open(stream=page.pdf(format=paper, prefer_css_page_size=False, print_background=True))
    page.close()
    name, states = read_engine(DOCK).name, set()
    for number in range(1, len(printed) + 1):
        sheet: Any = printed[number - 1]
        words = " ".join(sheet.get_text().split())
        assert name in words
        assert f"{number} / {len(printed)}" in words
        assert "20" in words  # of the year
        states |= {state for state in ("as found, as it stands", "drawing, as it stands") if state in words}
        assert any(state in words for state in ("as it stands", "set afresh", "in service"))
        for span in (span for block in sheet.get_text("dict")["blocks"] for line in block.get("lines", ())
                     for span in line["spans"] if span["text"].strip()):  # fmt: skip
            assert span["size"] >= LEAST, (number, span["text"])
            assert span["bbox"][0] >= 0
            assert span["bbox"][2] <= sheet.rect.width, (number, span["text"])
    assert states == {"as found, as it stands", "drawing, as it stands"}


def test_the_first_sheet_answers_whether_it_is_right(report: Path, browser: Any) -> None:
    """Verdict, every notch's figures, the worst of them marked in words too."""
    page = browser.new_page()
    page.goto(report.as_uri())
    first = pymupdf.open(stream=page.pdf(format="A4", print_background=True))[0].get_text()
    page.close()
    assert "out of target, worst: " in " ".join(first.split())
    side = read_engine(DOCK).side_state("as found", "left")
    assert all(notch in first for notch in side.notches)
    assert first.count("×") > 20
    assert "≠" in first
    assert "✗" in first


def test_a_phone_shows_the_report_without_sliding_sideways(report: Path, browser: Any) -> None:
    """Only what is in a box of its own is wider than the screen; plots stand one under another."""
    page = browser.new_page(viewport=PHONE)
    page.goto(report.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert page.evaluate("[...document.querySelectorAll('table')].every(t => t.closest('.scroll'))")
    boxes = page.evaluate(
        "[...document.querySelectorAll('figure:not(.wide) img')].map(i => [i.getBoundingClientRect().left, i.width])"
    )
    page.close()
    assert len(boxes) > 10
    assert {round(left) for left, _wide in boxes} == {round(boxes[0][0])}
    assert min(wide for _left, wide in boxes) > 0.9 * PHONE["width"]
