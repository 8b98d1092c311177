"""What reconciling says: every dimension with its doubt and where it comes from, what contradicts, what is not told."""

from __future__ import annotations

from dataclasses import dataclass

from linkmotion.gears.keys import key_in_words
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.figures.disturbances import Method
from linkmotion.studies.figures.figure import Reading
from linkmotion.studies.reconciling.next_measurement import NextMeasurement
from linkmotion.studies.reconciling.taking import Taking

DRAWN, PART, INFERRED, BOTH, RULE = ORIGINS = ("drawing", "measured", "inferred", "measured and inferred", "by rule")
"""Where a figure comes from: the drawing; the part, measured by itself; readings on the gear put together; both; or,
where nobody has it, a rule of the trade."""


@dataclass(frozen=True)
class Reconciled:
    """One dimension.

    Attributes
    ----------
    key : (table, key)
        Which.
    unit : str
        "mm" or "degrees".
    drawn, within : float or None, float
        The drawing's figure; how near it holds, 19 in 20, as its tolerance says.
    measured, measured_doubt : float or None
        As measured on the part, and how near.
    value, doubt : float
        By all together: what holds it at least 19 times in 20 is value ± doubt.
    origin : str
        One of :data:`ORIGINS`.
    off : float
        Probability that the part is off its drawing by far more than its tolerance.
    borne_out : bool
        Whether anything measured would show if the drawing did not hold. Where not, the figure rests on the drawing.
    """

    key: Key
    unit: str
    drawn: float | None
    within: float
    measured: float | None
    measured_doubt: float | None
    value: float
    doubt: float
    origin: str
    off: float
    borne_out: bool


@dataclass(frozen=True)
class Suspected:
    """A taking that may be the wrong one of a contradiction.

    Attributes
    ----------
    taking : Taking
        Which.
    probability : float
        That it is that one.
    by : float
        By how much it would be out, in its unit.
    """

    taking: Taking
    probability: float
    by: float


@dataclass(frozen=True)
class OffInstead:
    """A part that may be off its drawing, and no taking wrong.

    Attributes
    ----------
    key : (table, key)
        The dimension.
    probability : float
        That it is that.
    by : float
        By how much it would be off, in ``unit``.
    unit : str
        "mm" or "degrees".
    """

    key: Key
    probability: float
    by: float
    unit: str

    def __str__(self) -> str:
        """In words."""
        return key_in_words(self.key)


@dataclass(frozen=True)
class Contradiction:
    """Takings of which one is wrong, the likeliest first: retake them in this order.

    Attributes
    ----------
    group : tuple of Suspected
        The takings.
    drawing : tuple of OffInstead
        What may be instead: a part off its drawing, the likeliest first.
    nothing : float
        Probability that nothing is wrong, and doubts or tolerances stretched.
    """

    group: tuple[Suspected, ...]
    drawing: tuple[OffInstead, ...] = ()
    nothing: float = 0.0

    @property
    def alone(self) -> bool:
        """Whether one taking is said to be wrong and nothing else comes into question."""
        return len(self.group) == 1 and not self.drawing and not self.nothing


@dataclass(frozen=True)
class Unchecked:
    """A taking that no others check.

    Attributes
    ----------
    taking : Taking
        Which.
    unnoticed : float or None
        By how much it could be wrong and not be noticed, in its unit; None where no error of it would be.
    """

    taking: Taking
    unnoticed: float | None


@dataclass(frozen=True, eq=False)
class Reconciliation:
    """One side, reconciled.

    Attributes
    ----------
    side, state : str
        Which.
    dimensions : tuple of Reconciled
        Every one, in the order of the file.
    takings : tuple of Taking
        Everything that was reckoned with.
    apart : tuple of Reading
        Readings that say nothing here.
    contradictions : tuple of Contradiction
        The plainest first.
    unchecked : tuple of Unchecked
        Takings that nothing checks, those that could be furthest out first.
    next : tuple of NextMeasurement
        What to measure next, the most telling first.
    method : Method
        How readings were taken.
    misfit, fit : float
        Sum of squares of what the likeliest account leaves over; probability of as large a one.
    """

    side: str
    state: str
    dimensions: tuple[Reconciled, ...]
    takings: tuple[Taking, ...]
    apart: tuple[Reading, ...]
    contradictions: tuple[Contradiction, ...]
    unchecked: tuple[Unchecked, ...]
    next: tuple[NextMeasurement, ...]
    method: Method
    misfit: float
    fit: float

    @property
    def on_drawing_alone(self) -> tuple[Reconciled, ...]:
        """Dimensions of which nothing measured says anything."""
        return tuple(own for own in self.dimensions if not own.borne_out and own.origin == DRAWN)

    def of(self, key: Key) -> Reconciled:
        """One dimension.

        Parameters
        ----------
        key : (table, key)
            One of the side's.
        """
        return next(own for own in self.dimensions if own.key == key)
