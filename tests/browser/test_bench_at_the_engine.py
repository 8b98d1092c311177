"""The work at the engine in a real browser: marks and readings typed, what is wrong, how it is set, the record."""

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

BOXES = ("front", "back", "reads")


def said(folder: Path, *command: str) -> Any:
    """What a command answers, as data."""
    ran = subprocess.run(
        [sys.executable, "-m", "linkmotion", *command, "--json"], cwd=folder, capture_output=True, check=False
    )
    return json.loads(ran.stdout)


def opened(page: Any) -> None:
    page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")


def typed_readings(page: Any) -> int:
    """Type the example's readings, as a fitter would: how many."""
    wanted = tomllib.loads((EXAMPLES / "readings" / f"{DOCK}.toml").read_text("utf-8"))
    opened(page)
    for name in ("within", "within_percent", "turned"):
        enter(page, name, str(wanted["readings"][name]))
    for row in wanted["left"]["readings"]:
        for box in BOXES:
            if box in row:
                name = " ".join(own for own in (row["notch"], row["kind"], row.get("direction", ""), box) if own)
                enter(page, name, str(row[box]))
    return sum(box in row for row in wanted["left"]["readings"] for box in BOXES)


def test_from_readings_typed_to_the_record_printed(browser: Any, tmp_path: Path) -> None:
    laid_out(tmp_path, DOCK)
    shutil.copytree(EXAMPLES / "winkle" / "photos", tmp_path / "photos")
    with bench(tmp_path) as address, window(browser, f"{address}e/{DOCK}/read") as page:
        page.select_option("form select[name=state]", "drawing")
        page.click("button:has-text('Begin its readings')")
        page.wait_for_url("**/read?readings=*")
        ready(page)
        count = typed_readings(page)
        assert (
            f"{count} of the left side, 0 of the right side. They can be used" in page.locator("#status").text_content()
        )
        name = page.locator("[name=readings]").input_value()
        page.fill("[data-figure='mid lead front'] input", "4 furlongs")
        page.keyboard.press("Tab")
        page.wait_for_selector("[data-figure='mid lead front'] .wrong:not([hidden])")
        assert "4 furlongs" in page.locator("[data-figure='mid lead front'] .wrong").text_content()
        assert "furlongs" not in (tmp_path / name).read_text("utf-8")

        page.locator("nav a", has_text="What is wrong?").click()
        page.wait_for_url("**/diagnosis?*")
        ready(page)
        found = said(tmp_path, "diagnose", f"{DOCK}.toml", name)
        first = found["sides"][0]["suspects"][0]
        row = page.locator("tr", has_text=first["dimension"].replace(".", ": ").replace("_", " ")).first.text_content()
        assert f"{first['estimate']:+.4f}"[:6] in row
        assert page.locator("figure.plot img").evaluate("(i) => i.naturalWidth") > 100

        page.locator("nav a", has_text="How is it set?").click()
        page.wait_for_url("**/setting?*")
        ready(page)
        asked = said(tmp_path, "adjust", f"{DOCK}.toml", name)["work"]
        assert asked
        boxes = page.locator(".works input")
        assert boxes.count() == len(asked)
        assert asked[0]["words"] in page.locator(".works li").first.text_content()
        boxes.first.focus()
        page.keyboard.press("Space")
        page.wait_for_selector("body[data-entered='1']")
        assert "1 piece of work ticked off" in page.locator("#status").text_content()
        page.reload()
        ready(page)
        assert boxes.first.is_checked(), "it stays ticked"
        done = tomllib.loads((tmp_path / f"{DOCK} setting.toml").read_text("utf-8"))["done"]
        assert [own["work"].endswith(asked[0]["words"]) for own in done] == [True]

        page.click("text=The setting sheet to print")
        page.wait_for_url("**/setting/sheet?*word=*")
        assert "Setting sheet" in page.locator("h1").first.text_content()
        assert page.evaluate("getComputedStyle(document.querySelector('td.box')).borderTopWidth") != "0px", (
            "it is styled"
        )
        page.go_back()
        ready(page)
        page.click("#answer a:has-text('Read again')")
        page.wait_for_url("**/read?*")
        ready(page)
        assert page.locator("[name=readings]").input_value() == name

        page.locator("nav a", has_text="Record").click()
        page.wait_for_url("**/record?*")
        ready(page)
        assert asked[0]["words"] in page.locator("#answer").text_content()
        pictures = page.locator(".photos img")
        assert pictures.count() == 2
        assert all(pictures.nth(i).evaluate("(p) => p.naturalWidth") > 50 for i in range(2))
        printed = page.pdf(format="A4")
        assert printed.startswith(b"%PDF")
        assert len(printed) > 20_000, "with its photographs"
        page.click("text=The dossier to print")
        page.wait_for_url("**/record/sheet?*word=*")
        assert page.locator("h1").text_content() == "Dossier"


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
            enter(page, f"pair {number} turned", pair.get("turned", "forward"))
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
