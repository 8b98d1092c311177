"""The gear as drawn for paper: its names can be read, its colours told apart; what differs is shown as far as told."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
import pytest
import shapely
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch, Rectangle

from linkmotion.elevation.valve_shape import EXPANDING, LIVE, OUT, SQUEEZED
from linkmotion.engine import Engine
from linkmotion.files.engine_file import read_engine
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.side_drawing import elevation_of, standing_at
from linkmotion.views.drawing import height_for, plot_gear
from linkmotion.views.elevation_axes import Ghost
from linkmotion.views.elevation_colours import CONTENTS
from linkmotion.views.elevation_furniture import bar_length
from linkmotion.views.labels import Call, Names
from linkmotion.views.style import FLAG, STYLE

EXAMPLES = sorted(Path("examples").glob("*.toml"))
WIDE = 7.2  # inches: across a sheet of A4 or Letter


def on_paper(side: SideEvents, engine: Engine, notch: int, angle: float, wide: float = WIDE, **more: Any) -> Figure:
    """A picture as a report has it, drawn."""
    with matplotlib.rc_context(STYLE):  # type: ignore[arg-type]
        own = elevation_of(side, engine)
        figure = Figure(figsize=(wide, height_for(own, wide)), layout="constrained", dpi=100)
        plot_gear(side, notch, angle, figure.subplots(), unit=engine.unit, elevation=own, **more)
        figure.draw_without_rendering()
    return figure


def names_of(figure: Figure) -> list[Any]:
    return [text for artist in figure.axes[0].artists if isinstance(artist, Names) for text in artist.texts]


def texts_of(figure: Figure) -> list[Any]:
    """Every text that the picture has."""
    ax = figure.axes[0]
    key = ax.get_legend()
    return [*names_of(figure), *ax.texts, *([] if key is None else key.get_texts())]


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_no_text_stands_on_another_and_none_is_cut_off(file: Path) -> None:
    engine = read_engine(file)
    side = assess(engine).sides[0]
    least = {"donkey_eccentric": 5}.get(file.stem, 11)
    mid, last = len(side.notches) // 2, len(side.notches) - 1
    for notch, angle in {(0, 0.0), (mid, 75.0), (last, 160.0), (0, 290.0), (mid, 0.0), (last, 75.0)}:
        figure = on_paper(side, engine, notch, angle)
        boxes = [(text.get_text(), text.get_window_extent().padded(-0.5)) for text in texts_of(figure)]
        assert len(names_of(figure)) >= least
        for (one, a), (two, b) in combinations(boxes, 2):
            assert not a.overlaps(b), f"{one!r} is written over {two!r}, notch {notch}, {angle}°"
        for told, box in boxes:
            assert box.x0 >= 0, told
            assert box.y0 >= 0, told
            assert box.x1 <= figure.bbox.x1, told
            assert box.y1 <= figure.bbox.y1, told


@pytest.mark.parametrize("wide", [4.0, 5.5, 10.0])
def test_bar_key_and_words_have_room_in_a_picture_of_any_width(wide: float) -> None:
    engine = read_engine("examples/gooch_tank.toml")
    side = assess(engine).sides[0]
    figure = on_paper(side, engine, 0, 100.0, wide, names=False)
    boxes = [text.get_window_extent() for text in texts_of(figure)]
    assert len(boxes) >= 5
    assert not any(a.overlaps(b) for a, b in combinations(boxes, 2))
    assert all(box.x0 >= 0 and box.x1 <= figure.bbox.x1 and box.y0 >= 0 for box in boxes)


def test_a_part_of_the_drawing_shows_names_and_key_of_what_is_in_it_alone() -> None:
    engine = read_engine("examples/dock_shunter.toml")
    side = assess(engine).sides[0]
    link = on_paper(side, engine, 0, 60.0, view=(25.0, 0.0, 60.0, 34.0))
    names = {text.get_text() for text in names_of(link)}
    assert {"expansion link", "die", "radius rod", "weighshaft"} <= names
    assert not names & {"cylinder", "valve", "union link", "piston", "return crank"}
    assert link.axes[0].get_legend() is None
    chest = on_paper(side, engine, 0, 60.0, view=(90.0, -10.0, 115.0, 24.0))
    key = chest.axes[0].get_legend()
    assert key is not None
    assert {text.get_text() for text in key.get_texts()} == {"live steam", "exhaust"}


def test_the_picture_says_what_it_is_of() -> None:
    engine = read_engine("examples/dock_shunter.toml")
    side = assess(engine, "as found", ["right"]).sides[0]
    figure = on_paper(side, engine, 2, 75.0, direction="backward")
    words = next(text.get_text().replace("\n", " ") for text in figure.axes[0].texts if "State" in text.get_text())
    for told in ("as found", "right side", "forward 50", "75°", "backward", "as it stands"):
        assert told in words


def lightness(colour: str) -> float:
    """L* of a colour of the screen: CIE 15 by the formulas of IEC 61966-2-1 (sRGB); from memory."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    y = float(np.dot((0.2126, 0.7152, 0.0722), linear))
    return 116 * y ** (1 / 3) - 16 if y > 216 / 24389 else y * 24389 / 27


