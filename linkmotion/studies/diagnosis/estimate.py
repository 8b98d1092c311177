"""All explanations of the readings of one side or both, weighed: what the study says of each side follows from it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from math import comb

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp

from linkmotion.studies.diagnosis.alike import SEEN
from linkmotion.studies.diagnosis.evidence import NONE, Array, Linear, Sets, sets_of
from linkmotion.studies.diagnosis.fit import Fit, Fitted
from linkmotion.studies.diagnosis.side_readings import SHARED, Part

DOUBTFUL = 1e-2  # probability of so bad a fit: below it the readings fit badly
GROWTH = (1.4, 2.0, 2.8, 4.0, 6.0, 9.0)  # by which the stated uncertainties may have to grow
_LIKELY = 1e-5  # of the whole: explanations less likely are not counted
_OF_EACH_SIDE, _BOTH, _BESIDE = 120, 24, 4  # explanations of each side; tried together; beside any of the other side


class Estimate:
    """The sets of faults of some sides, fitted and weighed.

    Attributes
    ----------
    fit, fitted
        The readings, and every set fitted to them.
    seen : float array, shape (N,)
        Uncertainties by which a large fault in each unknown moves the readings, all else unknown as it is.
    rows : int array, shape (H,)
        The sets that count, likeliest first.
    sets, wide, weights, z, variance
        Of those with each choice of sizes that counts, H' of them, likeliest first: members (H', M), what their
        variance is more (H', M), probability (H',), best estimate and variance of every unknown (H', N).
    """

    def __init__(self, fit: Fit, seen: Array, fitted: Fitted) -> None:
        self.fit, self.seen, self.fitted = fit, seen, fitted
        weights = np.exp(fitted.log - logsumexp(fitted.log))
        kept = np.argwhere(weights > _LIKELY)
        kept = kept[np.argsort(-weights[kept[:, 0], kept[:, 1]], kind="stable")]
        rows, sizes = kept.T
        self.rows, self.sets, self.wide = rows, fitted.sets[rows], fitted.wide[rows, sizes]
        self.weights = weights[rows, sizes] / np.sum(weights[rows, sizes])
        self.residual = fitted.residual[rows]
        self.z = fitted.linear.estimates(self.sets, self.wide, self.residual)
        self.variance = np.maximum(fitted.linear.spreads(self.sets, self.wide), 0.0)

    @property
    def best(self) -> int:
        """The likeliest of those that count: of the likeliest set, with its likeliest sizes."""
        return int(np.flatnonzero(self.rows == self.fitted.best[0])[0])

    def covariance(self, which: int, of: NDArray[np.intp]) -> Array:
        """Covariance of some unknowns in one of those that count, in their spreads.

        Parameters
        ----------
        which : int
            Of the H'.
        of : int array
            Numbers of the unknowns.
        """
        return self.fitted.linear.covariance(self.sets[which], self.wide[which], of)

    def misfit(self, which: int) -> float:
        """Sum of squares of what one of them leaves over, and of its unknowns in their spreads.

        Parameters
        ----------
        which : int
            Of the H'.
        """
        linear, row = self.fitted.linear, slice(which, which + 1)
        taken = linear.misfit_taken(self.sets[row], self.wide[row], self.residual[row])
        return float((linear.misfit(self.residual[row]) - taken)[0])

    @property
    def chance(self) -> float:
        """Probability of a misfit as large as the likeliest's."""
        from scipy.special import chdtrc

        return float(chdtrc(self.residual.shape[1], self.misfit(self.best)))


def estimated(part: Part, wrong: frozenset[int] | None = None) -> Estimate:
    """The explanations of one side's readings, with uncertainties grown as far as they must.

    Parameters
    ----------
    part : Part
        The side's.
    wrong : set of int, optional
        Its unknowns that are wrong, and no other is; any of its suspects may be, unless given.
    """
    found = _of_side(part, 1.0, wrong)
    if found.chance < DOUBTFUL:
        grown = _growth(found.fitted)
        return _of_side(part, grown, wrong) if grown > 1.0 else found
    return found


def _of_side(part: Part, grown: float, wrong: frozenset[int] | None) -> Estimate:
    """Every set of one side, from its figures, and from a narrow port where the openings look cut off by one."""
    fit = Fit([part], [grown])
    found = [_from(fit, part, *fit.nothing(), wrong)]
    if part.bend is not None:
        found.append(_from(fit, part, part.bend, fit.about(part.bend)[0], wrong))
    return max(found, key=lambda own: float(logsumexp(own.fitted.log)))


def _from(fit: Fit, part: Part, start: Array, linear: Linear, wrong: frozenset[int] | None) -> Estimate:
    """Every set from a place; what a large fault does not show in the readings there is in none."""
    seen = _seen(fit, linear)
    suspects = [i for i in part.suspects if seen[i] >= SEEN] if wrong is None else sorted(wrong)
    worn = [own for own in part.worn_and_loose if own[0] in suspects]
    sets = np.concatenate([sets_of(suspects, part.misread), np.reshape(np.array(worn, np.intp), (-1, 2))])
    log_prior = _log_prior(part, sets, suspects)
    if wrong is not None:  # the set of none stays, for all starts there
        log_prior[np.sum(np.isin(sets, suspects), axis=1) < len(wrong)] = -np.inf
    return Estimate(fit, seen, fit.fitted(sets, log_prior, start))


def _seen(fit: Fit, linear: Linear) -> Array:
    return np.asarray(np.sqrt(fit.sizes[:, -1] * np.maximum(np.diag(linear.inner), 0.0)))


def _log_prior(part: Part, sets: Sets, suspects: Sequence[int]) -> Array:
    """Logarithm of each set's probability before anything is read: of its size, shared by all of that size."""
    faults = np.sum(np.isin(sets, part.suspects), axis=1)
    misread = np.sum(np.isin(sets, part.misread), axis=1)
    return np.asarray(_log_number(part, faults, len(suspects)) + _log_misread(part, misread))


def _log_number(part: Part, faults: NDArray[np.intp], dims: int) -> Array:
    shared = np.array([max(comb(dims, size), 1) for size in range(3)])
    with np.errstate(divide="ignore"):  # the logarithm of no chance at all
        return np.asarray(np.log(np.array(part.priors.number) / shared)[faults])


def _log_misread(part: Part, misread: NDArray[np.intp]) -> Array:
    chance = part.priors.misread
    with np.errstate(divide="ignore"):
        return np.asarray(np.log([1.0 - chance, chance / len(part.readings)])[misread])


def _growth(fitted: Fitted) -> float:
    """By how much uncertainties must grow: where all sets together explain the readings best, each as it stands."""
    linear, count = fitted.linear, fitted.residual.shape[1]
    found = {1.0: float(logsumexp(fitted.log))}
    own = np.argsort(-logsumexp(fitted.log, axis=1), kind="stable")[:400]
    constant = fitted.log[own] - linear.evidence(fitted.sets[own], fitted.wide[own], fitted.residual[own])
    for grown in GROWTH:
        wider = Linear.about(linear.slopes / grown, linear.base)
        log = wider.evidence(fitted.sets[own], fitted.wide[own], fitted.residual[own] / grown) + constant
        found[grown] = float(logsumexp(log)) - count * float(np.log(grown))
    return max(found, key=lambda grown: found[grown])


def together(parts: Sequence[Part], alone: Sequence[Estimate]) -> Estimate:
    """Both sides at once, each with its uncertainties as grown: the likeliest explanations of each, taken together."""
    fit = Fit(parts, [own.fit.grown[0] for own in alone])
    one, two = (_likeliest(own, place) for own, place in zip(alone, fit.places, strict=True))
    pairs = [*product(one[:_BOTH], two[:_BOTH]), *product(one, two[:_BESIDE]), *product(one[:_BESIDE], two)]
    at = {own: i for i, own in enumerate(fit.unknowns)}
    shared = [(at[key],) for key in SHARED if key in at and any(at[key] in own for own in (*one, *two))]
    unions = {tuple(sorted({*own, *other})) for own, other in pairs} | set(shared)
    sets = np.full((len(unions), 4), NONE, np.intp)
    for row, union in enumerate(sorted(unions, key=lambda own: (len(own), own))):
        sets[row, : len(union)] = union
    log_prior = np.zeros(len(sets))
    spare = np.zeros(len(sets), int)  # faults that both sides share are counted once, with the side that has fewer
    counts = []
    for part, place in zip(parts, fit.places, strict=True):
        own = [int(place[i]) for i in part.suspects if part.unknowns[i] not in SHARED]
        counts.append(np.sum(np.isin(sets, own), axis=1))
        log_prior += _log_misread(part, np.sum(np.isin(sets, place[part.misread]), axis=1))
    spare = np.sum(np.isin(sets, [at[key] for key in SHARED if key in at]), axis=1)
    first = np.minimum(spare, 2 - counts[0])
    for part, own, estimate in zip(parts, (counts[0] + first, counts[1] + spare - first), alone, strict=True):
        dims = sum(estimate.seen[i] >= SEEN for i in part.suspects)
        log_prior += np.where(own > 2, -np.inf, _log_number(part, np.minimum(own, 2), int(dims)))
    start, linear = fit.nothing()
    return Estimate(fit, _seen(fit, linear), fit.fitted(sets, log_prior, start))


def _likeliest(own: Estimate, place: NDArray[np.intp]) -> list[tuple[int, ...]]:
    """The likeliest sets of one side, none among them, by their members' places among the unknowns of both."""
    fitted = own.fitted
    order = np.argsort(-logsumexp(fitted.log, axis=1), kind="stable")[:_OF_EACH_SIDE]
    found = [tuple(int(place[i]) for i in fitted.sets[h] if i != NONE) for h in order]
    return found if () in found[:_BESIDE] else [*found[: _BESIDE - 1], (), *found[_BESIDE - 1 :]]
