"""Doubt to the end: what the doubts of figures as taken make of leads, events and targets."""

from __future__ import annotations

import json
import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from linkmotion.engine import Engine
from linkmotion.files.engine_file import edit_engine, parse_engine, read_engine
from linkmotion.measuring.taken import NORMAL
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.compared import every_compared
from linkmotion.studies.doubts.event_doubts import EventDoubts, event_doubts
from linkmotion.studies.doubts.judged import OUT, UNTOLD, WITHIN, Judged, doubtful
from linkmotion.studies.figures.figure import as_assessed, end_figure, figures_of
from tests.bad_engines.changed import DOCK, EXAMPLES, changed
from tests.bad_engines.command import Command
from tests.benchmarks.doubts import coverage

SISTER = read_engine(EXAMPLES / "dock_sister.toml")
STEP = 0.002  # inches or degrees


def side_of(engine: Engine, state: str = "drawing") -> SideEvents:
    return assess(engine, state).sides[0]


@cache
def sister(state: str) -> EventDoubts:
    found = event_doubts(SISTER, side_of(SISTER, state))
    assert found is not None
    return found


MOVED = {  # the figure written plainly a little more and less, and the source of its doubt
    "combination_lever.upper_arm": (2.75, ("combination_lever", "upper_arm")),
    "expansion_link.trunnion_x": (34.5, ("expansion_link", "trunnion_x")),
    "valve.steam_lap": (0.8125, ("valve", "steam_lap")),
    "connecting_rod.length": (57.5, ("connecting_rod", "length")),
    "reversing.notches.forward 50": (-13.25, ("reversing", "notches", "forward 50")),
    "reversing.notches.full forward": (-21.25, ("reversing", "notches", "full forward")),  # where the valve is set, too
    "wheels.diameter": (41.875, ("wheels", "diameter")),  # three heights at once, and the return crank's angle
    "return_crank.length": (10.472, ("return_crank", "length")),  # and the angle, which is worked from it
    "return_crank.angle.foot_movement": (9.83, ("return_crank", "angle")),
}


@pytest.mark.parametrize("state", ["drawing", "as found"])
@pytest.mark.parametrize("key", MOVED)
def test_each_sources_part_is_what_moving_its_figure_does_to_the_whole_engine(key: str, state: str) -> None:
    """The file written anew with the figure moved: rule of the valve, die places and angles worked out again.

    In the state "as found" the valve stands where the drawing's rule put it.
    """
    value, path = MOVED[key]
    doubts = sister(state)
    # in "as found" the study takes the play not to change with the dimensions: 0.35 mm of it then misses so much
    near = 2e-4 if state == "drawing" else 6e-4
    more, less = (side_of(edit_engine(SISTER, key, value + way * STEP), state) for way in (1, -1))
    unit = 1.0 if "notches" in key else 25.4
    looked_at = [f for f in figures_of(more) if f.kind in ("lead", "cutoff", "compression", "opening")]
    for figure in looked_at:
        slope = (as_assessed(more, figure) - as_assessed(less, figure)) / (2 * STEP * unit)
        whole = SISTER.taken[path]
        own = {source: part.amount for source, part in whole.parts.items() if tuple(source)[:-1] == path}
        parts = doubts.parts(figure)
        for source, amount in own.items():
            expected = slope * (amount if key != "return_crank.angle.foot_movement" else 0.01 * 25.4 / NORMAL)
            assert (parts[source].amount if source in parts else 0.0) == pytest.approx(expected, rel=0.02, abs=near)


def test_a_figure_common_to_both_sides_moves_both_alike_and_adds_no_difference() -> None:
    found = doubtful(assess(SISTER, "as found"))
    assert found is not None
    sides = [own for own in found.judged if own.finding.what == "sides" and own.finding.unit == "mm"]
    ends = [own for own in found.judged if own.finding.what == "lead"]
    assert max(own.doubt for own in sides) < 0.02 * max(own.doubt for own in ends)
    assert max(own.doubt for own in ends) > 1.0


def test_leads_equal_by_the_rule_have_no_doubt_of_being_equal() -> None:
    found = doubtful(assess(SISTER))
    assert found is not None
    first = next(own for own in found.judged if own.finding.notch == "full forward" and own.finding.what == "lead")
    assert first.doubt < 1e-6
    assert first.told == WITHIN


def test_the_doubt_of_a_lead_in_full_is_that_of_gears_drawn() -> None:
    doubts = sister("drawing")
    for notch in ("forward 50", "full backward"):
        lead = end_figure("lead", notch, "forward" if "50" in notch else "backward", "front")
        low, high = np.quantile(doubts.drawn(lead), [0.025, 0.975])
        assert doubts.doubt(lead) == pytest.approx((high - low) / 2, rel=0.06)  # of 2,000 drawn


def test_where_slopes_bend_the_gears_drawn_are_believed() -> None:
    doubts = sister("drawing")
    admission = end_figure("admission", "full backward", "backward", "front")
    assert doubts.bends(admission)
    assert not doubts.bends(end_figure("lead", "full backward", "backward", "front"))
    assert np.mean(np.abs(doubts.off(admission)) <= doubts.doubt(admission)) == pytest.approx(0.95, abs=0.01)
    low, middle, high = np.quantile(doubts.drawn(admission), [0.025, 0.5, 0.975])
    assert (high - middle) / (middle - low) > 1.15  # no even spread, as a slope alone would have it


