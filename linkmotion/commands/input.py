"""What several commands ask of an engine file: a state, notches, a part, and a study that may fail in one notch."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import fields
from pathlib import Path

from linkmotion.engine import SIDES, Engine
from linkmotion.files.engine_file import read_engine
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.lengths import format_length
from linkmotion.files.lines import key_lines, line_of
from linkmotion.files.source import dotted
from linkmotion.linkage import UnreachableError
from linkmotion.studies.assess import NotchError, can_pass

_TABLES = {  # of parts that have no table of their own name
    "slot": "expansion_link",
    "suspension link": "expansion_link",
    "forward eccentric rod": "eccentric_rods",
    "backward eccentric rod": "eccentric_rods",
    "slidebars": "cylinder",
}


def engine_with(path: Path, states: Iterable[str] = (), notches: Iterable[str] = ()) -> Engine:
    """Read an engine and see that it has these states and notches."""
    engine = read_engine(path)
    states = list(states)
    for state in states:
        if state not in engine.state_names:
            raise FileError(str(path), f"there is no state {state!r}", nearest(state, engine.state_names))
    for state in states or ["drawing"]:
        for side in SIDES:
            known = list(engine.side_state(state, side).notches)
            for notch in notches:
                if notch not in known:
                    problem = f"there is no notch {notch!r} ({state}, {side} side)"
                    raise FileError(str(path), problem, nearest(notch, known))
    return engine


def table_named(engine: Engine, path: Path, name: str) -> str:
    """A part of the gear by its table's name, spaces allowed."""
    table = name.replace(" ", "_").replace("-", "_")
    known = [t.name for t in fields(engine.gear_type)]
    if table not in known:
        raise FileError(str(path), f"this gear has no part {name!r}", nearest(table, known))
    return table


@contextmanager
def telling(engine: Engine, path: Path) -> Iterator[None]:
    """Tell a notch that cannot be passed as a fault of the engine's file."""
    try:
        yield
    except NotchError as error:
        raise told(engine, path, error) from None


def told(engine: Engine, path: Path, error: NotchError) -> FileError:
    """A notch that cannot be passed, told with the line of the part to look at: one that the state names, if any."""
    lines = key_lines(engine.text)
    parts = error.cause.parts if isinstance(error.cause, UnreachableError) else ("valve",)
    tables = [table.name for table in fields(engine.gear_type)]
    places = []
    for part in parts:
        table = _TABLES.get(part, part.replace(" ", "_"))
        if table not in tables:
            table = "reversing" if "lifting" in part or "die" in part or "swivel" in part else "valve"
        places.append((*engine.layer_of(table, error.state, error.side), table))
    place = max(places, key=len)  # a state's layer has the longer path; the first of equals
    setup = engine.side_state(error.state, error.side)
    if not can_pass(setup, error.notch) and any(can_pass(setup, name) for name in setup.notches):
        own = ("reversing", "notches", error.notch)  # the gear is sound, this notch is not
        place = max(((*engine.layer_of("reversing", error.state, error.side), *own), own), key=lambda at: at in lines)
    where = "" if error.state == "drawing" else f" (state {error.state!r}, {error.side} side)"
    remedy = "check the figures of these parts, and the notch's own"
    words = error.words(lambda mm: format_length(mm, engine.unit))
    return FileError(str(path), f"{words}{where}", remedy, line_of(lines, place), dotted(place))
