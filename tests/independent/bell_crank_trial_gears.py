"""Trial gears of Baker's and the Southern kind, invented. Millimetres, degrees; a Southern notch is a place, mm."""

from __future__ import annotations

from .stephenson_trial_gears import with_changes
from .trial_gears import Tables

ENGINE: Tables = {
    "cylinder": {"crank_radius": 330.0, "line_height": 0.0, "inclination": 0.0},
    "connecting_rod": {"length": 2700.0},
    "valve": {
        "admission": "inside", "steam_lap": 26.0, "exhaust_lap": 0.5, "port_width": 45.0,
        "guide_inclination": 0.0, "guide_height": 520.0, "central_at": 3216.0,
    },
    "return_crank": {"pin_radius": 150.0, "angle": -93.0},
    "bell_crank": {"shaft_x": 1510.0, "shaft_y": 890.0, "driven_arm": 240.0, "valve_arm": 300.0, "angle": 7.0},
    "valve_rod": {"length": 1710.0},
}  # fmt: skip

BAKER = with_changes(  # an inclined cylinder off the axle; yoke and radius bars not quite alike
    ENGINE,
    {
        "cylinder": {"line_height": 14.0, "inclination": 1.5},
        "crosshead": {"arm_x": 6.0, "arm_y": -275.0},
        "valve": {"guide_height": 450.0, "guide_inclination": 1.5, "central_at": 3240.0},
        "eccentric_rod": {"length": 1762.0},
        "gear_connecting_rod": {"length": 790.0, "bar_pin": 400.0, "bar_pin_offset": 4.0},
        "radius_bars": {"length": 580.0},
        "combination_lever": {"lower_arm": 800.0, "upper_arm": -78.0, "offset": -6.0},
        "union_link": {"length": 520.0},
        "reversing": {
            "shaft_x": 1750.0, "shaft_y": 500.0, "arm": 578.0,
            "notches": {"full forward": 124.0, "mid": 91.0, "full backward": 58.0},
        },
    },
)  # fmt: skip

BAKER_ROCKED = with_changes(  # outside admission; a rocker and a rod from the top of the lever work an inside valve
    BAKER,
    {
        "cylinder": {"line_height": 0.0, "inclination": 0.0},
        "return_crank": {"angle": -92.0},
        "valve": {
            "admission": "outside", "guide_height": 430.0, "guide_inclination": 0.0, "central_at": 3790.0,
            "spindle_rod": 560.0,
            "rocker": {"pivot_x": 3222.0, "pivot_y": 270.0, "lower_arm": -250.0, "upper_arm": 160.0, "angle": 3.0},
        },
    },
)  # fmt: skip

SOUTHERN = with_changes(
    ENGINE,
    {
        "cylinder": {"line_height": -10.0, "inclination": -1.0},
        "valve": {"guide_height": 330.0, "guide_inclination": -1.0, "central_at": 2842.0},
        "return_crank": {"pin_radius": 130.0, "angle": 88.0},
        "eccentric_rod": {"length": 1507.0, "yoke_pin": 1785.0, "yoke_pin_rise": 12.0},
        "radius_hanger": {"length": 642.0},
        "stationary_link": {
            "middle_x": 1500.0, "middle_y": 700.0, "slot_radius": 638.0, "slot_offset": 1.5,
            "slot_top": 260.0, "slot_bottom": 260.0, "lean": 0.8,
        },
        "yoke": {"length": 480.0},
        "bell_crank": {"shaft_x": 1570.0, "shaft_y": 560.0, "driven_arm": 215.0, "valve_arm": 250.0, "angle": 0.0},
        "valve_rod": {"length": 1270.0},
        "reversing": {"notches": {"full forward": 190.0, "mid": 4.0, "full backward": -186.0}},
    },
)  # fmt: skip

TRIAL_GEARS: dict[str, Tables] = {
    "yoke and bars": BAKER,
    "yoke and bars, rocker": BAKER_ROCKED,
    "stationary link": SOUTHERN,
}
KIND_OF = dict(zip(TRIAL_GEARS, ("baker", "baker", "southern"), strict=True))
