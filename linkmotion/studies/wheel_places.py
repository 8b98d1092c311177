"""Where the wheel stands for what is read on an engine, and in which order one turn of it comes to them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from linkmotion.events import EVENTS, FORWARD
from linkmotion.piston import dead_centre
from linkmotion.studies.assess import SideEvents
from linkmotion.valve import ENDS

_POSITIONS = 1440  # round the wheel: a greatest opening is flat, a quarter of a degree is nearer than it can be seen


@dataclass(frozen=True)
class WheelPlace:
    """Where the wheel stands for a reading.

    Attributes
    ----------
    notch : int
        Number of the notch.
    direction : str
        In which the wheel is turned to it, "forward" or "backward".
    angle : float
        Crank angle from front dead centre in that direction, degrees, from 0 to under 360.
    found : bool
        False where the figures do not have the event happen: the angle is then that end's dead centre.
    """

    notch: int
    direction: str
    angle: float
    found: bool = True


def wheel_place(side: SideEvents, notch: str, kind: str, direction: str = "", end: str = "") -> WheelPlace:
    """Where the wheel stands for a reading, as the side was assessed.

    Parameters
    ----------
    side : SideEvents
        With that notch.
    notch, kind : str
        By name; "lead", "opening", an event, or anything else, which is read on dead centre.
    direction, end : str
        "forward", "backward", or "" for the first in which the notch drives; "front", "back", or "" for the front.
    """
    number = side.notches.index(notch)
    way = direction or side.driven(number)[0]
    own = end or ENDS[0]
    dead = float(np.degrees(dead_centre(side.gear.crank, own, way == FORWARD)))
    if kind == "opening":
        turn = np.linspace(0.0, 2 * np.pi, _POSITIONS, endpoint=False)
        opening = side.ports.edge("steam", own).opening(side.valve_at(number, turn, way))
        return WheelPlace(number, way, float(np.degrees(turn[int(np.argmax(opening))])))
    if kind in EVENTS:
        past = float(side.events[way][own].angle[kind][number])
        return WheelPlace(number, way, (dead + (past if np.isfinite(past) else 0.0)) % 360, bool(np.isfinite(past)))
    return WheelPlace(number, way, dead)


def in_one_turn(places: Iterable[WheelPlace]) -> list[int]:
    """Numbers of some places in the order in which they are come to: notch by notch, one turn in each direction.

    >>> front, back = WheelPlace(0, "forward", 0.0), WheelPlace(0, "forward", 180.0)
    >>> in_one_turn([back, WheelPlace(0, "backward", 90.0), front])
    [2, 0, 1]
    """
    own = list(places)
    met = list(dict.fromkeys((place.notch, place.direction) for place in own))
    return sorted(range(len(own)), key=lambda i: (met.index((own[i].notch, own[i].direction)), own[i].angle))
