"""Trial gears with a Stephenson link, invented: sensible proportions, no part near a dead point. mm, degrees.

"Open" and "crossed" are judged here with the eccentrics toward the link, which for a valve reversed by a rocker
or with inside admission is at *front* dead centre: the lead of open rods then grows toward mid gear in them all.
"""

from __future__ import annotations

import copy

from .trial_gears import Tables

ENGINE: Tables = {
    "cylinder": {"crank_radius": 300.0, "line_height": 0.0, "inclination": 0.0},
    "connecting_rod": {"length": 1850.0},
}


def with_changes(gear: Tables, changes: Tables) -> Tables:
    """Copy of ``gear`` with single keys of its tables replaced, or new tables added."""
    new = copy.deepcopy(gear)
    for table, values in changes.items():
        new[table] = new.get(table, {}) | values
    return new


OPEN_BY_ROCKER = with_changes(
    ENGINE,
    {
        "valve": {
            "admission": "outside", "steam_lap": 22.0, "exhaust_lap": 1.0, "port_width": 32.0,
            "guide_height": 480.0, "guide_inclination": 0.0, "central_at": 1494.5,
            "rocker": {
                "pivot_x": 1480.0, "pivot_y": 240.0, "lower_arm": 240.0, "upper_arm": 250.0, "angle": 0.0,
            },
        },
        "eccentrics": {
            "forward_throw": 68.0, "forward_angle": -74.0, "backward_throw": 68.0, "backward_angle": 74.0,
        },
        "eccentric_rods": {"forward": 1400.0, "backward": 1400.0},
        "expansion_link": {
            "forward_pin_x": -76.0, "forward_pin_y": 152.0, "backward_pin_x": -76.0, "backward_pin_y": -152.0,
            "saddle_x": -6.0, "saddle_y": 0.0, "slot_radius": 1470.0, "slot_concave_to": "axle",
            "slot_top": 175.0, "slot_bottom": 175.0,
        },
        "reversing": {
            "suspension": "lifting link", "shaft_x": 1130.0, "shaft_y": 400.0, "arm": 370.0,
            "lifting_link": 402.0,
            "notches": {"full forward": -19.5, "half forward": -9.5, "mid": 0.0, "full backward": 20.0},
        },
    },
)  # fmt: skip

CROSSED_DIRECT = with_changes(
    OPEN_BY_ROCKER,
    {
        "valve": {"admission": "inside", "steam_lap": 17.0, "guide_height": 0.0, "central_at": 1466.2},
        "eccentrics": {"forward_angle": -68.0, "backward_angle": 68.0},
        "expansion_link": {"forward_pin_y": -152.0, "backward_pin_y": 152.0},
        "reversing": {"notches": {"full forward": 19.5, "half forward": 9.5, "mid": 0.0, "full backward": -19.5}},
    },
)
del CROSSED_DIRECT["valve"]["rocker"]

LAUNCH_LINK = with_changes(  # eccentric-rod pins on the slot's own circle, at its ends
    OPEN_BY_ROCKER,
    {
        "cylinder": {"crank_radius": 150.0},
        "connecting_rod": {"length": 720.0},
        "valve": {"steam_lap": 14.0, "guide_height": 0.0, "central_at": 899.1},
        "eccentrics": {
            "forward_throw": 42.0, "forward_angle": 107.0, "backward_throw": 42.0, "backward_angle": -107.0,
        },
        "eccentric_rods": {"forward": 900.0, "backward": 900.0},
        "expansion_link": {
            "forward_pin_x": -8.045958, "forward_pin_y": 120.0,
            "backward_pin_x": -8.045958, "backward_pin_y": -120.0,
            "saddle_x": 3.0, "saddle_y": 2.0, "slot_radius": 900.0, "slot_top": 115.0, "slot_bottom": 115.0,
        },
        "reversing": {
            "shaft_x": 1120.0, "shaft_y": 262.0, "arm": 220.0, "lifting_link": 260.0,
            "notches": {"full forward": 206.0, "half forward": 192.0, "mid": 180.0, "full backward": 152.0},
        },
    },
)  # fmt: skip
del LAUNCH_LINK["valve"]["rocker"]

