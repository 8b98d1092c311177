"""The board's sheets, and the model drawn as it looks when it is put together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import shapely

from linkmotion.studies.card.card_model import CardModel
from linkmotion.studies.card.shapes import HOLE, Mark, Note, Points, Shape, oblong, pairs
from linkmotion.studies.card.sliders import strap_name
from linkmotion.studies.card.tiles import TAB, Tile
from linkmotion.views.card.ink import GREY, PALE, Sheet, room_of
from linkmotion.views.card.piece_labels import beside, within


def draw_tile(model: CardModel, tile: Tile, sheets: Sequence[Tile], labels: Sequence[Note]) -> Sheet:
    """One sheet of the board."""
    sheet = Sheet(tile.paper)
    x0, y0, x1, y1 = tile.window
    corner = tile.corner
    far = corner + complex(x1 - x0, y1 - y0)
    clip = sheet.box(corner.real, corner.imag, far.real, far.imag)
    _tabs(sheet, tile, corner, far)
    for mark in model.board.marks:
        sheet.mark(Mark(_moved(tile, mark.points), mark.style), clip)
    for path in model.board.paths.values():
        sheet.mark(Mark(_moved(tile, path), "fine"), clip)
    for hole in model.board.holes:
        if tile.shows(hole):
            sheet.hole(tile.on_sheet(hole.at), hole.radius)
    for note in (*model.board.notes, *labels):
        if _written_here(note, tile, sheets):
            sheet.write(replace(note, at=tile.on_sheet(note.at)), clip)
    return sheet


def _written_here(note: Note, tile: Tile, sheets: Sequence[Tile]) -> bool:
    """Whether words stand on a sheet: those that go whole on one sheet are not begun on its neighbour's tab."""
    room = room_of(note)
    return shapely.box(*tile.window).contains(room) or not any(
        shapely.box(*other.window).contains(room) for other in sheets
    )


def _moved(tile: Tile, points: Points) -> Points:
    return np.asarray(points - complex(tile.window[0], tile.window[1]) + tile.corner, np.complex128)


def board_labels(
    model: CardModel, letters: Mapping[str, str], numbers: Mapping[str, str], sheets: Sequence[Tile]
) -> list[Note]:
    """Letter and name beside each pin of the board, clear of the seams; the straps' numbers on their feet."""
    taken = [room_of(note) for note in model.board.notes]
    taken += [_shape(mark) for mark in model.board.marks if mark.style != "glue"]
    taken += [shapely.Point(h.at.real, h.at.imag).buffer(h.radius + 0.4) for h in model.board.holes]
    taken += [_seam(tile) for tile in sheets]
    found = [Note(numbers[strap_name(name)], at, 2.0) for at, name in model.board.feet]
    taken += [room_of(note).buffer(2.0) for note in found]
    for hole in model.board.holes:
        if hole.radius < HOLE:
            continue  # a notch, which has its name already
        own = shapely.Point(hole.at.real, hole.at.imag).buffer(hole.radius + 0.4)
        others = [shape for shape in taken if not shape.equals(own)]
        note = beside(f"{letters.get(hole.pin, '')} {hole.pin}", hole.at, hole.radius, None, [*others, own], 2.2)
        found.append(note)
        taken.append(room_of(note))
    taken += [_shape(Mark(path)) for path in model.board.paths.values()]
    for pin, path in model.board.paths.items():
        high = complex(path[int(np.argmax(path.imag))])
        note = beside(letters[pin], high, 0.2, None, taken, 1.6)
        found.append(note)
        taken.append(room_of(note))
    return found


def _seam(tile: Tile) -> Shape:
    """What lies under the sheets' neighbours."""
    x0, y0, x1, y1 = tile.window
    right = shapely.box(x1 - TAB - 0.5, y0, x1 + 0.5, y1) if tile.right else shapely.Point()
    above = shapely.box(x0, y1 - TAB - 0.5, x1, y1 + 0.5) if tile.above else shapely.Point()
    return right.union(above)


def _shape(mark: Mark) -> Shape:
    return shapely.LineString(pairs(mark.points)).buffer(0.3)


