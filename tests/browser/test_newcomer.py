"""The questions of lesson 1 asked of one who has only the page: that the page holds what the answers are made of."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from linkmotion.files.engine_file import read_engine
from linkmotion.studies.page_data import page_data
from linkmotion.views.moving.page import page as page_of
from tests.browser.test_moving_page import until

DONKEY, INSIDE = Path("examples/donkey_eccentric.toml"), Path("examples/metre_gauge.toml")


@pytest.fixture
def shown(browser: Any, tmp_path: Path) -> Iterator[Any]:
    page = browser.new_page(viewport={"width": 1280, "height": 900})

    def show(engine: Path) -> Any:
        file = tmp_path / f"{engine.stem}.html"
        file.write_text(page_of(page_data(read_engine(engine))), "utf-8")
        page.goto(file.as_uri())
        until(page, "document.documentElement.dataset.ready === 'yes'")
        return page

    yield show
    page.close()


def test_with_the_valve_in_the_middle_no_port_is_open_to_steam(shown: Any) -> None:
    """Question 1: the tour says so, and the wheel can be turned to where it is so."""
    page = shown(DONKEY)
    page.click("#tour-start")
    for _ in range(4):
        page.click("#tour-next")
    told = page.inner_text("#tour-words")
    assert "In its middle place the valve covers the ports" in told
    assert "here, where the piston turns, the port is already open" in told
    assert page.evaluate("linkmotion.s.angle") == pytest.approx(0.0, abs=0.5)  # it is there that the tour has led


def test_the_beat_at_the_chimney_is_release(shown: Any) -> None:
    """Question 2: the page says it where the event happens."""
    page = shown(DONKEY)
    for _ in range(8):
        page.keyboard.press("e")
        page.wait_for_timeout(700)
        told = page.inner_text("#told")
        assert ("chimney" in told) == (", release at" in told)
        if "chimney" in told:
            return
    pytest.fail("no release was told of")


def test_the_share_of_the_stroke_with_steam_shut_in_can_be_read(shown: Any) -> None:
    """Question 3: from cutoff to release, the lesson's own figures (4.5 % and 5.9 %)."""
    page = shown(DONKEY)
    rows = page.evaluate(
        "[...document.querySelectorAll('#events tr')].map(r => [...r.children].map(c => c.textContent))"
    )
    shut_in = {row[0]: round(float(row[4]) - float(row[3]), 1) for row in rows}
    assert shut_in == {"front": 4.5, "back": 5.9}


@pytest.mark.parametrize(("engine", "toward"), [(DONKEY, "back"), (INSIDE, "forward")])
def test_how_the_valve_is_moved_to_make_leads_alike(shown: Any, engine: Path, toward: str) -> None:
    """Question 4: by half the difference; the front wants more, so back with outside admission."""
    told = shown(engine).inner_text("#lead-words")
    assert f"moved {toward} on its spindle gives the front end more lead" in told
    assert "half the difference" in told
