"""The whole revolution of a departed gear at once: Newton's method on the loops of all positions.

The gear as drawn is followed round from one position to the next (`joint_angles`, `eccentric_gears`), and starts
between them from a curve; a gear whose dimensions are a few millimetres off starts at every position from there.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from . import eccentric_assembly, eccentric_gears, joint_angles
from .assembly import first_solution
from .closing import NotClosed
from .drawing import Dims, read_drawing
from .eccentric_loops import EccentricGear
from .joint_angles import AngleGear

Floats = NDArray[np.float64]
ROCKED_LINKS = ("walschaerts", "eccentric walschaerts", "crosshead driven")
FOLLOWED = 72  # positions of a turn, 5 degrees apart
CLOSED = 1e-8  # mm by which a worn slot's centre line may still move


@dataclass(frozen=True)
class Round:
    """One turn in one notch, at N crank directions evenly from front dead centre, clockwise as in forward running.

    ``x`` (n, N) all unknowns, ``valve`` and ``piston`` (N,) along their lines, ``die`` (N,) its height above the
    trunnion or its place along the slot, mm.
    """

    x: Floats
    valve: Floats
    piston: Floats
    die: Floats


def cranks(front: float, count: int) -> Floats:
    """Directions of the crank, radians, from that of front dead centre."""
    return front - 2 * np.pi * np.arange(count) / count


def drawn_round(dims: Dims, setting: float, kind: str, count: int) -> Round:
    """The gear as drawn, followed round from front dead centre by the scalar solution; all positions closed at once."""
    gear = _made(dims, setting, kind)
    if isinstance(gear, AngleGear):
        at, x, follow = gear.drawing.front_dead_centre, first_solution(gear), gear.follow
    else:
        at, x = gear.front_dead_centre, eccentric_assembly.first_solution(gear)
        follow = partial(eccentric_gears.follow, gear)
    places, found = np.arange(FOLLOWED + 1), []
    for crank in (at - 2 * np.pi * places / FOLLOWED).tolist():
        x, at = follow(x, at, crank), crank
        found.append(x)
    near = CubicSpline(places, found)(np.arange(count) * FOLLOWED / count)
    return turned_round(dims, setting, kind, near.T)


def _made(dims: Dims, setting: float, kind: str) -> AngleGear | EccentricGear:
    return AngleGear(read_drawing(dims), setting) if kind in ROCKED_LINKS else EccentricGear(dims, kind, setting)


def turned_round(dims: Dims, setting: float, kind: str, start: Floats) -> Round:
    """A gear at all positions at once, from places (n, N) near its own.

    Raises `NotClosed` where it cannot pass.
    """
    gear, count = _made(dims, setting, kind), start.shape[1]
    if isinstance(gear, AngleGear):
        x = gear.polish(start, cranks(gear.drawing.front_dead_centre, count))
    else:
        x = eccentric_gears.polish(gear, start, cranks(gear.front_dead_centre, count))
    return _seen(dims, setting, kind, x)


def worn_round(dims: Dims, setting: float, kind: str, start: Floats, ahead: Callable[[Floats], Floats]) -> Round:
    """The same with a slot worn in places: its centre line stands ``ahead`` of the drawn one where the die is.

    The die's path and the wear along it are found in turn, each from the other, until neither moves.
    """
    found, worn = turned_round(dims, setting, kind, start), np.zeros(start.shape[1])
    link = dims["expansion_link"]
    for _ in range(30):
        now = ahead(slot_place(dims, kind, found))
        if np.max(np.abs(now - worn)) < CLOSED:
            return found
        worn = now
        own = {**dims, "expansion_link": {**link, "slot_offset": link.get("slot_offset", 0.0) + worn}}
        found = turned_round(own, setting, kind, found.x)
    raise NotClosed("the die finds no place in the worn slot")


def slot_place(dims: Dims, kind: str, found: Round) -> Floats:
    """Where the die is along the slot, mm from its middle, + up."""
    if kind != "walschaerts":
        return found.die
    return np.asarray(found.x[joint_angles.SLOT] * float(dims["expansion_link"]["slot_radius"]))


def _seen(dims: Dims, setting: float, kind: str, x: Floats) -> Round:
    if kind not in ROCKED_LINKS:
        names = EccentricGear(dims, kind, setting).names
        die = x[names.index("die")] if "die" in names else np.full(x.shape[1], math.nan)
        return Round(x, x[names.index("valve")], x[names.index("piston")], die)
    d = read_drawing(dims)
    place = np.exp(1j * x[joint_angles.PSI]) * (
        d.slot_centre - d.slot_side * d.slot_radius * np.exp(-1j * d.slot_side * x[joint_angles.SLOT])
    )
    return Round(x, x[joint_angles.VALVE], x[joint_angles.S], place.imag)
