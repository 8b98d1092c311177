"""A repair as a job: what to work to on each side, within which limits, and what to read once it is done."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from linkmotion.engine import Engine
from linkmotion.gears.keys import key_in_words
from linkmotion.gears.reverser import Arm, DieHeight
from linkmotion.repair import Repair
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.figure import DEGREES, MM
from linkmotion.studies.repairs.choice import Weighed
from linkmotion.studies.repairs.weigher import in_order, repaired
from linkmotion.studies.tolerances.tolerance import Tolerances
from linkmotion.valve import ENDS
from linkmotion.wear.condition import wear_in_words

SLOT = "slot"
_ANGLE = re.compile(r"angle$|inclination$|lean$")  # keys of angles, in every gear
_DEGREES = ("angle_slip",)


@dataclass(frozen=True)
class JobFigure:
    """One figure that a repair makes.

    Attributes
    ----------
    side : str
        Which.
    key : (str, str)
        Table and key; ("wear", …) of what the gauge found.
    name : str
        In words.
    before, after : float or None
        As it is, and to be worked to; None where it is no plain figure.
    least, most : float or None
        Limits; None where there is none on that side.
    unit : str
        "mm" or "degrees".
    assumed : bool
        Whether the limits are by the general rule of the workshop.
    """

    side: str
    key: tuple[str, str]
    name: str
    before: float | None
    after: float | None
    least: float | None
    most: float | None
    unit: str
    assumed: bool = False


@dataclass(frozen=True)
class Expected:
    """What is to be read of one end once all that was chosen is done."""

    side: str
    notch: str
    direction: str
    end: str
    lead: float
    lead_before: float
    cutoff: float
    cutoff_before: float


@dataclass(frozen=True)
class Job:
    """A job.

    Attributes
    ----------
    repair : Repair
        Which.
    number : int
        Its place in the order of work, from 1.
    sides : tuple of str
        Those that it touches.
    figures : tuple of JobFigure
        What to work to.
    slots : tuple of str
        Sides of which the slot is cleaned up.
    after : tuple of str
        Jobs that must be done before it.
    """

    repair: Repair
    number: int
    sides: tuple[str, ...]
    figures: tuple[JobFigure, ...]
    slots: tuple[str, ...]
    after: tuple[str, ...]


def jobs(engine: Engine, state: str, chosen: Weighed, tolerances: Mapping[str, Tolerances]) -> list[Job]:
    """The jobs of a set, in order of work.

    Parameters
    ----------
    engine, state, chosen : Engine, str, Weighed
        As read; before any of it; what is to be done.
    tolerances : dict
        By side, of its dimensions: what the shop holds.
    """
    order = in_order(engine.repairs, chosen.chosen)
    after, last = repaired(engine, state, order)
    found = []
    for number, name in enumerate(order, 1):
        own = engine.repairs[name]
        sides = tuple(side for side in engine.sides if own.touches(side))
        figures = [each for side in sides for each in _figures(engine, state, after, last, side, own, tolerances[side])]
        slots = tuple(side for side in sides if any(SLOT in own.wear.get(layer, {}) for layer in ("both", side)))
        found.append(Job(own, number, sides, tuple(figures), slots, own.needs))
    return found


def _figures(
    engine: Engine, state: str, after: Engine, last: str, side: str, own: Repair, tolerances: Tolerances
) -> Iterator[JobFigure]:
    before, then = engine.tables(state, side), after.tables(last, side)
    for table, key in _keys(own, side):
        was, now = (_plain(tables.get(table, {}), key) for tables in (before, then))
        held = tolerances.get((table, key))
        least, most = (None, None) if held is None or now is None else (now - held.within, now + held.within)
        angle = isinstance(then[table].get("notches", {}).get(key.partition(".")[2]), Arm) or _ANGLE.search(key)
        yield JobFigure(
            side, (table, key), key_in_words((table, key)), was, now, least, most, DEGREES if angle else MM,
            held is not None and held.assumed,
        )  # fmt: skip
    found, left = engine.condition(state, side), after.condition(last, side)
    for layer in ("both", side):
        for key, value in own.wear.get(layer, {}).items():
            if key == SLOT:
                continue
            for name in value if isinstance(value, Mapping) else ("",):
                was, now = (_plain(vars(each), f"{key}.{name}".rstrip(".")) for each in (found, left))
                unit = DEGREES if key in _DEGREES else MM
                yield JobFigure(
                    side, ("wear", f"{key}.{name}".rstrip(".")), wear_in_words(key, name), was, now, None, now, unit
                )


def _keys(own: Repair, side: str) -> Iterator[tuple[str, str]]:
    found: dict[tuple[str, str], None] = {}
    for layer in ("both", side):
        for table, keys in own.layers.get(layer, {}).items():
            for key, value in keys.items():
                inner = value.keys() if isinstance(value, Mapping) and key != "set_in" else ("",)
                found |= dict.fromkeys((table, f"{key}.{name}".rstrip(".")) for name in inner)
    yield from found


def _plain(tables: Mapping[str, Any], key: str) -> float | None:
    """A figure of a table as a plain number; None of words and of what is not given (of wear: nothing)."""
    value: Any = tables
    first, _, rest = key.partition(".")
    for step in (first, rest) if rest else (first,):
        value = value.get(step, 0.0 if rest and step == rest else None) if isinstance(value, Mapping) else None
    if isinstance(value, Arm | DieHeight):
        value = value.angle if isinstance(value, Arm) else value.height
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def expected(before: Weighed, chosen: Weighed) -> list[Expected]:
    """Leads and cutoffs once all is done, beside what they are now on reassembly.

    Parameters
    ----------
    before, chosen : Weighed
        Nothing done; what is to be done.
    """
    if before.result is None or chosen.result is None:
        return []
    rows = []
    for was, now in zip(before.result.assessment.sides, chosen.result.assessment.sides, strict=True):
        for i, notch in enumerate(now.notches):
            for direction in now.driven(i):
                rows += [_row(was, now, i, notch, direction, end) for end in ENDS]
    return rows


def _row(was: SideEvents, now: SideEvents, i: int, notch: str, direction: str, end: str) -> Expected:
    one, other = (side.events[direction][end] for side in (was, now))
    cutoffs = (float(own.percent["cutoff"][i]) for own in (other, one))
    return Expected(now.side, notch, direction, end, float(other.lead[i]), float(one.lead[i]), *cutoffs)
