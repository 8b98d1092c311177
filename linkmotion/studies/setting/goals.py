"""What a setting must hold: the engine's targets, and the levels from which it must not stray.

A difference between the ends can be taken out by shifting every cutoff of a notch; that is no setting. So the mean of
the ends, of lead and of cutoff, is kept within :data:`KEPT` of the drawing's in every notch, or no further from it
than it stands already. What is kept is common practice, no source.
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
    """A target on one side, or between the sides (``side`` "")."""

    hold: Hold
    side: str

    @property
    def limit(self) -> float:
        """What is allowed, mm or percent of stroke."""
        return self.hold.limit


@dataclass(frozen=True)
class Row:
    """Something held: ``abs(sum of terms - wanted) <= limit``.

    Attributes
    ----------
    terms : tuple of (int, float)
        Number of a figure, the sides' one after another, and its factor.
    wanted, limit, scale : float
        mm or percent of stroke; the scale is what passing the limit is measured by.
    goal : Goal or None
        The target that it is; None for a level.
    """

    terms: tuple[tuple[int, float], ...]
    wanted: float
    limit: float
    scale: float
    goal: Goal | None = None


def goal_rows(sides: Sequence[SettingSide], targets: Targets) -> Iterator[Row]:
    """The targets of the figures that all sides have (a notch near mid gear may drive one side otherwise)."""
    first, *others = (side.figures for side in sides)
    common = tuple(figure for figure in first if all(figure in own for own in others))
    starts = _starts(sides)
    at = [[start + side.figures.index(figure) for figure in common] for start, side in zip(starts, sides, strict=True)]
    for hold in holds(targets, common):
        scale = max(hold.limit, _FINEST[hold.unit])
        if hold.between != "sides":
            for own, side in zip(at, sides, strict=True):
                other = ((own[hold.other], -1.0),) if hold.between == "ends" else ()
                goal = Goal(hold, side.side.side)
                yield Row(((own[hold.figure], 1.0), *other), hold.wanted, hold.limit, scale, goal)
        elif len(sides) == 2:
            terms = ((at[0][hold.figure], 1.0), (at[1][hold.figure], -1.0))
            yield Row(terms, 0.0, hold.limit, scale, Goal(hold, ""))


def level_rows(
    sides: Sequence[SettingSide], drawn: Sequence[Mapping[Figure, float]], now: Array, targets: Targets
) -> Iterator[Row]:
    """The levels to be kept: of cutoff, and of lead where no lead is wanted; ``now`` are all figures as they stand."""
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
                    yield Row(terms, float(reference), float(limit), KEPT[what])


def _starts(sides: Sequence[SettingSide]) -> list[int]:
    """Number of each side's first figure."""
    counts = [len(side.figures) for side in sides]
    return [0, *np.cumsum(counts)[:-1].tolist()]
