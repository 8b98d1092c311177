"""Which reading, not yet taken, would best tell the explanations in question apart."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from linkmotion.events import EVENTS
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.diagnosis.evidence import Array
from linkmotion.studies.diagnosis.side_readings import Part
from linkmotion.studies.figures.disturbances import Disturbances
from linkmotion.studies.figures.figure import DEGREES, MM, PERCENT, Reading
from linkmotion.studies.figures.model import GearModel
from linkmotion.valve import ENDS

USUAL = {MM: 0.1, PERCENT: 0.5, DEGREES: 0.5}  # one standard deviation, where no such reading was taken
_QUESTIONED, _GRID = 40, 400  # explanations looked at; places at which a reading's chances are summed
_TELLS = 0.02  # of the chance: less is not worth a reading
_READ = ("lead", "opening", "cutoff", "release", "compression", "die height")


@dataclass(frozen=True)
class NextReading:
    """A reading to take next.

    Attributes
    ----------
    reading : Reading
        Which; its value is what the likeliest explanation expects, its sigma how near it is taken to be read.
    chance, now : float
        Probability that the likeliest explanation is the right one, among those in question: expected after the
        reading, and as it is now.
    narrows : float
        Part by which the interval of what is first suspected shrinks (of the gear as a whole, where nothing is).
    other : tuple of (table, key)
        The likeliest explanation that it would tell from the first.
    other_value : float
        What that one expects.
    """

    reading: Reading
    chance: float
    now: float
    narrows: float
    other: tuple[Key, ...]
    other_value: float


@dataclass(frozen=True, eq=False)
class Explained:
    """One explanation, as one side sees it.

    Attributes
    ----------
    members : tuple of int
        The unknowns of the side that it takes to be wrong, by their number.
    weight : float
        Its probability.
    z, covariance : float arrays, shape (n,) and (n, n)
        Best estimate of the side's unknowns, in their spreads, and how well they are known.
    """

    members: tuple[int, ...]
    weight: float
    z: Array
    covariance: Array


def candidates(side: SideEvents, taken: tuple[Reading, ...]) -> Iterator[Reading]:
    """Readings that can be taken on this side and were not, each with the doubt usual there.

    Parameters
    ----------
    side, taken : SideEvents, tuple of Reading
        As assessed; what was read.
    """
    known = {(r.kind, r.notch, r.end, r.direction if r.kind in EVENTS else "") for r in taken}
    sigmas = {unit: [r.sigma for r in taken if r.unit == unit] for unit in USUAL}
    for i, notch in enumerate(side.notches):
        for kind in _READ:
            unit = PERCENT if kind in EVENTS else MM
            sigma = float(np.median(sigmas[unit])) if sigmas[unit] else USUAL[unit]
            for direction in side.driven(i) if kind in EVENTS else ("",):
                for end in ENDS if kind != "die height" else ("",):
                    if (kind, notch, end, direction) in known or (kind == "die height" and side.gear.slot is None):
                        continue
                    own = Reading(side=side.side, kind=kind, notch=notch, value=0.0, sigma=sigma, unit=unit)
                    yield replace(own, direction=direction, end=end)


def next_readings(part: Part, views: Sequence[Explained], most: int = 5) -> tuple[NextReading, ...]:
    """The readings that would tell most, best first.

    Each explanation in question expects of a reading a normal distribution, with everything in it that is not known:
    dead centres, play, the valve's place, the axle's height. What is expected is the share of readings after which the
    explanation then likeliest is the right one, ``∫ max_h w_h p_h(y) dy``. Where no reading tells them apart, those
    come first that narrow the estimate most.

    Parameters
    ----------
    part : Part
        What was read on the side.
    views : sequence of Explained
        The explanations in question, those not 20 to 1 against the likeliest, which is first.
    """
    listed = tuple(candidates(part.side, part.readings))
    if not listed:
        return ()
    views = views[:_QUESTIONED]
    model = GearModel.of(part.side, listed, part.model.keys)
    happens = np.isfinite(model.angles)
    listed = tuple(r for r, own in zip(listed, happens, strict=True) if own)
    if not listed:
        return ()
    model = model.only(np.flatnonzero(happens).tolist())
    disturbances = Disturbances(model, part.side, listed, part.method, part.loose)
    sigma = np.hypot([reading.sigma for reading in listed], disturbances.scatter)
    x = np.stack([own.z[: part.exact] for own in views])
    basis = part.basis_of(model.about(part.departures(x[0])), disturbances, np.ones(sigma.size))
    slopes = basis.slopes[:, : len(part.unknowns) - len(part.readings)]  # what was misread says nothing of what follows
    count = slopes.shape[1]
    linear = np.stack([own.z[part.exact : count] for own in views])
    expected = model.predict(part.departures(x)) + linear @ slopes[:, part.exact :].T + basis.mean
    expected = np.where(np.isnan(expected), expected[0], expected)
    spread = np.stack([np.einsum("rd,de,re->r", slopes, own.covariance[:count, :count], slopes) for own in views])
    weights = np.array([own.weight for own in views])
    weights = weights / np.sum(weights)
    chance = _chances(weights, expected, np.sqrt(np.maximum(spread, 0.0) + sigma**2))
    rows = list(views[0].members) or [i for i in part.suspects if i not in part.worn]  # none of it is worn then
    narrows = _narrowing(views[0].covariance[:count, :count], rows, slopes, sigma)
    gains = np.max(chance) - weights[0] > _TELLS
    best = np.argsort(-(chance if gains else narrows), kind="stable")[:most].tolist()
    return tuple(
        _told(replace(listed[i], sigma=float(sigma[i])), expected[:, i], chance[i], narrows[i], weights, views, part)
        for i in best
    )


def _narrowing(covariance: Array, rows: list[int], slopes: Array, sigma: Array) -> Array:
    """Part by which each of R readings shrinks the interval of one of some unknowns, that which it shrinks most."""
    across = slopes @ covariance  # (R, D)
    taken = across[:, rows] ** 2 / (np.sum(across * slopes, axis=1) + sigma**2)[:, None]
    return np.asarray(1.0 - np.min(np.sqrt(np.maximum(1.0 - taken / np.diag(covariance)[rows], 0.0)), axis=1))


def _chances(weights: Array, means: Array, stds: Array) -> Array:
    """Share of right answers after each of R readings: weights (H,), means and stds (H, R)."""
    low, high = np.min(means - 4 * stds, axis=0), np.max(means + 4 * stds, axis=0)
    places = low + (high - low) * (np.arange(_GRID)[:, None] + 0.5) / _GRID  # (G, R)
    best = np.zeros(places.shape)
    for weight, mean, std in zip(weights, means, stds, strict=True):
        best = np.maximum(best, weight * np.exp(-0.5 * ((places - mean) / std) ** 2) / (std * np.sqrt(2 * np.pi)))
    return np.asarray(np.sum(best, axis=0) * (high - low) / _GRID)


def _told(
    reading: Reading,
    expected: Array,
    chance: float,
    narrows: float,
    weights: Array,
    views: Sequence[Explained],
    part: Part,
) -> NextReading:
    apart = weights * np.minimum(np.abs(expected - expected[0]) / reading.sigma, 3.0)
    other = int(np.argmax(apart))
    keys = tuple(part.told[i] for i in views[other].members)
    first = replace(reading, value=float(expected[0]))
    return NextReading(first, float(chance), float(weights[0]), float(narrows), keys, float(expected[other]))
