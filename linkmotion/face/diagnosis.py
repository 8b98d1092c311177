"""Which dimensions explain the readings taken on an engine, side by side."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from linkmotion.engine import DRAWING
from linkmotion.engine import Engine as EngineAsRead
from linkmotion.face.engine import Engine
from linkmotion.face.names import UnknownName, known, known_side
from linkmotion.face.readings import ReadingsFile
from linkmotion.face.side_diagnosis import SideDiagnosis
from linkmotion.face.tables import one_line
from linkmotion.files.lengths import parse_length
from linkmotion.files.readings_file import Readings
from linkmotion.files.tolerances_read import read_tolerances
from linkmotion.sides import side_words
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.diagnosis.priors import priors_of
from linkmotion.studies.diagnosis.study import Case, diagnose_together
from linkmotion.studies.figures.disturbances import PLACE
from linkmotion.studies.tolerances.tolerance import GENERAL


@dataclass(frozen=True, eq=False, repr=False)
class EngineDiagnosis:
    """The sides that were read, each with its diagnosis."""

    engine: EngineAsRead
    sides: tuple[SideDiagnosis, ...]

    @property
    def left(self) -> SideDiagnosis:
        """The left side's."""
        return self["left"]

    @property
    def right(self) -> SideDiagnosis:
        """The right side's."""
        return self["right"]

    def __getitem__(self, side: str) -> SideDiagnosis:
        """A side's, by name."""
        found = {own.side.side: own for own in self.sides}
        if known_side(side, self.engine.sides) not in found:
            raise UnknownName(f"there are no readings of the {side_words(side)}: {' and '.join(found)} was read")
        return found[side]

    def __iter__(self) -> Iterator[SideDiagnosis]:
        """The sides that were read."""
        return iter(self.sides)

    def __repr__(self) -> str:
        """In one line."""
        return one_line("EngineDiagnosis", self.engine.name, [repr(own)[1:-1] for own in self.sides])


def diagnose(
    engine: Engine, readings: ReadingsFile, sides: Iterable[str] | None = None, usually_off: str | None = None
) -> EngineDiagnosis:
    """Find which dimension errors explain the readings taken on an engine.

    Parameters
    ----------
    engine : Engine
        With a [tolerances] table if there is one.
    readings : ReadingsFile
        As :func:`linkmotion.read_readings` gives them.
    sides : iterable of str, optional
        Of those that were read; all unless given.
    usually_off : str, optional
        How far off a wrong length usually is, such as ``"1/8 in"``; 1 % of the crank radius unless given.

    Raises
    ------
    TooFewReadings
        There is nothing to conclude from.
    UnknownName
        A side that was not read.
    """
    if isinstance(sides, str):
        raise TypeError(f"sides={sides!r}: give a tuple of sides, such as ({sides!r},)")
    read = readings.of(engine.as_read)
    wanted = read.sides if sides is None else tuple(known("side read", side, read.sides) for side in sides)
    wide = parse_length(usually_off, read.unit) if usually_off else None
    return diagnosed(engine.as_read, read, wanted, wide)


def diagnosed(
    engine: EngineAsRead, readings: Readings, sides: Iterable[str], wide: float | None = None, file: Any = "",
    progress: Callable[[int, int | None], None] | None = None,
) -> EngineDiagnosis:  # fmt: skip
    """As :func:`diagnose`, of an engine as read.

    Parameters
    ----------
    engine, readings
        As read, in mm and degrees.
    sides : iterable of str
        Of those that were read.
    wide : float, optional
        How far off a wrong length usually is, mm.
    file : path or str
        Named in messages on the engine's tolerances.
    progress : callable, optional
        As for :func:`~linkmotion.studies.diagnosis.study.diagnose_together`.
    """
    cases = []
    for name in sides:
        side = assess(engine, readings.state, (name,)).sides[0]
        priors = priors_of(side, read_tolerances(engine, side, file), wide, place=_place(engine, side))
        cases.append(Case(side, readings.of(name), priors, readings.method(name)))
    found = [
        SideDiagnosis(case.side, case.priors, told, readings.unit)
        for case, told in zip(cases, diagnose_together(cases, progress), strict=True)
    ]
    return EngineDiagnosis(engine, tuple(found))


def _place(engine: EngineAsRead, side: SideEvents) -> float:
    """How far the valve may stand from where the state has it on its spindle, mm: less where it was found."""
    found, drawn = (engine.side_state(state, side.side).gear.valve.central_at for state in (side.state, DRAWING))
    return PLACE if found is None or found == drawn else GENERAL
