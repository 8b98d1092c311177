"""The motion of one side in one state, ready for the page, and a memory of what was turned last."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.engine import SideState
from linkmotion.gears import Gear
from linkmotion.linkage import Linkage
from linkmotion.studies.assess import SideEvents, afresh_at, assess_side
from linkmotion.studies.motion_table import Motion, motion_at, position, quantities, settings_at


@dataclass(frozen=True, eq=False)
class Item:
    """One thing in which a state differs from the drawing, and the difference it makes alone.

    Attributes
    ----------
    name : str
        In plain words.
    change : Motion
        Of the motion.
    amount : float or None
        By how much a dimension differs: mm, or degrees where ``angle``.
    """

    name: str
    change: Motion
    amount: float | None = None
    angle: bool = False


@dataclass(frozen=True, eq=False)
class PageCase:
    """One side (or both, when alike) in one state.

    Attributes
    ----------
    state, sides
        Which.
    gear : Gear
        The gear as it stands, worn and warm.
    linkage : Linkage
        Its parts and pins, at the first notch.
    nodes : float array, shape (U,)
        Reverser positions tabulated.
    notches : dict
        Name → reverser position.
    quantities : tuple of str
        "PIN x" and "PIN y" of every pin (mm), then "spindle" (mm), and with a link "die" (mm) and "link" (degrees);
        "PIN play x" and "PIN play y" of every joint: how far its play lets the valve move, as a vector along which
        its pin moves in its hole (mm).
    motion : Motion
        What it does, its play not in it.
    side : SideEvents
        Its events in every notch, as it stands.
    items : tuple of Item
        In what it differs from the drawing.
    rest : Motion or None
        State less drawing less the sum of the items: what the items do to one another.
    """

    state: str
    sides: tuple[str, ...]
    gear: Gear
    linkage: Linkage
    nodes: NDArray[Any]
    notches: dict[str, float]
    quantities: tuple[str, ...]
    motion: Motion
    side: SideEvents
    items: tuple[Item, ...] = ()
    rest: Motion | None = None

    @property
    def central_at(self) -> float:
        """Place of the spindle pin with the valve central, mm."""
        return float(self.motion.figures[0])


class Memory:
    """What was turned last, so that what stays as it was need not be turned again."""

    _MOST = 12  # a drawing and two states of two sides, twice over

    def __init__(self) -> None:
        self._sides: list[tuple[SideState, SideEvents]] = []
        self._cases: list[tuple[SideState, NDArray[Any], PageCase]] = []

    def side(self, setup: SideState) -> SideEvents:
        """The events of a side, from memory where it was turned before.

        Parameters
        ----------
        setup : SideState
            Which.
        """
        found = next((side for own, side in self._sides if own == setup), None)
        if found is None:
            found = assess_side(setup)
            self._sides = [(setup, found), *self._sides][: self._MOST]
        return found

    def case(self, setup: SideState, side: SideEvents, nodes: NDArray[Any], sides: tuple[str, ...]) -> PageCase:
        """The motion of a side at some reverser positions, from memory where it was turned before.

        Parameters
        ----------
        setup, side : SideState, SideEvents
            Which; its events.
        nodes : array, shape (U,)
            The positions.
        sides : tuple of str
            Whose motion it is: both sides', when alike.
        """
        for own, at, case in self._cases:
            if own == setup and case.sides == sides and np.array_equal(at, nodes):
                return case
        found = _case(setup, side, nodes, sides)
        self._cases = [(setup, nodes, found), *self._cases][: self._MOST]
        return found


def _case(setup: SideState, side: SideEvents, nodes: NDArray[Any], sides: tuple[str, ...]) -> PageCase:
    gear = side.gear
    kind = type(side.settings[0])
    notches = {
        name: position(setting, side.settings) for name, setting in zip(side.notches, side.settings, strict=True)
    }
    linkage = gear.declare(side.settings[0])
    settings, places = settings_at(kind, nodes, side.settings), (side.central_at, afresh_at(setup))
    motion = motion_at(gear, side.condition, settings, places)
    named = quantities(linkage, gear.slot is not None)
    return PageCase(setup.state, sides, gear, linkage, nodes, notches, named, motion, side)
