"""What every picture of every command must be, measured on its file: of all the example engines and their readings.

Nothing too small to be read as it is printed, nothing clipped, no text on another; every axis with its quantity and
unit; over it of which engine, state and side it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path

import pytest

from linkmotion.files.engine_file import read_engine
from tests.bad_engines.changed import EXAMPLES
from tests.bad_engines.command import Command
from tests.svg_texts import Axis, Plot, read_svg

LEAST = 8.0  # points
ENGINES = sorted(path.stem for path in EXAMPLES.glob("*.toml"))
FOUND = [name for name in ENGINES if "as found" in read_engine(EXAMPLES / f"{name}.toml").state_names]
OF_THREE = [name for name in ENGINES if read_engine(EXAMPLES / f"{name}.toml").sides[1:] == ()]
TWO_SIDED = [name for name in FOUND if name not in OF_THREE]  # of one cylinder: nothing is left beside right
READ = sorted(
    path.stem for path in (EXAMPLES / "readings").glob("*.toml") if not path.stem.endswith(("marks", "trammel"))
)
UNIT = re.compile(
    r"\b(mm|in|degrees|ms|psi|bar|kPa|N m|lbf ft)\b|%|multiple of the target|of the mean of|in what it is good for"
)


def lines() -> Iterator[tuple[str, ...]]:
    """Every command that draws: its words, OUT in place of what is written, FILE.svg or FOLDER."""
    for name in (own for own in ENGINES if own not in FOUND[1:]):  # of those what was found is drawn over the drawing
        yield "check", f"{name}.toml", "--into", "FOLDER"
        yield "diagram", f"{name}.toml", "--picture", "FILE.svg"
        yield "beats", f"{name}.toml", "--picture", "FILE.svg"
    for name in FOUND:
        found = (f"{name}.toml", "--state", "as found")
        yield "check", *found, "--into", "FOLDER"
        yield "wear", *found, "--picture", "FILE.svg"
        yield "adjust", *found, "--pictures", "FOLDER"
        steam = (("beats", "--picture"), ("diagram", "--picture")) if name in TWO_SIDED else ()
        for command, option in (("compare", "--pictures"), *steam):
            out = "FOLDER" if option == "--pictures" else "FILE.svg"
            yield command, f"{name}.toml", "--state", "drawing", "--state", "as found", option, out
    for name in READ:
        yield "diagnose", f"{name}.toml", f"readings/{name}.toml", "--picture", "FILE.svg"
        yield "adjust", f"{name}.toml", f"readings/{name}.toml", "--pictures", "FOLDER"
    yield "trace", "dock_sister.toml", "pictures/dock_arrangement-picks.toml", "--picture", "FILE.svg"
    yield ("hold", "dock_shunter.toml", "--notch", "mid", "--samples", "200", "--no-search", "--pictures", "FOLDER")


@pytest.fixture
def linkmotion(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Command:
    monkeypatch.chdir(EXAMPLES)
    return Command(monkeypatch, capsys)


DRAWN: dict[tuple[str, ...], dict[str, Plot]] = {}
"""What was drawn already: each command is given once."""


def drawn(linkmotion: Command, words: tuple[str, ...], tmp_path: Path) -> dict[str, Plot]:
    if words not in DRAWN:
        DRAWN[words] = _drawn(linkmotion, words, tmp_path / f"{len(DRAWN)}")
    return DRAWN[words]


def _drawn(linkmotion: Command, words: tuple[str, ...], folder: Path) -> dict[str, Plot]:
    folder.mkdir()
    run = linkmotion(*(str(folder / word) if word in ("FILE.svg", "FOLDER") else word for word in words))
    assert run.code in (0, 1), run.err
    files = sorted(folder.rglob("*.svg"))
    assert files
    return {file.name: read_svg(file.read_bytes()) for file in files}


@pytest.mark.parametrize("words", list(lines()), ids=" ".join)
def test_every_picture_can_be_read_and_says_what_it_is(
    words: tuple[str, ...], linkmotion: Command, tmp_path: Path
) -> None:
    engine, state = read_engine(EXAMPLES / words[1]), "as found" if "as found" in words else "drawing"
    faults = []
    for name, plot in drawn(linkmotion, words, tmp_path).items():
        told = [*too_small(plot), *clipped(plot), *overlapping(plot), *nameless(plot)]
        told += [said for said in (engine.name, state) if said not in plot.words]
        if not re.search(r"\b(left|right)\b|both sides|middle cylinder", plot.words):
            told.append("no side")
        if re.search(r"valve|ports|stroke|polar|openings", name) and not re.search(
            r"running (forward|backward)", plot.words
        ):
            told.append("no direction")
        faults += [f"{name}: {one}" for one in told]
    assert faults == []


def too_small(plot: Plot) -> list[str]:
    return [f"{text.words!r} is of {text.size} pt" for text in plot.texts if text.size < LEAST - 0.01]


def clipped(plot: Plot) -> list[str]:
    page = plot.page.buffer(0.6)
    return [f"{text.words!r} is cut off" for text in plot.texts if not page.contains(text.outline)]


def overlapping(plot: Plot) -> list[str]:
    outlines = [(text.words, text.outline.buffer(-0.5)) for text in plot.texts]
    pairs = combinations(outlines, 2)
    return [f"{one!r} lies on {two!r}" for (one, a), (two, b) in pairs if a.intersection(b).area > 0.3]


def nameless(plot: Plot) -> list[str]:
    """Axes whose ticks are figures, and that do not say of what and in which unit."""
    return [f"{axis.name!r} {axis.ticks} has no unit" for panel in plot.panels for axis in panel if _counts(axis)
            and not UNIT.search(axis.name) and not _round(panel)]  # fmt: skip


def _counts(axis: Axis) -> bool:
    return any(re.fullmatch(r"[−-]?[\d.]+", tick) for tick in axis.ticks)


def _round(panel: list[Axis]) -> bool:
    """A polar plot: the name of its one axis tells of both."""
    names = " ".join(axis.name for axis in panel)
    return any(tick.endswith("°") for axis in panel for tick in axis.ticks) and bool(
        re.search(r"rings: .*, (mm|in); rays: .*degrees", names)
    )


SVG = """<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 50"><g id="axes_1"><g id="matplotlib.axis_1">
<g id="xtick_1"><text style="font-size: 8px; text-anchor: middle" x="20" y="30">0.5</text></g>{name}</g></g>
<text style="font-size: {size}px" x="{x}" y="20">{words}</text>
<text style="font-size: 8px" x="10" y="20" transform="rotate(-90 10 20)">up</text></svg>"""


def test_the_ruler_sees_what_is_wrong() -> None:
    """A text too small, cut off, over another (upright or turned), and an axis without a name are each found."""
    named = '<g id="text_1"><text style="font-size: 8px" x="20" y="44">lead, mm</text></g>'

    def faults(size: float = 8.0, x: float = 30.0, words: str = "lead", name: str = named) -> list[int]:
        plot = read_svg(SVG.format(size=size, x=x, words=words, name=name).encode())
        return [len(find(plot)) for find in (too_small, clipped, overlapping, nameless)]

    assert faults() == [0, 0, 0, 0]
    assert faults(size=7.5) == [1, 0, 0, 0]
    assert faults(x=90) == [0, 1, 0, 0]
    assert faults(x=2) == [0, 0, 1, 0]
    assert faults(name="") == [0, 0, 0, 1]
    assert faults(name=named.replace("lead, mm", "lead")) == [0, 0, 0, 1]


@pytest.mark.parametrize("name", TWO_SIDED)
def test_what_is_set_side_by_side_has_one_scale(name: str, linkmotion: Command, tmp_path: Path) -> None:
    """Left beside right: the valve's travel and the polar diagram, wear, readings, states."""
    found = (f"{name}.toml", "--state", "as found")
    check = drawn(linkmotion, ("check", *found, "--into", "FOLDER"), tmp_path)
    kinds = {re.sub(r".*\d\d-", "", one): panels.panels for one, panels in check.items()}
    pairs = [(kinds[one], kinds[one.replace("left", "right")]) for one in kinds if "left" in one and "gear" not in one]
    assert pairs
    for one, two in pairs:
        assert one == two
    (wear,) = drawn(linkmotion, ("wear", *found, "--picture", "FILE.svg"), tmp_path).values()
    scales = [panel[0].ticks for panel in wear.panels if "multiple of the target" in panel[0].name]
    assert len(scales) == (1 if name == "dock_sister" else 2)  # whose right side was found as drawn
    assert len(set(scales)) == 1
    rows = ("compare", f"{name}.toml", "--state", "drawing", "--state", "as found", "--pictures", "FOLDER")
    for plot in drawn(linkmotion, rows, tmp_path).values():
        assert len({panel[0].ticks for panel in plot.panels}) == 1
    setting = drawn(linkmotion, ("adjust", *found, "--pictures", "FOLDER"), tmp_path)
    left, right = (setting[f"{side}-readings.svg"].panels for side in ("left", "right"))
    assert [panel[0].ticks for panel in left] == [panel[0].ticks for panel in right]


def test_no_axis_is_narrower_than_a_reading_is_good_for(linkmotion: Command, tmp_path: Path) -> None:
    """Of a drawing nothing is to be altered: what is left is rounding, which no axis may make a picture of."""
    for name in ENGINES:
        inch = read_engine(EXAMPLES / f"{name}.toml").unit == "in"
        for plot in drawn(linkmotion, ("adjust", f"{name}.toml", "--pictures", "FOLDER"), tmp_path).values():
            for axis in (axis for panel in plot.panels for axis in panel if _counts(axis)):
                places = [float(tick.replace("−", "-")) for tick in axis.ticks]
                least = 0.5 if "%" in axis.name else 0.1 / 25.4 if inch else 0.1  # a cutoff; a feeler's leaf
                assert max(places) - min(places) >= least, (name, axis)
