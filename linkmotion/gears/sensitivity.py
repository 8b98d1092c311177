"""Derivative of the valve to every dimension of a gear."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields, replace
from functools import cache
from typing import Any

import numpy as np

from linkmotion.gears import Gear
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.gears.reverser import Arm, DieHeld, ReverserPosition, Stop, figure
from linkmotion.linkage import Solution
from linkmotion.linkage.derivatives import Gradient, chain, gradient_along

STEP = 1e-30  # of the complex step: no difference is taken, so it can be as small as you like
_NAMES = {Arm: "arm angle", DieHeld: "die place", Stop: "stop angle"}
Key = tuple[str, str]


def numbers(gear: Gear) -> dict[Key, float]:
    """Every length and angle given for a gear that its linkage is made from, by (table, key); mm and degrees.

    Parameters
    ----------
    gear : Gear
        Of any kind; a key of a small table is told as ``"rocker.pivot_x"``.
    """
    return {(t.name, key): value for t in fields(gear) for key, value in _numbers(getattr(gear, t.name))}


def _numbers(table: Any) -> Iterator[tuple[str, float]]:
    for name, inner in _keys(type(table)):  # type: ignore[arg-type]
        value = getattr(table, name)
        if value is None:
            continue
        if inner:
            yield from ((f"{name}.{own}", number) for own, number in _numbers(value))
        else:
            yield name, value


def declared(gear: Gear, key: Key) -> Mapping[str, Any]:
    """What a key of a gear was declared to be: kind, meaning, and what follows from it (see gears.keys).

    Parameters
    ----------
    gear : Gear
        Of which only the tables' kinds are looked at.
    key : (table, key)
        As :func:`numbers` has them.
    """
    return _declared(type(getattr(gear, key[0])), key[1])  # type: ignore[arg-type]


@cache
def _declared(table: type[Any], key: str) -> Mapping[str, Any]:
    first, _, rest = key.partition(".")
    own = next(each.metadata for each in fields(table) if each.name == first)
    return _declared(own["table"], rest) if rest else own


def marked(gear: Gear, mark: str) -> dict[Key, Any]:
    """The given lengths and angles of a gear that were declared with a mark, by (table, key).

    Parameters
    ----------
    gear : Gear
        Of any kind.
    mark : str
        "rod", "frame", "slips", "pin", "slot", "hand" or "work": the result has what each key was given for it.
    """
    found = {key: declared(gear, key).get(mark) for key in numbers(gear)}
    return {key: own for key, own in found.items() if own}


@cache
def _keys(table: type[Any]) -> tuple[tuple[str, bool], ...]:
    """Keys of a table that are lengths, angles, or small tables of such (marked true)."""
    kinds = {key.name: key.metadata["kind"] for key in fields(table)}
    return tuple((name, kind == "table") for name, kind in kinds.items() if kind in ("length", "angle", "table"))


def with_numbers(gear: Gear, values: dict[Key, Any]) -> Gear:
    """The gear with some of its lengths and angles replaced.

    Parameters
    ----------
    gear : Gear
        Left as it is.
    values : dict
        By (table, key): numbers, or arrays of variants, mm and degrees.
    """
    tables: dict[str, dict[str, Any]] = {}
    for (table, key), value in values.items():
        tables.setdefault(table, {})[key] = value
    changed = {table: _with(getattr(gear, table), keys) for table, keys in tables.items()}
    return replace(gear, **changed)


def _with(table: Any, values: dict[str, Any]) -> Any:
    inner: dict[str, dict[str, Any]] = {}
    own = {}
    for key, value in values.items():
        first, _, rest = key.partition(".")
        if rest:
            inner.setdefault(first, {})[rest] = value
        else:
            own[key] = value
    return replace(table, **own, **{key: _with(getattr(table, key), each) for key, each in inner.items()})


def valve_derivatives(gear: Gear, setting: ReverserPosition, solution: Solution) -> dict[Key, Any]:
    """Derivative of the valve's displacement to every dimension, at every position solved.

    Parameters
    ----------
    gear, setting
        Of which the linkage was declared.
    solution : Solution
        Of that linkage.

    Returns
    -------
    dict
        (table, key) to array of shape ``solution.shape`` (or a number, where it is constant): mm per
        mm for lengths, mm per degree for angles. The reverser's own setting stands under
        ("reversing", "arm angle" or "stop angle") in mm per degree, or ("reversing", "die place") in mm
        per mm.
    """
    found = output_derivatives(gear, setting, gradient_along(solution, VALVE_GUIDE))
    found["valve", "central_at"] = -1.0
    return found


def output_derivatives(gear: Gear, setting: ReverserPosition, gradient: Gradient) -> dict[Key, Any]:
    """Derivative of any output to every dimension, at every position solved, by (table, key) as for the valve's.

    Parameters
    ----------
    gear, setting
        Of which the linkage was declared.
    gradient : Gradient
        Of the output, in the linkage as solved.
    """
    values = numbers(gear)
    count = len(values) + 1
    varied = {key: _vary(value, row, count) for row, (key, value) in enumerate(values.items())}
    turned = type(setting)(_vary(figure(setting), count - 1, count))
    linkage = with_numbers(gear, varied).declare(turned)
    found = chain(gradient, linkage, count, STEP)
    return dict(zip((*values, ("reversing", _NAMES[type(setting)])), found, strict=True))


def stepped(gear: Gear, keys: Sequence[Key]) -> Gear:
    """The gear with a complex step in each of D dimensions, so that all slopes come together.

    Parameters
    ----------
    gear : Gear
        With numbers for dimensions.
    keys : sequence of D (table, key)
        Those that the gear does not have change nothing.

    Returns
    -------
    Gear
        Dimensions that step have the shape (D,), ``1j * STEP`` added in their own row.
    """
    given, count = numbers(gear), len(keys)
    return with_numbers(gear, {key: _vary(given[key], row, count) for row, key in enumerate(keys) if key in given})


def _vary(value: Any, row: int, count: int) -> Any:
    """The value in a last axis of ``count``, with the complex step in its own row."""
    value = np.asarray(value)
    varied = np.empty((*value.shape, count), complex)
    varied[:] = value[..., None]
    varied[..., row] += 1j * STEP
    return varied
