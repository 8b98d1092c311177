"""The telephone's page in the hand: small, offline, large keys within the thumb's reach, for everybody."""

from __future__ import annotations

from html import unescape
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from linkmotion.files.engine_file import read_engine
from linkmotion.studies.assess import assess
from tests.browser.telephone import made_for, opened, to_reading
from tests.browser.test_page_for_everyone import AXE, FINGER, SMALLEST, TYPE

NAMES = ("dock_shunter", "stephenson_goods", "donkey_eccentric")
MOST = 300_000  # bytes: a telephone takes it as a message
TOUCHED = """() => [...document.querySelectorAll("button, select, input, summary")]
    .filter((e) => e.getClientRects().length).map((e) => [e, e.getBoundingClientRect()])
    .map(([e, b]) => [e.id || e.textContent, b.width, b.height, b.top, b.bottom])"""
BEYOND = "(() => { const m = document.querySelector('main'); return m.scrollHeight - m.clientHeight; })()"
FOUND = "axe.run().then((all) => all.violations.map((v) => [v.id, v.nodes.map((n) => n.html)]))"
PLACE = """(part) => { const m = document.querySelector(`#gear [data-part='${part}']`).transform.baseVal[0].matrix;
    return [m.a, m.b, m.e, m.f]; }"""


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("phone")
    return {name: made_for(f"examples/{name}.toml", folder) for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_it_is_small_and_names_no_address(files: dict[str, Path], name: str) -> None:
    data = files[name].read_bytes()
    assert 50_000 < len(data) <= MOST
    text = data.decode().replace("http://www.w3.org/2000/svg", "")  # a name of the standard, never fetched
    assert "http:" not in text
    assert "https:" not in text
    assert "default-src 'none'" in unescape(text)


@pytest.mark.parametrize(("width", "height"), [(320, 568), (390, 700), (390, 844), (430, 932)])
@pytest.mark.parametrize("name", ["dock_shunter", "stephenson_goods"])
def test_keys_are_large_within_the_thumbs_reach_and_nothing_is_hidden(
    browser: Any, files: dict[str, Path], name: str, width: int, height: int
) -> None:
    with opened(browser, files[name], width, height) as page:
        page.locator("#next").tap()
        page.locator("#next").tap()
        met = 0
        for title in ("Front lead", "Die height", "Front cutoff, running forward"):
            to_reading(page, title, "full forward, left side")
            for own, wide, high, top, bottom in page.evaluate(TOUCHED):
                assert wide >= FINGER, own
                assert high >= FINGER, own
                assert top >= 0.4 * height, own  # the lower three fifths
                assert bottom <= height, own
                met += 1
            assert page.evaluate(BEYOND) <= 0
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            for picture in ("#gear", "#section"):
                box = page.locator(picture).bounding_box()
                assert box["width"] > 90
                assert box["height"] > 75
                ring = page.locator(f"{picture} .ring").first.bounding_box()
                assert box["x"] <= ring["x"] <= ring["x"] + ring["width"] <= box["x"] + box["width"]
                assert box["y"] <= ring["y"] <= ring["y"] + ring["height"] <= box["y"] + box["height"]
            assert [own for own in page.evaluate(TYPE) if own[1] < SMALLEST] == []
        assert met > 60
        page.locator("#list").tap()
        assert [own for own in page.evaluate(TOUCHED) if own[1] < FINGER or own[2] < FINGER] == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize(("width", "height"), [(320, 568), (390, 700), (390, 844), (844, 390)])
def test_of_a_mark_nothing_is_hidden_whichever_way_the_wheel_was_turned(
    browser: Any, files: dict[str, Path], width: int, height: int
) -> None:
    with opened(browser, files["dock_shunter"], width, height) as page:
        page.select_option("#centres", "marks")
        page.locator("#next").tap()
        for _ in range(2):
            page.locator("#next").tap()
            for way in page.eval_on_selector_all("#way option", "(all) => all.map((own) => own.value)"):
                page.select_option("#way", way)
                assert page.evaluate(BEYOND) <= 0, way
                assert [own for own in page.evaluate(TOUCHED) if own[1] < FINGER or own[2] < FINGER] == []
                assert page.evaluate("document.documentElement.scrollWidth") <= width
                assert page.locator("#gear").bounding_box()["height"] > 75


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_is_found_wrong_by_a_checker_of_access(browser: Any, files: dict[str, Path], scheme: str) -> None:
    if not AXE.exists():
        pytest.skip("axe-core is not installed: npm ci --prefix tests/scripts --ignore-scripts")
    with opened(browser, files["dock_shunter"], color_scheme=scheme) as page:
        page.evaluate(AXE.read_text("utf-8"))
        page.select_option("#centres", "marks")
        for _ in range(9):
            found = page.evaluate(FOUND)
            assert found == []
            page.locator("#next").tap()
        page.locator("#list").tap()
        assert page.evaluate(FOUND) == []
        assert page.evaluate("axe.run().then((all) => all.passes.length)") > 20


def test_the_drawing_stands_as_the_gear_does_for_each_reading(browser: Any, files: dict[str, Path]) -> None:
    engine = read_engine("examples/dock_shunter.toml")
    side = assess(engine, "drawing", ("left",)).sides[0]
    rod = float(side.gear.crank.rod)
    with opened(browser, files["dock_shunter"]) as page:
        to_reading(page, "Back opening", "full forward, left side")
        wheel, piston = page.evaluate(PLACE, "wheel"), page.evaluate(PLACE, "piston rod")
        turn = np.degrees(np.arctan2(-wheel[1], wheel[0])) % 360
        told = float(page.text_content("#stands").split("about ")[1].split("°")[0])
        assert turn == pytest.approx(told, abs=0.6)
        r = float(side.gear.crank.radius)
        angle = np.radians(turn)
        assert piston[2] == pytest.approx(r * np.cos(angle) + np.sqrt(rod**2 - (r * np.sin(angle)) ** 2), abs=0.2)
