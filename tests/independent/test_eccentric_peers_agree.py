"""The gears with eccentrics, solved in unlike ways, agree; and would show it if one of them were wrong."""

from __future__ import annotations

import copy
import math
from functools import cache
from typing import Any

import numpy as np
import pytest

from .closing import NotClosed
from .eccentric_events import central_for_equal_lead, eccentric_events, leads
from .eccentric_gears import arm_for_die, solve
from .eccentric_trial_gears import KIND_OF, TRIAL_GEARS, settings_of
from .joint_angles import Positions
from .stephenson_trial_gears import with_changes
from .trial_gears import Tables

CRANK_ANGLES = np.arange(0.0, 360.0, 4.0)
CASES = [(gear, notch) for gear in TRIAL_GEARS for notch in settings_of(gear)]
LINKED = [gear for gear in TRIAL_GEARS if KIND_OF[gear] != "eccentric"]
GEOMETRY = ("eccentrics", "eccentric", "eccentric_rods", "eccentric_rod", "expansion_link", "radius_rod", "reversing")
WITHOUT_SPINDLE_ROD = ("open rods, rocker", "crossed rods, direct", "launch link", "hung from below", "inclined")
TURNED = ("inclined", "hanger drive", "Gooch, sliding block, rocker", "Allan", "slip eccentric, rocker")


@pytest.fixture(scope="module")
def solved() -> dict[tuple[str, str], Positions]:
    """Every trial gear in every notch by joint angles."""
    return {
        (gear, notch): solve(TRIAL_GEARS[gear], settings_of(gear)[notch], CRANK_ANGLES, kind=KIND_OF[gear])
        for gear, notch in CASES
    }


def worst(a: np.ndarray, b: np.ndarray) -> float:
    """Largest difference, where an answer that is not a number counts as infinitely wrong."""
    assert a.shape == b.shape
    return float(np.nan_to_num(np.abs(a - b), nan=np.inf).max())


def drawn_lengths(tables: Tables, kind: str) -> list[tuple[str, str, float]]:
    """Pairs of pins and their distance on the drawing."""
    rods = [("crank pin", "crosshead pin", tables["connecting_rod"]["length"])]
    if "spindle_rod" in tables["valve"]:
        near = "rocker pin" if "rocker" in tables["valve"] else "driving pin"
        rods.append((near, "valve pin", tables["valve"]["spindle_rod"]))
    if kind == "eccentric":
        return [*rods, ("eccentric", "driving pin", tables["eccentric_rod"]["length"])]
    link, lengths = tables["expansion_link"], tables["eccentric_rods"]
    for which in ("forward", "backward"):
        x, y = link[f"{which}_pin_x"], link[f"{which}_pin_y"]
        rods.append((f"{which} eccentric", f"{which} pin", lengths[which]))
        rods.append((f"{which} pin", "mid link", math.hypot(x, y)))
        rods.append((f"{which} pin", "saddle pin", math.hypot(link["saddle_x"] - x, link["saddle_y"] - y)))
    rev, hung = tables["reversing"], tables["reversing"]["suspension"] == "lifting link"
    if kind != "gooch" and hung:
        rods.append(("arm pin", "saddle pin", rev["lifting_link"]))
    if kind != "stephenson":
        rods.append(("die pin", "driving pin", tables["radius_rod"]["length"]))
    if kind == "gooch" and hung:
        rods.append(("arm pin", "lift pin", rev["lifting_link"]))
    if kind == "allan":
        rods.append(("rod arm pin", "lift pin", rev["rod_lifting_link"]))
    return rods


@pytest.mark.parametrize(("gear", "notch"), CASES)
def test_rods_keep_their_drawn_lengths(gear: str, notch: str, solved: dict[tuple[str, str], Positions]) -> None:
    tables, motion = TRIAL_GEARS[gear], solved[gear, notch]
    assert motion.closure < 1e-11
    for one, other, length in drawn_lengths(tables, KIND_OF[gear]):
        apart = np.hypot(*(motion.points[one] - motion.points[other]).T)
        assert worst(apart, np.full_like(apart, length)) < 2e-11, (one, other)
    slope = math.radians(tables["valve"]["guide_inclination"])
    over_guide = motion.points["valve pin"] - [0.0, tables["valve"]["guide_height"]]
    assert np.abs(over_guide @ [-math.sin(slope), math.cos(slope)]).max() < 1e-11
    assert worst(over_guide @ [math.cos(slope), math.sin(slope)], motion.valve) < 1e-11


