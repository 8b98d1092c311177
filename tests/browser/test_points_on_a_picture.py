"""A drawing scaled off on the bench in a real browser, by keyboard: points put, the gear over it, its figures taken."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from linkmotion.gears.keys import key_in_words
from tests.bench_at import EXAMPLES, laid_out
from tests.browser.test_bench import SIZES, bench, ready, window
from tests.browser.test_page_for_everyone import AXE, CUT, FINGER, TOUCHED

SISTER, POINTS = "dock_sister", "sister points.toml"
HAND = ("axle", "crank pin")


def spread(folder: Path) -> Path:
    """The example's picture and points, but for two pins and what is known of the wheel: both are put by hand."""
    laid_out(folder, SISTER)
    shutil.copytree(EXAMPLES / "pictures", folder / "pictures")
    text = (EXAMPLES / "pictures" / "dock_arrangement-picks.toml").read_text("utf-8")
    lines = text.replace('file = "', 'file = "pictures/').split("\n")
    file = folder / POINTS
    file.write_text(
        "\n".join(line for line in lines if not line.startswith(tuple(f'"{pin}"' for pin in HAND))), "utf-8"
    )
    return file


def counted(page: Any, what: str, number: int) -> None:
    """Wait until something was done so many times."""
    for _ in range(800):
        if int(page.evaluate(f"document.body.dataset.{what} || 0")) >= number:
            return
        page.wait_for_timeout(25)
    raise AssertionError(f"{what}: not {number}")


def test_points_are_put_by_keyboard_and_say_what_the_command_says(browser: Any, tmp_path: Path) -> None:
    file = spread(tmp_path)
    put = tomllib.loads((EXAMPLES / "pictures" / "dock_arrangement-picks.toml").read_text("utf-8"))["points"]
    query = f"e/{SISTER}/traced?points={POINTS.replace(' ', '+')}"
    with bench(tmp_path) as address, window(browser, f"{address}{query}") as page:
        page.set_default_timeout(20_000)
        counted(page, "followed", 1)
        before = file.read_bytes()
        for pin in HAND:
            page.locator(f"[data-point='{pin}']").focus()
            page.keyboard.press("Enter")
            u, v = put[pin]
            for name, figure in (("left", u + 10), ("top", v - 1)):
                page.locator(f".at-{name}").fill(f"{figure:.1f}")
                page.keyboard.press("Enter")
            page.locator(".magnifier").focus()
            for key in ("ArrowDown", "Shift+ArrowLeft"):
                page.keyboard.press(key)
            page.keyboard.press("Enter")
            page.locator(f".is-put[data-point='{pin}']").wait_for()
        page.locator("#first .answer", has_text="27 figures scaled off").wait_for()
        kept = tomllib.loads(file.read_text("utf-8"))["points"]
        assert {pin: kept[pin] for pin in HAND} == {pin: pytest.approx(put[pin], abs=1e-9) for pin in HAND}
        ran = subprocess.run(
            [sys.executable, "-m", "linkmotion", "trace", f"{SISTER}.toml", POINTS, "--json"],
            cwd=tmp_path, capture_output=True, check=True,
        )  # fmt: skip
        told = json.loads(ran.stdout)["figures"]
        rows = page.locator("#rest tbody tr")
        assert rows.count() == len(told)
        words = [key_in_words(tuple(own["dimension"].split(".", 1))) for own in told]
        assert [row.split("\t")[1] for row in rows.all_inner_texts()] == words
        assert f"{told[2]['scaled']:.2f} ±" in rows.nth(2).inner_text()
        stands = page.locator("#gear-seen").get_attribute("d")
        page.locator(".laid-turn").focus()
        page.keyboard.press("ArrowRight")
        page.locator(".laid-turned", has_text="turned on by 5°").wait_for()
        assert page.locator("#gear-seen").get_attribute("d") != stands
        page.locator(".take-figures [name=state]").focus()
        page.keyboard.press("Enter")
        page.wait_for_url("**/side?state=from+the+picture*")
        taken = tomllib.loads((tmp_path / f"{SISTER}.toml").read_text("utf-8"))["state"]["from the picture"]
        rod = taken["both"]["connecting_rod"]["length"]
        assert rod.startswith(f"{told[2]['scaled']:.2f} ± "), "with its doubt, as taken"
        page.goto(f"{address}{query}")
        ready(page)
        for number in range(1, 9):
            if page.locator("[data-do=undo]").is_disabled():
                break
            page.click("[data-do=undo]")
            page.wait_for_selector(f"body[data-stepped='{number}']")
        assert file.read_bytes() == before


def test_on_a_telephone_a_point_is_put_by_touch_and_once_more(browser: Any, tmp_path: Path) -> None:
    file = spread(tmp_path)
    query = f"e/{SISTER}/traced?points={POINTS.replace(' ', '+')}"
    with (
        bench(tmp_path) as address,
        window(browser, f"{address}{query}", 390, 844, has_touch=True, bypass_csp=True) as page,
    ):
        page.set_default_timeout(20_000)
        counted(page, "followed", 1)
        for width, height in SIZES:
            page.set_viewport_size({"width": width, "height": height})
            page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            assert [own for own in page.evaluate(TOUCHED) if own[1] < FINGER or own[2] < FINGER] == [], width
            assert page.evaluate(CUT) == [], width
        page.locator("[data-point='axle']").tap()
        page.locator(".laid-all").tap(position={"x": 78, "y": 96})
        page.wait_for_selector("body[data-entered='1']")
        page.locator("[data-point='axle']").tap()
        page.locator("[data-laid=again]").tap()
        page.locator("[data-move='1 0']").tap()
        page.wait_for_selector("body[data-entered='2']")
        one, two = tomllib.loads(file.read_text("utf-8"))["points"]["axle"]
        assert [two[0] - one[0], two[1] - one[1]] == pytest.approx([12.0, -8.0], abs=0.11), (
            "from beside, then a pixel on"
        )
        if not AXE.exists():
            pytest.skip("axe-core is not installed: npm ci --prefix tests/scripts --ignore-scripts")
        page.evaluate(AXE.read_text("utf-8"))
        found = page.evaluate("axe.run().then((all) => all.violations.map((own) => own.id + ' ' + own.nodes[0].html))")
        assert found == []
