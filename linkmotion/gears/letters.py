"""Letters of a gear's dimensions: one for each part, a number for each of its figures ("H3"), on sheets and in files.

They follow from the order in which the tables and their keys are declared, so a gear that is added has its own, and a
table or a key that is declared last shifts no other's. The tables that all gears share come first and have the same
letters in all. I, O and Q are left out, which are taken for figures (common practice on drawings, no source).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from functools import cache
from typing import Any, get_type_hints

ALPHABET = "ABCDEFGHJKLMNPRSTUVWXYZ"
LETTERED = ("length", "angle", "notches")  # kinds of keys that are measured
Key = tuple[str, str]


def letters(gear: type[Any]) -> dict[Key, str]:
    """The letter of every length and angle of a gear's dimension book, given or not, by (table, key).

    Parameters
    ----------
    gear : type
        A class of gear; a key of a small table is told as ``"rocker.pivot_x"``, and its letter has the small table's
        own after the part's.

    Examples
    --------
    >>> from linkmotion.gears import Walschaerts
    >>> own = letters(Walschaerts)
    >>> own["connecting_rod", "length"], own["expansion_link", "foot_drop"]
    ('B1', 'H3')
    """
    return dict(_letters(gear))  # type: ignore[arg-type]


def part_letters(gear: type[Any]) -> dict[str, str]:
    """The letter of each table of a gear that has something to be measured.

    Parameters
    ----------
    gear : type
        A class of gear.
    """
    lettered = {key[0] for key in letters(gear)}
    return {name: letter for name, letter, _table in _parts(gear) if name in lettered}


@cache
def _letters(gear: type[Any]) -> tuple[tuple[Key, str], ...]:
    return tuple(((name, key), own) for name, letter, table in _parts(gear) for key, own in _of_table(table, letter))


def _parts(gear: type[Any]) -> Iterator[tuple[str, str, type[Any]]]:
    hints = get_type_hints(gear)
    for at, table in enumerate(fields(gear)):
        yield table.name, ordinal(at), hints[table.name]


def _of_table(table: type[Any], letter: str) -> Iterator[tuple[str, str]]:
    """Keys of a table with their letters, the small tables' in their places."""
    number = small = 0
    for key in fields(table):
        kind = key.metadata["kind"]
        if kind in LETTERED:
            number += 1
            yield key.name, f"{letter}{number}"
        elif kind == "table":
            inner = _of_table(key.metadata["table"], f"{letter}{ordinal(small)}")
            small += 1
            yield from ((f"{key.name}.{name}", own) for name, own in inner)


def ordinal(at: int) -> str:
    """A letter by its place: A, B, ... Z, AA, AB, ...

    Parameters
    ----------
    at : int
        From 0.

    Examples
    --------
    >>> ordinal(0), ordinal(8), ordinal(22), ordinal(23)
    ('A', 'J', 'Z', 'AA')
    """
    before, last = divmod(at, len(ALPHABET))
    return (ordinal(before - 1) if before else "") + ALPHABET[last]
