"""Holding the reverser in a notch: a handle on the arm, and holes in the board for a peg through it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from linkmotion.elevation.outlines import band, united
from linkmotion.studies.card.shapes import HALF, STICK, Hole, Mark, Moving, Note, Shape

APART = 2 * STICK + 1.4  # between holes of the board
_ROWS = 7.0  # between rows of holes
_RADII = (34.0, 42.0, 50.0, 58.0, 66.0, 76.0)
PEG = "notch peg"
_LABEL = 22.0  # length kept for the notches' names


@dataclass(frozen=True, eq=False)
class Latch:
    """The arm with its handle, and the holes in the board.

    Attributes
    ----------
    arm : Moving
        With a hole for the peg in each row.
    pegs : dict
        Notch to its hole in the board.
    left_out : tuple of str
        Notches for which there is no room.
    """

    arm: Moving
    pegs: dict[str, Hole]
    marks: tuple[Mark, ...]
    notes: tuple[Note, ...]
    left_out: tuple[str, ...]


def latch(arm: Moving, notches: Sequence[str], taken: Shape, extent: Sequence[float]) -> Latch:
    """Give an arm its handle, where it is least in the way.

    Parameters
    ----------
    arm : Moving
        Of the reverser.
    notches : sequence of str
        In the order of the arm's places.
    taken : shape
        Of the board, what should be kept clear.
    extent : (x0, y0, x1, y1)
        Of the board, mm: it is made larger unwillingly.
    """
    angles = np.angle(arm.turn[:, 0])
    radius, rows = next(
        ((r, found) for r in _RADII if len(found := _rows(angles, r)) == len(notches)),
        (_RADII[-1], _rows(angles, _RADII[-1])),
    )
    shaft = complex(arm.origin[0, 0])
    used = sorted(set(rows.values()))
    outer = radius + _ROWS * max(used)
    lean = min(np.radians(np.arange(0, 360, 15)), key=lambda d: _in_the_way(arm, shaft, d, outer, taken, extent))
    way = complex(np.exp(1j * lean))
    holes = tuple(Hole(_peg_pin(row), way * (radius + _ROWS * row), STICK) for row in used)
    handle = band([0j, way * (outer + 4.0)], HALF - 1.0)
    piece = replace(arm.piece, outline=united([arm.piece.outline, handle]), holes=(*arm.piece.holes, *holes))
    turn = arm.turn[:, 0] * way
    pegs = {
        notches[i]: Hole(_peg_pin(row), shaft + complex(turn[i]) * (radius + _ROWS * row), STICK)
        for i, row in rows.items()
    }
    marks, notes = _labels(shaft, {notches[i]: complex(turn[i]) for i in rows}, pegs, outer)
    left = tuple(notch for i, notch in enumerate(notches) if i not in rows)
    return Latch(replace(arm, piece=piece), pegs, tuple(marks), tuple(notes), left)


def _peg_pin(row: int) -> str:
    """Name of the peg's place in a row."""
    return f"{PEG} {row + 1}"


def _rows(angles: NDArray[np.float64], radius: float) -> dict[int, int]:
    """Which notch has its hole in which row, no hole too near another."""
    found: dict[int, int] = {}
    for i in np.argsort(angles):
        for row in range(3):
            place = (radius + _ROWS * row) * np.exp(1j * angles[i])
            others = [(radius + _ROWS * r) * np.exp(1j * angles[j]) for j, r in found.items()]
            if all(abs(place - other) >= APART for other in others):
                found[int(i)] = row
                break
    return found


def _in_the_way(arm: Moving, shaft: complex, lean: float, outer: float, taken: Shape, extent: Sequence[float]) -> float:
    turn = arm.turn[:, 0] * np.exp(1j * lean)
    rays = united(band([shaft + t * 12.0, shaft + t * (outer + 8.0)], HALF) for t in turn)
    words = united(band([shaft + t * outer, shaft + t * (outer + 8.0 + _LABEL)], 3.0) for t in turn)
    x0, y0, x1, y1 = words.bounds
    beyond = sum(max(0.0, out) for out in (extent[0] - x0, extent[1] - y0, x1 - extent[2], y1 - extent[3]))
    return float(rays.intersection(taken).area + 0.7 * words.intersection(taken).area + 12.0 * beyond)


def _labels(
    shaft: complex, turns: dict[str, complex], pegs: dict[str, Hole], outer: float
) -> tuple[list[Mark], list[Note]]:
    """The notches' names beyond the holes, spread where they would touch."""
    middle = complex(np.sum(list(turns.values())))
    middle /= abs(middle)
    names = sorted(turns, key=lambda n: float(np.angle(turns[n] / middle)))
    start = outer + 10.0
    wanted = np.array([float(np.angle(turns[n] / middle)) for n in names])
    places, least = wanted.copy(), 2.7 / start
    for _ in range(200):
        short = least - np.diff(places)
        push = np.maximum(short, 0.0) / 2
        places[:-1] -= push
        places[1:] += push
    marks, notes = [], []
    for name, angle in zip(names, places, strict=True):
        ray = middle * np.exp(1j * angle)
        hole = pegs[name].at
        marks.append(Mark(np.array([hole, shaft + turns[name] * (outer + 5.0), shaft + ray * (start - 0.6)]), "fine"))
        turn = float(np.degrees(np.angle(ray)))
        flip = abs(turn) > 90.0
        notes.append(Note(name, shaft + ray * start, 2.0, turn - 180.0 if flip else turn, "right" if flip else "left"))
    return marks, notes
