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
        total = np.bincount(of, self.weights[rows], count)
        likely = self.weights[rows] > _LEAST * total[of]
        rows, of = rows[likely], of[likely]
        alone = self._normals(rows, of, self.weights[rows])
        felt = self._beside(rows, of, least, usual)
        told = np.bincount(felt.of, felt.felt(least), count) > _LEAST * total
        never = np.flatnonzero(total <= 0)  # wrong in no explanation
        everywhere, whose = (own.ravel() for own in np.meshgrid(np.arange(len(self.sets)), never, indexing="ij"))
        found = felt.only(told[felt.of]).with_more(alone.only(~told[of]))
        found = found.with_more(self._normals(everywhere, whose, np.full(whose.size, 1.0 / len(self.sets))))
        least = np.where(told, least, 0.0)
        return found.mean(least), *found.limits(least)

    def if_these(self, groups: Sequence[Sequence[int]]) -> list[tuple[Array, Array]]:
        """Limits that hold each dimension of each group with 95 %, if these are wrong and no other.

        Parameters
        ----------
        groups : sequence of sequences of int
            Dimensions each, wrong together in some explanation and no other in it; or none.
        """
        count = self.means.shape[1]
        own = np.sort(np.where(self.sets < count, self.sets, NONE), axis=1)
        first = np.cumsum([0, *map(len, groups)])
        found = Normals(np.zeros(0, np.intp), np.zeros(0), np.zeros(0), np.zeros(0), int(first[-1]))
        for start, group in zip(first, groups, strict=False):
            wanted = np.sort([*group, *[NONE] * (own.shape[1] - len(group))])
            rows = np.flatnonzero(np.all(own == wanted, axis=1))
            for place, i in enumerate(group, start):
                parts = (self.weights[rows], self.means[rows, i], self.stds[rows, i])
                found = found.with_more(Normals(np.full(rows.size, place), *parts, found.count))
        low, high = found.limits(np.zeros(found.count))
        return [(low[one:end], high[one:end]) for one, end in pairwise(first)]

    def _normals(self, rows: Sets, of: Sets, weights: Array) -> Normals:
        return Normals(of, weights, self.means[rows, of], self.stds[rows, of], self.means.shape[1])

    def _beside(self, rows: Sets, of: Sets, least: Array, usual: float) -> Normals:
        """Dimensions that are wrong in explanations, those of two where the other is felt: a normal for each part."""
        from scipy.special import ndtr, ndtri

        own = np.where(self.sets < self.means.shape[1], self.sets, NONE)[rows]
        partner = np.max(np.where(own == of[:, None], NONE, own), axis=1)
        single = partner == NONE
        found = self._normals(rows[single], of[single], self.weights[rows[single]])
        rows, of, partner = rows[~single], of[~single], partner[~single]
        middle, std, mine = self.means[rows, partner], self.stds[rows, partner], self.stds[rows, of]
        sure = np.clip(self.between[rows], -1.0, 1.0)
        for sign in (1.0, -1.0):
            beyond = ndtr((sign * middle - least[partner]) / std)
            edges = -ndtri(np.maximum(beyond, _NOTHING)[:, None] * _EDGES)  # in the partner's own standard deviations
            off, square = _between(edges)
            means = self.means[rows, of][:, None] + (sign * sure * mine)[:, None] * off
            stds = mine[:, None] * np.sqrt(1.0 - sure[:, None] ** 2 * (1.0 - square))
            weights = (self.weights[rows] * beyond / usual)[:, None] * np.diff(_EDGES)
            parts = (np.repeat(of, off.shape[1]), weights.ravel(), means.ravel(), stds.ravel())
            found = found.with_more(Normals(*parts, self.means.shape[1]))
        return found


def _between(edges: Array) -> tuple[Array, Array]:
    """Mean and variance of a unit normal between edges that fall from one to the next, the first without end."""
    from scipy.special import ndtr

    density = np.exp(-0.5 * edges**2) / np.sqrt(2 * np.pi)
    share = np.maximum(np.diff(ndtr(-edges), axis=1), _NOTHING)
    mean = np.diff(density, axis=1) / share
    first = np.where(np.isinf(edges), 0.0, np.nan_to_num(edges, posinf=0.0) * density)
    return mean, np.clip(1.0 + np.diff(first, axis=1) / share - mean**2, 0.0, 1.0)
