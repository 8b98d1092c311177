"""``linkmotion wear``: every kind of wear on both families, sentences, sides, events in motion, lost motion."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

from linkmotion.cli import app
from linkmotion.engine import Engine
from linkmotion.files.engine_file import parse_engine
from linkmotion.files.faults import FileError
from linkmotion.studies.which_wear import WhichWear, which_wear
from linkmotion.studies.worn_rows import lost_round_the_wheel, moving_rows
from linkmotion.views.tables import Shown
from linkmotion.views.wear_view import sentence, verdict
from linkmotion.wear.lost_motion import DIE
from linkmotion.wear.running import Load
from tests.gears_at_hand import EXAMPLES

ENGINES = {path.stem: path for path in EXAMPLES}
PINS = {
    "metre_gauge": ("foot", "foot", "return crank", "eccentric rod"),
    "stephenson_goods": ("forward pin", "backward pin", "forward eccentric", "forward eccentric rod"),
}
CHANGED = {"metre_gauge": "expansion_link", "stephenson_goods": "valve"}


def everything(stem: str) -> str:
    """All eight items of wear that a gauge can find, on the left side."""
    pin, bent, crank, rod = PINS[stem]
    return f"""
[state.worn.left.wear]
clearance = {{ "{pin}" = "0.3 mm", "die pin" = "0.2 mm" }}
die_clearance = "0.1 mm"
slot = [ {{ at = "-60 mm", front = "0.1 mm", back = "0.3 mm" }}, {{ at = "60 mm", back = "0.1 mm" }} ]
die_offset = "0.1 mm"
bow = {{ "{rod}" = "4 mm" }}
bent = {{ "{bent}" = {{ ahead = "0.5 mm" }} }}
twist = "0.5 mm"
die_length = "70 mm"
die_side_clearance = "0.05 mm"
angle_slip = {{ "{crank}" = 1.5 }}
axle_height = "-5 mm"
heat = {{ rods = 30, spindle = 100, frame = 20 }}
spindle_length = "700 mm"
"""


def worn(stem: str, more: str) -> Engine:
    return parse_engine(ENGINES[stem].read_text(encoding="utf-8") + more, f"{stem}.toml")


def weighed(stem: str, more: str, side: str = "left", **wishes: Any) -> WhichWear:
    engine = worn(stem, more)
    return which_wear(engine, "worn", side, [next(iter(engine.side_state().notches))], **wishes)


@pytest.mark.parametrize("stem", PINS)
def test_every_kind_of_wear_has_its_line_and_its_sentence(stem: str, tmp_path: Path) -> None:
    file = tmp_path / "worn.toml"
    file.write_text(worn(stem, everything(stem)).text, encoding="utf-8")
    notch = next(iter(worn(stem, "").side_state().notches))
    ran = CliRunner().invoke(
        app, ["wear", str(file), "--state", "worn", "--side", "left", "--notch", notch, "--moving", "--lost"]
    )
    assert ran.exit_code == 1, ran.exception
    pin, bent, crank, rod = PINS[stem]
    items = [f"clearance at the {pin}", "clearance at the die pin", "die slack in the slot", "slot worn",
             "die's pin hole off its middle", f"{rod} bowed", f"link bent at the {bent}", f"{crank} slipped",
             "axle off its running height"]  # fmt: skip
    items += [f"{part} warm, in service" for part in ("rods", "spindle", "frame")]
    for item in items:
        assert f"\n{item} " in ran.output
        told = next(line for line in ran.output.splitlines() if line.startswith((" · ", " ✗ ")) and item in line)
        assert told.endswith(".")
    assert "the die binds" in ran.output
    assert "events in motion, drag 1 N, assumed (in brackets:" in " ".join(ran.output.split())
    assert "lost motion at the spindle, wheel held" in ran.output
    assert "no repair, allow for it when setting cold" in " ".join(ran.output.split())


def test_a_shift_of_the_valve_is_told_as_leads_driven_apart() -> None:
    found = weighed("metre_gauge", '\n[state.worn.left.wear]\ndie_offset = "0.5 mm"\n')
    (item,) = found.items
    size, notch = item.changes["lead difference"]
    told = sentence(item, found, Shown("mm"))
    end = "front" if size > 0 else "back"
    assert f"in {notch} it drives the leads of the ends {abs(size):.2f} mm apart, the {end} one greater" in told
    assert item.worst == "lead difference"


def test_what_is_worn_alike_on_both_sides_leaves_the_sides_alike_and_renewed_on_one_does_not() -> None:
    alike = weighed("metre_gauge", '\n[state.worn.both.wear]\ndie_offset = "0.3 mm"\n')
    assert alike.together.changes["lead between sides"][0] == 0.0
    apart = weighed("metre_gauge", '\n[state.worn.left.wear]\ndie_offset = "0.3 mm"\n')
    assert apart.together.changes["lead between sides"][0] == apart.items[0].changes["lead between sides"][0] != 0.0
    assert alike.items[0].gain < apart.items[0].gain  # the other side is left as it was found
    one_sided = weighed("metre_gauge", '\n[state.worn.right.wear]\ndie_offset = "0.3 mm"\n')
    assert one_sided.items == ()
    assert abs(one_sided.together.changes["lead between sides"][0]) > 0.05


def test_what_weighs_most_by_its_lost_motion_tells_it_once() -> None:
    loose = "\n[state.worn.left.wear]\nclearance = { 'arm pin' = 1.2 }\n"
    found = weighed("gooch_tank", loose)
    words = sentence(found.items[0], found, Shown("mm"))
    assert found.items[0].worst == "lost motion", "the case must be one that weighs by lost motion"
    assert re.search(r": in [\w ]+ it gives \d\.\d+ mm of lost motion; it passes a target by itself", words), words
    assert "motion lost" not in words


def test_an_item_that_makes_up_for_another_is_told_so() -> None:
    rod = worn("metre_gauge", "").drawing["radius_rod"]["length"]
    text = f'\n[state.worn.left.radius_rod]\nlength = {rod + 1.2}\n[state.worn.left.wear]\ndie_offset = "-0.5 mm"\n'
    found = weighed("metre_gauge", text)
    told = {item.name: (item.gain, sentence(item, found, Shown("mm"))) for item in found.items}
    gain, words = told["die's pin hole off its middle"]
    assert gain < -0.1
    assert "makes up for something else" in words
    assert "makes up" not in told["radius rod, length"][1]


def test_a_sound_side_beside_a_bad_one_is_told_that_the_other_leaves_them_apart() -> None:
    rod = worn("metre_gauge", "").drawing["radius_rod"]["length"]
    bad = f"\n[state.worn.left.radius_rod]\nlength = {rod + 1.2}\n"
    sound = weighed("metre_gauge", bad, "right")
    assert (sound.items, sound.together.weight > 1) == ((), True)
    said = "nothing differs from the drawing; the other side as found leaves the sides"
    assert f"{said} {sound.together.weight:.2f} times a target apart." in verdict(sound).words
    shorter = f"{bad}[state.worn.right.radius_rod]\nlength = {rod + 0.2}\n"
    half = weighed("metre_gauge", shorter, "right")
    assert half.items[0].gain < -0.1
    words = sentence(half.items[0], half, Shown("mm"))
    assert "put right alone, the sides stand further apart: put the other side right too" in words
    assert "makes up for something else" not in words
    assert "passes a target beside the other side as found" in verdict(half).words


def test_what_keeps_every_target_cold_only_is_not_called_good_warm() -> None:
    found = weighed("metre_gauge", '\n[state.worn.left.wear]\nheat = { spindle = 120 }\nspindle_length = "900 mm"\n')
    assert found.items[0].weight > 1
    assert "everything together, cold, keeps every target" in verdict(found).words


@pytest.mark.parametrize("direction", ["forward", "backward", "both", "driven"])
def test_directions_of_running_are_those_asked_for(direction: str) -> None:
    found = weighed("metre_gauge", everything("metre_gauge"), direction=direction)
    ways = {row["direction"] for row in moving_rows(found.found, found.ways)}
    assert ways == {"both": {"forward", "backward"}, "driven": {"forward"}}.get(direction, {direction})


def test_in_motion_the_drag_takes_off_and_inertia_puts_on() -> None:
    dragged, thrown = (
        weighed("metre_gauge", everything("metre_gauge"), load=load)
        for load in (Load(500.0), Load(0.0, mass=50.0, revolutions=240.0))
    )
    rows = [list(moving_rows(found.found, found.ways)) for found in (dragged, thrown)]
    for one, two in zip(*rows, strict=True):
        assert one["travel"][1] < one["travel"][0] < two["travel"][1]
        assert one["lead"][1] < one["lead"][0] < two["lead"][1]
        assert one["lead"][0] == two["lead"][0]  # without play the load does not matter


def test_lost_motion_is_told_at_every_crank_angle_in_total_and_joint_by_joint(tmp_path: Path) -> None:
    file = tmp_path / "worn.toml"
    file.write_text(worn("metre_gauge", everything("metre_gauge")).text, encoding="utf-8")
    picture = tmp_path / "worn.svg"
    ran = CliRunner().invoke(app, ["wear", str(file), "--state", "worn", "--side", "left", "--notch", "mid", "--json",
                                   "--picture", str(picture)])  # fmt: skip
    side = json.loads(ran.output)["sides"][0]
    lost = side["lost_motion"]["mid"]
    assert set(lost["joints"]) == {"foot", "die pin", DIE}
    assert len(lost["crank_angle"]) == len(lost["total"]) == 96
    assert (
        np.max(np.abs(np.sum(list(lost["joints"].values()), axis=0) - lost["total"])) < 2.1e-6
    )  # of three joints and their sum, six decimals each
    assert max(lost["total"]) == pytest.approx(side["together"]["lost"], rel=2e-3)
    assert side["binding"][0].endswith("the die binds")
    assert "lost motion in mid" in picture.read_text(encoding="utf-8")
    found = weighed("metre_gauge", everything("metre_gauge")).found
    greatest = [free.max() for free in lost_round_the_wheel(found, 0).joints.values()]
    assert greatest == sorted(greatest, reverse=True)


def test_the_sum_rules_own_error_is_told_beside_the_lost_motion() -> None:
    wear = ["wear", str(ENGINES["dock_shunter"]), "--state", "as found", "--notch", "mid"]
    with_lost, without = (CliRunner().invoke(app, [*wear, *more]).output for more in (["--lost"], []))
    assert "within 0.0012 mm of the exact movement" in " ".join(with_lost.split())
    assert "exact movement" not in without


@pytest.mark.parametrize("figure", ["--drag", "--mass", "--revolutions"])
def test_a_load_without_end_is_refused(figure: str) -> None:
    wear = ["wear", str(ENGINES["dock_shunter"]), "--state", "as found", figure, "inf"]
    with pytest.raises(FileError, match=f"{figure}: read inf"):
        CliRunner().invoke(app, wear, catch_exceptions=False)


def asked(file: Path, *more: str) -> Any:
    words = ["wear", str(file), "--state", "worn", "--side", "left", "--notch", "full forward", *more]
    return CliRunner().invoke(app, words)


def test_what_a_drag_that_was_not_given_would_change_is_told(tmp_path: Path) -> None:
    """The range of plain slide valves against whole runs of the command with each drag given."""
    file = tmp_path / "worn.toml"
    file.write_text(worn("metre_gauge", '\n[state.worn.left.wear]\nclearance = { "die pin" = "0.6 mm" }\n').text)
    fast = ("--mass", "60", "--revolutions", "240")
    (found,) = json.loads(asked(file, *fast, "--json").output)["sides"]
    each = [json.loads(asked(file, *fast, "--drag", drag, "--json").output)["sides"][0] for drag in ("4400", "8800")]
    own = found["in_motion"]
    for key, told, tolerance in (
        ("lead", "lead", 2e-6),
        ("travel", "travel", 2e-6),
        ("cutoff", "cutoff_percent", 1e-3),
    ):
        changes = [
            new[key][1] - old[key][1] for other in each for new, old in zip(other["in_motion"], own, strict=True)
        ]
        assert found["other_drags"][told] == pytest.approx([min(changes), max(changes)], abs=tolerance)
    assert max(map(abs, found["other_drags"]["travel"])) > 0.05  # thrown by its mass it travels further than dragged
    assert found["other_drags"]["drag_N"] == [4400, 8800]
    assert all(other["other_drags"] is None for other in each)
    assert "the drag is not known, and 1 N is taken" in " ".join(asked(file, *fast).output.split())
    given = " ".join(asked(file, "--moving", "--drag", "1").output.split())
    assert "events in motion, drag 1 N (in brackets:" in given
    for known in ((), (*fast, "--drag", "1")):
        assert "drag is not known" not in " ".join(asked(file, *known).output.split())
        assert json.loads(asked(file, *known, "--json").output)["sides"][0]["other_drags"] is None


def test_how_the_slot_was_taken_and_the_weight_of_rods_are_told(tmp_path: Path) -> None:
    file = tmp_path / "worn.toml"
    slot = 'slot = [{ at = "-60 mm", front = "0.3 mm" }, { at = "20 mm", back = "0.2 mm" }]'
    file.write_text(worn("metre_gauge", f'\n[state.worn.left.wear]\n{slot}\ndie_length = "60 mm"\n').text)
    said = " ".join(asked(file, "--lost").output.split())
    assert "a die block 60.00 mm long, which lies across its hollows" in said
    assert "beyond the last reading of the faces at the top of the slot" in said
    assert "hard enough to lift them" in said
    (found,) = json.loads(asked(file, "--json").output)["sides"]
    assert found["slot"][0].startswith("the worn slot is felt by a die block 60.00 mm long")
    assert len(found["slot"]) == 2
    file.write_text(worn("metre_gauge", f"\n[state.worn.left.wear]\n{slot}\n").text)
    assert "taken as a point" in " ".join(asked(file).output.split())
