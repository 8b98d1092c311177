"""Derivative of the valve to every dimension of a gear."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np

from linkmotion.gears import Gear
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.gears.reverser import Arm, DieHeld, Setting
from linkmotion.linkage import Solution
from linkmotion.linkage.derivatives import chain, gradient_along

STEP = 1e-30  # of the complex step: no difference is taken, so it can be as small as you like
Key = tuple[str, str]


def numbers(gear: Gear) -> dict[Key, float]:
    """Every length and angle given for a gear that its linkage is made from, by (table, key)."""
    found: dict[Key, float] = {}
    for table in fields(gear):  # type: ignore[arg-type]
        own = getattr(gear, table.name)
        for key in fields(own):
            value = getattr(own, key.name)
            if key.metadata["kind"] in ("length", "angle") and value is not None:
                found[table.name, key.name] = value
    return found


def with_numbers(gear: Gear, values: dict[Key, Any]) -> Gear:
    """The gear with some of its lengths and angles replaced (by arrays, if wanted)."""
    tables: dict[str, dict[str, Any]] = {}
    for (table, key), value in values.items():
        tables.setdefault(table, {})[key] = value
    changed = {table: replace(getattr(gear, table), **keys) for table, keys in tables.items()}
    return replace(gear, **changed)  # type: ignore[type-var]


def valve_derivatives(gear: Gear, setting: Setting, solution: Solution) -> dict[Key, Any]:
    """Derivative of the valve's displacement to every dimension, at every position solved.

    Returns
    -------
    dict
        (table, key) to array of shape ``solution.shape`` (or a number, where it is constant): mm per
        mm for lengths, mm per degree for angles. The reverser's own setting stands under
        ("reversing", "arm angle") in mm per degree, or ("reversing", "die place") in mm per mm.
    """
    values = numbers(gear)
    count = len(values) + 1
    shape = (count,)
    varied = {key: _vary(value, row, shape) for row, (key, value) in enumerate(values.items())}
    name, turned = _vary_setting(setting, count)
    linkage = with_numbers(gear, varied).declare(turned)
    found = chain(gradient_along(solution, VALVE_GUIDE), linkage, count, STEP)
    result = dict(zip((*values, ("reversing", name)), found, strict=True))
    result["valve", "central_at"] = -1.0
    return result


def _vary(value: Any, row: int, shape: tuple[int, ...]) -> Any:
    varied = np.full(shape, value, complex)
    varied[row] += 1j * STEP
    return varied


def _vary_setting(setting: Setting, count: int) -> tuple[str, Setting]:
    if isinstance(setting, Arm):
        return "arm angle", Arm(_vary(np.ravel(setting.angle)[0], count - 1, (count,)))
    assert isinstance(setting, DieHeld)
    return "die place", DieHeld(_vary(np.ravel(setting.place)[0], count - 1, (count,)))
