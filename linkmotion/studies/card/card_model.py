"""A card model of an engine's gear that can be turned by hand: pieces, board, joints, and the order of layers.

Everything comes from the gear's own linkage, so that any gear of the product has its model.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from linkmotion.elevation.outlines import united
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.card.ground import Board, board, swept
from linkmotion.studies.card.kit import Kit, gaps, glued, make_kit, over, pinned
from linkmotion.studies.card.latch import latch
from linkmotion.studies.card.layers import Joint, heights, layers, sweeps
from linkmotion.studies.card.link import PIN_PLATE, SLOT_PLATE, with_glue_marks
from linkmotion.studies.card.motion import Motion
from linkmotion.studies.card.relief import relieved
from linkmotion.studies.card.shapes import CARD, Moving, Piece
from linkmotion.studies.card.sliders import strap_pieces


@dataclass(frozen=True, eq=False)
class CardModel:
    """A card model.

    Attributes
    ----------
    motion : Motion
        The gear's motion at the model's scale.
    moving : tuple of Moving
        Pieces that move, from the board up.
    loose : tuple of Piece
        What is glued on: boss, sheaves, pads, straps.
    joints : tuple of Joint
        Places where pieces are pinned to one another or to the board, from the board up.
    height : dict
        Underside of each moving piece over the board, mm.
    fouls : tuple of (str, str)
        Joint and piece that runs into it, where no order avoids it.
    left_out : tuple of str
        Notches for which there is no room for a hole.
    """

    motion: Motion
    moving: tuple[Moving, ...]
    loose: tuple[Piece, ...]
    board: Board
    joints: tuple[Joint, ...]
    height: dict[str, float]
    fouls: tuple[tuple[str, str], ...]
    left_out: tuple[str, ...]

    @property
    def scale(self) -> float:
        """Millimetres of the engine to one of card."""
        return self.motion.scale

    def moving_piece(self, name: str) -> Moving:
        """A moving piece by its name."""
        return next(piece for piece in self.moving if piece.name == name)

    def head_in_front(self, joint: Joint) -> bool:
        """Which way a fastener is put in: its flat head toward what passes close by; in front where nothing does.

        Parameters
        ----------
        joint : Joint
            One of ``joints``.
        """
        ranks = [i for i, piece in enumerate(self.moving) if piece.name in joint.members]
        plates = [piece.name for piece in self.moving if piece.name in (PIN_PLATE, SLOT_PLATE)]
        if len(plates) == 2 and not joint.on_board and set(plates) & set(joint.members):
            return plates[0] in joint.members  # into the room between the plates
        if joint.on_board or any(sweeps(piece, joint) for piece in self.moving[max(ranks) + 1 :]):
            return True
        return not any(sweeps(piece, joint) for piece in self.moving[: min(ranks)])

    def spacers(self, joint: Joint) -> dict[str, float]:
        """Spacers on a joint's shank: name of the piece (or "board") on which one lies, to its length, mm.

        Parameters
        ----------
        joint : Joint
            One of ``joints``.
        """
        order = [piece.name for piece in self.moving if piece.name in joint.members]
        tops = {name: self.height[name] + CARD for name in order}
        below = ["board", *order[:-1]] if joint.on_board else order[:-1]
        above = order if joint.on_board else order[1:]
        gaps = {low: self.height[high] - tops.get(low, 0.0) for low, high in zip(below, above, strict=True)}
        return {low: gap for low, gap in gaps.items() if gap > 2 * CARD}


def card_model(side: SideEvents, scale: float) -> CardModel:
    """Make the card model of a side.

    Parameters
    ----------
    side : SideEvents
        As assessed.
    scale : float
        Millimetres of the engine to one of card.

    Raises
    ------
    CardError
        More moving pieces than can be put in order.
    """
    kit = _latched(make_kit(side, scale))
    pins = list(pinned(kit))
    joints = [*pins, *glued(kit)]
    pieces: Sequence[Moving] = kit.moving
    found = layers(pieces, joints, over(kit), _straps_round(kit))
    if found.fouls:
        found = layers(relieved(pieces, joints), joints, over(kit), _straps_round(kit))
        pieces = relieved(pieces, joints, found.order)
    moving = _marked(sorted(pieces, key=lambda piece: found.order.index(piece.name)), kit)
    pins.sort(key=lambda joint: sorted(found.order.index(name) for name in joint.members))
    loose = (*kit.wheel.loose, *(kit.link.pads if kit.link else ()), *strap_pieces(list(kit.sliders)))
    height = heights(moving, found.order, gaps(kit, found.order))
    left = (*(kit.link.left_out if kit.link else ()), *(n for one in kit.latches for n in one.left_out))
    return CardModel(kit.motion, moving, loose, board(kit, moving), tuple(pins), height, found.fouls, left)


def _straps_round(kit: Kit) -> frozenset[tuple[str, str]]:
    """Sheaves and straps that go round one another: no strap comes against a sheave's middle."""
    sheaved = kit.wheel.members
    straps = [bar.name for bar in kit.bars if any(bar.piece.takes(pin) for pin in sheaved)]
    return frozenset((pin, strap) for pin in sheaved for strap in straps)


def _marked(pieces: Sequence[Moving], kit: Kit) -> tuple[Moving, ...]:
    """The pieces, with the link's lower plate showing where the upper is glued."""
    plates = [piece for piece in pieces if piece.name in (PIN_PLATE, SLOT_PLATE)]
    if kit.link is None or len(plates) < 2:
        return tuple(pieces)
    lower = with_glue_marks(plates[0], plates[1], kit.link.pads)
    return tuple(lower if piece is plates[0] else piece for piece in pieces)


def _latched(kit: Kit) -> Kit:
    """The kit with a handle on each arm, and on a slide that the reverser tilts."""
    held = kit.arms or kit.slide
    if not held:
        return kit
    others = [piece for piece in kit.moving if piece not in held]
    taken, extent = united(swept(kit, others)), shapely.total_bounds(swept(kit, kit.moving)).tolist()
    found = []
    for arm in held:
        found.append(latch(arm, kit.motion.side.notches, taken, extent))
        taken = united([taken, *swept(kit, [found[-1].arm])])
    arms = tuple(one.arm for one in found)
    if kit.link and not kit.arms:
        return replace(kit, link=replace(kit.link, moving=(*arms, *kit.link.moving[1:])), latches=tuple(found))
    return replace(kit, arms=arms, latches=tuple(found))
