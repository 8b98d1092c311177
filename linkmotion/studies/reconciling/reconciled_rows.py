"""What reconciling says, as rows; lengths marked as such."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from linkmotion.studies.reconciling.next_measurement import NextMeasurement
from linkmotion.studies.reconciling.reconciled import Reconciliation
from linkmotion.studies.row_figures import measured


def dimension_rows(found: Reconciliation) -> Iterator[dict[str, Any]]:
    """A row for each dimension of a side."""
    for own in found.dimensions:
        yield {
            "side": found.side,
            "dimension": ".".join(own.key),
            "unit": own.unit,
            "drawing": _or_none(own.drawn, own.unit),
            "tolerance": measured(own.within, own.unit) if own.drawn is not None else None,
            "measured": _or_none(own.measured, own.unit),
            "measured_doubt": _or_none(own.measured_doubt, own.unit),
            "reconciled": measured(own.value, own.unit),
            "doubt": measured(own.doubt, own.unit),
            "from": own.origin,
            "off_its_drawing": own.off,
            "told": own.borne_out,
        }


def contradiction_rows(found: Reconciliation) -> Iterator[dict[str, Any]]:
    """A row for each taking that may be the wrong one, and each drawing; ``group`` numbers the contradictions."""
    for number, group in enumerate(found.contradictions, 1):
        takings = [("taking", str(own.taking), own.probability, own.by, own.taking.unit) for own in group.group]
        drawing = [("drawing", str(own), own.probability, own.by, own.unit) for own in group.drawing]
        for kind, taking, probability, by, unit in (*takings, *drawing):
            yield {
                "side": found.side,
                "group": number,
                "kind": kind,
                "taking": taking,
                "probability": probability,
                "out_by": measured(by, unit),
                "unit": unit,
            }


def unchecked_rows(found: Reconciliation) -> Iterator[dict[str, Any]]:
    """A row for each taking that no others check."""
    for own in found.unchecked:
        yield {
            "side": found.side,
            "taking": str(own.taking),
            "unnoticed": _or_none(own.unnoticed, own.taking.unit),
            "unit": own.taking.unit,
        }


def next_rows(found: Reconciliation) -> Iterator[dict[str, Any]]:
    """A row for each measurement to take next, the most telling first."""
    for own in found.next:
        yield {
            "side": found.side,
            "what": named(own),
            "kind": "part" if own.distance is None else "distance",
            "expected": None if own.distance is None else measured(own.distance.value, own.unit),
            "within": measured(own.doubt, own.unit),
            "unit": own.unit,
            "narrows": own.narrows,
        }


def named(own: NextMeasurement) -> str:
    """A measurement to take next, in words."""
    return ".".join(own.part) if own.part is not None else str(own.distance)


def _or_none(value: float | None, unit: str) -> float | None:
    return None if value is None else measured(value, unit)
