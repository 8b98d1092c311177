"""Gears: one short file each, its dimensions and how they make a linkage.

A gear is registered by its name in :data:`GEARS`; engine files, commands, plots and reports reach
it only through the :class:`Gear` class.
"""

from __future__ import annotations

from typing import Any

from linkmotion.gears.allan import Allan
from linkmotion.gears.baker import Baker
from linkmotion.gears.crosshead_driven import CrossheadDriven
from linkmotion.gears.derived_valve import DerivedValve
from linkmotion.gears.eccentric_walschaerts import EccentricWalschaerts
from linkmotion.gears.gear import Gear
from linkmotion.gears.gooch import Gooch
from linkmotion.gears.hackworth import Hackworth
from linkmotion.gears.joy import Joy
from linkmotion.gears.marshall import Marshall
from linkmotion.gears.plain import PlainEccentric
from linkmotion.gears.reverser import Arm, DieHeight, DieHeld, ReverserPosition, Stop
from linkmotion.gears.slots import Slot
from linkmotion.gears.southern import Southern
from linkmotion.gears.stephenson import Stephenson
from linkmotion.gears.walschaerts import Walschaerts

_KINDS = (
    Walschaerts,
    EccentricWalschaerts,
    CrossheadDriven,
    Stephenson,
    Gooch,
    Allan,
    Hackworth,
    Marshall,
    Joy,
    Baker,
    Southern,
    DerivedValve,
)
GEARS: dict[str, type[Any]] = {gear.name: gear for gear in (*_KINDS, PlainEccentric)}

__all__ = [
    "GEARS",
    "Allan",
    "Arm",
    "Baker",
    "CrossheadDriven",
    "DerivedValve",
    "DieHeight",
    "DieHeld",
    "EccentricWalschaerts",
    "Gear",
    "Gooch",
    "Hackworth",
    "Joy",
    "Marshall",
    "PlainEccentric",
    "ReverserPosition",
    "Slot",
    "Southern",
    "Stephenson",
    "Stop",
    "Walschaerts",
]
