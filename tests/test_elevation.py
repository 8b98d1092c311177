"""The side elevation, read back from its SVG by a small reader: everything stands where the engine has it."""

from __future__ import annotations

import re
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from linkmotion.elevation.paths import Given
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.gears import GEARS
from linkmotion.gears.slots import is_seen, is_tie
from linkmotion.linkage import Wheel, solve
from linkmotion.linkage.parts import Rod
from linkmotion.studies.side_drawing import overrun
from linkmotion.valve import ENDS, Ports
from linkmotion.views.elevation_svg import groups
from tests.elevations import NEAR, SPACES, drawn, made, moments, picture
from tests.gears_at_hand import GearAtHand, every_gear, mirrored, mirrored_setting
from tests.read_elevation import Group, pair, read

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module", params=sorted(every_gear()))
def name(request: pytest.FixtureRequest) -> str:
    """A gear at hand; of the module, so that all that looks at one gear's drawing comes together and finds it kept."""
    return str(request.param)


def test_every_pin_is_drawn_where_the_linkage_has_it(name: str) -> None:
    own = drawn(name)
    for notch, angle in moments(own):
        seen, places = picture(own, notch, angle)
        shown: dict[str, list[complex]] = {}
        for pin, _body, at in seen.pins():
            shown.setdefault(pin, []).append(at)
        assert set(shown) == {pin for pin in places if is_seen(pin)}
        for pin, spots in shown.items():
            assert max(abs(at - places[pin]) for at in spots) < NEAR, (pin, notch, angle)


def test_a_script_places_every_body_by_its_attributes_as_it_is_placed(name: str) -> None:
    own = drawn(name)
    for notch, angle in moments(own)[:4]:
        seen, places = picture(own, notch, angle)
        places["valve"] = places[seen.root["data-spindle"]]
        for body, (origin, turn) in seen.standing(places).items():
            assert abs(origin - seen.bodies[body].origin) < 1e-3, body
            assert abs(turn - seen.bodies[body].turn) < 1e-6, body


def test_every_rod_joins_its_eyes_at_its_length(name: str) -> None:
    own = drawn(name)
    seen, places = picture(own, *moments(own)[5])
    names = list(own.elevation.paths.names)
    rods = [part for part in own.elevation.paths.linkage.parts if isinstance(part, Rod) and not is_tie(part.name)]
    assert rods
    for rod in rods:
        body = seen.bodies[rod.name]
        eyes = {shape.attributes["data-pin"]: shape.middle for shape in body.shapes if "data-pin" in shape.attributes}
        ends = [names[rod.a], names[rod.b]]
        on_sheave = [pin for pin in ends if pin not in eyes]
        assert all(pin in own.elevation.paths.sheaves for pin in on_sheave)
        metal = body.of_class("body")[0].area
        middle = (places[ends[0]] + places[ends[1]]) / 2
        assert metal.buffer(1e-6).contains(shapely.Point(middle.real, middle.imag))
        for pin in eyes:
            assert metal.contains(shapely.Point(places[pin].real, places[pin].imag))
        apart = abs(places[ends[1]] - places[ends[0]])
        assert apart == pytest.approx(float(np.ravel(rod.length)[0]), abs=1e-6)
        assert metal.length > 2 * apart * 0.8


def along(group: Group, shape: Any) -> Any:
    """Points of a shape in the axes of the valve's own body."""
    return np.concatenate([(ring - group.origin) / group.turn for ring in shape.rings])


