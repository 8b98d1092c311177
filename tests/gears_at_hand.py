"""The gears over which the laws are looped: the examples' and the trial gears, every notch as a setting.

A further kind of gear is added by its trial gears in ``TRIAL`` and its line in ``TURNED_OVER``.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cache
from pathlib import Path
from typing import Any, get_type_hints

import numpy as np

from linkmotion.engine import DRAWING, Engine
from linkmotion.files.engine_file import read_engine
from linkmotion.gears import GEARS, Arm, DieHeight, DieHeld, Gear, ReverserPosition, Southern
from linkmotion.gears.reverser import figure, stacked
from linkmotion.gears.sensitivity import numbers, with_numbers
from tests.independent.bell_crank_trial_gears import KIND_OF as BELL_CRANK_KIND
from tests.independent.bell_crank_trial_gears import TRIAL_GEARS as BELL_CRANK_GEARS
from tests.independent.drawing import crank_radius
from tests.independent.eccentric_trial_gears import KIND_OF
from tests.independent.eccentric_trial_gears import TRIAL_GEARS as ECCENTRIC_GEARS
from tests.independent.radial_trial_gears import KIND_OF as RADIAL_KIND
from tests.independent.radial_trial_gears import TRIAL_GEARS as RADIAL_GEARS
from tests.independent.trial_gears import TRIAL_GEARS, Tables

EXAMPLES = tuple(sorted((Path(__file__).parents[1] / "examples").glob("*.toml")))
Key = tuple[str, str]

# Dimensions that change sign when a gear is turned over, y to −y. The combination lever is written with its
# union pin below, so turned over its arms are negative; its offset, ahead, stays. So are a rocker's arms.
_ENGINE = {
    ("cylinder", "line_height"),
    ("cylinder", "inclination"),
    ("valve", "guide_height"),
    ("valve", "guide_inclination"),
}
_DRIVE = {("valve", f"rocker.{key}") for key in ("pivot_y", "lower_arm", "upper_arm", "angle")} | {
    ("valve", "hanger.pivot_y")
}
_LINK = {
    *_ENGINE, *_DRIVE, ("eccentrics", "forward_angle"), ("eccentrics", "backward_angle"), ("reversing", "shaft_y"),
    *(("expansion_link", f"{pin}_y") for pin in ("forward_pin", "backward_pin", "saddle")),
}  # fmt: skip
_ROD = {("radius_rod", "lift_pin_rise"), ("reversing", "shaft_y")}
_RADIAL = {*_ENGINE, *_DRIVE, ("reversing", "shaft_y")}
_BELL = {("bell_crank", "shaft_y"), ("bell_crank", "valve_arm"), ("bell_crank", "angle")}
_SIDE = {
    "engine": ("crank_angle", "line_height", "inclination", "arm_y", "guide_height", "spindle_across"),
    "return_crank": ("angle",), "expansion_link": ("trunnion_y", "foot_drop"), "radius_rod": ("lift_pin_rise",),
    "combination_lever": ("lower_arm", "upper_arm"),
}  # fmt: skip
_BOTH_SIDES = {(f"{side}_{table}", key) for side in ("left", "right") for table, keys in _SIDE.items() for key in keys}
_ROCKED = _ENGINE | _DRIVE | _ROD | {
    ("crosshead", "arm_y"), ("expansion_link", "trunnion_y"), ("expansion_link", "foot_drop"),
    ("combination_lever", "lower_arm"), ("combination_lever", "upper_arm"),
}  # fmt: skip
TURNED_OVER: dict[str, set[Key]] = {
    "walschaerts": _ROCKED | {("return_crank", "angle")},
    "eccentric walschaerts": _ROCKED | {("eccentric", "angle")},
    "crosshead driven": _ROCKED | {("other_side", key) for key in ("crank_angle", "line_height", "arm_y")},
    "stephenson": _LINK,
    "gooch": _LINK | _ROD | {("expansion_link", "hanger_y")},
    "allan": _LINK | _ROD | {("reversing", "rod_arm_angle")},
    "hackworth": _RADIAL | {("eccentric", "angle"), ("slide", "lean")},
    "marshall": _RADIAL | {("eccentric", "angle")},
    "joy": _RADIAL | {
        ("connecting_rod", "pin_rise"), ("anchor", "pivot_y"), ("anchor", "guide.point_y"), ("anchor", "guide.lean"),
        ("valve_lever", "lower_arm"), ("valve_lever", "upper_arm"), ("slide", "lean"),
    },
    "baker": _RADIAL | _BELL | {
        ("crosshead", "arm_y"), ("return_crank", "angle"),
        ("combination_lever", "lower_arm"), ("combination_lever", "upper_arm"),
    },
    "southern": _ENGINE | _DRIVE | _BELL | {
        ("return_crank", "angle"), ("eccentric_rod", "yoke_pin_rise"),
        ("stationary_link", "middle_y"), ("stationary_link", "slot_offset"), ("stationary_link", "lean"),
    },
    "derived valve": _ENGINE | _BOTH_SIDES | {  # its levers lie in plan, across the engine: their left and right change
        ("reversing", "shaft_y"), ("two_to_one_lever", "pivot_across"), ("equal_lever", "spindle_across"),
    },
    "plain eccentric": _ENGINE | _DRIVE | {("eccentric", "angle"), ("eccentric", "backward_angle")},
}  # fmt: skip
TRIAL: dict[str, tuple[str, Tables]] = {name: ("walschaerts", tables) for name, tables in TRIAL_GEARS.items()} | {
    f"{name} ({KIND_OF[name]})": (KIND_OF[name].replace("eccentric", "plain eccentric"), tables)
    for name, tables in ECCENTRIC_GEARS.items()
}
TRIAL |= {f"{name} ({RADIAL_KIND[name]})": (RADIAL_KIND[name], tables) for name, tables in RADIAL_GEARS.items()}
TRIAL |= {f"{name} ({BELL_CRANK_KIND[name]})": (BELL_CRANK_KIND[name], t) for name, t in BELL_CRANK_GEARS.items()}


@dataclass(frozen=True)
class GearAtHand:
    """A gear and where its reverser stands in each notch."""

    name: str
    gear: Gear
    settings: dict[str, ReverserPosition]

    def together(self) -> ReverserPosition:
        """All notches as one setting, shape (S, 1)."""
        return stacked(list(self.settings.values()))


def gear_from(tables: Tables, kind: str = "walschaerts") -> Any:
    """The product's gear from nested tables; notches that are bare numbers are arm angles."""
    kinds = get_type_hints(GEARS[kind])
    return GEARS[kind](**{name: _table(kinds[name], keys) for name, keys in tables.items()})


