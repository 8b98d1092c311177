"""An engine file with one more state: its figures as scaled off an image, each with its doubt."""

from __future__ import annotations

import math
from typing import Any

from linkmotion.engine import DRAWING, Engine
from linkmotion.files.lengths import UNITS
from linkmotion.measuring.taken import MM
from linkmotion.studies.scaled_off import ScaledFigure, ScaledOff

_TWO = 2  # digits of a doubt


def picked_state_text(engine: Engine, state: str, found: ScaledOff, side: str, of: str, based_on: str = DRAWING) -> str:
    """The text of an engine's file with the state added at its end; what stands there already stays to the letter.

    Parameters
    ----------
    engine, state : Engine, str
        As read; name of the new state.
    found, side : ScaledOff, str
        What the image says; "both", "left" or "right".
    of, based_on : str
        Where the points are kept, for the state's note; the state from which the new one starts.
    """
    import tomlkit

    document = tomlkit.document()
    states: Any = document.setdefault("state", tomlkit.table(is_super_table=True))
    added: Any = tomlkit.table()
    if based_on != DRAWING:
        added["based_on"] = based_on
    added["note"] = f"Scaled off {of}; what is not here is as in the {based_on}. Doubts share the scale's."
    own: Any = tomlkit.table(is_super_table=True)
    for figure in found.figures:
        _put(own, figure, engine.unit)
    if own:
        added[side] = own
    states[state] = added
    text = engine.text if engine.text.endswith("\n") else f"{engine.text}\n"
    return f"{text}\n{tomlkit.dumps(document)}"


def _put(tables: Any, own: ScaledFigure, unit: str) -> None:
    import tomlkit

    table, where = (own.key[0], *own.key[1].split(".")[:-1]), tables
    for name in table:
        if name not in where:
            where[name] = tomlkit.table()
        where = where[name]
    item = tomlkit.item(written(own, unit))
    item.comment(f"scaled off; drawing {_sized(own.drawn, own, unit):.6g}")
    where[own.key[1].split(".")[-1]] = item


def written(own: ScaledFigure, unit: str) -> str:
    """A figure with its doubt as an engine file has it: the doubt to two digits, rounded up."""
    doubt = _sized(own.doubt, own, unit)
    digits = max(0, _TWO - 1 - math.floor(math.log10(doubt))) if doubt > 0 else 4
    up = math.ceil(doubt * 10**digits - 1e-6) / 10**digits
    value = f"{_sized(own.value, own, unit):.{digits}f}"
    return f"{value} ± {up:.{digits}f}" + (f" {unit}" if own.unit == MM else "")


def _sized(value: float, own: ScaledFigure, unit: str) -> float:
    return value / float(UNITS[unit]) if own.unit == MM else value
