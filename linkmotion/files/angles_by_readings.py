"""Angles taken as differences of lengths: worked out once the rest of their gear is known."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from linkmotion.engine import Engine
from linkmotion.engine_layers import parted, whose
from linkmotion.files.gathered import Gathered, Waiting
from linkmotion.files.source import Source, Where
from linkmotion.gears import Gear
from linkmotion.gears.layering import MissingFigure
from linkmotion.gears.sensitivity import STEP, numbers, with_numbers
from linkmotion.measuring.taken import DEGREES, Taken, added
from linkmotion.sides import sides_meant
from linkmotion.studies.as_taken import as_taken

_ALIKE = 1e-9  # degrees


def work_out_angles(engine: Engine, gathered: Gathered, source: Source) -> Engine:
    """The engine with every angle that waited in its place.

    Raises
    ------
    FileError
        What is needed beside is not given, no gear moves so, or a figure for both sides comes out differently.
    """
    taken = dict(gathered.taken)
    for where, waiting in gathered.waiting.items():
        layer, path = parted(where)
        state, asked = whose(layer)
        sides = [
            side for side in sides_meant(asked, engine.sides) if engine.layer_of(path, state, side) == layer
        ]  # others have their own
        found = [own for side in sides for own in _angles(engine, state, side, where, waiting, source)]
        if not found:  # the gear lacks something, which is told when it is seen to be complete
            continue
        if abs(found[0].value - found[-1].value) > _ALIKE:
            problem = (
                f"it comes to {found[0].value:.3f}° on the {sides[0]} and {found[-1].value:.3f}° on the {sides[-1]}"
            )
            raise source.fault(where, problem, "give it for each side")
        _table(engine, where)[where[-1]] = found[0].value
        taken[where] = found[0]
        engine = replace(engine, taken=taken)
    return engine


def _table(engine: Engine, where: Where) -> Any:
    match where:
        case ("state", state, layer, table, _key):
            return engine.states[state].layers[layer][table]
        case (_drawing, side, table, _key):
            return engine.sides_drawn[side][table]
    return engine.drawing[where[0]]


def _angles(engine: Engine, state: str, side: str, where: Where, waiting: Waiting, source: Source) -> Iterator[Taken]:
    """The angle on a side; none where the gear is not complete without it."""
    table, key = where[-2:]
    try:
        gear = engine.gear(state, side)
    except MissingFigure:
        return
    given = getattr(gear, table)
    gear = replace(gear, **{table: replace(given, **{key: None})})
    if not any(getattr(given, own) is not None for own in waiting.way.beside):
        beside = " or ".join(f"{table}.{own}" for own in waiting.way.beside)
        raise source.fault(where, f"it is worked from {beside}, which is missing", f"give {beside} too")
    if any(fault.table != table for fault in gear.faults()):
        return
    with np.errstate(all="ignore"):  # what cannot be is told below
        found = _worked(gear, waiting, as_taken(engine, state, side))
    if not math.isfinite(found.value):
        words = " and ".join(waiting.way.words)
        raise source.fault(
            where, f"no gear of these figures has such a {words}", "look at each figure, and at its unit"
        )
    yield found


def _worked(gear: Gear, waiting: Waiting, known: dict[Where, Taken]) -> Taken:
    """The angle, and what the readings and every dimension of the gear add to its doubt."""
    read, law = {word: taken.value for word, taken in waiting.read.items()}, waiting.way.law
    value = float(np.real(law(gear, read, waiting.leads)))
    terms = []
    if math.isfinite(value):
        for word, taken in waiting.read.items():
            moved = {own: size + 1j * STEP * (own == word) for own, size in read.items()}
            terms.append((float(np.imag(law(gear, moved, waiting.leads))) / STEP, taken))
        for own, size in numbers(gear).items():
            path = (own[0], *own[1].split("."))
            if path in known and known[path].parts:
                stepped = with_numbers(gear, {own: size + 1j * STEP})
                terms.append((float(np.imag(law(stepped, read, waiting.leads))) / STEP, known[path]))
    told = ", ".join(f"{word.replace('_', ' ')} {taken.how}" for word, taken in waiting.read.items())
    return replace(added(terms, value, told), unit=DEGREES)