@pytest.mark.parametrize(("gear", "notch"), CASES)
def test_casadi_agrees(gear: str, notch: str, solved: dict[tuple[str, str], Positions]) -> None:
    pytest.importorskip("casadi")
    from . import casadi_eccentric

    motion = solved[gear, notch]
    revolution = casadi_eccentric.build(TRIAL_GEARS[gear], len(CRANK_ANGLES), KIND_OF[gear])
    valve, pin = revolution(settings_of(gear)[notch], CRANK_ANGLES)
    assert worst(valve, motion.valve) < 1e-9
    assert worst(pin, motion.points.get("die pin", motion.points["driving pin"])) < 1e-9


@pytest.mark.parametrize(("gear", "notch"), [case for case in CASES if case[0] in WITHOUT_SPINDLE_ROD])
def test_exudyn_agrees(gear: str, notch: str, solved: dict[tuple[str, str], Positions]) -> None:
    pytest.importorskip("exudyn")
    from . import exudyn_eccentric

    tables = TRIAL_GEARS[gear]
    valve = exudyn_eccentric.valve_positions(tables, settings_of(gear)[notch], CRANK_ANGLES)
    assert worst(valve, solved[gear, notch].valve) < 1e-6


def dimensions(gear: str) -> list[tuple[str, ...]]:
    """Paths of the figures that bear on the valve's motion."""
    tables = TRIAL_GEARS[gear]
    idle = {"slot_top", "slot_bottom", "backward_angle" if KIND_OF[gear] == "eccentric" else ""}
    if tables.get("reversing", {}).get("suspension") == "sliding block":
        idle |= {"lift_pin", "lifting_link"}
    if tables.get("reversing", {}).get("suspension") == "ideal":
        idle |= {"saddle_x", "saddle_y", "shaft_x", "shaft_y", "arm", "lifting_link"}
    if KIND_OF[gear] == "eccentric":
        idle.add("angle")  # given as the setting
    paths: list[tuple[str, ...]] = [("cylinder", "inclination"), ("valve", "guide_inclination")]
    for table in GEOMETRY:
        values = tables.get(table, {})
        paths += [(table, key) for key, v in values.items() if isinstance(v, float) and key not in idle]
    for key, value in tables["valve"].items():
        if isinstance(value, dict):
            paths += [("valve", key, inner) for inner in value]
        elif key in ("guide_height", "spindle_rod"):
            paths.append(("valve", key))
    if "rocker" in tables["valve"] and "spindle_rod" not in tables["valve"]:
        paths.remove(("valve", "guide_height"))  # a block square to a level spindle
    return paths


@cache
def new_dimensions() -> dict[str, list[tuple[str, ...]]]:
    """Of each gear the figures that no gear before it has at the same work: of its kind, held and driven as it is."""
    seen: set[tuple[object, ...]] = set()
    found = {}
    for gear, tables in TRIAL_GEARS.items():
        work = (
            KIND_OF[gear],
            tables.get("reversing", {}).get("suspension"),
            tuple(name for name in ("rocker", "hanger", "spindle_rod") if name in tables["valve"]),
        )
        found[gear] = [path for path in dimensions(gear) if (*work, path) not in seen]
        seen |= {(*work, path) for path in found[gear]}
    return found


def with_more(tables: Tables, path: tuple[str, ...], more: float) -> Tables:
    """Copy with one figure made ``more`` larger."""
    new = copy.deepcopy(tables)
    table: Any = new
    for key in path[:-1]:
        table = table[key]
    table[path[-1]] += more
    return new


