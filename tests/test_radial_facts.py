"""What the books say of Hackworth's, Marshall's and Joy's gears."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import cos, pi, radians, sin, sqrt, tan
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import linkmotion as lm
from linkmotion.gears import Arm
from linkmotion.gears.sensitivity import with_numbers
from linkmotion.revolution import revolve
from linkmotion.studies.assess import SideEvents, assess, assess_side
from linkmotion.studies.table import event_rows
from linkmotion.wear.condition import Condition
from linkmotion.wear.lost_motion import joints_of
from tests.gears_at_hand import EXAMPLES, example, gear_from, number_of
from tests.independent import radial_gears as joints
from tests.independent.radial_trial_gears import BEYOND
from tests.independent.stephenson_trial_gears import with_changes

RADIAL = ("hackworth_quarry", "marshall_pumping", "joy_mixed_traffic")
TILTS = np.array([[-30.0], [-20.0], [-10.0], [0.0], [10.0], [20.0], [30.0]])


def path_of(name: str) -> Path:
    return next(path for path in EXAMPLES if path.stem == name)


def dead_centres(gear: Any, tilts: Any = TILTS) -> Any:
    """Places of the spindle pin at both dead centres at some tilts, mm, shape (tilts, 2)."""
    spindle = revolve(gear, Arm(tilts)).spindle
    return np.array([spindle[row](np.array([0.0, gear.crank.back_crank_angle])) for row in range(len(tilts))])


def ideal(throw: float, rod: float, pin: float, height: float, angle: float = 0.0) -> Any:
    """Hackworth's gear, everything in line, the weighshaft at a height plumb over the axle."""
    changes = {
        "eccentric": {"throw": throw, "angle": angle},
        "eccentric_rod": {"length": rod, "valve_pin": pin, "valve_pin_offset": 0.0},
        "slide": {"offset": 0.0},
        "reversing": {"shaft_x": 0.0, "shaft_y": height},
        "valve": {"guide_height": pin / rod * height},
    }
    return gear_from(with_changes(BEYOND, changes), "hackworth")


# ---- constant lead --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("angle", "pin"), [(0.0, 588.0), (180.0, 252.0)])
def test_hackworths_lead_is_one_at_every_tilt_with_the_weighshaft_at_the_root_of_l2_less_t2(
    angle: float, pin: float
) -> None:
    """At both dead centres the die stands at the weighshaft, and the valve rod's pin at (1 - c/l) t beside the axle.

    Müller-Melchiors, Dingler 219 (1876) 1-6: lead nearly constant; 242 (1881) 6-9: constant where the led pin passes
    through the fixed centre at both dead centres.
    """
    throw, rod = 62.0, 420.0
    places = dead_centres(ideal(throw, rod, pin, sqrt(rod**2 - throw**2), angle))
    assert np.max(np.ptp(places, axis=0)) < 1e-9
    assert np.abs(places[0, 0] - places[0, 1]) == pytest.approx(2 * throw * abs(1 - pin / rod), abs=1e-9)


def test_with_the_weighshaft_a_rods_length_up_the_lead_goes_with_the_tangent_of_the_tilt() -> None:
    """The die then stands s below it, (s sin a - t)² + (l - s cos a)² = l², and draws the valve rod's pin along.

    Both ends of the valve rod are worked out here from that.
    """
    throw, rod, pin, valve_rod = 62.0, 420.0, 588.0, 800.0
    gear = ideal(throw, rod, pin, rod)
    found = dead_centres(gear)
    for row, tilt in enumerate(np.radians(TILTS[:, 0])):
        for column, t in enumerate((throw, -throw)):
            half = t * sin(tilt) + rod * cos(tilt)  # s² - 2 s (t sin a + l cos a) + t² = 0
            s = half - sqrt(half**2 - throw**2)
            die = np.array([s * sin(tilt), rod - s * cos(tilt)])
            end = np.array([t, 0.0]) + pin / rod * (die - np.array([t, 0.0]))
            spindle = end[0] + sqrt(valve_rod**2 - (end[1] - gear.valve.guide_height) ** 2)
            assert found[row, column] == pytest.approx(spindle, abs=1e-9)
    assert np.max(np.ptp(found, axis=0)) > 5.0  # mm: 30 degrees either way


