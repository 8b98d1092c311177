"""Figures as they are taken come to what a fitter works by hand, and their doubts to what chance makes of them."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats

from linkmotion.files.engine_file import parse_engine
from linkmotion.files.faults import FileError
from linkmotion.measuring import Taken
from linkmotion.measuring.taken import mean_of
from tests.bad_engines.changed import DOCK, METRE, changed
from tests.taken import HEIGHT, measured, taken, worn

TENTHS = st.integers(1, 20_000).map(lambda n: Fraction(n, 10))
SIXTEENTHS = st.integers(1, 1600).map(lambda n: Fraction(n, 16))
FEW = settings(max_examples=40, deadline=None)


def mm(size: Fraction) -> str:
    return f"{float(size)} mm"


def inch(size: Fraction) -> str:
    whole, part = divmod(abs(size), 1)
    return f"{'-' * (size < 0)}{f'{whole} {part}' if whole and part else whole or part} in"


# --- sums -------------------------------------------------------------------------------------------------------------


@FEW
@given(TENTHS, TENTHS, SIXTEENTHS, st.integers(2, 9))
def test_a_sum_is_exact_to_the_last_bit(a: Fraction, b: Fraction, c: Fraction, n: int) -> None:
    whole = a - b / n + c * Fraction(254, 10) + 3 * a
    assert taken(f'"{mm(a)} - {mm(b)} / {n} + {inch(c)} + 3 * {mm(a)}"').value == float(whole)
    assert taken(f'"({mm(a)} + {inch(c)}) / {n}"').value == float((a + c * Fraction(254, 10)) / n)


@pytest.mark.parametrize(
    ("text", "mm_"),
    [
        ("680 mm - 400 mm", 280.0),
        ("680 - 400", 280.0),
        ("26 3/4 in + 1/16 in", float(Fraction(429, 16) * Fraction(254, 10))),
        ("1210 mm - 1372 mm / 2", 524.0),
        ("1210 mm−1372 mm÷2", 524.0),
        ("2 × 340 mm", 680.0),
        ("2 x 340 mm", 680.0),
        ("340 mm * 1/2", 170.0),
        ("-400 mm + 680 mm", 280.0),
        ("""3' 6 1/2\\" + 1 in""", 1104.9),
        ("½ in + ¼ in", 19.05),
        ('1-5/16\\" + 3 mm', 36.3375),
        ("5 thou + 1 mm", 1.127),
        ("2 * (3 mm + 4 mm) - 1 mm", 13.0),
    ],
)
def test_sums_as_fitters_write_them(text: str, mm_: float) -> None:
    found = taken(f'"{text}"')
    assert found.value == mm_
    assert found.doubt == 0.0
    assert not found.parts


def test_a_plain_figure_is_none_that_was_taken() -> None:
    for text in ("962", '"962 mm"', '"1 - 5/16 in"', "'3 ft - 6 in'"):  # the last two are one length, as ever
        assert HEIGHT not in measured(text).taken
    assert measured('"1 - 5/16 in"').gear("as measured").valve.guide_height == 33.3375


# --- doubts -----------------------------------------------------------------------------------------------------------


@FEW
@given(TENTHS, st.integers(1, 500).map(lambda n: Fraction(n, 100)))
def test_a_doubt_is_as_it_is_written(a: Fraction, doubt: Fraction) -> None:
    for form in ("{} ± {} mm", "{} +- {} mm", "{} +/- {} mm", "{} mm ± {} mm", "({} ± {} mm)"):
        found = taken(f'"{form.format(float(a), float(doubt))}"')
        assert found.value == float(a)
        assert math.isclose(found.doubt, doubt, rel_tol=1e-12)


def test_doubts_of_terms_combine_by_their_squares_and_follow_their_factors() -> None:
    assert math.isclose(taken('"769 ± 0.3 mm - 400 ± 0.4 mm"').doubt, 0.5, rel_tol=1e-12)
    assert math.isclose(taken('"(769 ± 0.3 mm - 400 ± 0.4 mm) / 2"').doubt, 0.25, rel_tol=1e-12)
    assert math.isclose(taken('"3 * 40 ± 0.1 mm"').doubt, 0.3, rel_tol=1e-12)
    assert math.isclose(taken('"30 in ± 5 thou"').doubt, 0.127, rel_tol=1e-12)
    assert taken('"769 ± 0.3 mm"').value == 769.0


