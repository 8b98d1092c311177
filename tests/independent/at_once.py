"""The whole revolution of a departed gear at once: Newton's method with a numeric Jacobian on the joint-angle loops.

The gear as drawn is followed round one position at a time (`joint_angles`, `eccentric_gears`); a gear whose dimensions
are a few millimetres off starts at every position from there.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from . import eccentric_assembly, eccentric_gears, joint_angles
from .assembly import first_solution
from .drawing import Dims, read_drawing
from .eccentric_loops import EccentricGear
from .joint_angles import AngleGear, NotClosed

Floats = NDArray[np.float64]
ROCKED_LINKS = ("walschaerts", "eccentric walschaerts", "crosshead driven")
SMALL, CLOSED = 1e-6, 1e-8  # of the differences; mm that the loops may stay open


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


class _Plain:
    """Unknowns of a gear with eccentrics as plain arrays, in place of vectors with slopes."""

    def __init__(self, names: tuple[str, ...], x: Floats) -> None:
        self.names, self.x = names, x

    def length(self, name: str) -> Any:
        return self.x[self.names.index(name)] + 0j

    def turn(self, name: str, rate: float = 1.0) -> Any:
        return np.exp(1j * rate * self.x[self.names.index(name)])


def cranks(front: float, count: int) -> Floats:
    """Directions of the crank, radians, from that of front dead centre."""
    return front - 2 * np.pi * np.arange(count) / count


def drawn_round(dims: Dims, setting: float, kind: str, count: int) -> Round:
    """The gear as drawn, followed round from front dead centre by the scalar solution."""
    gear, follow, x = _drawn(dims, setting, kind)
    front = gear.drawing.front_dead_centre if isinstance(gear, AngleGear) else gear.front_dead_centre
    at, found = front, []
    for crank in cranks(front, count).tolist():
        x, at = follow(x, at, crank), crank
        found.append(x)
    return turned_round(dims, setting, kind, np.array(found).T)


def _drawn(dims: Dims, setting: float, kind: str) -> tuple[Any, Any, Floats]:
    if kind in ROCKED_LINKS:
        gear = AngleGear(read_drawing(dims), setting)
        return gear, gear.follow, first_solution(gear)
    other = EccentricGear(dims, kind, setting)
    return (
        other,
        lambda x, at, to: eccentric_gears.follow(other, x, at, to),
        eccentric_assembly.first_solution(other),
    )


def turned_round(dims: Dims, setting: float, kind: str, start: Floats) -> Round:
    """A gear at all positions at once, from places (n, N) near its own.

    Raises `NotClosed` where it cannot pass.
    """
    x = start.copy()
    for _ in range(12):
        left = _closures(dims, setting, kind, x)
        if np.max(np.abs(left)) < CLOSED:
            break
        slopes = np.empty((*left.shape, len(x)))
        for k in range(len(x)):
            moved = x.copy()
            moved[k] += SMALL
            slopes[:, :, k] = (_closures(dims, setting, kind, moved) - left) / SMALL
        step = np.linalg.solve(np.moveaxis(slopes, 1, 0), left.T[..., None])[..., 0].T
        x = x - step
    else:
        raise NotClosed("the gear cannot pass all round")
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


def _closures(dims: Dims, setting: float, kind: str, x: Floats) -> Floats:
    if kind in ROCKED_LINKS:
        own = AngleGear(read_drawing(dims), setting)
        crank = cranks(own.drawing.front_dead_centre, x.shape[1])
        loops = _angle_loops(own, x, crank)
    else:
        gear = EccentricGear(dims, kind, setting)
        crank = cranks(gear.front_dead_centre, x.shape[1])
        loops = gear.loops(_Plain(gear.names, x), crank)[0]
    z = np.array([np.broadcast_to(loop, crank.shape) for loop in loops])
    return np.concatenate([z.real, z.imag])


def _angle_loops(gear: AngleGear, x: Floats, crank: Floats) -> list[Any]:
    """The five loops of `joint_angles` for arrays of angles."""
    d = gear.drawing
    s, rod, ecc, psi, slot, radius, lever, union, lift, valve = x
    heading, turn, along, upright = (np.exp(1j * angle) for angle in (crank, psi, radius, lever))
    die = d.trunnion + turn * (d.slot_centre - d.slot_side * d.slot_radius * np.exp(-1j * d.slot_side * slot))
    foot = (s + 1j * d.line_height + d.crosshead_arm) * d.line_turn + d.union_link * np.exp(1j * union)
    hung = {
        "lifting link": lambda: die + along * (d.lift_pin + 1j * d.lift_rise) + d.lifting_link * np.exp(1j * lift),
        "sliding block": lambda: die + along * (lift + 1j * d.lift_rise),
    }[d.suspension]()
    return [
        d.crank * heading + d.rod * np.exp(1j * rod) - (s + 1j * d.line_height) * d.line_turn,
        d.driver(heading) + d.eccentric_rod * np.exp(1j * ecc) - d.trunnion - turn * d.foot,
        foot + d.lower_arm * upright - die - d.radius_rod * along,
        foot + d.valve_pin * upright - d.guide_foot - valve * d.guide_turn,
        hung - gear.arm_end,
    ]


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
