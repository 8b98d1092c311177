"""The bench in a real browser, served by the command itself: from a new engine to what was found on it."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from linkmotion.bench.screen import screens
from linkmotion.files.figure_edit import figure_at, typed
from tests.bench_at import DOCK, EXAMPLES, laid_out
from tests.browser.test_page_for_everyone import AXE, CUT, FINGER, TOUCHED

SIZES = [(1280, 900), (820, 1180), (390, 844)]


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


def check(file: Path, state: str) -> Any:
    """What the command says of a state of a file."""
    command = [sys.executable, "-m", "linkmotion", "check", str(file), "--state", state, "--json"]
    return json.loads(subprocess.run(command, capture_output=True, check=False).stdout)


def test_from_a_new_engine_to_what_was_found_on_it(browser: Any, tmp_path: Path) -> None:
    drawn = tomllib.loads((EXAMPLES / f"{DOCK}.toml").read_text("utf-8"))
    with bench(tmp_path) as address, window(browser, address) as page:
        assert "no engine in this folder" in page.locator("#screen").text_content()
        page.fill("[name=engine]", 'No. 5 "Winkle" <invented>')
        page.fill("[name=file]", "winkle")
        page.select_option("[name=gear]", "walschaerts")
        page.select_option("[name=unit]", "in")
        page.click("text=Begin it")
        page.wait_for_url("**/e/winkle/side")
        ready(page)
        assert "still to be filled in" in page.locator(".answer").text_content()
        for name in page.evaluate("[...document.querySelectorAll('.figure')].map((f) => f.dataset.figure)"):
            value = figure_at(drawn, name.split("."))
            if value is not None and page.locator("[data-filling]").count():
                page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
                enter(page, name, typed(value))
        page.wait_for_selector("#gear")
        assert "No. 5" in page.locator(".name").text_content()
        file = tmp_path / "winkle.toml"
        assert "connecting rod, centres" in file.read_text("utf-8"), "the starter's comments are there"

        assert page.locator(".figure input:not([readonly])").count() == 0, "the drawing is not changed by accident"
        page.click("text=Begin this state")
        page.wait_for_url("**state=as+found*")
        ready(page)
        found = page.locator("#follows .answer").text_content()
        page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
        enter(page, "eccentric_rod.length", "31 17/32 in + 1/8 in")
        after = page.locator("#follows .answer").text_content()
        assert "out of target" in after != found
        assert page.locator(".tag.in-hand").text_content().startswith("G1 31 17/32 in")
        told = check(file, "as found")
        count = sum(one["out_of_target"] for one in told["findings"] if one["standing"] == "as it stands")
        assert after.startswith(f"As found, as it stands: {count} out of target")
        row = next(e for e in told["events"] if (e["side"], e["notch"], e["end"], e["standing"]) ==
                   ("left", "full forward", "front", "as it stands") and e["direction"] == e["drives"])  # fmt: skip
        lead = page.locator("#follows tbody tr").first.locator("td").first.text_content()
        assert lead.removesuffix(" moved") == f"{row['lead']:.3f} in"

        enter(page, "union_link.length", "14 in ± 1/64 in")
        whole = file.read_text("utf-8")
        page.click("text=Undo")
        page.wait_for_selector("body[data-stepped='1']")
        assert "union_link" not in str(tomllib.loads(file.read_text("utf-8"))["state"])
        page.click("text=Redo")
        page.wait_for_selector("body[data-stepped='2']")
        assert file.read_text("utf-8") == whole


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


def test_by_keyboard_alone(browser: Any, tmp_path: Path) -> None:
    laid_out(tmp_path)
    with bench(tmp_path) as address, window(browser, address) as page:

        def to(what: str) -> None:
            for _ in range(400):
                page.keyboard.press("Tab")
                if page.evaluate(f"document.activeElement.matches({what!r})"):
                    return
            raise AssertionError(f"{what} is not reached")

        to(f"a[href*='{DOCK}']")
        page.keyboard.press("Enter")
        page.wait_for_url("**/side")
        ready(page)
        to("[data-figure='radius_rod.length'] input")
        page.keyboard.press("Control+a")
        page.keyboard.type("37.9 in")
        page.keyboard.press("Tab")
        page.wait_for_selector("body[data-entered='1']")
        assert "37.9 in" in (tmp_path / f"{DOCK}.toml").read_text("utf-8")
        page.evaluate("document.body.focus(); document.querySelector('.skip').focus()")
        to("[data-do=undo]")
        page.keyboard.press("Enter")
        page.wait_for_selector("body[data-stepped='1']")
        assert "37.9 in" not in (tmp_path / f"{DOCK}.toml").read_text("utf-8")
        to("nav a[href*='check']")
        page.keyboard.press("Enter")
        page.wait_for_url("**/check?*")


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    folder = tmp_path_factory.mktemp("bench")
    laid_out(folder)
    for name in ("", "-marks"):  # so that the screens of work at the engine have something to tell
        shutil.copy(EXAMPLES / "readings" / f"{DOCK}{name}.toml", folder / f"{DOCK}-taken{name}.toml")
    (folder / "unread.toml").write_text('[engine]\nname = "x"\ngear = "gooch"\nunit = "mm"\n', "utf-8")
    with bench(folder) as address:
        yield address


def every_page() -> list[str]:
    own = [f"e/{DOCK}/{name}?state=as+found" for name in screens()]
    return ["", *own, f"e/{DOCK}/side?state=drawing", f"e/{DOCK}/side?state=drawing&correct=yes", "e/unread/side"]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("path", every_page())
def test_nothing_is_found_wrong_by_a_checker_of_access(browser: Any, served: str, path: str, scheme: str) -> None:
    if not AXE.exists():
        pytest.skip("axe-core is not installed: npm ci --prefix tests/scripts --ignore-scripts")
    with window(browser, served + path, color_scheme=scheme, bypass_csp=True) as page:
        page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
        page.evaluate(AXE.read_text("utf-8"))
        found = page.evaluate("axe.run().then((all) => all.violations.map((v) => [v.id, v.nodes.map((n) => n.html)]))")
        assert found == []
        assert page.evaluate("axe.run().then((all) => all.passes.length)") > 15


@pytest.mark.parametrize("size", SIZES, ids=str)
@pytest.mark.parametrize("path", every_page())
def test_every_page_fits_and_can_be_touched(browser: Any, served: str, path: str, size: tuple[int, int]) -> None:
    with window(browser, served + path, *size, has_touch=True) as page:
        page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
        small = [own for own in page.evaluate(TOUCHED) if own[1] < FINGER or own[2] < FINGER]
        assert small == []
        assert page.evaluate(CUT) == []
