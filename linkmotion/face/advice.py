"""What to alter on an engine to set its valves: from readings, or from a state as its file has it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from linkmotion.engine import DRAWING, SIDES
from linkmotion.engine import Engine as EngineAsRead
from linkmotion.face.diagnosis import diagnosed
from linkmotion.face.engine import Engine
from linkmotion.face.names import known
from linkmotion.face.readings import ReadingsFile
from linkmotion.face.tables import Table, one_line, table
from linkmotion.files.adjustments_table import adjustments_given
from linkmotion.files.lengths import UNITS
from linkmotion.files.readings_file import Readings
from linkmotion.linkage import LinkageError
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.diagnosis.study import TooFewReadings
from linkmotion.studies.figures.figure import MM
from linkmotion.studies.setting.adjustments import adjustments_of
from linkmotion.studies.setting.advice import Advice
from linkmotion.studies.setting.advice import advise as advise_sides
from linkmotion.studies.setting.basis import believed, drawn_figures, shift_to, spread_of
from linkmotion.studies.setting.foreseen import DIAGNOSIS, STATE, Foreseen, foresee
from linkmotion.studies.setting.foreseen import DRAWING as AS_READ
from linkmotion.studies.setting.side import SideEstimate

BASES = (DIAGNOSIS, AS_READ)


@dataclass(frozen=True, eq=False, repr=False)
class EngineAdvice:
    """The work that sets an engine's valves, in order, and what will then be read.

    Attributes
    ----------
    engine : linkmotion.engine.Engine
        As read.
    state : str
        State that the gear is taken to be in.
    unit : str
        Of readings and of lengths shown.
    advice : Advice
        Works, targets before and after; mm, degrees, percent of stroke.
    foreseen : list of Foreseen
        For each side: on what basis, and what will be read.
    assumed : bool
        Whether the adjustments are the usual ones, since the engine file says nothing.
    """

    engine: EngineAsRead
    state: str
    unit: str
    advice: Advice
    foreseen: list[Foreseen]
    assumed: bool

    @property
    def met(self) -> bool:
        """Whether every target looked at is met once the work is done."""
        return self.advice.met

    @property
    def barrier(self) -> str:
        """Why targets stay out: "steps" (finer ones would do), "range" (more would do) or "gear"; "" when all are met.

        "gear": these adjustments cannot do it, however far they are taken.
        """
        return self.advice.barrier

    @property
    def out(self) -> int:
        """How many targets are out once the work is done."""
        return len(self.advice.out(self.advice.held_after))

    def readings(self) -> Table:
        """What will be read: as it is believed to stand (``now``), and with all the work done (``then``)."""
        rows = []
        for own in self.foreseen:
            for number, reading in enumerate(own.readings):
                length = reading.unit == MM
                unit, scale = (self.unit, float(UNITS[self.unit])) if length else (reading.unit, 1.0)
                what = {"side": own.side, "reading": str(reading), "kind": reading.kind, "read": reading.value / scale}
                now, then = (float(own.expected[stage, number]) / scale for stage in (0, -1))
                rows.append(what | {"now": now, "then": then, "unit": unit})
        names = ("side", "reading", "kind", "read", "now", "then", "unit")
        return table(f"{self.engine.name}, {self.state}: readings to come", dict.fromkeys(names, ""), rows)

    def sentences(self) -> list[str]:
        """The work in a fitter's words, in order."""
        return [row["work"] for row in self.rows()]

    def table(self) -> Table:
        """One row for a piece of work, in the order in which it is done."""
        from linkmotion.views.setting_words import Words

        words, rows = Words(self.advice, self.unit, self.engine.unit), []
        for work in self.advice.works:
            own = work.adjustment
            angle = own.key in words.angles
            amount = work.amount / (1.0 if angle else float(UNITS[self.unit]))
            rows.append({"work": words.work(work), "side": own.side, "dimension": ".".join(own.key), "amount": amount,
                         "unit": "degrees" if angle else self.unit, "if_need_be": work.if_need_be})  # fmt: skip
        names = ("work", "side", "dimension", "amount", "unit", "if_need_be")
        return table(f"{self.engine.name}, {self.state}: setting", dict.fromkeys(names, ""), rows)

    def rows(self) -> list[dict[str, Any]]:
        """The work, a dict each."""
        return self.table().rows()

    def to_frame(self) -> Any:
        """The work as a pandas DataFrame."""
        return self.table().to_frame()

    def __repr__(self) -> str:
        """In one line."""
        many = f"{len(self.advice.works)} pieces of work"
        return one_line("EngineAdvice", self.engine.name, [self.state, many, "targets met" * self.met or "not all met"])

    def _repr_html_(self) -> str:
        return self.table()._repr_html_()