def test_what_rests_on_one_wheel_errs_together_and_falls_out_of_a_difference() -> None:
    text = changed("expansion_link", "trunnion_y", '{ from_rail = "1210 ± 0.3 mm" }')
    text = changed("reversing", "shaft_y", '{ from_rail = "1500 ± 0.4 mm" }', text)
    engine = parse_engine(f'{text}\n[wheels]\ndiameter = "1000 ± 4 mm"\n')
    trunnion, shaft = (engine.taken[key] for key in (("expansion_link", "trunnion_y"), ("reversing", "shaft_y")))
    assert (trunnion.value, shaft.value) == (710.0, 1000.0)
    assert math.isclose(trunnion.doubt, math.hypot(0.3, 2.0), rel_tol=1e-12)
    shared = [source for source in trunnion.parts if source in shaft.parts]
    assert shared == [("wheels", "diameter", "0")]
    apart = {s: shaft.parts[s].amount for s in shaft.parts}
    for source, part in trunnion.parts.items():
        apart[source] = apart.get(source, 0.0) - part.amount
    assert math.isclose(1.959964 * math.hypot(*apart.values()), 0.5, rel_tol=1e-6)  # 0.3 and 0.4, no wheel


# --- takings ----------------------------------------------------------------------------------------------------------


@FEW
@given(st.lists(TENTHS, min_size=2, max_size=8).filter(lambda own: len(set(own)) > 1))
def test_takings_give_their_mean_and_students_doubt(takings: list[Fraction]) -> None:
    found = taken(str([mm(one) for one in takings]).replace("'", '"'))
    assert found.value == float(sum(takings) / len(takings))
    low, high = stats.t.interval(
        0.95, len(takings) - 1, loc=found.value, scale=stats.sem([float(one) for one in takings])
    )
    assert math.isclose(found.doubt, (high - low) / 2, rel_tol=1e-9)
    assert found.freedom == pytest.approx(len(takings) - 1, rel=1e-12)


def test_the_gauges_own_doubt_is_not_lessened_by_repeating() -> None:
    whole = taken('{ takings = ["769.2 mm", "769.5 mm", "769.0 mm"], doubt = "0.5 mm" }')
    beside = taken('["769.2 ± 0.5 mm", "769.5 ± 0.5 mm", "769.0 ± 0.5 mm"]')
    scatter, gauge = np.std([769.2, 769.5, 769.0], ddof=1) / math.sqrt(3), 0.5 / stats.norm.ppf(0.975)
    u = math.hypot(scatter, gauge)
    freedom = u**4 / (scatter**4 / 2)  # Welch and Satterthwaite
    for found in (whole, beside):
        assert math.isclose(found.standard, u, rel_tol=1e-12)
        assert math.isclose(found.doubt, stats.t.ppf(0.975, freedom) * u, rel_tol=1e-9)


def test_takings_all_alike_tell_of_no_scatter() -> None:
    assert taken('["769.2 mm", "769.2 mm"]').doubt == 0.0
    assert math.isclose(taken('{ takings = ["769.2 mm", "769.2 mm"], doubt = "0.5 mm" }').doubt, 0.5, rel_tol=1e-12)


def test_a_fraction_of_a_degree_is_told_how_to_be_written() -> None:
    with pytest.raises(FileError, match=r"a plain number of degrees, such as 2\.5, or a sum '90 - 6 1/2'"):
        parse_engine(changed("return_crank", "angle", '"83 1/2"'))
    found = parse_engine(changed("return_crank", "angle", '"90 - 6 1/2"')).taken["return_crank", "angle"]
    assert found.value == 83.5


def test_angles_are_taken_too() -> None:
    engine = parse_engine(changed("return_crank", "angle", '"90° - 6.5 ± 0.2"'))
    assert engine.gear().return_crank.angle == 83.5  # type: ignore[attr-defined]
    found = engine.taken["return_crank", "angle"]
    assert (found.unit, round(found.doubt, 12)) == ("degrees", 0.2)
    engine = parse_engine(changed("reversing.notches", "full forward", '["-21.0°", -21.5, "-21.25 ± 0.1"]'))
    assert engine.gear().notches["full forward"].angle == -21.25  # type: ignore[union-attr]


# --- readings ---------------------------------------------------------------------------------------------------------


@FEW
@given(TENTHS, TENTHS, TENTHS)
def test_centres_over_and_between_pins_and_bores(centres: Fraction, a: Fraction, b: Fraction) -> None:
    over, between = centres + (a + b) / 2, centres - (a + b) / 2
    for kind in ("pins", "bores"):
        sizes = f'{kind} = ["{mm(a)}", "{mm(b)}"]'
        if over >= a + b:
            assert taken(f'{{ over = "{mm(over)}", {sizes} }}').value == float(centres)
        if between > 0:
            assert taken(f'{{ between = "{mm(between)}", {sizes} }}').value == float(centres)
    if over >= a + b:
        mixed = f'{{ over = "{mm(over)}", pins = "{mm(a)}", bores = "{mm(b)}", add = "1 mm - 3 mm" }}'
        assert taken(mixed).value == float(centres - 2)


