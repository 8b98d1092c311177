"""Readings taken on a telephone: typed, kept, carried back, and read by the program to the same figures."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from linkmotion.files.carried_file import read_carried
from linkmotion.files.engine_file import read_engine
from linkmotion.files.faults import FileError
from linkmotion.files.readings_file import read_readings
from linkmotion.files.readings_form import form
from linkmotion.studies.assess import assess
from linkmotion.studies.figures.figure import Reading
from linkmotion.studies.figures.model import GearModel
from tests.browser.telephone import READY, carried, made_for, opened, to_reading, typed

NAMES = ("dock_shunter", "stephenson_goods", "donkey_eccentric")
BEYOND = "(() => { const m = document.querySelector('main'); return m.scrollHeight - m.clientHeight; })()"
PRESS = "(keys) => { for (const key of keys) document.querySelector(`#keys [data-key='${key}']`).click(); }"


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("phone")
    return {name: made_for(f"examples/{name}.toml", folder) for name in NAMES}


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


def test_names_are_only_names_whatever_stands_in_them(browser: Any, tmp_path: Path) -> None:
    told = 'A "?" </script><img src=x onerror=alert(1)>, front = "?" \\ &amp; $& {{ 7 }}'
    text = Path("examples/donkey_eccentric.toml").read_text("utf-8")
    own = read_engine("examples/donkey_eccentric.toml").name
    assert own in text
    engine = tmp_path / "hostile.toml"
    quoted = told.replace("\\", "\\\\").replace('"', '\\"')
    engine.write_text(text.replace(f'"{own}"', f'"{quoted}"', 1), "utf-8")
    with opened(browser, made_for(engine, tmp_path)) as page:
        assert page.title() == f"Readings: {told}"
        assert page.locator("img").count() == 0
        page.locator("#next").tap()
        typed(page, "0.1", "mm")
        to_reading(page, "Front lead", "forward, right side")
        typed(page, "1.5", "mm")
        file = carried(page, tmp_path)
    (found,) = read_readings(file, read_engine(engine)).readings
    assert (found.side, found.kind, found.end, found.value) == ("right", "lead", "front", 1.5)


def test_wheel_marks_are_asked_for_on_wish_and_carried_back_behind_the_readings(
    browser: Any, files: dict[str, Path], tmp_path: Path
) -> None:
    engine = read_engine("examples/dock_shunter.toml")
    with opened(browser, files["dock_shunter"]) as page:
        page.set_default_timeout(60_000)
        page.locator("#next").tap()
        assert page.text_content("#title") == "How near are lengths read?", "no marks unless they are wished for"
        typed(page, "5", "thou")
        page.locator("#last").tap()
        page.select_option("#centres", "marks")
        for figure in ("48", "3 1/4", "14 5/8", "78"):
            page.locator("#next").tap()
            typed(page, figure, "in")
            assert page.locator("#way").is_visible() == (figure != "48")
            assert page.evaluate(BEYOND) <= 0
        assert page.text_content("#title") == "Back dead centre, pair 2: first mark"
        assert page.locator("#pictures").is_visible()
        only = read_carried(carried(page, tmp_path).read_text("utf-8"), "marks", engine)
        assert only.readings is None
        assert "a pair is two marks" in page.text_content("#faults")
        assert "front dead centre, pair 1: not said how the wheel was turned" in page.text_content("#faults")
        page.locator("#faults button", has_text="not said how the wheel was turned").tap()
        assert page.input_value("#way") == "not noted"
        page.select_option("#way", "backward")
        assert "this is made second" in page.text_content("#stands")
        page.reload()
        page.wait_for_function(READY)
        assert page.input_value("#way") == "backward", "kept"
        page.locator("#next").tap()
        assert page.input_value("#way") == "backward", "of the pair"
        page.locator("#next").tap()
        assert page.input_value("#way") == "not noted", "and of no other"
        to_reading(page, "Front lead", "full forward, left side")
        typed(page, "1/8", "in")
        both = read_carried(carried(page, tmp_path).read_text("utf-8"), "both", engine)
        page.locator("#list").tap()
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert both.readings is not None
    assert both.marks is not None
    assert [own.value for own in both.readings.readings] == [pytest.approx(25.4 / 8, abs=1e-12)]
    [pair] = both.marks.pairs
    assert (pair.end, pair.turned) == ("front", "backward")
    assert pair.marks == pytest.approx([math.degrees(2 * 3.25 / 48), math.degrees(2 * 14.625 / 48)], abs=1e-12)
    assert only.marks is not None
    assert only.marks.pairs == (replace(pair, turned=""),), "nothing was said then"
