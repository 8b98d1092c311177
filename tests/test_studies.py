"""Setting rules, notches by die height, the sense in which a notch drives, layering of states."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from linkmotion.events import DIRECTIONS, both_ends
from linkmotion.files.engine_file import parse_engine
from linkmotion.gears import Arm, DieHeight
from linkmotion.gears.book import Cylinder, Valve
from linkmotion.gears.gear import ShiftedGear
from linkmotion.gears.layering import layered
from linkmotion.gears.return_crank import ReturnCrank
from linkmotion.gears.reverser import figure
from linkmotion.gears.rocked_link import RockedLinkGear
from linkmotion.linkage import Wheel, solve
from linkmotion.revolution import revolve
from linkmotion.studies.assess import NotchError, SideEvents, assess
from linkmotion.valve import ENDS, Ports
from linkmotion.valve_setting import central_place
from tests.gears_at_hand import EXAMPLES, every_gear, example, mirrored, mirrored_setting, with_valve

GEARS = tuple(every_gear())
STEMS = tuple(path.stem for path in EXAMPLES)


# ---- the valve set by a rule ----------------------------------------------------------------------------------------


def ends_when_set(name: str, rule: str, notch: str, way: str) -> Any:
    """Events of both ends with the valve set by a rule in a notch and direction."""
    own = every_gear()[name]
    gear = with_valve(own.gear, central_at=None, set_by=rule, set_in={"notch": notch, "direction": way})
    turned = revolve(gear, own.settings[notch])
    valve = turned.displacement(central_place(gear.valve, turned))
    return both_ends(valve, Ports.of(gear.valve), gear.crank, way)


@pytest.mark.parametrize("way", DIRECTIONS)
@pytest.mark.parametrize("name", GEARS)
def test_equal_lead_makes_the_leads_equal(name: str, way: str) -> None:
    for notch in every_gear()[name].settings:
        ends = ends_when_set(name, "equal lead", notch, way)
        assert abs(ends["front"].lead[0] - ends["back"].lead[0]) < 1e-8, notch


@pytest.mark.parametrize("way", DIRECTIONS)
@pytest.mark.parametrize("name", GEARS)
def test_equal_opening_makes_the_greatest_openings_equal(name: str, way: str) -> None:
    """Before they are cut off at the port: opening and over-travel together."""
    for notch in every_gear()[name].settings:
        ends = ends_when_set(name, "equal opening", notch, way)
        most = [ends[end].opening[0] + ends[end].over_travel[0] for end in ENDS]
        assert abs(most[0] - most[1]) < 1e-8, notch


def drives_in(name: str) -> tuple[tuple[str, str], ...]:
    """The first and last notch of a gear, each in the direction in which it takes the more steam."""
    own = every_gear()[name]
    found = []
    for notch in (next(iter(own.settings)), list(own.settings)[-1]):
        cutoffs = {
            way: ends_when_set(name, "equal lead", notch, way)["front"].percent["cutoff"][0] for way in DIRECTIONS
        }
        found.append((notch, max(cutoffs, key=lambda way: np.nan_to_num(cutoffs[way]))))
    return tuple(found)


@pytest.mark.parametrize("name", GEARS)
def test_equal_cutoff_makes_the_cutoffs_equal(name: str) -> None:
    """In percent of the stroke, in the gears' outermost notches in the direction in which they drive."""
    for notch, way in drives_in(name):
        ends = ends_when_set(name, "equal cutoff", notch, way)
        assert abs(ends["front"].percent["cutoff"][0] - ends["back"].percent["cutoff"][0]) < 1e-8, notch


def test_rules_differ_so_that_each_must_be_followed() -> None:
    own = every_gear()["dock_shunter"]
    places = []
    for rule in ("equal lead", "equal opening", "equal cutoff"):
        gear = with_valve(
            own.gear, central_at=None, set_by=rule, set_in={"notch": "full forward", "direction": "forward"}
        )
        places.append(central_place(gear.valve, revolve(gear, own.settings["full forward"])))
    assert min(abs(a - b) for i, a in enumerate(places) for b in places[:i]) > 0.05  # mm


# ---- notches by die height ------------------------------------------------------------------------------------------

WITH_LINK = [name for name in GEARS if isinstance(every_gear()[name].gear, ShiftedGear)]


