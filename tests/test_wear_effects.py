"""What wear, bends, slips, heights and heat make of a gear, against gears drawn so and independent solutions."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.interpolate import PchipInterpolator

from linkmotion.gears import DieHeld
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.gears.sensitivity import numbers, with_numbers
from linkmotion.gears.slots import CurvedSlot
from linkmotion.linkage import Linkage, Wheel, solve
from linkmotion.linkage.many import MOST_NODES
from linkmotion.linkage.parts import Crank, Fixed, Guide
from linkmotion.revolution import revolve
from linkmotion.studies.assess import assess_side
from linkmotion.wear.condition import Condition, FaceLoss
from linkmotion.wear.effects import REMAINDER, angles_of, central_when_warm, link_pins_of, rods_of, turned, warm, worn
from linkmotion.wear.lost_motion import joints_of, lost_motion
from linkmotion.wear.running import Load, running
from tests.gears_at_hand import EXAMPLES, every_gear, example, number_of, of_engine, plain_tables
from tests.independent import joint_angles
from tests.independent.trial_gears import with_changes

Floats = NDArray[np.float64]
ANGLES: Floats = np.arange(24.0) * 15
ENGINES = ("dock_shunter", "metre_gauge", "stephenson_goods")
EVERY = list(every_gear())
SLOTTED = [name for name in EVERY if every_gear()[name].gear.slot is not None]
CASES = [(name, notch) for name in ENGINES for notch in ("full forward", "forward 25")]
STEEL = 11.7e-6


def valve(gear: Any, setting: Any) -> Floats:
    found: Floats = revolve(gear, setting).spindle[0](np.radians(ANGLES))
    return found


def first(name: str) -> tuple[Any, Any]:
    own = every_gear()[name]
    return own.gear, next(iter(own.settings.values()))


# ---- nothing worn

NOTHING = {
    "nothing entered": Condition(),
    "no twist in the events": Condition(twist=0.5, die_length=80.0, die_side_clearance=0.1),
    "noughts": Condition(heat={"rods": 0.0, "frame": 0.0, "spindle": 0.0}, spindle_length=900.0, die_clearance=0.0),
}


@pytest.mark.parametrize("found", NOTHING.values(), ids=NOTHING)
@pytest.mark.parametrize("name", EVERY)
def test_nothing_worn_is_the_drawing_bit_for_bit(name: str, found: Condition) -> None:
    gear, setting = first(name)
    as_drawn = revolve(gear, setting)
    made = warm(worn(gear, found), found)
    assert numbers(made) == numbers(gear)
    again = turned(made, setting, found)
    assert np.array_equal(again.spindle.c, as_drawn.spindle.c)
    assert np.array_equal(again.solution.along(VALVE_GUIDE), as_drawn.solution.along(VALVE_GUIDE))
    free = lost_motion(made, setting, found).total
    assert np.array_equal(free, np.zeros(96))
    x = as_drawn.spindle.on_grid(96)
    assert np.array_equal(running(x, free, Load(50.0, 60.0, 240.0)), x)
    assert central_when_warm(123.456, found) == 123.456


@pytest.mark.parametrize("name", EVERY)
def test_noughts_entered_for_every_part_change_nothing(name: str) -> None:
    gear, setting = first(name)
    found = Condition(
        clearance=dict.fromkeys(joints_of(gear.declare(setting)), 0.0),
        slot=(FaceLoss(-50.0), FaceLoss(50.0)) if gear.slot is not None else (),
        bow=dict.fromkeys(rods_of(gear), 0.0),
        bent=dict.fromkeys(link_pins_of(gear), (0.0, 0.0)),
        angle_slip=dict.fromkeys(angles_of(gear), 0.0),
    )
    assert np.array_equal(turned(worn(gear, found), setting, found).spindle.c, revolve(gear, setting).spindle.c)
    assert np.all(lost_motion(gear, setting, found).total == 0.0)


# ---- the slot


def slot_keys(gear: Any) -> tuple[tuple[str, str], tuple[str, str]]:
    """Keys of the slot's offset and radius: of the link, or of the slide."""
    if hasattr(gear, "slide"):
        return ("slide", "offset"), ("slide", "radius")
    table = "stationary_link" if gear.name == "southern" else "expansion_link"
    return (table, "slot_offset"), (table, "slot_radius")


