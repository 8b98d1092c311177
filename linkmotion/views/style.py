"""What a colour, a line and a mark mean, the same in every plot; and the arrays that plots draw.

One colour means one thing, and no meaning hangs on colour alone:

- steam and exhaust differ in lightness (by more than 20 of L*, so that paper without colour tells them apart) and in
  line: steam is drawn in whole lines and long dashes, exhaust in dots and dots with dashes;
- front is the line that is nearest to whole of its kind and a filled mark, back is broken and an open mark;
- left and right differ in lightness and in mark: each points to its own side;
- what a thing is held against (the drawing, a first state) is a broad grey line behind it, a target a pale band.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from linkmotion.events import EVENTS, FORWARD
from linkmotion.files.lengths import UNITS
from linkmotion.piston import dead_centre as _dead_centre
from linkmotion.studies.assess import SideEvents
from linkmotion.views.lettering import Head, held_to_width, key_room, say_head

INK, PAPER, GRID = "#22303a", "#fffdf8", "#d9d4c7"
STEAM, EXHAUST = "#8a3216", "#559cbd"
LEFT, RIGHT = "#1d5b4f", "#c08a2e"
BEHIND, BAND, FLAG = "#c6c1b5", "#e3e6da", "#7a1f6b"  # held against; within the target; out of target, or a limit
SIDE_COLOURS = {"left": LEFT, "right": RIGHT, "middle": INK}
SIDE_MARKS = {"left": "<", "right": ">", "middle": "o", "": "o"}
DASHES = {"front": "-", "back": (0, (5, 2))}
FLOWS: dict[str, dict[str, Any]] = {
    "steam": {"color": STEAM, "lw": 1.7},
    "exhaust": {"color": EXHAUST, "lw": 1.5},
}
_FLOW_DASHES = {
    ("steam", "front"): "-",
    ("steam", "back"): (0, (5, 2)),
    ("exhaust", "front"): (0, (1, 1)),
    ("exhaust", "back"): (0, (4, 1.5, 1, 1.5)),
}
MARKS = dict(zip(EVENTS, ("o", "s", "^", "D"), strict=True))
SMALL = 8  # points: the least that is printed; plots are drawn at the size at which they are printed
STYLE = {
    "font.size": SMALL,
    "axes.labelsize": SMALL,
    "xtick.labelsize": SMALL,
    "ytick.labelsize": SMALL,
    "legend.fontsize": SMALL,
    "legend.title_fontsize": SMALL,
    "axes.edgecolor": INK,
    "axes.linewidth": 0.7,
    "axes.labelcolor": INK,
    "text.color": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "xtick.major.size": 2.5,
    "ytick.major.size": 2.5,
    "axes.grid": True,
    "axes.axisbelow": True,
    "grid.color": GRID,
    "grid.linewidth": 0.5,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "figure.facecolor": PAPER,
    "axes.facecolor": PAPER,
    "savefig.facecolor": PAPER,
    "legend.frameon": False,
    "axes.titlesize": 9,
    "axes.titleweight": "bold",
    "axes.titlelocation": "left",
    "font.sans-serif": ["DejaVu Sans", "Verdana"],
    "svg.fonttype": "none",
    "text.parse_math": False,
}
COUNT = 360
HALF, FULL = 3.5, 7.2
"""Widths of pictures, inches: two abreast on A4 and on Letter, and one alone."""

Margins = tuple[float, float, float, float]
"""Room left of, right of, below and above the axes, inches."""


def as_svg(
    draw: Callable[[Any], Any],
    size: tuple[float, float],
    grid: tuple[int, int] = (1, 1),
    axes: Any = None,
    heights: Any = None,
    head: Head | None = None,
    margins: Margins | None = None,
) -> bytes:
    """Draw a picture as SVG: ``draw`` is given the axes; it may change the figure's size.

    Parameters
    ----------
    size : (width, height)
        Inches, the head not counted.
    head : Head, optional
        What stands over it.
    margins : (left, right, below, above), optional
        Inches round one plot; where they are not given they are measured, which takes several times as long.
    """
    import io
    import warnings

    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context(STYLE | {"svg.hashsalt": "linkmotion"}), warnings.catch_warnings():  # type: ignore[arg-type]
        warnings.filterwarnings("ignore", "Glyph .* missing")  # SVG text is drawn by the reader's own fonts
        figure = Figure(figsize=size, layout="constrained" if margins is None else None)
        if margins is None:
            draw(figure.subplots(*grid, subplot_kw=axes, height_ratios=heights))
        else:
            draw(figure.add_axes((0.1, 0.1, 0.8, 0.8), **(axes or {})))
        over = 0.0 if head is None else say_head(figure, head)
        if margins is None:
            foot, height = key_room(figure), figure.get_figheight()
            rect = (0, foot / height, 1, 1 - (over + foot) / height)
            figure.get_layout_engine().set(rect=rect)  # type: ignore[call-arg,union-attr]
        else:
            _place(figure, margins, over)
        out = io.BytesIO()
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": "linkmotion"})
    return held_to_width(out.getvalue())


def _place(figure: Any, margins: Margins, over: float) -> None:
    """Put the one plot of a figure between its margins, with room for its key under it."""
    (left, right, below, above), ax = margins, figure.axes[0]
    width, height = figure.get_size_inches()
    under, height = below + key_room(ax), height + key_room(ax)
    figure.set_size_inches(width, height)
    ax.set_position(
        (left / width, under / height, (width - left - right) / width, (height - over - under - above) / height)
    )
    for text in figure.texts:  # the head, which stands at its distance from the top
        text.set_y(1 - (1 - text.get_position()[1]) * (height - key_room(ax)) / height)


def on(draw: Callable[..., Any]) -> Callable[[Any], Any]:
    """A plot whose axes are still to be given, as :func:`as_svg` takes it."""
    return lambda ax: draw(ax=ax)


def axes_or_new(ax: Any) -> Any:
    """The axes given, or new ones of their own."""
    if ax is not None:
        return ax
    import matplotlib.pyplot as plt

    return plt.subplots(layout="constrained")[1]


def flow_line(flow: str, end: str) -> dict[str, Any]:
    """The line of a port's opening to "steam" or "exhaust" at an end."""
    return FLOWS[flow] | {"ls": _FLOW_DASHES[flow, end], "dash_capstyle": "butt"}


