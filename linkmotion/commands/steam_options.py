"""What the commands of steam and sound share: figures given beside the file's, cases to look at, and the speed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from pydantic import ValidationError

from linkmotion.commands.input import engine_with
from linkmotion.engine import DRAWING, Engine
from linkmotion.files.faults import FileError
from linkmotion.files.lengths import LengthError
from linkmotion.files.quantities import parse_speed
from linkmotion.files.schema import table_model
from linkmotion.files.side_named import sides_asked
from linkmotion.gears.steam import Steam, Wheels
from linkmotion.studies.assess import Assessment, assess
from linkmotion.views.request import Request
from linkmotion.wear.running import Load

FASTEST = 1200.0  # rev/min: no steam engine of this kind turns faster
Given = Mapping[str, Any]  # key of a table → as written on the command line
_OPTIONS = {"pressure": "steam", "diameter": "wheel"}  # where an option is not called as its key


@dataclass(frozen=True)
class Case:
    """One state in one notch (by its number) and direction of running."""

    assessment: Assessment
    notch: int
    direction: str


def engine_given(request: Request, steam: Given, wheels: Given) -> Engine:
    """The engine of a request, with the figures of its steam and wheels tables that the command line gives.

    Parameters
    ----------
    request : Request
        Names the file, states and notches.
    steam, wheels : mapping
        Key to figure as written, None where it is not given.

    Raises
    ------
    FileError
        As :func:`~.input.engine_with`; or a figure that cannot be used, by its option; or the file is of one of three
        cylinders, of which neither beats nor turning effort can be told by itself.
    """
    engine = engine_with(request.engine, request.states, request.notches)
    if len(engine.sides) == 1:
        raise FileError(
            str(request.engine),
            "this is one of three cylinders, and beats and turning effort are of all three",
            "ask check for its events; the outside cylinders' own gears are walschaerts, in a file of their own",
            key="engine.gear",
        )
    return replace(
        engine,
        steam=_laid_over(engine.steam, steam, Steam, engine.unit),
        wheels=_laid_over(engine.wheels, wheels, Wheels, engine.unit),
    )


def _laid_over(own: Any, given: Given, table: Any, unit: str) -> Any:
    values = {key: value for key, value in given.items() if value is not None}
    try:
        read = table_model(table, unit, False).model_validate(values)
    except ValidationError as error:
        first = error.errors()[0]
        wrong = first["ctx"].get("error") or f"read {first['input']!r}, wanted {first['ctx']['expected']}"
        raise FileError(_option(str(first["loc"][0])), str(wrong), "correct this figure") from None
    made = replace(own, **{key: getattr(read, key) for key in values})
    for fault in made.faults():
        raise FileError(_option(fault.key), fault.problem, fault.remedy)
    return made


def _option(key: str) -> str:
    return f"--{_OPTIONS.get(key, key).replace('_', '-')}"


def cases(engine: Engine, request: Request, load: Load) -> Iterator[Case]:
    """Every state, notch and direction that was asked for, in that order.

    Parameters
    ----------
    engine, request : Engine, Request
        As read; what was asked for.
    load : Load
        What takes up the play.

    Raises
    ------
    NotchError
        A notch that cannot be passed.
    """
    sides = sides_asked(engine, request.engine, request.side)
    for state in dict.fromkeys(request.states or (DRAWING,)):
        a = assess(engine, state, sides, request.notches or None, load=load)
        for notch in range(len(a.sides[0].notches)):
            for direction in request.wanted(a.sides[0], notch):
                yield Case(a, notch, direction)


def revolutions(speed: str, engine: Engine) -> float:
    """Revolutions of the wheel a minute.

    Parameters
    ----------
    speed : str
        As written: ``"60 rpm"``, ``"12 mph"``.
    engine : Engine
        Whose wheel's diameter a road speed needs.

    Raises
    ------
    FileError
        It cannot be read, or is a road speed and the wheel's diameter is not known.
    """
    try:
        value, unit = parse_speed(speed)
    except LengthError as error:
        raise FileError("--speed", str(error), "write it like 60 rpm, 12 mph or 20 km/h") from None
    if unit != "rpm":
        if engine.wheels.diameter is None:
            problem = f"{speed!r} needs the wheel's diameter"
            raise FileError("--speed", problem, "give --wheel, or diameter in the file's [wheels] table")
        value *= 60_000 / (math.pi * float(engine.wheels.diameter))
    if value > FASTEST:
        raise FileError("--speed", f"{value:.0f} revolutions a minute is no steam engine's speed", "is the unit right?")
    return value
