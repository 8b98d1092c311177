"""What a condition does to a gear: changed dimensions, a shifted slot, a moved valve.

With nothing entered every function gives back what it was given.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, replace
from typing import Any

import numpy as np

from linkmotion.gears import Gear, Walschaerts
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.gears.sensitivity import Key, numbers, with_numbers
from linkmotion.gears.slots import CurvedSlot
from linkmotion.linkage import Harmonics, Solution, Wheel, solve
from linkmotion.linkage.many import MOST_NODES
from linkmotion.linkage.solve import NODES, solve_near
from linkmotion.revolution import Revolution, revolve
from linkmotion.wear.condition import Condition
from linkmotion.wear.lost_motion import joints_of

REMAINDER = 1e-5  # mm: what the series may leave between the positions turned, where a slot is worn
STEEL = 11.7e-6  # per kelvin: wrought iron 6.48e-6 per °F, Dooley, Applied Science for Metal Workers
_RODS: dict[str, Key] = {
    "lifting link": ("reversing", "lifting_link"),
    "rod lifting link": ("reversing", "rod_lifting_link"),
    "forward eccentric rod": ("eccentric_rods", "forward"),
    "backward eccentric rod": ("eccentric_rods", "backward"),
    "spindle rod": ("valve", "spindle_rod"),
    "suspension link": ("expansion_link", "hanger"),
}
_LINK_PINS: dict[str, tuple[tuple[str, int], tuple[str, int]]] = {  # keys for ahead and up, and their signs
    "foot": (("foot_backset", -1), ("foot_drop", -1)),
    **{f"{name} pin": ((f"{name}_pin_x", 1), (f"{name}_pin_y", 1)) for name in ("forward", "backward")},
    "saddle pin": (("saddle_x", 1), ("saddle_y", 1)),
}
_ANGLES: dict[str, Key] = {
    "return crank": ("return_crank", "angle"),
    "forward eccentric": ("eccentrics", "forward_angle"),
    "backward eccentric": ("eccentrics", "backward_angle"),
    "eccentric": ("eccentric", "angle"),
}


def rods_of(gear: Gear) -> dict[str, Key]:
    """Rods of a gear that can bow: name → the key of their length."""
    given = numbers(gear)
    own = {table.name.replace("_", " "): (table.name, "length") for table in fields(gear)}
    return {name: key for name, key in (own | _RODS).items() if key in given}


def link_pins_of(gear: Gear) -> list[str]:
    """Pins of the link that a bend in its plane can carry away."""
    given = numbers(gear)
    return [pin for pin, (ahead, _up) in _LINK_PINS.items() if ("expansion_link", ahead[0]) in given]


def angles_of(gear: Gear) -> dict[str, Key]:
    """Return crank or eccentrics of a gear that can slip."""
    return {name: key for name, key in _ANGLES.items() if hasattr(gear, key[0])}


def pins_of(gear: Gear) -> list[str]:
    """Pins of a gear that can have clearance."""
    notch = next(iter(gear.notches.values()))
    return list(joints_of(gear.declare(notch)))


def worn(gear: Gear, condition: Condition) -> Gear:
    """The gear with its dimensions as the condition has changed them (not heat, not the slot's faces)."""
    if isinstance(gear, Walschaerts) and (slip := sum(condition.angle_slip.values())):
        gear = _slipped(gear, slip)
    given = numbers(gear)
    if gear.cylinder.crank_radius is None and (condition.axle_height or condition.bow):
        gear = replace(gear, cylinder=replace(gear.cylinder, crank_radius=gear.crank.radius, stroke=None))
        given = numbers(gear)
    changes: dict[Key, Any] = {}
    for key, change in _changes(gear, condition, given):
        changes[key] = changes.get(key, given[key]) + change
    return with_numbers(gear, changes) if changes else gear


def _slipped(gear: Walschaerts, slip: float) -> Walschaerts:
    """The return crank turned on the main crank pin, degrees, + the way the wheel turns running forward.

    It keeps its length: its pin goes round the crank pin, so both its radius about the axle and its angle change
    (an eccentric goes round the axle, and its angle alone changes).
    """
    main = gear.crank.radius
    radius, angle = gear.return_crank.polar(main)
    pin = main + (radius * np.exp(-1j * angle) - main) * np.exp(-1j * np.radians(slip))
    by_polar = {"pin_radius": np.abs(pin), "angle": -np.degrees(np.angle(pin)), "length": None, "sense": None}
    return replace(gear, return_crank=replace(gear.return_crank, **by_polar))


def _changes(gear: Gear, condition: Condition, given: dict[Key, float]) -> Iterator[tuple[Key, float]]:
    for rod, bow in condition.bow.items():
        key = rods_of(gear)[rod]
        yield key, -8 * bow**2 / (3 * given[key])  # a shallow parabola: the arc is longer than its chord by 8 b²/3 L
    for pin, moved in condition.bent.items():
        for (own, sign), distance in zip(_LINK_PINS[pin], moved, strict=True):
            yield ("expansion_link", own), sign * distance
    for name, slip in ({} if isinstance(gear, Walschaerts) else condition.angle_slip).items():
        yield angles_of(gear)[name], slip
        if name == "eccentric" and ("eccentric", "backward_angle") in given:
            yield ("eccentric", "backward_angle"), slip  # both stops are on the one eccentric
    if condition.axle_height:
        for where, coordinate in _on_frame(gear):
            if coordinate != "x":  # seen from the axle the frame has gone down
                fall = np.cos(np.radians(gear.cylinder.inclination)) if coordinate == "line" else 1.0
                yield where, -condition.axle_height * fall


def _on_frame(gear: Gear) -> Iterator[tuple[Key, str]]:
    """Keys that place something on the frame, with the coordinate they give."""
    for key in numbers(gear):
        table: Any = type(getattr(gear, key[0]))
        *inner, name = key[1].split(".")
        for step in inner:
            table = next(f for f in fields(table) if f.name == step).metadata["table"]
        coordinate = next(f for f in fields(table) if f.name == name).metadata.get("frame", "")
        if coordinate:
            yield key, coordinate


def warm(gear: Gear, condition: Condition) -> Gear:
    """The gear with rods and frame grown by heat."""
    if not condition.heat:
        return gear
    if gear.cylinder.crank_radius is None and any(condition.heat.values()):
        gear = replace(gear, cylinder=replace(gear.cylinder, crank_radius=gear.crank.radius, stroke=None))
    given = numbers(gear)
    rods, frame = (1 + STEEL * condition.heat.get(part, 0.0) for part in ("rods", "frame"))
    grown = {key: given[key] * rods for key in rods_of(gear).values()}
    grown |= {key: given[key] * frame for key, _coordinate in _on_frame(gear)}
    return with_numbers(gear, grown)


def central_when_warm(central_at: float, condition: Condition) -> float:
    """Place of the spindle pin with the valve central once spindle and frame are warm, mm.

    The spindle carries the valve ahead by its growth; the frame carries the ports ahead by its own.
    """
    spindle, frame = (STEEL * condition.heat.get(part, 0.0) for part in ("spindle", "frame"))
    reach = central_at + condition.spindle_length
    return central_at + frame * reach - spindle * condition.spindle_length


def turned(gear: Gear, setting: Any, condition: Condition) -> Revolution:
    """Turn a gear whose slot is worn: the die pin's path stands off the drawn slot by what is entered.

    A smooth curve through the readings still has a kink in its bend at each, whose harmonics fall as the third
    power, so that those beyond the K-th come to about K times the last: crank positions are doubled until that
    is within ``REMAINDER`` (or ``MOST_NODES`` are reached).
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
    link: Any = gear.expansion_link  # type: ignore[attr-defined]
    changes = {("expansion_link", "slot_offset"): link.slot_offset + ahead}
    if isinstance(gear.slot, CurvedSlot):
        inward = ahead if gear.slot.concave_forward else -ahead
        changes["expansion_link", "slot_radius"] = link.slot_radius - inward
    return with_numbers(gear, changes)
