"""Letters of a gear's dimensions: one for each part, a number for each of its figures ("H3"), on sheets and in files.

They follow from the order in which the tables and their keys are declared, so a gear that is added has its own, and a
table or a key that is declared last shifts no other's. The tables that all gears share come first and have the same
letters in all. I, O and Q are left out, which are taken for figures (common practice on drawings, no source).
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import fields
from functools import cache
from typing import Any

from linkmotion.gears.layering import table_types

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
    return {key: letter for key, letter, _said in _lettered(gear)}  # type: ignore[arg-type]


def part_letters(gear: type[Any]) -> dict[str, str]:
    """The letter of each table of a gear that has something to be measured.

    Parameters
    ----------
    gear : type
        A class of gear.
    """
    lettered = {key[0] for key in letters(gear)}
    return {name: letter for name, letter, _table in _parts(gear) if name in lettered}


def said_of(gear: type[Any]) -> dict[Key, Mapping[str, Any]]:
    """What each lettered key was declared to be: kind, meaning, and what follows from it (see gears.keys).

    Parameters
    ----------
    gear : type
        A class of gear.
    """
    return {key: said for key, _letter, said in _lettered(gear)}  # type: ignore[arg-type]


@cache
def _lettered(gear: Hashable) -> tuple[tuple[Key, str, Mapping[str, Any]], ...]:
    return tuple(
        ((name, key), own, said) for name, letter, table in _parts(gear) for key, own, said in _of_table(table, letter)
    )


def _parts(gear: Any) -> Iterator[tuple[str, str, type[Any]]]:
    for at, (name, kind) in enumerate(table_types(gear).items()):
        yield name, ordinal(at), kind


def _of_table(table: type[Any], letter: str) -> Iterator[tuple[str, str, Mapping[str, Any]]]:
    """Keys of a table with their letters, the small tables' in their places, and what they were declared to be."""
    number = small = 0
    for key in fields(table):
        kind = key.metadata["kind"]
        if kind in LETTERED:
            number += 1
            yield key.name, f"{letter}{number}", key.metadata
        elif kind == "table":
            inner = _of_table(key.metadata["table"], f"{letter}{ordinal(small)}")
            small += 1
            yield from ((f"{key.name}.{name}", own, said) for name, own, said in inner)


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