def test_one_diameter_for_both_pins_errs_in_both() -> None:
    one = taken('{ over = "852 ± 0.3 mm", pins = "40 ± 0.4 mm" }')
    two = taken('{ over = "852 ± 0.3 mm", pins = ["40 ± 0.4 mm", "40 ± 0.4 mm"] }')
    assert one.value == two.value == 812.0
    assert math.isclose(one.doubt, 0.5, rel_tol=1e-12)
    assert math.isclose(two.doubt, math.sqrt(0.09 + 0.08), rel_tol=1e-12)


@FEW
@given(TENTHS, TENTHS)
def test_heights_from_the_rail(height: Fraction, wheel: Fraction) -> None:
    head = f'[wheels]\ndiameter = "{mm(wheel)}"\n'
    assert taken(f'{{ from_rail = "{mm(height)}" }}', head).value == float(height - wheel / 2)


@FEW
@given(st.floats(50, 3000), st.floats(0.02, 1.5), st.floats(-3, 3), st.floats(-500, 500))
def test_an_arc_is_the_same_by_chord_and_rise_and_by_points(r: float, half: float, way: float, x: float) -> None:
    chord, rise = 2 * r * math.sin(half), r * (1 - math.cos(half))
    by_chord = taken(f'{{ chord = "{chord!r} mm", rise = "{rise!r} mm" }}')
    assert by_chord.value == pytest.approx(r, rel=1e-6)  # a flat arc's rise has few figures left
    for count in (3, 4, 9):
        places = [x + r * np.exp(1j * (way + part)) for part in np.linspace(-half, half, count)]
        points = ", ".join(f"[{p.real!r}, {p.imag!r}]" for p in map(complex, places))
        assert taken(f"{{ points = [{points}] }}").value == pytest.approx(r, rel=1e-6)


def test_three_points_lie_on_their_circle() -> None:
    a, b, c = 3 + 1j, 100 + 40j, 250 - 7j
    area = abs(((b - a).conjugate() * (c - a)).imag) / 2
    around = abs(b - a) * abs(c - b) * abs(a - c) / (4 * area)  # R = abc / 4F
    assert taken("{ points = [[3, 1], [100, 40], [250, -7]] }").value == pytest.approx(around, rel=1e-12)


def test_an_arc_is_fitted_to_many_points_as_least_squares_has_it_with_its_doubt() -> None:
    rng = np.random.default_rng(5)
    turn = np.linspace(-0.5, 0.5, 15)
    x, y = 900 * np.sin(turn) + rng.normal(0, 0.05, 15), 900 * np.cos(turn) + rng.normal(0, 0.05, 15)
    points = ", ".join(f"[{a!r}, {b!r}]" for a, b in zip(x.tolist(), y.tolist(), strict=True))
    fit = optimize.least_squares(
        lambda p: np.hypot(x - p[0], y - p[1]) - p[2], [0.0, 0.0, 880.0], xtol=1e-15, ftol=1e-15, gtol=1e-15
    )
    reach = np.hypot(x - fit.x[0], y - fit.x[1])
    slopes = np.column_stack([(fit.x[0] - x) / reach, (fit.x[1] - y) / reach, -np.ones(15)])
    covariance = np.linalg.inv(slopes.T @ slopes)
    free = taken(f"{{ points = [{points}] }}")
    assert free.value == pytest.approx(fit.x[2], rel=1e-9)
    sigma = math.sqrt(2 * fit.cost / 12)
    assert free.doubt == pytest.approx(stats.t.ppf(0.975, 12) * sigma * math.sqrt(covariance[2, 2]), rel=1e-6)
    told = taken(f'{{ points = [{points}], doubt = "0.4 mm" }}')  # more than they scatter by
    assert told.doubt == pytest.approx(0.4 * math.sqrt(covariance[2, 2]), rel=1e-6)
    less = taken(f'{{ points = [{points}], doubt = "0.001 mm" }}')  # less: what they scatter by is believed
    assert less.doubt == pytest.approx(free.doubt, rel=1e-12)


