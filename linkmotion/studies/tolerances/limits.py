"""What is to be held: the engine's targets as limits on figures of the events, and who keeps them.

A target between the ends, or of the lead itself, is looked at on each side of the engine; one between
the sides on both. An engine is made of as many variants as it has sides: these are made to one drawing and one set
of tolerances, apart from each other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.engine import Targets
from linkmotion.sides import PAIR
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

    def of(self, *sides: Array) -> Array:
        """What is held, mm or percent of stroke.

        Parameters
        ----------
        *sides : arrays, shape (..., F)
            Figures of every side.

        Returns
        -------
        array, shape (..., sides) or, between the sides, (..., 1)
            Of each side; to be no larger than ``limit`` in size.
        """
        if self.between == "sides":
            one, other = (side[..., self.figure] for side in sides)
            return np.asarray(one - other)[..., None]
        own = [side[..., self.figure] - self.wanted for side in sides]
        if self.between == "ends":
            own = [each - side[..., self.other] for each, side in zip(own, sides, strict=True)]
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
        side = f", {' against '.join(PAIR)}" if self.between == "sides" else ""
        return f"{head}{side}, {self.notch}, running {self.direction}"


def holds(targets: Targets, figures: tuple[Figure, ...], sides: int) -> tuple[Hold, ...]:
    """The limits that an engine's targets set to the figures of its notches.

    Parameters
    ----------
    targets : Targets
        mm and percent of stroke.
    figures : tuple of F figures
        With lead and cutoff of both ends wherever one of them is; a notch with figures of both directions is one near
        mid gear.
    sides : int
        How many the engine has: between them there are limits where it has two.
    """
    numbers = {figure: number for number, figure in enumerate(figures)}
    places = dict.fromkeys((figure.notch, figure.direction) for figure in figures if figure.direction)
    ways = [notch for notch, _direction in places]
    drives = {notch: "both" if ways.count(notch) > 1 else "" for notch in ways}  # only then both are looked at
    found = (hold for place in places for hold in _of_place(targets, numbers, *place, drives[place[0]]))
    return tuple(hold for hold in found if hold.between != "sides" or sides == len(PAIR))


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
        How many engines (a variant for each side) were looked at.
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


def by_side(variants: Array, sides: int) -> Array:
    """Variants as engines: of two sides the first half are left sides, the second right ones; shape (sides, E, F).

    Parameters
    ----------
    variants : array, shape (S, F)
        Figures of each.
    sides : int
        How many an engine has.
    """
    engines = len(variants) // sides
    return variants[: sides * engines].reshape(sides, engines, *variants.shape[1:])


def kept(limits: Iterable[Hold], values: Array, sides: int) -> Kept:
    """Engines that keep limits.

    Parameters
    ----------
    limits : iterable of Hold
        What is to be held.
    values : float array, shape (S, F)
        Figures of S variants.
    sides : int
        How many an engine has, as :func:`by_side` takes them.
    """
    limits, own = tuple(limits), by_side(values, sides)
    within = [np.all(np.abs(hold.of(*own)) <= hold.limit, axis=-1) for hold in limits]
    met = np.array(within).reshape(len(limits), own.shape[1])
    return Kept(limits, own.shape[1], float(np.mean(np.all(met, axis=0))), np.mean(met, axis=1))
