"""The repairs of an engine file: options for the shop, each with what it sets, its hours and what it needs.

::

    [repair."key the return crank"]
    what = "fit a stepped key"
    hours = 6
    cost = 40                              # in whatever money you reckon
    metal = "0.004 in"                     # what it takes off the part
    needs = ["strip the motion"]           # must be done with it
    excludes = ["new return crank"]        # cannot be done with it
    [repair."key the return crank".left.wear]
    angle_slip = { "return crank" = 0 }

What it sets is laid out like a state; or ``state`` names a state that follows, whose own figures are taken.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields
from typing import Any

from linkmotion.engine import State
from linkmotion.files.faults import nearest
from linkmotion.files.length_taken import length_taken
from linkmotion.files.record_keys import RECORD_KEYS
from linkmotion.files.side_named import see_sides
from linkmotion.files.source import Source, Where, shown
from linkmotion.repair import Repair, with_needs
from linkmotion.sides import BOTH, SIDE_NAMES

MOST_REPAIRS = 40
_MOST_HOURS = 100_000.0
_KEYS = ["what", "state", "hours", "cost", "metal", "needs", "excludes"]
Layers = Callable[[Mapping[str, Any], Where], tuple[dict[str, Any], dict[str, Any]]]
"""Reads what stands under both and each side of a table at a path: figures and wear of each."""


def repairs_of(
    document: Mapping[str, Any],
    source: Source,
    unit: str,
    states: Mapping[str, State],
    sides: tuple[str, ...],
    layers: Layers,
) -> dict[str, Repair]:
    """Every repair of a file, by its name.

    Parameters
    ----------
    document, source, unit : dict, Source, str
        As read; its text, for faults; of bare lengths.
    states : dict of State
        Of the file.
    layers : callable
        Reads what a repair sets.

    Raises
    ------
    FileError
        With line, key and remedy.
    """
    tables = source.table(document.get("repair", {}), ("repair",))
    if len(tables) > MOST_REPAIRS:
        raise source.fault(("repair",), f"{len(tables)} repairs", f"{MOST_REPAIRS} at most; put some together")
    reader = _Reader(source, unit, states, sides, layers)
    found = {name: reader.repair(name, table, list(tables)) for name, table in tables.items()}
    _see_rings(found, source)
    _see_together(found, source)
    return found


class _Reader:
    def __init__(
        self, source: Source, unit: str, states: Mapping[str, State], sides: tuple[str, ...], layers: Layers
    ) -> None:
        self.source, self.unit, self.states, self.sides, self.layers = source, unit, states, sides, layers

    def repair(self, name: str, value: Any, names: list[str]) -> Repair:
        """One repair."""
        source, where = self.source, ("repair", name)
        own = source.table(value, where)
        source.printable(name, where)
        see_sides(source, own, where, self.sides, (BOTH,))
        source.known(own, where, [*_KEYS, BOTH, *self.sides, *RECORD_KEYS])
        for key, wish in (("what", f'say what is done: what = "{name}"'), ("hours", "give its hours: hours = 6")):
            if key not in own:
                raise source.fault((*where, key), "missing", wish)
        if not source.words(own["what"], (*where, "what")).strip():
            raise source.fault((*where, "what"), "says nothing", "say what is done")
        given = [side for side in (BOTH, *self.sides) if side in own]
        if "state" in own and given:
            raise source.fault((*where, "state"), f"a state that follows, and {given[0]} too", "keep one of the two")
        layers, wear = self._of_state(own["state"], where) if "state" in own else self.layers(own, where)
        others = [other for other in names if other != name]
        needs, excludes = (self._names(own, where, key, others) for key in ("needs", "excludes"))
        hours, cost = (self._number(own, where, key) for key in ("hours", "cost"))
        return Repair(name, own["what"], hours, cost, self._metal(own, where), needs, excludes, layers, wear)

    def _of_state(self, name: Any, where: Where) -> tuple[dict[str, Any], dict[str, Any]]:
        told = self.source.words(name, (*where, "state"))
        if told not in self.states:
            raise self.source.fault((*where, "state"), f"there is no state {told!r}", nearest(told, list(self.states)))
        return dict(self.states[told].layers), dict(self.states[told].wear)

    def _number(self, own: Mapping[str, Any], where: Where, key: str) -> float:
        value = own.get(key, 0.0)
        good = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
        if not good or not 0 <= value <= _MOST_HOURS:
            raise self.source.fault((*where, key), f"read {shown(value)}", "a plain number is wanted, such as 6")
        return float(value)

    def _metal(self, own: Mapping[str, Any], where: Where) -> float:
        metal = length_taken(self.source, own.get("metal", 0), (*where, "metal"), self.unit).value
        if not 0 <= metal <= 100:
            raise self.source.fault((*where, "metal"), f"read {shown(own['metal'])}", "what is taken off is wanted")
        return metal

    def _names(self, own: Mapping[str, Any], where: Where, key: str, others: list[str]) -> tuple[str, ...]:
        value = own.get(key, [])
        if not isinstance(value, list):
            raise self.source.fault((*where, key), f"read {shown(value)}, wanted a list", f'write {key} = ["…"]')
        for name in value:
            if not isinstance(name, str) or name not in others:
                remedy = nearest(str(name), others) if others else "there is no other repair"
                raise self.source.fault((*where, key), f"there is no other repair {shown(name)}", remedy)
        return tuple(dict.fromkeys(value))


def _see_rings(repairs: Mapping[str, Repair], source: Source) -> None:
    """See that no repair needs itself in the end, or one that it excludes."""
    for name, own in repairs.items():
        reached, waiting = set[str](), list(own.needs)
        while waiting:
            other = waiting.pop()
            if other not in reached:
                reached.add(other)
                waiting += repairs[other].needs
        where = ("repair", name, "needs")
        if name in reached:
            raise source.fault(where, "the repairs need one another in a ring", "make one of them")
        whole = {name, *reached}
        for one in whole:
            for other in repairs[one].excludes:
                if other in whole:
                    raise source.fault(where, f"needs {other!r}, which {one!r} excludes", "keep one of the two")


def _see_together(repairs: Mapping[str, Repair], source: Source) -> None:
    """See that two repairs that can be done together do not set one figure each its own way."""
    sets = {name: dict(_set_by(own)) for name, own in repairs.items()}
    names = list(repairs)
    for i, one in enumerate(names):
        for other in names[i + 1 :]:
            if _apart(repairs, one, other) or _ordered(repairs, one, other):
                continue
            for path, value in sets[one].items():
                for same in _alike(path):
                    if same in sets[other] and sets[other][same] != value:
                        problem = f"{'.'.join(path)} is set here and otherwise by {one!r}"
                        remedy = f'say excludes = ["{one}"], or needs, and this one holds'
                        raise source.fault(("repair", other), problem, remedy)


def _apart(repairs: Mapping[str, Repair], one: str, other: str) -> bool:
    return other in repairs[one].excludes or one in repairs[other].excludes


def _ordered(repairs: Mapping[str, Repair], one: str, other: str) -> bool:
    return other in with_needs(repairs, one) or one in with_needs(repairs, other)


def _alike(path: Where) -> Iterator[Where]:
    """Paths that touch the same figure: of every side, and of each."""
    layer, *rest = path
    for own in (BOTH, *SIDE_NAMES) if layer == BOTH else (BOTH, layer):
        yield (own, *rest)


def _set_by(own: Repair) -> Iterator[tuple[Where, Any]]:
    for layer, tables in own.layers.items():
        for table, keys in tables.items():
            yield from _leaves(keys, (layer, table))
    for layer, keys in own.wear.items():
        yield from _leaves(keys, (layer, "wear"))


def _leaves(value: Any, path: Where) -> Iterator[tuple[Where, Any]]:
    if isinstance(value, Mapping):
        for key, each in value.items():
            yield from _leaves(each, (*path, key))
    else:
        yield path, value


def of_gear(gear: type[Any]) -> list[str]:
    """Names that may stand under a side of a repair or a state."""
    return [*(table.name for table in fields(gear)), "wear", *RECORD_KEYS]
