"""An eccentric on the axle in place of the return crank: the same motion; slipped, another."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import numpy as np
import pytest

from linkmotion.gears import Arm, EccentricWalschaerts, Walschaerts
from linkmotion.gears.return_crank import ReturnCrank
from linkmotion.gears.sensitivity import marked
from linkmotion.gears.walschaerts import EccentricRod
from linkmotion.revolution import revolve
from linkmotion.wear.condition import Condition
from linkmotion.wear.effects import worn
from tests.gears_at_hand import example, number_of, of_engine
from tests.independent import joint_angles
from tests.test_agreement import equal_lead_tables

ROUND = np.radians(np.arange(0.0, 360.0, 10.0))
NAME = "inside_goods"


def by_return_crank(gear: EccentricWalschaerts) -> Walschaerts:
    """The same gear worked by a return crank whose pin stands where the eccentric's centre does."""
    shared = {table.name: getattr(gear, table.name) for table in fields(gear) if table.name != "eccentric"}
    shared["eccentric_rod"] = EccentricRod(length=gear.eccentric_rod.length)
    return Walschaerts(**shared, return_crank=ReturnCrank(pin_radius=gear.eccentric.throw, angle=gear.eccentric.angle))


@pytest.mark.parametrize("notch", ["full forward", "mid", "full backward"])
def test_it_moves_as_with_a_return_crank_of_the_same_circle(notch: str) -> None:
    own = of_engine(example(NAME))
    gear: Any = own.gear
    setting = own.settings[notch]
    assert np.array_equal(
        revolve(gear, setting).spindle[0](ROUND), revolve(by_return_crank(gear), setting).spindle[0](ROUND)
    )


def test_slipped_it_keeps_its_throw_where_a_return_crank_keeps_its_length() -> None:
    """Both a degree back: by joint angles with the throw as drawn and the angle a degree less.

    Turned about the crank pin by a small angle, a pin's distance from the axle alters by crank radius · sin(its angle
    ahead) · that angle (the crank pin's distance from the pin's own radius, times the turn).
    """
    own = of_engine(example(NAME))
    gear: Any = own.gear
    arm = Arm(number_of(own.settings["full forward"]))
    found = revolve(worn(gear, Condition(angle_slip={"eccentric": -1.0})), arm).spindle[0](ROUND)
    tables = equal_lead_tables(NAME)
    tables = tables | {"eccentric": {**tables["eccentric"], "angle": tables["eccentric"]["angle"] - 1.0}}
    assert np.max(np.abs(found - joint_angles.solve(tables, number_of(arm), np.degrees(ROUND)).valve)) < 1e-7
    crank = by_return_crank(gear).return_crank.slipped(-1.0, gear.crank.radius)
    assert abs(crank.pin_radius - gear.eccentric.throw) == pytest.approx(
        gear.crank.radius * np.sin(np.radians(gear.eccentric.angle)) * np.radians(1.0), rel=0.02
    )


def test_it_is_turned_upon_the_axle_and_no_return_crank_is_spoken_of() -> None:
    gear: Any = example(NAME).gear()
    works = {work.name: work.more for work in marked(gear, "work").values()}
    assert works["eccentric"] == "turn the eccentric on its axle so that it stands {} further ahead"
    told = [each.metadata["meaning"] for table in fields(gear) for each in fields(getattr(gear, table.name))]
    assert not any("return" in meaning for meaning in told)
