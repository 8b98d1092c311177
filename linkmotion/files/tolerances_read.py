"""The [tolerances] table of an engine file, read for one side."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any

from linkmotion.engine import Engine
from linkmotion.files.faults import FileError
from linkmotion.files.lengths import parse_length
from linkmotion.files.lines import key_lines, line_of
from linkmotion.files.source import dotted
from linkmotion.gears import Gear, ReverserPosition
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.tolerances.given import tolerances_from
from linkmotion.studies.tolerances.tolerance import Tolerance, ToleranceError


def read_tolerances(
    engine: Engine, side: SideEvents, path: str | Path = "", tables: Mapping[str, Any] | None = None
) -> dict[Key, Tolerance]:
    """Tolerances of a side's dimensions; a general workshop tolerance where the file names none.

    Parameters
    ----------
    engine, side
        Whose table, and whose dimensions.
    path : path
        Of the file, for messages; the engine's name if not given.
    tables : mapping, optional
        Instead of the file's own table, laid out alike.

    Raises
    ------
    FileError
        An unknown key, or a figure that is no tolerance.
    """
    return tolerances_given(engine, side.gear, side.settings[0], path, tables)


def tolerances_given(
    engine: Engine,
    gear: Gear,
    setting: ReverserPosition,
    path: str | Path = "",
    tables: Mapping[str, Any] | None = None,
) -> dict[Key, Tolerance]:
    """The same of a gear and how its reverser is set.

    Parameters
    ----------
    engine, path, tables
        As for :func:`read_tolerances`.
    gear, setting : Gear, ReverserPosition
        Whose dimensions they are.

    Raises
    ------
    FileError
        An unknown key, or a figure that is no tolerance.
    """
    length = partial(parse_length, unit=engine.unit)
    try:
        return tolerances_from(engine.tolerances if tables is None else tables, gear, setting, length)
    except ToleranceError as error:
        where = ("tolerances", *error.path)
        line = line_of(key_lines(engine.text), where)
        raise FileError(str(path or engine.name), error.problem, error.remedy, line, dotted(where)) from None
