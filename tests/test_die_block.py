"""A die block of its own length in a worn slot, against a rigid block in a linear programme of its own.

The programme knows no chords and no levers: offset and tilt of a stiff block, its front edge nowhere ahead of the
front face, its back edge nowhere behind the back face, at places a tenth of a millimetre apart.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator
from scipy.optimize import linprog

from linkmotion.engine import Engine
from linkmotion.files.engine_file import read_engine
from linkmotion.revolution import revolve
from linkmotion.studies.assess import assess
from linkmotion.studies.findings import findings, slot_remarks
from linkmotion.wear.condition import Condition, FaceLoss
from linkmotion.wear.effects import turned
from linkmotion.wear.lost_motion import DIE, lost_motion
from tests.gears_at_hand import EXAMPLES, example, number_of, of_engine, plain_tables

Floats = NDArray[np.float64]
NEAR = 0.002  # mm
SLOTS = {  # places, loss of the front face, of the back face; mm
    "hollow in front": ([-100, -60, -30, 0, 30, 60, 100], [0.1, 0.1, 0.5, 0.8, 0.4, 0.1, 0.0], [0.05] * 7),
    "hollows against each other": ([-90, -50, -15, 20, 55, 90], [0.0, 0.6, 0.1, 0.7, 0.1, 0.0],
                                   [0.4, 0.0, 0.5, 0.0, 0.6, 0.1]),
    "steps that lock the block": ([-80, -22, -8, 8, 22, 80], [0.0, 0.0, 0.0, 0.9, 0.9, 0.9], [0.0] * 6),
    "a burr beside a hollow": ([-70, -30, 0, 30, 70], [0.2, -0.03, 0.3, 0.3, 0.0], [0.0, 0.2, 0.0, 0.2, 0.1]),
    "two readings": ([-60, 70], [0.3, 0.0], [0.0, 0.2]),
}  # fmt: skip


def rigid_block(slot: tuple[FaceLoss, ...], length: float, clearance: float, place: float) -> tuple[float, float]:
    """Foremost and rearmost place of the block's middle, mm; unknown are its offset and its tilt."""
    along = np.linspace(-length / 2, length / 2, 20 * int(length) + 1)
    at = np.array([reading.at for reading in slot])
    inside = np.clip(place + along, at[0], at[-1])
    front, back = (
        np.maximum(PchipInterpolator(at, [getattr(r, face) for r in slot])(inside) + clearance / 2, 0.0)
        for face in ("front", "back")
    )
    edges = np.stack([np.ones_like(along), along], axis=1)
    found = []
    for way in (1.0, -1.0):  # the dual programme, two rows of many unknowns: a tenth of the time of many rows of two
        best = linprog(
            np.concatenate([front, back]), A_eq=np.concatenate([edges, -edges]).T, b_eq=[way, 0.0], method="highs"
        )
        assert best.status == 0
        found.append(way * float(best.fun))
    return found[0], found[1]


def worn(name: str) -> tuple[FaceLoss, ...]:
    return tuple(FaceLoss(*map(float, row)) for row in zip(*SLOTS[name], strict=True))


@pytest.mark.parametrize(("length", "clearance"), [(76.0, 0.0), (40.0, 0.05), (130.0, 0.2)])
@pytest.mark.parametrize("name", SLOTS)
def test_play_and_middle_are_those_of_a_rigid_block(name: str, length: float, clearance: float) -> None:
    slot = worn(name)
    found = Condition(slot=slot, die_length=length, die_clearance=clearance, die_offset=0.3)
    places = np.linspace(-130.0, 130.0, 14) + 0.17
    ahead, behind = np.array([rigid_block(slot, length, clearance, float(place)) for place in places]).T
    assert np.max(np.abs(found.die_play(places) - (ahead - behind))) < NEAR
    assert np.max(np.abs(found.slot_shift(places) - 0.3 - (ahead + behind) / 2)) < NEAR


def test_the_lever_is_what_holds_a_block_between_steps() -> None:
    """Half a block in the deep part, its back edge on a back face not worn: no tilt lets it go ahead."""
    slot, length = worn("steps that lock the block"), 60.0
    block = Condition(slot=slot, die_length=length)
    # in front a chord alone would let the pin, past the step, ahead as far as the metal there is gone
    assert float(block.die_play(10.0)) < 1e-6
    assert float(Condition(slot=slot).die_play(10.0)) > 0.85


def test_closed_forms() -> None:
    """Even wear; a hollow narrower than the block; and a face worn to a hump, on which the block rocks."""
    even = Condition(slot=(FaceLoss(-50.0, 0.2, 0.1), FaceLoss(50.0, 0.2, 0.1)), die_length=70.0, die_clearance=0.04)
    at: Floats = np.linspace(-90.0, 90.0, 37)
    assert np.allclose(even.die_play(at), 0.34, rtol=0, atol=1e-12)
    assert np.allclose(even.slot_shift(at), 0.05, rtol=0, atol=1e-12)
    narrow = (FaceLoss(-60.0), FaceLoss(-10.0), FaceLoss(0.0, front=0.5), FaceLoss(10.0), FaceLoss(60.0))
    bridged = Condition(slot=narrow, die_length=60.0)
    assert np.max(np.abs(bridged.die_play(at[np.abs(at) < 19]))) < 1e-12  # both ends of the block are on sound metal
    hump = tuple(FaceLoss(float(a), front=2e-4 * a**2, back=1.0) for a in np.linspace(-80, 80, 33))
    rocks = Condition(slot=hump, die_length=60.0)
    places = np.array([-20.0, 0.0, 15.0])
    expected = 2e-4 * places**2 + 1.0  # the front edge lies along the tangent, the back one is free
    assert np.max(np.abs(rocks.die_play(places) - expected)) < NEAR