def behind(**look: Any) -> dict[str, Any]:
    """The line of what a thing is held against."""
    return {"color": BEHIND, "lw": 2.6, "zorder": 1.5, "solid_capstyle": "butt"} | look


def patch(colour: str) -> dict[str, Any]:
    """What stands in a key for a bar or a band."""
    return {"color": colour, "lw": 7, "solid_capstyle": "butt"}


def mark(side: str, end: str, colour: str = "") -> dict[str, Any]:
    """The mark of a side ("" where both are alike) and an end: it points to its side; filled is the front end."""
    own = colour or SIDE_COLOURS.get(side, INK)
    look = {"marker": SIDE_MARKS[side], "color": own, "mec": own, "mfc": own if end == "front" else PAPER}
    size = (5.5 if side else 5.0) + 1.6 * (end == "back")  # so that a ring is left where the ends fall together
    return look | {"ms": size, "mew": 1.1, "ls": "none"}


def notch_colour(index: int, count: int) -> tuple[float, float, float]:
    """Colour of a notch: dark teal to light ochre along the file's order."""
    dark, light = np.array([0.07, 0.26, 0.33]), np.array([0.88, 0.62, 0.20])
    part = index / max(count - 1, 1)
    return tuple(dark + (light - dark) * part)


def displacement_of(side: SideEvents, notch: int, direction: str) -> Any:
    """Valve from central (mm) in motion, over a revolution in the direction of running, first point repeated."""
    return side.valve_at(notch, np.linspace(0.0, 2 * np.pi, COUNT + 1), direction)


def piston_of(side: SideEvents, direction: str) -> Any:
    """Piston's distance from its front limit, percent of stroke, over the same revolution."""
    angle = np.linspace(0.0, 2 * np.pi, COUNT + 1)
    return 100 * side.gear.crank.fraction(angle if direction == FORWARD else -angle)


def dead_centre(side: SideEvents, end: str, direction: str) -> float:
    """Crank angle of an end's dead centre in the direction of running, degrees."""
    return float(np.degrees(_dead_centre(side.gear.crank, end, direction == FORWARD)))


def label(name: str, most: int = 40) -> str:
    """A notch's name as a label: cut when very long; a leading underscore would hide it from a legend."""
    short = name if len(name) <= most else f"{name[: most - 1]}…"
    return f" {short}" if short.startswith("_") else short


def scale_of(unit: str) -> float:
    """What a millimetre is in a unit."""
    return 1.0 / float(UNITS[unit])


def crank_axis(side: SideEvents, direction: str, ax: Any) -> None:
    """Make the x axis one of crank angle, with back dead centre marked."""
    back = dead_centre(side, "back", direction)
    ax.axvline(back, color=GRID, lw=1.6, zorder=0.5)
    ax.set(xlim=(0, 360), xticks=range(0, 361, 90), xlabel=f"crank from front dead centre, degrees, {direction}")
