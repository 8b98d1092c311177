"""Points put on a picture on a telephone: by touch, twice; and the screen at every size, before a checker of access."""

from __future__ import annotations

import shutil
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.bench_at import EXAMPLES, laid_out
from tests.browser.test_bench import SIZES, bench, window
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
