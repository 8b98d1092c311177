"""The linkage core on small linkages: every step, cut and closure; the order of solution."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
import pytest

import linkmotion.linkage.order as ORDER
from linkmotion.linkage import Linkage, LinkageError, UnreachableError, Wheel, solve
from linkmotion.linkage.constraints import misfit
from linkmotion.linkage.loops import Loop
from linkmotion.linkage.order import make, orders_to_try
from linkmotion.linkage.parts import Abreast, Crank, Fixed, Guide, Rod, Slide
from linkmotion.linkage.placing import Placing
from linkmotion.linkage.steps import Carrying, CircleLine, TwoCircles, TwoLines
from tests.gears_at_hand import every_gear, example, gear_from, of_engine, of_tables
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

COUNT = 48
WHEEL = -np.arange(COUNT) * 2 * np.pi / COUNT  # clockwise
STEPS = {
    "slider crank": [CircleLine], "four bar": [TwoCircles], "coupler plate": [TwoCircles, Carrying],
    "carried pin": [CircleLine, Carrying, Carrying], "slotted lever": [CircleLine], "swivel block": [CircleLine],
    "swivel block on a tail": [CircleLine], "square block": [TwoLines], **{name: [Loop] for name in LOOPS},
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
    closed = set()
    for recipe in dict.fromkeys(Placing.begun(linkage).loops()):
        loop, points = recipe.make(linkage, linkage.sketch), driven(linkage)
        _q, residual, closes = loop.close(points, np.full(COUNT, loop.cut.start, float))
        if closes:
            assert np.max(np.abs(residual)) < 1e-10
            for pin, places in stands.items():
                found = points[linkage.names[pin]]
                assert found is None or np.max(np.abs(found - places)) < 1e-9, (recipe, pin)
            closed.add((loop.cut.turns, type(loop.closure)))
    wanted: dict[str, set[tuple[bool, type]]] = {
        "held by three rods": {(True, Rod)},
        "held by a guide": {(False, Rod), (True, Guide), (True, Rod)},
        "held by a block": {(True, Slide), (True, Rod)},
        "held abreast": {(True, Abreast)},
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
    many: Any = four_bar()
    many.parts = [
        p if getattr(p, "name", "") != "coupler" else type(p)("coupler", p.a, p.b, lengths) for p in many.parts
    ]
    together = solve(many, Wheel.revolution(COUNT))["rocker pin"]
    assert together.shape == (3, COUNT)
    for row, length in enumerate(lengths[:, 0]):
        one: Any = four_bar()
        one.parts = [
            p if getattr(p, "name", "") != "coupler" else type(p)("coupler", p.a, p.b, length) for p in one.parts
        ]
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
def test_a_walschaerts_gear_is_cut_at_the_valve(name: str) -> None:
    """The valve's place on its guide is the good cut; the chosen order is no looser than those in reserve."""
    own = every_gear()[name]
    linkage = own.gear.declare(next(iter(own.settings.values())))
    orders = list(orders_to_try(linkage))
    loop = next(stage for stage in make(linkage, orders[0]) if isinstance(stage, Loop))
    assert not loop.cut.turns
    assert loop.cut.pin == linkage.names["valve pin"]
    chosen, *spare = (looseness(linkage, order) for order in orders)
    assert len(spare) >= 1
    assert chosen < 20
    assert all(chosen <= each * 1.05 for each in spare)  # chosen by 12 places of the wheel, seen here at 48


def at_mid(table: str | None = None, **changes: float) -> Linkage:
    """A Walschaerts gear with some figures of a table changed."""
    own = of_tables("", OUTSIDE_GEAR)
    gear = own.gear if table is None else gear_from(with_changes(OUTSIDE_GEAR, {table: changes}))
    return gear.declare(own.settings["mid"])


def told(linkage: Linkage) -> tuple[bytes, ...] | str:
    """Every pin's places to the last bit, or what the linkage is refused with."""
    try:
        solution = solve(linkage, Wheel.revolution(COUNT))
    except LinkageError as error:
        return str(error)
    return tuple(np.ascontiguousarray(solution[pin]).tobytes() for pin in linkage.names)


