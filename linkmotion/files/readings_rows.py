"""One row of a readings file, checked by itself."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, StrictStr, ValidationError

from linkmotion.events import BACKWARD, EVENTS, FORWARD
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.readings_source import known_as
from linkmotion.files.source import Source, Where, shown
from linkmotion.studies.figures.figure import KINDS

_ENDED = ("lead", "opening", *EVENTS)  # kinds that are read at an end


class Row(BaseModel):
    """One row of a side."""

    model_config = ConfigDict(extra="forbid")
    notch: StrictStr
    kind: Literal[KINDS]  # type: ignore[valid-type]
    direction: Literal["forward", "backward"] | None = None
    at: Any = None
    front: Any = None
    back: Any = None
    reads: Any = None
    within: Any = None
    turned: Any = None


def row_of(source: Source, row: Any, where: Where) -> Row:
    """Check a row by itself: its keys, and that it says all that its kind asks for.

    Parameters
    ----------
    source, row, where
        The file; what it has as a row, and where.

    Raises
    ------
    FileError
        With line, key and remedy.
    """
    table = source.table(row, where) if isinstance(row, dict) else None
    if table is None:
        raise source.fault(where, f"read {shown(row)}, wanted a row", "write { notch = …, kind = …, front = … }")
    try:
        found = Row.model_validate(table)
    except ValidationError as error:
        raise _unfit(source, error.errors(), where) from None
    _complete(source, found, where)
    return found


def _unfit(source: Source, errors: list[Any], where: Where) -> FileError:
    """The fault to be told first: a missing key last, since a misspelt one is missing too."""
    error = min(errors, key=lambda each: each["type"] == "missing")
    key = str(error["loc"][0])
    path = (*where, key)
    match error["type"]:
        case "extra_forbidden":
            return source.fault(path, "unknown", known_as(key, list(Row.model_fields)))
        case "missing":
            return source.fault(path, "missing", f"give {key} in this row")
        case "literal_error":
            known = list(KINDS) if key == "kind" else [FORWARD, BACKWARD]
            return source.fault(path, f"read {shown(error['input'])}", nearest(str(error["input"]), known))
    read = shown(error["input"])
    plain = f"read {read}: wanted are words"
    return source.fault(path, f"read {read}, wanted words in quotes", f'write {key} = "…"', plain)


def _complete(source: Source, row: Row, where: Where) -> None:
    """See that the row says all that its kind asks for."""
    if row.front is None and row.back is None and row.reads is None:
        raise source.fault(where, "no figure was read", "give front, back or reads, or take the row out")
    if row.kind in _ENDED and row.reads is not None:
        raise source.fault((*where, "reads"), f"at which end is this {row.kind}?", "give it as front or back")
    if row.kind not in (*_ENDED, "valve") and (row.front is not None or row.back is not None):
        raise source.fault(where, f"a {row.kind} has no ends", "give it as reads")
    if row.kind in EVENTS and row.direction is None:
        raise source.fault((*where, "direction"), "missing", f"say in which direction of running the {row.kind} is")
    if row.at is not None:
        _angle(source, row, where)
    elif row.kind == "lost motion" or (row.kind == "valve" and row.reads is not None):
        told = "give at, the crank angle from front dead centre in the direction of running"
        raise source.fault((*where, "at"), "missing", told)


def _angle(source: Source, row: Row, where: Where) -> None:
    own = (*where, "at")
    if row.kind in _ENDED:
        raise source.fault(own, f"a {row.kind} is not taken at a crank angle of your choice", "leave out at")
    if isinstance(row.at, bool) or not isinstance(row.at, int | float) or not 0 <= row.at <= 360:
        raise source.fault(own, f"read {shown(row.at)}", "give a crank angle from 0 to 360 degrees")
    if row.front is not None or row.back is not None:
        told = "a dead centre and a crank angle are both given"
        raise source.fault(own, told, "give front or back without at, or reads with at")
    if row.direction is None:
        raise source.fault((*where, "direction"), "missing", "say in which direction the crank angle counts")
