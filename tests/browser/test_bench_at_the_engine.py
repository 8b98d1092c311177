"""The work at the engine in a real browser: marks typed; what is not written here. The rest is in the whole story."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

from tests.bench_at import DOCK, EXAMPLES, laid_out
from tests.browser.test_bench import bench, enter, ready, window


def said(folder: Path, *command: str) -> Any:
    """What a command answers, as data."""
    ran = subprocess.run(
        [sys.executable, "-m", "linkmotion", *command, "--json"], cwd=folder, capture_output=True, check=False
    )
    return json.loads(ran.stdout)


def opened(page: Any) -> None:
    page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")


def test_marks_typed_tell_the_dead_centres_and_go_into_the_readings(browser: Any, tmp_path: Path) -> None:
    laid_out(tmp_path, DOCK)
    shutil.copy(EXAMPLES / "readings" / f"{DOCK}.toml", tmp_path / "taken.toml")
    wanted = tomllib.loads((EXAMPLES / "readings" / f"{DOCK}-marks.toml").read_text("utf-8"))
    with bench(tmp_path) as address, window(browser, f"{address}e/{DOCK}/dead_centres?state=drawing") as page:
        page.click("button:has-text('Begin a file of marks')")
        page.wait_for_url("**/dead_centres?marks=*")
        ready(page)
        page.wait_for_selector("[data-figure='pair 1 first']", state="attached")
        opened(page)
        for name, value in wanted["tram"].items():
            if name != "unit":
                enter(page, name, str(value))
        for number, pair in enumerate(wanted["pair"], 1):
            if page.locator(f"[data-figure='pair {number} first']").count() == 0:
                page.click("text=One more pair")
                page.wait_for_selector(f"[data-figure='pair {number} first']", state="attached")
                opened(page)
            enter(page, f"pair {number} end", pair["end"])
            enter(page, f"pair {number} turned", pair.get("turned", "not noted"))
            enter(page, f"pair {number} first", str(pair["marks"][0]))
            enter(page, f"pair {number} second", str(pair["marks"][1]))
        name = page.locator("[name=marks]").input_value()
        told = said(tmp_path, "tram", f"{DOCK}.toml", name)["dead_centres"]
        assert "dead centre at" in page.locator("#status .answer").text_content()
        page.reload()
        ready(page)
        page.click("text=Write it into them")
        page.wait_for_url("**/read?readings=taken.toml")
        written = tomllib.loads((tmp_path / "taken.toml").read_text("utf-8"))["readings"]["dead_centres"]
        assert written == {own["end"]: f"{own['doubt']:.3f}°" for own in told}


def test_on_a_telephone_at_the_engine(browser: Any, tmp_path: Path) -> None:
    laid_out(tmp_path, DOCK)
    shutil.copy(EXAMPLES / "readings" / f"{DOCK}.toml", tmp_path / "taken.toml")
    with bench(tmp_path) as address, window(browser, f"{address}e/{DOCK}/read", 390, 844, has_touch=True) as page:
        page.locator("[data-figure='mid lead front'] input").tap()
        page.keyboard.press("Control+a")
        page.keyboard.type("0.13")
        page.keyboard.press("Tab")
        page.wait_for_selector("body[data-entered='1']")
        assert "0.13," in (tmp_path / "taken.toml").read_text("utf-8")
        page.locator("[data-do=undo]").tap()
        page.wait_for_selector("body[data-stepped='1']")
        assert (tmp_path / "taken.toml").read_bytes() == (EXAMPLES / "readings" / f"{DOCK}.toml").read_bytes()
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
