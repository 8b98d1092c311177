"""The linkage core on small linkages: every step, cut and closure; the order of solution."""

from __future__ import annotations

import math
from importlib import import_module
from typing import Any

import numpy as np
import pytest

from linkmotion.linkage import Linkage, LinkageError, UnreachableError, Wheel, solve
from linkmotion.linkage.constraints import misfit
from linkmotion.linkage.loops import AbreastCloses, GuideCloses, GuideCut, Loop, RodCloses, SlideCloses, TurnCut
from linkmotion.linkage.order import make
from linkmotion.linkage.parts import Crank, Fixed, Rod
from linkmotion.linkage.placing import Placing
from linkmotion.linkage.slides import Foot, RodSlide, Threaded
from linkmotion.linkage.solve import order_of
from linkmotion.linkage.steps import Placed, Riding, RodGuide, RodRod
from tests.gears_at_hand import every_gear, gear_from, of_tables
from tests.independent.eccentric_trial_gears import SLIP_BY_ROCKER
from tests.independent.trial_gears import OUTSIDE_GEAR, with_changes
from tests.small_linkages import (
    CRANK,
    LOOPS,
    SMALL,
    abreast,
    bar_between_guides,
    begun,
    coupler_plate,
    four_bar,
    slider_crank,
)

SOLVING = import_module("linkmotion.linkage.solve")  # the package has a function of that name
COUNT = 48
WHEEL = -np.arange(COUNT) * 2 * np.pi / COUNT  # clockwise
STEPS = {
    "slider crank": [RodGuide], "four bar": [RodRod], "coupler plate": [RodRod, Placed],
    "carried pin": [RodGuide, Riding, Riding], "slotted lever": [RodSlide], "swivel block": [Threaded],
    "swivel block on a tail": [Threaded], "square block": [Foot], **{name: [Loop] for name in LOOPS},
}  # fmt: skip


def driven(linkage: Linkage) -> list[Any]:
    """Places of the pins that nothing need be solved for; None for the others."""
    points: list[Any] = [None] * len(linkage.near)
    for part in linkage.parts:
        if isinstance(part, Fixed):
            points[part.pin] = np.full(COUNT, part.x + 1j * part.y)
        elif isinstance(part, Crank):
            points[part.pin] = points[part.about] + part.radius * np.exp(1j * (WHEEL + part.phase))
    return points


# ---- every step and loop --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SMALL)
def test_small_linkages_stand_where_fsolve_puts_them(name: str) -> None:
    solution = solve(SMALL[name].declare(), Wheel.revolution(COUNT))
    assert [type(stage) for stage in solution.stages] == STEPS[name]
    for pin, places in SMALL[name].stand(WHEEL).items():
        assert np.max(np.abs(solution[pin] - places)) < 1e-9, pin
    assert max(misfit(solution).values()) < 1e-10


@pytest.mark.parametrize("name", SMALL)
def test_velocities_of_small_linkages_are_the_slopes_of_their_paths(name: str) -> None:
    """By the Fourier series of the path; the wheel turns clockwise."""
    solution = solve(SMALL[name].declare(), Wheel.revolution(256))
    rates = solution.rates()
    for pin in SMALL[name].start:
        c = np.fft.fft(solution[pin])
        slope = np.fft.ifft(1j * np.fft.fftfreq(256, 1 / 256) * c)
        assert np.max(np.abs(rates[pin] - slope)) < 1e-7, pin


@pytest.mark.parametrize("name", LOOPS)
def test_every_cut_that_closes_gives_the_same_places(name: str) -> None:
    linkage, stands = SMALL[name].declare(), SMALL[name].stand(WHEEL)
    state = Placing(linkage, frozenset(i for i, point in enumerate(driven(linkage)) if point is not None))
    closed = set()
    for recipe in dict.fromkeys(loop for cut in state.cuts() for loop in state.loops(cut)):
        loop, points = recipe.make(linkage), driven(linkage)
        _q, residual, closes = loop.close(points, np.full(COUNT, loop.cut.start, float))
        if closes:
            assert np.max(np.abs(residual)) < 1e-10
            for pin, places in stands.items():
                found = points[linkage.names[pin]]
                assert found is None or np.max(np.abs(found - places)) < 1e-9, (recipe, pin)
            closed.add((type(loop.cut), type(loop.closure)))
    wanted = {
        "held by three rods": {(TurnCut, RodCloses)},
        "held by a guide": {(GuideCut, RodCloses), (TurnCut, GuideCloses), (TurnCut, RodCloses)},
        "held by a block": {(TurnCut, SlideCloses), (TurnCut, RodCloses)},
        "held abreast": {(TurnCut, AbreastCloses)},
    }
    assert closed >= wanted[name]


