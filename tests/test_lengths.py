"""Shop lengths are read exactly, shown readably, and refused clearly."""

import math
import time
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from linkmotion.files.lengths import UNITS, LengthError, format_length, parse_length

INCH = Fraction(254, 10)

READ = [
    # text, file unit, millimetres exactly
    ("1 5/16 in", "mm", Fraction(21, 16) * INCH),
    ('1-5/16"', "mm", Fraction(21, 16) * INCH),
    ("1 - 5/16 in", "mm", Fraction(21, 16) * INCH),
    ("5/16", "in", Fraction(5, 16) * INCH),
    ("1 5/16", "in", Fraction(21, 16) * INCH),
    ("-1 5/16 in", "mm", Fraction(-21, 16) * INCH),
    ("−1-5/16″", "mm", Fraction(-21, 16) * INCH),
    ("+ 1 5/16 in", "mm", Fraction(21, 16) * INCH),
    ("3' 6 1/2\"", "mm", Fraction(85, 2) * INCH),
    ("3 ft 6 1/2 in", "mm", Fraction(85, 2) * INCH),
    ("3'-6 1/2\"", "mm", Fraction(85, 2) * INCH),
    ("3' - 6-1/2\"", "mm", Fraction(85, 2) * INCH),
    ("3’6½”", "mm", Fraction(85, 2) * INCH),
    ("3′\u00a06\u202f½″", "mm", Fraction(85, 2) * INCH),
    ("-3' 6 1/2''", "mm", Fraction(-85, 2) * INCH),
    ("3' 14\"", "mm", 50 * INCH),
    ("3' 1/2\"", "mm", Fraction(73, 2) * INCH),
    ("3 feet 6.5 inches", "mm", Fraction(85, 2) * INCH),
    ("3'", "mm", 36 * INCH),
    ("3 1/2 ft", "mm", 42 * INCH),
    ("0.005 in", "mm", Fraction(5, 1000) * INCH),
    (".005 in.", "mm", Fraction(5, 1000) * INCH),
    ("5 thou", "mm", Fraction(5, 1000) * INCH),
    ("1½ thou", "mm", Fraction(15, 10_000) * INCH),
    ("33.3 mm", "in", Fraction(333, 10)),
    ("  33.3MM\n", "in", Fraction(333, 10)),
    ("33.3", "mm", Fraction(333, 10)),
    ("2e-3", "in", Fraction(2, 1000) * INCH),
    ("1½", "in", Fraction(3, 2) * INCH),
    ("1-½ in", "mm", Fraction(3, 2) * INCH),
    ("¼ in", "mm", Fraction(1, 4) * INCH),
    ("¾ in", "mm", Fraction(3, 4) * INCH),
    ("⅛ in", "mm", Fraction(1, 8) * INCH),
    ("⅜ in", "mm", Fraction(3, 8) * INCH),
    ("⅝ in", "mm", Fraction(5, 8) * INCH),
    ("⅞ in", "mm", Fraction(7, 8) * INCH),
    ("5⁄16 in", "mm", Fraction(5, 16) * INCH),
    (2, "ft", 24 * INCH),
    (0.1, "in", Fraction(254, 100)),
    (-7, "thou", Fraction(-7, 1000) * INCH),
    (0, "mm", Fraction(0)),
]

REFUSED = [
    # what, words of the message that show the remedy
    ("1/0 in", "fraction over 0"),
    ("3' 6 1/0\"", "fraction over 0"),
    ("1 5/16 inches of mercury", "wanted mm, in, ft, thou; closest is in"),
    ("2.5 cm", "unknown unit 'cm': wanted mm, in, ft, thou; closest is mm"),
    ("5 thuo", "closest is thou"),
    ("5 furlongs", "unknown unit 'furlongs': wanted mm, in, ft, thou"),
    ("33,3 mm", "write a point"),
    ("1,250.5 mm", "write a point"),
    ("", "empty"),
    (" \u00a0\n", "empty"),
    ("nan", "not a finite length"),
    ("-inf", "not a finite length"),
    (math.nan, "not a finite length"),
    (-math.inf, "not a finite length"),
    (True, "True is not a length"),
    (None, "a NoneType is not a length"),
    (["5 thou"], "a list is not a length"),
    (10**400, "whole number of 1329 bits is too large"),
    ("1e400", "too large"),
    ("9" * 101, "too long"),
    ("1e999999999", "not a length"),
    ("3' 6", "no inch mark after the feet"),
    ("5/16 3", "not a length; write it like"),
    ("1/2/3", "not a length; write it like"),
    ("3 6 in", "not a length; write it like"),
    ("1 -5/16 in", "not a length; write it like"),
    ("3' -6\"", "not a length; write it like"),
    ("3ft.6in", "wanted mm, in, ft, thou"),
    ("3.5' 6\"", "not a length; write it like"),
    ("6\" 3'", "not a length; write it like"),
    ("½5 in", "not a length; write it like"),
    ("½½ in", "not a length; write it like"),
    ("5/½ in", "not a length; write it like"),
    ("1.5½ in", "not a length; write it like"),
    ("1.5 1/2 in", "not a length; write it like"),
    ("1.5/2 in", "not a length; write it like"),
    ("1_000 mm", "not a length; write it like"),
    ("--5 mm", "not a length; write it like"),
    ("٣ mm", "not a length; write it like"),
    ("in", "not a length; write it like"),
    ("-", "not a length; write it like"),
]


