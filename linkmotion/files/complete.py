"""Seeing that every side in every state has the figures it needs, and that these can be a gear's."""

from __future__ import annotations

from collections.abc import Iterator

from linkmotion.engine import Engine
from linkmotion.files.faults import FileError, nearest, sentence, spoken
from linkmotion.files.lengths import format_length
from linkmotion.files.side_named import whose
from linkmotion.files.slip_question import slip_question
from linkmotion.files.source import Source, Where
from linkmotion.gears.keys import Fault
from linkmotion.gears.layering import MissingFigure
from linkmotion.wear.effects import angles_of, link_pins_of, pins_of, rods_of


def see_complete(engine: Engine, source: Source) -> None:
    """See that every side in every state has the figures it needs, and that what is worn is a part of its gear.

    Parameters
    ----------
    engine, source : Engine, Source
        As read, every table by itself without a fault; its text.

    Raises
    ------
    FileError
        With line, key and remedy: the figure that is asked for, where one alone makes the figures wrong.
    """
    for state in engine.state_names:
        for side in engine.sides:
            for fault in _faults(engine, state, side):
                raise _told(engine, source, fault, state, side)
            _see_worn(engine, source, state, side)


def _faults(engine: Engine, state: str, side: str) -> Iterator[Fault]:
    try:
        yield from engine.gear(state, side).faults()
    except MissingFigure as error:
        yield Fault("valve", str(error), "missing", f"give {error} too")


def _told(engine: Engine, source: Source, fault: Fault, state: str, side: str) -> FileError:
    """A fault at its key; at the figure that is asked for, where it is that one alone."""
    own = (fault.table, *fault.key.split("."))
    where = (*engine.layer_of(own[:1], state, side), *own)
    problem = f"{fault.problem}{whose(engine, state, side)}"
    try:
        asked = slip_question(engine, state, side)
    except MissingFigure:  # there is no gear to be tried
        asked = None
    if asked is None or (not asked.passes and fault.remedy.endswith("meant?")):  # a word that is asked about already
        return source.fault(where, problem, fault.remedy, f"{spoken(problem)}. {sentence(spoken(fault.remedy))}")
    remedy = f"{asked.words}; else {fault.remedy}"
    plain = f"{spoken(problem)}. {sentence(asked.plain)}; else {spoken(fault.remedy)}"
    return source.fault(asked.place or where, problem, remedy, plain)


def _see_worn(engine: Engine, source: Source, state: str, side: str) -> None:
    """See that what is worn is a part of this gear."""
    condition, gear = engine.condition(state, side), engine.gear(state, side)
    if condition.sound:
        return
    known = {
        "clearance": pins_of(gear),
        "bow": list(rods_of(gear)),
        "bent": link_pins_of(gear),
        "angle_slip": angles_of(gear),
    }
    for key, names in known.items():
        for name in getattr(condition, key):
            if name not in names:
                layers = [own.where for own in engine.layers(state, side) if name in own.wear.get(key, {})]
                where = (*(layers[-1] if layers else ()), "wear", key, name)
                raise source.fault(where, "unknown", nearest(name, names))
    if (slot := gear.slot) is not None:
        for loss in condition.slot:
            if not -2 * slot.bottom <= loss.at <= 2 * slot.top:
                problem = f"a reading at {format_length(loss.at, engine.unit)} is far beyond the slot"
                raise source.fault(_read_in(engine, state, side, "slot"), problem, "look at its unit")
    elif condition.slot:
        remedy = "leave it out" + ("; a side's link is read in an engine file of its own gear" if gear.slots else "")
        raise source.fault(_read_in(engine, state, side, "slot"), "this gear has no slot of its own", remedy)
    for key, lacking, meaning, given in (
        ("twist", "die_length", "the die's length along the slot", condition.twist),
        ("heat", "spindle_length", "pin to valve", condition.heat.get("spindle")),
    ):
        if given and not getattr(condition, lacking):
            remedy = f"give it beside {key}: {meaning}"
            raise source.fault(_read_in(engine, state, side, key), f"{lacking} is missing", remedy)


def _read_in(engine: Engine, state: str, side: str, key: str) -> Where:
    """Where a figure of the gauge stands: in the last layer that gives it."""
    layers = [own.where for own in engine.layers(state, side) if key in own.wear]
    return (*(layers[-1] if layers else ()), "wear", key)
