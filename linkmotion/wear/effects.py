"""What a condition does to a gear: changed dimensions, a shifted slot, a moved valve.

With nothing entered every function gives back what it was given.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from linkmotion.gears import Gear
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.gears.keys import TOWARD
from linkmotion.gears.sensitivity import Key, marked, numbers, with_numbers
from linkmotion.gears.slots import CurvedSlot
from linkmotion.linkage import Harmonics, Solution, Wheel, solve
from linkmotion.linkage.many import MOST_NODES
from linkmotion.linkage.solve import NODES, solve_near
from linkmotion.revolution import Revolution, revolve
from linkmotion.wear.condition import Condition
from linkmotion.wear.lost_motion import joints_of

REMAINDER = 1e-5  # mm: what the series may leave between the positions turned, where a slot is worn
_SMALL = 1e-3  # mm: of a difference taken
STEEL = 11.7e-6  # per kelvin: wrought iron 6.48e-6 per °F, Dooley, Applied Science for Metal Workers


def rods_of(gear: Gear) -> dict[str, Key]:
    """Rods of a gear that can bow: name to the (table, key) of their length.

    Parameters
    ----------
    gear : Gear
        Of any kind.
    """
    return {rod: key for key, rod in marked(gear, "rod").items()}


def link_pins_of(gear: Gear) -> list[str]:
    """Pins of the link that a bend in its plane can carry away; none in a gear without a link.

    Parameters
    ----------
    gear : Gear
        Of any kind.
    """
    return list(dict.fromkeys(pin for pin, _side in marked(gear, "pin").values()))


def angles_of(gear: Gear) -> list[str]:
    """Return crank or eccentrics of a gear that can slip.

    Parameters
    ----------
    gear : Gear
        Of any kind.
    """
    return list(dict.fromkeys(marked(gear, "slips").values()))


def pins_of(gear: Gear) -> list[str]:
    """Pins of a gear that can have clearance.

    Parameters
    ----------
    gear : Gear
        Of any kind.
    """
    notch = next(iter(gear.notches.values()))
    return list(joints_of(gear.declare(notch)))


def worn(gear: Gear, condition: Condition) -> Gear:
    """The gear with its dimensions as the condition has changed them (not heat, not the slot's faces).

    A rod bowed by b shortens by ``8 b² / 3 L`` (a shallow parabola); an axle risen by h has the frame's heights less
    by h, or by h cos(inclination) square to the cylinder line.

    Parameters
    ----------
    gear : Gear
        As the state's dimensions have it.
    condition : Condition
        What the gauge found.
    """
    for what, slip in condition.angle_slip.items():
        gear = _slipped(gear, what, slip) if slip else gear
    given = numbers(gear)
    if gear.cylinder.crank_radius is None and (condition.axle_height or condition.bow):
        gear = replace(gear, cylinder=replace(gear.cylinder, crank_radius=gear.crank.radius, stroke=None))
        given = numbers(gear)
    changes: dict[Key, Any] = {}
    for key, change in _changes(gear, condition, given):
        changes[key] = changes.get(key, given[key]) + change
    return with_numbers(gear, changes) if changes else gear


def _slipped(gear: Gear, what: str, degrees: float) -> Gear:
    """The gear with its return crank or an eccentric slipped, degrees, + the way the wheel turns running forward."""
    for table, key in (key for key, slips in marked(gear, "slips").items() if slips == what):
        own: Any = getattr(gear, table)
        if hasattr(own, "slipped"):  # other figures change with the angle
            gear = replace(gear, **{table: own.slipped(degrees, gear.crank.radius)})
        else:
            gear = replace(gear, **{table: replace(own, **{key: getattr(own, key) + degrees})})
    return gear


def _changes(gear: Gear, condition: Condition, given: dict[Key, float]) -> Iterator[tuple[Key, float]]:
    for rod, bow in condition.bow.items():
        key = rods_of(gear)[rod]
        yield key, -8 * bow**2 / (3 * given[key])  # a shallow parabola: the arc is longer than its chord by 8 b²/3 L
    for pin, moved in condition.bent.items():
        for key, (own, side) in marked(gear, "pin").items():
            if own == pin:
                yield key, (complex(*moved) / TOWARD[side]).real
    if condition.axle_height:
        for where, along in marked(gear, "frame").items():
            if along != "x":  # seen from the axle the frame has gone down
                fall = _fall(gear, where[0]) if along == "line" else 1.0
                yield where, -condition.axle_height * fall


def _fall(gear: Gear, table: str) -> Any:
    """Of the frame's fall, what is square to a cylinder line: the table's own line, or else the cylinder's."""
    own: Any = getattr(getattr(gear, table), "inclination", gear.cylinder.inclination)
    return np.cos(np.radians(own))


def warm(gear: Gear, condition: Condition) -> Gear:
    """The gear with rods and frame grown by heat: lengths times ``1 + STEEL * rise``.

    Parameters
    ----------
    gear : Gear
        Cold.
    condition : Condition
        Whose ``heat`` gives "rods" and "frame", kelvin.
    """
    if not condition.heat:
        return gear
    if gear.cylinder.crank_radius is None and any(condition.heat.values()):
        gear = replace(gear, cylinder=replace(gear.cylinder, crank_radius=gear.crank.radius, stroke=None))
    given = numbers(gear)
    rods, frame = (1 + STEEL * condition.heat.get(part, 0.0) for part in ("rods", "frame"))
    grown = {key: given[key] * rods for key in rods_of(gear).values()}
    grown |= {key: given[key] * frame for key in marked(gear, "frame")}
    return with_numbers(gear, grown)


def central_when_warm(central_at: float, condition: Condition) -> float:
    """Place of the spindle pin with the valve central once spindle and frame are warm, mm.

    The spindle carries the valve ahead by its growth; the frame carries the ports ahead by its own.

    Parameters
    ----------
    central_at : float
        That place cold, mm along the guide.
    condition : Condition
        With ``heat`` and ``spindle_length``.
    """
    spindle, frame = (STEEL * condition.heat.get(part, 0.0) for part in ("spindle", "frame"))
    reach = central_at + condition.spindle_length
    return central_at + frame * reach - spindle * condition.spindle_length


def turned(gear: Gear, setting: Any, condition: Condition) -> Revolution:
    """Turn a gear whose slot is worn: the die pin's path stands off the drawn slot by what is entered.

    A smooth curve through the readings still has a kink in its bend at each, whose harmonics fall as the third
    power, so that those beyond the K-th come to about K times the last: crank positions are doubled until that
    is within ``REMAINDER`` (or ``MOST_NODES`` are reached).

    Parameters
    ----------
    gear : Gear
        With its dimensions as worn (:func:`worn`).
    setting : ReverserPosition
        Figures that are numbers, or arrays of shape (S, 1) for S notches.
    condition : Condition
        Of which the slot's losses, the die's length and its offset are looked at.

    Raises
    ------
    LinkageError, UnreachableError
        As :func:`linkmotion.revolution.revolve`.
    """
    revolution = revolve(gear, setting)
    if not (any(r.front or r.back for r in condition.slot) or condition.die_offset) or gear.slot is None:
        return revolution
    nodes = 4 * NODES  # a worn slot's profile has more harmonics than the gear
    while True:
        solution = _in_worn_slot(gear, setting, condition, nodes)
        rows = (revolution.spindle.c.shape[0], nodes)
        spindle = Harmonics.through(np.broadcast_to(solution.along(VALVE_GUIDE), rows))
        if spindle.tail * nodes / 2 <= REMAINDER or nodes >= MOST_NODES:
            return Revolution(gear, spindle, solution)
        nodes *= 2


def carried_by_slot(gear: Gear, solution: Solution, setting: Any) -> Any:
    """How far the valve is carried ahead where the slot's centre line stands ahead, mm per mm, shape (N,).

    Parameters
    ----------
    gear : Gear
        With a slot.
    solution : Solution
        Of its linkage round the wheel.
    setting : ReverserPosition
        Of one notch.
    """
    more, less = (
        solve_near(_shifted(gear, by).declare(setting), solution).along(VALVE_GUIDE) for by in (_SMALL, -_SMALL)
    )
    return (more - less) / (2 * _SMALL)


def _in_worn_slot(gear: Gear, setting: Any, condition: Condition, nodes: int) -> Solution:
    """The gear at so many positions, the die's path shifted by the wear at its own place along the drawn slot.

    The shift moves the die a little in turn; the gear is turned again with the shift at the places found until
    they stand still (they differ by the slope of the wear, so a few turns do).
    """
    assert gear.slot is not None
    solution = solve(gear.declare(setting), Wheel.revolution(nodes))
    place = gear.slot.die_place(solution)
    for _ in range(12):
        solution = solve_near(_shifted(gear, condition.slot_shift(place)).declare(setting), solution)
        last, place = place, gear.slot.die_place(solution)
        if np.max(np.abs(place - last)) < 1e-9:
            break
    return solution


def _shifted(gear: Gear, ahead: Any) -> Gear:
    """The gear with its slot's centre line moved ahead, place by place, about the same centre of curvature."""
    keys = {what: key for key, what in marked(gear, "slot").items()}
    given = numbers(gear)
    changes = {keys["offset"]: given[keys["offset"]] + ahead}
    if isinstance(gear.slot, CurvedSlot):
        inward = ahead if gear.slot.concave_forward else -ahead
        changes[keys["radius"]] = given[keys["radius"]] - inward
    return with_numbers(gear, changes)
