"""Walschaerts gears drawn by hypothesis: each dimension up to 8 % either way of a trial gear's.

Eight per cent on every length alone would draw heaps of parts that no shop would put together. So the
rods that join the crank side to the lever and the link are made to reach, as a drawing office would,
and vary about what then fits.
"""

from __future__ import annotations

import copy
import math
from typing import Any

from hypothesis import strategies as st

from tests.independent.drawing import read_drawing
from tests.independent.trial_gears import INSIDE_GEAR, LINK_AHEAD_GEAR, OUTSIDE_GEAR, Tables

BASES = {"outside": OUTSIDE_GEAR, "inside": INSIDE_GEAR, "link ahead": LINK_AHEAD_GEAR}
NOT_VARIED = ("central_at", "port_width")


def parts(most: float, steps: int = 80) -> st.SearchStrategy[float]:
    """A number from −most to most in equal steps."""
    return st.integers(-steps, steps).map(lambda step: most * step / steps)


@st.composite
def gears(draw: st.DrawFn) -> tuple[Tables, float]:
    """A gear and the reverser's place: arm angle, degrees, or place of the die, mm."""
    tables = copy.deepcopy(BASES[draw(st.sampled_from(sorted(BASES)))])
    if draw(st.booleans()):
        _other_admission(tables)
    suspension = draw(st.sampled_from(["lifting link", "sliding block", "ideal"]))
    if suspension == "lifting link" and draw(st.booleans()):
        _lift_pin_on_the_other_side(tables)
    _hang(tables, suspension)
    slopes = [draw(parts(3.0)), draw(parts(1.0)), draw(parts(30.0))]
    drawn = copy.deepcopy(tables)
    for keys in tables.values():
        for key, value in keys.items():
            if isinstance(value, float) and key not in NOT_VARIED:
                keys[key] = value * (1 + draw(parts(0.08)))
    tables["expansion_link"]["slot_offset"] += draw(parts(6.0))
    tables["combination_lever"]["offset"] += draw(parts(8.0))
    _incline(tables, *slopes)
    _reach(tables, drawn, [1 + draw(parts(0.02)) for _ in range(2)])
    notches = drawn["reversing"]["notches"].values()
    middle, reach = (max(notches) + min(notches)) / 2, (max(notches) - min(notches)) / 2
    return tables, middle + draw(parts(reach))


def _forth(tables: Tables) -> int:
    return 1 if tables["expansion_link"]["slot_concave_to"] == "valve" else -1


def _other_admission(tables: Tables) -> None:
    """Valve pin on the other side of the radius-rod pin."""
    lever, valve = tables["combination_lever"], tables["valve"]
    valve["guide_height"] -= 2 * lever["upper_arm"]
    lever["upper_arm"] *= -1
    valve["admission"] = {"outside": "inside", "inside": "outside"}[valve["admission"]]


def _lift_pin_on_the_other_side(tables: Tables) -> None:
    """Lift pin ahead of the link instead of on a tail, or the other way; the weighshaft goes with it."""
    tables["reversing"]["shaft_x"] -= 2 * _forth(tables) * tables["radius_rod"]["lift_pin"]
    tables["radius_rod"]["lift_pin"] *= -1


def _hang(tables: Tables, suspension: str) -> None:
    """Carry the radius rod in another way."""
    link, forth = tables["expansion_link"], _forth(tables)
    places = {"low": -120.0, "high": 120.0}
    match suspension:
        case "sliding block":  # the arm's shaft close to the trunnion, its end on the tail
            level = 180.0 if forth > 0 else 0.0
            tables["reversing"] |= {
                "shaft_x": link["trunnion_x"] - 15.0 * forth, "shaft_y": link["trunnion_y"] + 15.0, "arm": 270.0,
                "notches": {name: level + turn for name, turn in (("low", -28.0), ("high", 28.0))},
            }  # fmt: skip
        case "ideal":
            tables["reversing"]["notches"] = places
    tables["reversing"]["suspension"] = suspension


def _incline(tables: Tables, slope: float, more: float, height: float) -> None:
    """Incline and offset the cylinder line, and the guide with it; the lever's ends keep their heights."""
    cylinder, valve = tables["cylinder"], tables["valve"]
    ahead = tables["expansion_link"]["trunnion_x"] + _forth(tables) * tables["radius_rod"]["length"]
    before = cylinder["line_height"] + tables["connecting_rod"]["length"] * math.tan(
        math.radians(cylinder["inclination"])
    )
    guide = valve["guide_height"] + ahead * math.tan(math.radians(valve["guide_inclination"]))
    cylinder["inclination"] += slope
    cylinder["line_height"] += height
    valve["guide_inclination"] = cylinder["inclination"] + more
    now = cylinder["line_height"] + tables["connecting_rod"]["length"] * math.tan(math.radians(cylinder["inclination"]))
    tables["crosshead"]["arm_y"] += before - now
    valve["guide_height"] = guide - ahead * math.tan(math.radians(valve["guide_inclination"]))


def _reach(tables: Tables, drawn: Tables, about: list[float]) -> None:
    """Connecting rod and eccentric rod as long as the other dimensions ask for, times ``about``."""
    lever = [t["expansion_link"]["trunnion_x"] + _forth(t) * t["radius_rod"]["length"] for t in (drawn, tables)]
    union = [t["union_link"]["length"] - t["crosshead"]["arm_x"] for t in (drawn, tables)]
    rod = drawn["connecting_rod"]["length"] + (lever[1] - lever[0]) - (union[1] - union[0])
    tables["connecting_rod"]["length"] = rod * about[0]
    feet = [abs(d.trunnion + d.foot) for d in map(read_drawing, (drawn, tables))]
    tables["eccentric_rod"]["length"] = drawn["eccentric_rod"]["length"] * feet[1] / feet[0] * about[1]


def with_central(tables: Tables, central: float) -> Tables:
    """The tables with the valve central at a place."""
    changed: dict[str, Any] = {**tables, "valve": {**tables["valve"], "central_at": central}}
    return changed
