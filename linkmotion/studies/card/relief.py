"""Cutting a piece away where a fastener that holds others would just touch it.

What is needed of a piece are its holes, slits and bars between them; beyond that it may be hollowed out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from linkmotion.elevation.outlines import band, disc, parts_of, rounded, united
from linkmotion.studies.card.layers import ROOM, Joint, sweeps
from linkmotion.studies.card.shapes import Moving, Shape

_EYE, _BAR = 2.5, 3.2  # least card round a hole, and half the least bar between holes


def relieved(pieces: Sequence[Moving], joints: Sequence[Joint], order: Sequence[str] = ()) -> list[Moving]:
    """Pieces, cut away along the paths of the joints on the board that only graze them.

    Parameters
    ----------
    pieces, joints : sequences of Moving and Joint
        Of the model; what holds a piece together is never cut.
    order : sequence of str
        Pieces from the board up: with it only those that have to pass beside a joint's shank are cut.
    """
    found = []
    for piece in pieces:
        for joint in joints:
            beside = not order or order.index(piece.name) < max(order.index(name) for name in joint.members)
            if joint.on_board and beside and piece.name not in joint.members and sweeps(piece, joint):
                piece = _relieved(piece, joint)
        found.append(piece)
    return found


def _relieved(piece: Moving, joint: Joint) -> Moving:
    seen = np.broadcast_to(piece.seen(joint.path), (*joint.path.shape[:-2], *piece.origin.shape))
    paths = seen.reshape(-1, seen.shape[-1])
    way = united(band([*path, path[0]], joint.radius + ROOM + 0.05) for path in paths)
    left = piece.piece.outline.difference(way)
    left = next((part for part in parts_of(left) if _holds(part, piece)), None)
    if left is None:
        return piece
    smooth = rounded(left, 1.0)
    outline = smooth if smooth.geom_type == "Polygon" and _holds(smooth, piece) else left
    return replace(piece, piece=replace(piece.piece, outline=outline))


def _holds(left: Shape, piece: Moving) -> bool:
    """Whether what is left is still round every hole and slit, with a bar of the least width from each to each."""
    own = piece.piece
    eyes = [disc(hole.at, hole.radius + _EYE) for hole in own.holes]
    eyes += [slit.shape.buffer(_EYE) for slit in own.slits]
    if not left.contains(united(eyes)):
        return False
    bars = left.buffer(-_BAR)
    middles = [shapely.Point(hole.at.real, hole.at.imag) for hole in own.holes if hole.radius + _EYE > _BAR]
    return any(all(part.dwithin(middle, 1e-6) for middle in middles) for part in parts_of(bars))