@FEW
@given(st.integers(3000, 5000), st.integers(0, 30), st.integers(0, 30), st.integers(0, 20), st.integers(1, 20))
def test_clearances_by_diameters_with_ovality(bore: int, oval: int, worn_by: int, flat: int, free: int) -> None:
    least, greatest = Fraction(bore, 100), Fraction(bore + oval, 100)
    stout = least - Fraction(free, 100)
    slim = stout - Fraction(flat, 100)
    bush = f'{{ greatest = "{mm(greatest)}", least = "{mm(least)}" }}'
    pin = f'{{ greatest = "{mm(stout)}", least = "{mm(slim)}" }}'
    assert worn(f"{{ bush = {bush}, pin = {pin} }}").value == float(greatest - slim)
    turned, sleeve = slim - Fraction(worn_by, 100), slim + Fraction(5, 100)
    mended = f'{{ bush = {bush}, pin = {pin}, turned_to = "{mm(turned)}", sleeved_to = "{mm(sleeve)}" }}'
    assert worn(mended).value == float(sleeve - turned)
    assert worn(f'{{ bush = "{mm(least)}", pin = "{mm(stout)}" }}').value == float(least - stout)


def test_a_bow_by_gaps_under_a_straight_edge() -> None:
    whole = '{ middle = "6.2 mm", ends = ["3 mm", "3.2 mm"] }'
    assert worn(whole, "bow", "eccentric rod").value == 3.1
    short = '{ middle = "4 mm", ends = "3 mm", straightedge = "500 mm", rod = "1000 mm" }'
    assert worn(short, "bow", "eccentric rod").value == 4.0


# --- doubts against chance --------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Chance:
    """A form with the doubts of its readings, and the same worked by hand from readings drawn at random."""

    written: str
    sizes: tuple[tuple[float, float], ...]  # reading, doubt
    by_hand: Callable[..., Any]


CHANCES = {
    "a sum": Chance('"680 ± 0.3 mm - 400 ± 0.5 mm / 2"', ((680, 0.3), (400, 0.5)), lambda a, b: a - b / 2),
    "over pins": Chance(
        '{ over = "852 ± 0.2 mm", pins = ["40 ± 0.1 mm", "38 ± 0.3 mm"] }',
        ((852, 0.2), (40, 0.1), (38, 0.3)),
        lambda over, a, b: over - a / 2 - b / 2,
    ),
    "between bores": Chance(
        '{ between = "774 ± 0.2 mm", bores = "39 ± 0.3 mm" }', ((774, 0.2), (39, 0.3)), lambda gap, d: gap + d
    ),
    "chord and rise": Chance(
        '{ chord = "310 ± 1 mm", rise = "10.05 ± 0.1 mm" }',
        ((310, 1), (10.05, 0.1)),
        lambda c, h: ((c / 2) ** 2 + h**2) / (2 * h),
    ),
    "from the rail": Chance('{ from_rail = "1210 ± 0.5 mm" }', ((1210, 0.5), (1372, 2)), lambda h, d: h - d / 2),
}


@pytest.mark.parametrize("name", CHANCES)
def test_doubts_hold_what_chance_makes_of_the_readings(name: str) -> None:
    chance, rng = CHANCES[name], np.random.default_rng(11)
    drawn = [rng.normal(size, doubt / stats.norm.ppf(0.975), 400_000) for size, doubt in chance.sizes]
    low, high = np.quantile(chance.by_hand(*drawn), [0.025, 0.975])
    found = taken(chance.written, '[wheels]\ndiameter = "1372 ± 2 mm"\n')
    assert found.doubt == pytest.approx((high - low) / 2, rel=0.02)
    assert found.value == pytest.approx((high + low) / 2, abs=0.02 * found.doubt + 1e-9)


def test_the_doubt_of_an_arc_through_points_holds_what_chance_makes_of_them() -> None:
    rng, turn = np.random.default_rng(3), np.array([-0.3, -0.05, 0.3])
    x, y = 900 * np.sin(turn), 900 * np.cos(turn)
    points = ", ".join(f"[{a!r}, {b!r}]" for a, b in zip(x.tolist(), y.tolist(), strict=True))
    found = taken(f'{{ points = [{points}], doubt = "0.1 mm" }}')
    off = rng.normal(0, 0.1 / stats.norm.ppf(0.975), (100_000, 3))
    places = (900 + off) * np.exp(1j * turn)
    a, b, c = places.T
    area = np.abs(((b - a).conjugate() * (c - a)).imag) / 2
    low, high = np.quantile(np.abs(b - a) * np.abs(c - b) * np.abs(a - c) / (4 * area), [0.025, 0.975])
    assert found.doubt == pytest.approx((high - low) / 2, rel=0.02)