HUNG_FROM_BELOW = with_changes(
    CROSSED_DIRECT,
    {
        "cylinder": {"line_height": 20.0},
        "valve": {
            "admission": "outside", "steam_lap_front": 21.0, "steam_lap_back": 22.0, "exhaust_lap": -1.0,
            "guide_height": 35.0, "central_at": 1458.0,
        },
        "eccentrics": {
            "forward_throw": 70.0, "forward_angle": 104.0, "backward_throw": 66.0, "backward_angle": -106.0,
        },
        "eccentric_rods": {"forward": 1392.0, "backward": 1395.0},
        "expansion_link": {
            "forward_pin_y": 150.0, "backward_pin_y": -155.0, "saddle_x": -20.0, "saddle_y": -40.0,
        },
        "reversing": {
            "shaft_x": 1790.0, "shaft_y": -370.0, "arm": 350.0, "lifting_link": 360.0,
            "notches": {"full forward": 200.0, "half forward": 190.0, "mid": 180.0, "full backward": 159.0},
        },
    },
)  # fmt: skip

BY_HANGER = with_changes(
    HUNG_FROM_BELOW,
    {
        "cylinder": {"line_height": -15.0, "inclination": 1.5},
        "valve": {
            "guide_height": 60.0, "guide_inclination": 1.0, "central_at": 2386.8, "spindle_rod": 930.0,
            "hanger": {"pivot_x": 1460.0, "pivot_y": 520.0, "length": 450.0},
        },
        "reversing": {
            "shaft_x": 1150.0, "shaft_y": 452.0, "arm": 300.0, "lifting_link": 425.0,
            "notches": {"full forward": -24.0, "half forward": -12.0, "mid": 0.0, "full backward": 25.0},
        },
    },
)  # fmt: skip

INCLINED = with_changes(  # cylinders and valve on a rising line; the link stands square to it
    OPEN_BY_ROCKER,
    {
        "cylinder": {"inclination": 6.0, "line_height": 12.0},
        "valve": {"guide_height": 5.0, "guide_inclination": 6.0, "central_at": 1465.5},
        "eccentrics": {"forward_angle": 106.0, "backward_angle": -106.0},
        "reversing": {
            "shaft_x": 1100.0,
            "shaft_y": 545.0,
            "arm": 365.0,
            "lifting_link": 395.0,
            "notches": {"full forward": -20.5, "half forward": -10.0, "mid": 0.0, "full backward": 20.5},
        },
    },
)
del INCLINED["valve"]["rocker"]

CROSSED_BY_ROCKER = with_changes(  # bent rocker, spindle rod, inside admission
    CROSSED_DIRECT,
    {
        "valve": {
            "steam_lap": 19.0, "guide_height": 405.0, "guide_inclination": 4.0, "central_at": 2160.5,
            "spindle_rod": 640.0,
            "rocker": {
                "pivot_x": 1478.0, "pivot_y": 262.0, "lower_arm": 262.0, "upper_arm": 240.0, "angle": 7.0,
            },
        },
        "eccentrics": {"forward_angle": 112.0, "backward_angle": -112.0},
    },
)  # fmt: skip

IDEAL = with_changes(
    OPEN_BY_ROCKER,
    {
        "reversing": {
            "suspension": "ideal",
            "notches": {"full forward": 125.0, "half forward": 60.0, "mid": 0.0, "full backward": -125.0},
        }
    },
)

STEPHENSON_GEARS: dict[str, Tables] = {
    "open rods, rocker": OPEN_BY_ROCKER,
    "crossed rods, direct": CROSSED_DIRECT,
    "launch link": LAUNCH_LINK,
    "hung from below": HUNG_FROM_BELOW,
    "hanger drive": BY_HANGER,
    "inclined": INCLINED,
    "crossed rods, rocker and spindle rod": CROSSED_BY_ROCKER,
    "ideal suspension": IDEAL,
}
