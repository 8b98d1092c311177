"""Dimensions on the side elevation, each by its letter: lines between their ends, arcs of angles and radii."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely
from matplotlib.lines import Line2D
from matplotlib.patches import FancyArrowPatch

from linkmotion.elevation.body import Places
from linkmotion.elevation.dimension_marks import ALONG, ANGLE, RADIUS, DimensionMark
from linkmotion.elevation.side_elevation import Elevation, outer_points
from linkmotion.elevation.valve_shape import UNTOLD
from linkmotion.views.drawing import fineness
from linkmotion.views.elevation_axes import Sheet
from linkmotion.views.labels import Call, Names
from linkmotion.views.style import INK, axes_or_new, scale_of

Box = tuple[float, float, float, float]
NOTHING = dict.fromkeys(("front", "back", "steam", "exhaust"), UNTOLD)  # no steam is shown where parts are measured
_STEP, _CLEAR = 11.0, 7.0  # points: from one dimension line to the next; nearer than that two would be taken for one
_LEAST = 12.0  # points: a shorter dimension has dots at its ends for arrows
_ARC = (16.0, 90.0)  # points: radius of an angle's arc
_RADIUS = 46.0  # points: what is drawn of a radius
_BACKGROUND = ("frame", "wheel", "cylinder", "rail", "sector")  # bodies that a part's picture need not show whole
_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9)


def plot_dimensions(
    elevation: Elevation,
    places: Places,
    marks: Sequence[DimensionMark],
    ax: Any = None,
    *,
    unit: str = "mm",
    bodies: Collection[str] | None = None,
    view: Box | None = None,
) -> Any:
    """Draw dimensions where they lie, each with its letter.

    Parameters
    ----------
    elevation, places : Elevation, dict
        The drawing, and where its pins stand.
    marks : sequence of DimensionMark
        What is drawn.
    ax, unit : optional
        Axes, and in what they measure from the axle.
    bodies : collection of str, optional
        Names of what is looked at: everything else is pale. All alike unless given.
    view : (left, low, right, high), optional
        What is shown, mm; what :func:`view_of` says unless given.
    """
    ax = axes_or_new(ax)
    ax.set_axis_off()
    ax.figure.figure.draw_without_rendering()  # so that its size is known
    scale = scale_of(unit)
    per_point = _show(ax, tuple(scale * edge for edge in view or view_of(elevation, places, marks, bodies)))
    sheet = Sheet(ax, scale, NOTHING, fineness(ax))
    for body in elevation.bodies:
        if bodies is None or body.name not in bodies:
            sheet.lay(body, places, elevation.regions)
    if bodies is not None:
        sheet.fade()
        for body in elevation.bodies:
            if body.name in bodies:
                sheet.lay(body, places, elevation.regions)
    lines = _Lines(ax, scale, per_point)
    calls = [lines.draw(mark) for mark in sorted(marks, key=lambda mark: abs(mark.end - mark.start))]
    own = [(line.buffer(1.5 * per_point), 1.0) for line in lines.drawn]
    names = Names(ax, calls, [*sheet.taken, *own])
    ax.add_artist(names)
    return ax


def view_of(
    elevation: Elevation, places: Places, marks: Sequence[DimensionMark], bodies: Collection[str] | None = None
) -> Box:
    """What must be seen of a drawing for some dimensions: their ends, and the bodies on which they are; mm."""
    r = elevation.paths.r
    points = [place for mark in marks for place in (mark.start, mark.end, mark.abreast) if place is not None]
    points += [mark.centre for mark in marks if mark.kind == ANGLE and mark.centre is not None]
    for body in elevation.bodies:
        if bodies is not None and body.name in bodies and body.kind not in _BACKGROUND:
            own = outer_points(body, body.follows.place(places))
            if np.ptp(own.real) < 12 * r:
                points += [complex(point) for point in own]
    at, rim = np.array(points), 0.25 * r
    return (
        float(at.real.min()) - rim,
        float(at.imag.min()) - rim,
        float(at.real.max()) + rim,
        float(at.imag.max()) + rim,
    )


def height_of(view: Box, width: float, least: float, most: float) -> float:
    """How high a picture so wide is to be for a view, inches, within limits."""
    left, low, right, high = view
    return float(np.clip(width * (high - low) / (right - left), least, most))


def _show(ax: Any, box: Box) -> float:
    """Set the axes' limits about a box, alike in both directions; gives what a point is in the axes' unit."""
    left, low, right, high = box
    extent = ax.get_window_extent()
    wide, tall = (float(each) * 72 / ax.figure.dpi for each in (extent.width, extent.height))
    per_point = max((right - left) / wide, (high - low) / tall)
    x, y, half_x, half_y = (left + right) / 2, (low + high) / 2, wide * per_point / 2, tall * per_point / 2
    ax.set(xlim=(x - half_x, x + half_x), ylim=(y - half_y, y + half_y), aspect="equal")
    return per_point


@dataclass(eq=False)
class _Lines:
    """Dimension lines on axes, so laid that none is taken for another.

    Attributes
    ----------
    ax : Axes
        Where they are drawn.
    scale, per_point : float
        What a millimetre and a point are in the axes' unit.
    drawn : list of lines
        What was drawn, in the axes' unit.
    """

    ax: Any
    scale: float
    per_point: float
    drawn: list[Any] = field(default_factory=list)

    def draw(self, mark: DimensionMark) -> Call:
        """Draw a dimension's lines; its letter, and where that may point."""
        start, end = self.scale * mark.start, self.scale * mark.end
        centre = None if mark.centre is None else self.scale * mark.centre
        if mark.kind == ANGLE and centre is not None:
            path = self._angle(mark, start, end, centre)
        elif mark.kind == RADIUS and centre is not None:
            path = self._radius(mark, start, end, centre)
        elif mark.kind == ALONG:
            path = self._along(mark, start, end, centre)
        else:
            path = self._straight(mark, start, end, None if mark.abreast is None else self.scale * mark.abreast)
        return Call(mark.letter, tuple(_at(path, share) for share in _SHARES), INK)

    # ---- kinds -------------------------------------------------------------------------------------------------------

    def _straight(self, mark: DimensionMark, start: complex, end: complex, abreast: complex | None) -> Any:
        long = abs(end - start)
        if long < _LEAST * self.per_point:
            return self._dots(mark, start, end)
        square = 1j * (end - start) / long * _STEP * self.per_point
        levels = [0, *(sign * level for level in range(1, 9) for sign in (1, -1))]
        level = next((level for level in levels if self._free(start + level * square, end + level * square)), 0)
        one, two = start + level * square, end + level * square
        for place, to in ((start, one), (end, two), (abreast, start)):
            if place is not None and abs(to - place) > self.per_point:
                self._thin(place, to)
        return self._arrows(mark, np.array([one, two]))

    def _along(self, mark: DimensionMark, start: complex, end: complex, centre: complex | None) -> Any:
        """A run along the slot, beside it on the side that is free."""
        for level in (1, -1, 2, -2, 3, -3):
            if centre is None:
                path = np.array([start, end]) + 1j * (end - start) / abs(end - start) * level * _STEP * self.per_point
            else:
                arc = centre + (start - centre) * ((end - centre) / (start - centre)) ** np.linspace(0, 1, 25)
                path = arc + (arc - centre) / np.abs(arc - centre) * level * _STEP * self.per_point
            if self._free(complex(path[0]), complex(path[-1])):
                break
        self._thin(start, complex(path[0]))
        self._thin(end, complex(path[-1]))
        return self._arrows(mark, path)

    def _angle(self, mark: DimensionMark, start: complex, end: complex, centre: complex) -> Any:
        """An arc between the sides, the way round that the angle is told."""
        if abs(mark.turned) < 0.2:
            return self._dots(mark, end, end)
        near, far = (each * self.per_point for each in _ARC)
        radius = float(np.clip(0.6 * abs(end - centre), near, far))
        others = [line for line in self.drawn if line.distance(shapely.Point(centre.real, centre.imag)) > 0]
        turned = np.radians(mark.turned)
        for _try in range(6):
            arc = centre + radius * (start - centre) / abs(start - centre) * np.exp(1j * np.linspace(0, turned, 41))
            if all(line.distance(_line(arc)) > _CLEAR * self.per_point or line.crosses(_line(arc)) for line in others):
                break
            radius += _STEP * self.per_point
        self._thin(centre, centre + (start - centre) / abs(start - centre) * (radius + 4 * self.per_point))
        self._thin(centre, centre + (end - centre) / abs(end - centre) * (radius + 4 * self.per_point))
        return self._arrows(mark, arc)

    def _radius(self, mark: DimensionMark, start: complex, end: complex, centre: complex) -> Any:
        """The arc, and the last of the line to it from its centre."""
        arc = centre + (start - centre) * ((end - centre) / (start - centre)) ** np.linspace(0, 1, 25)
        tip = complex(arc[16])
        toward = (centre - tip) / abs(centre - tip)
        self._line(arc, 1.0)
        root = tip + toward * min(_RADIUS * self.per_point, abs(centre - tip))
        path = np.array([root, tip])
        self.drawn.append(_line(path))
        self._arrow(mark, path, "-|>")
        return _line(np.array([root, (root + tip) / 2]))

    def _dots(self, mark: DimensionMark, start: complex, end: complex) -> Any:
        """A dimension too short for a line between arrows."""
        ends = np.array([start, end])
        look = {"marker": "o", "ms": 2.6, "mfc": INK, "mec": INK, "lw": 0.9, "color": INK, "zorder": 48}
        self.ax.add_artist(Line2D(ends.real, ends.imag, gid=f"mark-{mark.letter}", **look))
        return _line(ends)

    # ---- lines -------------------------------------------------------------------------------------------------------

    def _free(self, start: complex, end: complex) -> bool:
        """Whether a line here would be taken for no other: it may cross one, but not run along it."""
        own = _line(np.array([start, end]))
        way = (end - start) / abs(end - start)
        for other in self.drawn:
            if own.distance(other) < _CLEAR * self.per_point:
                (x0, y0), (x1, y1) = other.coords[0], other.coords[-1]
                along = complex(x1 - x0, y1 - y0)
                if abs(along) > 0 and abs((along / abs(along) * np.conj(way)).imag) < 0.35:
                    return False
        return True

    def _arrows(self, mark: DimensionMark, path: Any) -> Any:
        self.drawn.append(_line(path))
        if len(path) > 2:
            self._line(path, 0.8)
            for tail, tip in ((path[3], path[0]), (path[-4], path[-1])):
                self._arrow(mark, np.array([tail, tip]), "-|>")
        else:
            self._arrow(mark, path, "<|-|>")
        return self.drawn[-1]

    def _arrow(self, mark: DimensionMark, path: Any, style: str) -> None:
        (one, two), look = path, {"shrinkA": 0.0, "shrinkB": 0.0, "mutation_scale": 6.0, "lw": 0.8, "color": INK}
        ends = (one.real, one.imag), (two.real, two.imag)
        self.ax.add_artist(FancyArrowPatch(*ends, arrowstyle=style, zorder=48, gid=f"mark-{mark.letter}", **look))

    def _thin(self, start: complex, end: complex) -> None:
        """From a place to the dimension line that is abreast of it."""
        self._line(np.array([start, end]), 0.4)

    def _line(self, path: Any, weight: float) -> None:
        self.ax.add_artist(Line2D(path.real, path.imag, color=INK, lw=weight, zorder=47))


def _line(path: Any) -> Any:
    return shapely.LineString([(p.real, p.imag) for p in path])


def _at(path: Any, share: float) -> complex:
    point = path.interpolate(share, normalized=True)
    return complex(point.x, point.y)