@pytest.mark.parametrize("name", RADIAL)
def test_the_lead_is_one_at_every_tilt_with_the_weighshaft_where_derived(name: str) -> None:
    gear: Any = example(name).side_state().gear
    derived = gear.derived()
    place = [derived[f"weighshaft for constant lead, {way} the axle"][0] for way in ("ahead of", "above")]
    at = with_numbers(
        gear, {("reversing", key): value for key, value in zip(("shaft_x", "shaft_y"), place, strict=True)}
    )
    assert np.max(np.ptp(dead_centres(at), axis=0)) < 1e-9
    off = with_numbers(at, {("reversing", "shaft_y"): place[1] + 3.0})
    assert np.max(np.ptp(dead_centres(off), axis=0)) > 2.0


@pytest.mark.parametrize("angle", [0.0, 180.0])
def test_long_rods_tend_to_two_circles(angle: float) -> None:
    """Valve = t (1 - c/l) cos + (c/l) t tan a sin (Müller-Melchiors, Dingler 219); the rest falls as rods grow."""
    throw, ratio, tilt = 25.0, 1.5, 20.0
    theta = np.radians(np.arange(0.0, 360.0, 10.0))
    sign = 1 if angle == 0.0 else -1
    limit = sign * throw * ((1 - ratio) * np.cos(theta) + ratio * tan(radians(tilt)) * np.sin(theta))
    left = []
    for rod in (4000.0, 8000.0):
        gear = ideal(throw, rod, ratio * rod, sqrt(rod**2 - throw**2), angle)
        gear = with_numbers(gear, {("valve_rod", "length"): 2 * rod})
        spindle = revolve(gear, Arm(tilt)).spindle[0]
        valve = spindle(theta) - (spindle(np.array([0.0])) + spindle(np.array([pi]))) / 2
        left.append(np.max(np.abs(valve - limit)))
    assert left[0] < 0.2
    assert left[0] / left[1] == pytest.approx(2.0, abs=0.05)


# ---- equal cutoffs --------------------------------------------------------------------------------------------------


def cutoffs_apart(side: SideEvents, notch: str) -> float:
    """Front cutoff less the back one where the notch drives, percent of the stroke."""
    i = side.notches.index(notch)
    ends = side.events[side.driven(i)[0]]
    return float(ends["front"].percent["cutoff"][i] - ends["back"].percent["cutoff"][i])


@cache
def joy_with(**changes: float | None) -> SideEvents:
    """The example with keys of slide, lever or link changed, its weighshaft where the die stands, set afresh."""
    setup = example("joy_mixed_traffic").side_state()
    gear: Any = setup.gear
    for path, value in changes.items():
        table, key = path.split("__")
        gear = replace(gear, **{table: replace(getattr(gear, table), **{key: value})})
    shaft = gear.constant_lead_shaft()
    height = shaft.imag + gear.valve_lever.upper_arm
    gear = replace(gear, reversing=replace(gear.reversing, shaft_x=shaft.real, shaft_y=shaft.imag))
    gear = replace(gear, valve=replace(gear.valve, guide_height=height))
    return assess_side(replace(setup, gear=gear, rack=gear))


def test_joys_cutoffs_are_equalised_by_a_slide_of_the_valve_rods_radius() -> None:
    """Sinclair, Locomotive Engine Running, chapter XXII: the slide's radius is the valve rod's length (in words)."""
    apart = {
        radius: cutoffs_apart(joy_with(slide__radius=radius), "forward 45") for radius in (600.0, 800.0, 1200.0, None)
    }
    assert abs(apart[800.0]) < 1.0
    assert apart[600.0] < -6.0
    assert apart[1200.0] > 6.0
    assert apart[None] > 2 * apart[1200.0]  # straight


def test_joys_correcting_link_makes_the_die_vibrate_equally_to_both_sides() -> None:
    """Sinclair, chapter XXII, in words; where it does so is derived here.

    The connecting-rod pin moves to and fro by r, the lever pin by r (1 - f), f its share of the link's length b. At the
    dead centres the link's lean lifts the lever pin by f r²/2b, the lever's lean lets the die down by (r (1 - f))²/2a:
    alike for a = b (1 - f)²/f.
    """
    link, share = 520.0, 0.4
    lever = link * (1 - share) ** 2 / share
    uneven = []
    for arm in (lever, lever / 1.3, lever * 1.3):
        low, high = joy_with(valve_lever__lower_arm=arm, valve_lever__upper_arm=arm / 6).motion.die_reach
        uneven.append(float((low + high)[3] / (high - low)[3]))  # mid gear
    assert abs(uneven[0]) < 0.02
    assert min(map(abs, uneven[1:])) > 0.035
    assert uneven[1] * uneven[2] < 0


