"""The return crank's angle from where it moves the foot of the link: two ways to take it from lengths."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from linkmotion.gears.keys import ByReadings
from linkmotion.measuring.by_foot import angle_by_movement, angle_by_places, foot_direction

_MOST_STEPS = 60
_NEAR = 1e-12  # degrees


def _by_movement(gear: Any, read: Mapping[str, Any], leads: bool) -> Any:
    """By the length between the pins and the whole movement of the foot."""
    return angle_by_movement(
        read["foot_movement"], gear.crank.radius, gear.return_crank.length, gear.eccentric_rod.length,
        *_link(gear), leads,
    )  # fmt: skip


def _by_places(gear: Any, read: Mapping[str, Any], leads: bool) -> Any:
    """By the foot's places on the dead centres, ahead of any mark; the circle is given, or follows from the length."""
    crank, own = gear.crank, gear.return_crank
    # an offset cylinder line: the dead centres are not in line with one another
    bend = (crank.back_crank_angle - np.pi) / 2
    difference = (read["foot_at_front"] - read["foot_at_back"]) / np.cos(bend)
    trunnion, foot_arm = _link(gear)
    rod, below = gear.eccentric_rod.length, bool(np.real(gear.expansion_link.foot_drop) > 0)

    def angle(circle: Any) -> Any:
        reach = np.sqrt(rod**2 - circle**2)
        rise = foot_direction(trunnion, foot_arm, reach, below) - crank.front_direction + bend
        return angle_by_places(difference, circle, rise, leads)

    if own.pin_radius is not None:
        return angle(own.pin_radius)
    found = angle(np.sqrt(own.length**2 - crank.radius**2))
    for _ in range(_MOST_STEPS):
        across, along = crank.radius * np.sin(np.radians(1.0) * found), crank.radius * np.cos(np.radians(1.0) * found)
        last, found = found, angle(along + np.sqrt(own.length**2 - across**2))
        if abs(found - last) < _NEAR and abs(np.imag(found - last)) <= _NEAR * abs(np.imag(found)):
            break
    return found


def _link(gear: Any) -> tuple[tuple[Any, Any], Any]:
    """The trunnion's place, and the foot's distance from it."""
    link = gear.expansion_link
    return (link.trunnion_x, link.trunnion_y), np.sqrt(link.foot_drop**2 + link.foot_backset**2)


BY_FOOT = (
    ByReadings(("foot_movement",), ("length",), _by_movement),
    ByReadings(("foot_at_front", "foot_at_back"), ("pin_radius", "length"), _by_places),
)
