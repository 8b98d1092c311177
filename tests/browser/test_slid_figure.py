"""A dimension slid in a real browser, by keyboard: the drawing goes with it, and only what is entered is written."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tests.bench_at import DOCK, ROD, laid_out
from tests.browser.test_bench import bench, window


def test_a_dimension_is_slid_put_back_and_entered(browser: Any, tmp_path: Path) -> None:
    laid_out(tmp_path, DOCK)
    file, before = tmp_path / f"{DOCK}.toml", (tmp_path / f"{DOCK}.toml").read_bytes()
    with bench(tmp_path) as address, window(browser, f"{address}e/{DOCK}/side?state=as+found&side=left") as page:
        page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
        row = page.locator(f'.figure[data-figure="{ROD}"]')
        row.locator(".typed input").focus()
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.type") == "range"
        drawn, verdict = page.inner_html("#picture"), page.text_content("#follows")
        for number in range(1, 4):
            page.keyboard.press("ArrowRight")
            page.wait_for_selector(f"body[data-slid='{number}']")
        assert "tried, not entered" in page.locator(".slid p").text_content()
        assert page.inner_html("#picture") != drawn
        assert page.text_content("#follows") != verdict
        page.screenshot(path=str(tmp_path / "slid.png"))
        page.locator("[data-do=put_back]").click()
        page.wait_for_selector(".two:not(.trying)")
        assert file.read_bytes() == before
        page.locator(".slid input").focus()
        page.keyboard.press("ArrowRight")
        page.locator("text=Enter it").click()
        page.wait_for_selector("body[data-entered='1']")
        assert file.read_bytes() != before
        assert row.locator(".typed input").input_value() in file.read_text("utf-8")
        assert not page.locator("text=Enter it").is_visible()