def test_the_valves_edges_stand_from_the_ports_edges_by_the_opening(name: str) -> None:
    own = drawn(name)
    ports = Ports.of(own.gear.valve)
    outside = own.gear.valve.admission == "outside"
    guide = own.elevation.paths.valve_guide
    for notch, angle in moments(own):
        seen, places = picture(own, notch, angle)
        way = pair(seen.root["data-along"])
        place = (
            (places[seen.root["data-spindle"]] - complex(*(float(np.ravel(value)[0]) for value in guide.origin))) / way
        ).real
        displacement = float(place) - own.central
        valve, cylinder = seen.bodies["valve"], seen.bodies["cylinder"]
        edges = _edges(valve, outside)
        for end, sign in (("front", 1), ("back", -1)):
            inner, outer = _port(valve, cylinder, end)
            steam, exhaust = (outer, inner) if outside else (inner, outer)
            out = sign if outside else -sign  # which way from a port's edge it is open to steam
            opening = {
                "steam": out * (steam - edges[end, "steam"]),
                "exhaust": -out * (exhaust - edges[end, "exhaust"]),
            }
            for flow, gap in opening.items():
                told = float(np.ravel(ports.edge(flow, end).opening(displacement))[0])
                assert gap == pytest.approx(told, abs=NEAR), (flow, end, notch, angle)


def _edges(valve: Group, outside: bool) -> dict[tuple[str, str], float]:
    """Steam and exhaust edges of the valve along its own axis, by end."""
    metal = np.concatenate([along(valve, shape).real for shape in valve.of_class("section")])
    space = np.concatenate([along(valve, shape).real for shape in valve.of_class("space")])
    ends = {"front": (space.max(), metal.max()), "back": (space.min(), metal.min())}
    order = ("exhaust", "steam") if outside else ("steam", "exhaust")
    return {(end, flow): float(at) for end, pair_ in ends.items() for flow, at in zip(order, pair_, strict=True)}


def _port(valve: Group, cylinder: Group, end: str) -> tuple[float, float]:
    """Inner and outer edge of an end's port, where its passage meets the face, along the valve's axis."""
    passage = next(shape for shape in cylinder.of_class("space") if shape.attributes["data-space"] == end)
    points = along(valve, passage)
    face = along(valve, valve.of_class("section")[0]).imag
    towards = np.array([np.min(np.abs(face - y)) for y in points.imag])
    mouth = np.sort(points[towards < NEAR].real)
    assert mouth.size >= 2
    first, last = float(mouth[0]), float(mouth[-1])
    return (first, last) if end == "front" else (last, first)


def test_nothing_stands_where_something_else_is(name: str) -> None:
    own = drawn(name)
    for notch, angle in moments(own):
        seen, _places = picture(own, notch, angle)
        bore = shapely.Polygon(np.array(own.elevation.regions["bore"].exterior.coords)).buffer(NEAR)
        assert bore.contains(seen.bodies["piston"].of_class("section")[0].area)
        casting = seen.bodies["cylinder"].of_class("section")[0].area
        for part in seen.bodies["valve"].of_class("section"):
            assert casting.buffer(-NEAR).intersection(part.area).area < 1.0
        block = shapely.union_all([shape.area for shape in seen.bodies["crosshead"].of_class("body")[-1:]])
        bars = shapely.union_all([shape.area for shape in seen.bodies["slidebars"].of_class("body")])
        assert bars.buffer(-NEAR).intersection(block).area < 1.0
        assert block.distance(bars) < 0.1  # it is led by them, and
        assert bars.envelope.buffer(NEAR).contains(block.intersection(bars.buffer(0.1)))


def test_the_die_stands_in_its_slot_square_to_it(name: str) -> None:
    own = drawn(name)
    slot, paths = own.gear.slot, own.elevation.paths
    if slot is None:
        assert "die" not in drawn(name).elevation.places(0, 0.0)
        return
    for notch, angle in moments(own):
        solution = solve(own.gear.declare(paths.settings[notch]), Wheel.at(-np.radians(angle)))
        place = float(np.ravel(slot.die_place(solution))[0])
        seen, _places = picture(own, notch, angle)
        part = "slide" if slot.works else slot.link
        die, link = (seen.bodies[name].of_class("body")[0].area for name in ("die", part))
        beyond = max(place - abs(float(slot.top)), -abs(float(slot.bottom)) - place, 0.0)
        assert overrun(own.elevation, own.elevation.places(notch, angle)) == pytest.approx(beyond, abs=1e-6)
        long, radius = 0.3 * own.elevation.paths.r, float(getattr(slot, "radius", np.inf))
        arched = long**3 / 8 / radius  # at most: a straight block's length by its rise in the curved slot
        if beyond == 0.0:
            assert die.intersection(link).area < arched + 2.0, (place, notch, angle)
        elif beyond > 1.0:
            assert die.intersection(link).area > 2.0, (place, notch, angle)


