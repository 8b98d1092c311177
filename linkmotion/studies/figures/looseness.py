"""What is known of a side's play before readings are explained: by clearances, by lost motion read, or as is usual."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.figure import Reading
from linkmotion.studies.figures.play import at_angle, clearable, freedom
from linkmotion.studies.figures.predict import LOST
from linkmotion.wear.lost_motion import DIE as DIE_JOINT

LOOSE = 0.25  # mm: clearance of every joint, at most, where nothing is said of the play; common practice, no source


@dataclass(frozen=True)
class Loose:
    """What is known of the play of a side before it is estimated.

    Attributes
    ----------
    clearances : dict
        By joint, mm: as the state or a reading of lost motion has them; else the most that is usual.
    known : bool
        Whether they are known, or only a bound.
    most : float
        Lost motion at the spindle that they come to, mm, the mean over the notches read and the wheel.
    """

    clearances: Mapping[str, float]
    known: bool
    most: float

    def mean(self, least: float = 0.0) -> float:
        """Mean of what of the play is taken up, where that is anywhere from a ``least`` part of it to all.

        Play that is known is what it is; else it is anywhere from none to the most.
        """
        return (1 + least) / 2 * (1.0 if self.known else 1 / 2)

    def square(self, least: float = 0.0) -> float:
        """Mean square of the same."""
        return (1 + least + least**2) / 3 * (1.0 if self.known else 1 / 3)

    def spread(self, least: float = 0.0) -> float:
        """Its standard deviation."""
        return float(np.sqrt(self.square(least) - self.mean(least) ** 2))


def looseness(side: SideEvents, readings: Iterable[Reading]) -> Loose:
    """Play by the state's clearances, or by the lost motion that was read, or as is usual.

    Clearances that a state gives say how the joints compare; a reading of lost motion says how much it is in all.

    Parameters
    ----------
    side : SideEvents
        As assessed, with its condition.
    readings : iterable of Reading
        Of the side: their notches are looked at, and lost motion among them.
    """
    notches = dict.fromkeys(reading.notch for reading in readings)
    joints = clearable(side.gear)
    free = freedom(side, notches, joints)
    condition = side.condition
    named = {joint: condition.clearance.get(joint, 0.0) for joint in joints}
    if DIE_JOINT in named:
        losses = [face.front + face.back for face in condition.slot]
        named[DIE_JOINT] = condition.die_clearance + float(np.mean(losses) if losses else 0.0)
    known = any(named.values())
    own = named if known else dict.fromkeys(joints, LOOSE)
    amounts = np.array([own[joint] for joint in joints])
    read = [reading for reading in readings if reading.kind == LOST]
    if read:
        there = [float(amounts @ at_angle(free[reading.notch], reading.forward * (reading.at or 0.0)))
                 for reading in read]  # fmt: skip
        amounts = amounts * float(np.mean([max(reading.value, 0.0) for reading in read]) / np.mean(there))
    most = float(np.mean([amounts @ rows for rows in free.values()]))
    return Loose(dict(zip(joints, amounts.tolist(), strict=True)), known or bool(read), most)
