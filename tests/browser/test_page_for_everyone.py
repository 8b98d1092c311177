"""The moving page on a phone, by keyboard, with large type, with little movement, and for one who knows nothing."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from linkmotion.files.engine_file import read_engine
from linkmotion.studies.page_data import page_data
from tests.browser.conftest import CHROMIUM, FLAGS
from tests.browser.test_moving_page import read, until

AXE = Path("tests/scripts/node_modules/axe-core/axe.min.js")
NAMES = ("dock_shunter", "stephenson_goods", "donkey_eccentric")
FINGER = 44  # pixels: WCAG 2.2, 2.5.5
SMALLEST = 11  # pixels of type


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    from linkmotion.views.moving.page import page

    folder = tmp_path_factory.mktemp("pages")
    for name in NAMES:
        (folder / f"{name}.html").write_text(page(page_data(read_engine(Path(f"examples/{name}.toml")))), "utf-8")
    return {name: folder / f"{name}.html" for name in NAMES}


@contextmanager
def shown(browser: Any, file: Path, width: int = 1280, height: int = 900, **how: Any) -> Iterator[Any]:
    """The page in a window of its own; nothing may be said to the console, nothing asked of a network."""
    context = browser.new_context(viewport={"width": width, "height": height}, offline=True, **how)
    page, said = context.new_page(), list[str]()
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda r: None if r.url.startswith(("file:", "blob:", "data:")) else said.append(r.url))
    page.goto(file.as_uri())
    until(page, "document.documentElement.dataset.ready === 'yes'")
    yield page
    assert said == []
    context.close()


@pytest.mark.parametrize(("name", "scheme"), [*((name, "light") for name in NAMES), ("dock_shunter", "dark")])
def test_nothing_is_found_wrong_by_a_checker_of_access(
    browser: Any, files: dict[str, Path], name: str, scheme: str
) -> None:
    if not AXE.exists():
        pytest.skip("axe-core is not installed: npm ci --prefix tests/scripts --ignore-scripts")
    with shown(browser, files[name], color_scheme=scheme) as page:
        page.evaluate(AXE.read_text("utf-8"))
        for before in ("0", "document.getElementById('tour-start').click()", "linkmotion.play(true)"):
            page.evaluate(before)
            page.wait_for_timeout(400)  # until the parts have faded
            page.evaluate("linkmotion.play(false)")
            found = page.evaluate(
                "axe.run().then((all) => all.violations.map((v) => [v.id, v.nodes.map((n) => n.html)]))"
            )
            assert found == []
        assert page.evaluate("axe.run().then((all) => all.passes.length)") > 20


# Every element with text of its own that shows, the size of its type in pixels of the screen, and its box.
TYPE = """() => [...document.querySelectorAll("body *")].filter((e) => e.getClientRects().length
    && [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim()) && !e.closest("script, style, .unseen"))
    .map((e) => [e.textContent.trim().slice(0, 30), parseFloat(getComputedStyle(e).fontSize)
        * (e.closest("svg") && e.closest("svg").viewBox.baseVal.width
           ? e.closest("svg").clientWidth / e.closest("svg").viewBox.baseVal.width : 1)])"""
TOUCHED = """() => [...document.querySelectorAll("button, select, input, summary")]
    .filter((e) => e.getClientRects().length).map((e) => e.type === "checkbox" ? e.closest("label") : e)
    .map((e) => [e.id || e.textContent, e.getBoundingClientRect().width, e.getBoundingClientRect().height])"""


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("width", "height"), [(360, 740), (740, 360), (820, 1180), (1366, 860)])
def test_gear_and_section_stay_in_sight_and_all_is_large_enough(
    browser: Any, files: dict[str, Path], name: str, width: int, height: int
) -> None:
    with shown(browser, files[name], width, height, has_touch=True) as page:
        small = [own for own in page.evaluate(TOUCHED) if own[1] < FINGER or own[2] < FINGER]
        assert small == []
        page.click("#names")
        tiny = [own for own in page.evaluate(TYPE) if own[1] < SMALLEST]
        assert tiny == []
        tall = page.evaluate("document.documentElement.scrollHeight")
        assert tall > 1.5 * height
        for share in (0.0, 0.3, 0.6, 1.0):
            page.evaluate(f"scrollTo(0, {share} * {tall})")
            for picture in ("#gear", "#section"):
                box = page.locator(picture).bounding_box()
                assert box["y"] >= 0, (picture, share)
                assert box["y"] + box["height"] <= height + 1, (picture, share)
                assert box["width"] * box["height"] > 0.04 * width * height, picture
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_on_a_phone_the_wheel_is_turned_while_anything_is_read_and_a_part_is_told_beside_the_finger(
    browser: Any, files: dict[str, Path]
) -> None:
    with shown(browser, files["dock_shunter"], 360, 740, has_touch=True) as page:
        page.locator("#items").scroll_into_view_if_needed()
        before = read(page, "r-angle")
        page.locator("#ahead").tap()
        assert read(page, "r-angle") == pytest.approx(before + 5, abs=1e-9)
        x, y = page.evaluate("""(() => { const [x, y] = linkmotion.drawing.at("lever pin");
            const p = new DOMPoint(x, y).matrixTransform(linkmotion.drawing.up.getScreenCTM());
            return [p.x, p.y]; })()""")
        page.touchscreen.tap(x, y + 9)  # a finger is not so sure
        tip = page.locator("#tip").bounding_box()
        assert page.locator("#tip-name").text_content() in ("Combination lever", "Radius rod")
        assert 0 <= tip["x"] <= tip["x"] + tip["width"] <= 360
        assert 20 < tip["y"] - (y + 9) < 60 or 20 < (y + 9) - tip["y"] - tip["height"] < 60
        page.locator("#parts button", has_text="Piston rod").tap()
        card, button = page.locator("#card").bounding_box(), page.locator("#parts .lit").bounding_box()
        assert (
            abs(button["y"] + button["height"] - card["y"]) < 60 or abs(card["y"] + card["height"] - button["y"]) < 60
        )


# Elements whose words are cut off.
CUT = """() => [...document.querySelectorAll("button, h1, h2, p, label, dd, dt, li, figcaption, summary")]
    .filter((e) => e.getClientRects().length && !e.closest(".unseen") && getComputedStyle(e).display !== "inline"
        && getComputedStyle(e).clipPath === "none"
        && (e.scrollWidth > e.clientWidth + 1 || (e.tagName === "BUTTON" && e.scrollHeight > e.clientHeight + 1)))
    .map((e) => `${e.tagName}#${e.id} ${e.textContent.trim().slice(0, 30)}`)"""


@pytest.mark.parametrize(("width", "height"), [(1366, 860), (820, 1180), (360, 740)])
def test_type_twice_as_large_loses_nothing(browser: Any, files: dict[str, Path], width: int, height: int) -> None:
    large = [*FLAGS, "--blink-settings=defaultFontSize=32,defaultFixedFontSize=26"]
    own = browser.browser_type.launch(executable_path=CHROMIUM, args=large)
    with shown(own, files["dock_shunter"], width, height) as page:
        assert page.evaluate("parseFloat(getComputedStyle(document.documentElement).fontSize)") > 30
        page.select_option("#state", "as found")
        page.click("#names")
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        assert page.evaluate(CUT) == []
        assert page.locator("#gear").bounding_box()["height"] > 80
        page.click("#tour-start")
        page.click("#tour-next")
        assert page.evaluate(CUT) == []
    own.close()


def test_who_wants_little_movement_gets_a_slow_wheel_and_nothing_that_fades(
    browser: Any, files: dict[str, Path]
) -> None:
    speed = {}
    for wish in ("reduce", "no-preference"):
        with shown(browser, files["dock_shunter"], reduced_motion=wish) as page:
            assert not page.evaluate("linkmotion.s.playing")
            fades = page.evaluate("getComputedStyle(document.querySelector('#gear [data-part]')).transitionDuration")
            assert (fades == "0s") == (wish == "reduce")
            speed[wish] = page.evaluate("linkmotion.s.rpm")
    assert speed["reduce"] < speed["no-preference"] / 2


@pytest.mark.parametrize("name", NAMES)
def test_the_tour_is_walked_by_keyboard_and_lights_only_what_it_speaks_of(
    browser: Any, files: dict[str, Path], name: str
) -> None:
    with shown(browser, files[name]) as page:
        page.locator("#tour-start").focus()
        page.keyboard.press("Enter")
        assert page.evaluate("document.activeElement.id") == "tour-title"
        told = []
        steps = page.evaluate("linkmotion.data.tour")
        for number, step in enumerate(steps, 1):
            assert page.locator("#tour-step").text_content() == f"Step {number} of 5"
            told.append(page.locator("#tour-words").text_content())
            lit = set(page.evaluate("[...document.querySelectorAll('#gear .lit')].map((g) => g.dataset.part)"))
            assert lit == set(step["parts"])
            until(
                page,
                """[...document.querySelectorAll("#gear [data-part]:not(.lit)")]
                .every((g) => Number(getComputedStyle(g).opacity) < 0.25)""",
            )
            page.locator("#tour-next").focus()
            if number < 5:
                page.keyboard.press("Enter")
        assert len(set(told)) == 5
        page.locator("#tour-back").focus()
        page.keyboard.press("Enter")
        assert page.locator("#tour-step").text_content() == "Step 4 of 5"
        page.keyboard.press("Escape")
        assert page.locator("#tour").is_hidden()
        assert page.evaluate("document.activeElement.id") == "tour-start"
        assert page.locator("#gear .lit").count() == 0


def test_forward_is_to_the_right_on_every_reverser_and_its_ticks_stand_at_the_notches(
    browser: Any, files: dict[str, Path]
) -> None:
    for name in ("dock_shunter", "stephenson_goods"):  # of one the arm rises for forward gear, of the other it falls
        with shown(browser, files[name]) as page:
            slider = page.locator("#reverser").bounding_box()
            thumb = 20
            for notch, place in (("full forward", 1.0), ("mid", 0.5), ("full backward", 0.0)):
                page.select_option("#notch", notch)
                share = (float(page.locator("#reverser").input_value()) + 100) / 200
                assert share == pytest.approx(place, abs=1e-9)
                ticks = page.evaluate("""[...document.querySelectorAll("#ticks i")].map((i) => [i.textContent,
                    i.getBoundingClientRect().x])""")
                at = next(x for text, x in ticks if text == notch)
                wanted = slider["x"] + thumb / 2 + share * (slider["width"] - thumb)
                assert abs(at - wanted) < 1.5
            names = [page.evaluate("Object.keys(linkmotion.kase.notches).length"), len(ticks)]
            assert names[0] == names[1]
            boxes = page.evaluate("""[...document.querySelectorAll("#ticks span")].map((s) => {
                const b = s.getBoundingClientRect(); return [b.left, b.top, b.right, b.bottom]; })""")
            for one, two in itertools.combinations(boxes, 2):
                assert one[2] <= two[0] or two[2] <= one[0] or one[3] <= two[1] + 1 or two[3] <= one[1] + 1


def test_events_are_told_whichever_way_the_wheel_is_turned(browser: Any, files: dict[str, Path]) -> None:
    with shown(browser, files["dock_shunter"]) as page:
        cutoff = page.evaluate("linkmotion.passing.find((e) => e.end === 'front' && e.event === 'cutoff').angle")
        page.evaluate(f"linkmotion.turnTo({cutoff} - 1)")
        page.keyboard.press("ArrowRight")
        page.keyboard.press("ArrowRight")
        ahead = page.locator("#notes li").first.text_content()
        page.keyboard.press("ArrowLeft")
        page.keyboard.press("ArrowLeft")
        back = page.locator("#notes li").first.text_content()
        assert ahead.startswith("Front end, cutoff at")
        assert back.startswith("Turned back over front end, cutoff at")


def test_play_is_taken_up_in_the_joints_and_the_factor_is_written(browser: Any, files: dict[str, Path]) -> None:
    """Every journal at the edge of its hole but while the play changes over; on the other edge the other way round."""
    with shown(browser, files["dock_shunter"]) as page:
        assert page.locator(".joint").count() == 0
        page.select_option("#state", "as found")
        factor = page.evaluate("linkmotion.over.factor")
        assert page.locator(".factor").text_content() == f"play in the joints drawn {factor} times"
        assert page.evaluate("Object.keys(linkmotion.kase.play).length") == page.locator(".joint").count() > 2
        offs = []
        for angle in range(0, 360, 5):
            page.evaluate(f"linkmotion.turnTo({angle})")
            offs.append(
                page.evaluate("""linkmotion.over.joints.map(({ gap, dot }) => {
                const at = dot.transform.baseVal.consolidate().matrix; return Math.hypot(at.e, at.f) / gap; })""")
            )
        shares = np.array(offs)
        assert np.max(shares) <= 1 + 1e-6
        assert np.mean(np.abs(shares - 1) < 1e-6) > 0.6
        assert np.min(shares) < 0.9, "somewhere the play changes over"
        x, y = page.evaluate("""(() => { const { dot } = linkmotion.over.joints[0];
            const at = dot.transform.baseVal.consolidate().matrix; return [at.e, at.f]; })()""")
        assert np.hypot(x, y) > 2


def test_events_are_named_beside_the_curves_with_their_end(browser: Any, files: dict[str, Path]) -> None:
    with shown(browser, files["stephenson_goods"]) as page:
        page.locator("#plot-valve").scroll_into_view_if_needed()
        words = page.evaluate("[...document.querySelectorAll('#plot-valve .said')].map((t) => t.textContent)")
        wanted = {
            f"{end} {event}" for end in ("front", "back") for event in ("admission", "cutoff", "release", "compression")
        }
        assert wanted <= set(words)
        panels = page.evaluate("[...document.querySelectorAll('#plot-openings .said')].map((t) => t.textContent)")
        assert sum(text.startswith(("front end", "back end")) for text in panels) == 2
        assert panels.count("cutoff") == 2
        assert "front cutoff at" in page.locator("#plot-valve svg").get_attribute("aria-label")
        box = page.locator("#plot-valve svg").bounding_box()
        page.mouse.move(box["x"] + 0.6 * box["width"], box["y"] + 0.5 * box["height"])
        told = page.locator("#plot-valve .reading").text_content()
        page.mouse.down()
        page.mouse.up()
        assert told.split("°")[0] == f"{read(page, 'r-angle'):.0f}"
        assert page.locator("#plot-ellipse .reading").text_content() == told


@pytest.mark.parametrize("name", ["dock_shunter", "stephenson_goods"])
def test_no_live_steam_stands_in_the_cavity_of_a_slide_valve(browser: Any, files: dict[str, Path], name: str) -> None:
    with shown(browser, files[name]) as page:
        for angle in range(0, 360, 30):
            page.evaluate(f"linkmotion.turnTo({angle})")
            inside = page.evaluate("""() => {
                const cavity = document.querySelector("#section [data-part=valve] [data-space=exhaust]");
                const box = cavity.getBBox(), found = new Set();
                for (const s of [0.1, 0.5, 0.9]) for (const t of [0.15, 0.5, 0.97]) {
                    const p = new DOMPoint(box.x + s * box.width, box.y + t * box.height)
                        .matrixTransform(cavity.getScreenCTM());
                    const top = document.elementsFromPoint(p.x, p.y).find((e) => e.closest("#section .part"));
                    found.add(top.getAttribute("class"));
                }
                return [...found];
            }""")
            assert "space exhaust" in inside
            assert not any("live-steam" in look for look in inside)


def test_on_paper_every_sheet_says_what_it_is_of_in_type_that_can_be_read(
    browser: Any, files: dict[str, Path], tmp_path: Path
) -> None:
    pymupdf = pytest.importorskip("pymupdf", reason="pymupdf is not installed")
    for paper in ("A4", "Letter"):
        with shown(browser, files["dock_shunter"], color_scheme="dark") as page:
            page.select_option("#state", "as found")
            page.select_option("#ghost-of", "drawing")
            page.pdf(path=str(tmp_path / "page.pdf"), format=paper, print_background=True)
        sheets = pymupdf.open(tmp_path / "page.pdf")
        assert 2 <= len(sheets) <= 5
        for number, sheet in enumerate(sheets, 1):
            text = sheet.get_text()
            assert "Harrowquay Dock Company" in text
            assert "as found, left side, full forward; printed 20" in text
            assert f"page {number}" in text
            lines = [line for block in sheet.get_text("dict")["blocks"] for line in block.get("lines", [])]
            sizes = [span["size"] for line in lines for span in line["spans"] if span["text"].strip()]
            assert min(sizes) > 7.9, "points"
            white = sheet.get_pixmap(dpi=20).pixel(3, 3)
            assert white == (255, 255, 255), "no screen's dark on paper"
        first = sheets[0].get_text()
        assert "dashed: the drawing" in first
        assert "play in the joints drawn" in first
        assert "Next event" not in first
