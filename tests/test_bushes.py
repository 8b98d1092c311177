"""Bushes pressed in: Lamé derived anew twice, the plan against every corner of its limits, and the command."""

from __future__ import annotations

import itertools
import json
import math
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
import sympy as sp
from hypothesis import given, settings
from hypothesis import strategies as st

from linkmotion.commands.bush import BushRequest, read_bush, run_bush
from linkmotion.files.faults import FileError
from linkmotion.views.bush_table import PLACES, inward, warnings
from linkmotion.wear.bushes import BushPlan, assembly, plan
from linkmotion.wear.fits import Fit, Span, iso_fit
from linkmotion.wear.materials import MATERIALS, material
from linkmotion.wear.rings import BushError, Pressed, Rings, press, push

STEEL, BRONZE, IRON = material("mild steel"), material("phosphor bronze"), material("cast iron")
RINGS = Rings(seat=40, outside=80, bore=30, length=45, housing=IRON, bush=BRONZE)
FRICTION = Span(0.08, 0.2)
FIELDS = ("pressure", "closing", "growth", "housing_hoop", "bush_hoop", "housing_shear", "bush_shear")


@st.composite
def rings(draw: st.DrawFn) -> Rings:
    seat = draw(st.floats(10, 200))
    wall, metal = draw(st.floats(0.06, 0.3)), draw(st.floats(1.2, 4.0))
    housing, bush = draw(st.sampled_from(list(MATERIALS.values()))), draw(st.sampled_from(list(MATERIALS.values())))
    bore = seat * (1 - 2 * wall)
    return Rings(seat=seat, outside=seat * metal, bore=bore, length=seat, housing=housing, bush=bush)


# ---- Lamé, from equilibrium and Hooke's law -------------------------------------------------------------------------


@cache
def two_rings() -> Any:
    """Both rings by sympy: u = A r + B/r in each, four conditions; the same figures as `Pressed` has."""
    r, bore, seat, outside, tight, eh, nh, eb, nb = names = sp.symbols("r b d D delta Eh nh Eb nb", positive=True)
    u = sp.Function("u")
    general = sp.dsolve(u(r).diff(r, 2) + u(r).diff(r) / r - u(r) / r**2, u(r)).rhs
    one, two = sorted(general.free_symbols - {r}, key=str)
    free = sp.symbols("Ab Bb Ah Bh")
    inner, outer = general.subs({one: free[0], two: free[1]}), general.subs({one: free[2], two: free[3]})

    def stress(move: Any, young: Any, nu: Any, radial: bool) -> Any:
        along, across = move.diff(r), move / r
        return young / (1 - nu**2) * ((along + nu * across) if radial else (across + nu * along))

    def at(what: Any, diameter: Any) -> Any:
        return what.subs(r, diameter / 2)

    conditions = [
        at(stress(inner, eb, nb, True), bore),
        at(stress(outer, eh, nh, True), outside),
        at(stress(inner, eb, nb, True) - stress(outer, eh, nh, True), seat),
        at(outer - inner, seat) - tight / 2,
    ]
    known = sp.solve(conditions, free, dict=True)[0]
    radial, hoop = (stress(outer.subs(known), eh, nh, radial) for radial in (True, False))
    bush_hoop = at(stress(inner.subs(known), eb, nb, False), bore)
    found = [
        -at(radial, seat),
        -2 * at(inner.subs(known), bore),
        2 * at(outer.subs(known), outside),
        at(hoop, seat),
        bush_hoop,
        at(hoop - radial, seat),
        -bush_hoop,
    ]
    return sp.lambdify(names[1:], found, "math")


def derived(case: Rings, interference: float) -> dict[str, float]:
    housing, bush = case.housing, case.bush
    sizes = (case.bore, case.seat, case.outside, interference)
    return dict(zip(FIELDS, two_rings()(*sizes, housing.young, housing.poisson, bush.young, bush.poisson), strict=True))


