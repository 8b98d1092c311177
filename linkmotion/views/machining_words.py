"""What a machining drawing says: its measures, stations, notes and title in words, in a unit; for paper and DXF."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

import numpy as np

from linkmotion.files.lengths import UNIT_NAMES, format_length
from linkmotion.studies.slot.machining_notes import notes
from linkmotion.studies.slot.measures import ACROSS, ALONG, DIAMETER, LEAN, RADIUS, Measure, X, Y
from linkmotion.studies.slot.stations import Station
from linkmotion.studies.slot.workpiece import Workpiece
from linkmotion.wear.slot_drawing import FACES

DIGITS = {"mm": 3, "in": 4, "ft": 5, "thou": 1}
_SIGN = {RADIUS: "R", DIAMETER: "Ø", X: "x=", Y: "y=", ACROSS: "", ALONG: "", LEAN: ""}
_NONE = 1e-9  # mm


class Figures:
    """Lengths as a machinist reads them, finer than in the table of events."""

    def __init__(self, unit: str) -> None:
        self.unit = unit

    def __call__(self, mm: float) -> str:
        """A length without its unit, which the page's head says, or a dash where there is none."""
        if not np.isfinite(mm):
            return "–"
        return format_length(float(mm), self.unit, digits=DIGITS[self.unit]).removesuffix(f" {self.unit}")

    def with_unit(self, mm: float) -> str:
        """A length with its unit."""
        return f"{self(mm)} {self.unit}"

    def measure(self, own: Measure) -> str:
        """The figure of a measure with its sign, and by how much it may be over and under."""
        if own.kind == LEAN:
            return f"{own.value:.4f}°"
        said = f"{_SIGN[own.kind]}{self(own.value)}"
        if own.limits is None:
            return said
        over, under = own.limits.most - own.value, own.value - own.limits.least
        return f"{said} +{self(over) if over > _NONE else 0} -{self(under) if under > _NONE else 0}"


def told(listed: Sequence[Measure], show: Figures) -> Iterator[tuple[Measure, str]]:
    """Measures in words, those of one place together.

    Parameters
    ----------
    listed, show : sequence of Measure, Figures
        As they follow one another; lengths.
    """
    for words, group in groupby(listed, key=lambda own: own.words):
        own = list(group)
        yield own[0], f"{words}: {', '.join(show.measure(each) for each in own)}"


def note_lines(piece: Workpiece, show: Figures) -> list[str]:
    """The notes, numbered; a warning begins with a cross.

    Parameters
    ----------
    piece, show : Workpiece, Figures
        Of which; lengths.
    """
    said = [(note.words.format(*(show.with_unit(size) for size in note.sizes)), note.warns) for note in notes(piece)]
    return [f"{i}. {'✗ ' if warns else ''}{words}." for i, (words, warns) in enumerate(said, 1)]


def title_lines(piece: Workpiece, title: str, unit: str) -> list[str]:
    """What stands in the title block.

    Parameters
    ----------
    piece, title, unit : Workpiece, str, str
        Of which; engine, state and side; of lengths.
    """
    datum = piece.work.datum
    return [title, f"Slot clean-up: {piece.proposal.name}. Lengths in {UNIT_NAMES[unit]}, from the datum: {datum}."]


def station_rows(placed: Sequence[Station], show: Figures, low: bool) -> tuple[list[str], list[list[str]]]:
    """Headings and rows of the table of stations.

    Parameters
    ----------
    placed, show : sequence of Station, Figures
        From the top down; lengths.
    low : bool
        Whether to tell what stays low.
    """
    heads = ["x", "cut", *(["left low"] if low else []), "cutter x"]
    rows = []
    for station in placed:
        row = [str(station.number), show(station.y)]
        for face in FACES:
            at = station.faces[face]
            row += [show(at.x), show(at.cut), *([show(at.low)] if low else []), show(at.cutter_x)]
        rows.append(row)
    return heads, rows
