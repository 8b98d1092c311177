"""The rules by which a valve is set: one gear or many, the same place."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
import pytest

from linkmotion.events import both_ends
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.linkage import Harmonics
from linkmotion.linkage.turning_points import extremes
from linkmotion.revolution import Revolution, revolve
from linkmotion.valve import Ports, displaced
from linkmotion.valve_setting import RuleError, central_place, place_by_rule
from linkmotion.wear.condition import SOUND, Condition
from linkmotion.wear.effects import turned
from tests.gears_at_hand import EXAMPLES, example, with_valve

RULES = ("equal lead", "equal cutoff", "equal opening")
STEMS = [path.stem for path in EXAMPLES]


def ruled(stem: str, rule: str) -> tuple[Any, Any, Revolution]:
    """A gear set by a rule in its first notch, a function of its notches, and its turn there."""
    setup = example(stem).side_state()
    name = next(iter(setup.notches))
    gear = with_valve(setup.gear, set_by=rule, set_in={"notch": name, "direction": "forward"}, central_at=None)
    return gear, lambda notch: gear.setting(gear.notches[notch]), revolve(gear, gear.setting(gear.notches[name]))


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("stem", STEMS)
def test_many_gears_alike_are_set_bit_for_bit_like_one(stem: str, rule: str) -> None:
    gear, setting_of, turn = ruled(stem, rule)
    alone = central_place(gear, setting_of)
    many = Harmonics(np.repeat(turn.spindle.c, 5, axis=0))
    places = place_by_rule(gear.valve, many, Ports.of(gear.valve), gear.crank)
    assert places.tolist() == [alone] * 5


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("stem", STEMS)
def test_nothing_worn_leaves_the_valve_where_the_drawing_sets_it_bit_for_bit(stem: str, rule: str) -> None:
    gear, setting_of, _turn = ruled(stem, rule)
    for nothing in (SOUND, Condition(clearance={"crank pin": 0.0}, slot=(), heat={"rods": 0.0})):
        worn = central_place(gear, setting_of, partial(turned, condition=nothing))
        assert worn == central_place(gear, setting_of)


@pytest.mark.parametrize("rule", RULES)
def test_gears_of_their_own_are_each_set_by_the_rule(rule: str) -> None:
    gear, _setting_of, turn = ruled("dock_shunter", rule)
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
    gear, _setting_of, turn = ruled("dock_shunter", "equal cutoff")
    small = turn.spindle.c * 0.05
    small[:, 0] = turn.spindle.c[:, 0]  # travels less than its lap: no port opens
    spindle = Harmonics(np.concatenate([turn.spindle.c, small]))
    with pytest.raises(RuleError) as refused:
        place_by_rule(gear.valve, spindle, Ports.of(gear.valve), gear.crank)
    assert refused.value.failed.tolist() == [False, True]
    least, most = extremes(spindle)
    assert (most - least)[1] < gear.valve.steam_lap


def test_a_place_that_is_given_is_kept() -> None:
    gear, setting_of, turn = ruled("metre_gauge", "equal lead")
    given = replace(gear, valve=replace(gear.valve, set_by=None, set_in=None, central_at=123.0))
    assert central_place(given, setting_of) == 123.0
    assert abs(float(turn.solution.along(VALVE_GUIDE).mean()) - central_place(gear, setting_of)) < 20.0