def test_a_die_of_no_length_is_a_point_and_a_short_one_nearly() -> None:
    slot = worn("hollows against each other")
    at = np.linspace(-100.0, 100.0, 81)
    point = Condition(slot=slot, die_clearance=0.05)
    short = Condition(slot=slot, die_clearance=0.05, die_length=0.5)
    assert np.max(np.abs(point.die_play(at) - short.die_play(at))) < 0.005
    long: Any = Condition(slot=slot, die_clearance=0.05, die_length=80.0)
    assert np.max(np.abs(point.die_play(at) - long.die_play(at))) > 0.3


@pytest.mark.parametrize(("name", "notch"), [("dock_shunter", "full forward"), ("stephenson_goods", "forward 25")])
def test_a_gear_turned_with_the_block_against_loops_solved_with_it(name: str, notch: str) -> None:
    """The block's middle line by its programme every 0.5 mm, inside all loop equations at once (MINPACK)."""
    pytest.importorskip("casadi")
    from tests.independent.pin_gears import pin_gear
    from tests.independent.worn_slot import valve_with_slot

    own = of_engine(example(name))
    pins, setting = pin_gear(plain_tables(example(name))), own.settings[notch]
    path = revolve(own.gear, setting).die
    middle, reach = float(path.c[0, 0].real), path[0](np.radians(np.arange(0.0, 360.0, 2.0)))
    at = middle + np.array([-75.0, -45.0, -20.0, 5.0, 30.0, 70.0])
    front, back = [0.0, 0.3, 0.0, 0.35, 0.0, 0.1], [0.2, 0.0, 0.1, 0.0, 0.3, 0.0]
    slot = tuple(FaceLoss(*map(float, row)) for row in zip(at, front, back, strict=True))
    every = np.arange(reach.min() - 3.0, reach.max() + 3.0, 0.5)
    ahead = [sum(rigid_block(slot, 70.0, 0.05, float(place))) / 2 for place in every]
    curve = PchipInterpolator(every, ahead)

    def profile(place: float) -> float:
        return float(curve(np.clip(place, every[0], every[-1])))

    angles: Floats = np.arange(12.0) * 30.0
    exact = valve_with_slot(pins, number_of(setting), angles, profile, along_drawn=True)
    found = turned(own.gear, setting, Condition(slot=slot, die_length=70.0, die_clearance=0.05))
    where = found.die[0](np.radians(angles))
    assert every[0] < where.min() < where.max() < every[-1]  # inside the table
    assert np.max(np.abs(found.spindle[0](np.radians(angles)) - exact)) < NEAR
    point = turned(own.gear, setting, Condition(slot=slot, die_clearance=0.05))
    assert np.max(np.abs(point.spindle[0](np.radians(angles)) - exact)) > 0.03
    lost = np.squeeze(lost_motion(own.gear, setting, Condition(slot=slot, die_length=70.0), 12).joints[DIE])
    each = np.squeeze(lost_motion(own.gear, setting, Condition(die_clearance=1.0), 12).joints[DIE])
    places = path[0](np.radians(angles))
    free = [float(np.subtract(*rigid_block(slot, 70.0, 0.0, float(place)))) for place in places]
    assert np.max(np.abs(lost / each - free)) < NEAR


DOCK = next(path for path in EXAMPLES if path.stem == "dock_shunter").read_text()


def engine_from(text: str, folder: Path) -> Engine:
    (folder / "engine.toml").write_text(text)
    return read_engine(folder / "engine.toml")


@pytest.mark.parametrize(
    ("given", "wear", "length"),
    [("", "", 0.0), ("3 in", "", 76.2), ("3 in", "die_length = '2 in'", 50.8), ("", "die_length = '2 in'", 50.8)],
)
def test_the_length_is_that_of_the_wear_or_of_the_clean_up(
    given: str, wear: str, length: float, tmp_path: Path
) -> None:
    text = DOCK.replace('die_length = "3 in"', f'die_length = "{given}"' if given else "")
    text += f"[state.x.left.wear]\nslot = [{{ at = 0, front = '0.01 in' }}]\n{wear}\n"
    engine = engine_from(text, tmp_path)
    assert engine.condition("x", "left").die_length == pytest.approx(length, abs=1e-9)
    assert engine.condition().sound


def test_how_the_slot_was_taken_is_told_and_how_far_the_die_runs_beyond_the_readings(tmp_path: Path) -> None:
    text = DOCK + (
        "[state.x.left.wear]\nslot = [{ at = '-1 in', front = '0.01 in' }, { at = '2 in', front = '0.02 in' }]\n"
    )
    engine = engine_from(text, tmp_path)
    side = assess(engine, "x", ["left"]).sides[0]
    taken, *beyond = slot_remarks(side)
    assert "overshoots neither" in taken.words
    assert taken.size == pytest.approx(76.2, abs=1e-9)
    assert not taken.out
    low, high = side.motion.die_reach
    assert [one.end for one in beyond] == ["top", "bottom"]
    assert beyond[0].size == pytest.approx(float(high.max()) + 38.1 - 50.8, abs=1e-9)
    assert beyond[1].size == pytest.approx(-25.4 - float(low.min()) + 38.1, abs=1e-9)
    assert beyond[0].notch == side.notches[int(np.argmax(high))]
    assert [one for one in findings(assess(engine, "x", ["left"])) if "{size} beyond the last" in one.words] == beyond
    short = side.condition.slot
    whole = replace(side, condition=Condition(slot=(replace(short[0], at=-500.0), replace(short[1], at=500.0))))
    (only,) = slot_remarks(whole)
    assert "taken as a point" in only.words
    assert "give die_length" in only.words
    assert not list(slot_remarks(replace(side, condition=Condition(die_length=70.0))))
