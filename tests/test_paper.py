"""Sheets on paper: what they hold, how large it is, and that nothing of the user's is lost for them."""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Callable
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any

import pymupdf
import pytest

from linkmotion.cli import main
from linkmotion.views.paper import as_pdf, in_css
from tests.bad_engines.changed import EXAMPLES
from tests.bad_engines.command import Command

MM = 72 / 25.4  # points
SIZES = {"A4": (210 * MM, 297 * MM), "letter": (8.5 * 72, 11 * 72)}

Form = Callable[..., tuple[int, Path]]


@pytest.fixture
def form(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Form:
    def run(engine: str, *more: str) -> tuple[int, Path]:
        (tmp_path / "r.toml").unlink(missing_ok=True)
        line = ["linkmotion", "form", str(EXAMPLES / engine), str(tmp_path / "r.toml")]
        monkeypatch.setattr(sys, "argv", [*line, "--sheet", str(tmp_path / "r.html"), *more])
        with pytest.raises(SystemExit) as ended:
            main()
        return int(ended.value.code or 0), tmp_path

    return run


class Boxes(HTMLParser):
    """Empty boxes of each sheet of a page, side by side."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.count: list[int] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "section":
            self.count.append(0)
        if tag == "td" and ("class", "line") in attrs:
            self.count[-1] += 1


def spans(page: Any) -> list[dict[str, Any]]:
    lines = [line for block in page.get_text("dict")["blocks"] for line in block.get("lines", ())]
    return [span for line in lines for span in line["spans"] if span["text"].strip()]


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize("engine", ["metre_gauge.toml", "donkey_eccentric.toml"])
def test_the_readings_sheet_has_a_box_for_everything_that_the_form_asks(form: Form, engine: str, paper: str) -> None:
    ended, folder = form(engine, "--paper", paper)
    assert ended == 0
    asked = tomllib.loads((folder / "r.toml").read_text())
    wanted = [
        sum(row.get(key) == "?" for row in asked[side]["readings"] for key in ("front", "back", "reads"))
        for side in ("left", "right")
    ]
    assert Boxes((folder / "r.html").read_text()).count == wanted
    with pymupdf.open(folder / "r.pdf") as sheets:
        assert len(sheets) == 2, "a sheet a side"
        for side, page in zip(("left", "right"), sheets, strict=True):
            assert f"Readings, {side} side" in page.get_text()


@pytest.mark.parametrize("paper", SIZES)
def test_a_sheet_is_of_its_paper_with_rows_of_8_mm_and_letters_of_8_points(form: Form, paper: str) -> None:
    _, folder = form("metre_gauge.toml", "--paper", paper)
    with pymupdf.open(folder / "r.pdf") as sheets:
        for number, page in enumerate(sheets, 1):
            assert tuple(page.rect.br) == pytest.approx(SIZES[paper], abs=0.5)
            assert min(span["size"] for span in spans(page)) >= 7.99
            foot = " ".join(span["text"] for span in spans(page) if span["bbox"][3] > page.rect.height - 13 * MM)
            assert asked_name("metre_gauge.toml") in foot
            assert f"{number} of {len(sheets)}" in foot
            rows = [span["origin"][1] for span in spans(page) if span["text"] in ("forward", "backward")]
            down = sorted(y for y in rows if y > rows[0])  # below the boxes to be ticked
            assert min(b - a for a, b in pairwise(down)) >= 8 * MM - 0.01


def asked_name(engine: str) -> str:
    return str(tomllib.loads((EXAMPLES / engine).read_text())["engine"]["name"])


def test_a_pdf_of_the_users_own_stays(form: Form, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "r.pdf").write_bytes(b"mine")
    ended, folder = form("metre_gauge.toml", "--paper", "A4")
    assert ended == 2
    assert "was not written by linkmotion" in capsys.readouterr().err
    assert (folder / "r.pdf").read_bytes() == b"mine"
    assert not (folder / "r.html").exists()
    assert not (folder / "r.toml").exists()
    ended, folder = form("metre_gauge.toml", "--paper", "A4", "--replace")
    assert ended == 0
    assert (folder / "r.pdf").read_bytes().startswith(b"%PDF")


def test_without_weasyprint_it_is_told_before_any_work(
    form: Form, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    ended, folder = form("metre_gauge.toml", "--paper", "A4")
    assert ended == 2
    assert "--paper" in (told := capsys.readouterr().err)
    assert "linkmotion[pdf]" in told
    assert not list(folder.iterdir())


def test_a_page_fetches_nothing(tmp_path: Path) -> None:
    secret = tmp_path / "secret.svg"
    secret.write_text('<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><text>SECRET</text></svg>')
    page = f'<img src="{secret.as_uri()}"><link rel=stylesheet href="http://127.0.0.1:9/x.css"><p>seen</p>'
    with pymupdf.open(stream=as_pdf(page, "A4")) as sheets:
        assert sheets[0].get_text().split() == ["seen"]
        assert not sheets[0].get_drawings()
        assert not sheets[0].get_images()


def test_words_of_the_user_do_not_leave_their_string_of_the_style() -> None:
    hostile = 'No. 4"; } body { display: none } </style><p>late</p> \\22 ü'
    page = f"<style>@page {{ @bottom-left {{ content: {in_css(hostile)} }} }}</style><p>seen</p>"
    with pymupdf.open(stream=as_pdf(page, "A4")) as sheets:
        words = " ".join(sheets[0].get_text().split())
    assert words in (f"seen {hostile}", f"{hostile} seen")


@pytest.mark.parametrize(
    ("words", "page"),
    [
        (("check", "--state", "drawing", "--notch", "mid"), "report"),
        (("cleanup", "--state", "as found"), "slot-worn-centre"),
    ],
)
def test_pages_of_a_folder_go_on_paper_and_a_pdf_of_the_users_own_stays(
    words: tuple[str, ...],
    page: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    run = Command(monkeypatch, capsys)
    line: tuple[str | Path, ...] = (
        words[0],
        EXAMPLES / "dock_shunter.toml",
        *words[1:],
        "--into",
        tmp_path,
        "--paper",
        "letter",
    )
    mine = tmp_path / f"{page}.pdf"
    mine.write_bytes(b"mine")
    refused = run(*line)
    assert refused.code == 2
    assert "was not written by linkmotion" in refused.err
    assert list(tmp_path.iterdir()) == [mine]
    mine.unlink()
    assert run(*line).code in (0, 1)
    assert mine.with_suffix(".html").exists()
    with pymupdf.open(mine) as sheets:
        assert tuple(sheets[0].rect.br) == pytest.approx(SIZES["letter"], abs=0.5)
        assert f"of {len(sheets)}" in sheets[0].get_text() or f"/ {len(sheets)}" in sheets[0].get_text()
        assert asked_name("dock_shunter.toml") in sheets[0].get_text()
