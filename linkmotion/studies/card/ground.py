"""The board of a card model: what is printed on it, its holes, how large it must be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely

from linkmotion.elevation.outlines import united
from linkmotion.linkage.parts import Abreast, Guide
from linkmotion.studies.card.bars import board_pins
from linkmotion.studies.card.kit import Kit, pinned
from linkmotion.studies.card.shapes import HOLE, Hole, Mark, Moving, Note, Points, Shape, pairs
from linkmotion.studies.card.track import FOOT

_MARGIN = 7.0  # board beyond what stands on it


@dataclass(frozen=True, eq=False)
class Board:
    """What is printed on the board, and the holes in it.

    ``feet`` is where straps are glued, with the slider's name; ``paths`` are those of pins in the first notch.
    """

    holes: tuple[Hole, ...]
    marks: tuple[Mark, ...]
    notes: tuple[Note, ...]
    bounds: tuple[float, float, float, float]
    feet: tuple[tuple[complex, str], ...] = ()
    paths: dict[str, Points] = field(default_factory=dict)

    @property
    def printed(self) -> list[Shape]:
        """Roughly, what should not lie on a seam: words, and the straps' feet."""
        feet = [shapely.Point(at.real, at.imag).buffer(FOOT / 2) for at, _name in self.feet]
        ports = [shapely.LineString(pairs(mark.points)) for mark in self.marks if mark.style == "tint"]
        return [*(_room(note) for note in self.notes), *feet, *ports]


def swept(kit: Kit, pieces: Sequence[Moving]) -> list[Shape]:
    """Where pieces stand in some notches and wheel positions, and what is printed of cylinder and chest.

    Parameters
    ----------
    kit, pieces : Kit, sequence of Moving
        Of the model; those looked at.
    """
    notches, wheel = kit.motion.shape
    some = [(s, n) for s in range(0, notches, max(1, notches // 4)) for n in range(0, wheel, max(1, wheel // 12))]
    plain = [replace(piece, piece=replace(piece.piece, outline=piece.piece.outline.simplify(0.2))) for piece in pieces]
    shapes = [piece.outline_at(s, n) for piece in plain for s, n in some]
    for slider in kit.sliders:
        for mark in (*slider.marks, *slider.strap_marks):
            shapes.append(shapely.LineString(pairs(mark.points)).convex_hull)
    shapes += [_room(note) for slider in kit.sliders for note in slider.notes]
    return [*shapes, _room(_pointer(kit)[1]).buffer(3.0)]


def board(kit: Kit, moving: Sequence[Moving]) -> Board:
    """The board on which pieces move.

    Parameters
    ----------
    kit, moving : Kit, sequence of Moving
        Of the model; all that move.
    """
    holes = [Hole(pin, at, HOLE) for pin, at in board_pins(kit.motion).items()]
    holes += [peg for one in kit.latches for peg in one.pegs.values()]
    marks = [mark for s in kit.sliders for mark in (*s.marks, *s.strap_marks)]
    marks += [mark for one in kit.latches for mark in one.marks] + _lines(kit)
    notes = [note for s in kit.sliders for note in s.notes] + [note for one in kit.latches for note in one.notes]
    pointer, words = _pointer(kit)
    marks.append(pointer)
    notes.append(words)
    bare = shapely.total_bounds([*swept(kit, moving), *(_room(note) for note in notes)]).tolist()
    x0, y0, x1, y1 = (edge + way * _MARGIN for edge, way in zip(bare, (-1, -1, 1, 1), strict=True))
    feet = tuple((place, s.moving.name) for s in kit.sliders for place in s.foot_middles)
    return Board(tuple(holes), tuple(marks), tuple(notes), (x0, y0, x1, y1), feet, dict(_paths(kit)))


def _room(note: Note) -> Shape:
    """Roughly where words stand."""
    long = 0.75 * note.size * len(note.text)
    start = {"left": 0.0, "centre": -long / 2, "right": -long}[note.anchor]
    way = complex(np.exp(1j * np.radians(note.turn)))
    ends = [note.at + way * start, note.at + way * (start + long)]
    return united(shapely.Point(p.real, p.imag).buffer(note.size) for p in ends).convex_hull


def _paths(kit: Kit) -> Iterator[tuple[str, Points]]:
    """Paths of the pins that float free, in the first notch: what the model must follow."""
    motion = kit.motion
    guided = [motion.names[part.pin] for part in motion.linkage.parts if isinstance(part, Guide | Abreast)]
    plain = {*motion.cranks, *guided, *motion.fixed}
    for joint in pinned(kit):
        if joint.name in motion.pins and not joint.on_board and joint.name not in plain:
            path = motion.pins[joint.name][0]
            yield joint.name, np.append(path, path[0])


def _lines(kit: Kit) -> list[Mark]:
    """The centre lines on which sliders run."""
    found = []
    for slider in kit.sliders:
        low, high = slider.track.travel
        found.append(Mark(slider.track.board(np.array([low - 12.0, high + 12.0], complex)), "dash"))
        for end in (low, high):
            found.append(Mark(slider.track.board(np.array([end - 2.5j, end + 2.5j])), "fine"))
    return found


def _pointer(kit: Kit) -> tuple[Mark, Note]:
    """Above the wheel, where its scale is read."""
    wheel = kit.wheel.moving[0]
    edge = complex(wheel.origin[0, 0]) + 1j * (wheel.piece.outline.bounds[3] + 1.0)
    words = Note("crank angle, forward (small: backward)", edge + 6.0j, 2.0)
    return Mark(np.array([edge, edge + 3.5j + 1.6, edge + 3.5j - 1.6, edge]), "fill"), words
