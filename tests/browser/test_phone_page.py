"""Readings taken on a telephone: typed, kept, carried back, and read by the program to the same figures."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from html import unescape
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

from linkmotion.cli import app
from linkmotion.files.engine_file import read_engine
from linkmotion.files.faults import FileError
from linkmotion.files.readings_file import read_readings
from linkmotion.files.readings_form import form
from linkmotion.studies.assess import assess
from linkmotion.studies.figures.figure import Reading
from linkmotion.studies.figures.model import GearModel
from tests.browser.test_page_for_everyone import AXE, FINGER, SMALLEST, TYPE

NAMES = ("dock_shunter", "stephenson_goods", "donkey_eccentric")
MOST = 300_000  # bytes: a telephone takes it as a message
READY = "document.documentElement.dataset.ready === 'yes'"
TOUCHED = """() => [...document.querySelectorAll("button, select, input, summary")]
    .filter((e) => e.getClientRects().length).map((e) => [e, e.getBoundingClientRect()])
    .map(([e, b]) => [e.id || e.textContent, b.width, b.height, b.top, b.bottom])"""
BEYOND = "(() => { const m = document.querySelector('main'); return m.scrollHeight - m.clientHeight; })()"
FOUND = "axe.run().then((all) => all.violations.map((v) => [v.id, v.nodes.map((n) => n.html)]))"
PRESS = "(keys) => { for (const key of keys) document.querySelector(`#keys [data-key='${key}']`).click(); }"
PLACE = """(part) => { const m = document.querySelector(`#gear [data-part='${part}']`).transform.baseVal[0].matrix;
    return [m.a, m.b, m.e, m.f]; }"""


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("phone")
    for name in NAMES:
        done = CliRunner().invoke(app, ["form", f"examples/{name}.toml", "--phone", str(folder / f"{name}.html")])
        assert done.exit_code == 0, done.output
    return {name: folder / f"{name}.html" for name in NAMES}


@contextmanager
def opened(browser: Any, file: Path, width: int = 390, height: int = 844, **how: Any) -> Iterator[Any]:
    """The page on a telephone without a network; nothing may be said to the console, nothing asked of anyone."""
    context = browser.new_context(viewport={"width": width, "height": height}, offline=True, has_touch=True, **how)
    page, said = context.new_page(), list[str]()
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda r: None if r.url.startswith(("file:", "blob:", "data:")) else said.append(r.url))
    page.goto(file.as_uri())
    page.wait_for_function(READY)
    yield page
    assert said == []
    context.close()


def typed(page: Any, figure: str, unit: str) -> None:
    """Type a figure by the page's own keys."""
    page.locator("#units").get_by_text(unit, exact=True).tap()
    for sign in figure:
        page.locator(f"#keys [data-key='{ {'-': 'minus', ' ': 'and'}.get(sign, sign) }']").tap()


def to_reading(page: Any, title: str, of: str) -> None:
    """Step on to a reading."""
    for _ in range(200):
        page.locator("#next").tap()
        if page.text_content("#title") == title and page.text_content("#of") == of:
            return
    raise AssertionError(f"no screen {title}, {of}")


def carried(page: Any, folder: Path) -> Path:
    """Make the file, which is the text that is shown too."""
    if not page.locator("#all").is_visible():
        page.locator("#list").tap()
    with page.expect_download() as found:
        page.locator("#give").tap()
    file = folder / found.value.suggested_filename
    found.value.save_as(file)
    assert file.read_text("utf-8") == page.input_value("#text")
    return file


