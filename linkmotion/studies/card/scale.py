"""The scale of a card model: the largest of the usual ones whose pieces go on a sheet and can be cut."""

from __future__ import annotations

from linkmotion.elevation.outlines import number
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.card.kit import make_kit
from linkmotion.studies.card.packing import ROOM, upright
from linkmotion.studies.card.shapes import LEAST, Piece

SCALES = (1, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 16, 20, 25)


def fitting_scale(side: SideEvents) -> float:
    """The largest of the usual scales at which every piece goes on a sheet.

    Where holes would then come too near one another to be cut, a larger one, its long rods in parts.

    Parameters
    ----------
    side : SideEvents
        As assessed.

    Returns
    -------
    float
        Millimetres of the engine to one of card: one of :data:`SCALES`.
    """
    longest = number(side.gear.crank.rod)
    tried = [scale for scale in SCALES if longest / scale < 1.2 * ROOM[1]] or [SCALES[-1]]
    found = next((s for s in tried if all(upright(piece) is not None for piece in pieces_at(side, s))), tried[-1])
    larger = [scale for scale in SCALES[::-1] if scale <= found]
    return next((scale for scale in larger if not too_near(pieces_at(side, scale))), found)


def pieces_at(side: SideEvents, scale: float) -> list[Piece]:
    """Pieces at a scale, quickly: not yet put in order, the reverser without its handle."""
    return [one.piece for one in make_kit(side, scale).moving]


def too_near(pieces: list[Piece]) -> list[tuple[str, str, str, float]]:
    """Holes too near one another to be cut: piece, pin, pin, mm between their centres."""
    near = []
    for piece in pieces:
        cut = [hole for hole in piece.holes if hole.pin]
        for i, one in enumerate(cut):
            for other in cut[i + 1 :]:
                apart = abs(one.at - other.at)
                if one.pin != other.pin and apart < one.radius + other.radius + LEAST:
                    near.append((piece.name, one.pin, other.pin, apart))
    return near
