"""The moving page in a real browser, opened from a file with networking off."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from linkmotion.engine import Engine
from linkmotion.files.engine_file import parse_engine, read_engine
from linkmotion.gears.reverser import Stop
from linkmotion.studies.assess import SideEvents, assess_side
from linkmotion.studies.page_data import page_data
from linkmotion.wear.effects import turned
from tests.gears_at_hand import EXAMPLES

ENGINES = [path for path in EXAMPLES if not path.stem.endswith("-readings")]
WITHIN = 0.01  # mm
LARGEST = 400_000  # bytes
POSITIONS = 50


@dataclass
class Opened:
    """A page under test, what it said, and what it asked of the network."""

    page: Any
    engine: Engine
    said: list[str]
    asked: list[str]


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Engine, Path]]:
    from linkmotion.views.moving.page import page

    folder, made = tmp_path_factory.mktemp("pages"), {}
    for path in ENGINES:
        engine = read_engine(path)
        made[path.stem] = (engine, folder / f"{path.stem}.html")
        made[path.stem][1].write_text(page(page_data(engine)), "utf-8")
    return made


def opened(browser: Any, engine: Engine, file: Path, width: int = 1280, height: int = 900) -> Opened:
    context = browser.new_context(viewport={"width": width, "height": height}, offline=True)
    page = context.new_page()
    said: list[str] = []
    asked: list[str] = []
    page.on("console", lambda message: said.append(message.text) if message.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file.as_uri())
    until(page, "document.documentElement.dataset.ready === 'yes'")
    return Opened(page, engine, said, asked)


@pytest.fixture(scope="module", params=[path.stem for path in ENGINES])
def gear(request: pytest.FixtureRequest, browser: Any, files: dict[str, tuple[Engine, Path]]) -> Iterator[Opened]:
    own = opened(browser, *files[request.param])
    yield own
    own.page.context.close()


def until(page: Any, so: str, most: float = 10.0) -> None:
    """Wait until it is so (playwright's own waiting evaluates words, which the page forbids)."""
    end = time.perf_counter() + most
    while not page.evaluate(f"Boolean({so})"):
        assert time.perf_counter() < end, so
        page.wait_for_timeout(10)


def choose(page: Any, what: str, value: str) -> None:
    """Choose something, where there is anything to choose from."""
    if page.locator(f"#{what}").is_visible():
        page.select_option(f"#{what}", value)


def read(page: Any, what: str) -> float:
    """A readout's figure, unrounded."""
    return float(page.locator(f"#{what}").get_attribute("data-exact"))


def drag(page: Any, by: float) -> None:
    """Take the wheel by its rim and pull it round, degrees clockwise on the screen."""
    x, y, size = page.evaluate("""() => {
        const at = linkmotion.drawing.up.getScreenCTM();
        return [at.e, at.f, 0.9 * linkmotion.drawing.rim * at.a];
    }""")
    start = np.random.default_rng(int(abs(by) * 1e6)).uniform(0, 2 * np.pi)
    for step, act in ((0.0, "down"), (0.5, ""), (1.0, "up")):
        angle = start + step * np.radians(by)
        page.mouse.move(x + size * np.cos(angle), y + size * np.sin(angle))
        if act:
            getattr(page.mouse, act)()


def of_program(side: SideEvents, u: float, angle: float, direction: str = "forward") -> float:
    """The program's own valve from central, mm, in motion, by turning the gear at that very place of the reverser."""
    kind = type(side.settings[0])
    setting = side.settings[round(u)] if kind is Stop else kind(np.array([[u]]))
    there = replace(side, notches=("there",), settings=(setting,), motion=turned(side.gear, setting, side.condition))
    return float(there.valve_at(0, angle, direction))


def test_the_page_is_one_small_file_that_asks_nothing_of_the_network(
    gear: Opened, files: dict[str, tuple[Engine, Path]]
) -> None:
    assert all(url.startswith(("file:", "data:", "blob:")) for url in gear.asked)
    assert not gear.said
    assert all(file.stat().st_size < LARGEST for _engine, file in files.values())


def test_dragging_the_wheel_and_moving_the_reverser_give_the_programs_own_figures(gear: Opened) -> None:
    page, random = gear.page, np.random.default_rng(7)
    states = [option.get_attribute("value") for option in page.locator("#state option").all()]
    sides = {
        (state, side): assess_side(gear.engine.side_state(state, side))
        for state in states
        for side in gear.engine.sides
    }
    last, worst, seen = None, 0.0, set()
    for i in range(POSITIONS):
        if i % 5 == 0:
            choose(page, "state", states[(i // 5) % len(states)])
            choose(page, "side", random.choice(gear.engine.sides))
            page.click("#way")
        if page.locator("#reverser").is_visible():
            least, most = (float(page.locator("#reverser").get_attribute(end)) for end in ("min", "max"))
            page.fill("#reverser", str(random.uniform(least, most)))
        drag(page, random.uniform(-170, 170))
        state, side, u, running = page.evaluate(
            "[linkmotion.s.state, linkmotion.s.side, linkmotion.s.u, linkmotion.s.running]"
        )
        shown = read(page, "r-valve")
        ours = of_program(
            sides[state, side], u, np.radians(read(page, "r-angle")), "forward" if running > 0 else "backward"
        )
        worst = max(worst, abs(shown - ours))
        assert shown != last
        last = shown
        seen.add((state, side))
    print(f"{gear.engine.name}: worst {worst:.5f} mm in {POSITIONS} positions of {len(seen)} states and sides")
    assert worst < WITHIN


# A hair beside the notch, where the page finds the events itself.
BESIDE = "linkmotion.s.u += 3e-6 * Math.max(1, linkmotion.range[1] - linkmotion.range[0]); linkmotion.blendAnew()"


def test_the_events_are_the_programs_own(gear: Opened) -> None:
    """As it sent them, in every notch of every state as it stands; and as the page finds them between the notches."""
    page = gear.page
    for state in gear.engine.state_names:
        choose(page, "state", state)
        choose(page, "side", gear.engine.sides[0])
        side = assess_side(gear.engine.side_state(state, gear.engine.sides[0]))
        for i in range(len(side.notches)):
            way = "forward" if i % 2 == 0 else "backward"
            if page.evaluate("linkmotion.s.running") != (1 if way == "forward" else -1):
                page.click("#way")
            if page.locator("#reverser").is_visible():
                page.select_option("#notch", side.notches[i])
            at = round(page.evaluate("linkmotion.s.u")) if isinstance(side.settings[0], Stop) else i
            for lead_within, within in ((1e-9, 1e-9), (WITHIN, 0.02)):
                ends = page.evaluate("linkmotion.events.map((own) => [own.end, own.lead, own.percent])")
                page.evaluate(BESIDE)
                for end, lead, percent in ends:
                    own = side.events[way][end]
                    assert abs(lead - own.lead[at]) < lead_within, (state, side.notches[i])
                    for event, shown in percent.items():
                        assert abs(shown - own.percent[event][at]) < within, (state, side.notches[i], event)


def test_it_fits_a_phone(browser: Any, files: dict[str, tuple[Engine, Path]]) -> None:
    for engine, file in files.values():
        own = opened(browser, engine, file, 360, 780)
        over = own.page.evaluate("""() => [...document.querySelectorAll("main *, header *")]
            .filter((e) => e.getClientRects().length && e.getBoundingClientRect().right > innerWidth + 1
                    && !e.closest("svg") && !e.closest(".scroll") && !e.closest(".unseen"))
            .map((e) => e.tagName + "#" + e.id)""")
        assert over == []
        assert own.page.evaluate("document.documentElement.scrollWidth") <= 360
        small = own.page.evaluate("""[...document.querySelectorAll("button, select")]
            .filter((e) => e.getClientRects().length && e.getBoundingClientRect().height < 34).map((e) => e.id)""")
        assert small == []
        own.page.context.close()


def test_the_keyboard_alone_does_everything(browser: Any, files: dict[str, tuple[Engine, Path]]) -> None:
    own = opened(browser, *files["dock_shunter"])
    page = own.page
    reached = []
    for _ in range(60):
        page.keyboard.press("Tab")
        name = page.evaluate("document.activeElement.id || document.activeElement.dataset.part")
        reached.append(name)
        outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        if name:
            assert outline == "solid", name
    wanted = {
        "gear",
        "play",
        "ahead",
        "astern",
        "next",
        "way",
        "speed",
        "sound",
        "reverser",
        "notch",
        "state",
        "side",
        "names",
        "tour-start",
    }
    assert wanted | {"ghost-of", "factor", "radius rod", "die"} <= set(reached)
    page.locator("#gear").focus()
    before = page.evaluate("[linkmotion.s.angle, linkmotion.s.u]")
    for key in ("ArrowRight", "Shift+ArrowRight", "ArrowDown", "Shift+ArrowDown", "ArrowUp"):
        page.keyboard.press(key)
    after = page.evaluate("[linkmotion.s.angle, linkmotion.s.u, linkmotion.reverserPlace()]")
    assert after[0] - before[0] == pytest.approx(11, abs=1e-9)
    assert after[1] > before[1]  # this engine's arm rises for backward gear
    assert after[2] == pytest.approx(80, abs=1e-9)
    page.keyboard.press(" ")
    assert page.evaluate("linkmotion.s.playing")
    page.keyboard.press(" ")
    assert not page.evaluate("linkmotion.s.playing")
    page.keyboard.press("r")
    assert page.evaluate("linkmotion.s.running") == -1
    page.keyboard.press("e")
    assert "at" in page.locator("#told").text_content()
    page.locator("#state").focus()
    page.keyboard.press("ArrowDown")
    assert page.evaluate("linkmotion.s.state") == "as found"
    page.locator("#items input").first.focus()
    page.keyboard.press(" ")
    assert page.evaluate("linkmotion.s.on[0]") is False
    page.locator("#parts button").first.focus()
    assert page.locator("#part-name").text_content() == "Wheel"
    page.context.close()


def test_a_reader_of_the_screen_is_told_what_is_asked_for_and_left_in_peace_while_the_wheel_runs(
    browser: Any, files: dict[str, tuple[Engine, Path]]
) -> None:
    page = opened(browser, *files["dock_shunter"]).page
    page.evaluate("""() => {
        window.told = [];
        new MutationObserver((all) => told.push(...all.map((each) => each.target.id || each.target.tagName)))
            .observe(document.body, { subtree: true, childList: true, characterData: true, attributes: true,
                                      attributeFilter: ["aria-valuetext", "aria-valuenow"] });
    }""")
    speaking = page.evaluate("""[...document.querySelectorAll("[aria-live], [role=alert], [role=status], output")]
        .map((each) => each.id)""")
    assert set(speaking) == {"drives", "told", "card", "tour-words"}
    page.click("#play")
    until(page, "told.filter((id) => id === 'notes').length > 3")
    assert not {*speaking, "gear"} & set(page.evaluate("told"))
    page.click("#play")
    assert page.locator("#gear").get_attribute("aria-valuenow") == f"{read(page, 'r-angle'):.0f}"
    page.click("#next")
    assert "told" in page.evaluate("told")
    nameless = page.evaluate("""[...document.querySelectorAll("button, input, select, [role]")].filter((each) =>
        !(each.getAttribute("aria-label") || each.getAttribute("aria-labelledby") || each.textContent.trim()
          || [...each.labels ?? []].some((label) => label.textContent.trim()))).map((each) => each.id)""")
    assert nameless == []
    page.context.close()


def test_the_arms_end_is_no_dead_place(browser: Any, files: dict[str, tuple[Engine, Path]]) -> None:
    page = opened(browser, *files["dock_shunter"]).page
    x, y = page.evaluate("""(() => { const [x, y] = linkmotion.drawing.at("arm pin");
        const p = new DOMPoint(x, y).matrixTransform(linkmotion.drawing.up.getScreenCTM()); return [p.x, p.y]; })()""")
    page.mouse.move(x, y)
    until(page, "['Lifting link', 'Lifting arm'].includes(document.getElementById('tip-name').textContent)")
    page.context.close()


def test_wear_is_switched_off_item_by_item_down_to_the_drawing(
    browser: Any, files: dict[str, tuple[Engine, Path]]
) -> None:
    engine, file = files["stephenson_goods"]
    page = opened(browser, engine, file).page
    page.select_option("#state", "as found")
    page.select_option("#notch", "forward 50")
    worn = read(page, "r-valve")
    side = assess_side(engine.side_state("as found", "left"))
    u, angle = page.evaluate("[linkmotion.s.u, linkmotion.s.angle]")
    assert abs(worn - of_program(side, u, np.radians(angle))) < WITHIN
    boxes = page.locator("#items input").all()
    assert len(boxes) == 3
    for box in boxes:
        box.uncheck()
    drawn = of_program(assess_side(engine.side_state()), u, np.radians(angle))
    assert abs(read(page, "r-valve") - drawn) < WITHIN
    assert abs(worn - drawn) > 3 * WITHIN
    boxes[0].check()  # alone: exactly what the drawing with that one change does
    alone = parse_engine(
        Path("examples/stephenson_goods.toml").read_text("utf-8")
        + '\n[state.alone.both.reversing]\nlifting_link = "25 1/4"\n'
    )
    one = of_program(assess_side(alone.side_state("alone", "left")), u, np.radians(angle))
    assert abs(read(page, "r-valve") - one) < WITHIN
    assert abs(one - drawn) > WITHIN
    page.context.close()


def test_an_outline_shows_another_state_its_difference_enlarged(
    browser: Any, files: dict[str, tuple[Engine, Path]]
) -> None:
    page = opened(browser, *files["metre_gauge"]).page
    page.select_option("#ghost-of", "as found")
    page.locator("#factor").fill("1")
    assert page.locator("#factor-words").text_content() == "10 times"
    assert "difference 10 times" in page.locator("#plot-valve").text_content()
    assert page.locator("#over").text_content() == "dashed: as found, difference 10 times"
    plain, wide = (
        page.evaluate(f"""() => {{ linkmotion.s.factor = {factor}; linkmotion.blendAnew(); linkmotion.render();
            const ghost = linkmotion.drawing.gear.other;
            const [x, y] = ghost.place("foot"), own = linkmotion.drawing.at("foot");
            return Math.hypot(x - own[0], y - own[1]); }}""")
        for factor in (1, 10)
    )
    assert plain > 0.1
    assert wide == pytest.approx(10 * plain, rel=1e-6)
    drawn = page.evaluate("""() => {
        const rod = [...document.querySelectorAll("#gear .outline [data-pins='return-crank pin|foot']")];
        return rod.map((g) => g.getAttribute("transform"));
    }""")
    own = page.locator("#gear [data-part='eccentric rod']").get_attribute("transform")
    assert len(drawn) == 1
    assert drawn[0] != own
    page.context.close()


def test_every_part_is_named_where_it_is_pointed_at_and_what_stands_in_a_name_is_only_text(
    browser: Any, tmp_path: Path
) -> None:
    from linkmotion.views.moving.page import page as made

    name = "<script>document.title='broken'</script><b>bold</b>"
    text = Path("examples/dock_shunter.toml").read_text("utf-8")
    text = text.replace('"as found"', '"as <i>found</i>"')
    first = text.index("name = ")
    engine = parse_engine(text[:first] + f'name = "{name}"' + text[text.index("\n", first) :])
    file = tmp_path / "named.html"
    file.write_text(made(page_data(engine)), "utf-8")
    own = opened(browser, engine, file)
    page = own.page
    assert page.locator("#engine").text_content() == name
    assert page.locator("#engine b, #state i").count() == 0
    assert page.title() != "broken"
    page.select_option("#state", "as <i>found</i>")
    assert page.locator("#sheet-state").text_content() == "as <i>found</i>"
    for part in ("radius rod", "union link", "connecting rod"):
        x, y = page.evaluate(f"""(() => {{
            const g = document.querySelector("#gear [data-part='{part}']"), m = g.getScreenCTM();
            const [x, y] = g.dataset.nameAt.split(" ")[0].split(",").map(Number);
            return [m.a * x + m.c * y + m.e, m.b * x + m.d * y + m.f];
        }})()""")
        page.mouse.move(x, y)
        until(page, f"document.getElementById('tip-name').textContent.toLowerCase() === '{part}'")
        assert len(page.locator("#tip-does").text_content()) > 20
        tip = page.locator("#tip").bounding_box()
        away = max(tip["y"] - y, y - tip["y"] - tip["height"], 0)
        assert away < 40, "told where the pointer is"
        assert not (tip["x"] <= x <= tip["x"] + tip["width"] and tip["y"] <= y <= tip["y"] + tip["height"])
    assert not own.said
    page.context.close()


HEARD = """async ([turns, rate]) => {
    const sound = linkmotion.sound, degree = 1 / (6 * linkmotion.s.rpm), start = 0.1;
    const quiet = new OfflineAudioContext(2, Math.ceil(rate * (360 * turns * degree + 1)), rate);
    Object.assign(sound, { context: quiet });
    sound.burst = sound.noise();
    for (let turn = 0; turn < turns; turn++) for (const beat of sound.places())
        sound.play(beat, start + (360 * turn + beat.angle) * degree);
    const samples = (await quiet.startRendering()).getChannelData(0), onsets = [];
    let silent = rate;
    samples.forEach((sample, i) => {
        if (sample === 0) silent++;
        else { if (silent > 100) onsets.push(i); silent = 0; }
    });
    return onsets;
}"""


def test_the_beats_fall_where_the_releases_of_both_sides_are(
    browser: Any, files: dict[str, tuple[Engine, Path]]
) -> None:
    engine, file = files["dock_shunter"]
    page = opened(browser, engine, file).page
    page.click("#sound")
    page.click("#play")
    until(page, "linkmotion.sound.given.length >= 5")
    given, rate = page.evaluate("[linkmotion.sound.given, linkmotion.sound.context.sampleRate]")
    page.click("#play")
    heard = page.evaluate(HEARD, [3, rate])  # the very bursts of the page, played into memory
    side = assess_side(engine.side_state())
    dead = {"front": 0.0, "back": np.degrees(float(side.gear.crank.back_crank_angle))}
    release = {end: dead[end] + side.events["forward"][end].angle["release"][0] for end in dead}
    places = {(s, end): (release[end] - engine.wheels.ahead(s, 1)) % 360 for s in ("left", "right") for end in dead}
    degree = rate / (6 * 20)  # samples
    asked = np.diff([places[beat[2], beat[3]] for beat in given]) % 360 * degree
    assert np.max(np.abs(np.diff([beat[1] for beat in given]) * rate - asked)) < 0.1  # of a sample
    turns = np.sort([place + 360 * turn for place in places.values() for turn in range(3)])
    worst = np.max(np.abs(np.diff(heard) - np.diff(turns) * degree))
    print(f"beats heard {worst:.3f} of a sample from the releases' spacing")
    assert len(heard) == len(turns)
    assert worst < 1.0
    page.context.close()
