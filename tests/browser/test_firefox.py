"""Every page and sheet in Debian's Firefox: it opens, its script runs, nothing is complained of, no network asked."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from linkmotion.files.engine_file import read_engine
from linkmotion.studies.page_data import page_data
from linkmotion.views.moving.page import page
from tests.bad_engines.command import Command
from tests.bench_at import laid_out, on_the_wire
from tests.browser.firefox import BINARY, Firefox, running
from tests.gears_at_hand import EXAMPLES

DESKTOP, TABLET, PHONE = (1280, 900), (820, 1180), (390, 844)
DOCK = Path("examples/dock_shunter.toml")
SHEETS = {
    "report.html": ("check", DOCK, "--state", "as found", "--into", "."),
    "readings.html": ("form", DOCK, "form.toml", "--sheet", "readings.html"),
    "setting.html": ("adjust", DOCK, "--state", "as found", "--sheet", "setting.html"),
    "slot/slot-drawn-centre.html": ("cleanup", DOCK, "--state", "as found", "--into", "slot"),
}


@pytest.fixture(scope="module")
def firefox(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Firefox]:
    """Firefox; the tests are passed over where it, or what it is led by, is not installed."""
    pytest.importorskip("websockets.sync.client", reason="websockets is not installed")
    if not BINARY.exists():
        pytest.skip("Firefox is not installed")
    with running(tmp_path_factory.mktemp("firefox")) as own:
        yield own


def assert_sound(firefox: Firefox, width: int) -> None:
    assert firefox.errors == []
    assert firefox.requests == []
    assert float(firefox.value("document.documentElement.scrollWidth")) <= width


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_the_moving_page_turns_the_wheel(firefox: Firefox, file: Path, tmp_path: Path) -> None:
    """In three sizes; turning the wheel moves the drawing's connecting rod."""
    own = tmp_path / "page.html"
    own.write_text(page(page_data(read_engine(file))), "utf-8")
    for width, height in (DESKTOP, TABLET, PHONE):
        firefox.open(own.as_uri(), width, height)
        firefox.until("document.documentElement.dataset.ready === 'yes'")
        before = firefox.value("document.querySelector('.part.main-rod').getBoundingClientRect().y")
        firefox.value("linkmotion.turnTo(90)")
        firefox.until(f"document.querySelector('.part.main-rod').getBoundingClientRect().y !== {before}")
        assert_sound(firefox, width)


@pytest.mark.parametrize("name", SHEETS)
def test_a_sheet_opens_with_all_of_its_pictures(
    firefox: Firefox,
    name: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    words = [word.resolve() if isinstance(word, Path) else word for word in SHEETS[name]]
    monkeypatch.chdir(tmp_path)
    assert Command(monkeypatch, capsys)(*words).code in (0, 1)
    for width, height in (DESKTOP, TABLET, PHONE):
        firefox.open((tmp_path / name).as_uri(), width, height)
        assert firefox.value("[...document.images].filter(i => !i.complete || !i.naturalWidth).length") == 0
        assert float(firefox.value("document.images.length + document.querySelectorAll('svg').length")) > 0
        assert_sound(firefox, width)


def test_the_bench_answers(firefox: Firefox, tmp_path: Path) -> None:
    with on_the_wire(laid_out(tmp_path)) as bench:
        firefox.open(f"{bench.address}e/dock_shunter/side")
        firefox.until("document.body.dataset.ready === 'yes' && document.querySelector('#gear .tag')")
        assert firefox.errors == []
        assert [url for url in firefox.requests if not url.startswith(bench.address)] == []


def test_a_complaint_is_heard(firefox: Firefox, tmp_path: Path) -> None:
    """A script that fails, a picture that is not there and an address of a network are told of."""
    own = tmp_path / "bad.html"
    own.write_text(
        "<!doctype html><title>bad</title><img src='https://nowhere.invalid/x.png'><script>nothing.there()</script>",
        "utf-8",
    )
    firefox.open(own.as_uri())
    assert any("nothing is not defined" in error for error in firefox.errors)
    assert firefox.requests == ["https://nowhere.invalid/x.png"]
    assert firefox.value("[...document.images].filter(i => !i.complete || !i.naturalWidth).length") == 1