def test_what_is_typed_is_kept_and_carried_back_to_the_same_figures(
    browser: Any, files: dict[str, Path], tmp_path: Path
) -> None:
    with opened(browser, files["dock_shunter"]) as page:
        page.fill("#by", 'A. "Winch" \\ Rigg')
        page.fill("#day", "2026-03-04")
        page.fill("#tool", "feeler gauge")
        page.select_option("#centres", "tram")
        page.fill("#near-front", "0.056")
        page.fill("#near-back", ".078")
        page.select_option("#turned", "both ways")
        page.locator("#next").tap()
        typed(page, "5", "thou")
        page.locator("#next").tap()
        typed(page, "0.8", "%")
        to_reading(page, "Front lead", "full forward, left side")
        typed(page, "3/32", "in")
        to_reading(page, "Die height", "full forward, left side")
        typed(page, "-3 15/32", "in")
        to_reading(page, "Front cutoff, running forward", "full forward, left side")
        typed(page, "74.5", "%")
        page.reload()  # as after a sleep: where it was, with what was typed
        page.wait_for_function(READY)
        assert page.text_content("#title") == "Front cutoff, running forward"
        assert page.text_content("#figure") == "74.5"
        to_reading(page, "Back cutoff, running forward", "full forward, left side")
        typed(page, "14.94", "in")
        to_reading(page, "Back lead", "mid, right side")
        typed(page, "3.2", "mm")
        page.locator("#list").tap()
        assert page.text_content("#told") == "5 of 116 read, 111 missing."
        assert page.locator("#faults li").count() == 0
        file = carried(page, tmp_path)
        assert "2026-03-04" in file.name

    engine = read_engine("examples/dock_shunter.toml")
    found = read_readings(file, engine)
    got = [(r.side, r.notch, r.kind, r.end, r.unit, r.value, r.sigma, r.turned) for r in found.readings]
    near, share, mean = 5 * 0.0254 / 2, 0.4, "both ways"
    figure = [
        ("left", "full forward", "lead", "front", "mm", 3 / 32 * 25.4, near, mean),
        ("left", "full forward", "cutoff", "front", "percent", 74.5, share, mean),
        ("left", "full forward", "cutoff", "back", "mm", 14.94 * 25.4, near, mean),
        ("left", "full forward", "die height", "", "mm", -(3 + 15 / 32) * 25.4, near, ""),
        ("right", "mid", "lead", "back", "mm", 3.2, near, mean),
    ]
    assert [own[:5] + own[7:] for own in got] == [own[:5] + own[7:] for own in figure]
    for own, wanted in zip(got, figure, strict=True):
        assert own[5:7] == pytest.approx(wanted[5:7], rel=1e-15)
    assert found.note == 'read by A. "Winch" \\ Rigg, 2026-03-04, with feeler gauge'
    assert [found.method("left").doubt(end) for end in ("front", "back")] == [0.056, 0.078]


@pytest.mark.parametrize("name", NAMES)
def test_a_form_filled_in_whole_by_keys_is_the_form_with_its_blanks_filled(
    browser: Any, files: dict[str, Path], name: str, tmp_path: Path
) -> None:
    """Every screen is typed into; only the "?" of the form are changed, and the gear's figures come back."""
    engine = read_engine(f"examples/{name}.toml")
    side = assess(engine, "drawing", ("left",)).sides[0]
    text = form(engine, side, ("left", "right"), engine.unit, ())
    with opened(browser, files[name]) as page:
        screens = page.evaluate("JSON.parse(document.getElementById('data').textContent).screens")
        model = GearModel.of(side, [_reading(own) for own in screens])
        wanted: dict[tuple[str, str, str, str], str] = {}
        page.locator("#next").tap()
        typed(page, "0.1", "mm")
        page.locator("#next").tap()
        typed(page, "1", "%")
        for own, value in zip(screens, model.at_figures.tolist(), strict=True):
            page.locator("#next").tap()
            assert page.text_content("#title") == own["title"]
            share = own["units"][0] == "%"
            shown = f"{value:.2f}"
            page.locator("#units").get_by_text("%" if share else "mm", exact=True).tap()
            page.evaluate(PRESS, ["minus" if sign == "-" else sign for sign in shown])
            wanted[own["side"], own["notch"], own["title"], own["cell"]] = f"{shown} {'%' if share else 'mm'}"
        page.locator("#next").tap()
        assert page.text_content("#told") == f"{len(screens)} of {len(screens)} read, 0 missing."
        file = carried(page, tmp_path)
    written = file.read_text("utf-8").split("\n")
    note = next(line for line in written if line.startswith("note = "))
    written.remove(note)
    blanks = text.split("\n")
    assert len(written) == len(blanks)
    changed = [(was, now) for was, now in zip(blanks, written, strict=True) if was != now]
    assert all('"?"' in was and '"?"' not in now for was, now in changed)
    assert len(changed) == sum('"?"' in line for line in blanks if not line.startswith("#"))
    found = read_readings(file, engine)
    assert len(found.readings) == len(wanted)
    for reading, own in zip(_in_file_order(screens), found.readings, strict=True):
        key = reading["side"], reading["notch"], reading["title"], reading["cell"]
        assert (own.side, own.notch, own.end or "reads") == (key[0], key[1], key[3])
        assert own.value == pytest.approx(float(wanted[key].split()[0]), abs=1e-12)


