"""Pressures and speeds as they are written in a shop.

=========  =====================================  ==========================================
quantity   kept as                                written
=========  =====================================  ==========================================
pressure   bar                                    ``160 psi``, ``11 bar``, ``1100 kPa``, ``11 kgf/cm2``
speed      rev/min, or metres a second            ``120 rpm``, ``15 mph``, ``25 km/h``
=========  =====================================  ==========================================
"""

from __future__ import annotations

import math
import re

from linkmotion.files.lengths import LengthError
from linkmotion.files.source import shown

PRESSURES = {"bar": 1.0, "psi": 0.06894757293168, "kPa": 0.01, "kgf/cm2": 0.980665}
"""Bar in each unit of pressure."""
SPEEDS = {"rpm": 1.0, "mph": 0.44704, "km/h": 1 / 3.6}
"""Metres a second in each unit of speed; of rpm, revolutions a minute."""
POUND_FOOT = 0.3048 * 4.4482216152605
"""Newton metres in a pound-force foot."""
HORSEPOWER = 33_000 * POUND_FOOT / 60
"""Watts in a horsepower: 33,000 foot-pounds a minute."""
_DECIMALS = {"bar": 2, "psi": 1, "kPa": 0, "kgf/cm2": 2}
_SPELLINGS = {
    "lb": "psi", "lbs": "psi", "lbf/in2": "psi", "lb/in2": "psi", "lb/sqin": "psi", "kpa": "kPa", "kg/cm2": "kgf/cm2",
    "kmh": "km/h", "kph": "km/h", "rev/min": "rpm", "r/min": "rpm",
}  # fmt: skip
_MEASURED = re.compile(r"([+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+))\s*([^\s0-9.][^\s]*(?:\s?in\.?)?)?")


def usual_pressure(length_unit: str) -> str:
    """Unit in which a shop that measures lengths so reads its pressure gauge: "bar" or "psi".

    Parameters
    ----------
    length_unit : str
        "mm", "in", "ft" or "thou".
    """
    return "bar" if length_unit == "mm" else "psi"


def parse_pressure(value: str | float, unit: str) -> float:
    """A pressure in bar.

    Parameters
    ----------
    value, unit : str or float, str
        As written; the unit of a bare number.

    Raises
    ------
    LengthError
        Saying what was read and what is wanted.

    Examples
    --------
    >>> round(parse_pressure("145 psi", "bar"), 3), parse_pressure(10, "bar")
    (9.997, 10.0)
    """
    amount, written = _read(value, unit, PRESSURES, "a pressure", "160 psi, 11 bar or 1100 kPa")
    return amount * PRESSURES[written]


def format_pressure(bar: float, unit: str) -> str:
    """A pressure in a unit, without its name.

    Parameters
    ----------
    bar, unit : float, str
        One of :data:`PRESSURES`.

    Examples
    --------
    >>> format_pressure(10.0, "bar"), format_pressure(10.0, "psi"), format_pressure(-0.2, "kPa")
    ('10.00', '145.0', '-20')
    """
    return f"{bar / PRESSURES[unit]:.{_DECIMALS[unit]}f}"


def parse_speed(value: str | float) -> tuple[float, str]:
    """A speed as (rev/min, "rpm") or (metres a second, its unit).

    Parameters
    ----------
    value : str or float
        As written; a bare number is revolutions a minute.

    Raises
    ------
    LengthError
        Saying what was read and what is wanted.

    Examples
    --------
    >>> parse_speed("36 km/h"), parse_speed(120)
    ((10.0, 'km/h'), (120.0, 'rpm'))
    """
    amount, written = _read(value, "rpm", SPEEDS, "a speed", "120 rpm, 15 mph or 25 km/h")
    if amount <= 0:
        raise LengthError(f"read {shown(value)}; a speed of more than nothing is wanted")
    return amount * SPEEDS[written], written


def _read(value: str | float, unit: str, known: dict[str, float], what: str, forms: str) -> tuple[float, str]:
    if isinstance(value, int | float) and not isinstance(value, bool):
        if not math.isfinite(value):
            raise LengthError(f"read {shown(value)}; {what} is wanted, such as {forms}")
        return float(value), unit
    found = _MEASURED.fullmatch(value.strip().replace("²", "2")) if isinstance(value, str) and len(value) < 60 else None
    written = re.sub(r"[\s.]", "", (found[2] or unit)).replace("sqin", "in2") if found else ""
    named = {name.lower(): name for name in known} | _SPELLINGS
    name = named.get(written.lower(), "")
    if found is None or name not in known:
        raise LengthError(f"read {shown(value)}; {what} is wanted, such as {forms}")
    return float(found[1]), name
