"""Shop lengths: what a fitter writes in a book or a file, to millimetres and back.

======  ==========  =====================================================
unit    millimetre  written
======  ==========  =====================================================
mm      1           ``33.3 mm``
in      25.4        ``0.005 in``, ``1 5/16 in``, ``1-5/16"``, ``1½"``
ft      304.8       ``3 ft``, ``3' 6 1/2"``, ``3 ft 6 1/2 in``
thou    0.0254      ``5 thou``
======  ==========  =====================================================

A number without a unit takes the unit of its file; so does a fraction in a file of inches or feet (in
millimetres nobody means one, so it is refused there). A leading sign holds for the whole
length. Values stay exact fractions until the last step: ``1 5/16 in`` and ``1.3125 in`` are one float.
"""

import math
import re
from difflib import get_close_matches
from fractions import Fraction

UNITS = {"mm": Fraction(1), "in": Fraction(254, 10), "ft": Fraction(3048, 10), "thou": Fraction(254, 10_000)}
"""Millimetres in each unit that a file may be written in."""
UNIT_NAMES = {"mm": "millimetres", "in": "inches", "ft": "feet", "thou": "thou"}

UNIT_SPELLINGS = {
    "mm": "mm",
    "in": "in", "in.": "in", "inch": "in", "inches": "in", '"': "in",
    "ft": "ft", "ft.": "ft", "foot": "ft", "feet": "ft", "'": "ft",
    "thou": "thou",
}  # fmt: skip
_DECIMALS = {"mm": (2, 2), "in": (3, 4), "ft": (3, 5), "thou": (0, 1)}  # fewest and most shown

# No shop length needs more; the limits keep every text and number cheap.
_LONGEST, _MOST_DIGITS, _FINEST_FRACTION = 100, 15, 1024
_WANTED = "write it like 33.3 mm, 1 5/16 in, 3' 6 1/2\" or 5 thou"

_PLAIN = str.maketrans(
    {"″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "‘": "'", "⁄": "/"} | dict.fromkeys("−‐‑–", "-")
)
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
# A digit straight after would run into the denominator (½5 is not 1/25): such a sign is left, and refused.
_VULGAR_SIGN = re.compile(rf"([0-9]\s*)?([{''.join(_VULGAR)}])(?![0-9])")

# A hyphen joins (1-5/16) when spaced alike on both sides; in `1 -5/16` it would look like a minus.
_HYPHEN = r"\s+-\s+|-"
_NUMBER = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:e[+-]?[0-9]{1,3})?"
AMOUNT = rf"(?:[0-9]+(?:{_HYPHEN}|\s+))?[0-9]+\s*/\s*[0-9]+|{_NUMBER}"
_MIXED = re.compile(rf"(?:(?P<whole>[0-9]+)(?:{_HYPHEN}|\s+))?(?P<top>[0-9]+)\s*/\s*(?P<bottom>[0-9]+)")
_SINGLE = re.compile(rf"(?P<amount>{AMOUNT})\s*(?P<unit>['\"]|[^\W\d_].*)?", re.DOTALL)
_FEET_INCHES = re.compile(
    rf"(?P<feet>[0-9]+)\s*(?:'|feet|foot|ft(?!\.[0-9])\.?)(?:{_HYPHEN}|\s*)"
    rf"(?P<inches>{AMOUNT})\s*(?P<mark>\"|inches|inch|in\.?)?"
)
COMMA = re.compile(r"[0-9],|,[0-9]")


class LengthError(ValueError):
    """A length, or a unit of length, that cannot be read or shown."""


def parse_length(text_or_number: str | float, unit: str) -> float:
    r"""Read a shop length.

    Parameters
    ----------
    text_or_number
        A number, or text in one of the forms at the head of this module.
    unit
        Unit of the file: "mm", "in", "ft" or "thou". It is taken by whatever has no unit of its own.

    Returns
    -------
    float
        The length in millimetres, rounded once, always finite.

    Raises
    ------
    LengthError
        Saying what was read and what is wanted. No text raises anything else.

    Examples
    --------
    >>> parse_length("1 5/16 in", "mm")
    33.3375
    >>> parse_length(1.3125, "in") == parse_length('1-5/16"', "mm") == parse_length("1 5/16", "in")
    True
    >>> parse_length("-3' 6 1/2\"", "mm")
    -1079.5
    >>> parse_length("5 thou", "mm")
    0.127
    >>> parse_length("33,3 mm", "mm")
    Traceback (most recent call last):
    ...
    linkmotion.files.lengths.LengthError: '33,3 mm' has a comma: write a point for decimals
    """
    try:
        return float(exact_length(text_or_number, unit))
    except OverflowError:
        raise LengthError(f"{_shown(text_or_number)} is too large for a length; {_WANTED}") from None


