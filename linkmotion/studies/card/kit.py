"""The pieces of a card model before they are put in order, and how they are joined."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from linkmotion.studies.assess import SideEvents
from linkmotion.studies.card.bars import arms, bars, board_pins
from linkmotion.studies.card.latch import Latch
from linkmotion.studies.card.layers import Joint
from linkmotion.studies.card.link import PADS, PIN_PLATE, SLOT_PLATE, Link, link
from linkmotion.studies.card.motion import Motion
from linkmotion.studies.card.shapes import CARD, Moving
from linkmotion.studies.card.sliders import Slider, sliders
from linkmotion.studies.card.wheel import WheelSet, wheel_set


@dataclass(frozen=True, eq=False)
class Kit:
    """Pieces before they are put in order."""

    motion: Motion
    wheel: WheelSet
    bars: tuple[Moving, ...]
    link: Link | None
    sliders: tuple[Slider, ...]
    arms: tuple[Moving, ...]
    latches: tuple[Latch, ...] = ()

    @property
    def slide(self) -> tuple[Moving, ...]:
        """The piece by which a slide stands on the weighshaft, where the gear has one."""
        slot = self.motion.gear.slot
        return self.link.moving[:1] if self.link and slot is not None and slot.works else ()

    @property
    def moving(self) -> tuple[Moving, ...]:
        """All pieces that move."""
        held = self.link.moving if self.link else ()
        return (*self.wheel.moving, *self.bars, *held, *(s.moving for s in self.sliders), *self.arms)


@lru_cache(maxsize=2)
def make_kit(side: SideEvents, scale: float) -> Kit:
    """Make a side's pieces, not yet in order; kept, since they are looked at once more when their scale is chosen.

    Parameters
    ----------
    side, scale : SideEvents, float
        As assessed; millimetres of the engine to one of card.
    """
    motion = Motion.of(side, scale)
    wheel = wheel_set(motion)
    return Kit(
        motion,
        wheel,
        tuple(bars(motion, wheel.ends)),
        link(motion),
        tuple(sliders(motion)),
        tuple(arms(motion)),
    )


def pinned(kit: Kit) -> Iterator[Joint]:
    """Joints by pins: pieces that have a hole or a slit for the same one.

    Parameters
    ----------
    kit : Kit
        Of the model.
    """
    board = board_pins(kit.motion)
    pins = dict.fromkeys(cut.pin for one in kit.moving for cut in one.piece.cuts if cut.pin)
    for pin in pins:
        members = [one.name for one in kit.moving if one.piece.takes(pin)]
        if pin in kit.wheel.members:
            members.append(kit.wheel.members[pin])
        if pin in kit.motion.pins and (len(members) > 1 or pin in board):
            yield Joint(pin, tuple(members), pin in board, kit.motion.pins[pin])
    for one in kit.latches:
        rows = dict.fromkeys(peg.pin for peg in one.pegs.values())
        for row in rows:
            places = np.array([peg.at for peg in one.pegs.values() if peg.pin == row])
            yield Joint(row, (one.arm.name,), True, places[:, None, None])


def glued(kit: Kit) -> Iterator[Joint]:
    """What stands in the way without being a pin: straps' feet, the link's pads."""
    for slider in kit.sliders:
        yield Joint(f"straps of {slider.moving.name}", (slider.moving.name,), True, slider.feet[:, None, None], 0.5)
    if kit.link and len(kit.link.pad_places):
        plate = kit.link.moving[0]
        path = plate.on_board(kit.link.pad_places[:, None, None])
        yield Joint("pads of the link", (PIN_PLATE, SLOT_PLATE), False, path, 0.5)


def over(kit: Kit) -> dict[str, set[str]]:
    """The web over the connecting rod over the wheel, straps over the web."""
    if len(kit.wheel.moving) < 2:
        return {}
    wheel, web = (one.name for one in kit.wheel.moving)
    crank_pin = next(iter(kit.wheel.ends))
    rods = {one.name for one in kit.bars if any(hole.pin == crank_pin for hole in one.piece.holes)}
    own = {name: {wheel} for name in rods} | {web: {wheel, *rods}}
    return own | {one.name: {web} for one in kit.bars for hole in one.piece.holes if hole.pin in kit.wheel.members}


def gaps(kit: Kit, order: Sequence[str]) -> dict[str, float]:
    """What pieces are raised besides lying on others, mm: one thickness for a boss or a keeper, pads for the plates.

    Parameters
    ----------
    kit, order : Kit, sequence of str
        Of the model; its pieces from the board up.
    """
    raised = {name: CARD for name in over(kit)}
    plates = [name for name in order if name in (PIN_PLATE, SLOT_PLATE)]
    if len(plates) == 2:
        raised[plates[1]] = PADS
    return raised