@pytest.mark.parametrize("name", WITH_LINK)
@pytest.mark.parametrize("height", [-70.0, -15.0, 0.0, 40.0, 75.0])
def test_the_die_stands_at_the_height_asked_for_on_front_dead_centre(name: str, height: float) -> None:
    """With a rocked link: above the trunnion; the others: along the slot from mid link."""
    gear: Any = every_gear()[name].gear
    solution = solve(gear.declare(gear.setting(DieHeight(height))), Wheel.at(0.0))
    assert abs(solution["crank pin"][0] - gear.crank.radius * np.exp(1j * gear.crank.front_direction)) < 1e-12
    slot = gear.slot
    assert slot is not None
    if isinstance(gear, RockedLinkGear):
        stands = (solution[slot.die] - solution["trunnion"])[0].imag
    else:
        stands = np.ravel(slot.die_place(solution))[0]
    assert abs(stands - height) < 1e-9


@pytest.mark.parametrize("name", ["metre_gauge", "sliding block"])
@pytest.mark.parametrize("height", [-60.0, 10.0, 60.0])
def test_with_a_sliding_block_the_arm_s_end_nearer_the_die_is_taken(name: str, height: float) -> None:
    gear: Any = every_gear()[name].gear
    solution = solve(gear.declare(gear.setting(DieHeight(height))), Wheel.at(0.0))
    die, shaft, end = (solution[pin].ravel()[0] for pin in ("die pin", "weighshaft", "arm pin"))
    rod = (solution["lever pin"].ravel()[0] - die) / gear.radius_rod.length
    other = end - 2 * rod * ((end - shaft) * np.conj(rod)).real  # where the rod's line meets the arm's circle again
    assert abs(abs(other - shaft) - gear.reversing.arm) < 1e-9
    assert abs(end - die) < abs(other - die)


def test_a_die_height_out_of_reach_is_refused_by_notch() -> None:
    engine = example("dock_shunter")
    tables = {table: dict(keys) for table, keys in engine.drawing.items()}
    tables["reversing"]["notches"] = {**tables["reversing"]["notches"], "mid": DieHeight(900.0)}
    with pytest.raises(NotchError, match="'mid'"):
        assess(replace(engine, drawing=tables))


@pytest.mark.parametrize("stem", STEMS)
def test_a_die_height_is_a_notch_of_the_drawn_rack_in_every_state(stem: str) -> None:
    engine = example(stem)
    drawing = {side.side: side for side in assess(engine).sides}
    for state in engine.states:
        for side in assess(engine, state).sides:
            drawn = drawing[side.side]
            heights = [name for name, notch in drawn.gear.notches.items() if isinstance(notch, DieHeight)]
            own = engine.side_state(state, side.side).own_notches
            for name in (height for height in heights if height not in own):
                row = side.notches.index(name)
                assert figure(side.settings[row]) == figure(drawn.settings[row])


def test_a_die_height_that_a_state_gives_itself_is_found_on_that_state() -> None:
    text = example("dock_shunter").text + '\n[state.moved.both.expansion_link]\ntrunnion_y = "16"\n'
    plain = parse_engine(text)
    own = parse_engine(text + '[state.moved.both.reversing.notches]\n"mid" = { die = 0 }\n')
    rack, found = (assess(each, "moved", ["left"]).sides[0] for each in (plain, own))
    row = rack.notches.index("mid")
    gear = own.gear("moved")
    assert figure(rack.settings[row]) == figure(assess(plain).sides[0].settings[row])
    assert figure(found.settings[row]) == figure(gear.setting(DieHeight(0.0)))
    assert abs(figure(found.settings[row]) - figure(rack.settings[row])) > 0.5


# ---- the direction in which a notch drives --------------------------------------------------------------------------


@pytest.mark.parametrize("stem", [stem for stem in STEMS if "full forward" in every_gear()[stem].settings])
def test_full_gear_drives_its_own_way(stem: str) -> None:
    side = assess(example(stem)).sides[0]
    drives = dict(zip(side.notches, side.drives, strict=True))
    assert (drives["full forward"], drives["full backward"]) == ("forward", "backward")
    assert side.driven(side.notches.index("full forward")) == ("forward",)


@pytest.mark.parametrize("stem", ["dock_shunter", "metre_gauge", "stephenson_goods"])
def test_mid_gear_drives_both_ways_alike(stem: str) -> None:
    side = assess(example(stem), notches=["mid"]).sides[0]
    assert side.drives == ("both",)
    assert side.driven(0) == ("forward", "backward")


