"""What several commands ask of an engine file: a state, notches, a part, and a study that may fail in one notch."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import fields
from pathlib import Path

from linkmotion.engine import DRAWING, Engine
from linkmotion.files.engine_file import read_engine
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.lengths import format_length
from linkmotion.files.lines import key_lines, line_of
from linkmotion.files.side_named import whose
from linkmotion.files.slip_question import slip_question
from linkmotion.files.source import dotted
from linkmotion.gears.sensitivity import marked
from linkmotion.linkage import LinkageError, UnreachableError
from linkmotion.sides import side_words
from linkmotion.studies.assess import NotchError
from linkmotion.studies.slips import notches_passed, passes

_TABLES = {"slidebars": "cylinder"}  # of parts that are no rods and have no table of their own name


def engine_with(path: Path, states: Iterable[str] = (), notches: Iterable[str] = ()) -> Engine:
    """Read an engine and see that it has some states and notches.

    Parameters
    ----------
    path : Path
        Of the engine file.
    states, notches : iterables of str
        By name; a notch must be one of every side in each of the states (the drawing, if none is given).

    Raises
    ------
    FileError
        The file cannot be read, or it has no such state or notch; the nearest is told.
    """
    engine = read_engine(path)
    states = list(states)
    for state in states:
        if state not in engine.state_names:
            raise FileError(str(path), f"there is no state {state!r}", nearest(state, engine.state_names))
    for state in states or ["drawing"]:
        for side in engine.sides:
            known = list(engine.side_state(state, side).notches)
            for notch in notches:
                if notch not in known:
                    problem = f"there is no notch {notch!r} ({state}, {side_words(side)})"
                    raise FileError(str(path), problem, nearest(notch, known))
    return engine


def table_named(engine: Engine, path: Path, name: str) -> str:
    """A part of the gear by its table's name.

    Parameters
    ----------
    engine, path : Engine, Path
        As read; its file, for messages.
    name : str
        Spaces and hyphens are allowed in it.

    Raises
    ------
    FileError
        The gear has no such part.
    """
    table = name.replace(" ", "_").replace("-", "_")
    known = [t.name for t in fields(engine.gear_type)]
    if table not in known:
        raise FileError(str(path), f"this gear has no part {name!r}", nearest(table, known))
    return table


@contextmanager
def telling(engine: Engine, path: Path) -> Iterator[None]:
    """Tell a gear that cannot be passed as a fault of the engine's file: in a notch, or in a study of what is near.

    Parameters
    ----------
    engine, path : Engine, Path
        As read; its file, for messages.

    Raises
    ------
    FileError
        With line, key and remedy, in place of any LinkageError within.
    """
    try:
        yield
    except NotchError as error:
        raise told(engine, path, error) from None
    except LinkageError as error:
        raise _told_nearby(engine, path, error) from None


def told(engine: Engine, path: Path, error: NotchError) -> FileError:
    """A notch that cannot be passed, told with the line of the part to look at: one that the state names, if any.

    Where one figure alone is wrong by a slip of the pen, it is that which is told.

    Parameters
    ----------
    engine, path, error : Engine, Path, NotchError
        As read; its file, for messages; what was raised.
    """
    lines = key_lines(engine.text)
    setup = engine.side_state(error.state, error.side)
    place = _place(engine, error.cause, error.state, error.side)
    remedy = "check the figures of these parts, and the notch's own"
    asked = None
    if isinstance(error.cause, LinkageError):
        asked = slip_question(engine, error.state, error.side, error.notch)
    if asked is not None:
        place = asked.place or place
        remedy = asked.words + "; else check the figures of these parts" * (asked.place is None)
    elif (passed := notches_passed(setup)) and error.notch not in passed:  # the gear is sound, this notch is not
        own = ("reversing", "notches", error.notch)
        place = max(((*engine.layer_of(own[:1], error.state, error.side), *own), own), key=lambda at: at in lines)
    words = error.words(lambda mm: format_length(mm, engine.unit)) + whose(engine, error.state, error.side)
    return FileError(str(path), words, remedy, line_of(lines, place), dotted(place))


def _told_nearby(engine: Engine, path: Path, error: LinkageError) -> FileError:
    """A gear that passes as it stands, but not as a study has to turn it: departed, with play, or at other angles."""
    words = str(error)
    if isinstance(error, UnreachableError):
        way = "too short to meet" if error.short > 0 else "too long to fit"
        words = f"{' and '.join(error.parts)}: {way}, by {format_length(abs(error.short), engine.unit)}"
    passing = {side: passes(engine.side_state(DRAWING, side)) for side in engine.sides_apart}
    side = next((side for side, can in passing.items() if not can), engine.sides[0])
    place = _place(engine, error, DRAWING, side)
    remedy = "the gear barely passes, and cannot be turned for this: check the figures of these parts"
    asked = None
    if not passing[side]:  # its notches one by one, but not all alike
        asked = slip_question(engine, DRAWING, side)
    if asked is not None:
        place, remedy = asked.place or place, f"{asked.words}; else {remedy}"
    return FileError(str(path), words, remedy, line_of(key_lines(engine.text), place), dotted(place))


def _place(engine: Engine, cause: Exception, state: str, side: str) -> tuple[str, ...]:
    """The table of the first of the parts that do not meet, in the state's own layer if any of them stands there."""
    tables = [table.name for table in fields(engine.gear_type)]
    gear = engine.gear(state, side)
    rods = {rod: key[0] for key, rod in marked(gear, "rod").items()}
    rods["slot"] = next((table for table, _key in marked(gear, "slot")), "")
    places = []
    for part in cause.parts if isinstance(cause, UnreachableError) else ("valve",):
        table = (rods | _TABLES).get(part, part.replace(" ", "_"))
        if table not in tables:
            table = "reversing" if "lifting" in part or "die" in part or "swivel" in part else "valve"
        places.append((*engine.layer_of((table,), state, side), table))
    return max(places, key=len)  # a state's layer has the longer path; the first of equals
