"""Wear in engine files, figures in motion, which wear matters, and states set side by side."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

from linkmotion.cli import app
from linkmotion.engine import Engine
from linkmotion.files.engine_file import parse_engine, read_engine
from linkmotion.files.faults import FileError
from linkmotion.studies.assess import assess, assess_side
from linkmotion.studies.compare import borrowed, compare, swapped
from linkmotion.studies.findings import findings
from linkmotion.studies.in_motion import in_motion
from linkmotion.studies.which_wear import which_wear
from linkmotion.wear.condition import Condition, FaceLoss
from linkmotion.wear.lost_motion import lost_motion
from linkmotion.wear.running import Load

ROOT = Path(__file__).parents[1]
DOCK, METRE = ROOT / "examples" / "dock_shunter.toml", ROOT / "examples" / "metre_gauge.toml"
WEAR = """
[state.worn.both.wear]
clearance = { "die pin" = 0.5, foot = 0.3 }
die_clearance = 0.1
slot = [ { at = 90, front = 0.1, back = 0.4 }, { at = -90, front = 0.2 } ]

[state.worn.left.wear]
clearance = { foot = 0.6 }
bow = { "radius rod" = 2.0 }
axle_height = 4
"""


def worn(more: str = WEAR) -> Engine:
    return parse_engine(METRE.read_text(encoding="utf-8") + more, "worn.toml")


def test_wear_is_layered_gauge_by_gauge_and_readings_are_put_in_order():
    left, right = (worn().condition("worn", side) for side in ("left", "right"))
    assert left.clearance == {"die pin": 0.5, "foot": 0.6}
    assert right.clearance == {"die pin": 0.5, "foot": 0.3}
    assert left.slot == right.slot == (FaceLoss(-90.0, 0.2, 0.0), FaceLoss(90.0, 0.1, 0.4))
    assert (left.bow, right.bow, left.axle_height) == ({"radius rod": 2.0}, {}, 4.0)
    assert worn().condition("drawing", "left").sound


@pytest.mark.parametrize(
    ("text", "key", "told"),
    [
        ('[state.x.left.wear]\nclearance = { "die pun" = 1 }', 'clearance."die pun"', "did you mean 'die pin'"),
        ('[state.x.left.wear]\nbow = { "lifting link" = 1 }', 'bow."lifting link"', "known here"),
        ("[state.x.left.wear]\nbent = { toe = { ahead = 1 } }", "bent.toe", "known here: foot"),
        ('[state.x.left.wear]\nangle_slip = { "return crunk" = 1 }', "angle_slip", "did you mean 'return crank'"),
        ("[state.x.left.wear]\nclearance = { foot = -1 }", "clearance.foot", "negative"),
        ('[state.x.left.wear]\nclearance = { "die pin" = "9 in" }', 'clearance."die pin"', "over 10 mm; is the unit"),
        ("[state.x.left.wear]\ndie_offset = -100", "die_offset", "over 10 mm"),
        ("[state.x.left.wear]\nslot = [ { at = 1, back = 80 } ]", "slot.0.back", "over 10 mm"),
        ("[state.x.left.wear]\nslot = [ { at = -900, back = 1 } ]", "slot", "-900.00 mm is far beyond the slot"),
        ("[state.x.left.wear]\nslot = 3", "slot", "write [ { at = …, front = …, back = … }, … ]"),
        ("[state.x.left.wear]\nslot = [ { at = 1, frunt = 1 } ]", "slot.0.frunt", "did you mean 'front'"),
        ("[state.x.left.wear]\nclearance = 3", "clearance", "write { NAME = …, … }"),
        ("[state.x.left.wear]\nbent = { foot = 1 }", "bent.foot", "write { ahead = …, up = … }"),
        ("[state.x.left.wear]\nheat = { boiler = 3 }", "heat.boiler", "rods"),
        ("[state.x.left.wear]\nheat = { boiler = 3 }", "heat.boiler: read", "rods"),
        ("[state.x.left.wear]\nheat = { spindle = 3 }", "heat", "spindle_length"),
        ("[state.x.left.wear]\ntwist = 0.5", "twist", "die_length"),
        ("[state.x.left.wear]\nslot = [ { at = 1 }, { at = 1 } ]", "slot", "two readings at one place"),
        ("[state.x.left.wear]\nwobble = 3", "wobble", "known here"),
    ],
)
def test_wear_that_cannot_be_is_told_with_its_key(text: str, key: str, told: str):
    with pytest.raises(FileError) as caught:
        worn("\n" + text)
    assert key in str(caught.value)
    assert told in str(caught.value)
    assert caught.value.line is not None


def test_what_was_made_good_in_a_later_state_is_no_longer_listed():
    slipped = '\n[state.x.left.wear]\nangle_slip = { "return crank" = 0.5 }\nclearance = { foot = 0.1 }'
    engine = worn(slipped + '\n[state.y]\nbased_on = "x"\n[state.y.left.wear]\nangle_slip = { "return crank" = 0 }')
    names = {state: {item.name for item in which_wear(engine, state, "left", ["mid"]).items} for state in ("x", "y")}
    assert names["x"] - names["y"] == {"return crank slipped"}


def test_lost_motion_of_a_side_is_the_sum_of_its_joints_in_every_notch():
    engine = worn()
    left = assess(engine, "worn").sides[0]
    for i, setting in enumerate(left.settings):
        alone = lost_motion(left.gear, setting, left.condition).total
        assert np.max(np.abs(left.lost[i] - alone)) < 1e-12
    assert left.lost.min() > 0.5
    assert assess(engine).sides[0].lost.max() == 0.0


def test_without_play_the_figures_in_motion_are_the_exact_events():
    side = assess(read_engine(DOCK)).sides[0]
    found = in_motion(side, 2, "forward").figures()
    assert found["cutoff front"] == side.events["forward"]["front"].percent["cutoff"][2]
    assert found["lead back"] == side.events["forward"]["back"].lead[2]
    assert found["lost motion"] == 0.0


def test_sampled_events_are_the_exact_ones_when_the_play_is_next_to_nothing():
    setup = read_engine(DOCK).side_state()
    exact = assess_side(setup)
    side = replace(exact, condition=Condition(clearance={"foot": 1e-9}))
    for i in range(len(side.notches)):
        sampled, wanted = (in_motion(own, i, "forward").figures() for own in (side, exact))
        for figure in set(wanted) - {"lost motion"}:
            assert abs(sampled[figure] - wanted[figure]) < 2e-3, figure


def test_drag_takes_half_the_play_off_the_lead_and_inertia_puts_it_on():
    exact = assess_side(read_engine(DOCK).side_state())
    side = replace(exact, condition=Condition(clearance={"valve pin": 0.4}))
    free = lost_motion(side.gear, side.settings[0], side.condition, 720).total
    still = in_motion(exact, 0, "forward").figures()
    dragged = in_motion(replace(side, load=Load(drag=500.0)), 0, "forward").figures()
    thrown = in_motion(replace(side, load=Load(drag=0.0, mass=60.0, revolutions=300.0)), 0, "forward").figures()
    assert still["lead front"] - dragged["lead front"] == pytest.approx(free[0] / 2, abs=1e-3)
    assert thrown["lead front"] - still["lead front"] == pytest.approx(free[0] / 2, abs=1e-3)
    assert dragged["travel"] < still["travel"] < thrown["travel"]


def test_an_item_alone_weighs_what_the_drawing_with_that_item_shows():
    engine = worn("\n[state.x.left.eccentric_rod]\nlength = 1000.5\n[state.x.left.wear]\nclearance = { foot = 0.2 }")
    rod = engine.drawing["eccentric_rod"]["length"]
    engine = worn(
        f"\n[state.x.left.eccentric_rod]\nlength = {rod + 1}\n[state.x.left.wear]\nclearance = {{ foot = 0.2 }}"
    )
    found = which_wear(engine, "x", "left", ["full forward"])
    assert {item.name for item in found.items} == {"eccentric rod, length", "clearance at the foot"}
    alone = next(item for item in found.items if item.name == "eccentric rod, length")
    base = assess(engine, notches=["full forward"]).sides[0]
    longer = parse_engine(engine.text.replace("[state.x.left.wear]\nclearance = { foot = 0.2 }", ""), "x")
    kept = replace(longer.side_state("x", "left").gear.valve, central_at=base.central_at, set_by=None, set_in=None)
    setup = longer.side_state("x", "left")
    side = assess_side(replace(setup, gear=replace(setup.gear, valve=kept)), ["full forward"])
    change = side.events["forward"]["front"].lead[0] - base.events["forward"]["front"].lead[0]
    assert alone.changes["lead front"] == (pytest.approx(change, abs=1e-12), "full forward")
    assert alone.lost == 0.0


def test_items_come_in_order_of_weight_and_renewing_the_worst_gains_most():
    found = which_wear(read_engine(DOCK), "as found", "left", ["full forward", "forward 25"])
    weights = [item.weight for item in found.items]
    assert weights == sorted(weights, reverse=True)
    assert max(found.items, key=lambda item: item.gain) is found.items[0]
    assert found.together.lost > sum(item.lost for item in found.items) * 0.8


def test_a_state_like_the_drawing_has_nothing_to_weigh():
    found = which_wear(worn('\n[state.x]\nnote = "as drawn"'), "x", "right", ["mid"])
    assert (found.items, found.together.weight) == ((), 0.0)


def test_a_part_that_changes_sides_takes_its_events_with_it():
    engine = worn("\n[state.x.left.radius_rod]\nlength = 1062")
    changed, name = swapped(engine, "radius_rod", "x")
    result = compare(changed, ["x", name], ["full forward"])
    rows = {(row["side"], row["end"]): row for row in result.rows}
    for end in ("front", "back"):
        left, right = rows["left", end]["cutoff_percent"], rows["right", end]["cutoff_percent"]
        assert (left[0], left[1]) == (right[1], right[0])
        assert left[0] != left[1]


def test_a_part_of_a_sister_engine_is_taken_as_drawn_there():
    engine, sister = worn(""), worn("")
    text = METRE.read_text(encoding="utf-8")
    length = sister.drawing["union_link"]["length"]
    other = parse_engine(text.replace("Serravine", "Other"), "other.toml")
    other = replace(other, drawing={**other.drawing, "union_link": {"length": length + 2}})
    changed: Any
    changed, name = borrowed(engine, other, "union_link", "left")
    assert changed.gear(name, "left").union_link.length == length + 2
    assert changed.gear(name, "right").union_link.length == length
    with pytest.raises(KeyError):
        borrowed(engine, read_engine(ROOT / "examples" / "gooch_tank.toml"), "radius_rod", "left")


def test_the_commands_print_rank_and_comparison_and_draw_the_picture(tmp_path: Path):
    picture = tmp_path / "weights.svg"
    ran = CliRunner().invoke(
        app, ["wear", str(DOCK), "--state", "as found", "--notch", "mid", "--picture", str(picture)]
    )
    assert ran.exit_code == 1, ran.output
    assert "radius rod, length" in ran.output
    assert picture.read_text(encoding="utf-8").count("gained by renewing it") == 1
    told = json.loads(
        CliRunner().invoke(app, ["wear", str(DOCK), "--state", "as found", "--notch", "mid", "--json"]).output
    )
    assert [side["side"] for side in told["sides"]] == ["left", "right"]
    ran = CliRunner().invoke(app, ["compare", str(DOCK), "--state", "drawing", "--state", "as found", "--notch", "mid"])
    assert ran.exit_code == 1
    assert "drawing: leads, cutoffs and lost motion within the targets" in " ".join(ran.output.split())


@pytest.mark.parametrize(("clearance", "binds"), [(0.2, False), (0.05, True)])
def test_a_twisted_link_is_told_as_a_question_of_binding_and_not_of_events(clearance: float, binds: bool):
    engine: Any = worn(f"\n[state.x.both.wear]\ntwist = 0.5\ndie_length = 70\ndie_side_clearance = {clearance}")
    told = [finding for finding in findings(assess(engine, "x")) if "twist" in finding.words]
    slot = engine.gear().slot
    assert [(f.out, f.side, f.size) for f in told] == [
        (binds, "both", pytest.approx(0.5 * 70 / (slot.top + slot.bottom), rel=1e-12))
    ]
    assert ("binds" if binds else "goes") in told[0].words
    flat, twisted = assess(engine).sides[0], assess(engine, "x").sides[0]
    assert np.array_equal(flat.motion.spindle.c, twisted.motion.spindle.c)


def test_hold_takes_the_tolerances_of_the_engine_file():
    tight = METRE.read_text(encoding="utf-8") + "\n[tolerances.radius_rod]\nlength = 0.01\n"
    engine = parse_engine(tight)
    assert engine.tolerances == {"radius_rod": {"length": 0.01}}


def test_a_gain_is_what_a_state_without_the_item_has_less_of_every_figure():
    rod = worn().drawing["eccentric_rod"]["length"]
    wear = "[state.{0}.left.wear]\nclearance = {{ foot = 0.4 }}\n"
    both = f"\n[state.x.left.eccentric_rod]\nlength = {rod + 1}\n" + wear.format("x") + wear.format("y")
    engine = worn(both)
    found, without = (which_wear(engine, state, "left", ["full forward"]) for state in ("x", "y"))
    gains = next(item for item in found.items if item.name == "eccentric rod, length").gains
    assert set(gains) == set(found.together.changes)
    for figure, gain in gains.items():
        left = abs(found.together.changes[figure][0]) - abs(without.together.changes[figure][0])
        assert gain == pytest.approx(left, abs=1e-12), figure
    assert abs(gains["lead difference"]) > 0.1
    assert gains["lost motion"] == pytest.approx(0.0, abs=2e-3)
    ran = CliRunner().invoke(app, ["wear", str(DOCK), "--state", "as found", "--side", "left", "--gains"])
    assert "taken off by renewing it alone" in " ".join(ran.output.split())
