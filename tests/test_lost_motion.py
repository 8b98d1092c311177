"""Lost motion against the exact reach of the valve over all pin places in their clearance circles (IPOPT).

The bar: 1 % and 1 µm, at twelve crank angles, clearances of 0.05 to 0.5 mm, each joint alone and all together.
"""

from __future__ import annotations

import itertools
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
from numpy.typing import NDArray

from linkmotion.gears import DieHeld
from linkmotion.gears.sensitivity import with_numbers
from linkmotion.gears.slots import CurvedSlot
from linkmotion.revolution import revolve
from linkmotion.wear.condition import Condition, FaceLoss
from linkmotion.wear.lost_motion import DIE, joints_of, lost_motion
from tests.gears_at_hand import GearAtHand, every_gear, example, number_of, of_engine, of_tables, plain_tables
from tests.independent.trial_gears import TRIAL_GEARS

if TYPE_CHECKING:
    from tests.independent.pin_gears import PinGear

Floats = NDArray[np.float64]
ANGLES: Floats = np.arange(12.0) * 30
ENGINES = ("dock_shunter", "metre_gauge", "stephenson_goods")
NOTCHES = ("full forward", "forward 25")
CASES = [*(("dock_shunter", notch) for notch in NOTCHES), ("metre_gauge", NOTCHES[0]), ("stephenson_goods", NOTCHES[1])]
ALONE, TOGETHER = (0.05, 0.5), (0.05, 0.1, 0.2, 0.5)
TRIALS = [("ideal suspension", "full forward"), ("link ahead of the lever", "half forward")]
Reach = dict[tuple[str, float], tuple[Floats, Floats]]


def at_hand(name: str) -> GearAtHand:
    return of_engine(example(name)) if name in ENGINES else of_tables(name, TRIAL_GEARS[name])


@cache
def by_pins(name: str) -> PinGear:
    """The gear written by its pins, which casadi solves."""
    pytest.importorskip("casadi")
    from tests.independent.pin_gears import pin_gear

    return pin_gear(plain_tables(example(name)) if name in ENGINES else TRIAL_GEARS[name])


def joints_by_pins(name: str) -> tuple[str, ...]:
    pins = by_pins(name)
    from tests.independent.pin_clearances import names_of

    return names_of(pins)


@cache
def reach(name: str, notch: str, alone: tuple[float, ...] = ALONE, together: tuple[float, ...] = TOGETHER) -> Reach:
    """Exact rearmost and foremost valve by (joint or "all", clearance), mm."""
    pins, names = by_pins(name), joints_by_pins(name)
    from tests.independent.pin_clearances import valve_reach

    cases = {(joint, c): {joint: c} for joint in names for c in alone}
    cases |= {("all", c): dict.fromkeys(names, c) for c in together}
    rear, fore = valve_reach(pins, number_of(at_hand(name).settings[notch]), list(cases.values()), ANGLES)
    return {case: (rear[k], fore[k]) for k, case in enumerate(cases)}


def of_product(name: str, notch: str, joints: tuple[str, ...], clearance: float) -> Floats:
    own = at_hand(name)
    found = Condition(
        clearance={joint: clearance for joint in joints if joint != DIE},
        die_clearance=clearance if DIE in joints else 0.0,
    )
    lost = lost_motion(own.gear, own.settings[notch], found, ANGLES.size)
    assert np.array_equal(lost.crank_angle, ANGLES)
    assert set(lost.joints) == set(joints)
    return np.broadcast_to(np.squeeze(lost.total), ANGLES.shape)


def within_bar(found: Floats, exact: Floats) -> bool:
    return bool(np.all(np.abs(found - exact) <= 0.01 * exact + 1e-3))


@pytest.mark.parametrize(("name", "notch"), CASES)
def test_each_joint_alone(name: str, notch: str) -> None:
    exact = reach(name, notch)
    for joint, clearance in itertools.product(joints_by_pins(name), ALONE):
        rear, fore = exact[joint, clearance]
        assert np.all(rear <= 1e-9), joint
        assert np.all(fore >= -1e-9), joint
        assert within_bar(of_product(name, notch, (joint,), clearance), fore - rear), (joint, clearance)


@pytest.mark.parametrize(("name", "notch"), CASES)
def test_all_joints_together_are_the_sum(name: str, notch: str) -> None:
    exact, every = reach(name, notch), joints_by_pins(name)
    for clearance in TOGETHER:
        rear, fore = exact["all", clearance]
        singles = [of_product(name, notch, (joint,), clearance) for joint in every]
        total = of_product(name, notch, every, clearance)
        assert np.allclose(total, np.sum(singles, axis=0), rtol=1e-14, atol=1e-14)
        assert within_bar(total, fore - rear), clearance
        assert total.max() > 5 * clearance  # the bar is far below what is compared


