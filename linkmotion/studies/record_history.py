"""The history of an engine or of one of its parts, from the records in its file: what was found or done, when, by whom.

Nothing is added to what the file says. A place with no day of its own is told on the day of the state around it, and
said to be so; where there is none either it is undated. Nothing is left out: every state, and every table that has a
record.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, replace
from datetime import date
from typing import Any

from linkmotion.engine import DRAWING, Engine
from linkmotion.engine_layers import Layer, parted
from linkmotion.gears.layering import table_types
from linkmotion.gears.sensitivity import marked
from linkmotion.record import Record
from linkmotion.sides import BOTH, PAIR, own_name, sides_meant
from linkmotion.studies.figures.figure import DEGREES, MM
from linkmotion.wear.effects import rods_of

Where = tuple[str, ...]
Written = Mapping[Where, str]
NOTHING = Record()


@dataclass(frozen=True)
class WrittenFigure:
    """One figure that a place of the file gives.

    Attributes
    ----------
    side : str
        By its name, "both", or "" where the figure is the drawing's for every side.
    dimension : str
        Dotted path, such as ``"eccentric_rod.length"`` or ``"wear.clearance.foot"``.
    written, before : str
        As the user wrote it; and what held before, as written, or "" where nothing did.
    by : float or None
        How much it is more than before, in mm or degrees; None of what has no such measure.
    unit : str
        "mm" or "degrees" of ``by``, or "".
    """

    side: str
    dimension: str
    written: str
    before: str = ""
    by: float | None = None
    unit: str = ""


@dataclass(frozen=True)
class Entry:
    """What one place of the file tells.

    Attributes
    ----------
    where : tuple of str
        Path of its table; ``("engine",)`` for the drawing as a whole.
    state, side, table : str
        Where that is; "" where it is of no one side, or the whole of it.
    record : Record
        Its own.
    on : date or None
        Its day; None: undated.
    own_day : bool
        Whether the place gives that day itself, and not the state around it.
    based_on : str
        What a state starts from; "" of other places.
    set_afresh : bool
        Whether a state says that its valves were set again.
    figures : tuple of WrittenFigure
        What it gives, but for what stands in a place with an entry of its own.
    file : str
        Of readings or marks beside the engine's; "" where the engine's own file tells it.
    """

    where: Where
    state: str
    side: str
    table: str
    record: Record
    on: date | None
    own_day: bool
    based_on: str
    set_afresh: bool
    figures: tuple[WrittenFigure, ...]
    file: str = ""


def history(engine: Engine, written: Written, part: str = "") -> list[Entry]:
    """Every entry, by its day, the undated ones last.

    Parameters
    ----------
    engine : Engine
        As read.
    written : mapping
        Path to figure, as the user wrote it.
    part : str
        A table of the gear: entries and figures that are of it alone; all unless given.
    """
    places = _places(engine)
    shares: dict[Where, list[Where]] = {where: [] for where in places}
    for path in written:
        owner = max((where for where in places if path[: len(where)] == where), key=len, default=None)
        if owner is None and part and parted(path)[1][:1] == (part,):
            owner = ("engine",)
        if owner is not None and (owner != ("engine",) or part) and not (part and not _is_of(engine, path, part)):
            shares[owner].append(path)
    entries = [_entry(engine, written, where, shares[where]) for where in places]
    if part:
        entries = [own for own in entries if own.figures or own.table == part]
    return by_day(entries)


def by_day(entries: Iterable[Entry]) -> list[Entry]:
    """Entries by their day, the undated last; those of one day as they came."""
    return sorted(entries, key=lambda own: (own.on is None, own.on or date.min))


def _places(engine: Engine) -> list[Where]:
    """The drawing, every state, and every table with a record, in the order of the file as far as it is known."""
    recorded = list(engine.records)
    found: list[Where] = [("engine",), *(own for own in recorded if own[0] not in ("engine", "state"))]
    for name in engine.states:
        found += [("state", name), *sorted(own for own in recorded if own[:2] == ("state", name) and len(own) > 2)]
    return found


def _is_of(engine: Engine, path: Where, part: str) -> bool:
    """Whether a figure is of a part: it stands in its table, or is what the gauge found on it."""
    own = parted(path)[1]
    if len(own) > 1 and own[0] == part:
        return True
    if len(own) < 2 or own[0] != "wear":
        return False
    gears = [engine.gear(side=side) for side in engine.sides_apart]
    rods = [name for gear in gears for name, key in rods_of(gear).items() if key[0] == part]
    slotted = any(table == part for gear in gears for table, _key in marked(gear, "slot"))
    named = len(own) > 2 and (own[2] in rods or own[2].replace(" ", "_") == part)
    return named or (slotted and own[1] in ("slot", "bent", "twist"))


def _entry(engine: Engine, written: Written, where: Where, paths: list[Where]) -> Entry:
    record = engine.records.get(where, NOTHING)
    around = [engine.records.get(where[:n], NOTHING) for n in range(len(where), 0, -1)]
    day = next((own.on for own in around if own.on is not None), None)
    path, own = parted(where)
    layer = Layer(path, {})
    state, side = layer.state, own_name(layer.side, engine.sides)
    table = "" if where[0] == "engine" else ".".join(own)
    whole = len(where) == 2 and where[0] == "state"
    return Entry(
        where, state, side, table, record, day, record.on is not None,
        (engine.states[state].based_on or DRAWING) if whole else "",
        whole and engine.states[state].set_afresh,
        tuple(_figure(engine, written, path) for path in paths),
    )  # fmt: skip


def _figure(engine: Engine, written: Written, path: Where) -> WrittenFigure:
    where, key = parted(path)
    if not where:
        return WrittenFigure("", ".".join(path), written[path])
    own_layer, befores, by = Layer(where, {}), dict[str, str | None](), None
    for each in sides_meant(own_layer.side, engine.sides):
        layers = engine.layers(own_layer.state, each)
        own = next(number for number, layer in enumerate(layers) if layer.where == where)
        before = _last(written, layers[:own], key)
        befores[each] = None if before is None else written[*before.where, *key]
        by = None if before is None else _more(before.tables, layers[own].tables, key)
    alike = len(set(befores.values())) == 1
    told = next(iter(befores.values())) if alike else ", ".join(f"{s} {text or '–'}" for s, text in befores.items())
    unit = _unit(engine, key)
    by, unit = (by, unit) if alike and unit and by is not None else (None, "")
    return WrittenFigure(own_name(own_layer.side, engine.sides), ".".join(key), written[path], told or "", by, unit)


def _last(written: Written, layers: list[Layer], key: Where) -> Layer | None:
    """The last of some layers in which a figure is written."""
    return next((layer for layer in reversed(layers) if (*layer.where, *key) in written), None)


def _written_of(engine: Engine, written: Written, state: str, side: str, key: Where) -> str | None:
    """A figure of a side in a state, as written in the last layer that gives it."""
    own = _last(written, engine.layers(state, side), key)
    return None if own is None else written[*own.where, *key]


def _more(before: Mapping[str, Any], after: Mapping[str, Any], key: Where) -> float | None:
    """How much more a figure is in some tables than in others."""
    one, other = _value(before, key), _value(after, key)
    return other - one if one is not None and other is not None else None


def _value(tables: Mapping[str, Any], key: Where) -> float | None:
    value: Any = tables
    for step in key:
        value = value.get(step) if isinstance(value, Mapping) else None
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def _unit(engine: Engine, key: Where) -> str:
    """Unit of a key of the gear's tables; "" of what is neither a length nor an angle."""
    table = table_types(engine.gear_type).get(key[0])
    for step in key[1:]:
        own = next((own for own in fields(table) if own.name == step), None) if table is not None else None
        if own is None:
            return ""
        if own.metadata["kind"] in ("length", "angle"):
            return MM if own.metadata["kind"] == "length" else DEGREES
        table = own.metadata.get("table")
    return ""


