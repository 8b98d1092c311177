"""Names that can be read: beside what they name, clear of everything else, each tied to its part by a thin line.

They are placed when the picture is drawn, since only then is its size known; and marks one above another, not on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from matplotlib.artist import Artist
from matplotlib.lines import Line2D
from matplotlib.text import Text
from numpy.typing import NDArray

from linkmotion.views.style import PAPER

SIZE = 8.0  # points: letters
_CELL = 2.0  # points: grid on which it is seen what is taken
_AWAY = (5.0, 7.0, 9.0, 12.0, 16.0, 21.0, 28.0, 37.0, 48.0, 62.0, 80.0, 105.0)  # points from a part to its name
_TURNS = np.exp(2j * np.pi * np.arange(24) / 24)
_GAP = 2.0  # points between names
_PLATE = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.6, "alpha": 0.8}
_COVERS, _CROSSES, _FAR, _LATER = 4.0, 0.8, 0.25, 2.0  # what is worse: cost per point² covered, crossed, point, choice
_TANGLED = 40.0  # a leader over another's
_MOST = 160.0  # a name that costs more would hide more than it tells


@dataclass(frozen=True)
class Call:
    """A name, and the places (complex, the axes' own data) to which it may point, best first."""

    name: str
    places: tuple[complex, ...]
    colour: str

    def within(self, box: tuple[float, float, float, float]) -> Call:
        """The same with those of its places that lie in a box (left, low, right, high)."""
        left, low, right, high = box
        seen = tuple(place for place in self.places if left < place.real < right and low < place.imag < high)
        return replace(self, places=seen)


class Names(Artist):
    """Names with leaders.

    Parameters
    ----------
    ax : Axes
        On which they stand.
    calls : sequence of Call
        The names, those first that are most wanted; one for which there is no room is left out.
    taken : sequence of (area, weight)
        What is drawn, in the axes' own data, and how much it matters that no name covers it.
    clear_of : sequence of artists
        Texts and the like that no name may touch.
    every : bool
        Whether a name is wanted even where it hides more of the drawing than it tells.
    """

    def __init__(
        self,
        ax: Any,
        calls: Sequence[Call],
        taken: Sequence[tuple[Any, float]],
        clear_of: Sequence[Any] = (),
        *,
        every: bool = False,
    ) -> None:
        super().__init__()
        self.axes = self._on = ax
        self._most = np.inf if every else _MOST
        self._calls, self._taken, self._clear_of = tuple(calls), tuple(taken), tuple(clear_of)
        self.texts: list[Text] = []
        self._leaders: list[Line2D] = []
        self.set_in_layout(False)
        self.set_zorder(50)

    def draw(self, renderer: Any) -> None:
        """Place the names and draw them."""
        self._lay(renderer)
        for each in (*self._leaders, *self.texts):
            each.draw(renderer)

    def _lay(self, renderer: Any) -> None:
        self.texts, self._leaders = [], []
        point = renderer.points_to_pixels(1.0)
        room = _Room.of(self._on, self._taken, point)
        for other in self._clear_of:
            box = other.get_window_extent(renderer)
            room.boxes.append((box.x0 / point, box.y0 / point, box.x1 / point, box.y1 / point))
        for call in self._calls:
            text = Text(0, 0, call.name, fontsize=SIZE, color=call.colour, ha="center", va="center", bbox=_PLATE)
            text.set_figure(self._on.figure)
            box = text.get_window_extent(renderer)
            places = self._on.transData.transform([(p.real, p.imag) for p in call.places]) / point
            found = room.best(places[:, 0] + 1j * places[:, 1], box.width / point, box.height / point, self._most)
            if found is not None:
                self._put(text, *found, call.colour, point)

    def _put(self, text: Text, at: complex, near: complex, tip: complex, colour: str, point: float) -> None:
        text.set_position((at.real * point, at.imag * point))
        ends = np.array([near, tip]) * point
        leader = Line2D(ends.real, ends.imag, color=colour, lw=0.5, marker="o", ms=1.8, markevery=[1])
        leader.set_figure(self._on.figure)
        self.texts.append(text)
        self._leaders.append(leader)


@dataclass(eq=False)
class _Room:
    """What is taken of the axes, in points: on a grid summed from its corner, and as boxes and leaders."""

    low: complex
    high: complex
    summed: NDArray[Any]
    boxes: list[tuple[float, float, float, float]]
    leaders: list[tuple[complex, complex]]

    @classmethod
    def of(cls, ax: Any, taken: Sequence[tuple[Any, float]], point: float) -> _Room:
        """From what is drawn on the axes."""
        low, high = complex(*ax.bbox.min) / point, complex(*ax.bbox.max) / point
        xs, ys = np.arange(low.real, high.real, _CELL), np.arange(low.imag, high.imag, _CELL)
        weights = np.zeros((ys.size, xs.size))
        for area, weight in taken:
            own = shapely.transform(area, lambda xy: ax.transData.transform(xy) / point)
            x0, y0, x1, y1 = own.bounds
            across, up = np.flatnonzero((xs > x0) & (xs < x1)), np.flatnonzero((ys > y0) & (ys < y1))
            if across.size and up.size:
                shapely.prepare(own)
                inside = shapely.contains_xy(own, *np.meshgrid(xs[across], ys[up]))
                part = weights[up[0] : up[-1] + 1, across[0] : across[-1] + 1]
                np.maximum(part, weight * inside, out=part)
        summed = np.zeros((ys.size + 1, xs.size + 1))
        summed[1:, 1:] = weights.cumsum(axis=0).cumsum(axis=1)
        return cls(low, high, summed, [], [])

    def best(
        self, places: NDArray[Any], wide: float, high: float, most: float = _MOST
    ) -> tuple[complex, complex, complex] | None:
        """Middle of a name, where its leader leaves it, and where that points; none where there is no room."""
        tips = np.repeat(places, len(_AWAY) * _TURNS.size)
        away = np.tile(np.repeat(_AWAY, _TURNS.size), places.size)
        turns = np.tile(_TURNS, places.size * len(_AWAY))
        half = np.minimum(
            wide / 2 / np.maximum(np.abs(turns.real), 1e-9), high / 2 / np.maximum(np.abs(turns.imag), 1e-9)
        )
        at = tips + turns * (away + half)
        near = tips + turns * (away - 1.0)
        x0, x1, y0, y1 = at.real - wide / 2, at.real + wide / 2, at.imag - high / 2, at.imag + high / 2
        free = (x0 > self.low.real) & (x1 < self.high.real) & (y0 > self.low.imag) & (y1 < self.high.imag)
        for left, bottom, right, top in self.boxes:
            free &= (x1 < left - _GAP) | (x0 > right + _GAP) | (y1 < bottom - _GAP) | (y0 > top + _GAP)
            free &= ~_crosses(near, tips, (left, bottom, right, top))
        for start, end in self.leaders:
            line = start + (end - start) * np.linspace(0, 1, 25)[:, None]
            free &= ~np.any((line.real > x0) & (line.real < x1) & (line.imag > y0) & (line.imag < y1), axis=0)
        if not free.any():
            return None
        cost = _COVERS * self._under(x0, y0, x1, y1) + _CROSSES * self._along(near, tips) + _FAR * away
        for start, end in self.leaders:
            cost += _TANGLED * _meet(near, tips, start, end)
        cost += _LATER * np.repeat(np.arange(places.size), len(_AWAY) * _TURNS.size)
        chosen = int(np.argmin(np.where(free, cost, np.inf)))
        if cost[chosen] > most:
            return None
        self.boxes.append((float(x0[chosen]), float(y0[chosen]), float(x1[chosen]), float(y1[chosen])))
        self.leaders.append((complex(near[chosen]), complex(tips[chosen])))
        return complex(at[chosen]), complex(near[chosen]), complex(tips[chosen])

    def _cells(self, x: NDArray[Any], y: NDArray[Any]) -> tuple[NDArray[Any], NDArray[Any]]:
        rows, columns = self.summed.shape
        across = np.clip(np.rint((x - self.low.real) / _CELL), 0, columns - 1).astype(int)
        return np.clip(np.rint((y - self.low.imag) / _CELL), 0, rows - 1).astype(int), across

    def _under(self, x0: NDArray[Any], y0: NDArray[Any], x1: NDArray[Any], y1: NDArray[Any]) -> NDArray[Any]:
        """Points² of what is drawn under each box, weighed."""
        (low, left), (top, right), s = self._cells(x0, y0), self._cells(x1, y1), self.summed
        return np.asarray(_CELL**2 * (s[top, right] - s[low, right] - s[top, left] + s[low, left]))

    def _along(self, start: NDArray[Any], end: NDArray[Any]) -> NDArray[Any]:
        """Points of what is drawn under each leader, weighed."""
        share = np.linspace(0, 1, 16)[:, None]
        line = start + (end - start) * share
        rows, columns = self._cells(line.real, line.imag)
        rows, columns = np.minimum(rows, self.summed.shape[0] - 2), np.minimum(columns, self.summed.shape[1] - 2)
        s = self.summed
        own = s[rows + 1, columns + 1] - s[rows, columns + 1] - s[rows + 1, columns] + s[rows, columns]
        return np.asarray(own.mean(axis=0) * np.abs(end - start))


def _crosses(start: NDArray[Any], end: NDArray[Any], box: tuple[float, float, float, float]) -> NDArray[Any]:
    """Which lines pass through a box."""
    line = start + (end - start) * np.linspace(0, 1, 25)[:, None]
    left, bottom, right, top = box
    inside = (line.real > left) & (line.real < right) & (line.imag > bottom) & (line.imag < top)
    return np.asarray(np.any(inside, axis=0))


def _meet(start: NDArray[Any], end: NDArray[Any], other: complex, far: complex) -> NDArray[Any]:
    """Which lines cross another."""
    along, own = far - other, end - start
    one = ((start - other) * np.conj(along)).imag * ((end - other) * np.conj(along)).imag
    two = ((other - start) * np.conj(own)).imag * ((far - start) * np.conj(own)).imag
    return np.asarray((one < 0) & (two < 0))


def spread(places: Any, apart: float) -> NDArray[Any]:
    """Places moved as little as may be (least squares) so that they stand ``apart`` and in their order.

    >>> spread([0.0, 10.0, 10.5, 20.0], 2.0)
    array([ 0.  ,  9.25, 11.25, 20.  ])
    """
    places = np.asarray(places, float)
    order = np.argsort(places, kind="stable")
    steps = apart * np.arange(len(places))
    groups: list[list[float]] = []  # each at its mean; neighbours that would change places become one
    for place in places[order] - steps:
        groups.append([place])
        while len(groups) > 1 and np.mean(groups[-2]) > np.mean(groups[-1]):
            groups[-2:] = [groups[-2] + groups[-1]]
    moved = np.empty(len(places))
    moved[order] = np.concatenate([np.full(len(group), np.mean(group)) for group in groups]) + steps
    return moved
