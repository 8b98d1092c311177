"""A telephone's file taken in on the bench in a real browser: looked at, kept by keyboard; the page to take away."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.bench_at import DOCK, laid_out
from tests.browser.telephone import READY, carried, to_reading, typed
from tests.browser.test_bench import SIZES, bench, ready, window
from tests.browser.test_page_for_everyone import AXE, CUT, FINGER, TOUCHED


def test_taken_to_the_engine_and_carried_back(browser: Any, tmp_path: Path) -> None:
    folder, phone = laid_out(tmp_path / "own", DOCK).path, tmp_path / "phone"
    phone.mkdir()
    address_of = f"e/{DOCK}/carried"
    with bench(folder) as address, window(browser, f"{address}{address_of}", has_touch=True, bypass_csp=True) as page:
        page.set_default_timeout(20_000)
        with page.expect_download() as found:
            page.click("text=Left side, for a telephone")
        found.value.save_as(phone / "page.html")
        context = browser.new_context(viewport={"width": 390, "height": 844}, offline=True, has_touch=True)
        own = context.new_page()
        own.goto((phone / "page.html").as_uri())
        own.wait_for_function(READY)
        own.locator("#next").tap()
        typed(own, "5", "thou")
        to_reading(own, "Front lead", "full forward, left side")
        typed(own, "1/8", "in")
        file = carried(own, phone)
        context.close()
        before = {each.name: each.read_bytes() for each in folder.glob("*.toml")}
        page.set_input_files(".carried-file", str(file))
        page.locator(".carried-met .answer", has_text="1 figure was carried back: 1 new").wait_for()
        for width, height in SIZES:
            page.set_viewport_size({"width": width, "height": height})
            page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            assert [each for each in page.evaluate(TOUCHED) if each[1] < FINGER or each[2] < FINGER] == [], width
            assert page.evaluate(CUT) == [], width
        if AXE.exists():
            page.evaluate(AXE.read_text("utf-8"))
            told = page.evaluate("axe.run().then((all) => all.violations.map((v) => v.id + ' ' + v.nodes[0].html))")
            assert told == []
        page.keyboard.press("Enter")  # the word that keeps it is in hand
        page.wait_for_url("**/read?readings=*")
        ready(page)
        after = {each.name: each.read_bytes() for each in folder.glob("*.toml")}
        assert {name: after[name] for name in before} == before
        assert [own for name, own in after.items() if name not in before] == [file.read_bytes()]
        assert page.locator("[data-figure='full forward lead front'] input").input_value() == "1/8 in"
        page.goto(f"{address}{address_of}")
        ready(page)
        page.set_input_files(".carried-file", str(file))
        page.locator(".carried-met .answer", has_text="there already").wait_for()
    if not AXE.exists():
        pytest.skip("axe-core is not installed: npm ci --prefix tests/scripts --ignore-scripts")
