"""Trial gears, invented: sensible proportions, no part near a dead point. Millimetres and degrees."""

from __future__ import annotations

import copy
from typing import Any

Tables = dict[str, dict[str, Any]]

OUTSIDE_GEAR: Tables = {
    "cylinder": {"crank_radius": 280.0, "line_height": 0.0, "inclination": 0.0},
    "connecting_rod": {"length": 1700.0},
    "crosshead": {"arm_x": -20.0, "arm_y": -255.0},
    "valve": {
        "admission": "outside", "steam_lap": 23.0, "exhaust_lap": 1.5, "port_width": 32.0,
        "guide_height": 596.0, "guide_inclination": 0.0, "central_at": 1999.2,
    },
    "return_crank": {"pin_radius": 160.0, "angle": 83.5},
    "eccentric_rod": {"length": 1044.0},
    "expansion_link": {
        "trunnion_x": 1050.0, "trunnion_y": 520.0, "foot_drop": 400.0, "foot_backset": 24.0,
        "slot_radius": 950.0, "slot_offset": 0.0, "slot_concave_to": "valve",
        "slot_top": 150.0, "slot_bottom": -150.0,
    },
    "radius_rod": {"length": 950.0, "lift_pin": 260.0, "lift_pin_rise": 15.0},
    "combination_lever": {"lower_arm": 800.0, "upper_arm": 77.0, "offset": 0.0},
    "union_link": {"length": 320.0},
    "reversing": {
        "suspension": "lifting link", "shaft_x": 962.0, "shaft_y": 837.0, "arm": 350.0,
        "lifting_link": 300.0,
        "notches": {"full forward": -13.2, "half forward": -6.5, "mid": 0.0, "full backward": 11.6},
    },
}  # fmt: skip

INSIDE_GEAR: Tables = {
    "cylinder": {"crank_radius": 330.0, "line_height": 28.0, "inclination": 2.5},
    "connecting_rod": {"length": 1980.0},
    "crosshead": {"arm_x": -35.0, "arm_y": -370.0},
    "valve": {
        "admission": "inside", "steam_lap_front": 27.0, "steam_lap_back": 26.0, "exhaust_lap": -1.0,
        "port_width": 40.0, "guide_height": 420.0, "guide_inclination": 2.5, "central_at": 2369.8,
    },
    "return_crank": {"pin_radius": 172.0, "angle": -94.0},
    "eccentric_rod": {"length": 1251.0},
    "expansion_link": {
        "trunnion_x": 1260.0, "trunnion_y": 585.0, "foot_drop": 430.0, "foot_backset": 30.0,
        "slot_radius": 1100.0, "slot_offset": 4.0, "slot_concave_to": "valve",
        "slot_top": 160.0, "slot_bottom": -160.0,
    },
    "radius_rod": {"length": 1105.0, "lift_pin": -310.0, "lift_pin_rise": -12.0},
    "combination_lever": {"lower_arm": 860.0, "upper_arm": -79.0, "offset": 6.0},
    "union_link": {"length": 360.0},
    "reversing": {
        "suspension": "lifting link", "shaft_x": 1320.0, "shaft_y": 900.0, "arm": 380.0,
        "lifting_link": 330.0,
        "notches": {"full forward": 201.5, "half forward": 190.5, "mid": 180.0, "full backward": 159.0},
    },
}  # fmt: skip

LINK_AHEAD_GEAR: Tables = copy.deepcopy(OUTSIDE_GEAR)  # the rod runs back from the link to the lever
LINK_AHEAD_GEAR["expansion_link"] |= {"trunnion_x": 2950.0, "slot_concave_to": "axle", "slot_offset": 3.0}
LINK_AHEAD_GEAR["return_crank"]["angle"] = 87.5
LINK_AHEAD_GEAR["eccentric_rod"]["length"] = 2933.0
LINK_AHEAD_GEAR["reversing"] |= {"shaft_x": 2340.0}
LINK_AHEAD_GEAR["valve"] |= {"central_at": 2004.0}


def with_changes(gear: Tables, changes: Tables) -> Tables:
    """Copy of ``gear`` with single keys of its tables replaced."""
    new = copy.deepcopy(gear)
    for table, values in changes.items():
        new[table] |= values
    return new


SLIDING_GEAR = with_changes(  # the rod's tail slides in the end of an arm hung close to the trunnion
    OUTSIDE_GEAR,
    {
        "reversing": {
            "suspension": "sliding block", "shaft_x": 1035.0, "shaft_y": 535.0, "arm": 270.0,
            "notches": {"full forward": 210.0, "half forward": 195.0, "mid": 180.0, "full backward": 150.0},
        }
    },
)  # fmt: skip

IDEAL_GEAR = with_changes(
    INSIDE_GEAR,
    {
        "reversing": {
            "suspension": "ideal",
            "notches": {"full forward": -110.0, "half forward": -55.0, "mid": 0.0, "full backward": 110.0},
        }
    },
)

TRIAL_GEARS: dict[str, Tables] = {
    "outside, lifting link": OUTSIDE_GEAR,
    "inside, lifting link on a tail": INSIDE_GEAR,
    "link ahead of the lever": LINK_AHEAD_GEAR,
    "sliding block": SLIDING_GEAR,
    "ideal suspension": IDEAL_GEAR,
}
