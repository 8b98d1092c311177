"""Rods and rigid parts of a gear in card, from its linkage: whatever the gear, each part becomes a piece."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from linkmotion.elevation.outlines import band, placed
from linkmotion.gears.slots import PART, is_tie
from linkmotion.linkage.parts import Fixed, Plate, Rod, Slide
from linkmotion.studies.card.cut_out import LEAST_BAR, Ends, cut_out, one_piece
from linkmotion.studies.card.motion import Motion
from linkmotion.studies.card.shapes import SLIT, Moving, Points, Slit

_BEYOND = 2.0  # mm by which a slit is longer than what its pin uses


def bars(motion: Motion, ends: Ends) -> Iterator[Moving]:
    """Every rod and rigid part but the link.

    Parameters
    ----------
    motion, ends : Motion, Ends
        At the model's scale; what a rod's end has where it is no fastener's.
    """
    for part in motion.linkage.parts:
        if isinstance(part, Rod | Plate) and not is_tie(part.name) and part.name != PART:
            yield _slotted(motion, part, cut_out(motion, part.name, ends))


def _slotted(motion: Motion, part: Rod | Plate, bar: Moving) -> Moving:
    """The piece with a slit for whatever slides along it."""
    slits = tuple(_slits(motion, part, bar))
    if not slits:
        return bar
    outline = one_piece([bar.piece.outline, *(band(slit.line, SLIT / 2 + LEAST_BAR) for slit in slits)])
    return replace(bar, piece=replace(bar.piece, outline=outline, slits=slits))


def _slits(motion: Motion, part: Rod | Plate, where: Moving) -> Iterator[Slit]:
    for slide in motion.parts(Slide):
        if slide.a in part.pins and slide.b in part.pins and not is_tie(slide.name):
            pin = motion.names[slide.pin]
            yield Slit(pin, _straight_path(where.seen(motion.pins[pin])))


def _straight_path(path: Points) -> Points:
    """The two ends of the straight line along which a pin moves, with a little beyond, shape (2,)."""
    points = np.ravel(np.asarray(path))
    middle = points.mean()
    spread = np.cov(np.vstack([points.real, points.imag]))
    values, vectors = np.linalg.eigh(spread)
    along = vectors[0, np.argmax(values)] + 1j * vectors[1, np.argmax(values)]
    reach = np.real((points - middle) * np.conj(along))
    ends = np.array([reach.min() - _BEYOND, reach.max() + _BEYOND])
    return np.asarray(middle + along * ends)


def arms(motion: Motion) -> Iterator[Moving]:
    """The reverser's arms: pins of the frame that it shifts, gathered on the shafts they turn about.

    Parameters
    ----------
    motion : Motion
        At the model's scale.
    """
    shifted = [pin for pin in motion.fixed if not motion.stands(pin)]
    groups: dict[str, list[str]] = {}
    for name, start, end in motion.gear.arms:
        if end in shifted and start in motion.fixed and motion.stands(start):
            groups.setdefault(start, []).append(name)
    for held in groups.values():
        first, *others = (cut_out(motion, name, {}) for name in held)
        yield _gathered(first, others)


def _gathered(arm: Moving, others: Iterable[Moving]) -> Moving:
    """Arms fast on one shaft as one piece, in the axes of the first."""
    outlines, holes = [arm.piece.outline], {hole.pin: hole for hole in arm.piece.holes}
    for other in others:
        turn = complex((other.turn / arm.turn)[0, 0])
        outlines.append(placed(other.piece.outline, 0j, turn))
        holes = {hole.pin: replace(hole, at=hole.at * turn) for hole in other.piece.holes} | holes
    return replace(arm, piece=replace(arm.piece, outline=one_piece(outlines), holes=tuple(holes.values())))


def board_pins(motion: Motion) -> dict[str, complex]:
    """Pins that stand on the board for good, by name, complex mm of card.

    Parameters
    ----------
    motion : Motion
        At the model's scale.
    """
    found = {}
    for part in motion.parts(Fixed):
        pin = motion.names[part.pin]
        if motion.stands(pin):
            found[pin] = complex(motion.pins[pin][0, 0])
    return found
