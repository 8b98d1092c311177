"""Which dimensions do the same to the readings, so that these cannot tell one from another."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linkmotion.gears.sensitivity import Key
from linkmotion.studies.diagnosis.evidence import Array
from linkmotion.studies.diagnosis.priors import Priors

SEEN = 3.0  # uncertainties by which a large fault must move the readings to be seen by them, all else unknown as it is
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


def alike(inner: Array, seen: Array, priors: Priors) -> tuple[Alike, ...]:
    """Groups of dimensions that the readings see, but cannot tell apart.

    A usual fault in the one, with z of its spread, lowers the misfit by ``z² G_ii``; taken for the other it still
    lowers it by the part ``G_ij²/(G_ii G_jj)`` of that. What is lost is twice the logarithm of the odds between the
    two; where these stay under 20 to 1 they cannot be told apart.

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
        own = [i for i in rest if _lost(inner, priors, first, i) < np.log(ODDS)]
        if own:
            found = (first, *own)
            rates = tuple(_rate(inner, priors, first, i) for i in found)
            groups.append(Alike(tuple(priors.keys[i] for i in found), rates))
        order = [i for i in rest if i not in own]
    return tuple(groups)


def _lost(g: Array, priors: Priors, one: int, other: int) -> float:
    """Logarithm of the odds that the readings give against the other when the one is wrong by the usual amount."""
    apart = 1.0 - g[one, other] ** 2 / (g[one, one] * g[other, other])
    return float(0.5 * min(priors.ratio[one] * g[one, one], priors.ratio[other] * g[other, other]) * apart)


def _rate(g: Array, priors: Priors, one: int, other: int) -> float:
    """How much of the other looks like a unit of the one."""
    return float(g[one, other] / g[other, other] * priors.sound[other] / priors.sound[one])
