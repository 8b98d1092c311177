"""Trial gears with eccentrics, invented: Gooch, Allan, plain and slip eccentrics; and all with their kinds.

Millimetres, degrees.
"""

from __future__ import annotations

from .stephenson_trial_gears import ENGINE, STEPHENSON_GEARS, with_changes
from .trial_gears import Tables

GOOCH = with_changes(
    ENGINE,
    {
        "valve": {
            "admission": "outside", "steam_lap": 22.0, "exhaust_lap": 1.0, "port_width": 32.0,
            "guide_height": 0.0, "guide_inclination": 0.0, "central_at": 2190.2,
        },
        "eccentrics": {
            "forward_throw": 68.0, "forward_angle": 106.0, "backward_throw": 68.0, "backward_angle": -106.0,
        },
        "eccentric_rods": {"forward": 1200.0, "backward": 1200.0},
        "expansion_link": {
            "forward_pin_x": -4.0, "forward_pin_y": 170.0, "backward_pin_x": -4.0, "backward_pin_y": -170.0,
            "saddle_x": 0.0, "saddle_y": 0.0, "slot_radius": 1000.0, "slot_concave_to": "valve",
            "slot_top": 150.0, "slot_bottom": 150.0,
            "hanger_x": 1196.0, "hanger_y": 520.0, "hanger": 522.0,
        },
        "radius_rod": {"length": 1000.0, "lift_pin": 270.0, "lift_pin_rise": 10.0},
        "reversing": {
            "suspension": "lifting link", "shaft_x": 1120.0, "shaft_y": 400.0, "arm": 345.0,
            "lifting_link": 390.0,
            "notches": {"full forward": 15.5, "half forward": 8.0, "mid": 0.0, "full backward": -16.5},
        },
    },
)  # fmt: skip

GOOCH_SLIDING = with_changes(  # hung from below; rocker; the rod's tail slides in the arm's end
    GOOCH,
    {
        "valve": {
            "admission": "inside", "guide_height": 450.0, "central_at": 2190.9,
            "rocker": {
                "pivot_x": 2200.0, "pivot_y": 230.0, "lower_arm": 230.0, "upper_arm": 215.0, "angle": -5.0,
            },
        },
        "expansion_link": {"hanger_y": -500.0, "hanger": 505.0},
        "reversing": {
            "suspension": "sliding block", "shaft_x": 1185.0, "shaft_y": 10.0, "arm": 250.0,
            "notches": {"full forward": 152.0, "half forward": 166.0, "mid": 180.0, "full backward": 208.0},
        },
    },
)  # fmt: skip

GOOCH_LINK_AHEAD = with_changes(  # the radius rod runs back from the link toward the axle
    GOOCH,
    {
        "valve": {"central_at": 1196.0},
        "eccentric_rods": {"forward": 2200.0, "backward": 2200.0},
        "expansion_link": {"slot_concave_to": "axle", "hanger_x": 2196.0},
        "reversing": {"shaft_x": 1580.0},
    },
)

ALLAN = with_changes(
    GOOCH,
    {
        "expansion_link": {"saddle_x": 5.0},
        "radius_rod": {"length": 1000.0, "lift_pin": 300.0, "lift_pin_rise": 0.0},
        "reversing": {
            "suspension": "lifting link", "shaft_x": 1330.0, "shaft_y": 420.0, "arm": 135.0,
            "lifting_link": 420.0, "rod_arm": 170.0, "rod_arm_angle": 180.0, "rod_lifting_link": 420.0,
            "notches": {"full forward": 200.0, "half forward": 190.0, "mid": 180.0, "full backward": 159.0},
        },
    },
)  # fmt: skip
for _key in ("hanger_x", "hanger_y", "hanger", "slot_radius", "slot_concave_to"):
    del ALLAN["expansion_link"][_key]

PLAIN_DIRECT = with_changes(
    ENGINE,
    {
        "valve": {
            "admission": "outside", "steam_lap": 20.0, "exhaust_lap": 0.0, "port_width": 30.0,
            "guide_height": 40.0, "guide_inclination": 2.0, "central_at": 1297.0,
        },
        "eccentric": {"throw": 55.0, "angle": 114.0},
        "eccentric_rod": {"length": 1300.0},
    },
)  # fmt: skip

SLIP_BY_ROCKER = with_changes(
    PLAIN_DIRECT,
    {
        "valve": {
            "guide_height": 430.0, "guide_inclination": 0.0, "central_at": 1311.6,
            "rocker": {
                "pivot_x": 1300.0, "pivot_y": 230.0, "lower_arm": 220.0, "upper_arm": 205.0, "angle": 3.0,
            },
        },
        "eccentric": {"throw": 55.0, "angle": -66.0, "backward_angle": 66.0},
    },
)  # fmt: skip

KIND_OF: dict[str, str] = dict.fromkeys(STEPHENSON_GEARS, "stephenson") | {
    "Gooch": "gooch", "Gooch, sliding block, rocker": "gooch", "Gooch, link ahead": "gooch",
    "Allan": "allan",
    "plain eccentric": "eccentric", "slip eccentric, rocker": "eccentric",
}  # fmt: skip
TRIAL_GEARS: dict[str, Tables] = STEPHENSON_GEARS | {
    "Gooch": GOOCH, "Gooch, sliding block, rocker": GOOCH_SLIDING,
    "Gooch, link ahead": GOOCH_LINK_AHEAD, "Allan": ALLAN,
    "plain eccentric": PLAIN_DIRECT, "slip eccentric, rocker": SLIP_BY_ROCKER,
}  # fmt: skip


def settings_of(gear: str) -> dict[str, float]:
    """Notches of a trial gear: arm angles, die places when ideal, or the eccentric's angle at each stop."""
    tables = TRIAL_GEARS[gear]
    if KIND_OF[gear] != "eccentric":
        return dict(tables["reversing"]["notches"])
    stops = {"forward": "angle", "backward": "backward_angle"}
    return {stop: tables["eccentric"][key] for stop, key in stops.items() if key in tables["eccentric"]}
