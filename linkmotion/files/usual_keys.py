"""Which keys a drawing of a gear usually gives: those that it must, and of figures given in one of two ways the one."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import MISSING, fields
from functools import cache
from typing import Any

from linkmotion.files.pattern import pattern
from linkmotion.gears import GEARS
from linkmotion.gears.layering import table_types


def still_asked(gear: str, table: str, given: Collection[str]) -> Iterator[str]:
    """Keys of a table that are still to be given, in their order.

    Parameters
    ----------
    gear, table : str
        By their names.
    given : names of keys
        Those that are there; what stands instead of another is as good as that.
    """
    kind = table_types(GEARS[gear])[table]
    settled = set(given)
    for those, instead in getattr(kind, "INSTEAD", ()):
        if all(key in given for key in those):
            settled |= set(instead)
    yield from (key for key in _usual(gear, table) if key not in settled)


@cache
def _usual(gear: str, table: str) -> tuple[str, ...]:
    """Keys without which there is no gear, and those left open that the pattern of the gear gives."""
    kind: type[Any] = table_types(GEARS[gear])[table]
    drawn = pattern(gear)
    usual = drawn.drawing.get(table, {}) if drawn else {}
    small = {key.name for key in fields(kind) if key.metadata["kind"] == "table"}
    if small & set(usual):  # what goes with a rocker or the like is asked only of who has one
        either = {key for those, instead in getattr(kind, "INSTEAD", ()) for key in (*those, *instead)}
        usual = {key: value for key, value in usual.items() if key in either}
    return tuple(
        key.name for key in fields(kind) if key.default is MISSING or (key.default is None and key.name in usual)
    )