def state_on(engine: Engine, day: date) -> str:
    """The last state that was there on a day: of the latest date not after it; the drawing where there is none.

    Parameters
    ----------
    engine, day : Engine, date
        As read. Of states of one day the last in the file counts; undated ones never.
    """
    dated = [(record.on, name) for name in engine.states if (record := engine.records.get(("state", name), NOTHING)).on]
    there = [(on, place, name) for place, (on, name) in enumerate(dated) if on is not None and on <= day]
    return max(there)[2] if there else DRAWING


def changes(engine: Engine, written: Written, before: str, after: str) -> list[WrittenFigure]:
    """What differs between two states, figure by figure, each with what was before.

    Parameters
    ----------
    engine, written : Engine, mapping
        As for :func:`history`.
    before, after : str
        States by name.
    """
    found: dict[str, dict[str, WrittenFigure]] = {
        side: dict(_changed(engine, written, before, after, side)) for side in engine.sides
    }
    told = []
    for dimension in dict.fromkeys(name for own in found.values() for name in own):
        own = [each for side in engine.sides if (each := found[side].get(dimension)) is not None]
        if len(own) == len(PAIR) and _same(*own):
            told.append(replace(own[0], side=BOTH))
        else:
            told += own
    return told


def _same(one: WrittenFigure, other: WrittenFigure) -> bool:
    return (one.written, one.before) == (other.written, other.before)


def _changed(
    engine: Engine, written: Written, before: str, after: str, side: str
) -> Iterator[tuple[str, WrittenFigure]]:
    keys = {path[3:] for path in written if path[0] == "state" and len(path) > 4} - {()}
    for key in sorted(keys):
        was, now = (_written_of(engine, written, state, side, key) for state in (before, after))
        if was != now:
            unit = _unit(engine, key)
            by = _more(engine.tables(before, side), engine.tables(after, side), key) if unit else None
            name = ".".join(key)
            yield name, WrittenFigure(side, name, now or "", was or "", by, unit if by is not None else "")
