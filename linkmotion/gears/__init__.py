"""Gears: one short file each, its dimensions and how they make a linkage.

A gear is registered by its name in :data:`GEARS`; engine files, commands, plots and reports reach
it only through the :class:`Gear` protocol.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar, Protocol

from linkmotion.gears.allan import Allan
from linkmotion.gears.book import CrankMotion, Cylinder, Fault, Valve
from linkmotion.gears.gooch import Gooch
from linkmotion.gears.plain import PlainEccentric
from linkmotion.gears.reverser import Arm, DieHeight, DieHeld, Notch, Setting, Stop
from linkmotion.gears.slots import Slot
from linkmotion.gears.stephenson import Stephenson
from linkmotion.gears.walschaerts import Walschaerts
from linkmotion.linkage import Linkage


class Gear(Protocol):
    """What every gear offers."""

    name: ClassVar[str]
    arms: ClassVar[tuple[tuple[str, str, str], ...]]  # stiff arms that are no rods: name, pin, pin

    @property
    def cylinder(self) -> Cylinder:
        """Crank and cylinder line."""

    @property
    def valve(self) -> Valve:
        """Valve and ports."""

    @property
    def notches(self) -> dict[str, Notch]:
        """Named positions of the reverser."""

    @property
    def crank(self) -> CrankMotion:
        """Crank, connecting rod and cylinder line."""

    @property
    def slot(self) -> Slot | None:
        """The link's slot, where there is a link."""

    def faults(self) -> Iterator[Fault]:
        """What is wrong with the figures before anything is turned."""

    def declare(self, setting: Setting) -> Linkage:
        """Declare the linkage with the reverser as set."""

    def setting(self, notch: Any) -> Setting:
        """Setting of the reverser in a notch as written (arm angle, or die height on front dead centre)."""


GEARS: dict[str, type[Any]] = {gear.name: gear for gear in (Walschaerts, Stephenson, Gooch, Allan, PlainEccentric)}

__all__ = [
    "GEARS",
    "Allan",
    "Arm",
    "DieHeight",
    "DieHeld",
    "Gear",
    "Gooch",
    "PlainEccentric",
    "Setting",
    "Slot",
    "Stephenson",
    "Stop",
    "Walschaerts",
]
