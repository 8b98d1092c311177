"""Seeing that [tolerances] and [adjustments] name what the gear has, as soon as its file is read."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from linkmotion.engine import Engine
from linkmotion.files.adjustments_table import adjustments_given
from linkmotion.files.faults import FileError
from linkmotion.files.tolerances_read import tolerances_given
from linkmotion.gears import Arm, DieHeld, Gear, ReverserPosition
from linkmotion.gears.reverser import Stop


def see_workshop_tables(engine: Engine, file: str) -> None:
    """See that both tables can be read.

    A key may be one that only some state or side has: it is refused where none has it.

    Parameters
    ----------
    engine, file : Engine, str
        As read; the name used in messages.

    Raises
    ------
    FileError
        With file, line, key and remedy.
    """
    if engine.tolerances:
        _one_fits(engine, lambda gear, setting: tolerances_given(engine, gear, setting, file))
    if engine.adjustments:
        _one_fits(engine, lambda gear, setting: adjustments_given(engine, file, gear, setting))


def _one_fits(engine: Engine, read: Callable[[Gear, ReverserPosition], Any]) -> None:
    faults = []
    for gear in (
        engine.gear(state, side) for state in engine.state_names for side in engine.sides
    ):  # the drawing's first
        try:
            read(gear, set_somehow(gear))
        except FileError as error:
            faults.append(error)
        else:
            return
    raise faults[0]


def set_somehow(gear: Gear) -> ReverserPosition:
    """A position of the reverser such as the gear's notches have, whatever its figure: nothing is turned here."""
    reversing = getattr(gear, "reversing", None)
    if reversing is None:
        return Stop(0.0)
    return DieHeld(0.0) if getattr(reversing, "suspension", "") == "ideal" else Arm(0.0)
