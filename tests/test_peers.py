"""Three general-purpose libraries solve both example engines over a revolution, and the product agrees.

casadi (root finding on the loop equations), exudyn (multibody dynamics) and pylinkage (dyads) share
nothing with the product or with one another.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from linkmotion.gears.frame import CROSSHEAD_PIN, VALVE_GUIDE
from linkmotion.linkage import Solution, Wheel, solve
from tests.gears_at_hand import example, number_of, of_engine, plain_tables

ENGINES = ("dock_shunter", "metre_gauge")
CASES = [(name, notch) for name in ENGINES for notch in of_engine(example(name)).settings]
COUNT = 180
ANGLES = np.arange(COUNT) * 360.0 / COUNT
WITHIN = 1e-6  # mm, and degrees of the link


def by_product(name: str, notch: str) -> Solution:
    own = of_engine(example(name))
    return solve(own.gear.declare(own.settings[notch]), Wheel.revolution(COUNT))


def furthest(one: object, other: object) -> float:
    """Largest difference; infinite where one is not a number."""
    return float(np.max(np.nan_to_num(np.abs(np.subtract(one, other)), nan=np.inf)))  # type: ignore[call-overload]


@pytest.mark.parametrize(("name", "notch"), CASES)
def test_casadi_finds_the_same_valve_motion(name: str, notch: str) -> None:
    pytest.importorskip("casadi")
    from tests.independent import casadi_loop

    own = of_engine(example(name))
    valve = casadi_loop.build(plain_tables(example(name)), COUNT)(number_of(own.settings[notch]), ANGLES)
    assert furthest(by_product(name, notch).along(VALVE_GUIDE), valve) < WITHIN


@pytest.mark.parametrize(("name", "notch"), CASES)
def test_exudyn_finds_the_same_valve_motion(name: str, notch: str) -> None:
    pytest.importorskip("exudyn")
    from tests.independent import exudyn_gear

    own = of_engine(example(name))
    valve = exudyn_gear.valve_positions(plain_tables(example(name)), number_of(own.settings[notch]), ANGLES)
    assert furthest(by_product(name, notch).along(VALVE_GUIDE), valve) < WITHIN


@pytest.mark.parametrize("name", ENGINES)
def test_pylinkage_finds_the_same_crosshead_foot_and_link_swing(name: str) -> None:
    pytest.importorskip("pylinkage")
    from tests.independent import dyad_library

    dyads = dyad_library.motion(plain_tables(example(name)), COUNT)
    gear: Any = of_engine(example(name)).gear
    turned = by_product(name, "mid")
    line = np.exp(1j * gear.crank.slope)
    assert furthest((turned[CROSSHEAD_PIN] * np.conj(line)).real, dyads.piston) < WITHIN
    assert furthest(turned["foot"], dyads.foot @ [1, 1j]) < WITHIN
    assert furthest(gear.slot.swing(turned), dyads.link_angle) < WITHIN


def test_a_tenth_of_a_millimetre_on_the_eccentric_rod_would_be_seen() -> None:
    """The comparison can fail: with one rod altered the peers' valve is off by thousands of times the tolerance."""
    pytest.importorskip("casadi")
    from tests.independent import casadi_loop

    tables = plain_tables(example("metre_gauge"))
    tables["eccentric_rod"] = {"length": tables["eccentric_rod"]["length"] + 0.1}
    arm = number_of(of_engine(example("metre_gauge")).settings["full forward"])
    valve = casadi_loop.build(tables, COUNT)(arm, ANGLES)
    assert furthest(by_product("metre_gauge", "full forward").along(VALVE_GUIDE), valve) > 1e-3
