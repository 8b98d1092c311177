"""Linkages refused: parts that do not meet (which, by how much, where), held too little or too much, misdeclared."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from linkmotion.linkage import Linkage, LinkageError, UnreachableError, Wheel, solve
from linkmotion.linkage.constraints import jacobian
from linkmotion.linkage.derivatives import gradient
from linkmotion.studies.assess import NotchError, assess
from tests.gears_at_hand import example, gear_from, of_tables
from tests.independent import joint_angles
from tests.independent.closing import NotClosed
from tests.independent.trial_gears import OUTSIDE_GEAR, SLIDING_GEAR, with_changes
from tests.small_linkages import CRANK, SMALL, bar_between_guides, begun, slider_crank

COUNT = 48


# ---- parts that do not meet -----------------------------------------------------------------------------------------


def test_a_rod_too_short_for_its_guide_is_told_with_amount_and_angle() -> None:
    """Guide 20 above the axle: with the crank straight down the rod of 70 is 60 + 20 − 70 = 10 short."""
    linkage = begun(("crosshead", 60 + 20j))
    linkage.rod("connecting rod", "crank pin", "crosshead", 70.0)
    linkage.guide("slidebars", "crosshead", (0.0, 20.0), 0.0)
    with pytest.raises(UnreachableError, match="connecting rod and slidebars: too short to meet by 10 mm") as told:
        solve(linkage, Wheel.revolution(COUNT))
    assert told.value.parts == ("connecting rod", "slidebars")
    assert abs(told.value.short - 10.0) < 1e-9
    assert abs(told.value.wheel + math.pi / 2) < 1e-9


def _four_bar(base: float, coupler: float, rocker: float) -> Linkage:
    linkage = begun(("rocker pin", 100 + 100j))
    linkage.fixed("shaft", base, 0.0)
    linkage.rod("coupler", "crank pin", "rocker pin", coupler)
    linkage.rod("rocker", "shaft", "rocker pin", rocker)
    return linkage


def test_two_rods_too_short_are_told_at_the_widest_place() -> None:
    """Base 300, crank 60: 360 apart with the crank straight back, the rods together 340."""
    with pytest.raises(UnreachableError) as told:
        solve(_four_bar(300.0, 150.0, 190.0), Wheel.revolution(COUNT))
    assert set(told.value.parts) == {"coupler", "rocker"}
    assert abs(told.value.short - 20.0) < 1e-9
    assert abs(abs(told.value.wheel) - math.pi) < 1e-9


def test_a_rod_too_long_is_told_at_the_narrowest_place() -> None:
    """240 apart with the crank straight ahead, the rods differ by 255: 15 too long."""
    with pytest.raises(UnreachableError, match="too long to fit") as told:
        solve(_four_bar(300.0, 400.0, 145.0), Wheel.revolution(COUNT))
    assert abs(told.value.short + 15.0) < 1e-9
    assert abs(told.value.wheel) < 1e-9


def test_a_slotted_lever_out_of_reach_of_its_rod_is_told() -> None:
    """The slot's line swings 37 degrees either way about the shaft, past the square to the anchor."""
    linkage = begun(("slider", 100 + 0j))
    linkage.fixed("shaft", -100.0, 0.0)
    linkage.fixed("anchor", 0.0, 200.0)
    linkage.rod("rod", "anchor", "slider", 210.0)
    linkage.slide("slot", "slider", "shaft", "crank pin", 0.0)
    furthest = math.hypot(100.0, 200.0)  # with the line square to shaft–anchor, 27 degrees below the level
    with pytest.raises(UnreachableError) as told:
        solve(linkage, Wheel.at(np.linspace(-math.pi, math.pi, 4001)), alone=True)
    assert set(told.value.parts) == {"rod", "slot"}
    assert abs(told.value.short - (furthest - 210.0)) < 1e-3  # mm: the greatest of 4001 places


def test_a_block_that_cannot_stand_off_its_rod_so_far_is_told() -> None:
    """The block comes to 100 − 60 = 40 of the crank pin; the rod's line must pass 55 off it."""
    linkage = begun(("far end", 160 + 55j))
    linkage.fixed("block", 100.0, 0.0)
    linkage.rod("rod", "crank pin", "far end", 200.0)
    linkage.slide("swivel", "block", "crank pin", "far end", -55.0)
    with pytest.raises(UnreachableError) as told:
        solve(linkage, Wheel.revolution(COUNT))
    assert set(told.value.parts) == {"rod", "swivel"}
    assert abs(told.value.short + 15.0) < 1e-9
    assert abs(told.value.wheel) < 1e-9