@pytest.mark.parametrize("side_rod", [242.0, 255.0, 262.0, 268.0])
def test_a_smooth_motion_away_from_the_sketch_is_followed(side_rod: float) -> None:
    """The plate leans up to 13 degrees from its sketch; no part is near a dead point."""
    small = abreast(side_rod)
    solution = solve(small.declare(), Wheel.revolution(COUNT))
    for pin, places in small.stand(WHEEL).items():
        assert np.max(np.abs(solution[pin] - places)) < 1e-9, pin


def test_a_four_bar_stands_by_the_law_of_cosines() -> None:
    """Angle at the crank pin between the base and the coupler: cos = (d² + l² − m²)/(2 d l)."""
    solution = solve(four_bar(), Wheel.revolution(COUNT))
    crank_pin = CRANK * np.exp(1j * WHEEL)
    base = 330 - 20j - crank_pin
    d = np.abs(base)
    corner = np.arccos((d**2 + 310.0**2 - 260.0**2) / (2 * d * 310.0))
    above = crank_pin + 310.0 * np.exp(1j * (np.angle(base) + corner))
    assert np.max(np.abs(solution["rocker pin"] - above)) < 1e-10


def test_the_sketch_chooses_between_the_two_assemblies() -> None:
    below = four_bar()
    below.near[below.names["rocker pin"]] = (260.0, -230.0)
    crank_pin = CRANK * np.exp(1j * WHEEL)
    base = 330 - 20j - crank_pin
    upper, lower = (solve(each, Wheel.revolution(COUNT))["rocker pin"] for each in (four_bar(), below))
    mirrored = crank_pin + base * np.conj((upper - crank_pin) / base)
    assert np.max(np.abs(lower - mirrored)) < 1e-10


def test_a_slider_crank_stands_by_pythagoras() -> None:
    solution = solve(slider_crank(), Wheel.revolution(COUNT))
    seen = (CRANK * np.exp(1j * WHEEL) - (5 + 12j)) * np.exp(-0.1j)
    ahead = seen.real + np.sqrt(380.0**2 - seen.imag**2)
    assert np.max(np.abs(solution.along("slidebars") - ahead)) < 1e-11


def test_a_tracer_keeps_its_place_in_the_coupler() -> None:
    solution = solve(coupler_plate(), Wheel.revolution(COUNT))
    turn = (solution["rocker pin"] - solution["crank pin"]) / 310.0
    assert np.max(np.abs(solution["tracer"] - solution["crank pin"] - turn * (140 + 80j))) < 1e-11


def test_positions_may_be_asked_at_any_angles() -> None:
    angles = np.random.default_rng(7).uniform(-7, 7, 40)
    for small in SMALL.values():
        solution = solve(small.declare(), Wheel.at(angles))
        whole = solve(small.declare(), Wheel.revolution(COUNT))
        for pin in small.start:
            c = np.fft.fft(whole[pin]) / COUNT
            series = np.exp(1j * np.outer(-angles, np.fft.fftfreq(COUNT, 1 / COUNT))) @ c
            assert np.max(np.abs(solution[pin] - series)) < 1e-5, pin  # 48 places leave so much of a small rod's path
        assert max(misfit(solution).values()) < 1e-10


