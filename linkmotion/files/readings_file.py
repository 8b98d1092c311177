"""Readings files: TOML or CSV in, checked against the engine; :class:`Readings` out, or one clear error.

A row is a line of the fitter's notebook: which notch, what was read, and the figures at the front and the back end
(``reads`` where there is no end). Nothing is taken for granted: where, in which unit and how near a reading was
taken stands in the file.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from linkmotion.engine import DRAWING, Engine
from linkmotion.events import EVENTS
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.figure_fault import FigureFault
from linkmotion.files.lengths import UNITS, format_length
from linkmotion.files.readings_method import KEYS, method_of, turned_of
from linkmotion.files.readings_rows import Row, row_of
from linkmotion.files.readings_source import FORM, ReadingsSource
from linkmotion.files.readings_units import UNREAD, Read, read_figure, read_within
from linkmotion.files.record_keys import BESIDE_KEYS, record_out
from linkmotion.files.side_named import see_sides
from linkmotion.files.source import Where, shown
from linkmotion.files.spots_read import SpotRows
from linkmotion.record import Record
from linkmotion.sides import SIDE_NAMES
from linkmotion.studies.figures.disturbances import Method
from linkmotion.studies.figures.figure import DEGREES, MM, PERCENT, SPOTTED, Reading
from linkmotion.studies.impossible_readings import ReadingFault, faults_of

HEAD = ("engine", "state", "unit", "within", "within_percent", "within_degrees", *KEYS, *BESIDE_KEYS)
MOST = 1000  # readings: a whole engine in every notch has two or three hundred
_TURNED_TO = ("lead", "valve", *EVENTS)  # kinds for which it matters how the wheel was turned
_WITHINS = {MM: "within", PERCENT: "within_percent", DEGREES: "within_degrees"}


@dataclass(frozen=True)
class Readings:
    """What was read on an engine.

    Attributes
    ----------
    name : str
        The file, as named by the user.
    state : str
        State of the engine file in which the gear is believed to be.
    unit : str
        Unit of bare numbers in the file.
    note : str
        As written.
    readings : tuple of Reading
        In file order; lengths mm.
    methods : dict
        By side, how its readings were taken.
    records : dict
        By the path of a table or row: who took it, when, with what.
    """

    name: str
    state: str
    unit: str
    note: str
    readings: tuple[Reading, ...]
    methods: Mapping[str, Method] = field(default_factory=dict)
    records: Mapping[Where, Record] = field(default_factory=dict)

    def method(self, side: str) -> Method:
        """How the readings of a side were taken; by eye, where nothing is said.

        Parameters
        ----------
        side : str
            "left" or "right".
        """
        return self.methods.get(side, Method())

    def of(self, side: str) -> tuple[Reading, ...]:
        """The readings of one side, in file order.

        Parameters
        ----------
        side : str
            "left" or "right".
        """
        return tuple(reading for reading in self.readings if reading.side == side)

    @property
    def sides(self) -> tuple[str, ...]:
        """Sides of which there are readings."""
        return tuple(side for side in SIDE_NAMES if self.of(side))

    def fault(self, reading: Reading, problem: str, remedy: str) -> FileError:
        """A fault at a reading, with its line.

        Parameters
        ----------
        reading, problem, remedy
            Which; what is wrong with it; what to do.
        """
        return FileError(self.name, f"{reading}: {problem}", remedy, reading.line or None)


def read_readings(path: str | Path, engine: Engine) -> Readings:
    """Read a readings file of an engine and see that its readings can be.

    Parameters
    ----------
    path, engine : path, Engine
        TOML, or CSV by its suffix; on which they were taken.

    Raises
    ------
    FileError
        With file, line, key, what was read and the remedy.
    NotchError
        The gear of that state cannot pass in a notch that was read.
    """
    return readings_of(ReadingsSource.of(path), engine)


def readings_of(source: ReadingsSource, engine: Engine) -> Readings:
    """The same of a text that is at hand.

    Parameters
    ----------
    source, engine : ReadingsSource, Engine
        The text; on which its readings were taken.

    Raises
    ------
    FileError, NotchError
        As :func:`read_readings`.
    """
    found = _Reader(source, engine).readings()
    for fault in faults_of(engine, found.state, found.readings):
        raise _told(found, fault)
    return found


def _told(found: Readings, fault: ReadingFault) -> FileError:
    words = fault.words.format(**{name: format_length(mm, found.unit) for name, mm in fault.lengths.items()})
    if fault.reading is None:
        return FileError(found.name, words, fault.remedy)
    return found.fault(fault.reading, words, fault.remedy)


class _Reader:
    """One reading of one source."""

    def __init__(self, source: ReadingsSource, engine: Engine) -> None:
        self.source, self.engine = source, engine
        self.records: dict[Where, Record] = {}

    def readings(self) -> Readings:
        source, document = self.source, self.source.document()
        see_sides(source, document, (), self.engine.sides)
        source.known(document, (), ["readings", *self.engine.sides])
        source.filled(document, lambda _where: "fill in what was read, or take the blank out")
        head = self._head(document)
        state, unit = head.get("state", DRAWING), head.get("unit", self.engine.unit)
        found: list[Reading] = []
        methods: dict[str, Method] = {}
        for side in self.engine.sides:
            if side in document:
                table = source.table(document[side], (side,))
                methods[side] = method_of(source, head, table, side)
                found += self._side(document[side], side, state, unit, head)
        if not found:
            tables = " or ".join(f"[{side}]" for side in self.engine.sides)
            raise FileError(source.name, "there are no readings in it", f"give {tables} some rows; {FORM}",
                            plain="there are no readings in it")  # fmt: skip
        if len(found) > MOST:
            raise FileError(source.name, f"{len(found)} readings are more than {MOST}", "is this the right file?")
        return Readings(source.name, state, unit, head.get("note", ""), tuple(found), methods, self.records)

    def _head(self, document: Mapping[str, Any]) -> dict[str, Any]:
        source, where = self.source, ("readings",)
        if "readings" not in document:
            raise FileError(
                source.name, "there is no [readings] table", f"begin with [readings], state and unit; {FORM}",
                plain="there are no readings in it",
            )  # fmt: skip
        head = source.table(document["readings"], where)
        source.known(head, where, list(HEAD))
        for key in ("engine", "state", "unit", "note"):
            if key in head:
                source.words(head[key], (*where, key))
        record_out(head, where, source, self.records)
        for key, known in (("state", list(self.engine.state_names)), ("unit", list(UNITS))):
            if key not in head:
                plain = f"it does not say its {key}: {', '.join(known)}"
                raise source.fault((*where, key), "missing", f'give {key} = "…" ({", ".join(known)})', plain)
            if head[key] not in known:
                raise source.fault((*where, key), f"read {shown(head[key])}", nearest(head[key], known))
        if head.get("engine", self.engine.name) != self.engine.name:
            told = f"these are readings of {shown(head['engine'])}, the engine file is of {self.engine.name!r}"
            raise source.fault((*where, "engine"), told, "give the engine file that belongs to them")
        return head

    def _side(self, read: Any, side: str, state: str, unit: str, head: Mapping[str, Any]) -> Iterator[Reading]:
        table = record_out(self.source.table(read, (side,)), (side,), self.source, self.records)
        self.source.known(table, (side,), ["readings", *SPOTTED, *KEYS])
        where: Where = (side, "readings")
        rows = table.get("readings", [])
        if not isinstance(rows, list):
            raise self.source.fault(
                where, f"read {shown(rows)}, wanted a list of rows", "write readings = [ { … }, … ]"
            )
        notches = list(self.engine.side_state(state, side).notches)
        for i, row in enumerate(rows):
            own = (*where, str(i))
            plain = record_out(row, own, self.source, self.records) if isinstance(row, dict) else row
            checked = row_of(self.source, plain, own)
            if checked.notch not in notches:
                told = f"there is no notch {shown(checked.notch)}"
                raise self.source.fault((*own, "notch"), told, nearest(checked.notch, notches))
            yield from self._readings(checked, side, own, unit, head, self._turned(checked, table, head, own, side))
        if any(kind in table for kind in SPOTTED):
            spots = SpotRows(self.source, self.engine, state, side, unit, head, self.records)
            yield from spots.readings(table)

    def _turned(self, row: Row, table: Mapping[str, Any], head: Mapping[str, Any], own: Where, side: str) -> str:
        """How the wheel was turned to a row's readings: as it says, or its side's table, or the head."""
        for written, where in ((row.turned, own), (table.get("turned"), (side,)), (head.get("turned"), ("readings",))):
            if written is not None:
                return turned_of(self.source, written, (*where, "turned"))
        return ""

    def _readings(
        self, row: Row, side: str, where: Where, unit: str, head: Mapping[str, Any], turned: str
    ) -> Iterator[Reading]:
        doubts: list[float | None] = []
        for end in ("front", "back", ""):
            written = getattr(row, end or "reads")
            cells = written if isinstance(written, list) else [written]
            for cell in cells:
                if cell is None:
                    continue
                own = (*where, end or "reads")
                figure = self._figure(cell, row.kind, unit, own)
                doubts.append(figure.sigma)
                yield Reading(
                    side=side, kind=row.kind, notch=row.notch, direction=row.direction or "", end=end,
                    value=figure.value, sigma=self._sigma(row, figure, unit, head, where), unit=figure.unit,
                    at=row.at, line=self.source.line(own) or 0, turned=turned if row.kind in _TURNED_TO else "",
                )  # fmt: skip

        if row.within is not None and None not in doubts:
            told = "how near each was read stands in its own ± already"
            raise self.source.fault((*where, "within"), told, "keep within, or the ±")

    def _figure(self, cell: Any, kind: str, unit: str, where: Where) -> Read:
        try:
            return read_figure(cell, kind, unit)
        except FigureFault as fault:
            raise self.source.fault((*where, *fault.inner), fault.problem, fault.remedy) from None
        except ValueError as error:
            raise self.source.fault(where, str(error), UNREAD[kind]) from None

    def _sigma(self, row: Row, figure: Read, unit: str, head: Mapping[str, Any], where: Where) -> float:
        """One standard deviation: the reading's own, or half of how far it may be out either way."""
        if figure.sigma is not None:
            return figure.sigma
        name = _WITHINS[figure.unit]
        written, path = (
            (row.within, (*where, "within")) if row.within is not None else (head.get(name), ("readings", name))
        )
        if written is None:
            remedy = f"give {name} in [readings], or within in this row: 19 readings in 20 lie as near as that"
            raise self.source.fault(where, "how near was it read?", remedy)
        try:
            return read_within(written, figure.unit, unit) / 2
        except ValueError as error:
            raise self.source.fault(path, str(error), "give how far a reading may be out either way") from None
