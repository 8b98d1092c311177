"""What an estimate says of one side: its diagnosis, told all together."""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from linkmotion.studies.diagnosis.alike import ODDS, SEEN, alike, as_valve
from linkmotion.studies.diagnosis.disturbed import disturbances_of, hidden_in, misread_in
from linkmotion.studies.diagnosis.estimate import Estimate
from linkmotion.studies.diagnosis.evidence import NONE
from linkmotion.studies.diagnosis.mixture import Mixture
from linkmotion.studies.diagnosis.next_reading import Explained, next_readings
from linkmotion.studies.diagnosis.one_sided import beyond_an_edge
from linkmotion.studies.diagnosis.priors import SIZES
from linkmotion.studies.diagnosis.result import (
    FIRST,
    LESS_LIKELY,
    NOT_APART,
    NOT_SEEN,
    Diagnosis,
    Explanation,
    Suspect,
    Worn,
)
from linkmotion.studies.diagnosis.side_readings import PORT
from linkmotion.studies.diagnosis.worn_place import WORN
from linkmotion.studies.figures.dimensions import CENTRAL

Array = NDArray[np.float64]
_LEAST = 1e-6  # mm: spread of what is known exactly
_SQUARES = 3e-4  # of the whole: explanations less likely add nothing to the mean squares


