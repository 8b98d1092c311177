"""Rings with ends free, held, or stuck to one another: Hooke's law in three directions; what friction can hold."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from linkmotion.commands.bush import BushRequest, as_data, read_bush
from linkmotion.wear.bushes import FRICTION
from linkmotion.wear.materials import material
from linkmotion.wear.rings import Rings, friction_adds, held_adds, press

STEEL, BRONZE, IRON = material("mild steel"), material("phosphor bronze"), material("cast iron")
RINGS = Rings(seat=40, outside=80, bore=30, length=45, housing=IRON, bush=BRONZE)


def by_hooke(case: Rings, interference: float, held: bool) -> tuple[float, float]:
    """Pressure and the bush's stress along its axis, MPa, by Hooke's law in three directions.

    ``held``: neither ring can lengthen. Otherwise the two stick to one another over their whole length, and nothing
    outside holds them.
    """
    housing, bush = case.housing, case.bush
    big, seat, bore = case.outside**2, case.seat**2, case.bore**2
    both = np.array([2 * seat / (big - seat), -2 * seat / (seat - bore)])  # radial and hoop stress together, over p
    around, within = (big + seat) / (big - seat), (seat + bore) / (seat - bore)
    meet = [
        (around + housing.poisson) / housing.young + (within - bush.poisson) / bush.young,
        -housing.poisson / housing.young,
        bush.poisson / bush.young,
    ]
    longer = np.array(  # each ring's lengthening, by pressure and by its own axial stress
        [
            [-housing.poisson * both[0] / housing.young, 1 / housing.young, 0],
            [-bush.poisson * both[1] / bush.young, 0, 1 / bush.young],
        ]
    )
    rest = longer if held else np.array([longer[0] - longer[1], [0, big - seat, seat - bore]])
    pressure, _, along = np.linalg.solve(np.array([meet, *rest]), [interference / case.seat, 0, 0])
    return float(pressure), float(along)


PAIRS = [(STEEL, BRONZE), (STEEL, STEEL), (IRON, BRONZE), (BRONZE, IRON)]


@pytest.mark.parametrize(("housing", "bush"), PAIRS)
@pytest.mark.parametrize(("bore", "outside"), [(30, 80), (36, 56), (15, 200)])
def test_ends_held_from_lengthening_agree_with_hookes_law(housing: Any, bush: Any, bore: float, outside: float) -> None:
    case = replace(RINGS, bore=bore, outside=outside, housing=housing, bush=bush)
    pressure, _along = by_hooke(case, 0.04, held=True)
    free, held = press(case, 0.04), press(case, 0.04, held=True)
    assert abs(held.pressure / pressure - 1) < 1e-12
    assert abs(held_adds(case) - (pressure / free.pressure - 1)) < 1e-12
    assert 0.06 < held_adds(case) < 0.2
    assert abs(held.closing - held.pressure / free.pressure * free.closing * (1 - bush.poisson**2)) < 1e-15
    # two rings that only stick to one another are held as well as between walls
    assert abs(by_hooke(case, 0.04, held=False)[0] / pressure - 1) < 0.02


@pytest.mark.parametrize("length", [10.0, 45.0, 100.0, 400.0])
@pytest.mark.parametrize("friction", FRICTION)
def test_friction_holds_a_bush_by_what_it_brings_up_from_both_ends(length: float, friction: float) -> None:
    case = replace(RINGS, length=length)
    pressure, along = by_hooke(case, 0.04, held=True)
    load = abs(along) * math.pi / 4 * (case.seat**2 - case.bore**2)
    at = (np.arange(20_000) + 0.5) * length / 20_000
    brought = np.minimum(at, length - at) * friction * pressure * math.pi * case.seat
    share = float(np.minimum(brought / load, 1.0).mean())
    assert abs(friction_adds(case, friction) - share * held_adds(case)) < 1e-6


def test_sheet_says_what_is_taken_of_the_ends() -> None:
    request = BushRequest(seat="40", housing_outside="80", bore="30", length="45")
    data = as_data(read_bush(request), "mm")
    assert data["ends"] == "free to lengthen (plane stress)"
    assert 0 < data["friction_adds_at_most_percent"] < data["held_ends_add_percent"] < 17
    assert any("plane stress" in sentence for sentence in data["words"])