def _table(kind: Any, keys: dict[str, Any]) -> Any:
    read: dict[str, Any] = dict(keys)
    if "suspension" not in {key.name for key in fields(kind)}:
        read.pop("suspension", None)  # an Allan gear has no choice of it
    for key in fields(kind):
        value = read.get(key.name)
        if value is not None and key.metadata["kind"] == "table":
            read[key.name] = _table(key.metadata["table"], value)
        elif key.metadata["kind"] == "notches":
            named: dict[str, Any] = read[key.name]
            read[key.name] = {name: Arm(n) if isinstance(n, int | float) else n for name, n in named.items()}
    return kind(**read)


def number_of(setting: ReverserPosition) -> float:
    """The arm angle or the eccentric's, degrees, or the die place, mm."""
    return float(np.ravel(figure(setting))[0])


@cache
def example(stem: str) -> Engine:
    """An example engine by the stem of its file's name."""
    return read_engine(next(path for path in EXAMPLES if path.stem == stem))


def of_engine(engine: Engine, state: str = DRAWING, side: str | None = None) -> GearAtHand:
    """One side of an engine in one state."""
    setup = engine.side_state(state, side)
    settings = {
        name: (setup.rack if isinstance(notch, DieHeight) and name not in setup.own_notches else setup.gear).setting(
            notch
        )
        for name, notch in setup.notches.items()
    }
    return GearAtHand(f"{engine.name}, {state}, {setup.side}", setup.gear, settings)


def of_tables(name: str, tables: Tables, kind: str = "walschaerts") -> GearAtHand:
    """A trial gear; with the ideal suspension its notches are places of the die."""
    gear = gear_from(tables, kind)
    if "reversing" not in tables:
        return GearAtHand(name, gear, {stop: gear.setting(notch) for stop, notch in gear.notches.items()})
    held = DieHeld if kind == "southern" or tables["reversing"].get("suspension") == "ideal" else Arm
    return GearAtHand(name, gear, {k: held(n) for k, n in tables["reversing"]["notches"].items()})


@cache
def every_gear() -> dict[str, GearAtHand]:
    """Every gear at hand, by a short name: the examples as drawn, and the trial gears."""
    drawn = {path.stem: of_engine(example(path.stem)) for path in EXAMPLES}
    return drawn | {name: of_tables(name, tables, kind) for name, (kind, tables) in TRIAL.items()}


def plain_tables(engine: Engine, state: str = DRAWING, side: str | None = None) -> Tables:
    """Tables of an example for the independent solutions: plain numbers, the crank radius given."""
    tables = engine.tables(state, side)
    cylinder = {key: value for key, value in tables["cylinder"].items() if key != "stroke"}
    tables["cylinder"] = cylinder | {"crank_radius": crank_radius(tables)}
    return tables


def mirrored(gear: Gear) -> Gear:
    """The gear turned over, y to −y."""
    signs = TURNED_OVER[gear.name]
    over = with_numbers(gear, {key: -value for key, value in numbers(gear).items() if key in signs})
    if isinstance(over, Southern):
        return replace(over, stationary_link=replace(over.stationary_link, slot_hollow="above"))
    return over


def mirrored_setting(gear: Gear, setting: ReverserPosition) -> ReverserPosition:
    """The reverser's setting for the gear turned over; a place along a level link stays."""
    return setting if isinstance(gear, Southern) else type(setting)(-figure(setting))


def with_valve(gear: Gear, **keys: Any) -> Any:
    """The gear with keys of its valve table replaced."""
    return replace(gear, valve=replace(gear.valve, **keys))
