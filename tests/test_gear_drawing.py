"""The gear as drawn: its names can be read."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from linkmotion.files.engine_file import read_engine
from linkmotion.studies.assess import assess
from linkmotion.views.drawing import plot_gear
from linkmotion.views.labels import Bar, write_names
from linkmotion.views.pictures import featured

EXAMPLES = sorted(Path("examples").glob("*.toml"))


def written(ax: Axes) -> list[Any]:
    """The names, each of which is a text with the place that it stands at."""
    return list(ax.texts)


def ink(figure: Figure, shown: Any, all_of_them: list[Any]) -> Any:
    """The dots that one thing alone makes."""
    for each in all_of_them:
        each.set_visible(each is shown)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    return np.asarray(canvas.buffer_rgba())[..., :3].min(axis=-1) < 160


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_no_name_stands_on_another(file: Path) -> None:
    side = assess(read_engine(file)).sides[0]
    figure = Figure(figsize=(10, 4.6), dpi=100)
    ax = plot_gear(side, featured(side)[0], 45.0, figure.subplots())
    names = list(ax.texts)
    assert len(names) >= 2
    everything = [*names, *ax.lines, ax.patch, ax.xaxis, ax.yaxis, *ax.spines.values()]
    dots = {name.get_text(): ink(figure, name, everything) for name in names}
    assert all(each.sum() > 50 for each in dots.values())
    for one, two in combinations(dots, 2):
        assert not (dots[one] & dots[two]).any(), f"{one!r} is written over {two!r}"


def test_a_name_gives_way_to_a_bar_that_crosses_and_to_a_name_already_there() -> None:
    figure = Figure(figsize=(5, 5), dpi=100)
    ax = figure.subplots()
    ax.set(xlim=(0, 350), ylim=(0, 350))
    free, crossed = Bar(50 + 50j, 250 + 50j, "k", "rod"), Bar(140 + 40j, 140 + 75j, "k")
    write_names(ax, [free])
    write_names(ax, [free, crossed])
    alone, moved = (text.xy[0] for text in written(ax))
    assert alone == pytest.approx(130.0, abs=1e-9)  # where a name stands with nothing in the way
    assert abs(moved - 140.0) > 15.0
    write_names(ax, [Bar(0j, 300j, "k", "one"), Bar(1j, 301j, "k", "two")])  # one behind the other
    heights, ways = zip(*((text.xy[1], text.get_va()) for text in written(ax)[2:]), strict=True)
    assert ways[0] != ways[1] or abs(heights[0] - heights[1]) > 20.0
