"""Names that can be read: beside bars, clear of everything else; and one above another, not on it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

_SIZE, _GAP = 8.0, 2.0  # points: letters; between letters and bar
_LETTER = 0.55  # width of a letter, of its size
_ENOUGH = 0.9 * _SIZE  # from a name's middle line to anything else; nearer than that they touch
_SHARES = (0.4, 0.5, 0.6, 0.3, 0.7, 0.2, 0.8, 0.0, 1.0)  # of the bar's length, best liked first (rods cross midway)
_FAR = 9.0  # points: from the bar, where there is no room beside it


@dataclass(frozen=True)
class Bar:
    """A straight bar as drawn: its ends (complex mm), its colour, and the name to stand beside it, if any."""

    start: complex
    end: complex
    colour: str
    name: str = ""


@dataclass(frozen=True)
class _Spot:
    """A place for a name: where it is held (complex points), the slope of its line, above it (+1) or below (−1)."""

    at: complex
    slope: complex
    side: int
    gap: float = _GAP

    @property
    def square(self) -> complex:
        return 1j * self.slope * self.side

    def line(self, letters: int) -> NDArray[Any]:
        """Places along the middle line of the name."""
        middle = self.at + self.square * (self.gap + _SIZE / 2)
        return middle + self.slope * _SIZE * _LETTER * letters * np.linspace(-0.5, 0.5, max(letters, 2))


def write_names(ax: Any, bars: Sequence[Bar], marks: Iterable[complex] = ()) -> None:
    """Write the bars' names beside them, clear of other bars, of ``marks`` (complex mm) and of one another.

    The scale is taken from the axes as they stand, so what is drawn must be there.
    """
    scale = _points_per_mm(ax)
    ends = scale * np.array([(bar.start, bar.end) for bar in bars]).reshape(-1, 2)
    taken = scale * np.array(list(marks), complex)
    for at in sorted(range(len(bars)), key=lambda i: abs(ends[i, 1] - ends[i, 0])):  # the shorter, the less choice
        if not (name := bars[at].name):
            continue
        others = np.delete(ends, at, axis=0)
        best = _best(_spots(*ends[at]), len(name), others, taken)
        taken = np.append(taken, best.line(len(name)))
        _write(ax, best, scale, name, bars[at].colour)


def _best(spots: list[_Spot], letters: int, others: NDArray[Any], taken: NDArray[Any]) -> _Spot:
    """The first spot with room enough, or the one with most."""
    best, most = spots[0], -np.inf
    for spot in spots:
        if (room := _room(spot.line(letters), others, taken)) > most:
            best, most = spot, room
        if most >= _ENOUGH:
            break
    return best


def _points_per_mm(ax: Any) -> float:
    box = ax.get_window_extent()
    (left, right), (low, high) = ax.get_xlim(), ax.get_ylim()
    dots = min(box.width / (right - left), box.height / (high - low))
    return float(dots * 72 / ax.figure.dpi)


def _spots(start: complex, end: complex) -> list[_Spot]:
    along = end - start
    slope = along / abs(along) if along else 1.0 + 0j
    if slope.real < 0:
        slope = -slope
    return [
        _Spot(start + share * along, slope, side, gap)
        for gap in (_GAP, _FAR, 2 * _FAR)
        for share in _SHARES
        for side in (1, -1)
    ]


def _room(line: NDArray[Any], others: NDArray[Any], taken: NDArray[Any]) -> float:
    """Distance from a name's middle line to the nearest other thing, points; what is more than enough counts alike."""
    start, along = others[:, :1], others[:, 1:] - others[:, :1]
    share = ((line - start) * along.conj()).real / np.maximum(np.abs(along) ** 2, 1e-12)
    nearest = [np.abs(line - start - np.clip(share, 0.0, 1.0) * along).min(initial=np.inf)]
    nearest.append(np.abs(line[:, None] - taken).min(initial=np.inf) - _SIZE / 4)
    return float(min(*nearest, _ENOUGH))


def _write(ax: Any, spot: _Spot, scale: float, name: str, colour: str) -> None:
    place, off = spot.at / scale, spot.square * spot.gap
    ax.annotate(
        name,
        (place.real, place.imag),
        fontsize=_SIZE,
        rotation=np.degrees(np.angle(spot.slope)),
        rotation_mode="anchor",
        ha="center",
        va="bottom" if spot.side > 0 else "top",
        xytext=(off.real, off.imag),
        textcoords="offset points",
        color=colour,
    )


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
