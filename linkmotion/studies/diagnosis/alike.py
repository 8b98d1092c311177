"""Which dimensions do the same to the readings, so that these cannot tell one from another."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears.sensitivity import Key
from linkmotion.studies.diagnosis.evidence import Array, Linear
from linkmotion.studies.diagnosis.priors import Priors
from linkmotion.studies.figures.dimensions import CENTRAL

SEEN = 3.0  # uncertainties by which a large fault must move the readings to be seen by them, all else unknown as it is
SAME = 0.5  # of what one lowers the misfit by: dimensions that do the same take up so much of it for one another
ODDS = 20.0  # to one: less does not tell one explanation from another


@dataclass(frozen=True)
class Alike:
    """Dimensions that do the same to the readings.

    Attributes
    ----------
    keys : tuple of (table, key)
        The most plainly seen first.
    rates : tuple of float
        What of each looks like 1 mm (or degree) of the first; its own rate is 1.
    """

    keys: tuple[Key, ...]
    rates: tuple[float, ...]


@dataclass(frozen=True)
class AsValve:
    """A dimension that does to the readings what the valve does that stands elsewhere on its spindle.

    Attributes
    ----------
    key : (table, key)
        Which.
    rate : float
        What of the valve's place looks like 1 mm (or degree) of it, mm.
    """

    key: Key
    rate: float


def alike(inner: Array, seen: Array, priors: Priors) -> tuple[Alike, ...]:
    """Groups of dimensions that the readings see, but cannot tell apart.

    A usual fault in the one, with z of its spread, lowers the misfit by ``z² G_ii``; taken for the other it still
    lowers it by the part ``G_ij²/(G_ii G_jj)`` of that. What is lost is twice the logarithm of the odds between the
    two; where these stay under 20 to 1 they cannot be told apart. That alone is no likeness: a fault that the
    readings hardly feel is not told from any other, so the one must take up half at least of what the other does.

    Parameters
    ----------
    inner : float array, shape (D, D)
        G of the dimensions: all else unknown as it is.
    seen : float array, shape (D,)
        Uncertainties by which a fault in each moves the readings.
    priors : Priors
        Of the dimensions.
    """
    order = [int(i) for i in np.argsort(-seen, kind="stable") if seen[i] >= SEEN and inner[i, i] > 0]
    groups: list[Alike] = []
    while order:
        first, *rest = order
        own = [i for i in rest if _taken_up(inner, first, i) >= SAME and _lost(inner, priors, first, i) < np.log(ODDS)]
        if own:
            found = (first, *own)
            rates = tuple(_rate(inner, priors, first, i) for i in found)
            groups.append(Alike(tuple(priors.keys[i] for i in found), rates))
        order = [i for i in rest if i not in own]
    return tuple(groups)


def as_valve(linear: Linear, dims: NDArray[np.intp], large: Array, seen: Array, priors: Priors) -> tuple[AsValve, ...]:
    """Dimensions that would be seen if it were known where the valve stands on its spindle, and are not.

    Parameters
    ----------
    linear : Linear
        The readings about the best estimate.
    dims : int array, shape (D,)
        Numbers of the dimensions among its unknowns.
    large : float array, shape (D,)
        Variance of a large fault in each, in squares of its spread.
    seen : float array, shape (D,)
        Uncertainties by which that moves the readings, all else unknown as it is.
    priors : Priors
        Of the dimensions.
    """
    central, base = priors.keys.index(CENTRAL), linear.base.copy()
    base[dims[central]] = 0.0
    inner = Linear.about(linear.slopes, base).inner[np.ix_(dims, dims)]
    known = np.sqrt(large * np.maximum(np.diag(inner), 0.0))
    found = [i for i in range(dims.size) if i != central and known[i] >= SEEN > seen[i]]
    rates = inner[found, central] / inner[central, central] * priors.sound[central] / priors.sound[found]
    return tuple(AsValve(priors.keys[i], float(rate)) for i, rate in zip(found, rates, strict=True))


def _lost(g: Array, priors: Priors, one: int, other: int) -> float:
    """Logarithm of the odds that the readings give against the other when the one is wrong by the usual amount."""
    apart = 1.0 - _taken_up(g, one, other)
    return float(0.5 * min(priors.ratio[one] * g[one, one], priors.ratio[other] * g[other, other]) * apart)


def _taken_up(g: Array, one: int, other: int) -> float:
    """The part of what one lowers the misfit by that the other does in its place."""
    return float(g[one, other] ** 2 / (g[one, one] * g[other, other]))


def _rate(g: Array, priors: Priors, one: int, other: int) -> float:
    """How much of the other looks like a unit of the one."""
    return float(g[one, other] / g[other, other] * priors.sound[other] / priors.sound[one])
