"""Fitting every likely set of faults to the readings of one side or of both, with exact predictions of the gear.

Gauss–Newton's method with one Jacobian for all sets, exact at the best of them: each set steps to the best estimate
of the linear problem about its own place, where its own readings are predicted exactly. What the common Jacobian
does to another set is to weigh its residuals, which are of the size of the readings' uncertainties, by slopes that
are out by the curvature over some millimetres: a few hundredths of its standard deviation. Sets that are not among the
likeliest are weighed by the linear problem about the best of all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp

from linkmotion.studies.diagnosis.evidence import NONE, Array, Linear, Sets
from linkmotion.studies.diagnosis.priors import CHANCES, SIZES
from linkmotion.studies.diagnosis.side_readings import Part

_REFINED, _ROUNDS, _STEPS, _HALVINGS = 40, 3, 2, 6
_FARTHEST = 8.0  # spreads of its own prior: readings that want an unknown further off do not fit this gear at all


@dataclass(frozen=True, eq=False)
class Fitted:
    """Every set of faults, fitted.

    Attributes
    ----------
    sets : int array, shape (H, M)
        Which unknowns are faults, −1 for none.
    log : float array, shape (H, C)
        Logarithm of how probable each is, a fault of each size apart, less a constant.
    wide : float array, shape (H, C, M)
        Variance that its members have more, for each choice of sizes.
    residual : float array, shape (H, R)
        Linear residuals r, whitened, from which its best estimate follows.
    x : float array, shape (H, X)
        Where the sets fitted exactly stand; NaN for the others.
    linear : Linear
        The readings about the best estimate.
    """

    sets: Sets
    log: Array
    wide: Array
    residual: Array
    x: Array
    linear: Linear

    @property
    def best(self) -> tuple[int, int]:
        """The likeliest set, with the likeliest sizes of its faults."""
        first = int(np.argmax(logsumexp(self.log, axis=1)))
        return first, int(np.argmax(self.log[first]))


class Fit:
    """The readings of some sides, and all that is not known of them.

    Parameters
    ----------
    parts : sequence of Part
        One side or both; unknowns of the same name are one.
    grown : sequence of float
        By how much each side's stated uncertainties are multiplied; not at all, if empty.

    Attributes
    ----------
    unknowns : tuple
        N of them, by name; X of these the gear is turned with, exactly.
    places : list of int arrays
        Of each side's unknowns among them.
    base, sizes : arrays, shape (N,) and (N, sizes)
        Variance without a fault, and what a fault of each size adds, in squares of their spreads.
    """

    def __init__(self, parts: Sequence[Part], grown: Sequence[float] = ()) -> None:
        self.parts, self.grown = tuple(parts), tuple(grown) or (1.0,) * len(parts)
        self.unknowns = tuple(dict.fromkeys(own for part in parts for own in part.unknowns))
        at = {own: i for i, own in enumerate(self.unknowns)}
        self.places = [np.array([at[own] for own in part.unknowns]) for part in parts]
        count = len(self.unknowns)
        self.base, self.sizes = np.zeros(count), np.zeros((count, len(SIZES)))
        exact = np.zeros(count, bool)
        for part, own in zip(parts, self.places, strict=True):
            self.base[own], self.sizes[own] = part.base, part.sizes
            exact[own[: part.exact]] = True
        self.exact = np.flatnonzero(exact)
        self.within = [np.searchsorted(self.exact, own[: part.exact]) for part, own in self._pairs()]

    def _pairs(self) -> list[tuple[Part, NDArray[np.intp]]]:
        return list(zip(self.parts, self.places, strict=True))

    def over(self, x: Array) -> Array:
        """What is left of the readings, in their units, shape (H, R).

        Parameters
        ----------
        x : array, shape (H, X)
            So much of the exact unknowns, in their spreads; NaN is left where the gear cannot be assembled.
        """
        return np.column_stack([part.over(x[:, own]) for part, own in zip(self.parts, self.within, strict=True)])

    def about(self, x: Array) -> tuple[Linear, Array]:
        """The linear problem about a place, and the means of the play, whitened, shape (R,).

        Parameters
        ----------
        x : array, shape (X,)
            The place.
        """
        bases = [part.basis(x[own]) for part, own in zip(self.parts, self.within, strict=True)]
        slopes = np.zeros((sum(len(own.mean) for own in bases), len(self.unknowns)))
        row = 0
        for basis, own in zip(bases, self.places, strict=True):
            slopes[row : row + len(basis.mean), own] = basis.slopes
            row += len(basis.mean)
        grown = np.repeat(self.grown, [len(own.mean) for own in bases])
        return Linear.about(slopes / grown[:, None], self.base), np.concatenate([own.mean for own in bases]) / grown

    @property
    def sigma(self) -> Array:
        """Uncertainties of all readings, as grown."""
        return np.concatenate([part.sigma * by for part, by in zip(self.parts, self.grown, strict=True)])

    def fitted(self, sets: Sets, log_prior: Array, start: Array) -> Fitted:
        """All sets, fitted.

        Parameters
        ----------
        sets : int array, shape (H, M)
            That without any fault among them.
        log_prior : array, shape (H,)
            Logarithm of how likely each is before anything is read.
        start : array, shape (X,)
            Where all stands if none is wrong.
        """
        search = _Search(self, sets, log_prior)
        search.run(start)
        return search.fitted()

    def nothing(self) -> tuple[Array, Linear]:
        """Where all stands if there are no faults, and the linear problem there."""
        x: Array = np.zeros(self.exact.size)
        none = np.full((1, 1), NONE)
        linear, mean = self.about(x)
        for _ in range(2):
            residual = self.residual(self.over(x[None]), x[None], linear, mean)
            wanted = linear.estimates(none, np.zeros((1, 1)), residual)[:, self.exact]
            x = self.reached(x[None], wanted)[0][0]
            linear, mean = self.about(x)
        return x, linear

    def residual(self, over: Array, x: Array, linear: Linear, mean: Array) -> Array:
        """Linear residuals r, shape (H, R).

        Parameters
        ----------
        over, x : arrays, shape (H, R) and (H, X)
            What the places x leave of the readings.
        linear, mean
            As of :meth:`about`.
        """
        return np.asarray(over / self.sigma - mean + x @ linear.slopes[:, self.exact].T)

    def reached(self, x: Array, wanted: Array) -> tuple[Array, Array]:
        """The places wanted, or such as lie between them and x where these cannot be; and what they leave over.

        Parameters
        ----------
        x, wanted : arrays, shape (H, X)
            Places that can be; places that may not.
        """
        new, after = wanted.copy(), self.over(wanted)
        for _ in range(_HALVINGS):
            lost = np.any(np.isnan(after), axis=1)
            if not np.any(lost):
                return new, after
            new[lost] = (new[lost] + x[lost]) / 2
            after[lost] = self.over(new[lost])
        lost = np.any(np.isnan(after), axis=1)
        new[lost], after[lost] = x[lost], self.over(x[lost])
        return new, after


class _Search:
    """One fit of all sets."""

    def __init__(self, fit: Fit, sets: Sets, log_prior: Array) -> None:
        self.fit, self.sets, self.log_prior = fit, sets, log_prior
        choices = np.array(list(product(range(len(SIZES)), repeat=sets.shape[1])))
        self.log_size = np.sum(np.log(CHANCES)[choices], axis=1)
        wide = fit.sizes[sets[:, None, :], choices[None]]  # (H, C, M)
        self.wide = np.where(sets[:, None, :] == NONE, 0.0, wide)
        self.x = np.full((len(sets), fit.exact.size), np.nan)
        self.over = np.full((len(sets), fit.sigma.size), np.nan)

    def run(self, start: Array) -> None:
        """The sets of one fault first, then the likeliest of all, about the best as it is known by then."""
        none = int(np.flatnonzero(np.all(self.sets == NONE, axis=1))[0])
        self.x[none], self.over[none] = start, self.fit.over(start[None])[0]
        self._look(none)
        alone = np.count_nonzero(self.sets != NONE, axis=1) == 1
        self._step(
            np.flatnonzero(alone & np.any(np.isin(self.sets, self.fit.exact), axis=1))
        )  # no misreading moves a gear
        for _ in range(_ROUNDS):
            self._look(self.first)
            before = self.first
            self._step(np.argsort(-logsumexp(self.log, axis=1), kind="stable")[:_REFINED])
            if self.first == before:
                break
        self._look(self.first)

    @property
    def first(self) -> int:
        """The likeliest set."""
        return int(np.argmax(logsumexp(self.log, axis=1)))

    def _look(self, best: int) -> None:
        """Take the best set's place for that about which all is linear, and weigh every set there."""
        if np.isnan(self.x[best, 0]):
            self._step(np.array([best]))
        self.best = best
        self.linear, self.mean = self.fit.about(self.x[best])
        here = self.fit.residual(self.over[best][None], self.x[best][None], self.linear, self.mean)
        self.residual = np.tile(here, (len(self.sets), 1))
        known = ~np.isnan(self.x[:, 0])
        self.log = np.empty(self.wide.shape[:2])
        self._weigh(np.flatnonzero(known))
        self.log[~known] = self._of(~known, here[0])

    def _weigh(self, which: NDArray[np.intp]) -> None:
        """Weigh sets that are fitted exactly, each where it stands."""
        self.residual[which] = self.fit.residual(self.over[which], self.x[which], self.linear, self.mean)
        self.log[which] = self._of(which, self.residual[which])

    def _of(self, which: NDArray[np.bool_] | NDArray[np.intp], residual: Array) -> Array:
        found = self.linear.evidence(self.sets[which], self.wide[which], residual)
        return np.asarray(found + self.log_size + self.log_prior[which, None])

    def _step(self, which: NDArray[np.intp]) -> None:
        """Steps of some sets, each from its own residuals."""
        rows = np.arange(which.size)
        for _ in range(_STEPS):
            wide = self.wide[which][rows, np.argmax(self.log[which], axis=1)]
            most = _FARTHEST * np.sqrt(self.linear.variances(self.sets[which], wide))
            wanted = self.linear.estimates(self.sets[which], wide, self.residual[which])
            wanted = np.clip(wanted, -most, most)[:, self.fit.exact]
            there = np.where(np.isnan(self.x[which]), self.x[self.best], self.x[which])
            self.x[which], self.over[which] = self.fit.reached(there, wanted)
            self._weigh(which)

    def fitted(self) -> Fitted:
        return Fitted(self.sets, self.log, self.wide, self.residual, self.x, self.linear)