def gooch_at(notch: str, shaft_y: float) -> Linkage:
    """The example's gear with its weighshaft moved; low down it hangs strangely, and has several assemblies."""
    own = of_engine(example("gooch_tank"))
    drawn: Any = own.gear
    gear = replace(drawn, reversing=replace(drawn.reversing, shaft_y=shaft_y))
    linkage: Linkage = gear.declare(own.settings[notch])
    return linkage


def test_what_was_solved_before_changes_no_bit_and_no_refusal() -> None:
    """Gears of two kinds with near and far figures, some of which cannot be turned, one after another in many ways.

    Each time it begins as a new process does, with nothing known.
    """
    cases: list[Callable[[], Linkage]] = [
        at_mid, partial(at_mid, "union_link", length=340.0), partial(at_mid, "eccentric_rod", length=600.0),
        partial(at_mid, "radius_rod", length=1400.0), partial(at_mid, "union_link", length=30.0),
        *(partial(gooch_at, notch, y) for notch in ("full forward", "mid") for y in (450.0, 10.0, -350.0)),
    ]  # fmt: skip
    found = set()
    for seed in range(6):
        ORDER._orders.clear()
        ORDER._branches.clear()
        turn = np.random.default_rng(seed).permutation(len(cases))
        answers = {int(at): told(cases[at]()) for at in turn}
        found.add(tuple(answers[at] for at in range(len(cases))))
    assert len(found) == 1
    assert 3 <= sum(isinstance(answer, str) for answer in found.pop()) <= len(cases) - 4


@pytest.mark.parametrize("name", [name for name, own in every_gear().items() if len(own.settings) > 1])
def test_the_first_order_of_a_gear_turns_it_in_every_notch(name: str) -> None:
    """It is chosen by the sketch alone; were it often wrong, each solution would cost several."""
    own = every_gear()[name]
    for setting in (*own.settings.values(), own.together()):
        linkage = own.gear.declare(setting)
        solution = solve(linkage, Wheel.revolution(COUNT))
        assert solution.order == next(orders_to_try(linkage))


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
def test_two_pins_at_one_place_of_a_part_do_not_tell_how_it_is_turned(apart: float) -> None:
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


def test_of_two_assemblies_that_bend_alike_the_one_that_faces_as_said_is_taken() -> None:
    """A bar between two level guides carries a rod from the crank at its middle: the rod runs forward or back.

    Nothing bends: the bar leans as it did, and slides along to the other end of the rod.
    """
    for toward, middle in ((1.0, 200.0), (-1.0, -200.0)):
        linkage = bar_between_guides(300.0, near=middle)
        linkage.facing("rod", "crank pin", "middle", (toward, 0.0))
        rod = solve(linkage, Wheel.revolution(COUNT))["middle"] - 60 * np.exp(-2j * np.pi * np.arange(COUNT) / COUNT)
        assert np.all(rod.real * toward > 200.0)


def test_an_assembly_that_faces_the_other_way_is_refused() -> None:
    linkage = bar_between_guides(300.0, near=200.0)
    linkage.facing("bar", "lower", "upper", (-1.0, 0.0))  # it leans forward, by 30 in 50
    with pytest.raises(UnreachableError) as told:
        solve(linkage, Wheel.revolution(COUNT))
    assert abs(told.value.short) > 29.0  # mm: its ends are 30 from being abreast


def test_of_many_variants_those_picked_are_spread_over_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """A step that some variants cannot take must be seen when the order is judged on a few of them."""
    lengths = np.linspace(370.0, 390.0, 11)[:, None]
    linkage = begun(("crosshead", 400 + 30j))
    linkage.rod("connecting rod", "crank pin", "crosshead", lengths)
    linkage.guide("slidebars", "crosshead", (5.0, 12.0), 0.1)
    judged: list[list[float]] = []
    picked = Linkage.picked

    def seen(self: Linkage, rows: Any) -> Linkage:
        judged.append([float(np.ravel(lengths)[row]) for row in rows])
        return picked(self, rows)

    monkeypatch.setattr(Linkage, "picked", seen)
    assert next(orders_to_try(linkage))
    assert judged[0] == [370.0, 380.0, 390.0]
