"""What to alter on an engine to set its valves: from readings, or from a state as its file has it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from linkmotion.engine import DRAWING
from linkmotion.engine import Engine as EngineAsRead
from linkmotion.face.belief import beliefs
from linkmotion.face.engine import Engine
from linkmotion.face.engine_advice import EngineAdvice as EngineAdvice
from linkmotion.face.names import known, known_side
from linkmotion.face.readings import ReadingsFile
from linkmotion.files.adjustments_table import adjustments_given
from linkmotion.files.readings_file import Readings
from linkmotion.studies.setting.adjustments import adjustments_of
from linkmotion.studies.setting.choices import Choices
from linkmotion.studies.setting.choices import advise as advise_sides
from linkmotion.studies.setting.foreseen import DIAGNOSIS
from linkmotion.studies.setting.foreseen import DRAWING as AS_READ

BASES = (DIAGNOSIS, AS_READ)


def advise(
    engine: Engine,
    readings: ReadingsFile | None = None,
    state: str = DRAWING,
    sides: Iterable[str] | None = None,
    basis: str = DIAGNOSIS,
    adjustments: Mapping[str, Mapping[str, Any]] | None = None,
    *,
    move_sound_parts: bool = False,
    once_mended: bool = False,
) -> EngineAdvice:
    """Find what to alter to set the valves: what is off its drawing is put back, then the valves are trimmed.

    Parameters
    ----------
    engine : Engine
        With an [adjustments] table if there is one.
    readings : ReadingsFile, optional
        Taken on the engine; without them the gear is as its file has the ``state``.
    sides : iterable of str, optional
        To be set, of those that were read; all unless given.
    basis : str
        "diagnosis": the gear as estimated from the readings; "drawing": the readings laid over the gear as drawn.
    adjustments : dict, optional
        Instead of the file's [adjustments]: dimension → what stands there, such as
        ``{"eccentric_rod.length": {"step": "1/64 in", "most": "1/8 in", "cost": 2}}``; ``cost`` in hours.
    move_sound_parts : bool
        Whether parts that stand at their figures may be moved to make up for others.
    once_mended : bool
        Whether it is given for the engine once what no adjustment puts back is mended.

    Raises
    ------
    UnknownName
        No such state, side or basis.
    FileError
        An adjustment that cannot be used: with its key and remedy.
    """
    if isinstance(sides, str):
        raise TypeError(f"sides={sides!r}: give a tuple of sides, such as ({sides!r},)")
    every = engine.as_read.sides
    names = [known_side(side, every) for side in (every if sides is None else sides)]
    known("basis", basis, BASES)
    known("state", state, engine.states)
    own = engine.as_read if adjustments is None else replace(engine.as_read, adjustments=_in_tables(adjustments))
    read = None if readings is None else readings.of(own)
    if read is not None:
        state, names = read.state, [side for side in read.sides if side in names]
    return advised(own, state, names, read, basis, move_sound_parts=move_sound_parts, once_mended=once_mended)


def _in_tables(adjustments: Mapping[str, Mapping[str, Any]]) -> dict[str, Any]:
    """Adjustments by dimension, laid out as in an engine file."""
    tables: dict[str, Any] = {}
    for name, own in adjustments.items():
        into, (*path, last) = tables, name.split(".")
        for step in path:
            into = into.setdefault(step, {})
        into[last] = dict(own)
    return tables


def advised(
    engine: EngineAsRead,
    state: str,
    sides: list[str],
    readings: Readings | None,
    basis: str,
    file: str = "",
    *,
    move_sound_parts: bool = False,
    once_mended: bool = False,
) -> EngineAdvice:
    """As :func:`advise`, of an engine as read.

    Parameters
    ----------
    engine : linkmotion.engine.Engine
        As read.
    state, sides : str, list of str
        Which state of the file; the sides to be set.
    readings : Readings or None
        Taken on the engine; without them the gear is as its file has the state.
    basis, move_sound_parts, once_mended
        As for :func:`advise`.
    file : str
        Named in messages on the engine's tables.
    """
    stand = beliefs(engine, state, sides, readings, basis, file)
    first = stand[0].estimate.side
    given, assumed = adjustments_given(engine, file or engine.name, first.gear, first.settings[0])
    adjustments = adjustments_of(first.gear, given, sides, assumed)
    hours = {side: {each.key: each.hours for each in adjustments if each.on(side)} for side in sides}
    stand = tuple(own.with_accused(hours[own.estimate.side.side]) for own in stand)

    def choices() -> Choices:
        estimates = [own.estimate for own in stand]
        return advise_sides(estimates, adjustments, engine.targets, move_sound_parts=move_sound_parts)

    found = choices()
    now = found[found.default]
    out_now = len(now.out(now.held_before))
    once_mended = once_mended and bool(found.repairs)
    if once_mended:
        stand = tuple(own.with_mended(found.repairs) for own in stand)
        found = replace(choices(), repairs=found.repairs)
    unit = readings.unit if readings else engine.unit
    return EngineAdvice(engine, state, unit, found, stand, readings, found.default, assumed, once_mended, out_now)
