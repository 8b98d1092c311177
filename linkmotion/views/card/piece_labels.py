"""Where words go: beside a hole, or somewhere on a piece, on nothing that is cut or printed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely

from linkmotion.studies.card.shapes import Note, Shape, pairs
from linkmotion.views.card.ink import room_of

_SIZES = (2.5, 2.2, 1.9, 1.6, 1.4)
_RAYS = np.exp(2j * np.pi * np.arange(32) / 32)
_AWAY = (0.6, 1.2, 2.0, 3.2, 4.6)
_MARGINS = (4.2, 3.0, 2.0, 1.3, 0.7)
_COARSE = 0.05  # mm: rounded edges have hundreds of corners, and a margin need not follow each


def beside(
    text: str, hole: complex, radius: float, outline: Shape | None, taken: Sequence[Shape], size: float = 2.0
) -> Note:
    """Words beside a hole, near it, with a little room round them; within an outline if there is one."""
    cut = shapely.union_all(list(taken))
    for smaller in (size, size * 0.85, size * 0.7):
        flat = room_of(Note(text, 0j, smaller))
        half = complex(flat.bounds[2], flat.bounds[3])
        reach = np.minimum(
            half.real / np.maximum(np.abs(_RAYS.real), 1e-9), half.imag / np.maximum(np.abs(_RAYS.imag), 1e-9)
        )
        places = np.concatenate([hole + _RAYS * (radius + away + reach) for away in _AWAY])
        rooms = _rooms(flat, places)
        clear = shapely.distance(cut, rooms)
        score = np.where(clear > 0, np.minimum(clear, 0.8), -5.0)
        if outline is not None:
            edge = np.where(shapely.contains(outline, rooms), shapely.distance(outline.boundary, rooms), -5.0)
            score = np.minimum(score, edge)
        score = score - 0.05 * np.repeat(_AWAY, len(_RAYS))
        best = int(np.argmax(np.round(score, 6)))
        if score[best] > 0.1:
            break
    return Note(text, complex(places[best]), smaller)


def within(texts: Sequence[str], outline: Shape, taken: Sequence[Shape], turns: Sequence[float]) -> Note | None:
    """Words somewhere on a piece, as large as they go, well inside and near its middle; the first text with room."""
    bare = outline.difference(shapely.union_all(list(taken))) if taken else outline
    plain = bare.simplify(_COARSE)
    within_by = [free for margin in _MARGINS if not (free := plain.buffer(-margin, quad_segs=4)).is_empty]
    for free in within_by:
        shapely.prepare(free)
    x0, y0, x1, y1 = outline.bounds
    step = max(1.0, min(x1 - x0, y1 - y0) / 24)
    grid = np.add.outer(1j * np.arange(y0, y1, step), np.arange(x0, x1, step)).ravel()
    middle = complex(outline.centroid.x, outline.centroid.y)
    grid = grid[np.argsort(np.abs(grid - middle))]
    for text in texts:
        for size in _SIZES:
            for turn in turns:
                rooms = _rooms(room_of(Note(text, 0j, size, turn)), grid)
                for free in within_by:
                    good = shapely.contains(free, rooms)
                    if np.any(good):
                        return Note(text, complex(grid[np.argmax(good)]), size, turn)
    return None


def _rooms(room: Shape, places: Any) -> Any:
    """A room for words at many places."""
    corners = np.asarray(room.exterior.coords)
    return shapely.polygons(corners[None] + pairs(places)[:, None])
