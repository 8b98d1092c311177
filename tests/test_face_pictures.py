"""What a notebook shows of the face: pictures with their words, the drawing as it is asked for, the page that moves."""

from __future__ import annotations

import base64
import html
import re
from html.parser import HTMLParser
from typing import Any

import matplotlib as mpl
import matplotlib.pyplot as plt
import numpy as np
import pytest
from matplotlib.colors import to_rgb

import linkmotion as lm
from linkmotion.views.labels import Names

WORDS = 'The leads, front & back: <level> "lines".'


@pytest.fixture(scope="module")
def engine() -> lm.Engine:
    return lm.read_engine("examples/dock_shunter.toml")


@pytest.fixture(scope="module")
def left(engine: lm.Engine) -> lm.Side:
    return engine["drawing"].left


@pytest.fixture(autouse=True)
def _drawn_nowhere():
    with mpl.rc_context(lm.style.STYLE):  # type: ignore[arg-type]
        mpl.use("agg")
        yield
        plt.close("all")


class Element(HTMLParser):
    """The first element of a piece of HTML, as a browser's parser has it."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tag, self.has = "", dict[str, str | None]()
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if not self.tag:
            self.tag, self.has = tag, dict(attrs)


def test_a_picture_is_an_image_with_its_words(left: lm.Side) -> None:
    """``alt`` as HTML has it, and beside image/png as IPython's own images have it."""
    shown = lm.picture(left.plot_leads(), WORDS)
    image = Element(shown._repr_html_())
    assert (image.tag, image.has["alt"]) == ("img", WORDS)
    kind, coded = str(image.has["src"]).split(",")
    assert kind == "data:image/png;base64"
    assert base64.b64decode(coded) == shown.png
    assert shown.png.startswith(b"\x89PNG\r\n\x1a\n")
    assert shown._repr_png_() == (shown.png, {"alt": WORDS})
    assert repr(shown) == f"<Picture: {WORDS}>"


def test_a_picture_is_as_wide_as_it_was_drawn_and_its_figure_is_done_with(left: lm.Side) -> None:
    figure, axes = plt.subplots(1, 2, figsize=(8, 3))
    for ax in axes:
        ax.set_xticks([])
    shown = lm.picture(axes[1], "Two empty pictures.")
    assert shown.width == pytest.approx(8.0, abs=1.6)  # less the margins
    assert not plt.fignum_exists(figure.number)
    assert lm.picture(plt.figure(figsize=(4, 3)), "Nothing.").words == "Nothing."


@pytest.mark.parametrize(
    ("drawn", "words", "told"), [("axes", " \n", "has no words"), (3.0, "Three.", "read 3.0; axes")]
)
def test_a_picture_without_words_or_without_a_picture_is_refused(drawn: Any, words: str, told: str) -> None:
    with pytest.raises((ValueError, TypeError), match=told):
        lm.picture(plt.subplots()[1] if drawn == "axes" else drawn, words)


def told_on(ax: Any) -> str:
    """Every text about the drawing in one line."""
    return " ".join(text.get_text().replace("\n", " ") for text in ax.texts)


def named_on(ax: Any) -> list[str]:
    """Names beside parts, placed."""
    ax.figure.canvas.draw()
    return [text.get_text() for artist in ax.artists if isinstance(artist, Names) for text in artist.texts]


def test_the_drawing_is_held_to_the_parts_asked_for_wherever_they_go(left: lm.Side) -> None:
    ax = plt.subplots(figsize=(6, 6), layout="constrained")[1]
    left.plot_gear("mid", 0.0, ax=ax, around=("combination lever",))
    (x0, x1), (y0, y1) = ax.get_xlim(), ax.get_ylim()
    for notch in ("full forward", "mid", "full backward"):
        for pin in ("union pin", "lever pin", "valve pin"):
            path = left.pin_path(pin, notch, np.arange(0, 360, 5))
            assert x0 < path.real.min() < path.real.max() < x1
            assert y0 < path.imag.min() <= path.imag.max() < y1
    assert x0 > left.dimension("expansion_link.trunnion_x")  # and nothing of the link is in it
    names = named_on(ax)
    assert "combination lever" in names
    assert not {"expansion link", "die", "return crank"} & set(names)
    with pytest.raises(lm.UnknownName, match="did you mean 'combination lever'"):
        left.plot_gear("mid", around=("combinaton lever",))


def test_a_part_can_be_marked_and_told_of(left: lm.Side) -> None:
    ax = left.plot_gear("mid", 0.0, names=False, marked={"radius rod": "look here"})
    assert named_on(ax) == ["radius rod: look here"]
    with pytest.raises(lm.UnknownName, match="did you mean 'radius rod'"):
        left.plot_gear("mid", marked={"radius rd": ""})


