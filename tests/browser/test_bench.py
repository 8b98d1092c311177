"""The bench in a real browser, served by the command itself: entries, windows, and every page for everybody."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from linkmotion.bench.screen import screens
from linkmotion.files.starter import starter
from tests.bench_at import DOCK, EXAMPLES, laid_out
from tests.browser.test_page_for_everyone import AXE, CUT, FINGER, TOUCHED

SIZES = [(1280, 900), (820, 1180), (640, 450), (390, 844)]  # the third: 1280 at 200 %


@contextmanager
def bench(folder: Path) -> Iterator[str]:
    """The command in a process of its own; its address."""
    command = [sys.executable, "-m", "linkmotion", "bench", str(folder), "--no-browser", "--json"]
    run = subprocess.Popen(command, stdout=subprocess.PIPE, env=os.environ | {"OMP_NUM_THREADS": "1"})
    assert run.stdout is not None
    try:
        yield str(json.loads(run.stdout.readline())["address"])
    finally:
        run.send_signal(signal.SIGINT)
        run.communicate(timeout=20)
    assert run.returncode == 0


@contextmanager
def window(browser: Any, address: str, width: int = 1280, height: int = 900, **how: Any) -> Iterator[Any]:
    """A window on the bench; nothing may be said to the console, nothing asked of any other host."""
    context = browser.new_context(viewport={"width": width, "height": height}, **how)
    page, said = context.new_page(), list[str]()
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    root = address.split("/", 3)[:3]
    page.on(
        "request", lambda r: None if r.url.split("/", 3)[:3] == root or r.url[:5] == "data:" else said.append(r.url)
    )
    page.goto(address)
    ready(page)
    yield page
    assert [words for words in said if "409" not in words and "422" not in words] == []
    context.close()


def ready(page: Any) -> None:
    page.wait_for_selector("body[data-ready=yes]", timeout=60_000)


def enter(page: Any, figure: str, value: str) -> None:
    """Type a figure, and wait until it is in the file."""
    row = page.locator(f'.figure[data-figure="{figure}"]')
    before = entered(page)
    own = row.locator("input, select")
    if own.input_value() == value:
        return
    if own.evaluate("e => e.localName") == "select":
        own.select_option(value)
    else:
        own.fill(value)
        own.press("Enter")
    for _ in range(1200):
        if entered(page) != before:
            return
        assert not row.locator(".wrong").is_visible(), row.locator(".wrong").text_content()
        page.wait_for_timeout(25)
    raise AssertionError(f"{figure} was not taken")


def entered(page: Any) -> str:
    """How many entries this page has had taken; "" while it gives way to another."""
    try:
        return str(page.evaluate("document.body.dataset.entered || '0'"))
    except Exception as error:
        if "navigation" not in str(error):
            raise
        ready(page)
        return ""


def test_a_figure_that_is_none_is_told_at_its_field(browser: Any, tmp_path: Path) -> None:
    laid_out(tmp_path)
    before = (tmp_path / f"{DOCK}.toml").read_bytes()
    with bench(tmp_path) as address, window(browser, f"{address}e/{DOCK}/side?state=as+found") as page:
        row = page.locator('.figure[data-figure="radius_rod.length"]')
        row.locator("input").fill("37 apples")
        row.locator("input").press("Enter")
        row.locator(".wrong").wait_for()
        assert "'37 apples' is not a length: unknown unit 'apples'" in row.locator(".wrong").text_content()
        assert row.locator("input").get_attribute("aria-invalid") == "true"
    assert (tmp_path / f"{DOCK}.toml").read_bytes() == before


def test_a_second_window_is_told(browser: Any, tmp_path: Path) -> None:
    laid_out(tmp_path)
    with bench(tmp_path) as address:
        at = f"{address}e/{DOCK}/side?state=as+found"
        with window(browser, at) as one, window(browser, at) as two:
            enter(one, "radius_rod.length", "37.9 in")
            two.locator('.figure[data-figure="radius_rod.length"] input').fill("37.8 in")
            two.keyboard.press("Enter")
            two.locator('.figure[data-figure="radius_rod.length"] .wrong').wait_for()
            assert "to 37.9 in" in two.locator('.figure[data-figure="radius_rod.length"] .wrong').text_content()
            two.click("text=Show it as it is now")
            two.wait_for_selector('#f-radius_rod\\.length[data-was="37.9 in"]')
            two.wait_for_selector("#elsewhere", state="hidden")


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    folder = tmp_path_factory.mktemp("bench")
    laid_out(folder)
    for name in ("", "-marks"):  # so that the screens of work at the engine have something to tell
        shutil.copy(EXAMPLES / "readings" / f"{DOCK}{name}.toml", folder / f"{DOCK}-taken{name}.toml")
    (folder / "unread.toml").write_text('[engine]\nname = "x"\ngear = "gooch"\nunit = "mm"\n', "utf-8")
    (folder / "begun.toml").write_text(starter("walschaerts", "in"), "utf-8")
    with bench(folder) as address:
        yield address


def every_page() -> list[str]:
    own = [f"e/{DOCK}/{name}?state=as+found" for name in screens()]
    others = [
        f"e/{DOCK}/side?state=drawing",
        f"e/{DOCK}/side?state=drawing&correct=yes",
        "e/unread/side",
        "e/begun/side",
    ]
    return ["", *own, *others]


@pytest.mark.parametrize("path", every_page())
def test_every_page_fits_can_be_touched_and_passes_a_checker_of_access(browser: Any, served: str, path: str) -> None:
    """Each is opened once: at every size, at twice the size of type, then light and dark."""
    with window(browser, served + path, has_touch=True, bypass_csp=True) as page:
        for width, height in SIZES:
            page.set_viewport_size({"width": width, "height": height})
            page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            small = [own for own in page.evaluate(TOUCHED) if own[1] < FINGER or own[2] < FINGER]
            assert small == [], width
            assert page.evaluate(CUT) == [], width
        if not AXE.exists():
            pytest.skip("axe-core is not installed: npm ci --prefix tests/scripts --ignore-scripts")
        page.evaluate(AXE.read_text("utf-8"))
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            found = page.evaluate(
                "axe.run().then((all) => "
                "[all.violations.map((v) => [v.id, v.nodes.map((n) => n.html)]), all.passes.length])"
            )
            assert found[0] == [], scheme
            assert found[1] > 15


@pytest.mark.parametrize("screen", ["side", "check", "pins"])
def test_a_page_that_is_left_alone_does_nothing(browser: Any, tmp_path: Path, screen: str) -> None:
    """Marking the trade's words is no news to what watches for news: else it never ends, half a core for each page."""
    laid_out(tmp_path)
    with bench(tmp_path) as address, window(browser, f"{address}e/{DOCK}/{screen}?state=as+found") as page:
        page.wait_for_selector(".term")
        page.wait_for_load_state("networkidle")
        page.evaluate("new Promise(done => setTimeout(done, 500))")
        page.evaluate(
            "() => { window.changes = 0; new MutationObserver((seen) => { window.changes += seen.length; })"
            ".observe(document.body, { childList: true, subtree: true, characterData: true }); }"
        )
        page.wait_for_timeout(1500)
        assert page.evaluate("window.changes") == 0
