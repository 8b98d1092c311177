"""An engine file with one more state: every dimension as reconciled, its doubt, and a remark on where it is from."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from linkmotion.engine import DRAWING, Engine
from linkmotion.files.lengths import UNITS
from linkmotion.studies.figures.dimensions import LAPS, REVERSER, lap_keys
from linkmotion.studies.figures.figure import MM
from linkmotion.studies.reconciling.reconciled import DRAWN, PART, RULE, Reconciled, Reconciliation

_DIGITS = {"mm": 3, "in": 4, "ft": 5, "thou": 1}
_ANGLE = 3


def as_measured_text(engine: Engine, state: str, found: Iterable[Reconciliation], of: str) -> str:
    """The text of an engine's file with a state added at its end; what stands there already stays to the letter.

    Parameters
    ----------
    engine : Engine
        As read.
    state : str
        Name of the new state.
    found : iterable of Reconciliation
        A side each; what rests on the drawing alone is not written, since it stands there.
    of : str
        What it was reconciled from, for the state's note.
    """
    import tomlkit

    document = tomlkit.document()
    states: Any = document.setdefault("state", tomlkit.table(is_super_table=True))
    added: Any = tomlkit.table()
    sides = list(found)
    if sides[0].state != DRAWING:
        added["based_on"] = sides[0].state
    added["note"] = f"Reconciled from {of}; what is not here is as in the drawing."
    for side in sides:
        own: Any = tomlkit.table(is_super_table=True)
        for each in _written(side):
            _put(own, each, engine.unit)
        if own:
            added[side.side] = own
    states[state] = added
    text = engine.text if engine.text.endswith("\n") else f"{engine.text}\n"
    return f"{text}\n{tomlkit.dumps(document)}"


def _written(found: Reconciliation) -> list[Reconciled]:
    """Dimensions that are more than the drawing's; a lap of one end brings the other's along."""
    keys = {own.key for own in found.dimensions if own.origin not in (DRAWN, RULE) and own.key not in REVERSER.values()}
    for lap in LAPS:
        if keys & set(lap_keys(lap)):
            keys |= set(lap_keys(lap))
    return [own for own in found.dimensions if own.key in keys]


def _put(tables: Any, own: Reconciled, unit: str) -> None:
    import tomlkit

    table, where = (own.key[0], *own.key[1].split(".")[:-1]), tables
    for name in table:
        if name not in where:
            where[name] = tomlkit.table()
        where = where[name]
    item = tomlkit.item(_figure(own, unit))
    item.comment(_from(own, unit))
    where[own.key[1].split(".")[-1]] = item


def _figure(own: Reconciled, unit: str) -> str:
    value, doubt = _number(own.value, own.unit, unit), _number(own.doubt, own.unit, unit, up=True)
    return f"{value} ± {doubt} {unit}" if own.unit == MM else f"{value} ± {doubt}"


def _number(value: float, kind: str, unit: str, up: bool = False) -> str:
    """In the file's unit; a doubt rounded up, and never to nothing."""
    digits = _DIGITS[unit] if kind == MM else _ANGLE
    size = value / float(UNITS[unit]) if kind == MM else value
    if up:
        size = max(math.ceil(size * 10**digits - 1e-6), 1) / 10**digits
    return f"{size:.{digits}f}"


def _from(own: Reconciled, unit: str) -> str:
    """Where a figure comes from."""
    told = [own.origin.removeprefix("measured and ")] if own.origin != PART else []
    if own.measured is not None and own.measured_doubt is not None:
        doubt = _number(own.measured_doubt, own.unit, unit, up=True)
        told.insert(0, f"measured {_number(own.measured, own.unit, unit)} ± {doubt}")
    if own.drawn is not None:
        told.append(f"drawing {_number(own.drawn, own.unit, unit)}")
    return "; ".join(told)