def test_whatever_is_marked_has_its_words_and_none_ends_in_a_colon() -> None:
    """Sheaves, blocks and bearings have no name of their own in the drawing, but a mark on them is told."""
    for stem, part in (
        ("donkey_eccentric", "eccentric"),
        ("metre_gauge", "swivel block"),
        ("dock_shunter", "trunnion"),
    ):
        side = lm.read_engine(f"examples/{stem}.toml")["drawing"].left
        notch = side.assessed.notches[0]
        for words, told in (("slipped 4°", f"{part}: slipped 4°"), ("", part), (" ", part)):
            assert named_on(side.plot_gear(notch, names=False, marked={part: words})) == [told]


def test_another_state_is_laid_over_with_its_name_and_factor(engine: lm.Engine, left: lm.Side) -> None:
    longer = left.change({"radius_rod.length": "+1/16 in"})
    ax = left.plot_gear("mid", 60.0, ghost=longer, factor=30)
    assert "broken lines: drawing, changed, drawn 30 times too far from drawing" in told_on(ax)
    broken = [patch for patch in ax.patches if patch.get_edgecolor()[:3] == to_rgb(lm.style.FLAG)]
    assert len(broken) > 3
    found = lm.diagnose(engine, lm.read_readings("examples/readings/dock_shunter.toml")).left.estimated
    assert "broken lines: as estimated from the readings, drawn 10 times" in told_on(
        left.plot_gear("mid", 60.0, ghost=found, factor=10)
    )


def test_slack_shows_at_the_valve_where_it_trails(left: lm.Side) -> None:
    """The gear is the same; the valve stands off by its play in motion, times the factor."""
    worn = left.with_clearance({"die pin": "0.060 in"})
    ax = left.plot_gear("full forward", 60.0, ghost=worn, factor=20)
    off = 20 * float(worn.valve_path("full forward", 60.0) - left.valve_path("full forward", 60.0))
    assert abs(off) > 0.3
    own = float(left.pin_path("valve pin", "full forward", 60.0).real)
    broken = [
        patch.get_path().get_extents() for patch in ax.patches if patch.get_edgecolor()[:3] == to_rgb(lm.style.FLAG)
    ]
    eyes = [(box.x0 + box.x1) / 2 for box in broken if abs(box.width - box.height) < 0.05]
    assert min(abs(middle - own - off) for middle in eyes) < 0.05


def test_the_page_that_moves_is_a_frame_whole_in_itself(engine: lm.Engine) -> None:
    shown = engine.moving_page("as found")
    frame = Element(shown._repr_html_())
    assert frame.tag == "iframe"
    assert frame.has["srcdoc"] == shown.html
    assert engine.name in str(frame.has["title"])
    assert frame.has["sandbox"] == "allow-scripts"
    assert shown.states == ("drawing", "as found")
    assert not re.search(r"<(script|link|img|iframe)[^>]+(src|href)=[\"']?https?:", shown.html)
    assert engine.name in html.unescape(shown.html)
    assert repr(shown).startswith(f"<MovingPage of {engine.name!r}: drawing, as found; ")
    with pytest.raises(lm.UnknownName, match="did you mean 'as found'"):
        engine.moving_page("as fond")


def test_a_state_that_cannot_be_turned_is_told_and_not_shown(engine: lm.Engine) -> None:
    short = engine.edit("union_link.length", "3 in", state="short")
    with pytest.raises(ValueError, match="the state 'short' cannot be shown: "):
        short.moving_page("short")
    assert "short" not in engine.edit("union_link.length", "3 in", state="short").moving_page().states


def test_dimensions_are_drawn_by_their_letters() -> None:
    left = lm.read_engine("examples/donkey_eccentric.toml")["drawing"].left
    ax = left.plot_dimensions("eccentric")
    assert {"mark-D1", "mark-D2", "mark-D3"} == {artist.get_gid() for artist in ax.get_children() if artist.get_gid()}
    whole = left.plot_dimensions()
    assert {"mark-A1", "mark-B1", "mark-C8", "mark-E1"} <= {artist.get_gid() for artist in whole.get_children()}
    with pytest.raises(lm.UnknownName, match="did you mean 'eccentric'"):
        left.plot_dimensions("ecentric")


def test_measuring_sheets_in_a_notebook() -> None:
    engine = lm.read_engine("examples/donkey_eccentric.toml")
    sheets = engine.measuring_sheets()
    assert repr(sheets).startswith(f"<MeasuringSheets of {engine.name!r}, drawing; ")
    assert "E1" in sheets.html
    assert 'sandbox=""' in sheets._repr_html_()
    assert sheets.pdf("letter").startswith(b"%PDF")
    with pytest.raises(lm.UnknownName, match="drawing"):
        engine.measuring_sheets("drawin")
    with pytest.raises(lm.UnknownName, match="A4"):
        sheets.pdf("A3")
