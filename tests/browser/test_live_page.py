"""The live page in a real browser, served by the command itself."""

from __future__ import annotations

import json
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import numpy as np
import pytest

from linkmotion.files.engine_file import parse_engine
from linkmotion.studies.assess import assess_side
from tests.browser.test_moving_page import of_program, read, until

DOCK = Path("examples/dock_shunter.toml")


@contextmanager
def served(file: Path, *more: str) -> Iterator[str]:
    """The command serving an engine; its address."""
    command = [sys.executable, "-m", "linkmotion", "live", str(file), "--no-browser", "--json", *more]
    running = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    try:
        assert running.stdout is not None
        yield json.loads(running.stdout.readline())["address"]
    finally:
        running.terminate()
        running.wait(10)
        if running.stdout:
            running.stdout.close()


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with served(DOCK) as own:
        yield own


def visit(browser: Any, address: str, said: list[str] | None = None) -> Any:
    page = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
    said = [] if said is None else said
    page.on("console", lambda m: said.append(m.text) if m.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda r: None if r.url.startswith((address, "data:", "blob:")) else said.append(r.url))
    page.goto(address)
    until(page, "document.documentElement.dataset.live === 'yes'")
    return page


def put(page: Any, key: str, value: str) -> None:
    """Type a figure, and wait until it is answered."""
    page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    number = page.evaluate("linkmotion.live.number")
    page.fill(f"[id='figure {key}']", value)
    until(page, f"linkmotion.live.number > {number} && !linkmotion.live.busy && !linkmotion.live.next")


def test_a_changed_dimension_shows_and_is_the_programs_own(browser: Any, address: str) -> None:
    said: list[str] = []
    page = visit(browser, address, said)
    for value in ("57.6", "57.7", "57.8", "57.9"):
        put(page, "connecting_rod.length", value)
    changed = DOCK.read_text("utf-8").replace('length = "4\' 9 1/2\\""', "length = 57.9", 1)
    engine = parse_engine(changed)
    assert engine.drawing["connecting_rod"]["length"] == pytest.approx(57.9 * 25.4, abs=1e-9)
    u, angle = page.evaluate("[linkmotion.s.u, linkmotion.s.angle]")
    ours = of_program(assess_side(engine.side_state()), u, np.radians(angle))
    assert abs(read(page, "r-valve") - ours) < 0.01
    assert said == []
    page.context.close()


def test_each_difference_of_the_state_asked_for_can_be_switched_off(browser: Any) -> None:
    with served(DOCK, "--state", "as found") as own:
        page = visit(browser, own)
        until(page, "document.querySelectorAll('#items input').length > 5")
        assert page.evaluate("linkmotion.s.state") == "as found"
        assert page.locator("#ghost-of option").all_text_contents() == ["nothing", "the drawing", "as found"]
        worn = read(page, "r-valve")
        box = page.locator("#items label", has_text="radius rod, length").locator("input")
        box.uncheck()
        without = read(page, "r-valve")
        assert without != worn
        put(page, "reversing.lifting_link", "13.9")  # what is switched off stays so when figures change
        until(page, "document.querySelectorAll('#items input').length > 5")
        assert not box.is_checked()
        page.context.close()


def test_the_gear_stays_in_sight_while_the_bench_is_worked_at(browser: Any, address: str) -> None:
    page = visit(browser, address)
    page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    for width, height in ((1280, 900), (1366, 768), (820, 1180), (360, 740), (740, 360)):
        page.set_viewport_size({"width": width, "height": height})
        page.locator("[id='figure union_link.length']").scroll_into_view_if_needed()
        gear, own = (page.locator(name).bounding_box() for name in ("#gear", "[id='figure union_link.length']"))
        assert gear["y"] >= 0
        assert gear["y"] + gear["height"] <= height
        assert own["x"] >= gear["x"] + gear["width"] or own["y"] >= gear["y"] + gear["height"]
    page.context.close()


def test_sliding_changes_the_gear_while_it_slides(browser: Any, address: str) -> None:
    page = visit(browser, address)
    page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    before = read(page, "r-valve")
    slide = page.locator("[data-key='reversing.lifting_link'] input[type=range]")
    slide.focus()
    page.keyboard.press("ArrowRight")
    until(page, "linkmotion.live.number > 0 && !linkmotion.live.busy && !linkmotion.live.next")
    assert read(page, "r-valve") != before
    assert page.locator("[data-key='reversing.lifting_link']").get_attribute("class") == "figure changed"
    assert page.evaluate("linkmotion.s.ghost") == "before the changes"
    page.click("#put-back")
    until(page, "!linkmotion.live.busy && !linkmotion.live.changed")
    assert read(page, "r-valve") == pytest.approx(before, abs=1e-9)
    page.context.close()