def exact_length(text_or_number: str | float, unit: str) -> Fraction:
    """The same in exact millimetres."""
    scale = _scale(unit)
    if isinstance(text_or_number, str):
        return _read_text(text_or_number, scale)
    return _exact(text_or_number) * scale


def format_length(mm: float, unit: str, digits: int | None = None, fraction_of: int | None = None) -> str:
    r"""Show a length in a file's unit, in a form that `parse_length` reads.

    Halves are rounded away from zero. A length that rounds to zero has no sign.

    Parameters
    ----------
    mm
        The length in millimetres.
    unit
        "mm", "in", "ft" or "thou".
    digits
        Decimals to show, 0 to 15. Unless given: mm 2; in 3, or 4 where the fourth is not 0; ft 3 to 5;
        thou none, or 1 where it is not 0.
    fraction_of
        Show inches, or feet and inches, to the nearest 1/fraction_of inch in lowest terms.

    Raises
    ------
    LengthError
        For an unknown unit, a length that is not finite, or a form that the unit does not have.

    Examples
    --------
    >>> format_length(33.3375, "mm"), format_length(33.3375, "in"), format_length(0.127, "thou")
    ('33.34 mm', '1.3125 in', '5 thou')
    >>> format_length(-33.4, "in", fraction_of=64)
    '-1 5/16 in'
    >>> format_length(1079.5, "ft", fraction_of=64)
    '3\' 6 1/2"'
    """
    scale = _scale(unit)
    exact = _exact(mm)
    if fraction_of is None:
        fewest, most = _DECIMALS[unit] if digits is None else (digits, digits)
        if not 0 <= most <= _MOST_DIGITS:
            raise LengthError(f"digits is {most}: wanted 0 to {_MOST_DIGITS}")
        rounded = _nearest(abs(exact) / scale, 10**most)
        shown = f"{_decimal(rounded, fewest, most)} {unit}"
    else:
        if digits is not None or unit not in ("in", "ft") or not 1 <= fraction_of <= _FINEST_FRACTION:
            raise LengthError(
                f"no fractions with unit {unit!r}, digits {digits} and fraction_of {fraction_of}: "
                f"wanted in or ft, no digits, fraction_of 1 to {_FINEST_FRACTION}"
            )
        rounded = _nearest(abs(exact) / UNITS["in"], fraction_of)
        feet, inches = divmod(rounded, 12)
        shown = f"{feet}' {_mixed(inches)}\"" if unit == "ft" else f"{_mixed(rounded)} in"
    return f"-{shown}" if exact < 0 and rounded else shown


def _scale(unit: str) -> Fraction:
    if not isinstance(unit, str) or unit not in UNITS:
        raise LengthError(_unknown_unit(unit))
    return UNITS[unit]


def _unknown_unit(unit: object) -> str:
    near = get_close_matches(str(unit).lower(), UNIT_SPELLINGS, n=1, cutoff=0.45)
    closest = f"; closest is {UNIT_SPELLINGS[near[0]]}" if near else ""
    return f"unknown unit {_shown(unit)}: wanted {', '.join(UNITS)}{closest}"


def _shown(read: object) -> str:
    """Spell what was read, for a message: short whatever it is."""
    if isinstance(read, int) and read.bit_length() > 128:
        return f"a whole number of {read.bit_length()} bits"  # Python refuses to print the largest
    if isinstance(read, str):
        return repr(read if len(read) <= 40 else read[:40] + "…")
    return repr(read) if isinstance(read, int | float) else f"a {type(read).__name__}"