def _in_file_order(screens: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return sorted(screens, key=lambda own: (own["line"], ("front", "back", "reads").index(own["cell"])))


def _reading(own: dict[str, Any]) -> Reading:
    """What a screen asks for, by its own words."""
    first, _, running = own["title"].partition(", running ")
    kind = first.lower().removeprefix("front ").removeprefix("back ")
    return Reading(
        side="left", kind=kind, notch=own["notch"], direction=running, end=own["cell"].replace("reads", ""),
        unit="percent" if own["units"][0] == "%" else "mm", value=0.0, sigma=1.0,
    )  # fmt: skip


def test_what_linkmotion_would_refuse_is_told_before_the_file_is_made(
    browser: Any, files: dict[str, Path], tmp_path: Path
) -> None:
    with opened(browser, files["dock_shunter"]) as page:
        to_reading(page, "Front lead", "full forward, left side")
        typed(page, "3 5/", "in")
        assert page.text_content("#wrong") == "Not a figure yet."
        to_reading(page, "Front cutoff, running forward", "full forward, left side")
        typed(page, "117", "°")
        page.locator("#list").tap()
        told = page.locator("#faults li").all_text_contents()
        assert told == [
            "Say how near readings in ° are read.",
            "Front lead, full forward, left side: not a figure; it is left out.",
        ]
        page.locator("#faults button").first.tap()
        typed(page, "0.5", "°")
        page.locator("#list").tap()
        page.locator("#faults button").first.tap()
        for _ in range(2):
            page.locator("#keys [data-key=back]").tap()
        page.keyboard.press("Backspace")
        assert page.text_content("#figure") == "3"
        page.locator("#list").tap()
        assert page.locator("#faults li").all_text_contents() == ["Say how near lengths are read."]
        page.locator("#faults button").first.tap()
        page.keyboard.type("1/64")
        file = carried(page, tmp_path)
    with pytest.raises(FileError, match="front lead, full forward: 3") as refused:
        read_readings(file, read_engine("examples/dock_shunter.toml"))
    assert "line" in str(refused.value)


def test_without_room_in_the_browser_it_says_so_and_still_gives_the_file(
    browser: Any, files: dict[str, Path], tmp_path: Path
) -> None:
    with opened(browser, files["donkey_eccentric"]) as page:
        page.add_init_script("Object.defineProperty(window, 'localStorage', { get() { throw new Error('none'); } })")
        page.reload()
        page.wait_for_function(READY)
        assert page.locator("#unsafe").is_visible()
        page.locator("#next").tap()
        typed(page, "0.1", "mm")
        to_reading(page, "Back lead", "forward, left side")
        typed(page, "1.25", "mm")
        text = carried(page, tmp_path).read_text("utf-8")
        assert '{ notch = "forward", kind = "lead", back = "1.25 mm" },' in text


def test_each_made_page_keeps_its_own_and_wiping_is_asked_twice(browser: Any, files: dict[str, Path]) -> None:
    with opened(browser, files["donkey_eccentric"]) as page:
        page.fill("#by", "Rigg")
        page.locator("#list").tap()
        page.locator("#wipe").tap()
        page.reload()
        page.wait_for_function(READY)
        assert page.input_value("#by") == "Rigg"
        assert page.evaluate("Object.keys(localStorage).length") == 1
        page.locator("#list").tap()
        page.locator("#wipe").tap()
        page.locator("#wipe").tap()
        assert page.input_value("#by") == ""


@pytest.mark.parametrize("name", NAMES)
def test_it_is_small_and_names_no_address(files: dict[str, Path], name: str) -> None:
    data = files[name].read_bytes()
    assert 50_000 < len(data) <= MOST
    text = data.decode().replace("http://www.w3.org/2000/svg", "")  # a name of the standard, never fetched
    assert "http:" not in text
    assert "https:" not in text
    assert "default-src 'none'" in unescape(text)


@pytest.mark.parametrize(("width", "height"), [(320, 568), (390, 700), (390, 844), (430, 932)])
@pytest.mark.parametrize("name", ["dock_shunter", "stephenson_goods"])
def test_keys_are_large_within_the_thumbs_reach_and_nothing_is_hidden(
    browser: Any, files: dict[str, Path], name: str, width: int, height: int
) -> None:
    with opened(browser, files[name], width, height) as page:
        page.locator("#next").tap()
        page.locator("#next").tap()
        met = 0
        for title in ("Front lead", "Die height", "Front cutoff, running forward"):
            to_reading(page, title, "full forward, left side")
            for own, wide, high, top, bottom in page.evaluate(TOUCHED):
                assert wide >= FINGER, own
                assert high >= FINGER, own
                assert top >= 0.4 * height, own  # the lower three fifths
                assert bottom <= height, own
                met += 1
            assert page.evaluate(BEYOND) <= 0
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            for picture in ("#gear", "#section"):
                box = page.locator(picture).bounding_box()
                assert box["width"] > 90
                assert box["height"] > 75
                ring = page.locator(f"{picture} .ring").first.bounding_box()
                assert box["x"] <= ring["x"] <= ring["x"] + ring["width"] <= box["x"] + box["width"]
                assert box["y"] <= ring["y"] <= ring["y"] + ring["height"] <= box["y"] + box["height"]
            assert [own for own in page.evaluate(TYPE) if own[1] < SMALLEST] == []
        assert met > 60
        page.locator("#list").tap()
        assert [own for own in page.evaluate(TOUCHED) if own[1] < FINGER or own[2] < FINGER] == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_is_found_wrong_by_a_checker_of_access(browser: Any, files: dict[str, Path], scheme: str) -> None:
    if not AXE.exists():
        pytest.skip("axe-core is not installed: npm ci --prefix tests/scripts --ignore-scripts")
    with opened(browser, files["dock_shunter"], color_scheme=scheme) as page:
        page.evaluate(AXE.read_text("utf-8"))
        for _ in range(7):
            found = page.evaluate(FOUND)
            assert found == []
            page.locator("#next").tap()
        page.locator("#list").tap()
        assert page.evaluate(FOUND) == []
        assert page.evaluate("axe.run().then((all) => all.passes.length)") > 20


def test_the_drawing_stands_as_the_gear_does_for_each_reading(browser: Any, files: dict[str, Path]) -> None:
    engine = read_engine("examples/dock_shunter.toml")
    side = assess(engine, "drawing", ("left",)).sides[0]
    rod = float(side.gear.crank.rod)
    with opened(browser, files["dock_shunter"]) as page:
        to_reading(page, "Back opening", "full forward, left side")
        wheel, piston = page.evaluate(PLACE, "wheel"), page.evaluate(PLACE, "piston rod")
        turn = np.degrees(np.arctan2(-wheel[1], wheel[0])) % 360
        told = float(page.text_content("#stands").split("about ")[1].split("°")[0])
        assert turn == pytest.approx(told, abs=0.6)
        r = float(side.gear.crank.radius)
        angle = np.radians(turn)
        assert piston[2] == pytest.approx(r * np.cos(angle) + np.sqrt(rod**2 - (r * np.sin(angle)) ** 2), abs=0.2)
