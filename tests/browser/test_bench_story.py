"""The whole story by a browser alone, and by its keyboard alone; then the commands on the files that it left.

A new engine, as found, wear, a slot's clean-up, readings, diagnosis, the setting sheet ticked off, the record printed.
Every row of every table that a screen showed is looked for in what the command prints of the same file.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from linkmotion.files.figure_edit import typed
from tests.bench_at import DOCK, EXAMPLES
from tests.browser.test_bench import bench, ready, window
from tests.browser.test_moving_page import until

AT = """() => {
    const e = document.activeElement, row = e.closest(".figure");
    const closed = e.matches("summary") && !e.parentElement.open;
    return { tag: e.localName, type: e.type || "", name: e.name || e.dataset.key || "",
        figure: row ? row.dataset.figure : "",
        holds: closed ? [...e.parentElement.querySelectorAll(".figure")].map((f) => f.dataset.figure) : [], closed,
        words: e.textContent.trim(), value: e.value ?? "", main: Boolean(e.closest("main")) };
}"""
BY_RULE = {"expansion_link.slot_radius": "by rule", "targets.lead": "1/8 in"}
FOUND = {"eccentric_rod.length": "31 17/32 in + 1/8 in", "wear.clearance.foot": "0.018 in",
         "wear.clearance.die pin": "0.012", "wear.die_clearance": "6 thou"}  # fmt: skip
SLOT = [
    ("-3 1/2", "2 thou", "0.003"),
    ("-1", "4 thou", "0.005"),
    ("1", "3 thou", "0.004"),
    ("3 1/2", "1 thou", "0.001"),
]
NOTCHES = ("full forward", "forward 50", "mid", "full backward")
WIDE = 400  # columns: nothing is left out


class Keys:
    """A page that is led by its keyboard alone."""

    def __init__(self, page: Any) -> None:
        self.page = page

    def at(self) -> Any:
        """Where the focus is."""
        return self.page.evaluate(AT)

    def to(self, wanted: Callable[[Any], bool], most: int = 400) -> Any:
        """Tab until something is reached."""
        for _ in range(most):
            self.page.keyboard.press("Tab")
            at = self.at()
            if wanted(at):
                return at
        raise AssertionError("it is not reached by the keyboard")

    def press(self, words: str) -> None:
        """Tab to what is called so, and press it."""
        self.to(lambda at: at["words"].startswith(words) and at["tag"] in ("a", "button", "summary"))
        self.page.keyboard.press("Enter")

    def ask(self, title: str) -> None:
        """Go to a screen by the row of screens, and wait for its answer."""
        self.page.evaluate("document.activeElement.blur(); window.getSelection().removeAllRanges()")
        self.to(lambda at: at["tag"] == "a" and not at["main"] and at["words"] == title)
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")
        ready(self.page)

    def typed(self, value: str) -> None:
        """Type over what stands in a field, and leave it."""
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(value)

    def chosen(self, value: str) -> None:
        """Choose in a list by its first letters, as a keyboard does."""
        self.page.keyboard.type(value)
        assert self.at()["value"] == value, value

    def fill(self, wanted: Mapping[str, str]) -> list[str]:
        """Tab through the fields and fill those in that are wanted; what is folded away is opened for them."""
        left = dict(wanted)
        for _ in range(600):
            if not left:
                break
            self.page.keyboard.press("Tab")
            at = self.at()
            if at["closed"] and set(at["holds"]) & set(left):
                self.page.keyboard.press("Enter")
            elif at["figure"] in left and at["tag"] in ("input", "select") and at["type"] != "range":
                value = left.pop(at["figure"])
                if at["tag"] == "select":
                    self.chosen(value) if at["value"] != value else None
                else:
                    self.typed(value)
        self.page.keyboard.press("Tab")
        return list(left)


def entered(page: Any, count: int) -> None:
    """Wait until so many entries were taken, and none was refused."""
    until(page, f"Number(document.body.dataset.entered || 0) >= {count}")
    assert page.locator(".wrong:visible").all_text_contents() == []


def drawn() -> dict[str, str]:
    """The example's drawing as its figures would be typed."""
    tables = tomllib.loads((EXAMPLES / f"{DOCK}.toml").read_text("utf-8"))
    found = {
        f"{name}.{key}": typed(value)
        for name, table in tables.items() if name in _PARTS
        for key, value in table.items() if not isinstance(value, dict)
    }  # fmt: skip
    notches = {
        f"reversing.notches.{name}": typed(tables["reversing"]["notches"][name]) for name in NOTCHES if name != "mid"
    }
    return found | notches | {"valve.set_in": "full forward, running forward"} | BY_RULE