@pytest.mark.parametrize(("read", "unit", "mm"), READ)
def test_a_length_is_its_exact_fraction_rounded_once(read: str | float, unit: str, mm: Fraction) -> None:
    assert parse_length(read, unit) == float(mm)


@pytest.mark.parametrize(("read", "remedy"), REFUSED)
@pytest.mark.parametrize("unit", UNITS)
def test_what_is_no_length_is_refused_with_a_remedy(read: str | float, remedy: str, unit: str) -> None:
    with pytest.raises(LengthError) as refusal:
        parse_length(read, unit)
    assert remedy in str(refusal.value)
    assert len(str(refusal.value)) < 160


def test_a_number_that_python_will_not_print_is_refused() -> None:
    with pytest.raises(LengthError, match="a whole number of 16610 bits is too large"):
        parse_length(10**5000, "mm")


@pytest.mark.parametrize("unit", ["cm", "", "IN", "inch", None])
def test_a_file_unit_is_one_of_four(unit: str) -> None:
    with pytest.raises(LengthError, match=r"unknown unit .* wanted mm, in, ft, thou"):
        parse_length(1, unit)
    with pytest.raises(LengthError, match=r"unknown unit .* wanted mm, in, ft, thou"):
        format_length(1.0, unit)


@given(
    whole=st.integers(0, 999),
    part=st.integers(1, 128).flatmap(lambda bottom: st.tuples(st.integers(0, bottom - 1), st.just(bottom))),
    sign=st.sampled_from("-−+"),
)
def test_every_spelling_of_a_fraction_is_the_same_float(whole: int, part: tuple[int, int], sign: str) -> None:
    top, bottom = part  # beside a whole number a fraction is under one
    inches = (whole + Fraction(top, bottom)) * (1 if sign == "+" else -1)
    for join in (" ", "-", " - ", "\u00a0"):
        for mark in (" in", '"', "″", "”", "''"):
            assert parse_length(f"{sign}{whole}{join}{top}/{bottom}{mark}", "mm") == float(inches * INCH)


@given(st.decimals(-99999, 99999, places=6), st.sampled_from(list(UNITS)))
def test_a_number_and_the_same_digits_as_text_agree(number: object, unit: str) -> None:
    text = f"{number:f}"
    assert parse_length(float(text), unit) == parse_length(text, unit) == parse_length(f"{text} {unit}", "mm")


SHOP_TEXT = st.text(st.sampled_from("0123456789 ./-+'\"½⅞″′−\u00a0,einfthoum"), max_size=24)


@given(st.one_of(st.text(), SHOP_TEXT), st.sampled_from(list(UNITS)))
@example("0" * 50 + "/" + "9" * 49, "in")
def test_any_text_is_a_finite_length_or_refused(text: str, unit: str) -> None:
    try:
        mm = parse_length(text, unit)
    except LengthError:
        return
    assert type(mm) is float
    assert abs(mm) < math.inf


@given(st.floats() | st.integers(), st.sampled_from(list(UNITS)))
def test_any_number_is_a_finite_length_or_refused(number: float, unit: str) -> None:
    try:
        mm = parse_length(number, unit)
    except LengthError:
        assert not abs(number) < 1e300
    else:
        # 1e-300 mm: the smallest floats have fewer digits, so that the decimal read differs from them by more
        assert mm == pytest.approx(float(number) * float(UNITS[unit]), rel=1e-15, abs=1e-300)


