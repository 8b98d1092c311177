"""The gears over which the laws are looped: the examples' and the trial gears, every notch as a setting.

A further kind of gear is added by its trial gears in :func:`every_gear` and its line in ``TURNED_OVER``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any, get_type_hints

import numpy as np

from linkmotion.engine import DRAWING, Engine
from linkmotion.files.engine_file import read_engine
from linkmotion.gears import GEARS, Arm, DieHeight, DieHeld, Gear, Setting
from linkmotion.gears.sensitivity import numbers, with_numbers
from tests.independent.drawing import crank_radius
from tests.independent.trial_gears import TRIAL_GEARS, Tables

EXAMPLES = tuple(sorted((Path(__file__).parents[1] / "examples").glob("*.toml")))
Key = tuple[str, str]

# Dimensions that change sign when a gear is turned over, y to −y. The combination lever is written with its
# union pin below, so turned over its arms are negative; its offset, ahead, stays.
TURNED_OVER: dict[str, frozenset[Key]] = {
    "walschaerts": frozenset({
        ("cylinder", "line_height"), ("cylinder", "inclination"), ("crosshead", "arm_y"),
        ("valve", "guide_height"), ("valve", "guide_inclination"), ("return_crank", "angle"),
        ("expansion_link", "trunnion_y"), ("expansion_link", "foot_drop"), ("radius_rod", "lift_pin_rise"),
        ("combination_lever", "lower_arm"), ("combination_lever", "upper_arm"), ("reversing", "shaft_y"),
    }),
}  # fmt: skip


@dataclass(frozen=True)
class GearAtHand:
    """A gear and where its reverser stands in each notch."""

    name: str
    gear: Gear
    settings: dict[str, Setting]

    def together(self) -> Setting:
        """All notches as one setting, shape (S, 1)."""
        return stacked(list(self.settings.values()))


def gear_from(tables: Tables, kind: str = "walschaerts") -> Any:
    """The product's gear from nested tables; notches that are bare numbers are arm angles."""
    made = get_type_hints(GEARS[kind])
    reversing = tables["reversing"]
    read = {name: Arm(n) if isinstance(n, int | float) else n for name, n in reversing["notches"].items()}
    tables = {**tables, "reversing": {**reversing, "notches": read}}
    return GEARS[kind](**{name: made[name](**keys) for name, keys in tables.items()})


def number_of(setting: Setting) -> float:
    """The arm angle, degrees, or the die place, mm."""
    return float(np.ravel(setting.angle if isinstance(setting, Arm) else setting.place)[0])  # type: ignore[union-attr]


def stacked(settings: list[Setting]) -> Setting:
    """Several notches as one setting, shape (S, 1)."""
    return type(settings[0])(np.array([[number_of(s)] for s in settings]))


@cache
def example(stem: str) -> Engine:
    """An example engine by the stem of its file's name."""
    return read_engine(next(path for path in EXAMPLES if path.stem == stem))


def of_engine(engine: Engine, state: str = DRAWING, side: str = "left") -> GearAtHand:
    """One side of an engine in one state."""
    setup = engine.setup(state, side)
    settings = {
        name: (setup.notches_of if isinstance(notch, DieHeight) else setup.gear).setting(notch)
        for name, notch in setup.notches.items()
    }
    return GearAtHand(f"{engine.name}, {state}, {side}", setup.gear, settings)


def of_tables(name: str, tables: Tables) -> GearAtHand:
    """A trial gear; with the ideal suspension its notches are places of the die."""
    held = DieHeld if tables["reversing"]["suspension"] == "ideal" else Arm
    return GearAtHand(name, gear_from(tables), {k: held(n) for k, n in tables["reversing"]["notches"].items()})


@cache
def every_gear() -> dict[str, GearAtHand]:
    """Every gear at hand, by a short name: the examples as drawn, and the trial gears."""
    drawn = {path.stem: of_engine(example(path.stem)) for path in EXAMPLES}
    return drawn | {name: of_tables(name, tables) for name, tables in TRIAL_GEARS.items()}


def plain_tables(engine: Engine, state: str = DRAWING, side: str = "left") -> Tables:
    """Tables of an example for the independent solutions: plain numbers, the crank radius given."""
    tables = engine.tables(state, side)
    cylinder = {key: value for key, value in tables["cylinder"].items() if key != "stroke"}
    tables["cylinder"] = cylinder | {"crank_radius": crank_radius(tables)}
    return tables


def mirrored(gear: Gear) -> Gear:
    """The gear turned over, y to −y."""
    signs = TURNED_OVER[gear.name]
    return with_numbers(gear, {key: -value for key, value in numbers(gear).items() if key in signs})


def mirrored_setting(setting: Setting) -> Setting:
    """The reverser's setting for the gear turned over."""
    return type(setting)(-(setting.angle if isinstance(setting, Arm) else setting.place))  # type: ignore[union-attr]


def with_valve(gear: Gear, **keys: Any) -> Any:
    """The gear with keys of its valve table replaced."""
    return replace(gear, valve=replace(gear.valve, **keys))  # type: ignore[type-var]
