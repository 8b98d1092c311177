"""A worn gear in motion against rigid parts in contact.

Rigid parts with clearances, slowly turned, a valve that nothing but its drag holds: at every crank angle the valve may
stand anywhere between the rearmost and the foremost place that the parts can reach (every pin anywhere in its circle,
the die anywhere across its slot, all loop equations met: IPOPT, `tests/independent/pin_clearances.py`), and it moves no
further than it is pushed. No sum rule, no derivative of the valve, no small quantity.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from linkmotion.events import EVENTS
from linkmotion.revolution import revolve
from linkmotion.studies.assess import SideEvents, assess_side
from linkmotion.valve import ENDS
from linkmotion.wear.condition import Condition, FaceLoss
from linkmotion.wear.lost_motion import DIE
from tests.gears_at_hand import example, number_of
from tests.test_lost_motion import ENGINES, at_hand, by_pins, joints_by_pins

Floats = NDArray[np.float64]
CASES = [
    (engine, *how) for engine in ENGINES for how in (("full forward", 0.1), ("full forward", 0.3), ("forward 25", 0.3))
]
TAKEN, ROUND = 144, 7200  # crank angles at which the reach is found, and at which the valve is led between them
LEAD, EVENT = 0.005, 0.02  # mm; percent of the stroke


@cache
def reached(name: str, notch: str, clearance: float) -> tuple[Floats, Floats]:
    """Rearmost and foremost valve round the wheel, mm from where it stands without clearance."""
    pins, joints = by_pins(name), joints_by_pins(name)
    from scipy.interpolate import CubicSpline

    from tests.independent.pin_clearances import valve_reach

    angles: Floats = np.arange(TAKEN) * np.float64(360.0 / TAKEN)
    turn = number_of(at_hand(name).settings[notch])
    ways = valve_reach(pins, turn, [dict.fromkeys(joints, clearance)], angles)
    every = np.arange(ROUND) * (360.0 / ROUND)
    rear, fore = (
        np.asarray(CubicSpline([*angles, 360.0], [*own[0], own[0][0]], bc_type="periodic")(every)) for own in ways
    )
    return rear, fore


def loose(name: str, notch: str, clearance: float) -> SideEvents:
    """The product's own, with so much at every joint."""
    pins = {joint: clearance for joint in joints_by_pins(name) if joint != DIE}
    setup = example(name).side_state()
    return assess_side(setup.altered(condition=Condition(clearance=pins, die_clearance=clearance)), [notch])


def in_contact(side: SideEvents, rear: Floats, fore: Floats) -> Floats:
    """Valve from central round the wheel, running forward."""
    turn = 2 * np.pi * np.arange(ROUND) / ROUND
    alone = np.asarray(side.displacement[0](turn))
    low, high = alone + rear, alone + fore
    place, last = np.empty(ROUND), alone[0]
    for n in [*range(ROUND), *range(ROUND)]:
        last = min(max(last, low[n]), high[n])
        place[n] = last
    return place


def crossings(value: Floats) -> tuple[float, float]:
    """Crank angles at which a signed opening begins and ends, radians."""
    found = []
    for way in (1, -1):
        n = int(np.flatnonzero((way * value <= 0) & (way * np.roll(value, -1) > 0))[0])
        one, two = value[n], value[(n + 1) % ROUND]
        found.append((n + one / (one - two)) * 2 * np.pi / ROUND)
    return found[0], found[1]


@pytest.mark.parametrize(("name", "notch", "clearance"), CASES)
def test_events_in_motion_are_those_of_rigid_parts_in_contact(name: str, notch: str, clearance: float) -> None:
    side = loose(name, notch, clearance)
    held_to(side, in_contact(side, *reached(name, notch, clearance)))


def held_to(side: SideEvents, place: Floats) -> None:
    """The product's leads and events against those of a valve that stands at ``place`` round the wheel."""
    crank, valve = side.gear.crank, side.gear.valve
    inside = 1 if valve.admission == "inside" else -1
    still = replace(side, condition=Condition()).events["forward"]
    moved = 0.0
    for end, toward in zip(ENDS, (1, -1), strict=True):
        told, dead = side.events["forward"][end], 0.0 if end == "front" else float(crank.back_crank_angle)
        steam = inside * toward * place - valve.laps("steam", end)
        exhaust = -inside * toward * place - valve.laps("exhaust", end)
        lead = np.interp(dead, np.arange(ROUND) * 2 * np.pi / ROUND, steam, period=2 * np.pi)
        assert float(told.lead[0]) == pytest.approx(lead, abs=LEAD)
        moved = max(moved, abs(float(still[end].lead[0]) - lead))
        for event, at in zip(EVENTS, (*crossings(steam), *crossings(exhaust)), strict=True):
            gone = float(crank.fraction(at))
            percent: Any = 100 * (gone if end == "front" else 1 - gone)
            assert float(told.percent[event][0]) == pytest.approx(percent, abs=EVENT), (end, event)
    assert moved > 10 * LEAD  # what is held to so little is itself much


@pytest.mark.parametrize(("name", "notch"), [("metre_gauge", "full forward"), ("stephenson_goods", "forward 25")])
def test_events_with_a_die_block_in_a_worn_slot_are_those_of_rigid_parts_in_contact(name: str, notch: str) -> None:
    """The block against the front or the back face, its pin where a linear programme of its own has it (every 0.5 mm),
    all loop equations met at once: the valve's two bounds. No sum rule, no derivative of the valve.
    """
    from scipy.interpolate import CubicSpline, PchipInterpolator

    from tests.independent.worn_slot import valve_with_slot
    from tests.test_die_block import rigid_block

    own, pins = at_hand(name), by_pins(name)
    setting = own.settings[notch]
    die = revolve(own.gear, setting).die
    middle, reach = float(die.c[0, 0].real), float(np.ptp(die.on_grid(256)))
    at = middle + np.array([-85.0, -50.0, -20.0, 10.0, 40.0, 80.0])
    losses = [0.0, 0.3, 0.1, 0.4, 0.0, 0.2], [0.2, 0.0, 0.3, 0.0, 0.2, 0.0]
    slot = tuple(FaceLoss(*map(float, row)) for row in zip(at, *losses, strict=True))
    every = middle + np.arange(-reach / 2 - 6.0, reach / 2 + 6.0, 0.5)
    bounds = np.array([rigid_block(slot, 70.0, 0.05, float(place)) for place in every])
    angles: Floats = np.arange(TAKEN) * np.float64(360.0 / TAKEN)
    setup = example(name).side_state()
    worn = Condition(slot=slot, die_length=70.0, die_clearance=0.05)
    side = assess_side(setup.altered(condition=worn), [notch])
    alone = np.asarray(side.motion.spindle[0](np.radians(angles)))
    ways = []
    for bound in bounds.T[::-1]:  # rearmost pin, foremost pin
        curve = PchipInterpolator(every, bound)

        def profile(place: float, curve: Any = curve) -> float:
            return float(curve(np.clip(place, every[0], every[-1])))

        found = valve_with_slot(pins, number_of(setting), angles, profile, along_drawn=True) - alone
        spline = CubicSpline([*angles, 360.0], [*found, found[0]], bc_type="periodic")
        ways.append(np.asarray(spline(np.arange(ROUND) * (360.0 / ROUND))))
    held_to(side, in_contact(side, np.minimum(*ways), np.maximum(*ways)))