def test_variants_in_arrays_are_solved_one_by_one_alike() -> None:
    lengths = np.array([[300.0], [310.0], [325.0]])
    many = four_bar()
    many.parts = [
        p if getattr(p, "name", "") != "coupler" else type(p)("coupler", p.a, p.b, lengths) for p in many.parts
    ]  # type: ignore[union-attr,call-arg]
    together = solve(many, Wheel.revolution(COUNT))["rocker pin"]
    assert together.shape == (3, COUNT)
    for row, length in enumerate(lengths[:, 0]):
        one = four_bar()
        one.parts = [
            p if getattr(p, "name", "") != "coupler" else type(p)("coupler", p.a, p.b, length) for p in one.parts
        ]  # type: ignore[union-attr,call-arg]
        assert np.array_equal(together[row], solve(one, Wheel.revolution(COUNT))["rocker pin"])


# ---- the order of solution ------------------------------------------------------------------------------------------


def looseness(linkage: Linkage, order: Any) -> float:
    """Greatest movement of a pin per unit of misfit over the revolution; infinite where it does not close."""
    points = driven(linkage)
    for stage in make(linkage, order):
        if isinstance(stage, Loop):
            _q, _left, closes = stage.close(points, np.full(COUNT, stage.cut.start, float))
            if not closes:
                return math.inf
            slope, moves = stage.slope(points)
            return float(max(np.max(np.abs(m)) for m in moves if m is not None) / np.min(np.abs(slope)))
        stage.place(points)
    return 0.0


WITH_LOOP = [name for name, own in every_gear().items() if own.gear.name == "walschaerts"]


