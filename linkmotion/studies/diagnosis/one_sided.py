"""A port wider than the valve ever opens it: how much wider, the readings do not say.

The greatest openings tell a port's width only where it cuts them off. From where it no longer does they are as they
are however wide it is: what is likely below that edge the readings say, beyond it only what was likely before.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from linkmotion.studies.diagnosis.evidence import NONE, Array
from linkmotion.studies.diagnosis.mixture import Mixture

_REACHES = 2.0  # of its own spreads: an explanation whose port is nearer to the edge than that may lie beyond it
_UNFELT = 0.9  # of what it was before: an explanation that knows it no better was found beyond the edge
_PARTS = 60  # as many normals for what is beyond
_LEAST = 1e-6  # mm: spread of what is known exactly


def beyond_an_edge(mixture: Mixture, dimension: int, edge: float, before: Array) -> Mixture:
    """The explanations with one dimension that the readings do not feel beyond an edge, in place of its normals.

    Parameters
    ----------
    mixture : Mixture
        H explanations, each normal as if the readings felt the dimension on both sides of the edge alike.
    dimension : int
        Which.
    edge : float
        From where on the readings do not feel it, mm.
    before : float array, shape (H,)
        Its standard deviation in each explanation before anything is read; its mean is nothing. Explanations found
        beyond the edge weighed what is read alone: that so wide a port is unlikely with a small fault is added.
    """
    from scipy.special import ndtr, ndtri

    if not edge > 0:
        return mixture
    mean, std = mixture.means[:, dimension], mixture.stds[:, dimension]
    unfelt = std > _UNFELT * before
    wrong = np.any((mixture.sets == dimension) & (mixture.sets != NONE), axis=1)
    there = np.flatnonzero(wrong & (unfelt | (mean + _REACHES * std >= edge)))
    wide, own = before[there], np.where(unfelt[there], 0.0, std[there])
    at = np.where(unfelt[there], edge, mean[there])
    past = ndtr(-at / wide)  # as likely before, beyond where each stands
    short = own * np.exp(-0.5 * (at / wide) ** 2) / (2 * wide)
    share = np.divide(past, past + short, out=np.ones(there.size), where=short > 0)
    whole = mixture.weights[there] * np.where(unfelt[there], 2 * past, 1.0)
    weights, means, stds = mixture.weights.copy(), mixture.means.copy(), mixture.stds.copy()
    between = mixture.between.copy()
    between[there] = 0.0  # halves and tails go with nothing else
    weights[there] = whole * (1.0 - share)
    means[there, dimension] = at - own * np.sqrt(2 / np.pi)  # the half of its normal that is below
    stds[there, dimension] = np.maximum(own, _LEAST) * np.sqrt(1 - 2 / np.pi)
    left = (np.arange(_PARTS) + 0.5) / _PARTS
    places = -wide[:, None] * ndtri(past[:, None] * left)
    more = np.repeat(there, _PARTS)
    far, near = mixture.means[more], mixture.stds[more]
    far[:, dimension] = np.ravel(places)
    near[:, dimension] = np.ravel(np.abs(np.gradient(places, axis=1)) / np.sqrt(12))
    return replace(
        mixture,
        sets=np.concatenate([mixture.sets, mixture.sets[more]]),
        weights=np.concatenate([weights, np.repeat(whole * share / _PARTS, _PARTS)]),
        means=np.concatenate([means, far]),
        stds=np.concatenate([stds, near]),
        between=np.concatenate([between, np.zeros(more.size)]),
    )
