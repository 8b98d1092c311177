"""Doubts of events, and targets held against figures with their doubts, as rows."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from linkmotion.studies.doubts.judged import DoubtfulState
from linkmotion.studies.row_figures import measured


def doubt_rows(state: str, standing: str, found: DoubtfulState) -> Iterator[dict[str, Any]]:
    """A row for each figure of each side: its doubt, as far as the event happens."""
    for side, own in found.doubts.items():
        for figure in own.model.figures:
            doubt = own.doubt(figure)
            yield {
                "state": state, "standing": standing, "side": side, "notch": figure.notch,
                "direction": figure.direction, "end": figure.end, "figure": figure.kind,
                "doubt": measured(doubt, figure.unit) if doubt else None, "unit": figure.unit,
                "drawn": own.bends(figure),
            }  # fmt: skip


def held_rows(state: str, standing: str, found: DoubtfulState) -> Iterator[dict[str, Any]]:
    """A row for each target held against its figure with its doubt."""
    for own in found.judged:
        finding, unit = own.finding, own.finding.unit
        yield {
            "state": state, "standing": standing, "what": finding.what, "side": finding.side or "between",
            "notch": finding.notch, "direction": finding.direction, "end": finding.end,
            "size": measured(finding.size, unit), "doubt": measured(own.doubt, unit),
            "limit": measured(finding.limit, unit), "unit": unit, "told": own.told,
            "measure": [
                {"dimension": one.dimension, "to": measured(one.to, one.unit), "unit": one.unit} for one in own.better
            ],
        }  # fmt: skip
