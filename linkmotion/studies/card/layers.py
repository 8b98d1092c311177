"""Which piece lies over which, so that none runs into a fastener that joins others.

Pieces are put on one after another, from the board up. A joint is *open* from its first piece to its last (one that
is pinned to the board, from the board up); while it is open its shank stands in the way of any other piece that ever
sweeps over it. Of all orders, found by going through the sets of pieces already put on, the one is kept in which
nothing runs into a shank, and, of those, in which the joints are open least, those on the board above all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from linkmotion.studies.card.shapes import CARD, HOLE, Moving, Points

_FOUL, ROOM = 1000, 1.2  # weight of a foul against a layer passed; mm kept between a shank and a piece
_LOW = 3  # weight of a joint on the board: what is pinned or strapped to it should lie low
MOST = 18  # pieces


class CardError(ValueError):
    """A gear of which no card model can be made."""


@dataclass(frozen=True, eq=False)
class Joint:
    """Pieces held together at a place.

    Attributes
    ----------
    name : str
        The pin's, or what holds them.
    members : tuple of str
        Names of the pieces.
    on_board : bool
        Whether it goes through the board too.
    path : complex array
        Places on the board, shape (..., S, N) or what broadcasts to it.
    radius : float
        Of what stands in the way, mm.
    """

    name: str
    members: tuple[str, ...]
    on_board: bool
    path: Points
    radius: float = HOLE


@dataclass(frozen=True)
class Layers:
    """Pieces from the board up, and what fouls in spite of all (joint, piece)."""

    order: tuple[str, ...]
    fouls: tuple[tuple[str, str], ...]


def layers(
    pieces: Sequence[Moving],
    joints: Sequence[Joint],
    over: dict[str, set[str]],
    passes: frozenset[tuple[str, str]] = frozenset(),
) -> Layers:
    """Find the order.

    Parameters
    ----------
    pieces, joints : sequences of Moving and Joint
        Of the model.
    over : dict
        Pieces that must lie under a piece, by its name.
    passes : set of (joint, piece)
        What does not foul although it looks so (a strap round the shaft).

    Raises
    ------
    CardError
        More pieces than can be looked through.
    """
    names = [piece.name for piece in pieces]
    if len(names) > MOST:
        raise CardError(f"a card model of {len(names)} moving pieces is more than can be put in order (at most {MOST})")
    fouls = [
        sum(
            1 << j
            for j, joint in enumerate(joints)
            if piece.name not in joint.members and (joint.name, piece.name) not in passes and sweeps(piece, joint)
        )
        for piece in pieces
    ]
    beneath = [sum(1 << names.index(low) for low in over.get(name, ())) for name in names]
    opened, passed = _open(names, joints)
    order = [names[i] for i in _cheapest(fouls, beneath, opened, passed)]
    return Layers(tuple(order), tuple(_remaining(order, names, joints, fouls)))


def sweeps(piece: Moving, joint: Joint) -> bool:
    """Whether a piece ever comes upon a joint's shank.

    Parameters
    ----------
    piece, joint : Moving, Joint
        Looked at in every notch and wheel position.
    """
    seen = np.ravel(piece.seen(joint.path))
    reach = joint.radius + ROOM
    x0, y0, x1, y1 = piece.piece.outline.bounds
    near = seen[
        (seen.real > x0 - reach) & (seen.real < x1 + reach) & (seen.imag > y0 - reach) & (seen.imag < y1 + reach)
    ]
    if not near.size:
        return False
    points = shapely.points(near.real, near.imag)
    shapely.prepare(piece.piece.outline)
    if np.any(shapely.intersects(piece.piece.outline, points)):
        return True
    return bool(np.any(shapely.dwithin(piece.piece.outline.simplify(0.02), points, reach)))


def _open(names: list[str], joints: Sequence[Joint]) -> tuple[list[int], list[int]]:
    """Joints that are open (as bits) for every set of pieces put on (as bits), and their weight together."""
    sets = np.arange(1 << len(names))
    found, weight = np.zeros(len(sets), object), np.zeros(len(sets), int)
    for j, joint in enumerate(joints):
        own = sum(1 << names.index(name) for name in joint.members)
        begun = (sets & own) != 0 if not joint.on_board else np.ones(len(sets), bool)
        opened = begun & ((sets & own) != own)
        found = found + np.where(opened, 1 << j, 0).astype(object)
        weight += np.where(opened, _LOW if joint.on_board else 1, 0)
    return [int(x) for x in found], weight.tolist()


def _cheapest(fouls: list[int], beneath: list[int], opened: list[int], passed: list[int]) -> list[int]:
    """Order of the pieces with the least sum of fouls and of joints passed while open."""
    count = len(fouls)
    cost = [0] + [-1] * ((1 << count) - 1)
    last = [0] * (1 << count)
    for done in range(1 << count):
        if cost[done] < 0:
            continue
        here = opened[done]
        for i in range(count):
            if done >> i & 1 or beneath[i] & ~done:
                continue
            new = done | 1 << i
            step = cost[done] + _FOUL * (here & fouls[i]).bit_count() + passed[new]
            if cost[new] < 0 or step < cost[new]:
                cost[new], last[new] = step, i
    order, done = [], (1 << count) - 1
    while done:
        order.append(last[done])
        done &= ~(1 << last[done])
    return order[::-1]


def _remaining(order: list[str], names: list[str], joints: Sequence[Joint], fouls: list[int]) -> list[tuple[str, str]]:
    found = []
    for j, joint in enumerate(joints):
        ranks = [order.index(name) for name in joint.members]
        low, high = -1 if joint.on_board else min(ranks), max(ranks)
        for rank in range(low + 1, high):
            piece = order[rank]
            if fouls[names.index(piece)] >> j & 1:
                found.append((joint.name, piece))
    return found


def heights(pieces: Sequence[Moving], order: Sequence[str], gaps: dict[str, float]) -> dict[str, float]:
    """Height of each piece's underside over the board, mm, resting on whatever it ever lies over.

    Parameters
    ----------
    pieces, order : sequence of Moving, of str
        ``CARD`` thick each; their names from the board up.
    gaps : dict
        What a piece is raised besides (pads, a head that passes under it), mm, by name.
    """
    by_name = {piece.name: piece for piece in pieces}
    places = _some_places(pieces[0])
    outlines = {name: [by_name[name].outline_at(*at) for at in places] for name in order}
    found: dict[str, float] = {}
    for name in order:
        below = [
            found[low] + CARD
            for low in found
            if any(a.intersects(b) for a, b in zip(outlines[low], outlines[name], strict=True))
        ]
        found[name] = max(below, default=0.0) + gaps.get(name, 0.0)
    return found


def _some_places(piece: Moving) -> list[tuple[int, int]]:
    notches, wheel = piece.origin.shape
    some = sorted({0, notches // 2, notches - 1})
    return [(s, n) for s in some for n in range(0, wheel, max(1, wheel // 12))]