@pytest.mark.parametrize("name", SLOTTED)
def test_even_wear_is_a_slot_cut_so(name: str) -> None:
    own = every_gear()[name]
    for setting in own.settings.values():
        for loss in (FaceLoss(0.0, front=0.7, back=0.1), FaceLoss(12.0, back=0.5)):
            ahead = (loss.front - loss.back) / 2
            offset, radius = slot_keys(own.gear)
            cut = {offset: numbers(own.gear)[offset] + ahead}
            if isinstance(own.gear.slot, CurvedSlot):  # about the same centre of curvature
                inward = ahead if own.gear.slot.concave_forward else -ahead
                cut[radius] = numbers(own.gear)[radius] - inward
            exact = valve(with_numbers(own.gear, cut), setting)
            found = turned(own.gear, setting, Condition(slot=(loss,))).spindle[0](np.radians(ANGLES))
            assert np.max(np.abs(found - exact)) < 1e-9
            assert np.max(np.abs(exact - valve(own.gear, setting))) > 0.1


@pytest.mark.parametrize("name", SLOTTED)
def test_offset_die_restores_the_path_in_a_slot_cleaned_up(name: str) -> None:
    own = every_gear()[name]
    found = Condition(slot=(FaceLoss(-80.0, 1.0, 0.2), FaceLoss(80.0, 1.0, 0.2)), die_offset=-0.4)
    for setting in own.settings.values():
        path = turned(own.gear, setting, found).spindle[0](np.radians(ANGLES))
        assert np.max(np.abs(path - valve(own.gear, setting))) < 1e-9


CLOSE = (-60.0, -35.0, -20.0, -18.0, 4.0, 5.5, 33.0, 61.0)  # two pairs of readings close together
APART = (-60.0, -35.0, -20.0, -8.0, 4.0, 15.0, 33.0, 61.0)


def worn_faces(middle: float, places: tuple[float, ...], seed: int) -> tuple[Floats, Floats, Floats]:
    """Readings about where the die works: places, front and back losses."""
    chance = np.random.default_rng(seed)
    return middle + np.array(places), chance.uniform(0.0, 0.4, len(places)), chance.uniform(0.0, 0.4, len(places))


