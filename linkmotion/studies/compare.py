"""States side by side, and states made by moving parts: from side to side, or from another engine."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

from linkmotion.engine import DRAWING, Engine, State
from linkmotion.gears.sensitivity import marked
from linkmotion.studies.assess import Assessment, assess
from linkmotion.studies.findings import Finding, findings
from linkmotion.studies.steps_told import StepsTold
from linkmotion.studies.table import event_rows
from linkmotion.wear.effects import rods_of

COMPARED = (
    "lead",
    "cutoff_percent",
    "release_percent",
    "compression_percent",
    "opening",
    "valve_travel",
    "lost_motion",
)


@dataclass(frozen=True)
class Compared:
    """Rows of the events of several states, matched.

    Attributes
    ----------
    states : tuple of str
        The first is what the others are compared with.
    rows : list of dict
        "side", "notch", "direction", "end" and, for each of COMPARED, a tuple of the figure in each state.
    assessments : tuple of Assessment
        In the same order.
    findings : tuple of lists
        In the same order.
    """

    states: tuple[str, ...]
    rows: list[dict[str, Any]]
    assessments: tuple[Assessment, ...]
    findings: tuple[list[Finding], ...]

    @property
    def out(self) -> tuple[int, ...]:
        """How many findings are out of target in each state."""
        return tuple(sum(f.out for f in told) for told in self.findings)


def compare(
    engine: Engine, states: Iterable[str], notches: Iterable[str] | None = None,
    progress: Callable[[int, int | None], None] | None = None,
) -> Compared:  # fmt: skip
    """Assess several states of one engine and match their rows (driving directions of the first).

    Parameters
    ----------
    engine, states : Engine, iterable of str
        As read; by name, the first is what the others are compared with.
    notches : iterable of str, optional
        Those looked at; all unless given.
    progress : callable, optional
        Called with the number of states assessed, and how many there are.

    Raises
    ------
    NotchError, KeyError
        As :func:`~.assess.assess`.
    """
    names = tuple(states)
    step = StepsTold(len(names), progress)
    found = tuple(step(assess(engine, name, notches=notches)) for name in names)
    first = found[0]
    wanted = {side.side: [side.driven(i) for i in range(len(side.notches))] for side in first.sides}
    tables = [{_key(row): row for row in event_rows(a, lambda side, i: wanted[side.side][i])} for a in found]
    rows = [
        dict(zip(("side", "notch", "direction", "end"), key, strict=True))
        | {name: tuple(table[key][name] for table in tables) for name in COMPARED}
        for key in tables[0]
    ]
    return Compared(names, rows, found, tuple(findings(a) for a in found))


def _key(row: dict[str, Any]) -> tuple[str, ...]:
    return tuple(row[name] for name in ("side", "notch", "direction", "end"))


def swapped(engine: Engine, table: str, state: str = DRAWING) -> tuple[Engine, str]:
    """The engine with a further state, in which a part has changed sides; and that state's name.

    What is worn of the part itself goes with it (its bow; of the link, slot, bends and twist); clearances and slips
    stay with the side, since pin, bush and key have each their share in them.

    Parameters
    ----------
    engine, table, state
        As read, with two sides; the part's table; the state to begin with.
    """
    one, other = engine.sides
    (own, own_worn), (its, its_worn) = (
        (dict(engine.tables(state, side).get(table, {})), _own_wear(engine, state, side, table))
        for side in (one, other)
    )
    layers = {one: {table: its}, other: {table: own}}
    wear = {one: _in_place_of(own_worn, its_worn), other: _in_place_of(its_worn, own_worn)}
    return _with_state(engine, state, f"{state}, {_words(table)} swapped", layers, wear)


def borrowed(engine: Engine, other: Engine, table: str, side: str, state: str = DRAWING) -> tuple[Engine, str]:
    """The engine with a further state, in which one side has a part from another engine; and that state's name.

    The part is as drawn there for that side, unworn.

    Parameters
    ----------
    engine, other : Engine
        Which has it put in; which it is from.
    table, side, state : str
        The part's table; the side; the state to begin with.

    Raises
    ------
    KeyError
        The other engine has no such table, or its gear is of another kind.
    """
    drawn = other.tables(DRAWING, side) if other.gear_type is engine.gear_type else {}
    if table not in drawn:
        raise KeyError(table)
    layers = {side: {table: drawn[table]}}
    wear = {side: _in_place_of(_own_wear(engine, state, side, table), {})}
    return _with_state(engine, state, f"{state}, {side} {_words(table)} of {other.name}", layers, wear)


def _own_wear(engine: Engine, state: str, side: str, table: str) -> dict[str, Any]:
    """What is worn of a part itself, as a state has it."""
    condition, gear = engine.condition(state, side), engine.gear(state, side)
    rods = [name for name, key in rods_of(gear).items() if key[0] == table]
    own: dict[str, Any] = {"bow": {name: condition.bow[name] for name in rods if name in condition.bow}}
    if any(key[0] == table for key in marked(gear, "slot")):
        own |= {"slot": condition.slot, "bent": dict(condition.bent), "twist": condition.twist}
    return {key: value for key, value in own.items() if value}


def _in_place_of(gone: dict[str, Any], come: dict[str, Any]) -> dict[str, Any]:
    """Wear that undoes what goes away with a part, and brings what comes with the other."""
    nothing: dict[str, Any] = {"bow": 0.0, "bent": (0.0, 0.0), "slot": (), "twist": 0.0}
    found: dict[str, Any] = {}
    for key in (*gone, *come):
        own = come.get(key)
        if key in ("bow", "bent"):
            found[key] = dict.fromkeys(gone.get(key, {}), nothing[key]) | (own or {})
        else:
            found[key] = nothing[key] if own is None else own
    return found


def _with_state(engine: Engine, base: str, name: str, layers: Any, wear: Any) -> tuple[Engine, str]:
    made = State(name, None if base == DRAWING else base, "", layers, wear)
    return replace(engine, states={**engine.states, name: made}), name


def _words(table: str) -> str:
    return table.replace("_", " ")
