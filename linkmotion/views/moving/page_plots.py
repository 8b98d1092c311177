"""The page's plots: valve against crank angle, openings, and the valve ellipse; their data come from the page."""

from __future__ import annotations

from typing import Any

import numpy as np
from bokeh.models import ColumnDataSource, NumeralTickFormatter, Range1d
from bokeh.models.annotations import Span
from bokeh.plotting import figure

from linkmotion.linkage import Harmonics
from linkmotion.studies.page_data import PageData
from linkmotion.views.style import EXHAUST, FLAG, GRID, INK, PAPER, STEAM, scale_of

CURVE = ("angle", "piston", "valve", "steam_front", "steam_back", "exhaust_front", "exhaust_back")
EVENT = ("angle", "piston", "valve", "marker", "colour", "fill")
LAPS = ("steam_front", "steam_back", "exhaust_front", "exhaust_back")


def plots(moving: PageData) -> dict[str, Any]:
    """The three figures, by name; they share the sources named "curve", "ghost" and "events"."""
    sources = {
        name: ColumnDataSource(data={column: [] for column in columns}, name=name)
        for name, columns in (("curve", CURVE), ("ghost", CURVE), ("events", EVENT))
    }
    scale = scale_of(moving.engine.unit)
    reach = 1.12 * scale * _reach(moving)
    port = 1.25 * scale * float(moving.cases[0].gear.valve.port_width)
    return {
        "valve": _valve(sources, reach, moving.engine.unit),
        "openings": _openings(sources, port, moving.engine.unit),
        "ellipse": _ellipse(sources, reach, moving.engine.unit),
    }


def _reach(moving: PageData) -> float:
    """Farthest that any valve goes from central, mm."""
    most = 0.0
    for case in moving.cases:
        spindle = Harmonics(case.motion.series[:, case.quantities.index("spindle")])
        most = max(most, float(np.max(np.abs(spindle.on_grid(192) - case.central_at))))
    return most


def _figure(name: str, x: str, y: str, y_range: tuple[float, float], x_range: tuple[float, float]) -> Any:
    plot = figure(
        name=name,
        height=250,
        sizing_mode="stretch_width",
        toolbar_location=None,
        tools="",
        x_range=Range1d(start=x_range[0], end=x_range[1]),
        y_range=Range1d(start=y_range[0], end=y_range[1]),
        x_axis_label=x,
        y_axis_label=y,
        background_fill_color=PAPER,
        border_fill_color=PAPER,
        outline_line_color=INK,
        min_border_left=58,
        min_border_right=14,
    )
    plot.grid.grid_line_color = GRID
    plot.grid.grid_line_alpha = 0.7
    for axis in plot.axis:
        axis.axis_label_text_font_style = "normal"
        axis.axis_label_text_color = axis.major_label_text_color = INK
        axis.axis_label_text_font_size = "12px"
        axis.major_label_text_font_size = "11px"
        axis.minor_tick_line_color = None
        axis.axis_line_color = axis.major_tick_line_color = INK
    plot.yaxis.formatter = NumeralTickFormatter(format="0.[000]")
    return plot


def _angles(plot: Any) -> Any:
    plot.xaxis.ticker = list(range(0, 361, 45))
    plot.add_layout(Span(location=180, dimension="height", line_color=GRID, line_width=2, name="back dead centre"))
    return plot


def _valve(sources: dict[str, Any], reach: float, unit: str) -> Any:
    plot = _figure("valve", "crank angle, degrees", f"valve from central, {unit}", (-reach, reach), (0, 360))
    _displacement(_angles(plot), sources, "angle")
    return plot


def _openings(sources: dict[str, Any], port: float, unit: str) -> Any:
    plot = _angles(_figure("openings", "crank angle, degrees", f"port open, {unit}", (0, port), (0, 360)))
    for name in LAPS:
        colour = STEAM if name.startswith("steam") else EXHAUST
        dash = "solid" if name.endswith("front") else "dashed"
        plot.line("angle", name, source=sources["ghost"], color=FLAG, line_dash="dotted", line_width=1)
        plot.line(
            "angle",
            name,
            source=sources["curve"],
            color=colour,
            line_dash=dash,
            line_width=2.6 if name.startswith("steam") else 1.4,
        )
        if name.endswith("front"):
            plot.varea("angle", y1=name, y2=0, source=sources["curve"], fill_color=colour, fill_alpha=0.08)
    return plot


def _ellipse(sources: dict[str, Any], reach: float, unit: str) -> Any:
    plot = _figure(
        "ellipse", "piston from front, % of stroke", f"valve from central, {unit}", (-reach, reach), (-3, 103)
    )
    _displacement(plot, sources, "piston")
    return plot


def _displacement(plot: Any, sources: dict[str, Any], x: str) -> None:
    """Valve displacement with the lines at which its edges open, another state's dotted, and the events marked."""
    for name in LAPS:
        dash = "solid" if name.endswith("front") else "dashed"
        colour = STEAM if name.startswith("steam") else EXHAUST
        plot.add_layout(Span(dimension="width", line_color=colour, line_dash=dash, line_alpha=0.6, name=f"edge {name}"))
    plot.line(x, "valve", source=sources["ghost"], color=FLAG, line_dash="dotted", line_width=2)
    plot.line(x, "valve", source=sources["curve"], color=INK, line_width=2)
    plot.scatter(
        x, "valve", marker="marker", size=9, line_color="colour", fill_color="fill", line_width=1.6,
        source=sources["events"],
    )  # fmt: skip
