"""Points put on a picture in a real browser, by keyboard: the magnifier, what follows, the wheel turned, the file."""

from __future__ import annotations

import shutil
import tomllib
from pathlib import Path
from typing import Any

from tests.bench_at import EXAMPLES
from tests.browser.test_bench import bench, window

SISTER, POINTS = "dock_sister", "dock_arrangement-picks.toml"


def test_a_pin_is_put_by_arrows_and_the_gear_turned_over_the_picture(browser: Any, tmp_path: Path) -> None:
    for name in (f"{SISTER}.toml", "pictures/dock_arrangement.png", f"pictures/{POINTS}"):
        shutil.copy(EXAMPLES / name, tmp_path)
    with bench(tmp_path) as address, window(browser, f"{address}e/{SISTER}/traced?points={POINTS}") as page:
        page.wait_for_selector("body[data-followed='1']")
        assert "27 figures scaled off" in page.text_content("#first")
        before = tomllib.loads((tmp_path / POINTS).read_text("utf-8"))["points"]["lift pin"]
        page.locator("[data-point='lift pin']").focus()
        page.keyboard.press("Enter")
        assert page.text_content(".in-hand-name") == "lift pin"
        page.locator(".magnifier").focus()
        page.keyboard.press("Shift+ArrowRight")
        page.keyboard.press("ArrowUp")
        page.wait_for_selector("body[data-entered='1']")
        page.wait_for_selector("body[data-followed='2']")
        moved = tomllib.loads((tmp_path / POINTS).read_text("utf-8"))["points"]["lift pin"]
        assert moved == [before[0] + 10, before[1] - 1], "ten pixels with Shift, one without"
        drawn = page.inner_html(".laid-over")
        page.locator(".laid-turn").focus()
        page.keyboard.press("ArrowRight")
        page.locator(".laid-turned", has_text="turned on by 5").wait_for()
        assert page.inner_html(".laid-over") != drawn
        page.locator("[data-laid=out]").click()
        page.wait_for_selector("body[data-entered='2']")
        assert "lift pin" not in tomllib.loads((tmp_path / POINTS).read_text("utf-8"))["points"]
        page.get_by_role("button", name="Undo").click()
        page.wait_for_selector("[data-point='lift pin'].is-put")
        assert tomllib.loads((tmp_path / POINTS).read_text("utf-8"))["points"]["lift pin"] == moved