_PARTS = ("cylinder", "connecting_rod", "valve", "reversing", "crosshead", "return_crank", "eccentric_rod",
          "expansion_link", "radius_rod", "combination_lever", "union_link")  # fmt: skip


def rows(page: Any) -> list[str]:
    """Every row of every table of an answer, as one line each."""
    found = page.evaluate(
        "[...document.querySelectorAll('#answer table:not(.matrix) tbody tr')].map((r) => "
        "[...r.cells].map((c) => c.textContent.trim()).filter(Boolean).join(' '))"
    )
    return [plain(row) for row in found if row]


def plain(words: str) -> str:
    """Without what only a layout puts between words."""
    return re.sub(r"[\s│|]+", " ", words).strip()


def bare(words: str) -> str:
    """Without the points and words by which a sentence tells what a table has in columns."""
    return plain(re.sub(r"[:,()]|before", " ", words))


def said(folder: Path, *command: str) -> str:
    """What a command prints where there is room for everything."""
    ran = subprocess.run(
        [sys.executable, "-m", "linkmotion", *command], cwd=folder, capture_output=True, check=False,
        env=os.environ | {"COLUMNS": str(WIDE), "PYTHONIOENCODING": "utf-8", "OMP_NUM_THREADS": "1"},
    )  # fmt: skip
    assert ran.stderr == b"", ran.stderr.decode()
    return ran.stdout.decode("utf-8")


