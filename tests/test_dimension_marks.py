"""Letters of dimensions, and where each lies in the drawing: over every gear, and the toy gear of DEVELOPERS.md."""

from dataclasses import make_dataclass, replace
from typing import Any

import numpy as np
import pytest

from linkmotion.elevation.dimension_marks import ALONG, ANGLE, DISTANCE, NOTCHES, RADIUS, DimensionMark, dimension_marks
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.files.engine_file import parse_engine
from linkmotion.gears import GEARS, Arm, Gear, Stop, Walschaerts
from linkmotion.gears.keys import in_mm
from linkmotion.gears.letters import letters, part_letters, said_of
from linkmotion.gears.rocked_link import ExpansionLink
from linkmotion.gears.sensitivity import numbers, with_numbers
from linkmotion.linkage import Wheel, solve
from linkmotion.studies.assess import assess
from linkmotion.studies.side_drawing import elevation_of
from tests.elevations import Made, drawn
from tests.gears_at_hand import EXAMPLES, every_gear, number_of
from tests.test_how_to_add_a_gear import block, toy_gear  # noqa: F401 - a fixture

TURNED = 33.0  # degrees from front dead centre


def marks_of(elevation: Elevation, notch: int, turned: float = TURNED) -> dict[Any, DimensionMark]:
    return {mark.key: mark for mark in dimension_marks(elevation, elevation.places(notch, turned), notch)}


def toy() -> Made:
    side = assess(parse_engine(block("toml"))).sides[0]
    return Made(side.gear, elevation_of(side), float(side.central_at), (0,))


# ---- letters ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("gear", GEARS)
def test_every_length_and_angle_has_a_letter_of_its_own(gear: str) -> None:
    own = letters(GEARS[gear])
    assert len(set(own.values())) == len(own) > 10
    for (table, _key), letter in own.items():
        assert letter.startswith(part_letters(GEARS[gear])[table])
        assert letter.isalnum()
        assert not set(letter) & set("IOQ")


def test_the_tables_that_gears_share_have_the_same_letters() -> None:
    for gear in GEARS.values():
        assert [letters(gear)[key] for key in (("connecting_rod", "length"), ("valve", "guide_height"))] == ["B1", "C8"]


@pytest.mark.parametrize("name", [path.stem for path in EXAMPLES])
def test_every_figure_of_an_engine_has_a_letter(name: str) -> None:
    gear = every_gear()[name].gear
    assert set(numbers(gear)) <= set(letters(type(gear)))


def test_a_key_and_a_table_declared_last_shift_no_letters() -> None:
    frozen: dict[str, Any] = {"frozen": True, "kw_only": True}
    blower = make_dataclass("Blower", [("lever", Any, in_mm("blower lever"))], **frozen)
    link = make_dataclass("Longer", [("bridge", Any, in_mm("its bridge"))], bases=(ExpansionLink,), **frozen)
    more = make_dataclass("More", [("expansion_link", link), ("blower", blower)], bases=(Walschaerts,), **frozen)
    before, after = letters(Walschaerts), letters(more)
    assert {key: after[key] for key in before} == before
    assert (after["expansion_link", "bridge"], after["blower", "lever"]) == ("H9", "M1")


def test_the_printed_gear_has_letters_and_marks(toy_gear: Any) -> None:  # noqa: F811
    own = letters(toy_gear)
    assert [own["lever", key] for key in ("shaft_x", "drop_link", "valve_rod")] == ["D1", "D5", "D6"]
    marks = marks_of(toy().elevation, 0)
    assert {key for key in own if key[0] == "lever"} <= set(marks)
    assert marks["lever", "short_arm"].size == pytest.approx(50.0, abs=1e-9)


# ---- marks -----------------------------------------------------------------------------------------------------------


def at_their_dimensions(own: Made) -> None:
    """What is marked is as long as its key says, lies on a body of the drawing, and between pins if from pin to pin."""
    values, bodies = numbers(own.gear), {body.name for body in own.elevation.bodies}
    for notch in own.notches:
        solution = solve(own.gear.declare(own.elevation.paths.settings[notch]), Wheel.at(-np.radians(TURNED)))
        pins = [complex(np.ravel(solution[pin])[0]) for pin in solution.linkage.names]
        for key, mark in marks_of(own.elevation, notch).items():
            if key != NOTCHES:
                assert mark.size == pytest.approx(abs(float(values[key])), abs=1e-6), mark
            assert mark.body in bodies
            said = said_of(type(own.gear))[key]
            if said.get("pin") or said.get("slot"):
                assert own.elevation.body(mark.body).kind == "link", mark
            if said.get("rod"):
                assert mark.body == said["rod"], mark
            if said.get("frame"):
                assert mark.body == "frame", mark
            assert mark.letter == letters(type(own.gear))[key]
            if mark.kind == DISTANCE and mark.body != "cylinder":
                assert all(min(abs(end - pin) for pin in pins) < 1e-6 for end in (mark.start, mark.end)), mark
            if mark.kind == RADIUS:
                assert mark.centre is not None
                assert abs(mark.start - mark.centre) == pytest.approx(abs(mark.end - mark.centre), rel=1e-12)


def none_forgotten(own: Made) -> None:
    """A key without a mark moves nothing that the linkage, the valve or the slot is made of."""
    for notch in own.notches:
        marks = marks_of(own.elevation, notch)
        setting = own.elevation.paths.settings[notch]
        for key in set(numbers(own.gear)) - set(marks):
            if "middle plane" in said_of(type(own.gear))[key]["meaning"]:
                continue  # across the engine: a side elevation does not have it
            moved = with_numbers(own.gear, {key: numbers(own.gear)[key] + 0.01})
            assert figures(moved, setting) == figures(own.gear, setting), key


