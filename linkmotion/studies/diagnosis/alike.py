"""Which dimensions do the same to the readings, so that these cannot tell one from another."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linkmotion.gears.sensitivity import Key
from linkmotion.studies.diagnosis.evidence import Array, Linear
from linkmotion.studies.diagnosis.priors import Priors

SEEN = 3.0  # uncertainties by which a fault of the usual size must move the readings to be seen by them
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


def detectability(linear: Linear) -> Array:
    """How plainly the readings see a fault of the usual size in each dimension, in uncertainties, shape (D,).

    The uncertainty is that of the readings with every other dimension within its tolerance.
    """
    return np.asarray(np.sqrt(linear.ratio * np.maximum(np.diag(linear.inner), 0.0)))


def alike(linear: Linear, priors: Priors) -> tuple[Alike, ...]:
    """Groups of dimensions that the readings see, but cannot tell apart.

    A fault of the usual size in the one, with z of its spread, lowers the misfit by ``z² G_ii``; taken for the
    other it still lowers it by the part ``G_ij²/(G_ii G_jj)`` of that. What is lost is twice the logarithm of the
    odds between the two; where these stay under 20 to 1 they cannot be told apart.
    """
    seen = detectability(linear)
    order = [int(i) for i in np.argsort(-seen, kind="stable") if seen[i] >= SEEN]
    groups: list[Alike] = []
    while order:
        first, *rest = order
        lost = {i: _lost(linear, first, i) for i in rest}
        own = [i for i in rest if lost[i] < np.log(ODDS)]
        if own:
            found = (first, *own)
            rates = tuple(_rate(linear, priors, first, i) for i in found)
            groups.append(Alike(tuple(priors.keys[i] for i in found), rates))
        order = [i for i in rest if i not in own]
    return tuple(groups)


def _lost(linear: Linear, one: int, other: int) -> float:
    """Logarithm of the odds that the readings give against the other when the one is wrong by the usual amount."""
    g = linear.inner
    apart = 1.0 - g[one, other] ** 2 / (g[one, one] * g[other, other])
    return float(0.5 * min(linear.ratio[one] * g[one, one], linear.ratio[other] * g[other, other]) * apart)


def _rate(linear: Linear, priors: Priors, one: int, other: int) -> float:
    """How much of the other looks like a unit of the one."""
    g = linear.inner
    return float(g[one, other] / g[other, other] * priors.sound[other] / priors.sound[one])
