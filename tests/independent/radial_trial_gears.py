"""Trial gears of Hackworth's, Marshall's and Joy's kinds, invented. Millimetres, degrees."""

from __future__ import annotations

from .stephenson_trial_gears import with_changes
from .trial_gears import Tables

ENGINE: Tables = {
    "cylinder": {"crank_radius": 200.0, "line_height": 0.0, "inclination": 0.0},
    "connecting_rod": {"length": 1300.0},
    "valve": {
        "admission": "outside", "steam_lap": 22.0, "exhaust_lap": 1.0, "port_width": 30.0,
        "guide_inclination": 0.0, "guide_height": 590.0, "central_at": 800.0,
    },
    "valve_rod": {"length": 800.0},
}  # fmt: skip

BEYOND = with_changes(
    ENGINE,
    {
        "valve": {"central_at": 811.5},
        "eccentric": {"throw": 62.0, "angle": 0.0},
        "eccentric_rod": {"length": 420.0, "valve_pin": 590.0, "valve_pin_offset": 6.0},
        "slide": {"offset": 2.0, "top": 110.0, "bottom": 110.0},
        "reversing": {
            "shaft_x": 3.0, "shaft_y": 414.0,
            "notches": {"full forward": -24.0, "mid": 0.0, "full backward": 25.0},
        },
    },
)  # fmt: skip

BETWEEN = with_changes(  # opposite the crank; an inclined cylinder off the axle; a curved slide
    ENGINE,
    {
        "cylinder": {"line_height": 12.0, "inclination": 4.0},
        "valve": {"guide_height": 235.0, "guide_inclination": 4.0, "central_at": 781.0},
        "eccentric": {"throw": 62.0, "angle": 178.0},
        "eccentric_rod": {"length": 420.0, "valve_pin": 250.0, "valve_pin_offset": 0.0},
        "slide": {"radius": 1500.0, "concave_to": "axle", "offset": 0.0, "lean": 1.5, "top": 110.0, "bottom": 110.0},
        "reversing": {
            "shaft_x": -30.0, "shaft_y": 414.0,
            "notches": {"full forward": 43.0, "mid": 4.0, "full backward": -35.0},
        },
    },
)  # fmt: skip

MARSHALL = with_changes(  # the rod hangs below the axle, the arm points back; a rocker turns the movement over
    ENGINE,
    {
        "valve": {
            "admission": "outside", "guide_height": -150.0, "central_at": 1391.0, "spindle_rod": 600.0,
            "rocker": {"pivot_x": 790.0, "pivot_y": -370.0, "lower_arm": 240.0, "upper_arm": 220.0, "angle": 4.0},
        },
        "eccentric": {"throw": 60.0, "angle": 180.0},
        "eccentric_rod": {"length": 440.0, "valve_pin": 610.0, "valve_pin_offset": 8.0},
        "swinging_link": {"length": 640.0},
        "reversing": {
            "shaft_x": 0.0, "shaft_y": -436.0, "arm": 640.0,
            "notches": {"full forward": 156.0, "mid": 180.0, "full backward": 203.0},
        },
    },
)  # fmt: skip

SHORT_OF_THE_LINK = with_changes(  # Marshall's, the valve rod's pin between the eccentric and the swinging link
    BETWEEN,
    {
        "swinging_link": {"length": 720.0},
        "reversing": {"arm": 716.0, "notches": {"full forward": 30.0, "mid": 3.0, "full backward": -26.0}},
    },
)
del SHORT_OF_THE_LINK["slide"]

JOY = with_changes(
    ENGINE,
    {
        "cylinder": {"crank_radius": 280.0, "line_height": 15.0, "inclination": 3.0},
        "connecting_rod": {"length": 1700.0, "pin": 690.0, "pin_rise": 20.0},
        "valve": {"admission": "inside", "guide_height": 180.0, "guide_inclination": 3.0, "central_at": 1857.0},
        "correcting_link": {"length": 520.0, "lever_pin": 210.0, "lever_pin_offset": 5.0},
        "anchor": {"pivot_x": 1610.0, "pivot_y": -430.0, "length": 600.0},
        "valve_lever": {"lower_arm": 470.0, "upper_arm": -85.0, "offset": 4.0},
        "valve_rod": {"length": 840.0},
        "slide": {"radius": 800.0, "concave_to": "valve", "offset": 0.0, "top": 145.0, "bottom": 145.0},
        "swinging_link": {},
        "reversing": {
            "shaft_x": 1010.0, "shaft_y": 345.0,
            "notches": {"full forward": -20.0, "mid": 3.0, "full backward": 26.0},
        },
    },
)  # fmt: skip

JOY_SWINGING = with_changes(  # an upright guide for the foot, a swinging link instead of the slide
    JOY,
    {
        "cylinder": {"line_height": 0.0, "inclination": 0.0},
        "valve": {"admission": "outside", "guide_height": 365.0, "guide_inclination": 0.0, "central_at": 1852.0},
        "connecting_rod": {"pin_rise": 0.0},
        "valve_lever": {"upper_arm": 78.0},
        "swinging_link": {"length": 800.0},
        "reversing": {"shaft_y": 263.0, "arm": 798.0},
    },
)
JOY_SWINGING["anchor"] = {"guide": {"point_x": 1012.0, "point_y": -20.0, "lean": 1.5}}
JOY_SWINGING["slide"] = {}

TRIAL_GEARS: dict[str, Tables] = {
    "beyond the die": BEYOND,
    "short of the die": BETWEEN,
    "hanging, rocker": MARSHALL,
    "short of the link": SHORT_OF_THE_LINK,
    "inside admission": JOY,
    "swinging link, guide": JOY_SWINGING,
}
KIND_OF = dict(zip(TRIAL_GEARS, ("hackworth", "hackworth", "marshall", "marshall", "joy", "joy"), strict=True))
