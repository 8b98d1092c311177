"""Which figures of a side in a state are as they were taken, and how: what a state overrides is gone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from linkmotion.engine import DRAWING, Engine
from linkmotion.gears.layering import table_types
from linkmotion.measuring.taken import Taken
from linkmotion.sides import BOTH, own_name
from linkmotion.studies.row_figures import measured

Path = tuple[str, ...]


def as_taken(engine: Engine, state: str = DRAWING, side: str | None = None) -> dict[Path, Taken]:
    """Figures as they were taken, by table and key: ``("radius_rod", "length")``, ``("wear", "clearance", "foot")``.

    A later layer's figure stands instead of those before, whether it was taken or not.
    """
    if not engine.taken:
        return {}
    found: dict[Path, Taken] = {}
    for prefix, tables in _layers(engine, state, side):
        given = set(_leaves(tables))
        found = {path: taken for path, taken in found.items() if not any(path[: len(own)] == own for own in given)}
        for path, taken in engine.taken.items():
            own = path[len(prefix) :]
            if path[: len(prefix)] == prefix and any(own[: len(leaf)] == leaf for leaf in given):
                found[own] = taken
    kept = set(_leaves(engine.tables(state, side)))
    gear = table_types(engine.gear_type)
    return {path: taken for path, taken in found.items() if path in kept or path[0] not in gear}


def _layers(engine: Engine, state: str, side: str | None) -> Iterator[tuple[Path, Mapping[str, Any]]]:
    """What each layer of a file gives, and the path under which it stands."""
    beside = {name: vars(table) for name, table in (("wheels", engine.wheels), ("steam", engine.steam))}
    for layer in engine.layers(state, side):
        more = {} if layer.where else {**beside, "cleanup": engine.cleanup}
        yield layer.where, {**layer.tables, **more, "wear": layer.wear}


def _leaves(tables: Mapping[str, Any], path: Path = ()) -> Iterator[Path]:
    for key, value in tables.items():
        if isinstance(value, Mapping):
            yield from _leaves(value, (*path, key))
        else:
            yield (*path, key)


def taken_rows(engine: Engine, state: str, sides: Iterable[str]) -> Iterator[dict[str, Any]]:
    """A row for each figure as it was taken; sides on which it is the same share one."""
    sides = tuple(sides)
    by_side = {side: as_taken(engine, state, side) for side in sides}
    for path in dict.fromkeys(path for own in by_side.values() for path in own):
        found = {side: own[path] for side, own in by_side.items() if path in own}
        shared = len(found) == len(sides) and all(own == next(iter(found.values())) for own in found.values())
        for side, own in [(own_name(BOTH, sides), found[sides[0]])] if shared else found.items():
            yield {
                "state": state,
                "side": side,
                "dimension": ".".join(path),
                "figure": measured(own.value, own.unit),
                "doubt": measured(own.doubt, own.unit) if own.parts else None,
                "unit": own.unit,
                "how": own.how,
            }