class WhatIsTold:
    """What the estimate says of one side.

    Parameters
    ----------
    found : Estimate
        Of one side or both.
    number : int
        Which of its sides.
    """

    def __init__(self, found: Estimate, number: int) -> None:
        self.number = number
        self.found, self.part, self.place = found, found.fit.parts[number], found.fit.places[number]
        start = sum(len(part.readings) for part in found.fit.parts[:number])
        self.rows = slice(start, start + len(self.part.readings))
        told = self.part.told  # by number of the unknown: the dimensions, then what may be wrong besides
        self.own, self.keys, self.dims = list(told), tuple(told.values()), len(self.part.keys)
        self.count = len(self.keys)
        self.places = self.place[self.own]
        where = np.full(len(found.fit.unknowns) + 1, NONE)  # an absent member, or another side's, is none of this one's
        where[self.place] = self.count
        where[self.places] = np.arange(self.count)
        self.sets = where[found.sets]
        more = np.ones(self.count - self.dims)
        self.sound = np.append(self.part.priors.sound, more)
        self.wrong = np.append(self.part.priors.wrong, WORN * more)
        stds = np.maximum(np.sqrt(found.variance[:, self.places]) * self.sound, _LEAST)  # none has worn nothing at all
        self.mixture = Mixture(self.sets, found.weights, found.z[:, self.places] * self.sound, stds, self._between())
        self.seen = found.seen[self.places]
        self.groups = self._grouped()

    def _between(self) -> Array:
        """Correlation of this side's two wrong dimensions in each explanation that has two, shape (H',)."""
        found, correlation = self.found, np.zeros(len(self.sets))
        own = np.sort(np.where(self.sets < self.count, self.sets, NONE), axis=1)[:, -2:]
        two = np.flatnonzero(np.all(own != NONE, axis=1))
        one, other = (self.places[own[two, i]] for i in range(2))
        covariance = found.fitted.linear.between(found.sets[two], found.wide[two], one, other)
        stds = np.sqrt(found.variance[two, one] * found.variance[two, other])
        correlation[two] = np.divide(covariance, stds, out=np.zeros(two.size), where=stds > 0)
        return correlation

    def _grouped(self) -> dict[tuple[int, ...], list[int]]:
        """The explanations that take the same dimensions to be wrong, likeliest first."""
        groups: dict[tuple[int, ...], list[int]] = {}
        for h, members in enumerate(self.sets):
            groups.setdefault(tuple(sorted(int(i) for i in members if 0 <= i < self.count)), []).append(h)
        weight = {own: float(np.sum(self.found.weights[rows])) for own, rows in groups.items()}
        return {own: groups[own] for own in sorted(groups, key=lambda own: -weight[own])}

    def weight(self, group: tuple[int, ...]) -> float:
        """Probability of a group."""
        return float(np.sum(self.found.weights[self.groups[group]]))

    def means(self, group: tuple[int, ...]) -> Array:
        """Best estimate of every dimension in a group, mm and degrees."""
        rows = self.groups[group]
        return np.asarray(self.mixture.weights[rows] @ self.mixture.means[rows] / self.weight(group))

    @property
    def first(self) -> tuple[int, ...]:
        """The dimensions that are wrong in the likeliest explanation."""
        return next(iter(self.groups))

    @property
    def best(self) -> int:
        """The likeliest of that group."""
        return max(self.groups[self.first], key=lambda h: float(self.found.weights[h]))

    def diagnosis(self) -> Diagnosis:
        """All of it."""
        found, part, best = self.found, self.part, self.best
        z = found.z[best]
        linear = found.fitted.linear
        left = found.residual[best] - z @ linear.slopes.T
        sigma = found.fit.sigma[self.rows]
        low, high = (limit[: self.dims] for limit in self.told.intervals())
        own = self.places[: self.dims]
        misread = misread_in(found, part, self.place)
        return Diagnosis(
            side=part.side.side, readings=part.readings, apart=part.apart, keys=part.keys,
            departures=np.asarray(self.means(self.first)[: self.dims] @ part.priors.moves), covariance=self._about(),
            low=low, high=high, suspects=self._suspects(), explanations=self._explanations(),
            expected=part.at_figures, fitted=part.read - self._but_misread(left, z)[self.rows] * sigma,
            stands_out=self._standing_out(left, best)[self.rows],
            misfit=found.misfit(best), fit=found.chance, grown=found.fit.grown[self.number],
            sure=self._sure(), sound=self.weight(()) if () in self.groups else 0.0,
            misread=misread, hidden=hidden_in(found, part, self.place, best),
            disturbances=disturbances_of(found, part, self.place), method=part.method, loose=part.loose,
            alike=alike(linear.inner[np.ix_(own, own)], self.seen[: self.dims], part.priors), worn=self._worn(),
            as_valve=as_valve(linear, own, found.fit.sizes[own, -1], self.seen[: self.dims], part.priors),
            next=next_readings(part, self._views()),
        )  # fmt: skip

    def _but_misread(self, left: Array, z: Array) -> Array:
        """What is left of each reading where a misread one is held against the gear as it is."""
        own = self.found.fitted.linear.slopes
        misread = self.place[self.part.misread]
        return np.asarray(left + own[:, misread] @ z[misread])

    def _about(self) -> Array:
        """Mean square of the departures about the likeliest explanation's, over all explanations."""
        total, mixture, middle = np.zeros((self.dims, self.dims)), self.mixture, self.means(self.first)
        sound = self.part.priors.sound
        for h in np.flatnonzero(mixture.weights > _SQUARES):
            off = (mixture.means[h] - middle)[: self.dims]
            own = self.found.covariance(int(h), self.places[: self.dims]) * np.outer(sound, sound)
            total += mixture.weights[h] * (own + np.outer(off, off))
        return np.asarray(self.part.priors.moves.T @ total @ self.part.priors.moves)

    def _suspects(self) -> tuple[Suspect, ...]:
        least = self._least()
        seen = [i for i in self.part.suspects if i < self.dims and least[i] > 0]
        usual = float(np.mean(self.part.priors.felt(least[: self.dims])[seen])) if seen else 1.0
        mean, low, high = self.told.if_wrong(least, usual)
        wrong = self.mixture.wrong()
        most = self.weight(self.first)
        found = []
        for i in (i for i, key in enumerate(self.keys) if key != CENTRAL):
            likeliest = max((self.weight(own) for own in self.groups if i in own), default=0.0)
            odds = most / max(likeliest, 1e-300)
            standing = self._standing(i, odds)
            sizes = (float(mean[i]), float(low[i]), float(high[i]))
            found.append(Suspect(self.keys[i], float(wrong[i]), *sizes, odds, float(self.seen[i]), standing))
        return tuple(sorted(found, key=lambda own: (own.standing != FIRST, -own.probability)))

    @cached_property
    def told(self) -> Mixture:
        """What is told of dimensions: of a port that is found to cut off no opening, that it is as wide or wider."""
        found, part = self.found, self.part
        if PORT not in part.keys:
            return self.mixture
        width = part.keys.index(PORT)
        edge = part.uncut(found.z[self.best, self.place[: part.exact]])
        before = np.sqrt(found.fitted.linear.variances(found.sets, found.wide)[:, self.place[width]])
        return beyond_an_edge(self.mixture, width, edge, before * self.sound[width])

    def _least(self) -> Array:
        """How far off each dimension must be before these readings feel it; nothing where they never do."""
        large = SEEN * SIZES[-1] * self.wrong
        return np.asarray(np.divide(large, self.seen, out=np.zeros(self.count), where=self.seen >= SEEN))

    def _sure(self) -> float:
        """Probability that something wrong is among what is accused: first, or not told apart from it."""
        accused = {i for group in self._questioned() for i in group} if self.first else set()
        return sum(self.weight(group) for group in self.groups if accused & set(group))

    def _standing(self, dimension: int, odds: float) -> str:
        if dimension in self.first:
            return FIRST
        if self.seen[dimension] < SEEN:
            return NOT_SEEN
        return NOT_APART if odds < ODDS else LESS_LIKELY

    def _explanations(self) -> tuple[Explanation, ...]:
        found = []
        groups = self._questioned()
        for group, limits in zip(groups, self.told.if_these(groups, self._least()), strict=True):
            means, (low, high) = self.means(group)[list(group)], (own.tolist() for own in limits)
            order = sorted(range(len(group)), key=lambda k: -abs(means[k]) / self.wrong[group[k]])
            sizes = (tuple(float(own[k]) for k in order) for own in (means, low, high))
            found.append(Explanation(tuple(self.keys[group[k]] for k in order), self.weight(group), *sizes))
        return tuple(found)

    def _questioned(self) -> list[tuple[int, ...]]:
        """The groups in question: those not 20 to 1 against the first."""
        most = self.weight(self.first)
        return [group for group in self.groups if self.weight(group) * ODDS >= most]

    def _worn(self) -> tuple[Worn, ...]:
        """What the likeliest explanation has worn off the slot."""
        means = self.means(self.first)
        return tuple(Worn(self.part.places[i - self.dims], float(means[i])) for i in self.first if i >= self.dims)

    def _views(self) -> list[Explained]:
        """The explanations in question."""
        found = []
        for group in self._questioned():
            rows = self.groups[group]
            h = max(rows, key=lambda own: float(self.found.weights[own]))
            covariance = self.found.covariance(h, self.place)
            members = tuple(self.own[i] for i in group)
            found.append(Explained(members, self.weight(group), self.found.z[h][self.place], covariance))
        return found

    def _standing_out(self, left: Array, best: int) -> Array:
        """Each reading less what the others say of it, in its uncertainty, in the linear case about the best estimate.

        With B = A_S⁻¹ and ``B r`` the residual of the fit, the reading left out is off by ``(B r)_i / sqrt(B_ii)``.
        """
        linear = self.found.fitted.linear
        row = slice(best, best + 1)
        wide = linear.variances(self.found.sets[row], self.found.wide[row])[0]
        inverse = np.linalg.inv((linear.slopes * wide) @ linear.slopes.T + np.eye(len(left)))
        return np.asarray(left / np.sqrt(np.diag(inverse)))