def test_a_loop_that_does_not_close_is_told_by_the_least_that_is_missing() -> None:
    """A bar's middle runs level at 20; with the crank straight down a rod of 70 is 60 + 20 − 70 = 10 short.

    Or one of the guides at the bar's ends, 20 below and above its middle, stands 20 too high.
    """
    linkage = bar_between_guides(70.0, near=50.0)
    with pytest.raises(UnreachableError) as told:
        solve(linkage, Wheel.revolution(COUNT))
    missing = {"rod": 10.0, "lower guide": 20.0, "upper guide": 20.0}
    (part,) = told.value.parts
    assert abs(abs(told.value.short) - missing[part]) < 1e-2  # mm: the loop's coordinate is looked through in steps
    assert abs(told.value.wheel + math.pi / 2) < 1e-9


def test_a_short_eccentric_rod_is_told_by_the_gear() -> None:
    """Axle to trunnion and foot's circle: the furthest return-crank pin is |T| + e away, and is not reached."""
    link = OUTSIDE_GEAR["expansion_link"]
    away = math.hypot(link["trunnion_x"], link["trunnion_y"]) + OUTSIDE_GEAR["return_crank"]["pin_radius"]
    rod = away - math.hypot(link["foot_drop"], link["foot_backset"]) - 25.0
    gear = gear_from(with_changes(OUTSIDE_GEAR, {"eccentric_rod": {"length": rod}}))
    heading = math.atan2(link["trunnion_y"], link["trunnion_x"]) + math.pi
    lead = math.radians(OUTSIDE_GEAR["return_crank"]["angle"])
    with pytest.raises(UnreachableError) as told:
        solve(gear.declare(of_tables("", OUTSIDE_GEAR).settings["mid"]), Wheel.revolution(3600))
    assert set(told.value.parts) == {"eccentric rod", "expansion link"}
    assert abs(told.value.short - 25.0) < 0.3  # a coarse revolution is solved first: at most 3.75 degrees off
    turned = told.value.wheel - lead - heading
    assert abs((turned + math.pi) % (2 * math.pi) - math.pi) < math.radians(4.0)


def test_a_short_union_link_is_told_by_notch_and_angle() -> None:
    """Too short for the crosshead's whole stroke: it fails near a dead centre, and says so."""
    engine = example("dock_shunter")
    tables = {table: dict(keys) for table, keys in engine.drawing.items()}
    tables["union_link"]["length"] = 60.0

    with pytest.raises(NotchError, match="union link") as told:
        assess(replace(engine, drawing=tables))
    assert "full forward" in str(told.value)
    assert isinstance(told.value.cause, UnreachableError)
    assert "union link" in told.value.cause.parts
    assert told.value.cause.short > 0
    crank = told.value.crank_angle
    assert crank is not None
    assert min(abs((crank - dead + 180) % 360 - 180) for dead in (0, 180)) < 45


def test_an_assembly_that_changes_over_is_refused() -> None:
    """With the eccentric rod a third too long the link folds and the rod's line passes the block's dead point."""
    rod = SLIDING_GEAR["eccentric_rod"]["length"] * 1.35
    tables = with_changes(SLIDING_GEAR, {"eccentric_rod": {"length": rod}})
    own = of_tables("folded", tables)
    with pytest.raises(NotClosed):
        joint_angles.solve(tables, tables["reversing"]["notches"]["mid"], np.arange(0.0, 360.0, 5.0))
    with pytest.raises(LinkageError):
        solve(own.gear.declare(own.settings["mid"]), Wheel.revolution(COUNT))


# ---- linkages held too little, too much, or wrongly declared --------------------------------------------------------


def test_a_pin_held_by_one_rod_alone_is_refused() -> None:
    linkage = begun(("crosshead", 400 + 0j))
    linkage.rod("connecting rod", "crank pin", "crosshead", 380.0)
    with pytest.raises(LinkageError, match="nothing determines crosshead"):
        solve(linkage, Wheel.revolution(COUNT))


def two_plates() -> Linkage:
    """Two plates joined by three rods; the lower hangs on two rods, the upper on one: no single cut opens it."""
    places = {
        "a": 40 + 30j, "b": 240 + 50j, "c": 130 + 140j, "d": 50 + 290j, "e": 230 + 310j, "f": 160 + 420j,
        "g": 290 + 390j,
    }  # fmt: skip
    linkage = begun(*places.items())
    linkage.plate("lower plate", {pin: (places[pin].real, places[pin].imag) for pin in "abc"})
    linkage.plate("upper plate", {pin: (places[pin].real, places[pin].imag) for pin in "defg"})
    for pin, x, y in (("b", 260.0, -150.0), ("g", 420.0, 330.0)):
        linkage.fixed(f"shaft of {pin}", x, y)
        linkage.rod(f"rod to {pin}", f"shaft of {pin}", pin, abs(places[pin] - (x + 1j * y)))
    linkage.rod("rod to a", "crank pin", "a", abs(places["a"]))
    for one, other in ("ad", "be", "cf"):
        linkage.rod(f"{one}{other}", one, other, abs(places[one] - places[other]))
    return linkage


