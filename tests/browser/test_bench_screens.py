"""The bench's screens in a real browser: readings typed along a slot by keyboard, a bush, the hours, sheets opened."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from linkmotion.files.figure_edit import figure_at, typed
from tests.bench_at import DOCK, EXAMPLES, laid_out
from tests.browser.test_bench import bench, ready, window
from tests.browser.test_bench_story import AT

PLACE = ("state", "as found", "right", "wear", "slot")


def answered(page: Any, words: str) -> None:
    """Wait until the answer says something."""
    page.locator("#answer .answer", has_text=words).wait_for(timeout=60_000)


def test_a_slot_is_read_and_cleaned_up_by_keyboard(browser: Any, tmp_path: Path) -> None:
    file = laid_out(tmp_path, DOCK).path / f"{DOCK}.toml"
    before = file.read_bytes()
    with (
        bench(tmp_path) as address,
        window(browser, f"{address}e/{DOCK}/slot?state=as+found&side=right") as page,
    ):
        answered(page, "has not been read yet")
        page.locator(".reading input").first.focus()
        for figure in ("-4 in", "2 thou", "0.003 in", "0", "1 thou", "2 apples"):
            page.keyboard.type(figure)
            page.keyboard.press("Tab")
        page.locator("#wrong-reading", has_text="unknown unit 'apples'").wait_for()
        wrong = page.locator(".reading [aria-invalid]")
        assert wrong.get_attribute("aria-label") == "lost on the back face, reading 2"
        assert wrong.get_attribute("aria-describedby") == "wrong-reading"
        wrong.fill("2 thou")
        wrong.press("Tab")
        for figure in ("4 in", "0.0015", "0.1 mm"):
            page.keyboard.type(figure)
            page.keyboard.press("Tab")
        page.wait_for_selector("body[data-entered='3']")
        assert page.locator("#wrong-reading").is_hidden()
        rows = figure_at(tomllib.loads(file.read_text("utf-8")), PLACE)
        assert rows == [
            {"at": "-4 in", "front": "2 thou", "back": "0.003 in"}, {"at": 0, "front": "1 thou", "back": "2 thou"},
            {"at": "4 in", "front": 0.0015, "back": "0.1 mm"},
        ]  # fmt: skip
        answered(page, "mean cut")
        page.locator("#answer figure").first.wait_for()
        page.select_option("[name=cleanup]", "drawn centre")
        page.locator("#answer figcaption", has_text="Drawn centre: machining drawing").wait_for(timeout=60_000)
        front = page.locator(".reading:nth-child(2) [data-key=front]")
        front.fill("")
        front.press("Tab")
        page.locator("#wrong-reading", has_text="clear all three").wait_for()
        assert figure_at(tomllib.loads(file.read_text("utf-8")), PLACE) == rows, "half a reading takes none out"
        for number in range(1, 4):
            page.click("text=Undo")
            page.wait_for_selector(f"body[data-stepped='{number}']")
        assert file.read_bytes() == before


def test_rows_never_come_to_an_end(browser: Any, tmp_path: Path) -> None:
    laid_out(tmp_path, DOCK)
    with (
        bench(tmp_path) as address,
        window(browser, f"{address}e/{DOCK}/slot?state=as+found&side=right", 390, 844) as page,
    ):
        for number in range(1, 11):
            row = page.locator(f".reading:nth-child({number})")
            for key, value in (("at", f"{number / 4 - 1}"), ("front", "1 thou"), ("back", "2 thou")):
                row.locator(f"[data-key={key}]").fill(value)
                row.locator(f"[data-key={key}]").press("Enter")
            page.locator(f"body[data-entered='{number}']").or_(page.locator("#wrong-reading:not([hidden])")).wait_for()
            assert page.locator("#wrong-reading").is_hidden(), page.locator("#wrong-reading").text_content()
        labels = page.evaluate("[...document.querySelectorAll('.reading input')].map((e) => e.ariaLabel)")
        assert len(labels) == len(set(labels)) == 33
        assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_bush_and_the_hours_are_typed_and_answered(browser: Any, tmp_path: Path) -> None:
    laid_out(tmp_path, "winkle/winkle")
    with bench(tmp_path) as address, window(browser, f"{address}e/winkle/pins") as page:
        for name, value in (("seat", "1 7/8 in"), ("housing_outside", "3 in"), ("bore", "1.36"), ("length", "two")):
            page.fill(f"[name={name}]", value)
        page.keyboard.press("Enter")
        page.locator("#wrong-length").wait_for()
        assert page.evaluate("document.activeElement.name") == "length", "what is wrong is gone to"
        page.keyboard.press("Control+a")
        page.keyboard.type("2 in")
        page.keyboard.press("Enter")
        page.locator("#bush .answer", has_text="turn the bush 1.8764 to 1.8769 in").wait_for()
        assert "turn the bush" in page.locator("#told").text_content()
        page.goto(f"{address}e/winkle/repairs?state=as+found")
        ready(page)
        page.fill("[name=hours]", "39")
        page.keyboard.press("Enter")
        answered(page, "(39 h)")
        with page.expect_popup() as opened:
            page.click("text=Job cards to print")
        opened.value.wait_for_url("**word=**")
        assert "set the right eccentric rod" in opened.value.locator("body").text_content()


@pytest.mark.parametrize("width", [1280, 390])
def test_sheets_open_with_their_own_looks_and_no_complaint(browser: Any, tmp_path: Path, width: int) -> None:
    laid_out(tmp_path, "winkle/winkle")
    with bench(tmp_path) as address, window(browser, f"{address}e/winkle/sheets", width) as page:
        for name in ("report", "measuring", "readings", "pins"):
            with page.expect_popup() as opened:
                page.click(f"a[href^='sheet/{name}']")
            own, said = opened.value, list[str]()
            own.wait_for_url("**word=**")
            own.on("console", lambda message, said=said: said.append(message.text))
            own.reload()
            own.wait_for_load_state()
            assert said == []
            assert own.evaluate("document.styleSheets.length") >= 1
            assert own.evaluate("[...document.images].every((i) => i.complete && i.naturalWidth > 0)")
            own.close()
    assert not (EXAMPLES / "winkle" / "earlier").exists()
    assert sorted(own.name for own in tmp_path.iterdir()) == ["winkle.toml"]


def by_keyboard(page: Any, figure: str, value: str) -> None:
    """Tab to a figure from the head of the screen, opening what is folded away on the way; type it, and leave it."""
    page.evaluate("document.activeElement.blur(); window.getSelection().removeAllRanges()")
    page.locator("h1").evaluate("(own) => { own.tabIndex = -1; own.focus(); }")
    for _ in range(400):
        page.keyboard.press("Tab")
        at = page.evaluate(AT)
        if at["closed"] and figure in at["holds"]:
            page.keyboard.press("Enter")
        elif at["figure"] == figure:
            break
    else:
        raise AssertionError(f"{figure} is not reached by the keyboard")
    page.keyboard.press("Control+a")
    page.keyboard.type(value)
    page.keyboard.press("Tab")


@pytest.mark.parametrize(
    ("screen", "figure", "wrong", "right", "place"),
    [
        ("pins", 'pins."lift pin".pin', "2 apples", "1 1/8 in", ("pins", "lift pin", "pin")),
        ("hold", "tolerances.radius_rod.length", "-1", "5 thou", ("tolerances", "radius_rod", "length")),
        ("repairs", 'repair."strip the motion".hours', "six", "17", ("repair", "strip the motion", "hours")),
        ("setting", "adjustments.valve.central_at.most", "3 ft", "3/16 in",
         ("adjustments", "valve", "central_at", "most")),
    ],
)  # fmt: skip
def test_a_table_of_the_shop_is_typed_by_keyboard_and_undone(
    browser: Any, tmp_path: Path, screen: str, figure: str, wrong: str, right: str, place: tuple[str, ...]
) -> None:
    file = laid_out(tmp_path, "winkle/winkle").path / "winkle.toml"
    before = file.read_bytes()
    with (
        bench(tmp_path) as address,
        window(browser, f"{address}e/winkle/{screen}?state=as+found&notch=mid", 390, 844) as page,
    ):
        page.set_default_timeout(90_000)
        by_keyboard(page, figure, wrong)
        page.locator(f"[data-figure='{figure}'] .wrong:not([hidden])").wait_for()
        assert file.read_bytes() == before
        by_keyboard(page, figure, right)
        page.wait_for_selector("body[data-entered='1']")
        assert typed(figure_at(tomllib.loads(file.read_text("utf-8")), place)) == right
        assert page.locator(f"[data-figure='{figure}'] .wrong").is_hidden()
        page.click("text=Undo")
        page.wait_for_selector("body[data-stepped='1']")
        assert file.read_bytes() == before
        assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_repair_is_begun_and_taken_out_on_the_page(browser: Any, tmp_path: Path) -> None:
    file = laid_out(tmp_path, DOCK).path / f"{DOCK}.toml"
    with bench(tmp_path) as address, window(browser, f"{address}e/{DOCK}/repairs?state=as+found") as page:
        page.set_default_timeout(90_000)
        for name, value in (("repair", "press in new bushes"), ("what", "turn and bush"), ("hours", "6")):
            page.fill(f"main section [name={name}]", value)
        page.click("text=Begin this repair")
        page.locator("summary", has_text="Press in new bushes").click()
        assert tomllib.loads(file.read_text("utf-8"))["repair"]["press in new bushes"]["hours"] == 6
        page.click("text=Take this repair out")
        page.locator(".answer", has_text="No repairs are written in this file yet").wait_for()
        assert "repair" not in tomllib.loads(file.read_text("utf-8"))