@pytest.mark.parametrize("name", sorted({"dock_shunter", "metre_gauge", "stephenson_goods"}))
def test_a_gear_turned_over_is_drawn_turned_over(name: str) -> None:
    """The chest then hangs under the cylinder, and the valve's edges still tell the openings."""
    hand = every_gear()[name]
    turned = GearAtHand(
        name, mirrored(hand.gear), {k: mirrored_setting(hand.gear, s) for k, s in hand.settings.items()}
    )
    upright, over = drawn(name), made(turned)
    for notch, angle in moments(upright)[:4]:
        one, _ = picture(upright, notch, angle)
        two, _ = picture(over, notch, -angle)
        for end in ENDS:
            first = _port(one.bodies["valve"], one.bodies["cylinder"], end)
            assert first == pytest.approx(_port(two.bodies["valve"], two.bodies["cylinder"], end), abs=NEAR)
    assert over.elevation.section.chest.side == -upright.elevation.section.chest.side


def test_a_chest_beside_the_cylinder_is_drawn_clear_of_it_and_tied_to_its_spindle() -> None:
    for name, lifted in (("gooch_tank", True), ("allan_saddle_tank", True), ("dock_shunter", False)):
        seen, places = picture(drawn(name), 0, 40.0)
        ties = seen.bodies["valve"].of_class("tie")
        assert bool(ties) == lifted
        if lifted:
            way, tie = pair(seen.root["data-along"]), ties[0].rings[0]
            assert abs(((tie[1] - tie[0]) / way).real) < NEAR  # square to the spindle's line, and carried along with it
            spindle = places[seen.root["data-spindle"]]
            other, later = picture(drawn(name), 0, 110.0)
            moved = other.bodies["valve"].of_class("tie")[0].rings[0]
            assert abs((moved[0] - later[other.root["data-spindle"]]) - (tie[0] - spindle)) < NEAR


def test_the_drawing_names_no_gears_tables() -> None:
    shared = {"cylinder", "connecting_rod", "valve", "crosshead", "reversing"}
    tables = {table.name for kind in GEARS.values() for table in fields(kind)} - shared
    assert "return_crank" in tables
    files = [*(ROOT / "linkmotion" / "elevation").glob("*.py"), *(ROOT / "linkmotion" / "views").glob("elevation*.py")]
    assert len(files) > 10
    for file in [*files, ROOT / "linkmotion" / "views" / "drawing.py"]:
        text = file.read_text(encoding="utf-8")
        assert [table for table in tables if re.search(rf"\.{table}\b", text)] == [], file.name


def test_a_valve_that_play_keeps_back_stands_off_its_pin_by_that_much() -> None:
    own = drawn("dock_shunter").elevation
    at, behind = own.places(0, 60.0), own.places(0, 60.0, lag=-1.5)
    assert behind["valve"] - at["valve"] == pytest.approx(-1.5 * own.section.along, abs=1e-9)
    assert {pin: place for pin, place in at.items() if pin != "valve"} == {
        pin: place for pin, place in behind.items() if pin != "valve"
    }


def test_sizes_that_a_file_gives_are_drawn() -> None:
    paths = drawn("dock_shunter").elevation.paths
    own = Elevation.of(replace(paths, given=Given(wheel=1400.0, bore=350.0, piston_rod=60.0)))
    seen = read(groups(own, own.places(0, 0.0), SPACES))
    tyre = seen.bodies["wheel"].of_class("tyre")[0].area.bounds
    assert tyre[3] - tyre[1] == pytest.approx(1400.0, abs=0.5)
    piston = seen.bodies["piston"].of_class("section")[0].area.bounds
    assert piston[3] - piston[1] == pytest.approx(350.0, abs=NEAR)
    rod = seen.bodies["piston rod"].of_class("body")[0].area.bounds
    assert rod[3] - rod[1] == pytest.approx(60.0, abs=NEAR)
