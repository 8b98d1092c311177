"""Where the marks for the dead centres are made: on the tyre by the trammel, and on the slide bar."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.lines import Line2D

from linkmotion.elevation.body import Places
from linkmotion.elevation.crosshead import BAR, HALF_HIGH, HALF_LONG
from linkmotion.elevation.side_elevation import Elevation, outer_points
from linkmotion.gears.frame import CROSSHEAD_PIN
from linkmotion.views.dimension_plot import NOTHING, show_box
from linkmotion.views.drawing import fineness
from linkmotion.views.elevation_axes import Sheet, lay
from linkmotion.views.labels import Call, Names
from linkmotion.views.style import FLAG, axes_or_new

TYRE, BARS = (
    "T  marks on the tyre, by a trammel from a punch mark on the frame",
    "S  one line over slide bar and crosshead",
)
_KINDS = ("frame", "rail", "wheel", "slide bar", "crosshead", "main rod", "piston rod")
_AT = 2.2  # radians round the wheel at which the trammel stands
_APART = 0.16  # radians between the two marks of a pair as drawn


def plot_tram(elevation: Elevation, places: Places, ax: Any = None) -> Any:
    """Draw wheel, connecting rod and slide bars, and where the marks are made; lengths mm.

    Parameters
    ----------
    elevation, places : Elevation, dict
        The drawing, and where its pins stand.
    ax : optional
        Axes.
    """
    ax = axes_or_new(ax)
    ax.set_axis_off()
    ax.figure.figure.draw_without_rendering()  # so that its size is known
    r = elevation.paths.r
    wheel = np.abs(outer_points(elevation.body("wheel"), elevation.body("wheel").follows.place(places))).max() / 1.035
    bars = elevation.body("slidebars")
    ahead = float(outer_points(bars, bars.follows.place(places)).real.max())
    show_box(ax, (-1.15 * wheel, -1.1 * wheel, ahead + 0.3 * r, 1.5 * wheel))
    sheet = Sheet(ax, 1.0, NOTHING, fineness(ax))
    lay(sheet, elevation, places, _KINDS)
    marks = [wheel * np.exp(1j * (_AT + side * _APART)) for side in (-1, 1)]
    for mark in marks:
        _stroke(ax, 0.955 * mark, 1.03 * mark)
    punch = 1.3 * wheel * np.exp(1j * _AT)
    for end in (punch, marks[1]):
        ax.add_artist(Line2D([end.real], [end.imag], marker="o", ms=3.4, color=FLAG, zorder=48))
    _stroke(ax, punch, marks[1])
    way = complex(np.exp(1j * float(elevation.paths.gear.crank.slope)))
    line = places[CROSSHEAD_PIN] - way * HALF_LONG * r
    low, high = line + 1j * way * (HALF_HIGH - 0.12) * r, line + 1j * way * (HALF_HIGH + BAR) * r
    _stroke(ax, low, high)
    calls = [Call(TYRE, (complex((punch + marks[1]) / 2),), FLAG), Call(BARS, (complex(high),), FLAG)]
    ax.add_artist(Names(ax, calls, sheet.taken))
    return ax


def _stroke(ax: Any, start: complex, end: complex) -> None:
    ax.add_artist(Line2D([start.real, end.real], [start.imag, end.imag], color=FLAG, lw=1.6, zorder=48))
