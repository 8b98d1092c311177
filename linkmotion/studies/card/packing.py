"""Pieces on A4 sheets: turned to stand upright, long ones parted with a lap, laid side by side."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
import shapely.affinity

from linkmotion.elevation.outlines import block
from linkmotion.studies.card.shapes import STICK, Hole, Mark, Note, Piece, Points, Shape, pairs

PAPER = (210.0, 297.0)
MARGIN = 10.0  # mm of the sheet that a printer may leave bare
ROOM = (PAPER[0] - 2 * MARGIN, PAPER[1] - 2 * MARGIN - 9.0)  # above a foot line
LAP = 36.0  # mm by which the parts of a long piece overlap
_GAP = 4.0


@dataclass(frozen=True, eq=False)
class Laid:
    """A piece on a sheet: sheet = origin + turn * point, mm from its lower left corner."""

    piece: Piece
    origin: complex
    turn: complex

    def at(self, point: complex | Points) -> Points:
        """A point of the piece on the sheet, complex mm.

        Parameters
        ----------
        point : complex or array
            In the piece's own axes, mm.
        """
        return np.asarray(self.origin + self.turn * point)

    @property
    def outline(self) -> Shape:
        """Its outline on the sheet."""
        return _turned(self.piece.outline, self.turn, self.origin)


Sheet = tuple[Laid, ...]


def _turned(shape: Shape, turn: complex, origin: complex = 0j) -> Shape:
    matrix = [turn.real, -turn.imag, turn.imag, turn.real, origin.real, origin.imag]
    return shapely.affinity.affine_transform(shape, matrix)


def upright(piece: Piece) -> complex | None:
    """The turn that lets a piece stand in little width of a sheet, square if it can; None if it fits no way."""
    degrees = np.array([90, 0, *range(1, 90), *range(91, 180)])
    turns = np.exp(1j * np.radians(degrees))
    edge = np.asarray(piece.outline.exterior.coords) @ np.array([1, 1j])
    turned = turns[:, None] * edge
    widths, heights = np.ptp(turned.real, axis=1), np.ptp(turned.imag, axis=1)
    best: int | None = None
    widest = np.where(degrees % 90 == 0, ROOM[0], ROOM[0] * 0.75)  # a slanting rod must leave room for others
    for i in np.flatnonzero((heights <= ROOM[1]) & (widths <= widest)):
        if best is None or widths[i] < 0.85 * widths[best]:
            best = int(i)
    return None if best is None else complex(turns[best])


def parted(piece: Piece) -> list[Piece]:
    """A piece, or its parts with laps to be glued where it is longer than a sheet.

    Parameters
    ----------
    piece : Piece
        Its length along its own x.
    """
    if upright(piece) is not None:
        return [piece]
    x0, y0, x1, y1 = piece.outline.bounds
    count = int(np.ceil((x1 - x0 - LAP) / (ROOM[1] - LAP)))
    cuts = [_clear(piece, x0 + (x1 - x0) * k / count) for k in range(1, count)]
    edges = [x0 - 1.0, *cuts, x1 + 1.0]
    parts = []
    for k in range(count):
        low = edges[k] - (LAP / 2 if k else 0.0)
        high = edges[k + 1] + (LAP / 2 if k < count - 1 else 0.0)
        laps = [cut for cut in edges[1:-1] if low < cut < high]
        parts.append(_part(piece, block(low, y0 - 1, high, y1 + 1), laps, f"{piece.name}, part {k + 1} of {count}"))
    return parts


def _clear(piece: Piece, cut: float) -> float:
    """A place near ``cut`` where a lap meets no hole."""
    taken = [hole.at.real for hole in piece.holes] + [p.real for slit in piece.slits for p in slit.line]
    trial = cut + np.linspace(-40.0, 40.0, 81)
    room = [min((abs(x - t) for t in taken), default=99.0) for x in trial]
    good = [x for x, r in zip(trial, room, strict=True) if r >= LAP / 2 + 4.0]
    return float(min(good, key=lambda x: abs(x - cut))) if good else float(trial[int(np.argmax(room))])


def _part(piece: Piece, window: Shape, laps: list[float], name: str) -> Piece:
    y0, y1 = piece.outline.bounds[1], piece.outline.bounds[3]
    pegs = tuple(Hole("", complex(cut + way * LAP / 4), STICK, "lap") for cut in laps for way in (-1, 1))
    marks = [mark for mark in piece.marks if window.contains(shapely.LineString(pairs(mark.points)))]
    for cut in laps:
        for edge in (cut - LAP / 2, cut + LAP / 2):
            line = shapely.LineString([(edge, y0), (edge, y1)]).intersection(piece.outline)
            xy = np.asarray(line.coords)
            marks.append(Mark(xy[:, 0] + 1j * xy[:, 1], "dash"))

    def inside(at: complex) -> bool:
        return bool(window.contains(shapely.Point(at.real, at.imag)))

    return replace(
        piece,
        name=name,
        outline=piece.outline.intersection(window),
        holes=(*(h for h in piece.holes if inside(h.at)), *pegs),
        slits=tuple(s for s in piece.slits if inside(complex(s.line[0]))),
        marks=tuple(marks),
        notes=tuple(n for n in piece.notes if inside(n.at)),
    )


def packed(pieces: Iterable[Piece]) -> list[Sheet]:
    """Lay pieces on as few sheets as oblongs allow, the tallest first.

    Parameters
    ----------
    pieces : iterable of Piece
        Each of which goes on a sheet; as many copies as it says.
    """
    waiting: list[tuple[float, float, complex, complex, Piece]] = []
    for piece in pieces:
        turn = upright(piece) or 1 + 0j
        x0, y0, x1, y1 = _turned(piece.outline, turn).bounds
        waiting += [(y1 - y0, x1 - x0, turn, complex(x0, y0), piece)] * piece.copies
    waiting.sort(key=lambda item: (-item[0], -item[1], item[4].name))
    sheets: list[_Bare] = []
    for height, width, turn, corner, piece in waiting:
        for sheet in sheets:
            place = sheet.take(width, height)
            if place is not None:
                break
        else:
            sheet = _Bare()
            sheets.append(sheet)
            place = sheet.take(width, height)
            assert place is not None
        sheet.laid.append(Laid(piece, place - corner, turn))
    return [tuple(sheet.laid) for sheet in sheets]


class _Bare:
    """A sheet being filled: what is bare of it, as oblongs (x0, y0, x1, y1) that may lie over one another."""

    def __init__(self) -> None:
        self.laid: list[Laid] = []
        low = PAPER[1] - MARGIN - ROOM[1]
        self.bare = [(MARGIN, low, MARGIN + ROOM[0] + _GAP, low + ROOM[1] + _GAP)]

    def take(self, width: float, height: float) -> complex | None:
        """Lower left corner for a piece of that size, at the top left of the bare oblong that it fits best."""
        w, h = width + _GAP, height + _GAP
        fitting = [b for b in self.bare if b[2] - b[0] >= w - 1e-9 and b[3] - b[1] >= h - 1e-9]
        if not fitting:
            return None
        best = min(fitting, key=lambda b: (min(b[2] - b[0] - w, b[3] - b[1] - h), -b[3], b[0]))
        own = (best[0], best[3] - h, best[0] + w, best[3])
        parts = {part for b in self.bare for part in _left(b, own)}
        self.bare = [b for b in parts if not any(b != other and _inside(b, other) for other in parts)]
        return complex(own[0], own[1] + _GAP)


_Oblong = tuple[float, float, float, float]


def _left(bare: _Oblong, own: _Oblong) -> list[_Oblong]:
    """What is left of a bare oblong when another is taken out of it."""
    x0, y0, x1, y1 = bare
    a0, b0, a1, b1 = own
    if a0 >= x1 or a1 <= x0 or b0 >= y1 or b1 <= y0:
        return [bare]
    parts = [(x0, y0, a0, y1), (a1, y0, x1, y1), (x0, y0, x1, b0), (x0, b1, x1, y1)]
    return [p for p in parts if p[2] - p[0] > 5.0 and p[3] - p[1] > 5.0]


def _inside(one: _Oblong, other: _Oblong) -> bool:
    return other[0] <= one[0] and other[1] <= one[1] and one[2] <= other[2] and one[3] <= other[3]


def notes_of(laid: Laid) -> Sequence[Note]:
    """The printed words of a piece where they stand on the sheet."""
    turn = float(np.degrees(np.angle(laid.turn)))
    return [replace(note, at=complex(laid.at(note.at)), turn=note.turn + turn) for note in laid.piece.notes]
