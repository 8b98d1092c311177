"""Dimensions by their key in an engine file, and changes to them as the shop writes them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import numpy as np

from linkmotion.face.names import known
from linkmotion.files.lengths import UNITS, LengthError, parse_length
from linkmotion.gears import Gear
from linkmotion.gears.sensitivity import Key, declared, numbers
from linkmotion.wear.effects import pins_of

Change = str | float
_BOTH_WAYS = re.compile(r"\s*(?:±|\+/-|\+-)\s*(.+)", re.DOTALL)


def key_of(gear: Gear, name: object) -> Key:
    """The (table, key) of a dimension.

    Parameters
    ----------
    gear : Gear
        Whose dimension it is.
    name : str
        As in an engine file, such as ``"eccentric_rod.length"``.

    Raises
    ------
    UnknownName
        The gear has no such dimension, or gives no figure for it.
    """
    spelt = {".".join(key): key for key in numbers(gear)}
    return spelt[known("dimension", name, spelt)]


def is_angle(gear: Gear, key: Key) -> bool:
    """Whether a dimension is an angle, degrees; else it is a length.

    Parameters
    ----------
    gear, key : Gear, (table, key)
        One of the gear's own.
    """
    return bool(declared(gear, key)["kind"] == "angle")


def _size_of(gear: Gear, key: Key, value: Change, unit: str) -> float:
    """A length (mm) or an angle (degrees) as written.

    Parameters
    ----------
    gear, key : Gear, (table, key)
        What it is the size of.
    value : str or number
        ``"1 5/16 in"``; a bare number is in the file's unit, or degrees.
    unit : str
        The file's.

    Raises
    ------
    TypeError, ValueError
        It is neither text nor number; it cannot be read.
    """
    if isinstance(value, bool) or not isinstance(value, str | int | float | np.floating | np.integer):
        raise TypeError(f"{'.'.join(key)}: read {value!r}; give a number, or a text such as '1 5/16 in'")
    if is_angle(gear, key):
        try:
            found = float(str(value).replace("°", "").replace("−", "-"))
        except ValueError:
            raise ValueError(f"{'.'.join(key)}: read {value!r}; an angle is a number of degrees") from None
    else:
        try:
            found = parse_length(value if isinstance(value, str) else float(value), unit)
        except LengthError as error:
            raise ValueError(f"{'.'.join(key)}: {error}") from None
    if not np.isfinite(found):
        raise ValueError(f"{'.'.join(key)}: read {value!r}; a figure is wanted")
    return found


def changed(gear: Gear, changes: Mapping[str, Change], unit: str) -> dict[Key, float]:
    """New figures by key, mm and degrees, from changes as written.

    A text with a sign before it is that much more or less (``"+1/16 in"``, ``"-0.5"``); a number, or a text without a
    sign, is the new figure.

    Parameters
    ----------
    gear : Gear
        With the figures to be changed.
    changes : dict
        Dimension, as in an engine file, to change.
    unit : str
        Of bare lengths.

    Raises
    ------
    UnknownName
        No such dimension.
    ValueError
        A figure that cannot be read, or a negative one where the key takes none.
    """
    given, found = numbers(gear), {}
    for name, value in changes.items():
        key = key_of(gear, name)
        size = _size_of(gear, key, value, unit)
        signed = isinstance(value, str) and value.strip()[:1] in tuple("+-−")
        found[key] = float(given[key]) + size if signed else size
        kind = declared(gear, key)
        if not (kind["signed"] or found[key] > 0 or (kind["zero"] and found[key] == 0)):
            raise ValueError(f"{name}: {found[key]:.6g} mm; {kind['meaning']}: more than nothing is wanted")
    return found


def spread_over(gear: Gear, key: Key, reach: Any, steps: int, unit: str) -> Any:
    """Departures from a dimension's figure, mm or degrees, shape (steps,) or one for each that is given.

    Parameters
    ----------
    gear, key : Gear, (table, key)
        One of the gear's own.
    reach : str or sequence
        Such as ``"±1/8 in"``; or the departures themselves, as written.
    steps : int
        How many, evenly, of a reach either way.
    unit : str
        Of bare lengths.

    Raises
    ------
    ValueError
        It cannot be read.
    """
    if isinstance(reach, str):
        if (both := _BOTH_WAYS.fullmatch(reach)) is None:
            raise ValueError(f"read {reach!r}; how far either way is wanted, such as '±1/8 in'")
        size = abs(_size_of(gear, key, both[1], unit))
        return np.linspace(-size, size, steps)
    return np.array([_size_of(gear, key, value, unit) for value in reach])


def in_file_unit(gear: Gear, key: Key, value: Any, unit: str) -> Any:
    """A length in the engine file's unit (an angle as it is).

    Parameters
    ----------
    gear, key : Gear, (table, key)
        What it is the figure of.
    value : float or array
        mm or degrees.
    unit : str
        The file's.
    """
    return value if is_angle(gear, key) else value / float(UNITS[unit])


def figure_of(gear: Gear, name: str, unit: str) -> float:
    """A dimension's figure, in the engine file's unit or in degrees.

    Parameters
    ----------
    gear, name
        As for :func:`key_of`.
    unit : str
        The file's.

    Raises
    ------
    UnknownName
        No such dimension.
    """
    key = key_of(gear, name)
    return float(in_file_unit(gear, key, numbers(gear)[key], unit))


def length_of(what: str, value: Change, unit: str) -> float:
    """A length as written, mm.

    Parameters
    ----------
    what : str
        It is of, for the message where it cannot be read.
    value : str or float
        ``"1 5/16 in"``, or a number.
    unit : str
        Of a bare number.

    Raises
    ------
    ValueError
        It cannot be read.
    """
    try:
        return float(parse_length(value if isinstance(value, str) else float(value), unit))
    except LengthError as error:
        raise ValueError(f"{what}: {error}") from None


def clearances(gear: Gear, given: Change | Mapping[str, Change], unit: str) -> dict[str, float]:
    """Diametral clearances by pin, mm.

    Parameters
    ----------
    gear : Gear
        Whose pins they are at.
    given : str, float or dict
        One for every pin that can have any, or pin to clearance; as written.
    unit : str
        Of bare numbers.

    Raises
    ------
    UnknownName
        No such pin.
    ValueError
        A clearance that cannot be read, or less than nothing.
    """
    pins = pins_of(gear)
    named = given if isinstance(given, Mapping) else dict.fromkeys(pins, given)
    found = {known("pin", pin, pins): length_of(f"clearance at the {pin}", own, unit) for pin, own in named.items()}
    for pin, size in found.items():
        if not 0 <= size < np.inf:
            raise ValueError(f"clearance at the {pin}: {size:g} mm; nothing or more is wanted")
    return found


def dimension_rows(gear: Gear, unit: str) -> list[dict[str, Any]]:
    """Every given length and angle, with its meaning.

    Parameters
    ----------
    gear : Gear
        Whose.
    unit : str
        Of the lengths in the rows.
    """
    return [
        {
            "dimension": ".".join(key),
            "figure": float(in_file_unit(gear, key, value, unit)),
            "unit": "degrees" if is_angle(gear, key) else unit,
            "meaning": declared(gear, key)["meaning"],
        }
        for key, value in numbers(gear).items()
    ]
