"""What all explanations together say of each dimension: probabilities and intervals of a mixture of normals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from linkmotion.studies.diagnosis.evidence import NONE, Sets
from linkmotion.studies.diagnosis.normals import Normals

Array = NDArray[np.float64]
_LEAST = 1e-5  # of the whole: explanations less likely are left out
_EDGES = np.array([0.0, 0.003, 0.01, 0.03, 0.1, 0.25, 0.5, 0.75, 1.0])  # parts of a partner's tail, thin at its far end
_NOTHING = 1e-200


@dataclass(frozen=True, eq=False)
class Mixture:
    """H explanations with their weights, and D dimensions under each.

    Attributes
    ----------
    sets : int array, shape (H, M)
        Dimensions that are wrong, −1 for none.
    weights : float array, shape (H,)
        Probabilities; their sum is one.
    means, stds : float array, shape (H, D)
        Of each dimension, mm and degrees.
    between : float array, shape (H,)
        Correlation of the two dimensions that are wrong; of no account where it is fewer.
    """

    sets: Sets
    weights: Array
    means: Array
    stds: Array
    between: Array

    def of(self, dimension: int) -> NDArray[np.bool_]:
        """In which explanations a dimension is wrong, shape (H,).

        Parameters
        ----------
        dimension : int
            Its number.
        """
        return np.asarray(np.any(self.sets == dimension, axis=1))

    def wrong(self) -> Array:
        """Probability that each dimension is wrong, shape (D,)."""
        return np.array([np.sum(self.weights[self.of(i)]) for i in range(self.means.shape[1])])

    def intervals(self) -> tuple[Array, Array]:
        """Limits that hold each dimension with 95 %, all told, shape (D,) each."""
        kept = np.flatnonzero(self.weights > _LEAST)
        rows, of = (own.ravel() for own in np.meshgrid(kept, np.arange(self.means.shape[1]), indexing="ij"))
        return self._normals(rows, of, self.weights[rows]).limits(np.zeros(self.means.shape[1]))

    def if_wrong(self, least: Array, usual: float = 1.0) -> tuple[Array, Array, Array]:
        """Mean, and the limits that hold each dimension with 95 %, if it is wrong and so far off that it is felt.

        A fault is what the readings feel: a second one beside it is felt too, or is none. Else pairs of which one is
        next to nothing, which say of the other what it alone says, stand for the pairs that are two faults, and these
        are reckoned rarer than they are by as much as most faults are not felt.

        Parameters
        ----------
        least : float array, shape (D,)
            What a fault must come to before the readings feel it, mm and degrees. Where they show none, that does not
            say that a wrong dimension is next to right: it is far off and another makes up for it, or not wrong.
        usual : float
            What part of all faults is felt, before anything is read: the probability of two is that of two felt.
        """
        count = self.means.shape[1]
        rows, columns = np.nonzero((self.sets != NONE) & (self.sets < count))
        of = self.sets[rows, columns]
        found, least = self._if_felt(rows, of, least, of, count, usual)
        never = np.flatnonzero(np.bincount(of, self.weights[rows], count) <= 0)  # wrong in no explanation
        everywhere, whose = (own.ravel() for own in np.meshgrid(np.arange(len(self.sets)), never, indexing="ij"))
        found = found.with_more(self._normals(everywhere, whose, np.full(whose.size, 1.0 / len(self.sets))))
        return found.mean(least), *found.limits(least)

    def if_these(self, groups: Sequence[Sequence[int]], least: Array) -> list[tuple[Array, Array]]:
        """Limits that hold each dimension of each group with 95 %, if these are wrong, no other, and each is felt.

        They are narrower than those of :meth:`if_wrong`, which do not know what is wrong besides.

        Parameters
        ----------
        groups : sequence of sequences of int
            One or two dimensions each, wrong together in some explanation and no other in it.
        least
            As of :meth:`if_wrong`.
        """
        count = self.means.shape[1]
        own = np.sort(np.where(self.sets < count, self.sets, NONE), axis=1)
        first = np.cumsum([0, *map(len, groups)])
        parts = []
        for start, group in zip(first, groups, strict=False):
            wanted = np.full(own.shape[1], NONE)
            wanted[own.shape[1] - len(group) :] = sorted(group)
            rows = np.flatnonzero(np.all(own == wanted, axis=1))
            parts += [(rows, np.full(rows.size, i), np.full(rows.size, start + k)) for k, i in enumerate(group)]
        if not parts:
            return [(np.zeros(0), np.zeros(0))] * len(groups)
        rows, of, label = (np.concatenate(each) for each in zip(*parts, strict=True))
        found, least = self._if_felt(rows, of, least, label, int(first[-1]))
        low, high = found.limits(least)
        return [(low[one:end], high[one:end]) for one, end in pairwise(first)]

    def _if_felt(
        self, rows: Sets, of: Sets, least: Array, label: Sets, count: int, usual: float = 1.0
    ) -> tuple[Normals, Array]:
        """Dimensions that are wrong in explanations and felt, and what is felt of each, by label.

        Of one of which nothing that is likely is felt all is taken, and least is nothing.
        """
        own = np.zeros(count)
        own[label] = least[of]
        total = np.bincount(label, self.weights[rows], count)
        likely = self.weights[rows] > _LEAST * total[label]
        rows, of, label = rows[likely], of[likely], label[likely]
        alone = Normals(label, self.weights[rows], self.means[rows, of], self.stds[rows, of], count)
        felt = self._beside(rows, of, least, usual)
        felt = Normals(label[felt.of], felt.weights, felt.means, felt.stds, count)
        told = np.bincount(felt.of, felt.felt(own), count) > _LEAST * total
        return felt.only(told[felt.of]).with_more(alone.only(~told[label])), np.where(told, own, 0.0)

    def _normals(self, rows: Sets, of: Sets, weights: Array) -> Normals:
        return Normals(of, weights, self.means[rows, of], self.stds[rows, of], self.means.shape[1])

    def _beside(self, rows: Sets, of: Sets, least: Array, usual: float) -> Normals:
        """Dimensions that are wrong in explanations, those of two where the other is felt: a normal for each part.

        Whose each is, is told by its place among the rows.
        """
        from scipy.special import ndtr, ndtri

        own = np.where(self.sets < self.means.shape[1], self.sets, NONE)[rows]
        partner = np.max(np.where(own == of[:, None], NONE, own), axis=1)
        place = np.flatnonzero(partner == NONE)
        weights, means, stds = self.weights[rows], self.means[rows, of], self.stds[rows, of]
        found = Normals(place, weights[place], means[place], stds[place], rows.size)
        place = np.flatnonzero(partner != NONE)
        weights, means, stds, partner = weights[place], means[place], stds[place], partner[place]
        middle, std = self.means[rows[place], partner], self.stds[rows[place], partner]
        sure = np.clip(self.between[rows[place]], -1.0, 1.0)
        for sign in (1.0, -1.0):
            beyond = ndtr((sign * middle - least[partner]) / std)
            edges = -ndtri(np.maximum(beyond, _NOTHING)[:, None] * _EDGES)  # in the partner's own standard deviations
            off, square = _between(edges)
            moved = means[:, None] + (sign * sure * stds)[:, None] * off
            spread = stds[:, None] * np.sqrt(1.0 - sure[:, None] ** 2 * (1.0 - square))
            share = (weights * beyond / usual)[:, None] * np.diff(_EDGES)
            parts = (np.repeat(place, off.shape[1]), share.ravel(), moved.ravel(), spread.ravel())
            found = found.with_more(Normals(*parts, rows.size))
        return found


def _between(edges: Array) -> tuple[Array, Array]:
    """Mean and variance of a unit normal between edges that fall from one to the next, the first without end."""
    from scipy.special import ndtr

    density = np.exp(-0.5 * edges**2) / np.sqrt(2 * np.pi)
    share = np.maximum(np.diff(ndtr(-edges), axis=1), _NOTHING)
    mean = np.diff(density, axis=1) / share
    first = np.where(np.isinf(edges), 0.0, np.nan_to_num(edges, posinf=0.0) * density)
    return mean, np.clip(1.0 + np.diff(first, axis=1) / share - mean**2, 0.0, 1.0)