@pytest.mark.parametrize("places", [APART, CLOSE], ids=["apart", "close"])
@pytest.mark.parametrize(("name", "notch"), CASES)
def test_uneven_wear_against_loops_solved_with_the_profile(name: str, notch: str, places: tuple[float, ...]) -> None:
    """To rounding at the positions turned, between them to what the series may leave (its estimate, where 3072
    positions are not enough). Places are along the drawn slot, as ``lost_motion`` takes them.
    """
    pytest.importorskip("casadi")
    from tests.independent.pin_gears import pin_gear
    from tests.independent.worn_slot import valve_with_slot

    own, pins = of_engine(example(name)), pin_gear(plain_tables(example(name)))
    setting = own.settings[notch]
    middle = float(revolve(own.gear, setting).die.c[0, 0].real)
    at, front, back = worn_faces(middle, places, 7)
    ahead = PchipInterpolator(at, front), PchipInterpolator(at, back)

    def profile(place: float) -> float:
        inside = min(max(place, at[0]), at[-1])
        return float(ahead[0](inside) - ahead[1](inside)) / 2 - 0.12

    readings = tuple(FaceLoss(*map(float, row)) for row in zip(at, front, back, strict=True))
    found = turned(own.gear, setting, Condition(slot=readings, die_offset=-0.12))
    exact = valve_with_slot(pins, number_of(setting), ANGLES, profile, along_drawn=True)
    rows = np.broadcast_to(found.solution.along(VALVE_GUIDE), found.solution.shape)
    assert np.max(np.abs(rows[:: rows.size // 24] - exact)) < 1e-9
    between = ANGLES + 3.1
    exact_between = valve_with_slot(pins, number_of(setting), between, profile, along_drawn=True)
    left = np.max(np.abs(found.spindle[0](np.radians(between)) - exact_between))
    estimate = found.spindle.tail * found.spindle.c.shape[-1]
    assert estimate <= REMAINDER or rows.size == MOST_NODES
    assert left < max(estimate, REMAINDER)
    assert left < 5e-5  # mm
    assert np.max(np.abs(exact - valve(own.gear, setting))) > 0.02
    worn_places = valve_with_slot(pins, number_of(setting), ANGLES, profile)
    steepest = max(np.max(np.abs(curve(np.linspace(at[0], at[-1], 400), 1))) for curve in ahead)
    assert np.max(np.abs(worn_places - exact)) < 5e-4 + 0.1 * steepest  # along the worn path instead: a second order


@pytest.mark.parametrize("name", ENGINES)
def test_worn_slot_in_all_notches_at_once(name: str) -> None:
    own = every_gear()[name]
    found = Condition(slot=(FaceLoss(-140.0, 0.1, 0.2), FaceLoss(20.0, 0.6, 0.1), FaceLoss(140.0, 0.0, 0.3)))
    rows = turned(own.gear, own.together(), found).spindle
    for k, setting in enumerate(own.settings.values()):
        alone = turned(own.gear, setting, found)  # in a notch by itself fewer positions may do
        at, rate = np.radians(ANGLES), alone.solution.wheel.turn.size // ANGLES.size
        places = np.broadcast_to(alone.solution.along(VALVE_GUIDE), alone.solution.shape)
        assert np.max(np.abs(rows[k](at) - places[::rate])) < max(REMAINDER, rows.tail * rows.c.shape[-1])
        assert np.max(np.abs(alone.spindle[0](at) - places[::rate])) < REMAINDER


# ---- bends, slips, height, heat


@pytest.mark.parametrize("name", EVERY)
def test_bowed_rod_keeps_its_length_along_the_bow(name: str) -> None:
    """The parabola's arc over the shortened chord is the rod's drawn length but for 0.71 b⁴/L³; a circle's differs
    from the parabola's by 64/15 b⁴/L³ (both by series), which for 5 mm in 800 mm is 5e-6 mm.
    """
    gear, _setting = first(name)
    for rod, key in rods_of(gear).items():
        length, bow = numbers(gear)[key], numbers(gear)[key] / 100
        chord = numbers(worn(gear, Condition(bow={rod: bow})))[key]
        arc = quad(lambda x, b=bow, c=chord: np.hypot(1.0, 4 * b * (c - 2 * x) / c**2), 0.0, chord, epsabs=1e-10)[0]
        assert abs(arc - length) < 0.72 * bow**4 / length**3 + 1e-9
        assert length - chord > 2.6 * bow**2 / length
        half = 2 * np.arctan(2 * bow / chord)
        circle = chord * half / np.sin(half)
        assert circle - arc == pytest.approx(64 / 15 * bow**4 / chord**3, rel=0.01)


@pytest.mark.parametrize("name", [name for name in SLOTTED if not every_gear()[name].gear.slot.works])  # type: ignore[union-attr]
def test_link_bent_in_its_plane_is_a_changed_dimension(name: str) -> None:
    gear, setting = first(name)
    keys = {"foot": ("foot_backset", "foot_drop", -1)}
    keys |= {f"{w} pin": (f"{w}_pin_x", f"{w}_pin_y", 1) for w in ("forward", "backward")}
    keys |= {"saddle pin": ("saddle_x", "saddle_y", 1)}
    for pin in link_pins_of(gear):
        x, y, sign = keys[pin]
        link = gear.expansion_link
        changed = {x: getattr(link, x) + sign * 0.5, y: getattr(link, y) + sign * -0.3}
        bent = worn(gear, Condition(bent={pin: (0.5, -0.3)}))
        assert bent == replace(gear, expansion_link=replace(link, **changed))
        same = revolve(replace(gear, expansion_link=replace(link, **changed)), setting).spindle.c
        assert np.array_equal(revolve(bent, setting).spindle.c, same)
        hung = pin != "saddle pin" or not isinstance(setting, DieHeld)  # a die held fast takes no note of the saddle
        assert np.array_equal(same, revolve(gear, setting).spindle.c) is not hung
    assert bool(link_pins_of(gear)) is (gear.name != "southern")  # a link on the frame has none


@pytest.mark.parametrize(("name", "notch"), CASES)
@pytest.mark.parametrize("rise", [3.0, -8.0])
def test_raised_axle_against_the_wheel_moved(name: str, notch: str, rise: float) -> None:
    pytest.importorskip("casadi")
    from tests.independent.pin_gears import pin_gear
    from tests.independent.worn_slot import valve_with_axle_raised

    own, pins = of_engine(example(name)), pin_gear(plain_tables(example(name)))
    exact = valve_with_axle_raised(pins, number_of(own.settings[notch]), ANGLES, rise)
    found = valve(worn(own.gear, Condition(axle_height=rise)), own.settings[notch])
    assert np.max(np.abs(found - exact)) < 1e-9
    assert np.max(np.abs(exact - valve(own.gear, own.settings[notch]))) > 0.05


def lowered(linkage: Linkage, by: float) -> Linkage:
    """Everything on the frame moved down, part by part; the wheel stays."""
    parts: list[Any] = []
    axles = [number for pin, number in linkage.names.items() if pin.split()[-1] == "axle"]  # of all its cranks
    for part in linkage.parts:
        if isinstance(part, Fixed) and part.pin not in axles:
            part = replace(part, y=part.y - by)
        elif isinstance(part, Guide):
            part = replace(part, origin=(part.origin[0], part.origin[1] - by))
        parts.append(part)
    return Linkage(dict(linkage.names), list(linkage.near), parts)


@pytest.mark.parametrize("name", EVERY)
def test_raised_axle_lowers_all_that_stands_on_the_frame(name: str) -> None:
    """Wheel directions: dead centre is that of the raised axle."""
    gear, setting = first(name)
    raised = worn(gear, Condition(axle_height=4.0))
    turn = np.linspace(0.0, 2 * np.pi, 24, endpoint=False)
    found = solve(raised.declare(setting), Wheel.at(-turn - raised.crank.front_direction)).along(VALVE_GUIDE)
    exact = solve(lowered(gear.declare(setting), 4.0), Wheel.at(-turn - gear.crank.front_direction)).along(VALVE_GUIDE)
    assert np.max(np.abs(found - exact)) < 1e-9


CRANK_KEPT = [Condition(axle_height=6.0), Condition(bow={"connecting rod": 4.0}), Condition(heat={"frame": 80.0})]


@pytest.mark.parametrize("found", CRANK_KEPT, ids=["axle", "bow", "heat"])
@pytest.mark.parametrize("name", EVERY)
def test_the_crank_keeps_its_radius(name: str, found: Condition) -> None:
    """Also where the drawing gives the stroke: a crank does not change its throw with the axle's height."""
    gear, _setting = first(name)
    assert warm(worn(gear, found), found).crank.radius == pytest.approx(gear.crank.radius, abs=1e-9)


@pytest.mark.parametrize("name", EVERY)
def test_slip_turns_the_eccentric_or_return_crank(name: str) -> None:
    """In forward running (clockwise) ahead means a smaller phase. A plain eccentric's stop is its angle."""
    gear, _setting = first(name)
    if gear.name in ("joy", "crosshead driven"):
        assert not angles_of(gear)  # nothing is keyed
        return
    slipped = worn(gear, Condition(angle_slip=dict.fromkeys(angles_of(gear), 0.75)))
    phases = []
    for each in (gear, slipped):
        notch = each.setting(next(iter(each.notches.values())))
        phases.append({part.pin: part.phase for part in each.declare(notch).parts if isinstance(part, Crank)})
    assert angles_of(gear)
    if any(table.endswith("return_crank") for table, _key in numbers(gear)):
        return  # it turns about the crank pin: the next test
    turned_by = sorted(np.degrees(phases[0][pin] - phases[1][pin]) for pin in phases[0])
    assert turned_by == pytest.approx([0.0] + [0.75] * len(angles_of(gear)), abs=1e-12)


@pytest.mark.parametrize("slip", [-1.5, 0.75])
@pytest.mark.parametrize("name", ["metre_gauge", "dock_shunter"])
def test_a_return_crank_slips_round_the_crank_pin(name: str, slip: float) -> None:
    """Axle, crank pin, return-crank pin: the arm is kept, its angle at the crank pin closes by the slip.

    The other solution is given the pin's radius from the law of cosines, and the arm's length.
    """
    tables = plain_tables(example(name))
    own, main = tables["return_crank"], tables["cylinder"]["crank_radius"]
    radius, beta = own["pin_radius"], np.radians(own["angle"])
    arm = np.sqrt(main**2 + radius**2 - 2 * main * radius * np.cos(beta))
    at_pin = np.arccos((main**2 + arm**2 - radius**2) / (2 * main * arm)) - np.radians(slip) * np.sign(beta)
    now = np.sqrt(main**2 + arm**2 - 2 * main * arm * np.cos(at_pin))
    assert abs(now - radius) > 1.0  # mm: it is no mere change of angle
    sense = "leads" if beta > 0 else "follows"
    theirs = with_changes(tables, {"return_crank": {"length": float(arm), "pin_radius": float(now), "sense": sense}})
    del theirs["return_crank"]["angle"]
    gear, setting = first(name)
    slipped = worn(gear, Condition(angle_slip={"return crank": slip}))
    angles = np.arange(0.0, 360.0, 15.0)
    valve = joint_angles.solve(theirs, number_of(setting), angles).valve
    assert np.max(np.abs(revolve(slipped, setting).spindle[0](np.radians(angles)) - valve)) < 1e-7


@pytest.mark.parametrize("name", [path.stem for path in EXAMPLES])
def test_slip_shows_in_the_events(name: str) -> None:
    setup = example(name).side_state()
    drawn = assess_side(setup).motion.spindle.c
    for part in angles_of(setup.gear):
        slipped = assess_side(replace(setup, condition=Condition(angle_slip={part: 2.0}))).motion.spindle.c
        assert np.max(np.abs(slipped - drawn)) > 0.1, part


@pytest.mark.parametrize("name", EVERY)
def test_heat_lengthens_rods_and_frame(name: str) -> None:
    gear, _setting = first(name)
    cold, rods = numbers(gear), set(rods_of(gear).values())
    hot = numbers(warm(gear, Condition(heat={"rods": 70.0, "frame": 25.0})))
    assert cold.keys() - hot.keys() <= {("cylinder", "stroke")}  # a crank may be written by its radius instead
    for key in cold.keys() & hot.keys():
        length = cold[key]
        grown = hot[key] - length
        on_frame = key[1].split(".")[-1] in {"pivot_x", "pivot_y", "shaft_x", "shaft_y", "trunnion_x", "trunnion_y",
                                             "hanger_x", "hanger_y", "point_x", "point_y", "middle_x", "middle_y",
                                             "guide_height", "line_height"}  # fmt: skip
        kelvin = 70.0 if key in rods else 25.0 if on_frame else 0.0
        assert grown == pytest.approx(STEEL * length * kelvin, abs=1e-12), key
    assert len(rods) >= 2


@given(st.floats(500, 3000), st.floats(300, 1500), st.floats(0, 250), st.floats(0, 60))
def test_valve_is_central_over_the_warm_ports(central: float, spindle: float, hot: float, frame: float) -> None:
    """Ports at central + spindle on a frame that grows from the axle; the valve is a warm spindle ahead of its pin."""
    found = Condition(heat={"spindle": hot, "frame": frame}, spindle_length=spindle)
    pin = central_when_warm(central, found)
    assert pin + spindle * (1 + STEEL * hot) == pytest.approx((central + spindle) * (1 + STEEL * frame), abs=1e-9)


# ---- what was entered

amounts = st.integers(1, 50).map(lambda n: n / 16)


def named(names: list[str]) -> st.SearchStrategy[dict[str, float]]:
    return st.dictionaries(st.sampled_from(names), amounts, max_size=3)


conditions = st.builds(
    Condition,
    clearance=named(["foot", "die pin", "union pin"]),
    slot=st.sampled_from([(), (FaceLoss(-10.0, 0.1, 0.2), FaceLoss(10.0, 0.0, 0.3))]),
    die_clearance=st.sampled_from([0.0, 0.2]), die_offset=st.sampled_from([0.0, -0.3]),
    axle_height=st.sampled_from([0.0, 4.0]), bow=named(["eccentric rod", "radius rod"]),
    bent=st.dictionaries(st.sampled_from(["foot", "saddle pin"]), st.tuples(amounts, amounts), max_size=2),
    angle_slip=named(["return crank", "forward eccentric"]), heat=named(["rods", "spindle", "frame"]),
    spindle_length=st.sampled_from([0.0, 900.0]),
)  # fmt: skip


@given(conditions)
def test_items_account_for_everything_once(found: Condition) -> None:
    together: dict[str, Any] = {}
    for _words, item in found.items():
        assert not item.sound
        assert item.spindle_length == (found.spindle_length if item.heat else 0.0)
        for key in (f.name for f in fields(Condition)):
            amount = getattr(item, key)
            if not amount or key == "spindle_length":
                continue
            if isinstance(amount, dict):
                assert not together.setdefault(key, {}).keys() & amount.keys()
                together[key] |= amount
            else:
                assert key not in together
                together[key] = amount
    assert replace(Condition(**together), spindle_length=found.spindle_length) == found
    assert len({words for words, _item in found.items()}) == len(found.items())


@given(conditions)
def test_one_item_made_good_leaves_the_others_as_they_are(found: Condition) -> None:
    items = found.items()
    for k, (_words, item) in enumerate(items):
        assert found.without(item).items() == items[:k] + items[k + 1 :]


@given(st.lists(st.tuples(st.integers(1, 40), amounts, amounts), min_size=2, max_size=8))
@settings(max_examples=60)
def test_readings_are_met_and_not_overshot(rows: list[tuple[int, float, float]]) -> None:
    at = np.cumsum([gap for gap, _front, _back in rows]) - 60.0
    slot = tuple(FaceLoss(float(a), front, back) for a, (_gap, front, back) in zip(at, rows, strict=True))
    for face in ("front", "back"):
        depth = np.array([getattr(reading, face) for reading in slot])
        one = Condition(slot=tuple(FaceLoss(reading.at, front=d) for reading, d in zip(slot, depth, strict=True)))
        assert np.max(np.abs(one.slot_shift(at) - depth / 2)) < 1e-12
        fine = np.linspace(at[:-1], at[1:], 21)
        loss = one.die_play(fine)
        assert np.all(loss <= np.maximum(depth[:-1], depth[1:]) + 1e-12)
        assert np.all(loss >= np.minimum(depth[:-1], depth[1:]) - 1e-12)
        assert np.all(np.sign(np.diff(loss, axis=0)) * np.sign(np.diff(depth)) >= 0)  # one way between readings
        assert np.max(np.abs(one.die_play(np.array([at[0] - 30, at[-1] + 30])) - depth[[0, -1]])) < 1e-12
    both = Condition(slot=slot, die_clearance=0.05, die_offset=0.3)
    front, back = (np.array([getattr(reading, face) for reading in slot]) for face in ("front", "back"))
    assert np.max(np.abs(both.slot_shift(at) - ((front - back) / 2 + 0.3))) < 1e-12
    assert np.max(np.abs(both.die_play(at) - (front + back + 0.05))) < 1e-12


@pytest.mark.parametrize("name", ["dock_shunter", "metre_gauge", "stephenson_goods", "gooch_tank", "allan_saddle_tank"])
def test_what_is_neglected_of_a_twist_is_under_a_thousandth_of_a_per_cent(name: str) -> None:
    """A link twisted by 0.5 mm over its slot is shorter by t²/2L: its pins nearer by that share, the gear turned."""
    setup = example(name).side_state()
    slot: Any = setup.gear.slot
    length, given = slot.top + slot.bottom, numbers(setup.gear)
    keys = [key for key in given if key[0] == "expansion_link" and key[1].endswith(("foot_drop", "ward_pin_y"))]

    def events(shorter: float) -> dict[tuple[str, str, str], Any]:
        gear = with_numbers(setup.gear, {key: given[key] * (1 - shorter / length) for key in keys})
        ways = assess_side(replace(setup, gear=gear)).events.items()
        return {(way, end, event): own.percent[event] for way, ends in ways for end, own in ends.items()
                for event in own.percent}  # fmt: skip

    drawn, twisted, fifty_fold = events(0.0), events(0.5**2 / 2 / length), events(50 * 0.5**2 / 2 / length)
    most, seen = (max(np.nanmax(np.abs(each[k] - drawn[k])) for k in drawn) for each in (twisted, fifty_fold))
    assert keys
    assert most < 1e-3
    assert seen > 1e-3  # the comparison can tell
