"""What readings cannot tell apart: a plain eccentric's rod and the valve's place; and what the advice then says."""

from __future__ import annotations

import numpy as np
import pytest

from linkmotion.engine import DRAWING
from linkmotion.face.advice import advised
from linkmotion.files.readings_file import Readings
from linkmotion.studies.figures.dimensions import CENTRAL
from tests.planted import EXACT
from tests.planted_engines import LEAD, engine_with, taken
from tests.told_apart import APART, instead, rig, told_apart

ROD, DONKEY = ("eccentric_rod", "length"), "donkey_eccentric"


def test_the_rod_of_a_plain_eccentric_is_to_the_valve_what_its_place_on_the_spindle_is() -> None:
    """By the closed form x = e cos φ + sqrt(L² − e² sin² φ): of 3 mm of rod all but a micrometre is a mere shift.

    dx/dL = 1/sqrt(1 − (e/L)² sin² φ) = 1 + (e/L)² (1 − cos 2φ)/4 + …: what changes round the wheel is (e/2L)² of it.
    """
    tables = rig(DONKEY, "left").shop.tables
    e, length, longer = tables["eccentric"]["throw"], tables["eccentric_rod"]["length"], 3.0
    phi = np.linspace(0.0, 2 * np.pi, 721)
    moved = np.sqrt((length + longer) ** 2 - (e * np.sin(phi)) ** 2) - np.sqrt(length**2 - (e * np.sin(phi)) ** 2)
    left = np.ptp(moved) / 2
    assert left == pytest.approx(longer * (e / (2 * length)) ** 2, rel=0.02)
    assert left < 0.02 * LEAD
    assert told_apart(DONKEY, "left", ROD, longer) < 0.05


def test_what_is_no_more_work_is_the_valve_and_the_parts_as_cheap() -> None:
    assert instead(DONKEY, ROD) == (CENTRAL,)
    assert set(instead("gooch_tank", ("eccentric_rods", "forward"))) == {CENTRAL, ("eccentric_rods", "backward")}


@pytest.mark.parametrize(("by", "told"), [(0.2, False), (3.0, True)])
def test_a_rod_of_a_link_motion_is_told_from_the_valve_by_its_size(by: float, told: bool) -> None:
    own = rig("dock_shunter", "left")
    assert (own.apart(ROD, by, CENTRAL) >= APART) == told


def test_the_advice_says_what_it_cannot_tell_from_the_valves_place() -> None:
    own = engine_with(DONKEY, {"left": {ROD: 2.4}}, {})
    read = tuple(taken(DONKEY, own, "left", np.random.default_rng(1)))
    readings = Readings("read", DRAWING, "mm", "", read, {"left": EXACT})
    advice = advised(own, DRAWING, ["left"], readings, "diagnosis")
    (row,) = advice.rows()
    assert row["dimension"] == "valve.central_at"
    said = " ".join(advice.words().sentences(advice.foreseen))
    assert "cannot tell the valve's place on its spindle from eccentric rod: length" in said
    assert "Measure the part itself" in said
    found = advice.beliefs[0].found
    assert found is not None
    (alike,) = found.as_valve
    assert alike.key == ROD
    assert abs(alike.rate) == pytest.approx(1.0, abs=0.01)
