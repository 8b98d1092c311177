"""A Stephenson gear completed about the few dimensions known of one in a book, inches.

Read: a rocker; connecting rod of 5 cranks; link pins 2 7/8 behind the arc and 14 apart; saddle pin 5/32 behind the
arc; lead in mid gear about 1/2; cutoffs of the two ends equal in full gear and at half stroke. The rest was not read.
It is ours, and found so that the lead and the equal cutoffs come out: what the book says of shorter cutoffs is then
to be seen.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np

from linkmotion.events import both_ends
from linkmotion.gears import DieHeight
from linkmotion.revolution import revolve
from linkmotion.valve import Ports
from tests.gears_at_hand import gear_from
from tests.independent.trial_gears import Tables

Numbers = dict[str, float]
Routes = dict[str, float]
RODS, FULL = 53.0, 6.0
DIES = (
    2.368,
    2.05,
    1.748,
    1.45,
    1.15,
    0.831,
)  # from mid link: cutoff half of the stroke, and by twentieths to a quarter


def tables(n: Numbers) -> Tables:
    """The gear; what was read comes from the row of data."""
    behind, half = -n["pins_behind"], n["pins_apart"] / 2
    return {
        "cylinder": {"crank_radius": n["crank"], "line_height": 2.25, "inclination": 0.0},
        "connecting_rod": {"length": n["crank"] * n["rod_in_cranks"]},
        "valve": {
            "admission": "outside", "steam_lap": 0.75, "exhaust_lap": 0.0, "port_width": 1.25,
            "guide_height": 27.5, "guide_inclination": 0.0,
            "rocker": {
                "pivot_x": RODS - behind, "pivot_y": 17.0, "lower_arm": 10.5, "upper_arm": 10.5, "angle": 0.0,
            },
        },
        "eccentrics": {
            "forward_throw": 2.75, "forward_angle": -70.75, "backward_throw": 2.75, "backward_angle": 72.25,
        },
        "eccentric_rods": {"forward": RODS, "backward": RODS},
        "expansion_link": {
            "forward_pin_x": behind, "forward_pin_y": half, "backward_pin_x": behind, "backward_pin_y": -half,
            "saddle_x": -n["saddle_behind"], "saddle_y": 0.0,
            "slot_radius": RODS - behind, "slot_concave_to": "axle", "slot_top": 7.0, "slot_bottom": 7.0,
        },
        "reversing": {
            "suspension": "lifting link", "shaft_x": 38.125, "shaft_y": 18.25, "arm": 24.25, "lifting_link": 25.0,
            "notches": {},
        },
    }  # fmt: skip


@cache
def _found(data: tuple[tuple[str, float], ...]) -> dict[float, tuple[float, ...]]:
    """Cutoffs in percent and leads, front and back, by the die's place; leads made equal in full gear."""
    gear = gear_from(tables(dict(data)), "stephenson")
    turns = {die: revolve(gear, gear.setting(DieHeight(die))) for die in (FULL, *DIES, 0.0)}
    central = (turns[FULL].spindle(0.0)[0] + turns[FULL].spindle(gear.crank.back_crank_angle)[0]) / 2
    found = {}
    for die, turn in turns.items():
        ends = both_ends(turn.displacement(central), Ports.of(gear.valve), gear.crank, "forward")
        cutoffs = [float(ends[end].percent["cutoff"][0]) for end in ("front", "back")]
        found[die] = (*cutoffs, *(float(ends[end].lead[0]) for end in ("front", "back")))
    return found


def unequal_by(n: Numbers) -> dict[float, float]:
    """Front cutoff less back, percent of stroke, by the die's place."""
    return {die: front - back for die, (front, back, *_) in _found(tuple(n.items())).items()}


def equalised(n: Numbers) -> Routes:
    """Difference of the cutoffs where the book says there is none."""
    found = unequal_by(n)
    return {"full gear": found[FULL], "half stroke": found[DIES[0]]}


def lead_in_mid_gear(n: Numbers) -> Routes:
    """Lead in mid gear, in."""
    return dict(zip(("front", "back"), _found(tuple(n.items()))[0.0][2:], strict=True))


def inequality_grows(n: Numbers) -> Routes:
    """Share of the steps from half stroke to a quarter, of twentieths and tenths, over which the difference grows."""
    found = np.abs([unequal_by(n)[die] for die in DIES])
    return {f"steps of {5 * by} percent": float(np.mean(np.diff(found[::by]) > 0)) for by in (1, 2)}


VALUES: dict[str, Callable[[Numbers], Routes]] = {
    "peabody's equal cutoffs": equalised,
    "peabody's lead in mid gear": lead_in_mid_gear,
    "peabody's growing inequality": inequality_grows,
}
