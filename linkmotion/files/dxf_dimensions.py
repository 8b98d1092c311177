"""Dimensions of a machining drawing as the DXF format has them, each placed where it can be read.

Radii, the chord and the arc stand on the side that the slot bulges to, ordinates of height on the other; ordinates
along x above and below the link; the die block's round the block.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

import numpy as np

from linkmotion.studies.slot.measures import ACROSS, ALONG, BLOCK, DIAMETER, LEAN, RADIUS, Measure, X, Y
from linkmotion.studies.slot.workpiece import Stroke, Workpiece

DIMENSIONS, STYLE, APP = "dimensions", "machining", "LINKMOTION"
_LINE = 7.0  # mm from one dimension to the next
_OFF = 25.0  # mm from what is drawn to the first of them
_FAR = 45.0  # mm from it to the radii
_COLUMN = 85.0  # mm from it to the ordinates of height
_WAYS = {X: ("ahead of", "behind"), Y: ("above", "below")}
_AT = (0.1, 0.2, 0.3, 0.4, 0.6)  # where radii are taken along the slot: clear of its middle and of its width's place


def define_style(document: Any, high: float, digits: int) -> None:
    """Define the style of the dimensions.

    Parameters
    ----------
    document : Drawing
        Of ezdxf.
    high, digits : float, int
        Letters, in the drawing's unit; decimals.
    """
    look = {
        "dimtxt": high, "dimasz": high, "dimexo": 0.4 * high, "dimexe": 0.5 * high, "dimgap": 0.4 * high, "dimtad": 0,
        "dimdec": digits, "dimtdec": digits, "dimzin": 0, "dimtzin": 0, "dimtih": 1, "dimtoh": 1, "dimlunit": 2,
        "dimadec": 4, "dimtofl": 0, "dimcen": 0.0, "dimazin": 0, "dimtmove": 1, "dimdsep": ord("."),
    }  # fmt: skip
    document.dimstyles.new(STYLE, dxfattribs=look)


def add_dimensions(space: Any, piece: Workpiece, listed: Sequence[Measure], scale: float) -> complex:
    """Add every measure; gives the corner (mm) under them all at which more may be written.

    Parameters
    ----------
    space : Modelspace
        Of ezdxf.
    piece, listed : Workpiece, sequence of Measure
        What is drawn, and what is to be said of it.
    scale : float
        Units of the drawing in a millimetre.
    """
    placed = _Placed(space, piece, listed, scale)
    for measure in listed:
        placed.add(measure)
    return complex(placed.left - 4 * _OFF, placed.low - 7.5 * _OFF)


class _Placed:
    """Where the dimensions of one drawing stand."""

    def __init__(self, space: Any, piece: Workpiece, listed: Sequence[Measure], scale: float) -> None:
        self.space, self.piece, self.scale = space, piece, scale
        faces = [point for face in piece.faces.values() for point in face.points()]
        points = np.array([0j, *piece.pins.values(), *faces])
        self.left, self.right = float(points.real.min()), float(points.real.max())
        self.low, self.top = float(points.imag.min()), float(points.imag.max())
        centre = piece.middle.centre
        self.out = -1 if centre is None or centre.real > piece.middle.middle.real else 1
        ordinates = [m for m in listed if m.kind in (X, Y) and m.of != BLOCK]
        self.rows = {
            key: place
            for side in (True, False)
            for key, place in _spread((m.key, m.end.real) for m in ordinates if m.kind == X and self._up(m) == side)
        } | dict(_spread((m.key, m.end.imag) for m in ordinates if m.kind == Y))
        self.radii = [m.key for m in listed if m.kind == RADIUS and m.of != BLOCK]

    def add(self, measure: Measure) -> None:
        """Add one."""
        kinds: dict[str, Callable[[Measure], Any]] = {
            RADIUS: self._radius, X: self._ordinate, Y: self._ordinate, ACROSS: self._across, ALONG: self._along,
            DIAMETER: self._diameter, LEAN: self._lean,
        }  # fmt: skip
        made = (self._on_block if measure.of == BLOCK else kinds[measure.kind])(measure)
        if measure.limits is not None:
            over, under = measure.limits.most - measure.value, measure.value - measure.limits.least
            made.set_tolerance(max(over, 0.0) * self.scale, max(under, 0.0) * self.scale, hfactor=0.7)
        made.dimension.set_xdata(APP, [(1000, measure.key)])
        made.render()

    def _up(self, measure: Measure) -> bool:
        return measure.end.imag > (self.low + self.top) / 2

    def _xy(self, place: complex) -> tuple[float, float]:
        return place.real * self.scale, place.imag * self.scale

    def _how(self, words: str) -> dict[str, Any]:
        over = {} if words else {"dimtad": 1}  # a bare figure stands over its line, which would go through limits
        return {"text": f"<> {words}".strip(), "dimstyle": STYLE, "override": over, "dxfattribs": {"layer": DIMENSIONS}}

    def _ordinate(self, measure: Measure) -> Any:
        """A place from the datum; a leader goes to a row or column of them, if it is near the link.

        Readers of the format differ in whether they show an ordinate's sign, so words say to which side it is.
        """
        at, row = measure.end, self.rows[measure.key]
        if measure.kind == X:
            end = complex(row, self.top + _OFF if self._up(measure) else self.low - _OFF)
            add = self.space.add_ordinate_x_dim
        else:
            column = self.right + _COLUMN if self.out < 0 else self.left - _COLUMN
            end = complex(column, row) if self.left <= at.real <= self.right else at - self.out * _OFF
            add = self.space.add_ordinate_y_dim
        words = f"{_WAYS[measure.kind][measure.value < 0]} the datum: {measure.words}"
        return add(self._xy(at), self._xy(end - at), origin=(0.0, 0.0), **self._how(words))

    def _radius(self, measure: Measure) -> Any:
        """A radius; one after the other along the slot."""
        assert measure.stroke is not None
        point = complex(measure.stroke.at(_AT[self.radii.index(measure.key)]))
        out = (point - measure.start) / abs(point - measure.start)
        reach = (self.right - point.real if self.out > 0 else point.real - self.left) + _FAR
        return self.space.add_radius_dim(
            self._xy(measure.start), radius=measure.value * self.scale, location=self._xy(point + reach * out),
            **self._how(measure.words),
        )  # fmt: skip

    def _across(self, measure: Measure) -> Any:
        """The slot's width, where it is; its chord, beside it."""
        aside = 0.0 if measure.key == "slot_width" else self._beside(measure, 1)
        made = self.space.add_aligned_dim(
            self._xy(measure.start), self._xy(measure.end), aside * self.scale, **self._how("")
        )
        if measure.key == "slot_width":
            middle = (measure.start + measure.end) / 2
            reach = (self.right - middle.real if self.out > 0 else middle.real - self.left) + _FAR
            made.set_location(self._xy(middle + self.out * reach), leader=True)
        return made

    def _beside(self, measure: Measure, line: int) -> float:
        """How far to the left of the way from start to end a dimension line stands that is clear of the link, mm."""
        middle = (measure.start + measure.end) / 2
        reach = self.right - middle.real if self.out > 0 else middle.real - self.left
        return -self.out * (reach + line * _LINE)

    def _along(self, measure: Measure) -> Any:
        assert measure.stroke is not None
        assert measure.stroke.centre is not None
        return self.space.add_arc_dim_cra(
            self._xy(measure.stroke.centre), measure.stroke.radius * self.scale, *anticlockwise(measure.stroke),
            abs(self._beside(measure, 3)) * self.scale, **self._how(""),
        )  # fmt: skip

    def _lean(self, measure: Measure) -> Any:
        long, turn = abs(measure.end - measure.start), 90.0 - measure.value
        first, last = sorted((90.0, turn))
        words = f"{'behind' if measure.value < 0 else 'ahead'} at the top: {measure.words}"
        return self.space.add_angular_dim_cra(
            self._xy(measure.start), long * self.scale, first, last, _OFF * self.scale, **self._how(words)
        )

    def _diameter(self, measure: Measure) -> Any:
        middle, radius = (measure.start + measure.end) / 2, abs(measure.end - measure.start) / 2
        slant = complex(-1 if measure.of == BLOCK else -self.out, -1) / abs(1 + 1j)
        away = middle + slant * (self.piece.proposal.width + _OFF if measure.of != BLOCK else radius + _OFF)
        return self.space.add_diameter_dim(
            self._xy(middle), radius=radius * self.scale, location=self._xy(away), **self._how(measure.words)
        )

    def _on_block(self, measure: Measure) -> Any:
        """What is said of the die block, round it."""
        front, _back, foot, head = self.piece.die
        at, start, end = self.piece.die_at, self._xy(measure.start), self._xy(measure.end)
        if measure.kind == DIAMETER:
            return self._diameter(measure)
        if measure.key == "die_width":
            base = complex(at.real, head.end.imag + _OFF)
            return self.space.add_linear_dim(self._xy(base), start, end, **self._how(""))
        if measure.key == "die_length":
            base = complex(max(front.middle.real, front.end.real) + _OFF, at.imag)
            return self.space.add_linear_dim(self._xy(base), start, end, angle=90, **self._how(""))
        if measure.kind == X:
            aside = complex(measure.value + 12.0, foot.start.imag - _OFF - measure.end.imag)
            words = f"{_WAYS[X][measure.value < 0]} the block's middle: pin hole"
            return self.space.add_ordinate_x_dim(end, self._xy(aside), origin=self._xy(at), **self._how(words))
        assert measure.stroke is not None
        stroke, side = measure.stroke, 1 if measure.stroke is front else -1
        point = complex(stroke.at(0.75))
        out = (point - measure.start) / abs(point - measure.start)
        away = out if (out.real > 0) == (side > 0) else -out
        return self.space.add_radius_dim(
            self._xy(measure.start), radius=stroke.radius * self.scale, location=self._xy(point + _OFF * away),
            **self._how(measure.words),
        )  # fmt: skip


def anticlockwise(stroke: Stroke) -> tuple[float, float]:
    """Angles of an arc's ends as the format wants them, degrees.

    Parameters
    ----------
    stroke : Stroke
        An arc.
    """
    assert stroke.centre is not None
    ends = [float(np.degrees(np.angle(end - stroke.centre))) % 360.0 for end in (stroke.start, stroke.end)]
    return (ends[0], ends[1]) if stroke.turned > 0 else (ends[1], ends[0])


def _spread(places: Iterable[tuple[str, float]]) -> list[tuple[str, float]]:
    """Places by their keys, in their order, moved up so that they stand a line apart, the whole about its middle."""
    told = sorted(places, key=lambda each: each[1])
    if not told:
        return []
    moved = [told[0][1]]
    for _key, place in told[1:]:
        moved.append(max(place, moved[-1] + _LINE))
    back = float(np.mean(moved)) - float(np.mean([place for _key, place in told]))
    return [(key, place - back) for (key, _), place in zip(told, moved, strict=True)]
