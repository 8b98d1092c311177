"""Sheets of pieces to be cut out, each with its number and name, each hole with its letter."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
import shapely

from linkmotion.elevation.outlines import disc
from linkmotion.studies.card.packing import PAPER, Laid, notes_of
from linkmotion.studies.card.shapes import Hole, Mark, Note, Shape, pairs
from linkmotion.views.card.ink import Sheet, room_of
from linkmotion.views.card.piece_labels import beside, within

_CUT_STYLES = ("fill", "heavy", "tint")


def draw_pieces(laid: Sequence[Laid], letters: Mapping[str, str], numbers: Mapping[str, str]) -> Sheet:
    """A sheet of pieces."""
    sheet = Sheet(PAPER)
    for one in laid:
        _draw(sheet, one, letters, numbers.get(one.piece.name, ""))
    return sheet


def _draw(sheet: Sheet, one: Laid, letters: Mapping[str, str], number: str) -> None:
    piece, outline = one.piece, one.outline
    sheet.shape(outline)
    clip = sheet.ax.patches[-1]
    for mark in piece.marks:
        sheet.mark(replace(mark, points=one.at(mark.points)), clip)
    for slit in piece.slits:
        shape = replace(slit, line=one.at(slit.line)).shape
        sheet.shape(shape, facecolor="white", linewidth=0.6)
        sheet.mark(Mark(one.at(slit.line), "dash"))
    for hole in piece.holes:
        sheet.hole(complex(one.at(hole.at)), hole.radius)
    for note in labels(one, letters, number):
        sheet.write(note)


def labels(one: Laid, letters: Mapping[str, str], number: str) -> list[Note]:
    """All words on a piece: its own, its holes' letters, its number and name."""
    piece, outline = one.piece, one.outline
    found = list(notes_of(one))
    taken = [room_of(note) for note in found]
    taken += [replace(slit, line=one.at(slit.line)).shape.buffer(0.4) for slit in piece.slits]
    taken += [_round(complex(one.at(hole.at)), hole.radius) for hole in piece.holes]
    taken += [_shape(one, mark) for mark in piece.marks if mark.style in _CUT_STYLES]
    printed = [_line(one, mark) for mark in piece.marks if mark.style not in _CUT_STYLES]
    for note in _letters(one, letters, outline, [*taken, *printed]):
        found.append(note)
        taken.append(room_of(note).buffer(0.3))
    names, turns = list(_names(piece.name, number)), _turns(one)
    printed = [_shape(one, mark) for mark in piece.marks if mark.style not in _CUT_STYLES]
    name = within(names[:-1], outline, [*taken, *printed], turns) or within(names, outline, taken, turns)
    return found if name is None else [*found, name]


def _letters(one: Laid, letters: Mapping[str, str], outline: Shape, taken: Sequence[Shape]) -> Iterator[Note]:
    placed: list[Shape] = []
    for cut in one.piece.cuts:
        letter = letters.get(cut.pin, "")
        if not letter:
            continue
        if isinstance(cut, Hole):
            words = f"{letter}\n{cut.note}".strip()
            at, radius = complex(one.at(cut.at)), cut.radius
        else:
            words, at, radius = letter, complex(one.at(cut.line[len(cut.line) // 4])), cut.width / 2
        inside = outline if radius < 5.0 else outline.difference(_round(at, radius))
        if inside.geom_type != "Polygon":
            inside = outline
        own = _round(at, radius)
        others = [shape for shape in taken if not shape.equals(own)]
        rivals = [_nearer(at, complex(one.at(h.at))) for h in one.piece.holes if h is not cut and h.pin == cut.pin]
        note = beside(words, at, radius, inside, [*others, own, *placed, *rivals])
        placed.append(room_of(note).buffer(0.3))
        yield note


def _names(name: str, number: str) -> Iterator[str]:
    """A name in ways that take less and less room."""
    full = f"{number} {name}".strip()
    yield full
    words = full.split()
    for lines in (2, 3, 4):
        if len(words) >= lines:
            yield "\n".join(" ".join(part) for part in np.array_split(np.array(words, object), lines))
    if number:
        yield number


def _turns(one: Laid) -> list[float]:
    """Along the piece's length, then across it; so that words read from below or from the right."""
    x0, y0, x1, y1 = one.piece.outline.bounds
    along = float(np.degrees(np.angle(one.turn))) + (0.0 if x1 - x0 >= 0.999 * (y1 - y0) else 90.0)
    found = [(turn + 89.0) % 180.0 - 89.0 for turn in (along, along + 90.0)]
    if abs((x1 - x0) / (y1 - y0) - 1.0) < 0.3:
        found.sort(key=abs)
    slant, width = _slant(one.outline)
    return [slant, *found] if width < 0.75 * min(x1 - x0, y1 - y0) else found


def _slant(outline: Shape) -> tuple[float, float]:
    """The way in which a piece is narrowest, degrees, and its width across, mm."""
    corners = np.asarray(outline.minimum_rotated_rectangle.exterior.coords)
    sides = sorted(np.diff(corners[:, 0] + 1j * corners[:, 1])[:2], key=abs)
    return (float(np.degrees(np.angle(sides[1]))) + 89.0) % 180.0 - 89.0, float(abs(sides[0]))


def _round(at: complex, radius: float) -> Shape:
    return disc(at, radius + 0.4)


def _nearer(at: complex, other: complex) -> Shape:
    """What lies nearer another hole of the same pin."""
    way, middle = (other - at) / abs(other - at), (at + other) / 2
    corners = [
        middle + way * far + 1j * way * off for far, off in ((0.0, -99.0), (99.0, -99.0), (99.0, 99.0), (0.0, 99.0))
    ]
    return shapely.Polygon(pairs(np.array(corners)))


def _line(one: Laid, mark: Mark) -> Shape:
    return shapely.LineString(pairs(one.at(mark.points))).buffer(0.3)


def _shape(one: Laid, mark: Mark) -> Shape:
    points = one.at(mark.points)
    xy = pairs(points)
    closed = abs(points[0] - points[-1]) < 1e-9 and len(points) > 3
    return (shapely.Polygon(xy) if closed else shapely.LineString(xy)).buffer(0.4)