def figures(gear: Gear, setting: Any) -> list[Any]:
    linkage = gear.declare(setting)
    parts = [part.dimensions(list(linkage.names)) for part in linkage.parts]
    laps = [gear.valve.laps(flow, end) for flow in ("steam", "exhaust") for end in ("front", "back")]
    return [parts, laps, gear.valve.port_width, gear.valve.central_at]


def by_differences(own: Made) -> None:
    """One more of a key is one more of what is marked, by the moved gear's own linkage, and its own mark."""
    notch, values = own.notches[0], numbers(own.gear)
    marks, stood = marks_of(own.elevation, notch), own.elevation.paths.settings[notch]
    before = places(own.gear, stood)
    for key, mark in marks.items():
        if key == NOTCHES or (key[0] == "valve" and mark.body in ("valve", "cylinder")):
            continue
        step = 0.01
        moved = with_numbers(own.gear, {key: values[key] + step})
        setting = moved.notches[own.elevation.paths.notches[notch]] if isinstance(stood, Stop) else stood
        sign = -1.0 if values[key] < 0 else 1.0
        if mark.kind == DISTANCE:
            p, q = nearest(before, mark.start), nearest(before, mark.end)
            after = places(moved, setting)
            grown = abs(after[q] - after[p]) - abs(before[q] - before[p])
        else:
            paths = replace(own.elevation.paths, gear=moved, settings=(setting,), notches=("one",))
            grown = marks_of(Elevation.of(paths), 0)[key].size - mark.size
        assert grown / step == pytest.approx(sign, abs=1e-6), mark


def nearest(pins: dict[str, complex], place: complex) -> str:
    return min(pins, key=lambda pin: abs(pins[pin] - place))


def places(gear: Gear, setting: Any) -> dict[str, complex]:
    solution = solve(gear.declare(setting), Wheel.at(-np.radians(TURNED)))
    return {pin: complex(np.ravel(solution[pin])[0]) for pin in solution.linkage.names}


@pytest.mark.parametrize("name", every_gear())
def test_marks_lie_at_their_dimensions(name: str) -> None:
    at_their_dimensions(drawn(name))


@pytest.mark.parametrize("name", every_gear())
def test_no_dimension_of_a_gear_is_forgotten(name: str) -> None:
    none_forgotten(drawn(name))


@pytest.mark.parametrize("name", every_gear())
def test_a_mark_grows_with_its_key(name: str) -> None:
    by_differences(drawn(name))


def test_marks_of_the_printed_gear_lie_at_their_dimensions(toy_gear: Any) -> None:  # noqa: F811
    at_their_dimensions(toy())
    none_forgotten(toy())
    by_differences(toy())


HAND = {  # where a fitter would put them, read off the drawings by hand
    "dock_shunter": {
        ("eccentric_rod", "length"): ("return-crank pin", "foot"),
        ("return_crank", "pin_radius"): ("axle", "return-crank pin"),
        ("combination_lever", "lower_arm"): ("union pin", "lever pin"),
        ("combination_lever", "upper_arm"): ("lever pin", "valve pin"),
        ("reversing", "arm"): ("weighshaft", "arm pin"),
        ("radius_rod", "lift_pin"): ("die pin", "lift pin"),
    },
    "stephenson_goods": {
        ("eccentrics", "backward_throw"): ("axle", "backward eccentric"),
        ("eccentric_rods", "forward"): ("forward eccentric", "forward pin"),
        ("reversing", "lifting_link"): ("arm pin", "saddle pin"),
    },
    "joy_mixed_traffic": {
        ("connecting_rod", "pin"): ("crosshead pin", "connecting-rod pin"),
        ("anchor", "length"): ("anchor pin", "foot"),
    },
}


@pytest.mark.parametrize(("name", "key"), [(name, key) for name, keys in HAND.items() for key in keys])
def test_marks_end_at_the_pins_that_a_fitter_would_measure_between(name: str, key: tuple[str, str]) -> None:
    own = drawn(name)
    stands = own.elevation.places(own.notches[0], TURNED)
    mark = marks_of(own.elevation, own.notches[0])[key]
    if mark.kind == DISTANCE:
        ends = {mark.start, mark.end}
    else:  # a pin off another's line
        ends = {mark.start if mark.abreast is None else mark.abreast, mark.end}
    wanted = {stands[pin] for pin in HAND[name][key]}
    assert all(min(abs(end - pin) for pin in wanted) < 1e-9 for end in ends), mark


def test_an_angle_beyond_half_a_turn_is_told_the_way_it_is_given() -> None:
    """The toy of this: an arm that stands 200° round from the other, anticlockwise."""
    mark = DimensionMark(("reversing", "rod_arm_angle"), "D6", "arm", ANGLE, 1 + 0j, np.exp(1j * np.radians(200)), 0j)
    assert mark.size == pytest.approx(160.0, abs=1e-9)
    assert replace(mark, turned=200.0).size == pytest.approx(200.0, abs=1e-9)


def test_a_slots_run_is_measured_along_it() -> None:
    mark = DimensionMark(("slide", "top"), "H4", "slide", ALONG, 100 + 0j, 100 * np.exp(0.5j), 0j)
    assert mark.size == pytest.approx(50.0, abs=1e-9)


def test_a_notch_is_marked_at_the_reversing_arm() -> None:
    own = drawn("dock_shunter")
    for notch in own.notches:
        mark = marks_of(own.elevation, notch)[NOTCHES]
        setting = own.elevation.paths.settings[notch]
        assert isinstance(setting, Arm)
        assert mark.size == pytest.approx(abs(number_of(setting)), abs=1e-9)
        assert mark.turned == pytest.approx(number_of(setting), abs=1e-9)