def test_steam_and_exhaust_differ_in_lightness_and_pattern() -> None:
    assert lightness("#ffffff") == pytest.approx(100.0, abs=1e-6)
    assert lightness("#777777") == pytest.approx(50.0, abs=0.1)
    assert lightness(CONTENTS[OUT].fill) - lightness(CONTENTS[LIVE].fill) >= 20.0
    assert lightness(CONTENTS[EXPANDING].fill) - lightness(CONTENTS[LIVE].fill) >= 20.0
    patterns = [CONTENTS[content].hatch for content in (LIVE, OUT, EXPANDING, SQUEEZED)]
    assert len(set(patterns)) == 4
    assert all(patterns)


def ghosts(figure: Figure) -> list[Any]:
    return [p for p in figure.axes[0].patches if isinstance(p, PathPatch) and p.get_linestyle() not in ("-", "solid")]


def test_another_state_is_laid_over_with_its_difference_enlarged_and_the_factor_told() -> None:
    engine = read_engine("examples/stephenson_goods.toml")
    before, now = (assess(engine, state, ["left"]).sides[0] for state in ("drawing", "as found"))
    new = elevation_of(now, engine)
    old = elevation_of(before, engine, like=new)
    was, stands = (standing_at(e, s, 0, 60.0).places for e, s in ((old, before), (new, now)))
    figure = on_paper(now, engine, 0, 60.0, ghost=Ghost(old, was, "the drawing", 20.0))
    assert any(
        "drawn 20 times too far from as found" in text.get_text().replace("\n", " ") for text in texts_of(figure)
    )
    scale = 1 / 25.4
    link = [p for p in ghosts(figure) if _holds(p, scale * _far(was, stands, "forward pin", 20.0))]
    assert link
    wheel = 2 * 1.5 * scale * new.paths.r  # which stands where it stood
    assert max(np.ptp(p.get_path().vertices[:-1], axis=0).min() for p in ghosts(figure)) < wheel


def _far(was: dict[str, complex], stands: dict[str, complex], pin: str, factor: float) -> complex:
    assert abs(was[pin] - stands[pin]) > 0.5
    return stands[pin] + factor * (was[pin] - stands[pin])


def _holds(patch: Any, at: complex) -> bool:
    return bool(
        shapely.Polygon(patch.get_path().to_polygons()[0]).buffer(1.5).contains(shapely.Point(at.real, at.imag))
    )


def test_parts_that_are_off_are_marked_and_told() -> None:
    engine = read_engine("examples/dock_shunter.toml")
    side = assess(engine, "as found", ["right"]).sides[0]
    figure = on_paper(side, engine, 0, 60.0, names=False, marked={"eccentric rod": "1/32 in long"})
    assert [text.get_text() for text in names_of(figure)] == ["eccentric rod: 1/32 in long"]
    heavy = [p for p in figure.axes[0].patches if p.get_edgecolor()[:3] == to_rgb(FLAG) and p.get_linewidth() > 1]
    assert len(heavy) == 1


def test_a_name_gives_way_to_what_is_drawn_and_to_a_name_already_there() -> None:
    figure = Figure(figsize=(5, 5), dpi=100)
    ax = figure.subplots()
    ax.set(xlim=(0, 350), ylim=(0, 350))
    block = shapely.box(150, 150, 340, 345)
    names = Names(ax, [Call("one", (150 + 150j,), "k"), Call("two", (150 + 150j,), "k")], [(block, 1.0)])
    ax.add_artist(names)
    FigureCanvasAgg(figure).draw()
    boxes = [text.get_window_extent() for text in names.texts]
    assert [text.get_text() for text in names.texts] == ["one", "two"]
    assert not boxes[0].overlaps(boxes[1])
    drawn = ax.transData.transform_bbox(matplotlib.transforms.Bbox(((150, 150), (340, 345))))
    assert not any(box.padded(-1).overlaps(drawn) for box in boxes)


def test_a_name_with_no_room_is_left_out() -> None:
    figure = Figure(figsize=(0.5, 0.3), dpi=100)
    ax = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    names = Names(ax, [Call("a name as long as that", (0.5 + 0.5j,), "k")], [])
    ax.add_artist(names)
    FigureCanvasAgg(figure).draw()
    assert names.texts == []


@pytest.mark.parametrize(("unit", "wide", "long"), [("mm", 3400.0, 500.0), ("in", 140.0, 24.0), ("ft", 11.0, 2.0)])
def test_the_scale_bar_is_a_round_length(unit: str, wide: float, long: float) -> None:
    assert bar_length(unit, wide) == long


def test_the_scale_bar_measures_what_it_says() -> None:
    engine = read_engine("examples/metre_gauge.toml")
    side = assess(engine).sides[0]
    ax = on_paper(side, engine, 0, 60.0).axes[0]
    halves = [p for p in ax.patches if isinstance(p, Rectangle)]
    long = sum(p.get_width() for p in halves)
    assert f"{long:g} mm" in [text.get_text() for text in ax.texts]
    corners = ax.transData.transform([(0, 0), (100, 0), (0, 100)])
    across, up = np.hypot(*(corners[1] - corners[0])), np.hypot(*(corners[2] - corners[0]))
    assert across == pytest.approx(up, rel=1e-6)