def test_doubts_of_few_takings_are_right_19_times_in_20() -> None:
    """Of simulated takings: how often the mean's doubt holds the true length."""
    rng, held, count = np.random.default_rng(8), 0, 4000
    for takings in rng.normal(769.0, 0.2, (count, 3)).tolist():
        found = mean_of([Taken(Fraction(one)) for one in takings], lambda: "scatter")
        held += abs(found.value - 769.0) <= found.doubt
    assert 0.94 <= held / count <= 0.96


# --- the return crank -------------------------------------------------------------------------------------------------


def test_the_return_cranks_angle_by_where_the_foot_goes() -> None:
    """The foot's places by complex numbers alone: axle at 0, trunnion t, circles of rod and link met."""
    crank, circle, rod, foot_arm = 10.0, 4.4375, 31.53125, math.hypot(11.9375, 3.625)
    trunnion, angle = complex(34.5, 15.4375), math.radians(83.5)

    def foot(turn: float) -> complex:
        pin = circle * np.exp(-1j * (turn + angle))
        apart = abs(trunnion - pin)
        cosine = (rod**2 + apart**2 - foot_arm**2) / (2 * rod * apart)
        return complex(pin + rod * (trunnion - pin) / apart * np.exp(-1j * math.acos(cosine)))  # below

    feet = np.array([foot(turn) for turn in np.linspace(0, 2 * math.pi, 20_000, endpoint=False)])
    far, near = feet[np.argmax(np.abs(feet))], feet[np.argmin(np.abs(feet))]
    length = abs(crank - circle * np.exp(1j * angle))
    text = changed("return_crank", "pin_radius", None, DOCK)
    for leads in ("leads", "follows"):
        form = f'{{ foot_movement = "{float(abs(far - near))!r} in", sense = "{leads}" }}'
        own = changed("return_crank", "length", f'"{float(length)!r} in"', changed("return_crank", "angle", form, text))
        found = parse_engine(own).taken["return_crank", "angle"]
        assert found.value == pytest.approx(83.5 if leads == "leads" else -83.5, abs=2e-6)
    front, back = (float(abs(foot(turn))) for turn in (0.0, math.pi))
    form = f'{{ foot_at_front = "{front!r} in", foot_at_back = "{back!r} in" }}'
    for own in (DOCK, changed("return_crank", "length", f'"{float(length)!r} in"', text)):
        found = parse_engine(changed("return_crank", "angle", form, own)).taken["return_crank", "angle"]
        assert found.value == pytest.approx(83.5, abs=0.001)  # what the link's arc adds is neglected


def test_the_doubt_of_an_angle_follows_everything_that_it_was_worked_from() -> None:
    """Against differences of the angle, each figure moved by hand."""
    figures = {"foot": 9.8317, "length": 10.4711, "rod": 31.53125, "trunnion": 34.5}
    doubts = {"foot": 0.02, "length": 0.01, "rod": 0.03, "trunnion": 0.05}

    def text(by: dict[str, float], doubted: bool) -> str:
        def one(name: str) -> str:
            return f'"{by[name]!r} in ± {doubts[name]} in"' if doubted else f'"{by[name]!r} in"'

        own = changed("return_crank", "pin_radius", None, DOCK)
        own = changed("return_crank", "angle", f"{{ foot_movement = {one('foot')} }}", own)
        own = changed("return_crank", "length", one("length"), own)
        own = changed("eccentric_rod", "length", one("rod"), own)
        return changed("expansion_link", "trunnion_x", one("trunnion"), own)

    def angle(by: dict[str, float]) -> float:
        return parse_engine(text(by, False)).taken["return_crank", "angle"].value

    square = 0.0
    for name, doubt in doubts.items():
        step = 1e-4
        more, less = (angle({**figures, name: figures[name] + way * step}) for way in (1, -1))
        square += ((more - less) / (2 * step) * doubt) ** 2
    found = parse_engine(text(figures, True)).taken["return_crank", "angle"]
    assert found.doubt == pytest.approx(math.sqrt(square), rel=1e-6)
    assert found.unit == "degrees"


def test_an_angle_by_readings_stands_in_a_states_own_gear() -> None:
    form = '{ foot_at_front = "10 mm", foot_at_back = "10 mm" }'
    engine = parse_engine(f"{METRE}\n[state.s.left.return_crank]\nangle = {form}\n")
    angle = engine.gear("s", "left").return_crank.angle  # type: ignore[attr-defined]
    assert angle == pytest.approx(84.25, abs=0.01)  # the drawing's, which is square to the foot
    assert angle == engine.taken["state", "s", "left", "return_crank", "angle"].value
    assert engine.gear("s", "right").return_crank.angle == 84.25  # type: ignore[attr-defined]