def agree(shown: list[str], printed: str, least: int) -> None:
    """Every row that a screen showed stands in what the command printed, to the last digit.

    A command leaves a key out that is the same as in the line before.
    """
    lines = {plain(line) for line in printed.splitlines()}

    def stands(row: str) -> bool:
        words = row.split(" ")
        return any(" ".join(words[first:]) in lines for first in range(min(3, len(words) // 2) + 1))

    missing = [row for row in shown if not stands(row)]
    assert missing == [], f"{missing[:3]} of {len(shown)}, in\n{printed}"
    assert len(shown) >= least


def test_the_whole_story_by_keyboard_and_the_same_by_commands(browser: Any, tmp_path: Path) -> None:
    shutil.copytree(EXAMPLES / "winkle" / "photos", tmp_path / "photos")
    with bench(tmp_path) as address, window(browser, address) as page:
        keys = Keys(page)
        _new_engine(keys)
        _as_found(keys)
        slot = _slot(keys)
        keys.ask("Check")
        checked = rows(page)
        keys.ask("What matters")
        page.locator("#answer table").first.wait_for(timeout=60_000)
        worn = rows(page)
        name = _read(keys)
        keys.ask("What is wrong?")
        page.locator("#answer figure").first.wait_for(timeout=90_000)
        wrong = rows(page)
        keys.ask("How is it set?")
        page.locator(".works input").first.wait_for(timeout=90_000)
        asked, works = rows(page), page.locator(".works b").all_text_contents()
        _ticked(keys)
        record = _recorded(keys)
    engine = "no 5 winkle invented.toml"
    assert "connecting rod, centres" in (tmp_path / engine).read_text("utf-8"), "the starter's comments are there"
    agree(checked, said(tmp_path, "check", engine, "--state", "as found", "--side", "left", "--tables"), 8)
    agree(worn, said(tmp_path, "wear", engine, "--state", "as found", "--side", "left"), 4)
    agree(slot, said(tmp_path, "cleanup", engine, "--state", "as found", "--side", "left", "--tables"), 4)
    agree(wrong, said(tmp_path, "diagnose", engine, name), 20)
    adjusted = said(tmp_path, "adjust", engine, name)
    agree(asked, adjusted, 10)
    assert works
    assert all(own.split(": ", 1)[1] in plain(adjusted) for own in works)
    done = tomllib.loads((tmp_path / "no 5 winkle invented setting.toml").read_text("utf-8"))["done"]
    assert [own["work"] for own in done] == [works[0].split(". ", 1)[1].replace("Left side", "left side")]
    told = said(tmp_path, "history", engine, "--look")
    missing = [row for row in record if bare(row) not in bare(told)]
    assert missing == [], told
    assert len(record) > len(FOUND)


def _new_engine(keys: Keys) -> None:
    """Begin it, and fill its drawing in step by step."""
    page = keys.page
    keys.to(lambda at: at["name"] == "engine")
    page.keyboard.type('No. 5 "Winkle" <invented>')
    keys.to(lambda at: at["name"] == "gear")
    assert keys.at()["value"] == "walschaerts"
    keys.to(lambda at: at["name"] == "unit")
    page.keyboard.type("inches")
    with page.expect_navigation(url="**/side"):
        keys.press("Begin it")
    ready(page)
    page.keyboard.press("Tab")
    wanted = drawn()
    keys.to(lambda at: at["closed"] and at["words"].startswith("2."))
    page.keyboard.press("Enter")
    keys.press("One more notch")
    keys.to(lambda at: at["name"] == "name")
    page.keyboard.type("forward 50")
    page.keyboard.press("Enter")
    page.locator("[data-figure='reversing.notches.forward 50']").wait_for(state="attached")
    page.evaluate("document.activeElement.blur()")
    ruled = {"expansion_link.slot_radius"}
    keys.fill({name: value for name, value in wanted.items() if name not in ruled and name != "eccentric_rod.length"})
    until(page, "document.querySelector('#screen > .answer').textContent.startsWith('2 figures')", 60.0)
    radius = page.locator("[data-proposed='expansion_link.slot_radius']")
    assert radius.text_content() == "37.88 ± 0.38 in", "as long as the radius rod, with the rule's doubt"
    page.evaluate("document.activeElement.blur()")
    keys.to(lambda at: at["figure"] == "expansion_link.slot_radius" and at["tag"] == "button")
    page.keyboard.press("Enter")
    until(page, "document.querySelector('#screen > .answer').textContent.startsWith('1 figure ')", 60.0)
    page.evaluate("document.activeElement.blur()")
    keys.fill({"eccentric_rod.length": wanted["eccentric_rod.length"]})
    page.wait_for_selector("#follows .answer", timeout=60_000)
    ready(page)


def _as_found(keys: Keys) -> None:
    """A state of what was measured; the notch by the quadrant."""
    page = keys.page
    assert page.locator(".name").text_content() == 'No. 5 "Winkle" <invented>'
    assert page.locator(".entered .part-of input:not([readonly])").count() == 0, "no drawing is changed by accident"
    with page.expect_navigation(url="**state=as+found*"):
        keys.press("Begin this state")
    ready(page)
    page.evaluate("document.activeElement.blur()")
    assert keys.fill(FOUND) == []
    entered(page, len(FOUND))
    for number, step in enumerate(("Undo", "Redo"), 1):
        page.evaluate("document.activeElement.blur()")
        keys.press(step)
        page.wait_for_selector(f"body[data-stepped='{number}']")
    keys.to(lambda at: at["figure"] == "eccentric_rod.length")
    assert page.locator(".tag.in-hand").text_content().startswith("G1 31 17/32 in"), "it is shown on the drawing"
    page.evaluate("document.activeElement.blur()")
    keys.to(lambda at: at["name"] == "on-notch")
    assert keys.at()["tag"] == "input"
    page.keyboard.press("ArrowLeft")
    page.wait_for_url("**notch=forward+50*")
    assert page.locator("[name=notch]").input_value() == "forward 50"
    until(page, "document.activeElement.dataset.said === 'forward 50'")


def _slot(keys: Keys) -> list[str]:
    """Readings along the slot, and what is cut."""
    page = keys.page
    keys.ask("Slot")
    keys.to(lambda at: at["name"] == "at")
    for row in SLOT:
        for value in row:
            page.keyboard.type(value)
            page.keyboard.press("Tab")
    entered(page, len(SLOT))
    keys.fill({"cleanup.slot_width": "2", "cleanup.gauge": "0.0005"})
    page.locator("#answer figure").first.wait_for(timeout=90_000)
    until(page, "!document.querySelector('[data-later]')")
    return rows(page)


def _read(keys: Keys) -> str:
    """What was read at the engine: the name of its file."""
    page = keys.page
    wanted = tomllib.loads((EXAMPLES / "readings" / f"{DOCK}.toml").read_text("utf-8"))
    keys.ask("Read at the engine")
    with page.expect_navigation(url="**/read?readings=*"):
        keys.press("Begin its readings")
    ready(page)
    values = {name: typed(wanted["readings"][name]) for name in ("within", "within_percent", "turned")}
    for row in wanted["left"]["readings"]:
        for box in ("front", "back", "reads"):
            if box in row and row["notch"] in NOTCHES:
                parts = (row["notch"], row["kind"], row.get("direction", ""), box)
                values[" ".join(own for own in parts if own)] = str(row[box])
    page.evaluate("document.activeElement.blur()")
    assert keys.fill(values) == []
    entered(page, len(values))
    assert "They can be used" in page.locator("#status").text_content()
    page.evaluate("document.activeElement.blur()")
    assert keys.fill({"mid lead front": "4 furlongs"}) == []
    wrong = page.locator("[data-figure='mid lead front'] .wrong:not([hidden])")
    wrong.wait_for()
    assert "4 furlongs" in wrong.text_content()
    return str(page.locator("[name=readings]").input_value())


def _ticked(keys: Keys) -> None:
    """The first work ticked off; the sheet to print."""
    page = keys.page
    keys.to(lambda at: at["tag"] == "input" and at["main"])
    page.keyboard.press("Space")
    page.wait_for_selector("body[data-entered='1']")
    assert "1 piece of work ticked off" in page.locator("#status").text_content()
    page.reload()
    ready(page)
    assert page.locator(".works input").first.is_checked(), "it stays ticked"
    keys.press("The setting sheet to print")
    page.locator("h1", has_text="Setting sheet").first.wait_for(timeout=90_000)
    assert page.evaluate("getComputedStyle(document.querySelector('td.box')).borderTopWidth") != "0px", "it is styled"
    page.go_back()
    ready(page)


def _recorded(keys: Keys) -> list[str]:
    """The record, recorded and printed: what it says of each figure."""
    page = keys.page
    keys.ask("Record")
    said_of_it = {
        'state."as found".on': "2026-03-14", 'state."as found".by': "P. Osk (invented)",
        'state."as found".with': "vernier",
    }  # fmt: skip
    assert keys.fill(said_of_it) == []
    entered(page, len(said_of_it))
    page.evaluate("document.activeElement.blur()")
    keys.press("Record it as it is now")
    page.locator("#told", has_text="Recorded:").wait_for()
    shown = rows(page)
    pictures = page.locator(".photos img")
    assert [pictures.nth(i).evaluate("(p) => p.naturalWidth > 50") for i in range(pictures.count())] == [True, True]
    assert len(page.pdf(format="A4")) > 20_000, "with its photographs"
    keys.press("The dossier to print")
    page.locator("h1", has_text="Dossier").wait_for(timeout=90_000)
    assert page.pdf(format="A4").startswith(b"%PDF")
    return shown