def advise(
    engine: Engine,
    readings: ReadingsFile | None = None,
    state: str = DRAWING,
    sides: Iterable[str] = SIDES,
    basis: str = DIAGNOSIS,
    adjustments: Mapping[str, Mapping[str, Any]] | None = None,
) -> EngineAdvice:
    """Find what to alter to set the valves.

    Parameters
    ----------
    engine : Engine
        With an [adjustments] table if there is one.
    readings : ReadingsFile, optional
        Taken on the engine; without them the gear is as its file has the ``state``.
    sides : iterable of str
        To be set; of those that were read.
    basis : str
        "diagnosis": the gear as estimated from the readings; "drawing": the readings laid over the gear as drawn.
    adjustments : dict, optional
        Instead of the file's [adjustments]: dimension → what stands there, such as
        ``{"eccentric_rod.length": {"step": "1/64 in", "most": "1/8 in"}}``.

    Raises
    ------
    UnknownName
        No such state, side or basis.
    FileError
        An adjustment that cannot be used: with its key and remedy.
    """
    if isinstance(sides, str):
        raise TypeError(f"sides={sides!r}: give a tuple of sides, such as ({sides!r},)")
    names = [known("side", side, SIDES) for side in sides]
    known("basis", basis, BASES)
    known("state", state, engine.states)
    own = engine.as_read if adjustments is None else replace(engine.as_read, adjustments=_in_tables(adjustments))
    read = None if readings is None else readings.of(own)
    if read is not None:
        state, names = read.state, [side for side in read.sides if side in names]
    return advised(own, state, names, read, basis)


def _in_tables(adjustments: Mapping[str, Mapping[str, Any]]) -> dict[str, Any]:
    """Adjustments by dimension, laid out as in an engine file."""
    tables: dict[str, Any] = {}
    for name, own in adjustments.items():
        into, (*path, last) = tables, name.split(".")
        for step in path:
            into = into.setdefault(step, {})
        into[last] = dict(own)
    return tables


def advised(
    engine: EngineAsRead, state: str, sides: list[str], readings: Readings | None, basis: str, file: str = ""
) -> EngineAdvice:
    """As :func:`advise`, of an engine as read; ``file`` is named in messages on its tables."""
    found = assess(engine, state, sides).sides
    given, assumed = adjustments_given(engine, file or engine.name, found[0].gear, found[0].settings[0])
    drawn = {each.side: drawn_figures(each) for each in assess(engine, DRAWING, sides).sides}
    stand = [_as_believed(engine, side, readings, basis, file) for side in found]
    stand = [(replace(own, drawn=drawn[own.side.side]), on, note) for own, on, note in stand]
    adjustments = adjustments_of(found[0].gear, given, sides, assumed)
    advice = advise_sides([estimate for estimate, _on, _note in stand], adjustments, engine.targets)
    foreseen = [
        foresee(advice, estimate, on, readings.of(estimate.side.side) if readings else (), note)
        for estimate, on, note in stand
    ]
    return EngineAdvice(engine, state, readings.unit if readings else engine.unit, advice, foreseen, assumed)


def _as_believed(
    engine: EngineAsRead, side: SideEvents, readings: Readings | None, basis: str, file: str
) -> tuple[SideEstimate, str, str]:
    """How a side is believed to stand, on what basis, and what is to be said of it."""
    if readings is None:
        return SideEstimate(side), STATE, ""
    own, note = readings.of(side.side), "as was asked"
    if basis == DIAGNOSIS:
        try:
            found = diagnosed(engine, readings, (side.side,), file=file)[side.side].found
            departed = believed(side, dict(zip(found.keys, found.departures.tolist(), strict=True)))
        except (TooFewReadings, LinkageError) as error:
            note = f"no diagnosis: {str(error).splitlines()[0]}"
        else:
            if found.fits:
                faults = tuple(dict(zip(e.keys, e.departures, strict=True)) for e in found.explanations)
                sure = {suspect.key: suspect.probability for suspect in found.suspects}
                spread = spread_of(departed, found.keys, found.covariance)
                return SideEstimate(departed, None, spread, faults=faults, sure=sure), DIAGNOSIS, ""
            note = "no diagnosis: the readings do not fit this gear (see linkmotion diagnose); take them again first"
    return (
        SideEstimate(side, shift_to(side, own)),
        AS_READ,
        f"{note}; only targets whose figures were read are looked at",
    )
