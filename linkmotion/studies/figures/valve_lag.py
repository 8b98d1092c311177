r"""How far the valve hangs behind the gear in each reading, by the way the wheel was turned to it.

With c_j the clearance of joint j and g_j = dx/d(gap_j), the half width of the play is w(θ) = ½ Σ c_j \|g_j\|; the valve
follows through backlash (:func:`linkmotion.wear.running.play`), so that it stands f w behind, f from −1 to 1 by the
way it last moved. Where the spindle was pushed one way with the wheel held, f is the same at every angle, 1 or −1.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import BACKWARD, FORWARD
from linkmotion.linkage import Harmonics
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.figure import BOTH_WAYS, PUSHED, SPOTTED, Reading
from linkmotion.studies.figures.looseness import Loose
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.figures.play import POSITIONS, at_angle, freedom
from linkmotion.studies.figures.predict import DIE, LOST
from linkmotion.wear.running import play

Array = NDArray[np.float64]
BY_TURNING, BY_PUSH, NO_LAG = "", "spindle pushed", "none"  # what the valve's lag goes by
_AMOUNTS = np.array([0.3, 1.0, 2.2])  # of the mean lag: where the valve turns about, how far it hangs behind goes by it
_LEAST = 1e-9  # mm: where there is no play


class ValveLag:
    """How far behind the place central the valve is in R readings of a side.

    Parameters
    ----------
    model : GearModel
        Of the readings, in their order.
    side : SideEvents
        As assessed.
    readings : sequence of R readings
        In any notches of the side.
    loose : Loose
        What is known of the play.

    Attributes
    ----------
    groups : list of str
        By what it goes in each reading: the wheel's known turning, a push, or nothing. Where it is not known, notches
        that drive one way were turned alike, for all that is known.
    by_joint : float array, shape (R, joints)
        With all the play taken up, mm.
    turning : float array, shape (R,)
        How uncertain that is where the valve turns about, so that it has not yet come back by the play, mm.
    """

    def __init__(self, model: GearModel, side: SideEvents, readings: Sequence[Reading], loose: Loose) -> None:
        self.groups = [_group(reading, side) for reading in readings]
        joints, amounts = list(loose.clearances), np.array(list(loose.clearances.values()))
        free = freedom(side, dict.fromkeys(reading.notch for reading in readings), joints)
        halved = {notch: amounts[:, None] * rows / 2 for notch, rows in free.items()}
        hangs = _round_wheel(model, halved, loose.mean())
        angles = np.degrees(model.angles)
        self.by_joint, self.turning = np.zeros((len(readings), len(joints))), np.zeros(len(readings))
        for i, reading in enumerate(readings):
            if reading.kind in (DIE, LOST, *SPOTTED):
                continue
            if reading.kind == "opening":
                part = np.full(_AMOUNTS.size, float(model.at.ports.edge("steam", reading.end).sign))
            elif reading.turned in PUSHED:
                part = np.full(_AMOUNTS.size, -float(PUSHED[reading.turned]))
            else:
                way = BACKWARD if reading.came == BACKWARD else FORWARD
                part = at_angle(hangs[reading.notch][way], angles[i])
            mean = float(_AMOUNTS @ part / np.sum(_AMOUNTS))
            half = at_angle(halved[reading.notch], angles[i])
            self.by_joint[i] = mean * half
            self.turning[i] = np.sqrt(np.mean((_AMOUNTS * (part - mean)) ** 2)) * loose.mean() * np.sum(half)


def _group(reading: Reading, side: SideEvents) -> str:
    if reading.kind in (DIE, LOST, *SPOTTED) or (reading.came == BOTH_WAYS and reading.kind != "opening"):
        return NO_LAG
    if reading.turned in PUSHED and reading.kind != "opening":
        return BY_PUSH
    if reading.came or reading.kind == "opening":
        return BY_TURNING
    return f"notches driving {side.drives[side.notches.index(reading.notch)]}"


def _round_wheel(model: GearModel, halved: Mapping[str, Array], mean: float) -> dict[str, dict[str, Array]]:
    """What part of the play the valve hangs behind round the wheel, by notch and way of turning.

    One row for each of the amounts of play.
    """
    notches = list(halved)
    rows = np.repeat([model.moved.notches.index(notch) for notch in notches], _AMOUNTS.size)
    lags = np.stack([mean * np.sum(own, axis=0) for own in halved.values()])
    width = np.maximum((_AMOUNTS[:, None] * lags[:, None]).reshape(-1, POSITIONS), _LEAST)
    parts = {way: _part(model.at.spindle[rows], width, way) for way in (FORWARD, BACKWARD)}
    cuts = {notch: slice(i * _AMOUNTS.size, (i + 1) * _AMOUNTS.size) for i, notch in enumerate(notches)}
    return {notch: {way: own[cut] for way, own in parts.items()} for notch, cut in cuts.items()}


def _part(spindle: Harmonics, half: Array, way: str) -> Array:
    """What part of the play, −1 to 1, a valve turned one way hangs behind, round the wheel in the forward angle."""
    x = spindle.on_grid(POSITIONS)
    if way == FORWARD:
        return np.asarray((x - play(x, half)) / half)
    back, width = (np.roll(own[:, ::-1], 1, axis=1) for own in (x, half))
    return np.asarray(np.roll((back - play(back, width))[:, ::-1], 1, axis=1) / half)
