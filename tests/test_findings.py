"""Findings: what is out of target, by how much and where, and what comes first."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from linkmotion.engine import Engine, Targets
from linkmotion.studies.assess import assess
from linkmotion.studies.findings import Finding, findings
from linkmotion.valve import ENDS
from linkmotion.views.finding_words import finding_lines
from linkmotion.views.tables import Shown
from tests.gears_at_hand import EXAMPLES, example

STEMS = tuple(path.stem for path in EXAMPLES)


def told(engine: Engine, state: str = "drawing", **targets: Any) -> list[Finding]:
    return findings(assess(replace(engine, targets=replace(Targets(), **targets)), state))


WIDE: dict[str, Any] = {
    "lead_difference": 99.0,
    "cutoff_difference": 99.0,
    "side_lead_difference": 99.0,
    "side_cutoff_difference": 99.0,
    "mid_cutoff_difference": 99.0,
    "lost_motion": 99.0,
}


@pytest.mark.parametrize("stem", STEMS)
def test_nothing_is_out_when_everything_is_allowed(stem: str) -> None:
    for state in example(stem).state_names:
        assert [f for f in told(example(stem), state, **WIDE) if f.out and f.what != "die"] == []


@pytest.mark.parametrize("stem", [stem for stem in STEMS if example(stem).states])
def test_with_nothing_allowed_every_difference_is_told_with_its_size(stem: str) -> None:
    engine, state = example(stem), example(stem).state_names[1]
    found = told(engine, state, lead_difference=0.0, cutoff_difference=0.0, mid_cutoff_difference=0.0)
    found_sides = assess(engine, state)
    alike = found_sides.alike  # then told once, of both
    for side in found_sides.sides:
        whose = "both" if alike else side.side
        for row, notch in enumerate(side.notches):
            for way in side.driven(row):
                front, back = (side.events[way][end] for end in ENDS)
                sizes = {"lead": front.lead[row] - back.lead[row]}
                sizes["cutoff"] = front.percent["cutoff"][row] - back.percent["cutoff"][row]
                for what, size in sizes.items():
                    own = [
                        f
                        for f in found
                        if (f.what, f.side, f.notch, f.direction, f.out) == (what, whose, notch, way, True)
                    ]
                    assert [f.size for f in own] == [abs(size)]
                    assert own[0].unit == ("mm" if what == "lead" else "percent")
                    assert own[0].words.startswith("the front" if size > 0 else "the back")


def test_the_limit_itself_is_allowed_and_a_hair_less_is_not() -> None:
    engine = example("dock_shunter")
    size = next(f.size for f in told(engine, "as found", lead_difference=0.0) if f.what == "lead")
    for limit, out in ((size, 0), (size * (1 - 1e-9), 1)):
        found = [f for f in told(engine, "as found", **WIDE | {"lead_difference": limit}) if f.what == "lead" and f.out]
        assert sum(f.size == size for f in found) == out


def test_the_sides_are_compared_end_by_end() -> None:
    engine = example("metre_gauge")
    found = told(engine, "as found", side_lead_difference=0.0, side_cutoff_difference=0.0)
    left, right = assess(engine, "as found").sides
    row = left.notches.index("full forward")
    wanted = {abs(left.events["forward"][end].lead[row] - right.events["forward"][end].lead[row]) for end in ENDS}
    own = [f for f in found if f.what == "sides" and f.notch == "full forward" and f.unit == "mm"]
    assert {f.size for f in own} == wanted
    assert all(f.side == "" and f.direction == "forward" for f in own)


def test_sides_alike_are_told_once_as_both() -> None:
    found = told(example("dock_shunter"), lead_difference=0.0, cutoff_difference=0.0)
    assert found
    assert {f.side for f in found} == {"both"}
    assert not [f for f in found if f.what == "sides"]


def test_a_wanted_lead_is_looked_at_in_every_notch() -> None:
    engine = example("metre_gauge")
    side = assess(engine).sides[0]
    found = [f for f in told(engine, **WIDE | {"lead": 9.0, "lead_within": 0.5}) if f.what == "lead" and f.out]
    sizes = {
        (notch, way, abs(side.events[way][end].lead[row] - 9.0))
        for row, notch in enumerate(side.notches)
        for way in side.driven(row)
        for end in ENDS
        if abs(side.events[way][end].lead[row] - 9.0) > 0.5
    }
    assert sizes
    assert {(f.notch, f.direction, f.size) for f in found} == sizes


def test_a_die_past_the_slot_s_end_is_told_with_the_overrun() -> None:
    engine = example("metre_gauge")
    _low, high = assess(engine).sides[0].motion.die_reach
    tables = {table: dict(keys) for table, keys in engine.drawing.items()}
    tables["expansion_link"]["slot_top"] = float(np.max(high)) - 3.0
    found = [f for f in told(replace(engine, drawing=tables), **WIDE) if f.what == "die"]
    assert max(f.size for f in found) == pytest.approx(3.0, abs=1e-9)
    assert {f.notch for f in found} == {
        n for n, h in zip(assess(engine).sides[0].notches, high, strict=True) if h > np.max(high) - 3
    }
    assert all(f.out and "top" in f.words for f in found)


def test_a_port_that_never_opens_and_a_blind_lead_are_told() -> None:
    engine = example("dock_shunter")
    tables = {table: dict(keys) for table, keys in engine.drawing.items()}
    tables["valve"]["steam_lap"] = 33.0
    found = told(replace(engine, drawing=tables), **WIDE)
    side = assess(replace(engine, drawing=tables)).sides[0]
    never = {
        (n, way)
        for r, n in enumerate(side.notches)
        for way in side.driven(r)
        if side.events[way]["front"].missing["steam"][r]
    }
    assert never
    assert {
        (f.notch, f.direction) for f in found if f.what == "port" and "front port, to steam: never opens" in f.words
    } == never
    blind = [f for f in found if f.what == "lead" and not f.out and f.notch == "full forward"]
    assert {f.size for f in blind} == {-side.events["forward"][end].lead[0] for end in ENDS}


def test_what_is_out_comes_first() -> None:
    engine = example("dock_shunter")
    tables = {table: dict(keys) for table, keys in engine.drawing.items()}
    tables["valve"]["steam_lap"] = 33.0
    order = [f.out for f in told(replace(engine, drawing=tables), lead_difference=0.01)]
    assert order == sorted(order, reverse=True)
    assert set(order) == {True, False}


def test_places_of_one_size_are_told_as_one_and_not_as_from_it_to_itself() -> None:
    one = told(example("metre_gauge"), "as found")[0]
    alike = [replace(one, notch=notch, size=2.0) for notch in ("full forward", "forward 50", "mid", "forward 25")]
    (line,) = finding_lines(alike, Shown("mm"))
    assert line.words.endswith("The same in 3 more places, 2.00 mm each")
