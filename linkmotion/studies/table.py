"""The table of events: one row for a notch, a direction of running and an end.

The same rows feed the printed table, the report, CSV and JSON.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from linkmotion.events import DIRECTIONS, EVENTS
from linkmotion.studies.assess import Assessment, SideEvents
from linkmotion.studies.row_figures import length, plain
from linkmotion.studies.virtual_eccentric import of_side
from linkmotion.valve import ENDS


@dataclass(frozen=True)
class Column:
    """A figure of the table.

    Attributes
    ----------
    key, title : str
        Name in CSV and JSON; heading in tables.
    kind : str
        "length" (mm), "percent" (of stroke), "angle" (degrees) or "words".
    meaning : str
        One line for the reader.
    """

    key: str
    title: str
    kind: str
    meaning: str


COLUMNS: tuple[Column, ...] = (
    Column("state", "state", "words", "the drawing, or a named state"),
    Column("standing", "standing", "words", "as it stands, set afresh, or in service"),
    Column("side", "side", "words", "side of the engine"),
    Column("notch", "notch", "words", "position of the reverser"),
    Column("direction", "direction", "words", "direction of running"),
    Column("drives", "drives", "words", "direction in which this notch drives the engine"),
    Column("end", "end", "words", "end of the cylinder"),
    Column("lead", "lead", "length", "steam opening at the end's dead centre (negative: still blind)"),
    *(
        Column(f"{event}_{what}", event, what, f"{event}: {words}")
        for event in EVENTS
        for what, words in (
            ("percent", "piston's distance from the end's dead centre, percent of stroke"),
            ("angle", "crank angle from the end's dead centre in the direction of running"),
        )
    ),
    Column(
        "opening",
        "opening",
        "length",
        "greatest steam opening, not more than the port (negative: never opens, by so much)",
    ),
    Column("over_travel", "over-travel", "length", "steam edge past full opening"),
    Column("valve_travel", "travel", "length", "valve travel"),
    Column("die_slip", "die slip", "length", "movement of the die along the slot, where the gear does not work by it"),
    Column("die_stroke", "die stroke", "length", "movement of the die along the slide, by which the gear works"),
    Column(
        "room_top", "room at top", "length", "nearest approach of the die to the slot's top end (negative: beyond it)"
    ),
    Column("room_bottom", "room at bottom", "length", "nearest approach of the die to the slot's bottom end"),
    Column("link_swing", "swing", "angle", "total swing of the link"),
    Column("virtual_throw", "virtual throw", "length", "throw of the equivalent eccentric"),
    Column("virtual_angle", "virtual angle", "angle", "equivalent eccentric ahead of the crank pin in forward running"),
    Column("virtual_advance", "virtual advance", "angle", "equivalent eccentric beyond the right angle (− short)"),
    Column("left_over", "left over", "length", "greatest departure of the valve from the equivalent eccentric"),
    Column("lost_motion", "lost motion", "length", "greatest lost motion at the spindle, wheel held"),
    Column("remarks", "remarks", "words", "ports that never open, open twice, or just touch"),
)


LENGTHS = tuple(column.key for column in COLUMNS if column.kind == "length")
_AS: dict[str, Callable[[Any], Any]] = {"length": length, "percent": plain, "angle": plain, "words": str}


def event_rows(
    assessment: Assessment, wanted: Callable[[SideEvents, int], tuple[str, ...]] = lambda _side, _notch: DIRECTIONS
) -> Iterator[dict[str, Any]]:
    """Rows of the table; lengths mm, angles degrees; None where an event does not happen.

    Parameters
    ----------
    assessment : Assessment
        The engine's events.
    wanted : callable
        Directions to be listed for a side's notch (by its number); both unless said otherwise.
    """
    for side in assessment.sides:
        alike = of_side(side)
        for i, notch in enumerate(side.notches):
            own = {
                "state": side.state,
                "standing": side.standing,
                "side": side.side,
                "notch": notch,
                "drives": side.drives[i],
                "virtual_throw": alike.throw[i],
                "virtual_angle": alike.angle[i],
                "virtual_advance": alike.advance[i],
                "left_over": alike.left_over[i],
                "lost_motion": side.lost[i].max(),
            } | _link(side, i)
            for direction in wanted(side, i):
                for end in ENDS:
                    row = (
                        own
                        | {"direction": direction, "end": end, "valve_travel": side.travel[direction][i]}
                        | _end(side, i, direction, end)
                    )
                    yield {column.key: _AS[column.kind](row[column.key]) for column in COLUMNS}


def _link(side: SideEvents, i: int) -> dict[str, Any]:
    """What the die does in the slot; nothing where there is no link."""
    slot = side.gear.slot
    if slot is None:
        return dict.fromkeys(("die_slip", "die_stroke", "room_top", "room_bottom", "link_swing"), float("nan"))
    low, high = (reach[i] for reach in side.motion.die_reach)
    return {
        "die_slip": float("nan") if slot.works else high - low,
        "die_stroke": high - low if slot.works else float("nan"),
        "room_top": slot.top - high,
        "room_bottom": slot.bottom + low,
        "link_swing": float("nan") if slot.works else side.motion.link_swing[i],
    }


def _end(side: SideEvents, i: int, direction: str, end: str) -> dict[str, Any]:
    own = side.events[direction][end]
    told = [f"{flow} port {said[i]}" for flow, said in own.missing.items() if said[i]]
    events = {f"{name}_percent": own.percent[name][i] for name in EVENTS}
    events |= {f"{name}_angle": own.angle[name][i] for name in EVENTS}
    return events | {
        "lead": own.lead[i],
        "opening": own.opening[i],
        "over_travel": own.over_travel[i],
        "remarks": "; ".join(told),
    }
