"""What differs from what was recorded of an engine, figure by figure."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any

from linkmotion.engine import DRAWING, Engine
from linkmotion.files.seals import Seal, flat, of_drawing, seals_now
from linkmotion.files.source import Source, Where, dotted
from linkmotion.files.written import as_read


@dataclass(frozen=True)
class Altered:
    """One thing that differs from what was recorded.

    Attributes
    ----------
    seal : Seal
        As recorded.
    key : str
        Of the figure; "" where the whole is gone.
    was, now : str or None
        What stood there, and what stands there; None for nothing.
    again : date or None
        The day on which it was recorded again as it is now; None where it was not.
    """

    seal: Seal
    key: str
    was: str | None
    now: str | None
    again: date | None = None


def alterations(engine: Engine, seals: list[Seal], today: date) -> list[Altered]:
    """What differs from what was recorded, and what differed when it was recorded again.

    Parameters
    ----------
    engine, seals, today : Engine, list of Seal, date
        As read; as recorded, in order; the day.
    """
    now = {own.what: own for own in _as_it_is(engine, seals, today)}
    chains: dict[str, list[Seal]] = {}
    for seal in seals:
        chains.setdefault(seal.what, []).append(seal)
    found: list[Altered] = []
    for what, chain in chains.items():
        for old, new in pairwise(chain):
            found += _between(old, new, new.recorded)
        found += _between(chain[-1], now.get(what), None)
    return found


def _as_it_is(engine: Engine, seals: list[Seal], today: date) -> Iterator[Seal]:
    """Whatever was ever recorded, as it is now, dated or not."""
    own = {seal.what: seal for seal in seals_now(engine, today)}
    yield from own.values()
    document = Source(engine.text, engine.name).document()
    tables = {dotted(where): table for where, table in _every_table(document, ())}
    for what in {seal.what for seal in seals} - set(own):
        if what == DRAWING:
            yield Seal(DRAWING, None, today, flat(document, of_drawing(engine)))
        elif what in tables:
            yield Seal(what, None, today, flat(tables[what], None))


def _every_table(value: Mapping[str, Any], where: Where) -> Iterator[tuple[Where, Mapping[str, Any]]]:
    for key, each in value.items():
        if isinstance(each, dict):
            yield (*where, key), each
            yield from _every_table(each, (*where, key))


def _between(old: Seal, new: Seal | None, again: date | None) -> Iterator[Altered]:
    if new is None:
        if old.figures:  # what was recorded again as gone has none
            yield Altered(old, "", None, None, again)
        return
    for key in dict.fromkeys((*old.figures, *new.figures)):
        was, now = (own.figures.get(key) for own in (old, new))
        if not _alike(was, now):
            told = [None if value is None else as_read(value) for value in (was, now)]
            yield Altered(old, key, told[0], told[1], again)


def _alike(one: Any, other: Any) -> bool:
    """Whether two values say the same; 3 and 3.0 do."""
    if isinstance(one, bool) or isinstance(other, bool) or not isinstance(one, int | float):
        return type(one) is type(other) and bool(one == other)
    return isinstance(other, int | float) and math.isclose(one, other, rel_tol=1e-15)


def unsound(path: Path, seals: list[Seal]) -> list[str]:
    """What is recorded of which the record itself was altered, in words.

    Parameters
    ----------
    path, seals : Path, list of Seal
        The record; what it says.
    """
    return [
        f"{path.name}: what was recorded of {seal.what} on {seal.recorded} was altered since (its digest does not fit)"
        for seal in seals
        if not seal.sound
    ]