@pytest.mark.parametrize("gear", [gear for gear, paths in new_dimensions().items() if paths])
def test_peers_notice_every_dimension_alike(gear: str) -> None:
    """A change of 0.1 mm or degree shows far above the tolerance, and alike in both."""
    pytest.importorskip("casadi")
    from . import casadi_eccentric

    angles, setting, kind = np.arange(0.0, 80.0, 5.0), next(iter(settings_of(gear).values())), KIND_OF[gear]
    drawn = solve(TRIAL_GEARS[gear], setting, angles, kind=kind).valve
    for path in new_dimensions()[gear]:
        changed = with_more(TRIAL_GEARS[gear], path, 0.1)
        new = solve(changed, setting, angles, kind=kind).valve
        assert np.abs(new - drawn).max() > 1e-4, path
        assert worst(casadi_eccentric.build(changed, len(angles), kind)(setting, angles)[0], new) < 1e-9, path


@pytest.mark.parametrize("gear", LINKED)
@pytest.mark.parametrize("die", [-70.0, 85.0])
def test_notch_by_die_place(gear: str, die: float) -> None:
    tables, kind = TRIAL_GEARS[gear], KIND_OF[gear]
    arm = arm_for_die(tables, die, kind)
    assert abs(solve(tables, arm, [0.0], kind=kind).die_place[0] - die) < 1e-9
    if tables["reversing"]["suspension"] != "ideal":  # the trial notches stand within a quarter turn of it
        assert math.cos(math.radians(arm - tables["reversing"]["notches"]["mid"])) > 0.0


@pytest.mark.parametrize("gear", TURNED)
def test_backward_running_meets_the_same_events_in_reverse(gear: str) -> None:
    tables, kind = TRIAL_GEARS[gear], KIND_OF[gear]
    setting = next(iter(settings_of(gear).values()))
    ahead = eccentric_events(tables, setting, kind=kind)
    astern = eccentric_events(tables, setting, "backward", kind)
    reverse = {"admission": "cutoff", "cutoff": "admission", "release": "compression", "compression": "release"}
    for end in ("front", "back"):
        assert abs(ahead[end].lead - astern[end].lead) < 1e-9
        for kind_of_event, other in reverse.items():
            assert len(ahead[end].found[kind_of_event]) == 1
            there = sorted(((-e.angle) % 360.0, e.percent) for e in ahead[end].found[kind_of_event])
            back = sorted((e.angle, e.percent) for e in astern[end].found[other])
            assert worst(np.array(there), np.array(back)) < 1e-8


@pytest.mark.parametrize("gear", TRIAL_GEARS)
def test_equal_lead(gear: str) -> None:
    tables, kind = TRIAL_GEARS[gear], KIND_OF[gear]
    setting = list(settings_of(gear).values())[-1]
    central = central_for_equal_lead(tables, setting, kind)
    for aside, difference in ((0.0, 0.0), (0.01, 0.02)):
        lead = leads(with_changes(tables, {"valve": {"central_at": central + aside}}), setting, kind=kind)
        assert abs(abs(lead["front"] - lead["back"]) - difference) < 1e-9


def mean_lead(gear: str, notch: str) -> float:
    return sum(leads(TRIAL_GEARS[gear], settings_of(gear)[notch], kind=KIND_OF[gear]).values()) / 2


@pytest.mark.parametrize("gear", LINKED)
def test_lead_from_full_to_mid_gear(gear: str) -> None:
    """Open rods gain lead toward mid gear, crossed rods lose it, a stationary link keeps it, Allan is between."""
    gain = mean_lead(gear, "mid") - mean_lead(gear, "full forward")
    if KIND_OF[gear] == "gooch":
        assert abs(gain) < 0.1
    elif KIND_OF[gear] == "allan":
        assert 1.0 < gain < 2.5
    else:
        assert gain < -2.5 if gear.startswith("crossed") else gain > 2.5


@pytest.mark.parametrize(
    ("gear", "table", "key", "value"),
    [
        ("open rods, rocker", "eccentric_rods", "forward", 1650.0),
        ("launch link", "reversing", "shaft_x", 2000.0),
        ("Gooch", "expansion_link", "hanger", 30.0),
        ("Allan", "reversing", "rod_lifting_link", 20.0),
        ("plain eccentric", "valve", "guide_height", 1400.0),
    ],
)
def test_a_gear_that_cannot_pass_is_refused(gear: str, table: str, key: str, value: float) -> None:
    tables = with_changes(TRIAL_GEARS[gear], {table: {key: value}})
    with pytest.raises(NotClosed):
        solve(tables, next(iter(settings_of(gear).values())), CRANK_ANGLES, kind=KIND_OF[gear])
