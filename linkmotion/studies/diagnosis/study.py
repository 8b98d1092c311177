"""What is wrong with it? Which dimension errors explain the readings, how surely, and what to read next.

Every dimension is taken to be as near its figure as its tolerance says, and none, one or two of a side to be wrong by
far more (:mod:`.priors`). What the fitter's method adds is unknown too (``studies/figures/disturbances.py``), and one
reading may be misread. Each such explanation is fitted to the readings with exact predictions of the gear
(:mod:`.fit`), and weighed by how well it explains them (Laplace's approximation, which in the linear case is the exact
law of normal distributions). What is stated of a dimension is what all explanations together say. Where both sides
were read they are explained together: what they share is one unknown.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, field

from linkmotion.gears.sensitivity import Key
from linkmotion.sides import side_words
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.diagnosis.estimate import estimated, together
from linkmotion.studies.diagnosis.priors import Priors
from linkmotion.studies.diagnosis.result import MISFIT, MOST_GROWN
from linkmotion.studies.diagnosis.result import Diagnosis as Diagnosis
from linkmotion.studies.diagnosis.result import TooFewReadings as TooFewReadings
from linkmotion.studies.diagnosis.side_readings import Part
from linkmotion.studies.diagnosis.what_is_told import WhatIsTold
from linkmotion.studies.figures.disturbances import Method
from linkmotion.studies.figures.figure import Reading
from linkmotion.studies.steps_told import StepsTold

FEWEST = 3  # readings


@dataclass(frozen=True)
class Case:
    """The readings of one side, and what is taken for granted.

    Attributes
    ----------
    side : SideEvents
        The gear as it is believed to be, assessed with the notches that are read among its own.
    readings : tuple of Reading
        Of this side. Lost motion says nothing of dimensions and is left apart, but for the play.
    priors : Priors
        How far the dimensions may be from their figures.
    method : Method
        How the readings were taken.
    """

    side: SideEvents
    readings: tuple[Reading, ...]
    priors: Priors
    method: Method = field(default_factory=Method)


def diagnose(side: SideEvents, readings: Iterable[Reading], priors: Priors, method: Method | None = None) -> Diagnosis:
    """Find which dimension errors explain the readings of one side.

    Parameters
    ----------
    side, readings, priors, method
        As of :class:`Case`.

    Raises
    ------
    TooFewReadings
        Fewer than three readings can be used.
    """
    return diagnose_together([Case(side, tuple(readings), priors, method or Method())])[0]


def diagnose_together(
    cases: Sequence[Case], progress: Callable[[int, int | None], None] | None = None
) -> tuple[Diagnosis, ...]:
    """Find which dimension errors explain the readings of one side or of both, in the order given.

    Where the weighshaft stands, how the reach rod turns it and how high the axle is are one unknown of both. Readings
    of a side that fit no gear say nothing of the other: then each is explained by itself.

    Parameters
    ----------
    cases : sequence of Case
        One or two, of one engine.
    progress : callable, optional
        Called with the number of steps done, and how many there are: each side by itself, then what is told of it.

    Raises
    ------
    TooFewReadings
        Fewer than three readings of a side can be used.
    """
    parts = _parts(cases)
    step = StepsTold(2 * len(parts), progress)
    alone = [step(estimated(part)) for part in parts]
    if len(parts) == 1 or not all(own.chance >= MISFIT and own.fit.grown[0] <= MOST_GROWN for own in alone):
        return tuple(step(WhatIsTold(own, 0).diagnosis()) for own in alone)
    found = together(parts, alone)
    return tuple(step(WhatIsTold(found, number).diagnosis()) for number in range(len(parts)))


def _parts(cases: Sequence[Case]) -> list[Part]:
    """The sides, each with readings enough."""
    parts = [Part(case.side, case.readings, case.priors, case.method) for case in cases]
    for part in parts:
        if len(part.readings) < FEWEST:
            told = (
                f"{len(part.readings)} usable readings of the {side_words(part.side.side)}; {FEWEST} or more are wanted"
            )
            raise TooFewReadings(told)
    return parts


def diagnose_supposing(case: Case, wrong: Collection[Key]) -> Diagnosis:
    """What the readings of a side say if these of its dimensions are wrong and no other: how far, and all the rest.

    What is told of a part all told (:class:`~linkmotion.studies.diagnosis.result.Suspect`) is hedged between one fault
    and two, by how likely these are before anything is read: over engines that have one or two, as often as is taken
    for granted, 95 % of such limits hold. Of engines that all have two, fewer do: an explanation by the one alone has
    its weight, and puts the second's doings down to the first. So where it is known what is wrong, that is to be said.

    Parameters
    ----------
    case : Case
        The readings.
    wrong : collection of (table, key)
        One or two, of those that may be wrong.

    Raises
    ------
    TooFewReadings
        As of :func:`diagnose_together`.
    ValueError
        It is not one or two of what may be wrong.
    """
    part = _parts([case])[0]
    numbers = {part.told[number]: number for number in part.suspects}
    if not 1 <= len(set(wrong)) <= 2 or not set(wrong) <= set(numbers):
        raise ValueError(f"{wrong}: suppose one or two of {', '.join(map('.'.join, numbers))}")
    return WhatIsTold(estimated(part, frozenset(numbers[key] for key in wrong)), 0).diagnosis()
