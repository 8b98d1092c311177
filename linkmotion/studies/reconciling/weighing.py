"""Which drawing does not hold of its part, and which taking is wrong: the likeliest, and all that is nearly as likely.

Any number of parts may be off their drawing, and any number of takings wrong, each by itself; how far off has heavy
tails, as in a diagnosis. The likeliest of all such *accounts* is sought by altering one or two members at a time, and
again with each of its members held out: a wrong taking can be explained by two or three others, and no step of one or
two members leads from the one account to the other. Then every account that differs in one or two members from one at
which the search stood is weighed by how well it explains the takings, in the linear case in closed form
(:mod:`linkmotion.studies.diagnosis.evidence`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkmotion.studies.diagnosis.evidence import NONE, Linear, Sets
from linkmotion.studies.diagnosis.priors import CHANCES
from linkmotion.studies.reconciling.taking import Takings

Array = NDArray[np.float64]
OFF, WRONG = 0.05, 0.01
"""Probability that a part is off its drawing by far more than its tolerance, and that a taking is wrong by far more
than its doubt; common practice, no source."""
_ROUNDS, _STEPS, _PAIRED = 4, 60, 90
_COUNTS = 1e-3  # of the likeliest: an account less likely than that has none about it that count
_BETTER = 1e-6  # by how much a logarithm must grow
_LIKELY = 1e-6  # of the whole: accounts less likely are not counted


@dataclass(frozen=True, eq=False)
class Accounts:
    """H accounts of what is off and what is wrong, the likeliest first.

    Attributes
    ----------
    linear, residual : Linear, array (1, R)
        The equations about the likeliest, whose variances are its base.
    sets, wide : arrays, shape (H, M)
        Members in which each differs from the likeliest, −1 for none, and what that adds to their variances.
    wrong : bool array, shape (H, N)
        What is off or wrong in each.
    weights : array, shape (H,)
        Their probabilities; the sum is one.
    z, variance : arrays, shape (H, N)
        Best estimate and variance of each unknown.
    """

    linear: Linear
    residual: Array
    sets: Sets
    wide: Array
    wrong: NDArray[np.bool_]
    weights: Array
    z: Array
    variance: Array

    def covariance(self, which: int, of: NDArray[np.intp] | None = None) -> Array:
        """Covariance of unknowns in one account, in their spreads."""
        return self.linear.covariance(self.sets[which], self.wide[which], of)


class _Search:
    """A search for the likeliest account of some takings."""

    def __init__(self, takings: Takings) -> None:
        self.takings = takings
        self.levels = np.column_stack([np.zeros(takings.base.size), takings.sizes])  # (N, 1 + sizes)
        self.doubted = np.flatnonzero(takings.sizes[:, -1] > 0)
        chance = np.where(np.arange(takings.base.size) < takings.first_slip, OFF, WRONG)
        each = np.log(chance)[:, None] + np.log(CHANCES)[None]
        self.log_prior = np.column_stack([np.log1p(-chance), each])
        self.level = np.zeros(takings.base.size, np.intp)
        self.x = np.zeros(takings.exact)
        self.further: list[Sets] = []

    def run(self) -> Accounts:
        for number in range(_ROUNDS):
            linear, self.residual = self.takings.about(self.x)
            self.slopes = linear.slopes
            before = self.level.copy()
            self._climb()
            if number:  # the equations are then those about an account, not about the drawing
                self._climb_elsewhere()
            here = self._linear()
            none = np.full((1, 1), NONE)
            z = here.estimates(none, np.zeros((1, 1)), self.residual)[0]
            moved = float(np.max(np.abs(z[: self.x.size] - self.x)))
            self.x = z[: self.x.size]
            if moved < 1e-3 and np.array_equal(before, self.level):
                break
        return self._around()

    def _linear(self) -> Linear:
        own = self.levels[np.arange(self.level.size), self.level]
        return Linear.about(self.slopes, self.takings.base + own)

    def _climb_elsewhere(self) -> None:
        """Each member of the account held out in turn: a likelier account may lie further off than two members.

        Accounts from which no step leads up, though less likely, are kept in ``further``.
        """
        found, best = self.level.copy(), self._whole()
        left, seen = np.flatnonzero(found).tolist(), [(best, found)]
        while left:
            member = left.pop(0)
            self.level = found.copy()
            self.level[member] = 0
            self._climb(without=member)
            seen.append((self._whole(), self.level.copy()))
            if seen[-1][0] > best + np.log(_COUNTS):
                self._climb()
                seen.append((self._whole(), self.level.copy()))
            if seen[-1][0] > best + _BETTER:
                best, found = seen[-1]
                left = np.flatnonzero(found).tolist()
        self.level, apart = found, [found]
        for log, own in sorted(seen, key=lambda each: -each[0]):
            if log > best + np.log(_COUNTS) and min(np.count_nonzero(own != each) for each in apart) > 2:
                apart.append(own)
        self.further = apart[1:]

    def _whole(self) -> float:
        """Logarithm of how likely the account is, less a constant."""
        here = self._linear()
        each = self.log_prior[np.arange(self.level.size), self.level]
        return float(np.sum(each) - 0.5 * (here.misfit(self.residual)[0] + here.log_det))

    def _climb(self, without: int = NONE) -> None:
        for _ in range(_STEPS):
            sets, _, log, changes = self._neighbours(self._linear(), False, without)
            best = int(np.argmax(log))
            if log[best] <= 1e-9:
                sets, _, log, changes = self._neighbours(self._linear(), True, without)
                best = int(np.argmax(log))
                if log[best] <= 1e-9:
                    return
            for member, to in zip(sets[best], changes[best], strict=True):
                if member != NONE:
                    self.level[member] = to

    def _neighbours(self, linear: Linear, pairs: bool, without: int = NONE) -> tuple[Sets, Array, Array, Sets]:
        """Accounts that differ in one member, or in two; logarithm of how much likelier each is than this one."""
        single = [
            (int(i), to)
            for i in self.doubted
            for to in range(self.levels.shape[1])
            if to != self.level[i] and i != without
        ]
        members = np.array([[i, NONE] for i, _ in single])
        to = np.array([[own, 0] for _, own in single])
        log = self._log(linear, members, to)
        if pairs:
            order = np.argsort(-log, kind="stable")
            likely = order[: 3 * _PAIRED]
            first, second = (likely[own] for own in np.triu_indices(likely.size, 1))
            apart = members[first, 0] != members[second, 0]
            first, second = first[apart], second[apart]
            both = np.column_stack([members[first, 0], members[second, 0]])
            levels = np.column_stack([to[first, 0], to[second, 0]])
            members, to = np.vstack([members, both]), np.vstack([to, levels])
            log = np.concatenate([log, self._log(linear, both, levels)])
        return members, self._wide(members, to), log, to

    def _wide(self, members: Sets, to: Sets) -> Array:
        now = self.levels[members, self.level[members]]
        return np.where(members == NONE, 0.0, self.levels[members, to] - now)

    def _log(self, linear: Linear, members: Sets, to: Sets) -> Array:
        wide = self._wide(members, to)
        found = linear.evidence(members, wide[:, None, :], self.residual)[:, 0]
        none = np.full((1, 1), NONE)
        found = found - linear.evidence(none, np.zeros((1, 1, 1)), self.residual)[0, 0]
        prior = self.log_prior[members, to] - self.log_prior[members, self.level[members]]
        return np.asarray(found + np.sum(np.where(members == NONE, 0.0, prior), axis=1))

    def _around(self) -> Accounts:
        likeliest, rows, logs = self.level, [self.level[None]], [np.array([self._whole()])]
        for mode in (likeliest, *self.further):
            self.level = mode
            members, _, log, to = self._neighbours(self._linear(), pairs=True)
            log, own = np.append(log + self._whole(), self._whole()), np.full((1, members.shape[1]), NONE)
            members, to = np.vstack([members, own]), np.vstack([to, 0 * own])
            kept = np.flatnonzero(log > np.logaddexp.reduce(log) + np.log(_LIKELY))
            near = np.tile(mode, (kept.size, 1))
            for member, level in zip(members[kept].T, to[kept].T, strict=True):
                there = np.flatnonzero(member != NONE)
                near[there, member[there]] = level[there]
            rows.append(near)
            logs.append(log[kept])
        self.level = likeliest
        return self._accounts(np.concatenate(rows), np.concatenate(logs))

    def _accounts(self, levels: Sets, log: Array) -> Accounts:
        """Of accounts by the levels of their unknowns (H, N), some of them more than once: the likeliest first."""
        mark = levels @ np.random.default_rng(1).integers(0, 2**62, levels.shape[1])  # one number for each account
        _, once = np.unique(mark, return_index=True)
        weights = np.exp(log - np.logaddexp.reduce(log[once]))
        once = once[(once == 0) | (weights[once] > _LIKELY)]
        once = once[np.lexsort((-log[once], once != 0))]
        levels, weights = levels[once], weights[once]
        apart = levels != self.level
        row, member = np.nonzero(apart)
        sets = np.full((len(levels), max(int(apart.sum(axis=1).max()), 2)), NONE)
        sets[row, (np.cumsum(apart, axis=1) - 1)[row, member]] = member
        now = self.levels[sets, self.level[sets]]
        wide = self.levels[sets, np.take_along_axis(levels, sets, axis=1)] - now  # of an absent member read, and naught
        wide[sets == NONE] = 0.0
        linear = self._linear()
        z = linear.estimates(sets, wide, self.residual)
        variance = np.maximum(linear.spreads(sets, wide), 0.0)
        return Accounts(linear, self.residual, sets, wide, levels > 0, weights / np.sum(weights), z, variance)


def weighed(takings: Takings) -> Accounts:
    """The likeliest account of some takings, and those around it.

    Parameters
    ----------
    takings : Takings
        Of one side.
    """
    return _Search(takings).run()
