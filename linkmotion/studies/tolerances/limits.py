"""What is to be held: the engine's targets as limits on figures of the events, and who keeps them.

A target between the ends, or of the lead itself, is looked at on each side of the engine; one between
the sides on both. An engine is made of two variants: its sides are made to one drawing and one set of
tolerances, apart from each other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.engine import Targets
from linkmotion.studies.figures.figure import MM, PERCENT, Figure, end_figure
from linkmotion.valve import ENDS

Array = NDArray[np.float64]
_HELD = ("lead", "cutoff")


@dataclass(frozen=True)
class Hold:
    """One limit: ``abs(figure - other - wanted) <= limit``.

    Attributes
    ----------
    what : str
        "lead" or "cutoff".
    between : str
        "ends" (``other`` is the back end's figure), "sides" (``other`` is the same figure of the other
        side) or "" (nothing is taken off).
    figure, other : int
        Numbers of the figures.
    wanted, limit : float
        mm, or percent of stroke.
    notch, direction, end : str
        Where; no end when it is between the ends.
    """

    what: str
    between: str
    figure: int
    other: int
    wanted: float
    limit: float
    notch: str
    direction: str
    end: str

    def of(self, left: Array, right: Array) -> Array:
        """What is held, mm or percent of stroke.

        Parameters
        ----------
        left, right : arrays, shape (..., F)
            Figures of both sides.

        Returns
        -------
        array, shape (..., 2) or, between the sides, (..., 1)
            Of the left and the right side; to be no larger than ``limit`` in size.
        """
        if self.between == "sides":
            return np.asarray(left[..., self.figure] - right[..., self.figure])[..., None]
        own = [side[..., self.figure] - self.wanted for side in (left, right)]
        if self.between == "ends":
            own = [each - side[..., self.other] for each, side in zip(own, (left, right), strict=True)]
        return np.stack(own, axis=-1)

    def along(self, slope: Array) -> Any:
        """Slopes of what is held to one side's dimensions, shape (D,).

        Parameters
        ----------
        slope : array, shape (F, D)
            Those of the figures, per mm or degree.
        """
        return slope[self.figure] - (slope[self.other] if self.between == "ends" else 0.0)

    @property
    def unit(self) -> str:
        """Unit: "mm" or "percent"."""
        return MM if self.what == "lead" else PERCENT

    def __str__(self) -> str:
        """In words: what, between what, where."""
        head = f"{self.end} {self.what}".strip() if self.between != "ends" else f"{self.what} front against back"
        side = ", left against right" if self.between == "sides" else ""
        return f"{head}{side}, {self.notch}, running {self.direction}"


def holds(targets: Targets, figures: tuple[Figure, ...]) -> tuple[Hold, ...]:
    """The limits that an engine's targets set to the figures of its notches.

    Parameters
    ----------
    targets : Targets
        mm and percent of stroke.
    figures : tuple of F figures
        With lead and cutoff of both ends wherever one of them is; a notch with figures of both directions is one near
        mid gear.
    """
    numbers = {figure: number for number, figure in enumerate(figures)}
    places = dict.fromkeys((figure.notch, figure.direction) for figure in figures if figure.direction)
    ways = [notch for notch, _direction in places]
    drives = {notch: "both" if ways.count(notch) > 1 else "" for notch in ways}  # only then both are looked at
    return tuple(hold for place in places for hold in _of_place(targets, numbers, *place, drives[place[0]]))


def _of_place(targets: Targets, numbers: dict[Figure, int], notch: str, direction: str, drives: str) -> Iterator[Hold]:
    for what in _HELD:
        front, back = (numbers[end_figure(what, notch, direction, end)] for end in ENDS)
        limit = targets.apart(what, "ends", drives)
        yield Hold(what, "ends", front, back, 0.0, limit, notch, direction, "")
        for end, at in zip(ENDS, (front, back), strict=True):
            limit = targets.apart(what, "sides", drives)
            yield Hold(what, "sides", at, at, 0.0, limit, notch, direction, end)
            if what == "lead" and targets.lead is not None:
                yield Hold(what, "", at, at, targets.lead, targets.lead_within, notch, direction, end)


def targeted(figures: Iterable[Figure]) -> NDArray[np.intp]:
    """Numbers of the figures that a target may hold: where a set is only sought, the others need not be found."""
    return np.flatnonzero([figure.kind in _HELD for figure in figures])


@dataclass(frozen=True, eq=False)
class Kept:
    """How many engines keep the limits.

    Attributes
    ----------
    holds : tuple of Hold, length J
        Which limits.
    engines : int
        How many engines (pairs of variants) were looked at.
    share : float
        Share of the engines that keep them all, 0 to 1; one that cannot be assembled keeps none.
    each : float array, shape (J,)
        Share that keeps each.
    """

    holds: tuple[Hold, ...]
    engines: int
    share: float
    each: Array

    @property
    def error(self) -> float:
        """Standard error of the share, by the number of engines (one more failure counted than was seen)."""
        kept = min(self.share, 1 - 1 / (self.engines + 1))
        return float(np.sqrt(kept * (1 - kept) / self.engines))


def kept(limits: Iterable[Hold], values: Array) -> Kept:
    """Engines that keep limits: the first half of the variants as left sides, the second as right sides.

    Parameters
    ----------
    limits : iterable of Hold
        What is to be held.
    values : float array, shape (S, F)
        Figures of S variants.
    """
    limits, half = tuple(limits), len(values) // 2
    left, right = values[:half], values[half : 2 * half]
    within = [np.all(np.abs(hold.of(left, right)) <= hold.limit, axis=-1) for hold in limits]
    met = np.array(within).reshape(len(limits), half)
    return Kept(limits, half, float(np.mean(np.all(met, axis=0))), np.mean(met, axis=1))