@given(case=rings(), part=st.floats(1e-4, 3e-3))
@settings(max_examples=100)
def test_pressing_agrees_with_the_rings_derived_by_sympy(case: Rings, part: float) -> None:
    pressed = press(case, part * case.seat)
    for name, value in derived(case, part * case.seat).items():
        assert abs(getattr(pressed, name) / value - 1) < 1e-9, name


@pytest.mark.parametrize("factor", [0.999, 1.001])
@pytest.mark.parametrize("name", FIELDS)
def test_a_thousandth_off_is_rejected(name: str, factor: float) -> None:
    value = derived(RINGS, 0.04)[name]
    assert abs(getattr(press(RINGS, 0.04), name) / (value * factor) - 1) > 9e-4


def by_collocation(case: Rings, interference: float) -> tuple[float, float]:
    """Pressure and closing by scipy: both rings' equilibrium (displacement, radial stress) solved numerically."""
    from scipy.integrate import solve_bvp

    housing, bush = case.housing, case.bush
    edges = [(case.bore / 2, case.seat / 2, bush), (case.seat / 2, case.outside / 2, housing)]

    def rates(s: np.ndarray, y: np.ndarray) -> np.ndarray:
        rows = []
        for (low, high, stuff), (u, radial) in zip(edges, (y[:2], y[2:]), strict=True):
            r = low + s * (high - low)
            hoop = stuff.young * u / r / 1e3 + stuff.poisson * radial  # u in µm, stresses in MPa
            strain = (radial - stuff.poisson * hoop) / stuff.young * 1e3
            rows += [(high - low) * strain, (high - low) * (hoop - radial) / r]
        return np.array(rows)

    def ends(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        return np.array([a[1], b[3], b[1] - a[3], a[2] - b[0] - interference * 500])

    solved = solve_bvp(rates, ends, np.linspace(0, 1, 21), np.zeros((4, 21)), tol=1e-9, max_nodes=20_000)
    assert solved.status == 0
    return -solved.y[1, -1], -2e-3 * solved.y[0, 0]


@pytest.mark.parametrize(("housing", "bush"), [(IRON, BRONZE), (STEEL, STEEL), (BRONZE, IRON)])
@pytest.mark.parametrize(("bore", "outside"), [(30, 80), (36, 50), (15, 200)])
def test_pressing_agrees_with_a_boundary_value_solver(housing: Any, bush: Any, bore: float, outside: float) -> None:
    case = replace(RINGS, bore=bore, outside=outside, housing=housing, bush=bush)
    pressure, closing = by_collocation(case, 0.04)
    pressed = press(case, 0.04)
    assert abs(pressed.pressure / pressure - 1) < 1e-7
    assert abs(pressed.closing / closing - 1) < 1e-7


def test_a_thin_bush_in_heavy_metal_closes_by_the_whole_interference_and_a_thick_one_by_more() -> None:
    """In rigid metal by 2 b d / (d² (1 − ν) + b² (1 + ν)) of it: 1 for a thin wall, a little more for a thicker one."""
    rigid = STEEL.with_figures(young=0.99e6)
    soft = BRONZE.with_figures(young=1001.0)
    for bore, expected in ((39.99, 1.0), (30.0, 2 * 0.75 / (0.66 + 0.5625 * 1.34))):
        case = replace(RINGS, bore=bore, outside=1e6, housing=rigid, bush=soft)
        assert abs(float(press(case, 1.0).closing) / expected - 1) < 5e-3
    assert expected > 1.06


@given(case=rings(), part=st.floats(1e-4, 3e-3))
def test_pressing_is_linear_and_takes_arrays(case: Rings, part: float) -> None:
    steps = np.array([-1.0, 0.0, 1.0, 2.0]) * part * case.seat
    pressed = press(case, steps)
    for name in FIELDS:
        values = getattr(pressed, name)
        assert values[0] == values[1] == 0.0
        assert abs(values[3] / values[2] - 2) < 1e-12


def test_push_is_friction_on_the_whole_seat() -> None:
    assert abs(push(RINGS, 20.0, 0.1) - 0.1 * 20.0 * math.pi * 40 * 45) < 1e-9


# ---- the plan -------------------------------------------------------------------------------------------------------

OUTER = st.sampled_from(["H7/p6", "H7/r6", "H6/r5", "H7/s6", "H8/s7", "R7/h6"])
INNER = st.sampled_from(["H8/f7", "H9/e8", "H7/g6", "F8/h6", "H11/d9"])


def planned(case: Rings, outer: str, inner: str) -> BushPlan:
    return plan(case, iso_fit(case.seat, outer), iso_fit(case.bore, inner), FRICTION)


def corners(outer: Fit) -> list[tuple[float, float]]:
    return list(itertools.product(outer.hole, outer.shaft))


@given(case=rings(), outer=OUTER, inner=INNER)
@settings(max_examples=200)
def test_bush_bored_to_the_plan_comes_within_its_limits_from_every_corner(case: Rings, outer: str, inner: str) -> None:
    """Pressed with the sizes really made, not the nominal ones; the pin then has its clearance."""
    found = planned(case, outer, inner)
    after = found.inner.hole
    for hole, shaft in corners(found.outer):
        tight = max(shaft - hole, 0.0)
        for bored in found.bore_before or (*found.bore_for(tight),):
            made = replace(case, seat=hole, bore=bored)
            pressed = bored - float(press(made, tight).closing)
            slack = 1e-3  # mm, the last place of the sheet: measured 0.0006, as the rings made are not nominal
            assert after.least - slack <= pressed <= after.most + slack
            for pin in found.inner.shaft:
                assert found.inner.clearance.least - slack <= pressed - pin <= found.inner.clearance.most + slack


@given(case=rings(), outer=OUTER, inner=INNER)
def test_limits_before_pressing_are_the_widest_that_serve(case: Rings, outer: str, inner: str) -> None:
    found = planned(case, outer, inner)
    wide = found.inner.hole.width - found.closing.width
    assert (found.bore_before is not None) == (wide > 0)
    if found.bore_before is not None:
        low, high = found.bore_before
        assert abs(low - found.closing.most - found.inner.hole.least) < 1e-9
        assert abs(high - found.closing.least - found.inner.hole.most) < 1e-9
    middle = found.outer.interference.middle
    bored = found.bore_for(middle)
    assert abs(bored.least - derived(case, max(middle, 1e-12))["closing"] - found.inner.hole.least) < 1e-9


@given(case=rings(), outer=OUTER)
def test_least_and_greatest_are_those_of_all_corners(case: Rings, outer: str) -> None:
    found = planned(case, outer, "H8/f7")
    tights = [shaft - hole for hole, shaft in corners(found.outer)]
    assert abs(found.outer.interference.least - min(tights)) < 1e-9
    assert abs(found.outer.interference.most - max(tights)) < 1e-9
    forces = [push(case, press(case, tight).pressure, rub) for tight in tights for rub in FRICTION]
    assert abs(found.force.least - min(forces)) < 1e-6 * max(forces)
    assert abs(found.force.most / max(forces) - 1) < 1e-6
    closings = [float(press(case, tight).closing) for tight in tights]
    assert abs(found.closing.most - max(closings)) < 1e-9
    assert found.may_be_loose == (min(tights) <= 0)


def test_a_loose_bush_and_a_tight_pin_are_refused() -> None:
    with pytest.raises(BushError, match="no interference anywhere"):
        planned(RINGS, "H7/g6", "H8/f7")
    with pytest.raises(BushError, match="the pin would not run"):
        planned(RINGS, "H7/r6", "H7/h6")
    assert planned(RINGS, "H7/n6", "H8/f7").may_be_loose
    touching = Fit("by figures", Span(40, 40.02), Span(40.02, 40.05))
    assert plan(RINGS, touching, iso_fit(30, "H8/f7"), FRICTION).may_be_loose


@pytest.mark.parametrize("wrong", [{"bore": 40}, {"outside": 40}, {"bore": 0}, {"length": 0}, {"seat": math.nan}])
def test_rings_that_are_none_are_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(BushError, match=r"larger than the one before|cannot be pressed"):
        replace(RINGS, **wrong)


def test_stress_beyond_elastic_is_told_of_the_part_concerned() -> None:
    thin = replace(RINGS, outside=46.0, housing=IRON)
    tight = Fit("by figures", Span(40, 40), Span(40.0, 40.2))
    found = plan(thin, tight, iso_fit(30, "H8/f7"), FRICTION)
    pressed: Pressed = found.pressed
    assert found.overstressed["housing"] == pressed.housing_shear[1] / 150 > 1
    assert found.overstressed["bush"] == pressed.bush_shear[1] / 130 > 1
    assert planned(RINGS, "H7/p6", "H8/f7").overstressed == {}
    stronger = replace(thin, housing=replace(IRON, yields=float(pressed.housing_shear[1])))
    assert list(plan(stronger, tight, iso_fit(30, "H8/f7"), FRICTION).overstressed) == ["bush"], "just elastic"
    assert [text.split(" (")[0].split()[-1] for text in warnings(found)[1:]] == ["housing", "bush"]


# ---- roughness, and a bush that turns -------------------------------------------------------------------------------


@pytest.mark.parametrize("rough", [(0.0063, 0.0063), (0.004, 0.0)])
def test_roughness_is_as_so_much_less_interference(rough: tuple[float, float]) -> None:
    """0.8 of the sum of both: a bush turned so much less, perfectly smooth."""
    outer, inner = iso_fit(40, "H7/s6"), iso_fit(30, "H8/f7")
    lost = 0.8 * (rough[0] + rough[1])
    smooth = plan(RINGS, Fit("smooth", outer.hole, outer.shaft.plus(-lost)), inner, FRICTION)
    found = plan(RINGS, outer, inner, FRICTION, roughness=rough)
    assert found.flattened == pytest.approx(lost, rel=1e-12)
    assert found.felt == pytest.approx(smooth.outer.interference, rel=1e-12)
    for field in FIELDS:
        assert np.allclose(getattr(found.pressed, field), getattr(smooth.pressed, field), rtol=1e-12, atol=0)
    assert found.force == pytest.approx(smooth.force, rel=1e-12)
    assert found.bore_before == pytest.approx(smooth.bore_before, rel=1e-12)
    assert found.bore_for(0.05) == pytest.approx(smooth.bore_for(0.05 - lost), rel=1e-12)
    assert not found.may_be_loose
    assert plan(RINGS, outer, inner, FRICTION, roughness=(0.025, 0.025)).may_be_loose
    with pytest.raises(BushError, match="beyond its roughness"):
        plan(RINGS, outer, inner, FRICTION, roughness=(0.05, 0.05))


def test_a_bush_is_held_by_the_friction_of_its_seat_and_dragged_by_that_of_its_bore() -> None:
    """Both torques summed over small pieces of the two surfaces, against a load at which they are equal."""
    own = plan(RINGS, Fit("by figures", Span(40, 40), Span(40.004, 40.05)), iso_fit(30, "H8/f7"), FRICTION)
    piece = 2 * math.pi / 3600
    seat = sum(0.08 * float(own.pressed.pressure[0]) * (20 * piece) * 45 * 20 for _ in range(3600))
    assert own.holds.least == pytest.approx(seat, rel=1e-12)
    drag = 0.2 * own.turning_load * 15  # the load bears on the pin's surface wherever it lies
    assert drag == pytest.approx(seat, rel=1e-12)
    assert own.pin_load == pytest.approx(7.0 * 30 * 45, rel=1e-12)
    assert own.may_turn
    assert not planned(RINGS, "H7/s6", "H8/f7").may_turn
    (said,) = warnings(own)
    assert "a dry pin (friction 0.2)" in said
    assert f"{own.holds.least / 1e3:.0f} N m" in said
    (inches,) = warnings(own, "in")
    assert "psi" in inches
    assert "lbf ft" in inches
    assert "MPa" not in inches


# ---- cold bush, warm housing ----------------------------------------------------------------------------------------


@given(case=rings(), cold=st.floats(-40, 20), warm=st.floats(20, 300), low=st.floats(-0.01, 0.1))
def test_interference_left_is_what_heat_and_cold_leave(case: Rings, cold: float, warm: float, low: float) -> None:
    left = assembly(case, Span(low, low + 0.02), cold, warm)
    moved = case.seat * (case.bush.expansion * (20 - cold) + case.housing.expansion * (warm - 20))
    assert abs(left.shrinks + left.grows - moved) < 1e-12
    assert abs(left.left.least - (low - moved)) < 1e-12
    assert abs(left.left.most - (low + 0.02 - moved)) < 1e-12


def test_bush_drops_in_from_the_temperature_on_that_undoes_the_interference() -> None:
    """40 mm of 17.3 millionths: 0.030 mm is undone 43.35 K below 20 °C; a warm iron housing at 20 + 74.95 K."""
    tight = Span(0.03, 0.03)
    assert abs(assembly(RINGS, tight, 20 - 0.03 / (40 * 17.3e-6), 20).left.most) < 1e-9
    assert assembly(RINGS, tight, -23.0, 20).left.most > 0 > assembly(RINGS, tight, -24.0, 20).left.most
    assert assembly(RINGS, tight, 20, 94.9).left.most > 0 > assembly(RINGS, tight, 20, 95.0).left.most


# ---- the command ----------------------------------------------------------------------------------------------------

ASKED = BushRequest(seat="40", housing_outside="80 mm", bore="30", length="45", freezer=-18, warm=120)


def test_data_hold_the_plan(capsys: pytest.CaptureFixture[str]) -> None:
    assert run_bush(replace(ASKED, output="json", housing="cast iron")) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["housing_bore"] == [40.0, 40.025]
    assert told["bush_outside"] == [40.034, 40.05]
    assert told["pin"] == [29.959, 29.98]
    assert told["interference"] == [0.009, 0.05]
    assert told["running_clearance"] == [0.02, 0.074]
    for key, value in zip(told["bore_closing"], press(RINGS, np.array([0.009, 0.05])).closing, strict=True):
        assert abs(key - value) < 1e-6
    assert [(step["bush_at_C"], step["housing_at_C"]) for step in told["assembly"]] == [
        (-18, 20),
        (20, 120),
        (-18, 120),
    ]
    assert abs(told["assembly"][2]["interference_left"][1] - (0.05 - 40 * (17.3e-6 * 38 + 10.008e-6 * 100))) < 1e-6


def test_sheet_in_inches_shows_sizes_force_heat_sources_and_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    request = BushRequest(
        seat="1 3/4", housing_outside="3 1/4", bore='1 1/4"', length="1.5 in", running="rc6", unit="in", freezer=-196
    )
    assert run_bush(request) == 0
    said = " ".join(capsys.readouterr().out.split())
    for wanted in (
        "housing, bore 1.7500 1.7509 H7/r6",
        "pin, turn 1.2464 1.2480 RC6",
        "bush, bore after pressing 1.2500 1.2525 RC6",
        "pin's running clearance 0.0020 0.0061 in",
        "long tons (2240 lb)",
        "lbf ft",
        "it drops in",
        "seven tenths of the coefficient",
        "Machinery's Handbook",
        "from memory",
        "behind guards",
        "Liquid gas and dry ice burn",
        "competent person",
    ):
        assert wanted in said


def test_closing_that_varies_too_much_gives_a_bore_for_each_interference(capsys: pytest.CaptureFixture[str]) -> None:
    assert run_bush(replace(ASKED, running="H7/g6", bush="phosphor bronze, yields=170")) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert said.count("if the interference measures") == 3
    assert "finish the bore after pressing" in said
    assert read_bush(replace(ASKED, running="H7/g6")).bore_before is None


@pytest.mark.parametrize("text", ["0.0508 to 0.1016", "2 to 4 thou", "2 thou to 4 thou", "0.002 to 0.004 in"])
def test_clearance_by_figures_in_any_shop_unit_is_put_on_the_bush(text: str) -> None:
    found = read_bush(replace(ASKED, running=text)).inner
    assert found.shaft == Span(30.0, 30.0)
    assert abs(found.hole.least - 30.0508) < 1e-9
    assert abs(found.hole.most - 30.1016) < 1e-9


def test_interference_by_figures_is_put_on_the_bush() -> None:
    found = read_bush(replace(ASKED, press="0.03")).outer
    assert (found.hole, found.shaft) == (Span(40.0, 40.0), Span(40.03, 40.03))


def test_stresses_and_forces_are_in_the_units_of_the_shop(capsys: pytest.CaptureFixture[str]) -> None:
    """The inch sheet's psi, pounds and long tons against the millimetre sheet's MPa and kN, both as printed in JSON."""
    inch = BushRequest(
        seat="1 3/4", housing_outside="3 1/4", bore="1 1/4", length="1.5", unit="in", press="2 to 4 thou"
    )
    run_bush(replace(inch, output="json"))
    data = json.loads(capsys.readouterr().out)
    run_bush(inch)
    lines = {" ".join(line.split()) for line in capsys.readouterr().out.splitlines()}
    low, high = (round(each * 145.0377, -1) for each in data["pressure_MPa"])
    assert f"pressure {low:,.0f} {high:,.0f} psi" in lines
    low, high = (each / 9.964016 for each in data["press_force_kN"])  # kN to a ton of 2240 lb
    assert f"press force, friction 0.08 to 0.2 {low:.1f} {high:.1f} long tons (2240 lb)" in lines
    low, high = (each * 0.7375621 for each in data["turning_torque_Nm"])
    assert f"torque that turns it in its housing {low:,.0f} {high:,.0f} lbf ft" in lines
    assert not any("MPa" in line or "kN" in line for line in lines)
    run_bush(ASKED)
    said = capsys.readouterr().out
    assert "metric tons (1000 kg)" in said
    assert "psi" not in said


def test_roughness_is_asked_for_in_micrometres(capsys: pytest.CaptureFixture[str]) -> None:
    assert read_bush(replace(ASKED, roughness=(6.3, 3.2))).flattened == pytest.approx(0.8 * 0.0095, rel=1e-12)
    with pytest.raises(FileError, match="--roughness"):
        read_bush(replace(ASKED, roughness=(6.3, -1.0)))
    run_bush(replace(ASKED, press="H7/s6", roughness=(6.3, 3.2)))
    said = " ".join(capsys.readouterr().out.split())
    assert "0.008 mm is roughness that is flattened in pressing" in said
    assert "DIN 7190" in said
    run_bush(replace(ASKED, press="H7/s6"))
    assert "No roughness is counted" in " ".join(capsys.readouterr().out.split())


def test_a_bush_that_turned_seats_may_leave_loose_is_called_sound_of_smooth_seats_only(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """ISO 286: 50 H7/r6 leaves 0.009 mm at least; two seats of Rz 6.3 flatten by 0.8 of their sum, 0.010 mm."""
    asked = BushRequest(seat="50", housing_outside="90", bore="38", length="60")
    run_bush(asked)
    answer = " ".join(capsys.readouterr().out.split()).partition("Bush of")[0]
    assert "with smooth seats it is neither loose" in answer
    assert "they flatten by 0.010, all of the least interference, and it may be loose" in answer
    assert run_bush(replace(asked, roughness=(6.3, 6.3))) == 1
    assert "can be loose in its bore" in " ".join(capsys.readouterr().out.split())
    run_bush(replace(asked, press="0.02 to 0.05"))
    assert "smooth seats" not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("fit", "said"),
    [
        ("0.02 to 0.05", "Bore the housing 40.000, turn the bush 40.020 to 40.050 mm"),
        ("0.03", "Bore the housing 40.000, turn the bush 40.030 mm"),
        ("H7/r6", "Bore the housing 40.000 to 40.025, turn the bush 40.034 to 40.050 mm"),
    ],
)
def test_a_size_without_limits_of_its_own_is_told_as_one_figure(
    fit: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """An interference by figures is put on the bush: the housing is at its size, and no span is made up for it."""
    run_bush(replace(ASKED, press=fit, seat="40", bore="30", housing_outside="80", length="40"))
    assert " ".join(capsys.readouterr().out.split()).startswith(said)


def test_a_plan_that_may_fail_ends_with_1(capsys: pytest.CaptureFixture[str]) -> None:
    assert run_bush(replace(ASKED, press="H7/k6")) == 1
    assert "can be loose in its bore" in " ".join(capsys.readouterr().out.split())
    assert run_bush(replace(ASKED, press="0.1 to 0.2")) == 1
    assert "Less interference, more metal" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(
    ("wrong", "option", "said"),
    [
        ({"seat": "40,0"}, "--seat", "comma"),
        ({"housing_outside": "many"}, "--housing-outside", "not a length"),
        ({"bore": "1 1/4"}, "--bore", "fraction of what"),
        ({"bore": "41"}, "--bore", "larger than the one before"),
        ({"length": "-45"}, "--bore", "cannot be pressed in"),
        ({"press": "H7"}, "--press", "not a fit"),
        ({"press": "H7/q6"}, "--press", "no class held here"),
        ({"press": "0.5 to 0.6"}, "--press", "was read as 0.500 to 0.600 mm"),
        ({"press": "0.05 to 0.02"}, "--press", "lesser first"),
        ({"press": "0.05 to much"}, "--press", "not a length"),
        ({"press": "H7/f6"}, "--press", "no interference anywhere"),
        ({"running": "H7/h6"}, "--press, --running", "would not run"),
        ({"running": "RC8"}, "--running", "no running fit"),
        ({"housing": "mild steal"}, "--housing", "did you mean 'mild steel'"),
        ({"bush": "brass, colour=3"}, "--material", "no figure of a material"),
        ({"bush": "brass, young=100000"}, "--material", "not those of a metal"),
        ({"friction": (0.2, 0.1)}, "--friction", "no range"),
        ({"friction": (math.nan, 0.1)}, "--friction", "no range"),
        ({"freezer": 30.0}, "--freezer", "-200 to 20"),
        ({"warm": math.inf}, "--warm", "20 to 400"),
        ({"unit": "ft"}, "--unit", "mm or in"),
    ],
)
def test_wrong_input_is_told_with_its_option(wrong: dict[str, Any], option: str, said: str) -> None:
    with pytest.raises(FileError) as caught:
        read_bush(replace(ASKED, **wrong))
    assert caught.value.file.startswith(option)
    assert said in str(caught.value)


@given(low=st.floats(1, 200), width=st.floats(0, 0.2), unit=st.sampled_from(list(PLACES)))
def test_limits_shown_lie_within_those_meant(low: float, width: float, unit: str) -> None:
    step = {"mm": 0.001, "in": 0.00254}[unit]
    limits = Span(low, low + width)
    shown = inward(limits, unit)
    assert limits.least - 1e-5 * step <= shown.least <= shown.most <= limits.most + 1e-5 * step
    assert shown == limits or (shown.least - limits.least < step and limits.most - shown.most < step)


def test_limits_of_whole_steps_are_shown_as_they_are() -> None:
    for low in (40.0, 40.034, 29.959, 31.75):
        shown = inward(Span(low, low + 0.016), "mm")
        assert abs(shown.least - low) < 1e-9
        assert abs(shown.most - low - 0.016) < 1e-9
