"""The rules by which a valve is set: one gear or many, the same place."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from linkmotion.engine import SideState
from linkmotion.events import both_ends
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.linkage import Harmonics
from linkmotion.linkage.turning_points import extremes
from linkmotion.revolution import Revolution, revolve
from linkmotion.studies.assess import assess_side
from linkmotion.valve import Ports, displaced
from linkmotion.valve_setting import RuleError, central_place, place_by_rule, staying
from linkmotion.wear.condition import SOUND, Condition
from linkmotion.wear.lost_motion import lost_motion
from tests.gears_at_hand import EXAMPLES, example, with_valve

RULES = ("equal lead", "equal cutoff", "equal opening")
STEMS = [path.stem for path in EXAMPLES]


def ruled(stem: str, rule: str) -> tuple[Any, SideState, Revolution]:
    """A gear set by a rule in its first notch, its side, and its turn there."""
    setup = example(stem).side_state()
    name = next(iter(setup.notches))
    gear = with_valve(setup.gear, set_by=rule, set_in={"notch": name, "direction": "forward"}, central_at=None)
    return gear, replace(setup, gear=gear), revolve(gear, gear.setting(gear.notches[name]))


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("stem", STEMS)
def test_many_gears_alike_are_set_bit_for_bit_like_one(stem: str, rule: str) -> None:
    gear, _setup, turn = ruled(stem, rule)
    alone = central_place(gear.valve, turn)
    many = Harmonics(np.repeat(turn.spindle.c, 5, axis=0))
    places = place_by_rule(gear.valve, many, Ports.of(gear.valve), gear.crank)
    assert places.tolist() == [alone] * 5


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("stem", STEMS)
def test_nothing_worn_leaves_the_valve_where_the_drawing_sets_it_bit_for_bit(stem: str, rule: str) -> None:
    gear, setup, turn = ruled(stem, rule)
    for nothing in (SOUND, Condition(clearance={"crank pin": 0.0}, slot=(), heat={"rods": 0.0})):
        worn = assess_side(replace(setup, condition=nothing), list(setup.notches)[:1]).central_at
        assert worn == central_place(gear.valve, turn)


@pytest.mark.parametrize("rule", RULES)
def test_gears_of_their_own_are_each_set_by_the_rule(rule: str) -> None:
    gear, _setup, turn = ruled("dock_shunter", rule)
    shifts = np.array([[0.0], [3.0], [-1.5]])
    spindle = Harmonics(np.concatenate([turn.spindle.c * scale for scale in (1.0, 1.02, 0.97)]))
    spindle.c[:, :1] += shifts
    ports = Ports.of(gear.valve)
    places = place_by_rule(gear.valve, spindle, ports, gear.crank)
    ends = both_ends(displaced(spindle, places), ports, gear.crank, "forward")
    one, two = (ends[end] for end in ("front", "back"))
    apart = {
        "equal lead": one.lead - two.lead,
        "equal cutoff": one.percent["cutoff"] - two.percent["cutoff"],
        "equal opening": (one.opening + one.over_travel) - (two.opening + two.over_travel),
    }
    assert np.max(np.abs(apart[rule])) < 2e-9
    assert all(np.max(np.abs(other)) > 1e-4 for name, other in apart.items() if name != rule)


def test_where_no_place_makes_the_cutoffs_equal_the_cases_are_told() -> None:
    gear, _setup, turn = ruled("dock_shunter", "equal cutoff")
    small = turn.spindle.c * 0.05
    small[:, 0] = turn.spindle.c[:, 0]  # travels less than its lap: no port opens
    spindle = Harmonics(np.concatenate([turn.spindle.c, small]))
    with pytest.raises(RuleError) as refused:
        place_by_rule(gear.valve, spindle, Ports.of(gear.valve), gear.crank)
    assert refused.value.failed.tolist() == [False, True]
    least, most = extremes(spindle)
    assert (most - least)[1] < gear.valve.steam_lap


def test_a_place_that_is_given_is_kept() -> None:
    gear, setup, turn = ruled("metre_gauge", "equal lead")
    given = staying(gear, 123.0)
    assert assess_side(replace(setup, gear=given)).central_at == 123.0
    assert abs(float(turn.solution.along(VALVE_GUIDE).mean()) - central_place(gear.valve, turn)) < 20.0


@pytest.mark.parametrize("way", ["forward", "backward"])
@pytest.mark.parametrize("rule", RULES)
def test_a_loose_gear_is_set_by_what_is_read_of_it_in_motion(rule: str, way: str) -> None:
    """By an own play operator, run at 3,600 places, whose events are read off it."""
    _gear, setup, _turn = ruled("dock_shunter", rule)
    name = "full forward" if way == "forward" else "full backward"
    gear = with_valve(setup.gear, set_in={"notch": name, "direction": way})
    loose = Condition(clearance={"foot": 0.6, "die pin": 0.5, "crank pin": 0.4})
    side = assess_side(replace(setup, gear=gear, condition=loose), [name])
    count, sign = 3600, 1 if way == "forward" else -1
    turn = 2 * np.pi * np.arange(count) / count
    alone = side.motion.spindle[0](sign * turn)
    free = lost_motion(side.gear, side.settings[0], loose, count).total
    half = (free if sign > 0 else np.roll(free[::-1], 1)) / 2
    place = np.empty(count)
    last = alone[0]
    for n in [*range(count), *range(count)]:
        last = min(max(last, alone[n] - half[n]), alone[n] + half[n])
        place[n] = last
    v, crank = place - side.central_at, side.gear.crank
    lap, back = side.gear.valve.steam_lap, (sign * float(crank.back_crank_angle)) % (2 * np.pi)
    leads = [-v[0] - lap, np.interp(back, turn, v, period=2 * np.pi) - lap]
    shut = [turn[np.flatnonzero((s * v > lap) & ~(s * np.roll(v, -1) > lap))[-1]] for s in (-1, 1)]
    gone = [float(crank.fraction(sign * at)) for at in shut]
    apart = {
        "equal lead": leads[0] - leads[1],
        "equal opening": v.max() + v.min(),
        "equal cutoff": 100 * (gone[0] - (1 - gone[1])),
    }
    assert abs(apart[rule]) < (0.1 if rule == "equal cutoff" else 2e-4)  # a tenth of a degree is 0.1 % there
    still = assess_side(replace(setup, gear=gear), [name])
    assert abs(still.central_at - side.central_at) < 0.2  # play alike at both ends moves the place but little
