"""The machining drawing for a sheet of paper: the slot in its link and the die block, with dimensions, title and notes.

It is laid out in points of the paper, at a width of 7.2 inches; what is drawn to scale says its scale there.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from linkmotion.files.lengths import UNITS
from linkmotion.studies.slot.measures import ACROSS, ALONG, BLOCK, RADIUS, Measure, cutter_at, measures
from linkmotion.studies.slot.stations import Station, stations
from linkmotion.studies.slot.workpiece import CUTTER, DIE, DRAWN, FINISHED, MIDDLE, PATH, Stroke, Workpiece
from linkmotion.views.callouts import GAP, LINE, Callout, call_out, room_for, stacked, write_down
from linkmotion.views.machining_words import Figures, note_lines, title_lines, told
from linkmotion.views.style import EXHAUST, FLAG, FULL, GRID, INK, STEAM
from linkmotion.wear.slot_drawing import FRONT

WIDE, HIGH = 72 * FULL, 648.0  # points
_EDGE, _COLUMN, _ZONE, _MARKS, _DETAIL = 4.0, 160.0, (172.0, 322.0), 336.0, (408.0, WIDE - 6.0)
_SCALES = (0.1, 0.2, 0.5, 1.0, 2.0, 2.5, 4.0, 5.0, 8.0, 10.0, 20.0, 50.0, 100.0)
_AT = (0.15, 0.3, 0.45, 0.6, 0.75)  # where radii are pointed at along the slot
_LOOK: dict[str, dict[str, Any]] = {
    DRAWN: {"color": INK, "lw": 0.5, "ls": (0, (4, 2))},
    FINISHED: {"color": INK, "lw": 1.6},
    MIDDLE: {"color": INK, "lw": 0.5, "ls": (0, (9, 2, 1.5, 2))},
    CUTTER: {"color": EXHAUST, "lw": 0.9, "ls": (0, (9, 2, 1.5, 2, 1.5, 2))},
    PATH: {"color": FLAG, "lw": 0.8, "ls": (0, (2, 2))},
    DIE: {"color": INK, "lw": 1.3},
}


def plot_machining(piece: Workpiece, title: str = "", unit: str = "mm", ax: Any = None) -> Any:
    """Draw a proposal for the machinist.

    Parameters
    ----------
    piece, title, unit : Workpiece, str, str
        What is drawn; engine, state and side; of lengths.
    ax : matplotlib axes, optional
        New ones, 7.2 by 9 inches, unless given; what is given is taken to be that large. Returned.
    """
    sheet = _Sheet(piece, title, unit, ax if ax is not None else _new_axes())
    foot = sheet.write()
    sheet.draw(foot)
    return sheet.ax


def _new_axes() -> Any:
    import matplotlib.pyplot as plt

    return plt.figure(figsize=(FULL, HIGH / 72)).add_axes((0.0, 0.0, 1.0, 1.0))


class _Sheet:
    """One drawing in the making."""

    def __init__(self, piece: Workpiece, title: str, unit: str, ax: Any) -> None:
        self.piece, self.title, self.unit, self.ax = piece, title, unit, ax
        self.show, self.listed = Figures(unit), measures(piece)
        ax.set(xlim=(0, WIDE), ylim=(0, HIGH), aspect="equal")
        ax.axis("off")

    def write(self) -> float:
        """Title block and notes, from the foot of the sheet; gives the height over them."""
        ax, wide = self.ax, WIDE - 2 * _EDGE - 12
        title = title_lines(self.piece, self.title, self.unit)
        high = room_for(title, wide - 130) + 8
        self._frame(_EDGE, _EDGE, WIDE - _EDGE, _EDGE + high)
        write_down(ax, title, _EDGE + 6, _EDGE + 6 + wide - 130, _EDGE + high - 4)
        self.bar_at = complex(WIDE - _EDGE - 122, _EDGE + high / 2)
        told = note_lines(self.piece, self.show)
        top = _EDGE + high + 6 + room_for(told, wide)
        write_down(ax, told, _EDGE + 6, _EDGE + 6 + wide, top)
        return top + 8

    def _frame(self, left: float, low: float, right: float, top: float) -> None:
        self.ax.plot([left, right, right, left, left], [low, low, top, top, low], color=INK, lw=0.8)

    def draw(self, foot: float) -> None:
        """Everything to scale, and what is said of it."""
        self._line(_EDGE, foot - 4, WIDE - _EDGE, foot - 4, color=GRID, lw=0.8)
        on = self._fit(foot)
        for stroke in self.piece.strokes:
            if stroke.part != DIE:
                self._stroke(stroke, on)
        self._cutter(on)
        for at in (0j, *self.piece.pins.values()):
            self._cross(on(at), 6.0 if at else 9.0)
        call_out(self.ax, list(self._callouts(on)), _EDGE, _COLUMN, (foot, HIGH - 4))
        self._stations(on, foot)
        self._detail(foot)

    def _fit(self, foot: float) -> Any:
        """Places of the link in points, at the largest usual scale at which it is as large as it may be."""
        strokes = [point for stroke in self.piece.faces.values() for point in stroke.points()]
        points = np.array([0j, *self.piece.pins.values(), *strokes])
        middle = complex(points.real.min() + points.real.max(), points.imag.min() + points.imag.max()) / 2
        size = _largest(np.ptp(points.real), np.ptp(points.imag), _ZONE[1] - _ZONE[0] - 24, HIGH - foot - 30)
        at = complex(sum(_ZONE) / 2, (foot + HIGH) / 2)
        self._bar(size)
        return lambda place: at + (place - middle) * 72 / 25.4 / size

    def _bar(self, size: float) -> None:
        """The scale, and a bar of a round length."""
        unit = float(UNITS[self.unit])
        lengths = [unit * step * 10.0**power for power in range(-1, 4) for step in (1, 2, 5)]
        long = max(length for length in lengths if length * 72 / 25.4 / size <= 100)
        x, y, on = self.bar_at.real, self.bar_at.imag, long * 72 / 25.4 / size
        self._line(x, y - 6, x + on, y - 6, color=INK, lw=3.0, solid_capstyle="butt")
        ratio = f"1 : {size:g}" if size >= 1 else f"{1 / size:g} : 1"
        self.ax.text(x, y + 1, f"scale {ratio}; bar {long / unit:g} {self.unit}", va="baseline")

    def _line(self, x: float, y: float, to_x: float, to_y: float, **look: Any) -> None:
        self.ax.plot([x, to_x], [y, to_y], **look)

    def _stroke(self, stroke: Stroke, on: Any) -> None:
        points = on(stroke.points())
        self.ax.plot(points.real, points.imag, **_LOOK[stroke.part])

    def _cutter(self, on: Any) -> None:
        around = on(cutter_at(self.piece) + self.piece.cutter / 2 * np.exp(1j * np.linspace(0, 2 * np.pi, 91)))
        self.ax.plot(around.real, around.imag, color=EXHAUST, lw=0.9)

    def _cross(self, at: complex, arm: float) -> None:
        for way in (arm, 1j * arm):
            self._line((at - way).real, (at - way).imag, (at + way).real, (at + way).imag, color=STEAM, lw=0.9)
        self.ax.plot(at.real, at.imag, "o", color=STEAM, mfc="none", ms=0.8 * arm, mew=0.9)

    def _callouts(self, on: Any) -> Iterator[Callout]:
        """What is said of slot, cutter and link."""
        radii = [own.key for own in self.listed if own.kind == RADIUS]
        for own, words in told([own for own in self.listed if own.of != BLOCK], self.show):
            if own.kind == RADIUS:
                assert own.stroke is not None
                yield Callout(words, on(complex(own.stroke.at(_AT[radii.index(own.key)]))))
            elif own.kind in (ACROSS, ALONG):
                yield Callout(words, self._arrows(own, on))
            elif own.key.startswith("centre"):
                yield Callout(words, self._to_centre(own, on))
            elif own.key == "cutter":
                yield Callout(words, on(own.start))
            else:
                yield Callout(words, on(own.end))
        yield Callout(f"datum, {self.piece.work.datum}: x 0, y 0", on(0j))

    def _to_centre(self, own: Measure, on: Any) -> complex:
        """A line from the slot toward the centre of its arcs, which lies off the sheet; gives its end."""
        start, way = on(self.piece.middle.middle), own.end - self.piece.middle.middle
        edge = _ZONE[1] if way.real > 0 else _ZONE[0] + 14
        end = complex(start + way * (edge - start.real) / way.real)
        arrow = _ARROW | {"arrowstyle": "-|>", "linestyle": (0, (9, 2, 1.5, 2))}
        self.ax.annotate("", (end.real, end.imag), (start.real, start.imag), arrowprops=arrow)
        return end

    def _arrows(self, own: Measure, on: Any) -> complex:
        """A dimension line with arrows; gives the place on it that is pointed at."""
        start, end = on(own.start), on(own.end)
        if own.key == "arc":
            return complex(on(complex(self.piece.middle.at(0.92))))
        if own.key == "chord":
            aside = _ZONE[0] + 6
            for each in (start, end):
                self._line(aside - 3, each.imag, each.real, each.imag, color=INK, lw=0.4)
            start, end = complex(aside, start.imag), complex(aside, end.imag)
        self.ax.annotate("", (end.real, end.imag), (start.real, start.imag), arrowprops=_ARROW)
        return complex(start + (0.8 if own.key == "chord" else 0.1) * (end - start))

    def _stations(self, on: Any, foot: float) -> None:
        """Where ordinates are given: a line from the slot to number and height."""
        placed: list[Station] = list(reversed(stations(self.piece, self.unit)))
        starts = [on(complex(station.faces[FRONT].x, station.y)) for station in placed]
        heights = [LINE] * len(placed)
        for station, at, y in zip(
            placed, starts, stacked([s.imag for s in starts], heights, foot, HIGH - 16), strict=True
        ):
            self.ax.plot([at.real, _MARKS - 12, _MARKS - 3], [at.imag, at.imag, y], color=GRID, lw=0.6)
            self.ax.text(_MARKS, y - 3, f"{station.number}:  y {self.show(station.y)}", va="baseline")
        self.ax.text(_MARKS, HIGH - 4 - 0.78 * LINE, "stations", va="baseline")

    def _detail(self, foot: float) -> None:
        """The die block and what is said of it."""
        piece, (left, right) = self.piece, _DETAIL
        listed = [own for own in self.listed if own.of == BLOCK]
        wide, tall = piece.proposal.die.width, abs(piece.die[2].start - piece.die[3].start)
        size = _largest(wide, tall, 72.0, 110.0)
        at = complex((left + right) / 2, HIGH - 38 - tall * 36 / 25.4 / size)

        def on(place: Any) -> Any:
            return at + (place - piece.die_at) * 72 / 25.4 / size

        for stroke in piece.die:
            self._stroke(stroke, on)
        self._cross(on(piece.hole_at), 7.0)
        if piece.hole is not None:
            around = on(piece.hole_at + piece.hole / 2 * np.exp(1j * np.linspace(0, 2 * np.pi, 61)))
            self.ax.plot(around.real, around.imag, color=INK, lw=1.0)
        ratio = f"1 : {size:g}" if size >= 1 else f"{1 / size:g} : 1"
        words = [f"die block, {ratio}; forward is to the right"]
        top = write_down(self.ax, words, left, right, HIGH - 4)
        assert top > at.imag
        below = at.imag - tall * 36 / 25.4 / size - 8
        for _own, said in told(listed, self.show):
            below = write_down(self.ax, [said], left, right, below) - GAP
        write_down(self.ax, [_KEY], left, right, foot + room_for([_KEY], right - left))


_KEY = (
    "whole lines: finished; dashes: as drawn; dashes and two dots: the cutter's centre; short dashes: the pin's path; "
    "grey: stations, whose ordinates stand in the table"
)
_ARROW = {"arrowstyle": "<|-|>", "color": INK, "lw": 0.5, "shrinkA": 0, "shrinkB": 0, "mutation_scale": 6}


def _largest(wide: float, tall: float, across: float, up: float) -> float:
    """How many times smaller than it is a thing (mm) is drawn, at the largest usual scale that fits (points)."""
    need = max(wide / across, tall / up) * 72 / 25.4
    return next((scale for scale in _SCALES if scale >= need), need)
