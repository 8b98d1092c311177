"""What the plots share: colours, axes, and the arrays they draw.

Front end solid, back end dashed, in every plot; notches run from dark to light in the order of the
file; colours are told apart by lightness too.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from linkmotion.events import EVENTS, FORWARD
from linkmotion.files.lengths import UNITS
from linkmotion.piston import dead_centre as _dead_centre
from linkmotion.studies.assess import SideEvents

INK, PAPER, GRID = "#22303a", "#fffdf8", "#d9d4c7"
STEAM, EXHAUST, FLAG = "#b5482a", "#2f6f8f", "#8a1c4a"
DASHES = {"front": "-", "back": (0, (5, 2))}
MARKS = dict(zip(EVENTS, ("o", "s", "^", "D"), strict=True))
STYLE = {
    "font.size": 9,
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "text.color": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "axes.grid": True,
    "grid.color": GRID,
    "grid.linewidth": 0.6,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "figure.facecolor": PAPER,
    "axes.facecolor": PAPER,
    "savefig.facecolor": PAPER,
    "legend.frameon": False,
    "axes.titlesize": 10,
    "axes.titleweight": "bold",
    "axes.titlelocation": "left",
    "svg.fonttype": "none",
    "text.parse_math": False,
}
COUNT = 720


def as_svg(
    draw: Callable[[Any], Any],
    size: tuple[float, float],
    grid: tuple[int, int] = (1, 1),
    axes: Any = None,
    heights: Any = None,
) -> bytes:
    """Draw a picture as SVG: ``draw`` is given the axes; it may change the figure's size."""
    import io
    import warnings

    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context(STYLE | {"svg.hashsalt": "linkmotion"}), warnings.catch_warnings():  # type: ignore[arg-type]
        warnings.filterwarnings("ignore", "Glyph .* missing")  # SVG text is drawn by the reader's own fonts
        figure = Figure(figsize=size, layout="constrained")
        draw(figure.subplots(*grid, subplot_kw=axes, height_ratios=heights))
        out = io.BytesIO()
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": "linkmotion"})
    return out.getvalue()


def axes_or_new(ax: Any) -> Any:
    """The axes given, or new ones of their own."""
    if ax is not None:
        return ax
    import matplotlib.pyplot as plt

    return plt.subplots(layout="constrained")[1]


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
    ax.axvline(back, color=GRID, lw=1.2)
    ax.set(
        xlim=(0, 360),
        xticks=range(0, 361, 45),
        xlabel=f"crank angle from front dead centre, degrees, running {direction}",
    )
