"""Gears drawn at random by hypothesis are drawn without a fault, every pin where the linkage has it."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import assume, given, settings

from linkmotion.linkage import LinkageError
from linkmotion.views.elevation_svg import groups
from tests.drawn_eccentric_gears import eccentric_gears
from tests.drawn_gears import gears
from tests.elevations import NEAR, SPACES, made, picture
from tests.gears_at_hand import of_tables
from tests.independent.trial_gears import Tables


def stands_where_it_should(kind: str, tables: Tables, place: float) -> None:
    hand = of_tables("drawn", tables, kind)
    setting = type(next(iter(hand.settings.values())))(place)
    try:
        own = made(replace(hand, settings={"as drawn": setting}))
    except LinkageError:
        assume(False)
        return
    seen, places = picture(own, 0, 77.0)
    found = list(seen.pins())
    assert {pin for pin, _body, _at in found} == {pin for pin in places if not pin.startswith("slot ")}
    assert max(abs(at - places[pin]) for pin, _body, at in found) < NEAR
    assert all(shape.area.area > 0 for body in seen.bodies.values() for shape in body.of_class("body"))
    assert "NaN" not in (text := groups(own.elevation, own.elevation.places(0, 77.0), SPACES))
    assert "nan" not in text
    left, low, right, high = own.elevation.box
    assert left < right < left + 100 * own.elevation.paths.r
    assert low < high < low + 100 * own.elevation.paths.r


@settings(max_examples=40)
@given(gears())
def test_walschaerts_gears_drawn_at_random_are_drawn(found: tuple[Tables, float]) -> None:
    stands_where_it_should("walschaerts", *found)


@settings(max_examples=60)
@given(eccentric_gears())
def test_gears_with_eccentrics_drawn_at_random_are_drawn(found: tuple[str, Tables, float]) -> None:
    kind, tables, place = found
    stands_where_it_should("plain eccentric" if kind == "eccentric" else kind, tables, place)