def _exact(number: float) -> Fraction:
    """Give the decimal as it was written: 0.1 in a file means one tenth, not the nearest binary fraction."""
    if isinstance(number, bool) or not isinstance(number, int | float):
        raise LengthError(f"{_shown(number)} is not a length; {_WANTED}")
    if isinstance(number, int):
        return Fraction(number)
    if not math.isfinite(number):
        raise LengthError(f"{number} is not a finite length; {_WANTED}")
    return Fraction(repr(float(number)))


def _read_text(text: str, file_scale: Fraction) -> Fraction:
    """Give the exact millimetres of a text."""
    read = text.strip()
    if not read:
        raise LengthError(f"an empty text is not a length; {_WANTED}")
    if len(read) > _LONGEST:
        raise LengthError(f"{_shown(read)} is too long ({len(read)} characters) for a length; {_WANTED}")
    if COMMA.search(read):
        raise LengthError(f"{_shown(read)} has a comma: write a point for decimals")
    plain = typed(read)
    size = plain[1:].lstrip() if plain[0] in "+-" else plain
    if size in ("nan", "inf", "infinity"):
        raise LengthError(f"{_shown(read)} is not a finite length; {_WANTED}")
    try:
        mm = _read_size(read, size, file_scale)
    except ZeroDivisionError:
        raise LengthError(f"{_shown(read)} has a fraction over 0; {_WANTED}") from None
    return -mm if plain[0] == "-" else mm


def typed(read: str) -> str:
    """Turn typographic signs to typed ones, and all to lower case."""
    typed = _VULGAR_SIGN.sub(lambda m: f"{m[1].rstrip()} {_VULGAR[m[2]]}" if m[1] else _VULGAR[m[2]], read)
    return typed.translate(_PLAIN).replace("''", '"').lower()


def _read_size(read: str, size: str, file_scale: Fraction) -> Fraction:
    """Give the exact millimetres of a text without its sign; `read` is the whole text, for messages."""
    if both := _FEET_INCHES.fullmatch(size):
        if both["mark"] is None:
            raise LengthError(f"{_shown(read)} has no inch mark after the feet; {_WANTED}")
        return int(both["feet"]) * UNITS["ft"] + exact_amount(both["inches"]) * UNITS["in"]
    single = _SINGLE.fullmatch(size)
    if single is None:
        raise LengthError(f"{_shown(read)} is not a length; {_WANTED}")
    if single["unit"] is None:
        if "/" in single["amount"] and file_scale not in (UNITS["in"], UNITS["ft"]):
            raise LengthError(f"{_shown(read)} is a fraction of what? say its unit, such as {read} in")
        return exact_amount(single["amount"]) * file_scale
    if single["unit"] not in UNIT_SPELLINGS:
        raise LengthError(f"{_shown(read)} is not a length: {_unknown_unit(single['unit'])}")
    return exact_amount(single["amount"]) * UNITS[UNIT_SPELLINGS[single["unit"]]]


def exact_amount(amount: str) -> Fraction:
    """A whole number with a fraction, a fraction, or a decimal; no fraction of one or more beside a whole number."""
    if mixed := _MIXED.fullmatch(amount):
        if mixed["whole"] and int(mixed["top"]) >= int(mixed["bottom"]) > 0:
            raise LengthError(
                f"{_shown(amount)}: is {mixed['top']}/{mixed['bottom']} right? beside a whole number it is under one"
            )
        return int(mixed["whole"] or 0) + Fraction(int(mixed["top"]), int(mixed["bottom"]))
    return Fraction(amount)


def _nearest(size: Fraction, parts: int) -> Fraction:
    """Round a size, zero or more, to the nearest 1/parts, halves up."""
    return Fraction(math.floor(size * parts + Fraction(1, 2)), parts)


def _decimal(size: Fraction, fewest: int, most: int) -> str:
    whole, rest = divmod(int(size * 10**most), 10**most)
    decimals = f"{rest:0{most}d}" if most else ""
    decimals = decimals[:fewest] + decimals[fewest:].rstrip("0")
    return f"{whole}.{decimals}" if decimals else f"{whole}"


def _mixed(size: Fraction) -> str:
    whole, part = divmod(size, 1)
    return f"{whole} {part}" if whole and part else f"{whole or part}"