def test_a_gear_turned_over_drives_the_other_way() -> None:
    own = every_gear()["outside, lifting link"]
    plain = SideEvents("left", "drawing", tuple(own.settings), (), revolve(own.gear, own.together()), 1999.2)
    turned = revolve(mirrored(own.gear), mirrored_setting(own.gear, own.together()))
    over = SideEvents("left", "drawing", tuple(own.settings), (), turned, 1999.2)
    swapped = {"forward": "backward", "backward": "forward", "both": "both"}
    assert over.drives == tuple(swapped[way] for way in plain.drives)
    assert set(plain.drives) == {"forward", "backward", "both"}


def test_drives_is_the_greater_steam_by_a_tenth_of_the_stroke() -> None:
    """Cutoff less admission, mean of the ends, in one direction against the other."""
    side = assess(example("metre_gauge"), sides=["left"]).sides[0]
    for row, told in enumerate(side.drives):
        steam = [
            np.mean(
                [
                    side.events[way][end].percent["cutoff"][row] - side.events[way][end].percent["admission"][row]
                    for end in ENDS
                ]
            )
            for way in DIRECTIONS
        ]
        gain = steam[0] - steam[1]
        assert told == ("forward" if gain > 10 else "backward" if gain < -10 else "both")


# ---- layering of states ---------------------------------------------------------------------------------------------


def test_a_state_lays_base_both_and_side_over_the_drawing_in_that_order() -> None:
    text = example("metre_gauge").text + (
        "\n[state.one]\n[state.one.both.union_link]\nlength = 326\n[state.one.left.union_link]\nlength = 327\n"
        '[state.two]\nbased_on = "one"\n[state.two.both.union_link]\nlength = 328\n'
        '[state.three]\nbased_on = "two"\n[state.three.right.union_link]\nlength = 329\n'
    )
    engine = parse_engine(text)
    lengths = {
        (state, side): engine.gear(state, side).union_link.length  # type: ignore[attr-defined]
        for state in ("drawing", "one", "two", "three")
        for side in ("left", "right")
    }
    assert lengths == {
        ("drawing", "left"): 325, ("drawing", "right"): 325, ("one", "left"): 327, ("one", "right"): 326,
        ("two", "left"): 328, ("two", "right"): 328, ("three", "left"): 328, ("three", "right"): 329,
    }  # fmt: skip
    assert engine.lineage("three") == ["one", "two", "three"]
    assert engine.lineage("drawing") == []
    assert engine.gear("three").eccentric_rod.length == engine.gear().eccentric_rod.length  # type: ignore[attr-defined]


def test_a_figure_takes_the_place_of_those_it_stands_instead_of() -> None:
    assert layered({"stroke": 530.0, "line_height": 15.0}, {"crank_radius": 264.0}, Cylinder) == {
        "crank_radius": 264.0, "line_height": 15.0,
    }  # fmt: skip
    assert layered({"steam_lap_front": 24.0, "steam_lap_back": 23.0}, {"steam_lap": 22.0}, Valve) == {"steam_lap": 22.0}
    assert layered({"set_by": "equal lead", "set_in": {}}, {"central_at": 2000.0}, Valve) == {"central_at": 2000.0}
    polar = {"pin_radius": 161.0, "angle": 84.0}
    assert layered({"length": 300.0, "sense": "leads", "pin_radius": 160.0}, polar, ReturnCrank) == polar
    kept = layered({"pin_radius": 160.0, "angle": 84.0}, {"angle": 83.0}, ReturnCrank)
    assert kept == {"pin_radius": 160.0, "angle": 83.0}


def test_a_state_may_give_one_notch_and_keep_the_others() -> None:
    text = example("metre_gauge").text + '\n[state.one.both.reversing.notches]\n"full forward" = 31.0\n'
    engine = parse_engine(text)
    drawn, changed = engine.gear().notches, engine.gear("one").notches
    assert changed["full forward"] == Arm(31.0)
    assert {k: v for k, v in changed.items() if k != "full forward"} == {
        k: v for k, v in drawn.items() if k != "full forward"
    }


def test_sides_that_are_alike_are_turned_once() -> None:
    drawn = assess(example("dock_shunter"))
    assert drawn.sides[0].motion is drawn.sides[1].motion
    assert len(drawn.distinct_sides) == 1
    assert [side.side for side in drawn.sides] == ["left", "right"]
    assert len(assess(example("dock_shunter"), "as found").distinct_sides) == 2
