"""The machining drawing of a proposal as plain rows: they feed JSON and the library's tables. Lengths mm."""

from __future__ import annotations

from typing import Any

from linkmotion.studies.row_figures import Length, length, measured
from linkmotion.studies.slot.in_gear import SlotInGear
from linkmotion.studies.slot.measures import BLOCK, LEAN, Measure, measures
from linkmotion.studies.slot.parts import Proposal
from linkmotion.studies.slot.stations import Station, stations
from linkmotion.studies.slot.workpiece import Workpiece, workpiece
from linkmotion.wear.slot_drawing import FACES


def machining_rows(work: SlotInGear, proposal: Proposal, unit: str) -> dict[str, Any]:
    """What is dimensioned of a proposal, and its stations.

    Parameters
    ----------
    work, proposal, unit : SlotInGear, Proposal, str
        A clean-up in its gear, one of its proposals; of lengths, as the reader sees them.
    """
    piece = workpiece(work, proposal, unit)
    placed = stations(piece, unit)
    return {
        "measures": [measure_row(piece, own, unit) for own in measures(piece)],
        "stations": [station_row(own) for own in placed],
    }


def measure_row(piece: Workpiece, own: Measure, unit: str) -> dict[str, Any]:
    """A measure: its figure and limits, and the points between which it lies, from the datum.

    Of the die block they are from its middle.

    Parameters
    ----------
    piece, own, unit : Workpiece, Measure, str
        Of what, and which; of lengths.
    """
    start, end = (each - (piece.die_at if own.of == BLOCK else 0j) for each in (own.start, own.end))
    limits = (None, None) if own.limits is None else tuple(map(length, own.limits))
    return {
        "key": own.key,
        "words": own.words,
        "of": own.of,
        "kind": own.kind,
        "unit": "degrees" if own.kind == LEAN else unit,
        "value": measured(own.value, "degrees" if own.kind == LEAN else "mm"),
        "least": limits[0],
        "most": limits[1],
        "from": [Length(start.real), Length(start.imag)],
        "to": [Length(end.real), Length(end.imag)],
    }


def station_row(own: Station) -> dict[str, Any]:
    """A station with its ordinates on both faces.

    Parameters
    ----------
    own : Station
        Which.
    """
    row: dict[str, Any] = {"station": own.number, "y": Length(own.y)}
    for face in FACES:
        at = own.faces[face]
        row |= {f"x_{face}": Length(at.x), f"cut_{face}": Length(at.cut), f"left_low_{face}": Length(at.low)}
        row |= {f"cutter_x_{face}": Length(at.cutter_x)}
    return row
