"""The whole turn at once is the turn followed one position at a time."""

from __future__ import annotations

import numpy as np
import pytest

from tests.independent import eccentric_gears, joint_angles
from tests.independent.at_once import turned_round
from tests.taken_readings import POSITIONS, shop

CHANGES = {"dock_shunter": ("eccentric_rod", "length"), "stephenson_goods": ("eccentric_rods", "backward")}


@pytest.mark.parametrize("name", CHANGES)
def test_a_departed_gear_stands_as_the_scalar_solution_has_it(name: str) -> None:
    own, (table, key) = shop(name), CHANGES[name]
    tables = own.tables | {table: own.tables[table] | {key: own.tables[table][key] + 3.0}}
    for row in (0, len(own.settings) - 1):
        found = turned_round(tables, own.settings[row], own.kind, own.drawn[row].x)
        angles = np.arange(POSITIONS) * 360.0 / POSITIONS
        if own.kind == "walschaerts":
            scalar = joint_angles.solve(tables, own.settings[row], angles)
        else:
            scalar = eccentric_gears.solve(tables, own.settings[row], angles, kind=own.kind)
        assert np.max(np.abs(found.valve - scalar.valve)) < 1e-7  # mm
        assert np.max(np.abs(found.piston - scalar.piston)) < 1e-7
        assert np.max(np.abs(found.valve - own.drawn[row].valve)) > 0.1  # it departs