@pytest.mark.parametrize("state", ["drawing", "as found"])
def test_what_is_advised_to_be_measured_better_is_enough(state: str) -> None:
    found = doubtful(assess(SISTER, state))
    assert found is not None
    untold = [own for own in found.of(UNTOLD) if own.better]
    assert len(untold) >= 3
    for own in untold[:3]:
        engine = SISTER
        for one in own.better:
            where = tuple(one.dimension.split("."))
            whole = SISTER.taken[where]
            mark = "in" if one.unit == "mm" else ""
            scale = 25.4 if one.unit == "mm" else 1.0
            shared = [source for source in whole.parts if tuple(source)[:-1] != where]
            value = f"{whole.value / scale!r} ± {one.to / scale!r} {mark}".strip()
            if shared:  # a height from the rail: its own reading better, the wheel as it is
                key, height = f"{one.dimension}.from_rail", whole.value / 25.4 + 41.875 / 2
                engine = edit_engine(engine, key, f"{height!r} ± {one.to / 25.4!r} in")
            else:
                engine = edit_engine(engine, one.dimension, value)
        again = doubtful(assess(engine, state))
        assert again is not None
        same = next(other for other in again.judged if other.finding.place == own.finding.place)
        assert same.told == WITHIN
        assert same.doubt == pytest.approx(own.finding.limit - own.finding.size, rel=0.12)


@pytest.mark.parametrize(("limit", "told"), [("1", WITHIN), ("0.02", UNTOLD), ("0.0001", UNTOLD)])
def test_what_a_doubt_reaches_over_the_target_cannot_be_told(limit: str, told: str) -> None:
    text = changed("expansion_link", "trunnion_x", '"34 1/2 ± 0.05 in"', DOCK)
    lead = mid_lead(changed("targets", "lead_difference", f'"{limit} in"', text))
    assert lead.told == told
    assert lead.doubt > 0.4  # mm


def test_what_is_out_by_more_than_its_doubt_is_out() -> None:
    worn = '"29 1/4 ± 0.0001 in"'
    text = changed("combination_lever", "lower_arm", worn, DOCK)
    lead = mid_lead(
        f'{text}\n[state."back pin".both.valve]\nsteam_lap_front = "3/4"\nsteam_lap_back = "13/16"\n', "back pin"
    )
    assert lead.finding.size == pytest.approx(25.4 / 16, rel=0.05)  # the laps' difference
    assert lead.told == OUT
    assert lead.better == ()


def mid_lead(text: str, state: str = "drawing") -> Judged:
    found = doubtful(assess(parse_engine(text), state, notches=["mid"]))
    assert found is not None
    return next(own for own in found.judged if own.finding.what == "lead")


def test_every_target_that_is_looked_at_is_judged_and_findings_are_those_passed() -> None:
    found = assess(SISTER, "as found")
    every = list(every_compared(found))
    sides = len(found.sides)
    driven = sum(len(side.driven(i)) for side in found.sides for i in range(len(side.notches)))
    assert sides == 2
    lost = [own for own in every if own.finding.what == "lost motion"]
    assert [own.finding.side for own in lost] == ["left"]  # the right side has no play
    assert len(every) == 2 * driven + 4 * driven // 2 + len(lost)
    assert all(len(own.figures) == 2 for own in every if own not in lost)


def test_a_file_without_doubts_has_none_at_the_end() -> None:
    engine = parse_engine(DOCK)
    assert event_doubts(engine, side_of(engine)) is None
    summed = parse_engine(changed("radius_rod", "length", '"40 in - 2 1/8 in"', DOCK))
    assert doubtful(assess(summed)) is None


def test_check_says_how_surely_targets_are_met(linkmotion: Command, tmp_path: Path) -> None:
    file = tmp_path / "engine.toml"
    file.write_text(SISTER.text, encoding="utf-8")
    run = linkmotion("check", file, "--tables")
    assert run.code == 0
    said = " ".join(run.out.split())
    assert "as surely as 19 in 20: 7 of 10 targets of leads and cutoffs within, 0 out; 3 cannot be told." in said
    assert "measure expansion link: trunnion x to ± 0.018 in" in said
    assert "33 figures are as they were taken (--taken tells each)" in said
    every = " ".join(linkmotion("check", file, "--tables", "--taken").out.split())
    assert "expansion_link.slot_radius 37.874 ± 0.067 in, by chord 8 in and rise 0.2176 ± 0.0004 in" in every
    assert "doubts, 19 in 20" in every
    told = json.loads(linkmotion("check", file, "--json").out)
    assert [row["told"] for row in told["held"]].count("cannot be told") == 3
    rod = next(row for row in told["taken"] if row["dimension"] == "radius_rod.length")
    assert (rod["figure"], rod["unit"]) == (37.875, "in")
    lead = next(row for row in told["doubts"] if (row["notch"], row["figure"]) == ("mid", "lead"))
    assert 0.01 < lead["doubt"] < 0.02
    sure = file.with_name("sure.toml")
    sure.write_text(changed("union_link", "length", '"14 ± 0.001 in"', DOCK), encoding="utf-8")
    said = " ".join(linkmotion("check", sure, "--tables").out.split())
    assert "as surely as 19 in 20: leads and cutoffs within their targets." in said


def test_stated_doubts_of_events_hold_19_times_in_20() -> None:
    """A few of the measurings of ``tests/benchmarks/doubts.py``, which has 500."""
    held = coverage(16, seed=5)
    of_case = np.mean(list(held.values()), axis=0)
    assert 0.88 <= float(np.mean(of_case)) <= 0.995
    assert len(held) == 64
    assert not math.isclose(float(np.min(of_case)), 1.0, rel_tol=1e-9)  # a doubt too wide would always hold
