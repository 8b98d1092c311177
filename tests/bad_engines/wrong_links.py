"""Files of link motions and plain eccentrics whose figures do not make a gear; and links that cannot turn."""

from __future__ import annotations

from tests.bad_engines.changed import EXAMPLES, METRE, changed
from tests.bad_engines.wrong import Wrong

GOODS, TANK, SADDLE, DONKEY = (
    (EXAMPLES / f"{name}.toml").read_text(encoding="utf-8")
    for name in ("stephenson_goods", "gooch_tank", "allan_saddle_tank", "donkey_eccentric")
)


def wrong(text: str, table: str, key: str, value: str | None, *words: str, at: str = "", told: str = "") -> Wrong:
    """A figure altered (or left out), told at its own line, or at ``at`` as ``told``."""
    line = at or (f"{key} = {value}" if value is not None else f"[{table}]")
    return Wrong(f"{table}.{key} = {value}", changed(table, key, value, text), line, told or f"{table}.{key}", words)


LINKS = [
    wrong(GOODS, "expansion_link", "slot_concave_to", '"valve"', 'is slot_concave_to = "axle" meant?'),
    wrong(TANK, "expansion_link", "slot_concave_to", '"axle"', 'is slot_concave_to = "valve" meant?'),
    wrong(METRE, "expansion_link", "slot_concave_to", '"axle"', 'is slot_concave_to = "valve" meant?'),
    wrong(METRE, "valve", "steam_lap", "76000", "crank's own radius", "unit"),
    wrong(METRE, "valve", "exhaust_lap", "-3000", "crank's own radius", "unit"),
    wrong(METRE, "radius_rod", "length", '"41 99/3 in"', "is 99/3 right?"),
    wrong(GOODS, "eccentric_rods", "forward", None, "missing"),
    wrong(GOODS, "eccentric_rods", "backward", '"-3 ft"', "negative"),
    wrong(GOODS, "eccentrics", "forward_angle", "4000", "-360 to 360"),
    wrong(GOODS, "eccentrics", "backward_throw", "nan", "not a finite length"),
    wrong(GOODS, "expansion_link", "backward_pin_y", '"6"', "at one place", "negative"),
    wrong(GOODS, "expansion_link", "slot_radius", '"5 in"', "reaches further", "unit", at='slot_radius = "5 in"'),
    wrong(GOODS, "valve.rocker", "lower_arm", "0", "lower_arm is nothing", at="[valve.rocker]", told="valve.rocker"),
    wrong(GOODS, "valve.rocker", "pivot_y", None, "missing", at="[valve.rocker]"),
    wrong(GOODS, "valve.rocker", "pivotx", "3", "did you mean 'pivot_x'"),
    wrong(GOODS, "reversing", "suspension", '"sliding block"', "'lifting link' or 'ideal'"),
    wrong(
        GOODS,
        "reversing.notches",
        "full forward",
        "170",
        "too short to meet",
        " in at crank",
        at="= 170",
        told="reversing.notches",
    ),
    wrong(TANK, "valve", "spindle_rod", None, "the hanger needs its rod", at="[valve]"),
    wrong(TANK, "reversing", "lifting_link", None, "suspension 'lifting link' needs it", at="[reversing]"),
    wrong(TANK, "radius_rod", "lift_pin", None, "its pin on the rod", at="[radius_rod]"),
    wrong(TANK, "expansion_link", "hanger", "-400", "negative"),
    wrong(SADDLE, "reversing", "rod_arm", None, "missing", at="[reversing]"),
    wrong(SADDLE, "valve", "spindle_rod", "300", "nothing drives the spindle rod"),
    wrong(SADDLE, "reversing", "rod_arm_angle", '"274 deg"', "plain number of degrees"),
    wrong(DONKEY, "eccentric", "throw", '"30 in"', "too short to meet", at="[eccentric_rod]", told="eccentric_rod"),
    wrong(DONKEY, "valve", "set_in", '{ notch = "fixed" }', "the notches are forward, backward"),
    Wrong(
        "foot at the trunnion",
        changed("expansion_link", "foot_drop", "0", changed("expansion_link", "foot_backset", "0")),
        "foot_drop = 0",
        "expansion_link.foot_drop",
        ("stands at the trunnion",),
    ),
]