def test_what_cannot_be_assembled_is_told_and_the_last_good_gear_stays(browser: Any, address: str) -> None:
    page = visit(browser, address)
    put(page, "connecting_rod.length", "58")
    before = read(page, "r-valve")
    put(page, "eccentric_rod.length", "12")
    assert "too short to meet" in page.locator("#message").text_content()
    assert page.locator("[data-key='eccentric_rod.length']").get_attribute("class") == "figure bad"
    assert read(page, "r-valve") == before
    put(page, "eccentric_rod.length", "31.5")
    assert page.locator("#message").text_content() == ""
    assert read(page, "r-valve") != before
    page.context.close()


def test_two_browsers_do_not_disturb_each_other(browser: Any, address: str) -> None:
    one, two = visit(browser, address), visit(browser, address)
    first = read(two, "r-valve")
    put(one, "eccentric_rod.length", "31.8")
    assert abs(read(one, "r-valve") - first) > 0.1
    two.wait_for_timeout(300)
    assert read(two, "r-valve") == first
    put(two, "connecting_rod.length", "58")
    assert one.locator("[id='figure connecting_rod.length']").input_value() == "57.5"
    assert two.locator("[id='figure eccentric_rod.length']").input_value() == "31.53125"
    one.context.close()
    two.context.close()


def test_the_changed_engine_is_saved_with_its_comments(browser: Any, address: str) -> None:
    page = visit(browser, address)
    page.select_option("#work-state", "as found")
    until(page, "linkmotion.s.state === 'as found' && !linkmotion.live.busy")
    page.select_option("#work-side", "right")
    until(page, "!linkmotion.live.busy && linkmotion.shownSide() === 'right'")
    put(page, "eccentric_rod.length", "31 19/32")
    with page.expect_download() as waiting:
        page.click("#keep")
    saved = Path(waiting.value.path()).read_text("utf-8")
    assert waiting.value.suggested_filename == "dock_shunter-changed.toml"
    was = DOCK.read_text("utf-8")
    changed = [(a, b) for a, b in zip(was.splitlines(), saved.splitlines(), strict=True) if a != b]
    assert [b.split() for _a, b in changed] == [["length", "=", '"31', '19/32"', "#", "drawn", "31", "17/32", "in."]]
    assert parse_engine(saved).gear("as found", "right") != parse_engine(was).gear("as found", "right")
    page.context.close()


def test_a_name_is_only_text(browser: Any, tmp_path: Path) -> None:
    text = Path("examples/donkey_eccentric.toml").read_text("utf-8")
    name = "</title></script><script>document.title='broken'</script>"
    first = text.index("name = ")
    file = tmp_path / "named.toml"
    file.write_text(text[:first] + f'name = "{name}"' + text[text.index("\n", first) :], "utf-8")
    said: list[str] = []
    with served(file) as own:
        page = visit(browser, own, said)
        assert page.locator("#engine").text_content() == name
        assert page.title() != "broken"
        put(page, "eccentric_rod.length", "22.5")
        assert page.locator("#engine").text_content() == name
        assert said == []
        page.context.close()


def test_nothing_listens_beyond_loopback_and_no_other_name_or_origin_is_answered(address: str) -> None:
    port = urlsplit(address).port
    assert port is not None
    listening = [
        line.split() for name in ("tcp", "tcp6") for line in Path(f"/proc/net/{name}").read_text().splitlines()
    ]
    at = {row[1].split(":")[0] for row in listening[1:] if row[1].endswith(f":{port:04X}") and row[3] == "0A"}
    assert at == {"0100007F"}  # 127.0.0.1

    def answer(**headers: str) -> int:
        wanted = {key.replace("_", "-"): value for key, value in headers.items()}
        try:
            with urllib.request.urlopen(urllib.request.Request(address, headers=wanted)) as reply:
                return int(reply.status)
        except urllib.error.HTTPError as error:
            error.close()
            return int(error.code)

    assert answer() == 200
    assert answer(Host=f"localhost:{port}") == 200
    assert answer(Host="elsewhere.example") == 403
    assert answer(Host=f"elsewhere.example:{port}") == 403
    assert answer(Host=f"127.0.0.1:{port + 1}") == 403
    assert answer(Origin="http://elsewhere.example") == 403
    assert answer(Origin="null") == 403
