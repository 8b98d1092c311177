"""What a setting must hold: the engine's targets, and the levels from which it must not stray.

A target that the sound drawing itself misses is held to what the drawing gives. A difference between the ends can be
taken out by shifting every cutoff of a notch; that is no setting. So the mean of the ends, of lead and of cutoff, is
kept within :data:`KEPT` of the drawing's in every notch, or no further from it than it stands already. What is kept is
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from linkmotion.engine import Targets
from linkmotion.studies.figures.figure import Figure, end_figure
from linkmotion.studies.setting.side import Array, SettingSide
from linkmotion.studies.tolerances.limits import Hold, holds
from linkmotion.valve import ENDS

KEPT = {"lead": 0.8, "cutoff": 3.0}  # mm (1/32 in.), percent of stroke
_FINEST = {"mm": 0.02, "percent": 0.1}  # a target of nothing is measured against these


@dataclass(frozen=True)
class Goal:
    """A target on one side, or between the sides (``side`` "").

    Attributes
    ----------
    hold : Hold
        The target.
    side : str
        Which side.
    limit : float
        What is allowed, mm or percent of stroke: the target, or more where the drawing itself has more.
    """

    hold: Hold
    side: str
    limit: float

    @property
    def by_drawing(self) -> bool:
        """Whether the sound drawing itself misses the target."""
        return self.limit > self.hold.limit


@dataclass(frozen=True)
class Row:
    """Something held: ``abs(sum of terms - wanted) <= limit``.

    Attributes
    ----------
    what : str
        "lead" or "cutoff".
    terms : tuple of (int, float)
        Number of a figure, the sides' one after another, and its factor.
    wanted, limit, scale : float
        mm or percent of stroke; the scale is what passing the limit is measured by.
    goal : Goal or None
        The target that it is; None for a level.
    """

    what: str
    terms: tuple[tuple[int, float], ...]
    wanted: float
    limit: float
    scale: float
    goal: Goal | None = None


def goal_rows(sides: Sequence[SettingSide], drawn: Sequence[Mapping[Figure, float]], targets: Targets) -> Iterator[Row]:
    """The targets of the figures that all sides have (a notch near mid gear may drive one side otherwise).

    Parameters
    ----------
    sides, drawn : sequences of SettingSide and dict
        One or both sides; the figures of each on the sound drawing.
    targets : Targets
        As the user has them.
    """
    first, *others = (side.figures for side in sides)
    common = tuple(figure for figure in first if all(figure in own for own in others))
    figures = [(figure, own) for side, own in zip(sides, drawn, strict=True) for figure in side.figures]
    starts = _starts(sides)
    at = [[start + side.figures.index(figure) for figure in common] for start, side in zip(starts, sides, strict=True)]

    def row(hold: Hold, terms: tuple[tuple[int, float], ...], wanted: float, side: str) -> Row:
        known = [figures[number][1].get(figures[number][0], np.nan) for number, _ in terms]
        has = abs(sum(factor * own for (_, factor), own in zip(terms, known, strict=True)) - wanted)
        limit = float(np.fmax(hold.limit, has))
        return Row(hold.what, terms, wanted, limit, max(limit, _FINEST[hold.unit]), Goal(hold, side, limit))

    for hold in holds(targets, common, len(sides)):
        if hold.between != "sides":
            for own, side in zip(at, sides, strict=True):
                other = ((own[hold.other], -1.0),) if hold.between == "ends" else ()
                yield row(hold, ((own[hold.figure], 1.0), *other), hold.wanted, side.side.side)
        else:
            yield row(hold, ((at[0][hold.figure], 1.0), (at[1][hold.figure], -1.0)), 0.0, "")


def level_rows(
    sides: Sequence[SettingSide], drawn: Sequence[Mapping[Figure, float]], now: Array, targets: Targets
) -> Iterator[Row]:
    """The levels to be kept: of cutoff, and of lead where no lead is wanted.

    Parameters
    ----------
    sides, drawn, targets
        As for :func:`goal_rows`.
    now : array
        All figures as they stand, the sides' one after another.
    """
    wanted = [what for what in KEPT if what != "lead" or targets.lead is None]
    for start, side, own in zip(_starts(sides), sides, drawn, strict=True):
        for place in dict.fromkeys((figure.notch, figure.direction) for figure in side.figures if figure.direction):
            for what in wanted:
                ends = [end_figure(what, *place, end) for end in ENDS]
                terms = tuple((start + side.figures.index(figure), 0.5) for figure in ends)
                level = sum(now[number] / 2 for number, _half in terms)
                reference = sum(
                    own.get(figure, now[number]) / 2 for figure, (number, _) in zip(ends, terms, strict=True)
                )
                if np.isfinite(level + reference):
                    limit = max(KEPT[what], abs(level - reference))
                    yield Row(what, terms, float(reference), float(limit), KEPT[what])


def _starts(sides: Sequence[SettingSide]) -> list[int]:
    """Number of each side's first figure."""
    counts = [len(side.figures) for side in sides]
    return [0, *np.cumsum(counts)[:-1].tolist()]
