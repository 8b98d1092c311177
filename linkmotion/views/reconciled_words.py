"""What reconciling says, in sentences and as a table."""

from __future__ import annotations

from collections.abc import Iterator

from linkmotion.files.lengths import format_length
from linkmotion.gears.keys import key_in_words
from linkmotion.sides import side_words
from linkmotion.studies.figures.figure import MM, PERCENT
from linkmotion.studies.reconciling.drawn_and_measured import Part
from linkmotion.studies.reconciling.next_measurement import NextMeasurement
from linkmotion.studies.reconciling.reconciled import (
    BOTH,
    DRAWN,
    ORIGINS,
    RULE,
    Contradiction,
    Reconciliation,
)
from linkmotion.studies.reconciling.reconciled_rows import named
from linkmotion.studies.reconciling.taking import SLIP
from linkmotion.studies.tolerances.tolerance import GENERAL, GENERAL_ANGLE
from linkmotion.views.grid import Column, Grid
from linkmotion.views.tables import Shown

_ALONE, _SHORT = "unproved", {BOTH: "both"}
_MISFIT = 1e-3  # probability of so bad a fit


class ReconciledWords:
    """One side's reconciliation in words.

    Parameters
    ----------
    found : Reconciliation
        Of the side.
    unit : str
        Of lengths shown.
    """

    def __init__(self, found: Reconciliation, unit: str) -> None:
        self.found, self.unit, self.shown = found, unit, Shown(unit)

    def answer(self) -> str:
        """In one sentence: how many dimensions are known by what, and whether anything contradicts."""
        counts = [(sum(own.origin == origin for own in self.found.dimensions), origin) for origin in ORIGINS]
        known = ", ".join(
            f"{count} {origin if origin != DRAWN else 'by the drawing'}" for count, origin in counts if count
        )
        told = f"{side_words(self.found.side)}: {len(self.found.dimensions)} dimensions: {known}"
        if self.found.contradictions:
            return f"{told}. {self._contradicted()}"
        return f"{told}; nothing measured contradicts itself."

    def _contradicted(self) -> str:
        plainest = self.found.contradictions[0]
        first = plainest.group
        what = f"{first[0].taking}" if len(first) == 1 else f"one of {len(first)} measurements"
        more = len(self.found.contradictions) - 1
        beside = f", and {more} more" if more else ""
        instead = ", OR A PART IS OFF ITS DRAWING" if plainest.drawing else ""
        return f"SOMETHING IS MEASURED WRONG{instead}: retake {what}{beside} before metal is cut."

    def sentences(self) -> Iterator[str]:
        """Contradictions, what nothing checks, what nothing tells, what to measure next."""
        yield from self._contradictions()
        if self.found.fit < _MISFIT:
            yield (
                "All that was measured scatters further than is stated of it: the doubts given are too small, or more "
                "is wrong than is named here."
            )
        off = [own for own in self.found.dimensions if own.off > 0.5 and own.drawn is not None]
        for own in sorted(off, key=lambda each: -each.off):
            by = own.value - (own.drawn or 0.0)
            told = f"{key_in_words(own.key)}, by {self._signed(by, own.unit)} ({100 * own.off:.0f} % sure)"
            yield f"Off its drawing: {told}."
        if self.found.unchecked:
            yield (
                f"Of {len(self.found.takings)} measurements {len(self.found.unchecked)} are not checked by others to "
                f"{self._size(SLIP[MM], MM)} (the last table): measure those twice before metal is cut."
            )
        assumed = [str(own) for own in self.found.takings if isinstance(own.of, Part) and own.of.assumed]
        if assumed:
            yield (
                f"Taken without ±, and held to be within {self._size(GENERAL, MM)} or {GENERAL_ANGLE}°: "
                f"{', '.join(assumed)}. Give each its own ±."
            )
        ruled = [key_in_words(own.key) for own in self.found.dimensions if own.origin == RULE]
        if ruled:
            yield f"A proposal by the trade's rules, since nobody has them: {', '.join(ruled)}."
        alone = self.found.on_drawing_alone
        if alone:
            yield (
                f"Not determined by anything measured: {len(alone)} dimensions, '{_ALONE}' in the table: whether "
                "the drawing holds of them nobody knows."
            )
        if self.found.next:
            yield "Measure next: " + "; then ".join(self._next(own) for own in self.found.next[:3]) + "."

    def _contradictions(self) -> Iterator[str]:
        for own in self.found.contradictions:
            listed = [
                f"{each.taking}{self._line(each.taking.of)} (out by {self._signed(each.by, each.taking.unit)}, if it "
                f"is this; {100 * each.probability:.0f} %)"
                for each in own.group
            ]
            lead = "Retake" if len(listed) == 1 else "One of these is wrong; retake, in this order"
            yield f"{lead}: {'; '.join(listed)}{self._instead(own)}."

    def _instead(self, told: Contradiction) -> str:
        """What explains it where no measurement is wrong."""
        off = [f"{own} by {self._signed(own.by, own.unit)} ({100 * own.probability:.0f} %)" for own in told.drawing]
        found = f"; or none is wrong and a part is off its drawing: {', '.join(off)}" if off else ""
        return found + (f"; or nothing is wrong ({100 * told.nothing:.0f} %)" if told.nothing else "")

    @staticmethod
    def _line(taken: object) -> str:
        line = getattr(taken, "line", 0)
        return f" [line {line}]" if line else ""

    def _next(self, own: NextMeasurement) -> str:
        near = f"to {self._size(own.doubt, own.unit)}"
        gain = f"leads and cutoffs are then known {100 * own.narrows:.0f} % more nearly"
        if own.distance is None:
            return f"{named(own).replace('.', ': ').replace('_', ' ')} ({near}; {gain})"
        return f"{named(own)} ({self._size(own.distance.value, own.unit)} expected, {near}; {gain})"

    def _size(self, value: float, unit: str) -> str:
        if unit == MM:
            return format_length(value, self.unit)
        return f"{value:.3g} %" if unit == PERCENT else f"{value:.3g}°"

    def _signed(self, value: float, unit: str) -> str:
        return f"{'+' if value >= 0 else '−'}{self._size(abs(value), unit)}"

    def unchecked(self) -> Grid:
        """Takings that no others check, and what error of each would not show."""
        title = "measurements that no others check, and the error of each that would not show"
        grid = Grid(
            f"{side_words(self.found.side)}: {title}, {self.unit} and degrees",
            [Column("measurement", key=True), Column("error")],
        )
        for own in self.found.unchecked:
            size = "any" if own.unnoticed is None else self._cell(own.unnoticed, own.taking.unit)
            grid.row(str(own.taking), size)
        return grid

    def table(self) -> Grid:
        """Every dimension: drawing, measured, reconciled with its doubt, and where that is from."""
        title = (
            f"{side_words(self.found.side)}, state {self.found.state!r}: dimensions reconciled, {self.unit} and degrees"
        )
        names = ("drawing", "measured", "reconciled", "±", "from")
        grid = Grid(title, [Column("dimension", key=True), *(Column(name) for name in names)])
        for own in self.found.dimensions:
            figures = [self._cell(value, own.unit) for value in (own.drawn, own.measured, own.value, own.doubt)]
            proved = own.borne_out or own.origin == RULE
            whence = _SHORT.get(own.origin, own.origin) if proved else _ALONE
            grid.row(key_in_words(own.key), *figures, whence, bold=own.off > 0.5)
        return grid

    def _cell(self, value: float | None, unit: str) -> str:
        if value is None:
            return "–"
        return self.shown.length(value) if unit == MM else f"{round(value, 2) + 0.0:.2f}°"
