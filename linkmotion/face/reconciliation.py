"""Drawing, measured parts and distances made one estimate, side by side."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from linkmotion.engine import DRAWING
from linkmotion.engine import Engine as EngineAsRead
from linkmotion.face.engine import Engine
from linkmotion.face.names import UnknownName, known, known_side
from linkmotion.face.readings import ReadingsFile
from linkmotion.face.tables import Table, one_line, table_in_unit
from linkmotion.files.readings_file import Readings
from linkmotion.files.tolerances_read import tolerances_given
from linkmotion.gears import ReverserPosition
from linkmotion.sides import BOTH, side_words, sides_meant
from linkmotion.studies.figures.disturbances import Method
from linkmotion.studies.reconciling.drawn_and_measured import as_drawn
from linkmotion.studies.reconciling.one_estimate import reconcile as reconciled_side
from linkmotion.studies.reconciling.reconciled import Reconciliation
from linkmotion.studies.reconciling.reconciled_rows import contradiction_rows, dimension_rows, next_rows, unchecked_rows


class NothingMeasured(ValueError):
    """A side has neither measured parts nor readings: there is nothing to reconcile."""


@dataclass(frozen=True, eq=False, repr=False)
class EngineReconciliation:
    """What drawing and measurements together say of an engine.

    Attributes
    ----------
    engine : Engine
        As read.
    sides : tuple of Reconciliation
        Those that were measured; mm and degrees.
    """

    engine: EngineAsRead
    sides: tuple[Reconciliation, ...]

    @property
    def left(self) -> Reconciliation:
        """The left side."""
        return self["left"]

    @property
    def right(self) -> Reconciliation:
        """The right side."""
        return self["right"]

    def __getitem__(self, side: str) -> Reconciliation:
        """A side, by name."""
        known_side(side, [own.side for own in self.sides])
        return next(own for own in self.sides if own.side == side)

    def __iter__(self) -> Iterator[Reconciliation]:
        """Each side."""
        return iter(self.sides)

    def __repr__(self) -> str:
        """One line: engine, state, sides, contradictions."""
        found = [f"{side_words(own.side)}: {len(own.contradictions)} contradictions" for own in self.sides]
        return one_line("EngineReconciliation", self.engine.name, [self.sides[0].state, *found])

    def table(self) -> Table:
        """Every dimension of each side: drawing, measured, reconciled with its doubt, and where that is from."""
        return self._table("dimensions", [row for own in self.sides for row in dimension_rows(own)])

    def contradictions(self) -> Table:
        """Measurements of which one is wrong, by group, the likeliest first."""
        return self._table("contradictions", [row for own in self.sides for row in contradiction_rows(own)])

    def unchecked(self) -> Table:
        """Measurements that no others check, and by how much each could be wrong unnoticed."""
        return self._table("unchecked", [row for own in self.sides for row in unchecked_rows(own)])

    def next(self) -> Table:
        """What to measure next, the most telling first."""
        return self._table("next", [row for own in self.sides for row in next_rows(own)])

    def rows(self) -> list[dict[str, Any]]:
        """The dimensions, a dict each; lengths in the file's unit."""
        return self.table().rows()

    def to_frame(self) -> Any:
        """The dimensions as a pandas DataFrame."""
        return self.table().to_frame()

    def _repr_html_(self) -> str:
        return self.table()._repr_html_()

    def _table(self, what: str, rows: list[dict[str, Any]]) -> Table:
        return table_in_unit(f"{self.engine.name}: {what}", rows, self.engine.unit)


def reconcile(
    engine: Engine, readings: ReadingsFile | None = None, state: str = "", side: str = BOTH
) -> EngineReconciliation:
    """Drawing, measured parts and what was measured on the gear put together, as one estimate of every dimension.

    Parameters
    ----------
    engine : Engine
        Its state holds the parts as they were measured, with their doubts.
    readings : ReadingsFile, optional
        Distances between pins, places of pins, and any other readings.
    state : str
        Of the engine; that of the readings, if not given.
    side : str
        By its name, or "both" for every one: of those that were measured.

    Raises
    ------
    UnknownName
        No such state or side.
    NothingMeasured
        There is nothing to reconcile.

    Examples
    --------
    >>> import linkmotion as lm
    >>> sister = lm.read_engine("examples/dock_sister.toml")
    >>> lm.reconcile(sister, side="left").left.contradictions
    ()
    """
    read = None if readings is None else readings.of(engine.as_read)
    wanted = state or (read.state if read is not None else DRAWING)
    known("state", wanted, list(engine.as_read.state_names))
    if read is not None and wanted != read.state:
        raise UnknownName(f"state {wanted!r} is not that of the readings, {read.state!r}")
    own = sides_meant(known_side(side, engine.as_read.sides, BOTH), engine.as_read.sides)
    return reconciled(engine.as_read, read, wanted, own)


def _reverser(engine: EngineAsRead, side: str) -> ReverserPosition:
    """How the reverser is set in the drawing's first notch: of its kind, to which tolerances apply."""
    return as_drawn(engine, DRAWING, side).settings[0]


def reconciled(
    engine: EngineAsRead, readings: Readings | None, state: str, sides: Iterable[str], file: Any = ""
) -> EngineReconciliation:
    """As :func:`reconcile`, of an engine as read.

    Parameters
    ----------
    engine, readings, state
        As read, in mm and degrees; in which state.
    sides : iterable of str
        Those wanted; a side of which nothing was measured is left out.
    file : path or str
        Named in messages on the engine's tolerances.
    """
    found = []
    for name in sides:
        tolerances = tolerances_given(engine, engine.gear(DRAWING, name), _reverser(engine, name), file)
        own = readings.of(name) if readings is not None else ()
        method = readings.method(name) if readings is not None else Method()
        told = reconciled_side(engine, state, name, own, tolerances, method)
        if told.takings:
            found.append(told)
    if not found:
        raise NothingMeasured(f"nothing was measured of the state {state!r}")
    return EngineReconciliation(engine, tuple(found))