@pytest.mark.parametrize(("name", "notch"), CASES)
def test_error_of_the_sum_rule_is_of_second_order(name: str, notch: str) -> None:
    """Pushed to one side, the error over c falls in proportion to c (measured at most 0.45 % of a side, at 0.5 mm).

    The two sides err alike, so for the whole movement little is left of it: at most 0.005 c² (c in mm), at angles
    where a joint's reaction turns round within the clearances.
    """
    exact, every = reach(name, notch), joints_by_pins(name)
    side, whole = {}, {}
    for c in TOGETHER:
        rear, fore = exact["all", c]
        total = of_product(name, notch, every, c)
        side[c] = np.max(np.abs(fore - total / 2)) / c
        whole[c] = np.max(np.abs(fore - rear - total)) / c
    for one, two in itertools.pairwise(TOGETHER):
        assert side[two] / side[one] == pytest.approx(two / one, rel=0.02)
    assert side[0.5] < 0.021
    assert all(whole[c] < 0.005 * c for c in TOGETHER)


@pytest.mark.parametrize("name", ENGINES)
def test_every_pin_of_the_gear_can_have_clearance(name: str) -> None:
    own = at_hand(name)
    known = joints_of(own.gear.declare(own.settings["full forward"]))
    assert set(joints_by_pins(name)) == {*known, DIE}


@pytest.mark.parametrize(("name", "notch"), TRIALS)
def test_trial_gears(name: str, notch: str) -> None:
    """A die held at its place, and a link whose rod runs back toward the axle with its slot off the trunnion."""
    exact = reach(name, notch, (0.3,), (0.3,))
    every = joints_by_pins(name)
    for joint in every:
        rear, fore = exact[joint, 0.3]
        assert within_bar(of_product(name, notch, (joint,), 0.3), fore - rear), joint
    rear, fore = exact["all", 0.3]
    assert within_bar(of_product(name, notch, every, 0.3), fore - rear)


def in_slot(name: str) -> list[str]:
    return [kind for kind, own in every_gear().items() if own.gear.slot is not None and name in own.settings]


@pytest.mark.parametrize("name", in_slot("full forward"))
def test_die_slack_is_the_movement_of_the_slot(name: str) -> None:
    """The valve's answer to the slot moved square to itself, by turning the gear with it moved (no derivative)."""
    own = every_gear()[name]
    gear, setting, step = own.gear, own.settings["full forward"], 1e-3
    slide = hasattr(gear, "slide")
    table, prefix = ("slide", "") if slide else ("expansion_link", "slot_")
    table = "stationary_link" if gear.name == "southern" else table
    link, places = getattr(gear, table), []
    drawn = setting.place if isinstance(setting, DieHeld) else None
    for move in (-step, step):
        moved = {(table, f"{prefix}offset"): getattr(link, f"{prefix}offset") + move}
        if isinstance(gear.slot, CurvedSlot):
            inward = move if gear.slot.concave_forward else -move
            radius = getattr(link, f"{prefix}radius")
            moved[table, f"{prefix}radius"] = radius - inward
            if drawn is not None:  # held in the same direction from the centre: the die moves square to the slot alone
                setting = DieHeld(drawn * (1 - inward / radius))
        places.append(revolve(with_numbers(gear, moved), setting).spindle[0](np.radians(ANGLES)))
    slope = np.abs(places[1] - places[0]) / (2 * step)
    lost = lost_motion(gear, own.settings["full forward"], Condition(die_clearance=0.4), ANGLES.size)
    assert np.max(np.abs(np.squeeze(lost.joints[DIE]) - 0.4 * slope)) < 1e-6


@pytest.mark.parametrize("name", ENGINES)
def test_worn_faces_loosen_the_die_where_it_stands(name: str) -> None:
    own = at_hand(name)
    setting = own.settings["forward 25"]
    worn = (FaceLoss(-150.0, 0.1, 0.0), FaceLoss(-20.0, 0.2, 0.3), FaceLoss(40.0, 0.5, 0.1), FaceLoss(150.0, 0.0, 0.1))
    unit = np.squeeze(lost_motion(own.gear, setting, Condition(die_clearance=1.0), 24).total)
    lost = np.squeeze(lost_motion(own.gear, setting, Condition(slot=worn, die_clearance=0.1), 24).joints[DIE])
    place = revolve(own.gear, setting).die[0](np.arange(24) * np.pi / 12)
    knots = [reading.at for reading in worn]
    rough = np.interp(place, knots, [reading.front + reading.back + 0.1 for reading in worn])
    assert np.max(np.abs(lost / unit - rough)) < 0.05  # the smooth curve keeps near the straight lines
    play = Condition(slot=worn, die_clearance=0.1).die_play(place)
    assert np.allclose(lost, play * unit, rtol=0, atol=1e-9)
    even = Condition(slot=(FaceLoss(0.0, front=0.2, back=0.1),))
    assert np.allclose(lost_motion(own.gear, setting, even, 24).total, 0.3 * unit, rtol=0, atol=1e-12)


@pytest.mark.parametrize("name", ENGINES)
def test_all_notches_at_once(name: str) -> None:
    own = at_hand(name)
    pin = next(iter(joints_of(own.gear.declare(own.settings["full forward"]))))
    found = Condition(clearance={pin: 0.3, "die pin": 0.2}, die_clearance=0.1)
    rows = lost_motion(own.gear, own.together(), found, 24)
    for k, setting in enumerate(own.settings.values()):
        one = lost_motion(own.gear, setting, found, 24)
        assert np.allclose(rows.total[k], np.squeeze(one.total), rtol=0, atol=1e-12)
        assert rows.joints[DIE].shape == (len(own.settings), 24)