def test_marshalls_arc_shifts_the_cutoffs_of_both_gears_the_same_way() -> None:
    """So fore gear evened leaves back gear uneven, by about 0.1 of the stroke: Dingler 242 (1881) 6-9, in words.

    With a slide as straight as the arc would be with an endless link the shift is gone; it grows as the link shortens.
    """
    setup = example("marshall_pumping").side_state()
    gear: Any = setup.gear

    def apart(link: float) -> list[float]:
        keys = {("reversing", "arm"): link, ("swinging_link", "length"): link}
        changed = with_numbers(gear, keys)
        side = assess_side(replace(setup, gear=changed, rack=changed))
        return [cutoffs_apart(side, notch) for notch in ("half forward", "half backward")]

    drawn, long, short = apart(900.0), apart(9000.0), apart(500.0)
    assert abs(drawn[0]) < 1.5
    assert drawn[1] == pytest.approx(9.0, abs=2.0)
    for shorter, longer in ((short, drawn), (drawn, long)):
        shift = [one - other for one, other in zip(shorter, longer, strict=True)]
        assert shift[0] < -4.0
        assert shift[1] < -4.0


# ---- springs, joints, stroke ----------------------------------------------------------------------------------------


def lead_moved(name: str, rise: float) -> float:
    """Greatest change of a lead by the axle's rise, mm."""
    setup = example(name).side_state()
    sides = [assess_side(replace(setup, condition=Condition(axle_height=height))) for height in (0.0, rise)]
    ways = [(way, end) for way in ("forward", "backward") for end in ("front", "back")]
    return max(float(np.max(np.abs(sides[1].events[w][e].lead - sides[0].events[w][e].lead))) for w, e in ways)


def test_springs_move_the_lead_of_radial_gears_much_and_of_walschaerts_gear_hardly() -> None:
    """Dingler 332 (1917) 27-28 of Joy and Heusinger (Walschaerts); 229 (1878) 501 of Hackworth: in words."""
    hardly = max(lead_moved(name, 5.0) for name in ("dock_shunter", "metre_gauge"))
    assert hardly < 0.75
    assert lead_moved("joy_mixed_traffic", 5.0) > 3 * hardly
    assert lead_moved("hackworth_quarry", 5.0) > 9 * hardly


def test_joys_gear_has_seven_joints_that_can_wear() -> None:
    """Dingler 332 (1917) 27-28 counts seven moving pins of Joy's gear. Crank and crosshead pins are the engine's."""
    gear = example("joy_mixed_traffic").gear()
    assert len(set(joints_of(gear.declare(Arm(0.0)))) - {"crank pin", "crosshead pin"}) == 7


@pytest.mark.parametrize("name", ["hackworth_quarry", "joy_mixed_traffic"])
def test_the_dies_stroke_is_no_slip(name: str) -> None:
    """It is about the vertical movement of the led pin in every notch, and is told under its own name."""
    rows = list(event_rows(assess(example(name), sides=["left"])))
    assert {row["die_slip"] for row in rows} == {None}
    assert {row["link_swing"] for row in rows} == {None}
    gear: Any = example(name).gear()
    if name == "hackworth_quarry":
        upright = 2 * gear.eccentric.throw
    else:
        upright = 2 * gear.crank.radius * gear.connecting_rod.pin / gear.connecting_rod.length
    tilts = {row["notch"]: number_of(gear.notches[row["notch"]]) for row in rows}
    for row in rows:
        assert row["die_stroke"] == pytest.approx(upright / cos(radians(tilts[row["notch"]])), rel=0.04)
    side = lm.read_engine(path_of(name))["drawing"].left
    first = side[rows[0]["notch"]]
    assert (first.die_slip, first.link_swing) == (None, None)
    assert first.die_stroke == pytest.approx(
        rows[0]["die_stroke"] / (25.4 if name == "hackworth_quarry" else 1.0), rel=1e-6
    )
    labels = [text.get_text() for text in side.plot_die().texts]
    assert sum(label.startswith("stroke") for label in labels) == 1
    assert len(labels) > len(side.notches)  # and the figure of each notch
    assert not any("slip" in label for label in labels)


def test_a_die_at_the_weighshaft_at_both_dead_centres_is_so_by_the_other_solution() -> None:
    """Of the derived place: joint angles find the die there, whatever the tilt."""
    side = joy_with()
    gear: Any = side.gear
    tables = example("joy_mixed_traffic").tables()
    given = {"shaft_x": gear.reversing.shaft_x, "shaft_y": gear.reversing.shaft_y}
    there = with_changes(tables, {"reversing": given, "cylinder": {"line_height": 0.0, "inclination": 0.0}})
    for tilt in (-22.0, 0.0, 22.0):
        assert np.max(np.abs(joints.solve(there, tilt, [0.0, 180.0], "joy")["die"])) < 1e-7
