"""Tolerances as written in a [tolerances] table laid out like the drawing's."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from difflib import get_close_matches
from typing import Any

import numpy as np

from linkmotion.gears import Gear, ReverserPosition
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.figures.dimensions import LAPS, dimensions_of, lap_keys
from linkmotion.studies.figures.play import CLEARANCE, clearable
from linkmotion.studies.tolerances.tolerance import (
    DISTRIBUTIONS,
    GENERAL,
    GENERAL_ANGLE,
    Distribution,
    Tolerance,
    ToleranceError,
    general_tolerances,
    kind_of,
)  # fmt: skip

_Leaf = tuple[tuple[str, ...], Any]
_RULES = ("general", "general_angle", "general_clearance", "distribution")


def tolerances_from(
    tables: Mapping[str, Any], gear: Gear, setting: ReverserPosition, length: Callable[[Any], float] = float
) -> dict[Key, Tolerance]:
    """Tolerances from nested tables written like the drawing's.

    Parameters
    ----------
    tables : mapping
        ``general`` and ``general_angle``, the rule for whatever is not named (:data:`GENERAL` and
        :data:`GENERAL_ANGLE` unless given; 0 for none); ``distribution`` of all; and tables such as
        ``{"eccentric_rod": {"length": 0.4}}``. A figure is a half-width, or ``{"within": 0.4,
        "distribution": "uniform"}``; 0 means exact. A lap's is that of each end where the gear has one for each, but
        for an end named by itself. ``reversing.arm_angle`` (or ``die_place``) is the
        reverser's own. ``clearance`` holds the greatest clearance at each pin, ``{"foot": 0.1}``, made anywhere from
        nothing to that; ``general_clearance`` that of every joint not named (none unless given).
    gear, setting
        Whose dimensions they are.
    length : callable
        Reads a length as written, to mm.

    Raises
    ------
    ToleranceError
        An unknown key, or a figure that is no tolerance.
    """
    shape = _distribution(tables, ("distribution",))
    rule = {
        "length": _figure(tables["general"], ("general",), length) if "general" in tables else GENERAL,
        "angle": _figure(tables.get("general_angle", GENERAL_ANGLE), ("general_angle",), _number),
    }
    found = general_tolerances(gear, setting, rule["length"], rule["angle"], shape)
    loose = [(CLEARANCE, joint) for joint in clearable(gear)]
    known = {_spelt(key): key for key in (*dimensions_of(gear, setting), *loose)}
    slack = _figure(tables.get("general_clearance", 0.0), ("general_clearance",), length)
    found |= {key: Tolerance(slack, shape, from_nothing=True) for key in loose}
    for path, value in _by_end(list(_leaves(tables)), known):
        spelt = (path[0], *(part.replace(" ", "_") for part in path[1:]))
        if spelt not in known:
            raise _unknown(path, known)
        key = known[spelt]
        own = value if isinstance(value, Mapping) else {"within": value}
        read = length if kind_of(gear, key) == "length" else _number
        within = _figure(own["within"], path, read)
        found[key] = Tolerance(within, _distribution(own, path, shape), from_nothing=key[0] == CLEARANCE)
    order = (*dimensions_of(gear, setting), *loose)
    return {key: found[key] for key in order if key in found and found[key].within > 0}


def _by_end(leaves: list[_Leaf], known: Mapping[tuple[str, ...], Key]) -> list[_Leaf]:
    """A lap's tolerance given to each end where the gear has one for each; what names an end by itself comes later."""
    found: list[_Leaf] = []
    for path, value in leaves:
        ends = lap_keys(path[1]) if path[0] == "valve" and path[1:] in {(lap,) for lap in LAPS} else ()
        if ends and path not in known and set(ends) <= set(known):
            found = [*((end, value) for end in ends), *found]
        else:
            found.append((path, value))
    return found


def _unknown(path: tuple[str, ...], known: Mapping[tuple[str, ...], Key]) -> ToleranceError:
    for lap in LAPS:
        if path in lap_keys(lap) and ("valve", lap) in known:
            told = f"this gear's drawing gives one {lap} for both ends"
            return ToleranceError(
                path, told, f"write {lap}: where a state gives a lap for each end, it is that of each"
            )
    names = {".".join(spelt): spelt for spelt in known}
    close = get_close_matches(".".join(path), names, n=1, cutoff=0.6)
    told = f"did you mean {close[0]!r}?" if close else "name a table and a length or angle of the drawing"
    return ToleranceError(path, "this gear's drawing has no such length or angle", told)


def _leaves(tables: Mapping[str, Any]) -> Iterator[tuple[tuple[str, ...], Any]]:
    for name, value in tables.items():
        if name in _RULES:
            continue
        if not isinstance(value, Mapping):
            raise ToleranceError((name,), "this is no table of the drawing", "write [tolerances.TABLE] and its keys")
        yield from _below((name,), value)


def _below(path: tuple[str, ...], table: Mapping[str, Any]) -> Iterator[tuple[tuple[str, ...], Any]]:
    for name, value in table.items():
        if isinstance(value, Mapping) and "within" not in value:
            yield from _below((*path, name), value)
        else:
            yield (*path, name), value


def _spelt(key: Key) -> tuple[str, ...]:
    """A dimension's key as a file spells it."""
    return (key[0], *key[1].replace(" ", "_").split("."))


def _figure(value: Any, path: tuple[str, ...], read: Callable[[Any], float]) -> float:
    try:
        if isinstance(value, bool):
            raise ValueError
        figure = read(value)
    except (TypeError, ValueError) as error:
        remedy = "give the half-width: a figure of 0.2 means ± 0.2"
        raise ToleranceError(path, str(error) or f"read {value!r}", remedy) from None
    if not (np.isfinite(figure) and figure >= 0):
        raise ToleranceError(path, f"read {value!r}", "a tolerance is 0 or more, and finite")
    return figure


def _number(value: Any) -> float:
    if isinstance(value, str | list | Mapping):
        raise ValueError(f"read {value!r}: a plain number is wanted" if isinstance(value, str) else "")
    return float(value)


def _distribution(table: Mapping[str, Any], path: tuple[str, ...], default: Distribution = "normal") -> Distribution:
    read = table.get("distribution", default)
    if read not in DISTRIBUTIONS:
        raise ToleranceError(path, f"read distribution {read!r}", f"wanted: {' or '.join(DISTRIBUTIONS)}")
    return read  # type: ignore[no-any-return]
