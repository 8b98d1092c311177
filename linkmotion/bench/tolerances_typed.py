"""What the shop holds on new parts, typed on the bench: the file's [tolerances], named as ``hold`` names them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.table_figures import TableFigure, value_at
from linkmotion.engine import Engine
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import Place, figure_at
from linkmotion.files.tolerances_read import tolerances_given
from linkmotion.files.workshop_tables import set_somehow
from linkmotion.gears import Gear
from linkmotion.gears.keys import key_in_words
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.figures.dimensions import CENTRAL, dimensions_of
from linkmotion.studies.figures.play import CLEARANCE, clearable
from linkmotion.studies.tolerances.tolerance import (
    DISTRIBUTIONS,
    GENERAL,
    GENERAL_ANGLE,
    Tolerance,
    kind_of,
)
from linkmotion.views.tolerance_table import fine

TABLE = "tolerances"


def tolerances_of(work: EngineAtWork, engine: Engine, state: str, side: str) -> dict[str, list[TableFigure]]:
    """Every tolerance that can be given, by part: what holds for all that is not named first, then joints as made."""
    gear = engine.gear(state, side)
    setting = set_somehow(gear)
    try:
        held: Mapping[Key, Tolerance] = tolerances_given(engine, gear, setting)
    except FileError:  # a key that only another state or side has: `hold` tells it
        held = {}
    found = {"all that is not named": list(_for_all(work, engine))}
    keys = [key for key in dimensions_of(gear, setting) if key != CENTRAL or gear.valve.central_at is not None]
    for key in (*keys, *((CLEARANCE, joint) for joint in clearable(gear))):
        part = "clearance at the pins, as made" if key[0] == CLEARANCE else key[0].replace("_", " ")
        found.setdefault(part, []).append(_one(work, engine, gear, key, held.get(key)))
    return found


def _for_all(work: EngineAtWork, engine: Engine) -> Iterator[TableFigure]:
    rows = (
        ("general", "Every length, either way", engine.unit, f"± {fine(GENERAL, engine.unit)} {engine.unit} assumed"),
        ("general_angle", "Every angle, either way", "°", f"± {GENERAL_ANGLE:g}° assumed"),
        ("general_clearance", "Clearance at every pin, at most", engine.unit, "none if not given"),
    )
    for key, words, unit, more in rows:
        yield TableFigure((TABLE, key), words, unit, value_at(work, (TABLE, key)), more)
    place = (TABLE, "distribution")
    more = "normal: one piece in 22 lies outside; uniform: anywhere within, alike"
    yield TableFigure(
        place, "How pieces lie within", "", value_at(work, place), more, DISTRIBUTIONS, "not given: normal"
    )


def _one(work: EngineAtWork, engine: Engine, gear: Gear, key: Key, own: Tolerance | None) -> TableFigure:
    place = _written(work, key)
    angle = kind_of(gear, key) == "angle"
    unit = "°" if angle else engine.unit
    more = "exact" if own is None else _holds(own, f"{own.within:.2f}" if angle else fine(own.within, unit), unit)
    if own is None and key[0] == CLEARANCE:
        more = "no clearance"
    return TableFigure(place, _words(key), unit, value_at(work, place), more, in_table=True)


def _words(key: Key) -> str:
    """As ``hold`` names it within its part."""
    words = key_in_words(key).partition(": ")[2]
    return words[:1].upper() + words[1:]


def _holds(own: Tolerance, width: str, unit: str) -> str:
    space = "" if unit == "°" else " "
    told = f"up to {width}{space}{unit}" if own.from_nothing else f"± {width}{space}{unit}"
    return f"{told} assumed" if own.assumed else told


def _written(work: EngineAtWork, key: Key) -> Place:
    """Where a tolerance stands, or is to: a joint's name with its spaces, or without where the file has it so."""
    own = key[1] if key[0] == CLEARANCE else key[1].replace(" ", "_")
    there = (TABLE, key[0], own) if key[0] == CLEARANCE else (TABLE, key[0], *own.split("."))
    other = (*there[:-1], there[-1].replace(" ", "_"))
    return other if figure_at(work.document, there) is None and figure_at(work.document, other) is not None else there