def _tabs(sheet: Sheet, tile: Tile, low: complex, far: complex) -> None:
    """The frame, the edges to be cut, the tabs for the neighbours, and marks that must meet."""
    sheet.mark(Mark(oblong(low.real, low.imag, far.real, far.imag), "dash"))
    sheet.write(Note(f"board {tile.name}", complex(low.real, far.imag + 2.6), 2.2, 0.0, "left"), weight="bold")
    if tile.right:
        x = far.real - TAB
        sheet.mark(Mark(oblong(x, low.imag, far.real, far.imag), "glue"))
        _lozenges(sheet, [complex(x, y) for y in np.linspace(low.imag + 20, far.imag - 20, 4)])
        sheet.write(
            Note(f"{tile.right} is glued over this edge", complex(far.real + 2.6, (low.imag + far.imag) / 2), 1.8, 90.0)
        )
    if tile.above:
        y = far.imag - TAB
        sheet.mark(Mark(oblong(low.real, y, far.real, far.imag), "glue"))
        _lozenges(sheet, [complex(x, y) for x in np.linspace(low.real + 20, far.real - 20, 4)])
        sheet.write(
            Note(f"{tile.above} is glued over this edge", complex((low.real + far.real) / 2, far.imag + 2.6), 1.8)
        )
    if tile.left:
        sheet.mark(Mark(np.array([low, complex(low.real, far.imag)]), "heavy"))
        _lozenges(sheet, [complex(low.real, y) for y in np.linspace(low.imag + 20, far.imag - 20, 4)])
        words = f"cut along this edge, glue over {tile.left}"
        sheet.write(Note(words, complex(low.real - 2.6, (low.imag + far.imag) / 2), 1.8, 90.0))
    if tile.below:
        sheet.mark(Mark(np.array([low, complex(far.real, low.imag)]), "heavy"))
        _lozenges(sheet, [complex(x, low.imag) for x in np.linspace(low.real + 20, far.real - 20, 4)])
        words = f"cut along this edge, glue over {tile.below}"
        sheet.write(Note(words, complex((low.real + far.real) / 2, low.imag - 2.6), 1.8))


def _lozenges(sheet: Sheet, places: list[complex]) -> None:
    for place in places:
        sheet.mark(Mark(np.array([place + 3.0 * way for way in (1, 1j, -1, -1j, 1)]), "line"))


def draw_assembled(
    sheet: Sheet,
    model: CardModel,
    numbers: Mapping[str, str],
    area: tuple[float, float, float, float],
    at: tuple[int, int],
) -> None:
    """The model as put together, small, with the pieces' numbers, in an area of a sheet."""
    x0, y0, x1, y1 = model.board.bounds
    size = min((area[2] - area[0]) / (x1 - x0), (area[3] - area[1]) / (y1 - y0))
    shift = complex((area[0] + area[2]) / 2, (area[1] + area[3]) / 2) - size * complex((x0 + x1) / 2, (y0 + y1) / 2)

    def place(points: Any) -> Any:
        return size * points + shift

    sheet.mark(Mark(place(oblong(x0, y0, x1, y1)), "line"))
    for mark in model.board.marks:
        if mark.style not in ("glue", "fine"):
            sheet.mark(Mark(place(mark.points), "line" if mark.style == "heavy" else mark.style))
    outlines = [
        shapely.affinity.affine_transform(one.outline_at(*at), [size, 0, 0, size, shift.real, shift.imag])
        for one in model.moving
    ]
    cut: list[Shape] = []
    for i, one in enumerate(model.moving):
        sheet.shape(outlines[i], facecolor=PALE if i % 2 else "#e3e9ed", linewidth=0.6)
        for slit in one.piece.slits:
            line = place(one.on_board(slit.line[:, None, None])[:, at[0], at[1]])
            sheet.shape(replace(slit, line=line, width=slit.width * size).shape, facecolor="white", linewidth=0.4)
        for hole in one.piece.holes:
            if hole.pin:
                centre = complex(place(one.on_board(hole.at)[at]))
                sheet.hole(centre, 0.8)
                cut.append(shapely.Point(centre.real, centre.imag).buffer(1.1))
    for one, seen in zip(model.moving, _seen(outlines), strict=True):
        note = within([numbers[one.name]], seen.buffer(0.4), cut, [0.0]) or _at_middle(numbers[one.name], seen, cut)
        cut.append(room_of(note).buffer(0.6))
        sheet.shape(room_of(note).buffer(0.3), facecolor="white", edgecolor=GREY, linewidth=0.4)
        sheet.write(replace(note, size=min(note.size, 1.9)), weight="bold")


def _seen(outlines: list[Shape]) -> Iterator[Shape]:
    """The largest part of each piece that no other covers; the piece itself where all is covered."""
    for i, outline in enumerate(outlines):
        bare = outline.difference(shapely.union_all(outlines[i + 1 :])) if outlines[i + 1 :] else outline
        parts = [part for part in getattr(bare, "geoms", (bare,)) if not part.is_empty]
        yield max(parts, key=lambda part: part.area, default=outline)


def _at_middle(text: str, shape: Shape, taken: list[Shape]) -> Note:
    middle = shape.representative_point()
    return beside(text, complex(middle.x, middle.y), 0.0, None, taken, 1.9)