def test_a_linkage_that_needs_two_cuts_at_once_is_told_so() -> None:
    """It has as many equations as unknowns, and they hold it: at its sketch the determinant is far from nothing."""
    linkage = two_plates()
    matrix, rows, pins = jacobian(linkage, [np.asarray(complex(*place)) for place in linkage.near])
    assert len(rows) == 2 * len(pins)
    assert np.linalg.cond(matrix) < 1e4
    with pytest.raises(LinkageError, match=r"a, b, c, d, e, f, g: two coordinates would have to be cut at once"):
        solve(linkage, Wheel.revolution(COUNT))


def test_of_a_linkage_that_lacks_a_part_only_the_pins_that_hang_loose_are_named() -> None:
    linkage = two_plates()
    linkage.parts = [part for part in linkage.parts if getattr(part, "name", "") != "be"]
    with pytest.raises(LinkageError, match=r"nothing determines a, b, c, d, e, f, g: a part is missing"):
        solve(linkage, Wheel.revolution(COUNT))
    linkage = SMALL["held by three rods"].declare()
    linkage.parts = [part for part in linkage.parts if getattr(part, "name", "") != "lower rod"]
    with pytest.raises(LinkageError, match=r"nothing determines one, two, three: a part is missing"):
        solve(linkage, Wheel.revolution(COUNT))


def test_an_arm_between_pins_that_are_held_already_is_one_too_many() -> None:
    linkage = slider_crank()
    linkage.carried("strap", "crosshead", "axle", (400.0, 30.0))
    with pytest.raises(LinkageError, match="connecting rod: held too much"):
        solve(linkage, Wheel.revolution(COUNT))
    linkage = slider_crank()
    linkage.fixed("lug", 10.0, 10.0)
    linkage.carried("strap", "lug", "axle", (10.0, 10.0))
    with pytest.raises(LinkageError, match="strap: held too much"):
        solve(linkage, Wheel.revolution(COUNT))


def test_a_pin_held_by_nothing_is_refused() -> None:
    linkage = slider_crank()
    linkage.pin("stray", (0.0, 0.0))
    with pytest.raises(LinkageError, match="nothing determines stray"):
        solve(linkage, Wheel.revolution(COUNT))


@pytest.mark.parametrize("name", ["slider crank", "four bar", "held by three rods"])
def test_a_part_too_many_is_refused_by_name(name: str) -> None:
    """One more rod to the frame, 1 mm off the distance that the pin keeps anyway at the start."""
    linkage = SMALL[name].declare()
    pin = next(iter(SMALL[name].start))
    linkage.fixed("extra shaft", 200.0, 700.0)
    linkage.rod("extra rod", "extra shaft", pin, abs(SMALL[name].start[pin] - (200 + 700j)) + 1.0)
    with pytest.raises(LinkageError, match="held too much"):
        solve(linkage, Wheel.revolution(COUNT))


def test_a_rod_between_driven_pins_is_refused() -> None:
    linkage = slider_crank()
    linkage.rod("brace", "axle", "crank pin", CRANK)
    with pytest.raises(LinkageError, match="brace: held too much"):
        solve(linkage, Wheel.revolution(COUNT))


def test_wrong_declarations_are_refused_with_the_names() -> None:
    linkage = begun(("crosshead", 400 + 0j))
    with pytest.raises(LinkageError, match="'crosshead' is declared twice"):
        linkage.pin("crosshead", (0.0, 0.0))
    with pytest.raises(LinkageError, match=r"'crosshed' is not declared; declared are axle, crank pin, crosshead"):
        linkage.rod("rod", "crank pin", "crosshed", 100.0)
    with pytest.raises(LinkageError, match="plate: a rigid part needs two pins"):
        linkage.plate("plate", {"crosshead": (0.0, 0.0)})
    with pytest.raises(LinkageError, match="'hub' is not declared"):
        linkage.crank("second", about="hub", radius=10.0)


def test_unknown_guides_and_dimensions_are_refused() -> None:
    solution = solve(slider_crank(), Wheel.revolution(COUNT))
    with pytest.raises(LinkageError, match="no guide 'bars'"):
        solution.along("bars")
    with pytest.raises(LinkageError, match="no dimension 'width' of 'connecting rod'"):
        gradient(solution, {"crosshead": 1}).dimension("connecting rod", "width")