@pytest.mark.parametrize("piece", ["1", "1 ", " ", "1/", "1-", "½", "'", "3' ", "in", "1e", "1.", "-", "é"])
def test_a_long_text_is_refused_at_once(piece: str) -> None:
    text = "1" + piece * (10_000 // len(piece)) + "!"
    begun = time.perf_counter()
    with pytest.raises(LengthError, match="too long"):
        parse_length(text, "in")
    assert time.perf_counter() - begun < 0.1


@pytest.mark.parametrize("piece", ["1", "1 ", " ", "1/", "1-", "½", "'", "3' ", "in", "1e", "1.", "1 - "])
def test_the_longest_text_that_is_looked_at_takes_no_time(piece: str) -> None:
    text = ("1" + piece * 100)[:99] + "!"
    begun = time.perf_counter()
    with pytest.raises(LengthError):
        parse_length(text, "in")
    assert time.perf_counter() - begun < 0.1


SHOWN = [
    # mm, unit, digits, fraction_of, shown
    (33.3375, "mm", None, None, "33.34 mm"),
    (0.125, "mm", None, None, "0.13 mm"),
    (-0.125, "mm", None, None, "-0.13 mm"),
    (-0.004, "mm", None, None, "0.00 mm"),
    (33.3, "mm", 0, None, "33 mm"),
    (33.3, "mm", 4, None, "33.3000 mm"),
    (33.3375, "in", None, None, "1.3125 in"),
    (0.127, "in", None, None, "0.005 in"),
    (25.4, "in", None, None, "1.000 in"),
    (25.4, "in", 4, None, "1.0000 in"),
    (0.127, "thou", None, None, "5 thou"),
    (-0.13, "thou", None, None, "-5.1 thou"),
    (1079.5, "ft", None, None, "3.54167 ft"),
    (914.4, "ft", None, None, "3.000 ft"),
    (33.3375, "in", None, 64, "1 5/16 in"),
    (-33.4, "in", None, 64, "-1 5/16 in"),
    (7.9375, "in", None, 64, "5/16 in"),
    (25.3, "in", None, 64, "1 in"),
    (-0.1, "in", None, 64, "0 in"),
    (1079.5, "ft", None, 64, "3' 6 1/2\""),
    (-1079.5, "ft", None, 64, "-3' 6 1/2\""),
    (914.3, "ft", None, 64, "3' 0\""),
    (12.7, "ft", None, 64, "0' 1/2\""),
]


@pytest.mark.parametrize(("mm", "unit", "digits", "fraction_of", "shown"), SHOWN)
def test_a_length_is_shown_as_the_shop_writes_it(
    mm: float, unit: str, digits: int | None, fraction_of: int | None, shown: str
) -> None:
    assert format_length(mm, unit, digits, fraction_of) == shown


@pytest.mark.parametrize(
    ("mm", "unit", "digits", "fraction_of"),
    [
        (math.nan, "mm", None, None),
        (math.inf, "in", None, 64),
        (1.0, "mm", -1, None),
        (1.0, "mm", 16, None),
        (1.0, "mm", None, 64),
        (1.0, "thou", None, 64),
        (1.0, "in", None, 0),
        (1.0, "in", None, 1025),
        (1.0, "in", 3, 64),
    ],
)
def test_a_form_that_a_unit_does_not_have_is_refused(
    mm: float, unit: str, digits: int | None, fraction_of: int | None
) -> None:
    with pytest.raises(LengthError):
        format_length(mm, unit, digits, fraction_of)


LENGTHS = st.floats(-1e5, 1e5, allow_nan=False)
LAST_PLACE = {"mm": Fraction(1, 100), "in": INCH / 10_000, "ft": 12 * INCH / 100_000, "thou": INCH / 10_000}


def assert_within(read: float, mm: float, half_step: Fraction) -> None:
    """Compare within half of the last place shown, and two roundings to float (each under 1e-11 mm here)."""
    assert abs(Fraction(read) - Fraction(mm)) <= half_step + Fraction(2, 10**11)


@given(LENGTHS, st.sampled_from(list(UNITS)), st.sampled_from(list(UNITS)))
def test_a_shown_length_reads_back_within_its_last_place(mm: float, unit: str, file_unit: str) -> None:
    assert_within(parse_length(format_length(mm, unit), file_unit), mm, LAST_PLACE[unit] / 2)


@given(LENGTHS, st.sampled_from(list(UNITS)), st.integers(0, 15))
def test_a_length_shown_to_given_digits_reads_back(mm: float, unit: str, digits: int) -> None:
    shown = format_length(mm, unit, digits)
    assert_within(parse_length(shown, "mm"), mm, UNITS[unit] / 10**digits / 2)


@given(LENGTHS, st.sampled_from(["in", "ft"]), st.integers(1, 1024))
def test_a_length_shown_as_a_fraction_reads_back(mm: float, unit: str, fraction_of: int) -> None:
    shown = format_length(mm, unit, fraction_of=fraction_of)
    assert_within(parse_length(shown, "mm"), mm, INCH / fraction_of / 2)


@given(st.integers(-(10**6), 10**6), st.sampled_from(["in", "ft"]))
def test_a_whole_number_of_sixty_fourths_is_shown_without_loss(count: int, unit: str) -> None:
    mm = float(count * INCH / 64)
    assert parse_length(format_length(mm, unit, fraction_of=64), "mm") == mm


def test_reading_back_can_fail() -> None:
    with pytest.raises(AssertionError):
        assert_within(parse_length(format_length(33.3375, "mm"), "mm"), 33.3275, LAST_PLACE["mm"] / 2)