@pytest.mark.parametrize("name", WITH_LOOP)
def test_a_walschaerts_gear_is_cut_at_the_valve(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The valve's place on its guide is the good cut; the chosen order is no looser than those in reserve."""
    own = every_gear()[name]
    linkage = own.gear.declare(next(iter(own.settings.values())))
    monkeypatch.setattr(SOLVING, "_orders", {})
    orders = list(SOLVING.orders_to_try(linkage))
    loop = next(stage for stage in make(linkage, orders[0]) if isinstance(stage, Loop))
    assert isinstance(loop.cut, GuideCut)
    assert loop.cut.pin == linkage.names["valve pin"]
    chosen, *spare = (looseness(linkage, order) for order in orders)
    assert len(spare) >= 1
    assert chosen < 20
    assert all(chosen <= each * 1.05 for each in spare)  # chosen by 12 places of the wheel, seen here at 48


SPOILT = [("eccentric_rod", 600.0), ("union_link", 30.0), ("connecting_rod", 1300.0), ("radius_rod", 1400.0)]


@pytest.mark.parametrize(("table", "length"), SPOILT)
def test_a_gear_that_cannot_be_turned_does_not_spoil_the_order_for_its_kind(
    table: str, length: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(SOLVING, "_orders", {})
    spoilt = gear_from(with_changes(OUTSIDE_GEAR, {table: {"length": length}}))
    own = every_gear()["outside, lifting link"]
    with pytest.raises(LinkageError):
        solve(spoilt.declare(own.settings["mid"]), Wheel.revolution(COUNT))
    linkage = own.gear.declare(own.settings["mid"])
    assert looseness(linkage, order_of(linkage)) < 20


def test_the_order_is_the_same_for_every_gear_of_a_kind() -> None:
    """It is kept by what is joined to what, so it may not depend on dimensions."""
    own = every_gear()["outside, lifting link"]
    longer = of_tables("", with_changes(OUTSIDE_GEAR, {"union_link": {"length": 340.0}}))
    setting = own.settings["mid"]
    assert order_of(own.gear.declare(setting)) is order_of(longer.gear.declare(setting))


def rocker_with_its_pins_together(apart: float) -> Linkage:
    """Crank, rod, rocker, rod to a guided pin; the rocker's two pins are ``apart`` mm from each other."""
    linkage = begun(("driven", 220 + 100j), ("driving", 220 + 100j + apart), ("spindle", 500 + 100j))
    linkage.fixed("shaft", 220.0, 0.0)
    linkage.plate("rocker", {"shaft": (0.0, 0.0), "driven": (0.0, 100.0), "driving": (apart, 100.0)})
    linkage.rod("rod", "crank pin", "driven", 230.0)
    linkage.rod("spindle rod", "driving", "spindle", 280.0)
    linkage.guide("guide", "spindle", (0.0, 100.0), 0.0)
    return linkage


@pytest.mark.parametrize("apart", [0.0, 1e-9, 1e-3])
def test_two_pins_at_one_place_of_a_part_do_not_tell_how_it_is_turned(
    apart: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whether an order is kept from such a linkage or from one whose pins are well apart."""
    for before in ([], [rocker_with_its_pins_together(30.0)], [rocker_with_its_pins_together(0.0)]):
        monkeypatch.setattr(SOLVING, "_orders", {})
        for linkage in before:
            solve(linkage, Wheel.revolution(COUNT))
        solution = solve(rocker_with_its_pins_together(apart), Wheel.revolution(COUNT))
        assert max(misfit(solution).values()) < 1e-10
        arm = solution["driven"] - solution["shaft"]
        assert np.max(np.abs(solution["driving"] - solution["driven"] - apart * arm / 100j)) < 1e-10
        line = 100.0 - solution["driving"].imag
        spindle = solution["driving"].real + np.sqrt(280.0**2 - line**2)
        assert np.max(np.abs(solution.along("guide") - spindle)) < 1e-10


def test_a_rocker_with_both_pins_on_one_side_at_one_place_turns_the_valve() -> None:
    """Arms of one length and the driving pin above the shaft: the spindle goes with the driving pin."""
    rocker = {"pivot_x": 1300.0, "pivot_y": 230.0, "lower_arm": -205.0, "upper_arm": 205.0, "angle": 0.0}
    tables = with_changes(SLIP_BY_ROCKER, {"valve": {"rocker": rocker}, "eccentric_rod": {"length": 1365.0}})
    own = of_tables("", tables, "plain eccentric")
    solution = solve(own.gear.declare(own.settings["forward"]), Wheel.revolution(COUNT))
    assert np.max(np.abs(solution.along("valve guide") - solution["driving pin"].real)) < 1e-9
    assert np.ptp(solution["driving pin"].real) > 100.0


def test_of_two_assemblies_that_bend_alike_the_one_that_runs_as_said_is_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    """A bar between two level guides carries a rod from the crank at its middle: the rod runs forward or back.

    Nothing bends: the bar leans as it did, and slides along to the other end of the rod.
    """
    for toward, middle in ((1.0, 200.0), (-1.0, -200.0)):
        monkeypatch.setattr(SOLVING, "_orders", {})
        linkage = bar_between_guides(300.0, near=middle)
        linkage.runs("rod", "crank pin", "middle", (toward, 0.0))
        rod = solve(linkage, Wheel.revolution(COUNT))["middle"] - 60 * np.exp(-2j * np.pi * np.arange(COUNT) / COUNT)
        assert np.all(rod.real * toward > 200.0)


def test_an_assembly_that_runs_the_other_way_is_refused() -> None:
    linkage = bar_between_guides(300.0, near=200.0)
    linkage.runs("bar", "lower", "upper", (-1.0, 0.0))  # it leans forward, by 30 in 50
    with pytest.raises(UnreachableError) as told:
        solve(linkage, Wheel.revolution(COUNT))
    assert abs(told.value.short) > 29.0  # mm: its ends are 30 from being abreast


def test_of_many_variants_those_picked_are_spread_over_all() -> None:
    """A step that some variants cannot take must be seen when the order is judged on a few of them."""
    lengths = np.linspace(370.0, 390.0, 11)[:, None]
    linkage = begun(("crosshead", 400 + 30j))
    linkage.rod("connecting rod", "crank pin", "crosshead", lengths)
    linkage.guide("slidebars", "crosshead", (5.0, 12.0), 0.1)
    few, one = (linkage.picked(*which) for which in ((3,), (1, 4)))
    assert [np.ravel(part.length).tolist() for part in few.parts if isinstance(part, Rod)] == [[370, 380, 390]]
    assert [np.ravel(part.length).tolist() for part in one.parts if isinstance(part, Rod)] == [[378]]
