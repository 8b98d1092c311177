"""Shapes of a drawing: outlines, lines and circles in a body's own axes, millimetres, complex numbers as points.

A shape says by a word what it is (its role); how that looks is the view's business.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
import shapely.affinity
from numpy.typing import NDArray

Points = NDArray[np.complex128]
Area = Any  # a shapely geometry

BODY = "body"  # metal as seen
SECTION = "section"  # metal cut through
EDGE = "edge"  # a line of a body's own
HIDDEN = "hidden"  # an edge that lies behind
CENTRE = "centre line"
TIE = "tie"  # joins what is drawn apart
MARK = "mark"  # a graduation
PIN = "pin"
SPACE = "space"  # holds steam, or what is left of it
_ROUND = 16  # straight lines to a quarter of a round corner


@dataclass(frozen=True, eq=False)
class Outline:
    """A filled outline; ``space`` names what a space is filled from ("front", "back", "steam", "exhaust")."""

    area: Area
    role: str = BODY
    space: str = ""

    def rings(self) -> Iterator[Points]:
        """Its closed rings, outer and inner."""
        for part in parts_of(self.area):
            for ring in (part.exterior, *part.interiors):
                yield ring_points(ring)


@dataclass(frozen=True, eq=False)
class Line:
    """An open line."""

    points: Points
    role: str = EDGE


@dataclass(frozen=True)
class Circle:
    """A circle; one of role PIN stands at the pin that it names."""

    at: complex
    radius: float
    role: str = EDGE
    pin: str = ""


Shape = Outline | Line | Circle


def parts_of(area: Area) -> list[Area]:
    """The polygons of an area."""
    return [each for each in getattr(area, "geoms", (area,)) if each.geom_type == "Polygon" and not each.is_empty]


def ring_points(ring: Any) -> Points:
    """A closed ring of an area as complex numbers."""
    xy = np.asarray(ring.coords)
    return np.asarray(xy[:, 0] + 1j * xy[:, 1])


def curve(points: NDArray[Any], role: str = EDGE) -> Line:
    """A line through an array of points."""
    return Line(np.asarray(points, np.complex128), role)


def line(*points: complex, role: str = EDGE) -> Line:
    """A line through points."""
    return Line(np.array(points, complex), role)


def disc(at: complex, radius: float) -> Area:
    """A round plate."""
    return shapely.Point(at.real, at.imag).buffer(radius, quad_segs=_ROUND)


def polygon(points: Iterable[complex]) -> Area:
    """A plate with corners."""
    return shapely.Polygon([(p.real, p.imag) for p in points])


def block(x0: float, y0: float, x1: float, y1: float) -> Area:
    """An oblong plate along the axes."""
    return shapely.box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))


def band(points: Sequence[complex] | Points, half: float, flat: bool = False) -> Area:
    """A strip along a line, its ends round or cut off square."""
    way = shapely.LineString([(p.real, p.imag) for p in points])
    return way.buffer(half, quad_segs=_ROUND, cap_style="flat" if flat else "round", join_style="round")


def taper(a: complex, b: complex, at_a: float, at_b: float) -> Area:
    """A plate that narrows from one round end to another."""
    return shapely.union_all([disc(a, at_a), disc(b, at_b)]).convex_hull


def shank(a: complex, b: complex, at_a: float, at_b: float) -> Area:
    """A bar with straight sides, so wide either side of its line at its ends."""
    if a == b:
        return shapely.Polygon()
    square = 1j * (b - a) / abs(b - a)
    return polygon([a + at_a * square, b + at_b * square, b - at_b * square, a - at_a * square])


def united(areas: Iterable[Area]) -> Area:
    """Several areas as one."""
    return shapely.union_all(list(areas))


def filleted(area: Area, radius: float) -> Area:
    """The area with its hollow corners filled to a radius."""
    return area.buffer(radius, quad_segs=_ROUND).buffer(-radius, quad_segs=_ROUND)


def rounded(area: Area, radius: float) -> Area:
    """The area with its corners taken off to a radius."""
    return area.buffer(-radius, quad_segs=_ROUND).buffer(radius, quad_segs=_ROUND)


def placed(area: Area, origin: complex, turn: complex) -> Area:
    """The area as it stands at ``origin + turn * point``."""
    return shapely.affinity.affine_transform(
        area, [turn.real, -turn.imag, turn.imag, turn.real, origin.real, origin.imag]
    )


def number(value: Any) -> float:
    """A dimension as one plain number."""
    return float(np.real(np.ravel(value)[0]))
