"""What is wrong with it? Which dimension errors explain the readings of one side, how surely, and what to read next.

Every dimension is taken to be as near its figure as its tolerance says, and none, one or two of them to be wrong by
far more (:mod:`.priors`). Each such explanation is fitted to the readings with exact predictions of the
gear (:mod:`.fit`), and weighed by how well it explains them (Laplace's approximation, which in the linear
case is the exact law of normal distributions). What is stated of a dimension is what all explanations together say.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from linkmotion.studies.assess import SideEvents
from linkmotion.studies.diagnosis.alike import ODDS, SEEN, alike, detectability
from linkmotion.studies.diagnosis.evidence import NONE
from linkmotion.studies.diagnosis.fit import Fit, Fitted
from linkmotion.studies.diagnosis.mixture import Mixture
from linkmotion.studies.diagnosis.next_reading import next_readings
from linkmotion.studies.diagnosis.priors import Priors
from linkmotion.studies.diagnosis.result import FIRST, LESS_LIKELY, NOT_APART, NOT_SEEN, Explanation, Suspect
from linkmotion.studies.diagnosis.result import Diagnosis as Diagnosis
from linkmotion.studies.diagnosis.result import TooFewReadings as TooFewReadings
from linkmotion.studies.figures.figure import Reading
from linkmotion.studies.figures.model import GearModel

Array = NDArray[np.float64]
FEWEST = 3  # readings


def diagnose(side: SideEvents, readings: Iterable[Reading], priors: Priors) -> Diagnosis:
    """Find which dimension errors explain the readings of a side.

    Parameters
    ----------
    side : SideEvents
        The gear as it is believed to be, assessed with the notches that are read among its own.
    readings : iterable of Reading
        Of this side. Lost motion says nothing of dimensions and is left apart.
    priors : Priors
        How far the dimensions may be from their figures.

    Raises
    ------
    TooFewReadings
        Fewer than three readings can be used.
    """
    model, own, apart = _usable(side, tuple(readings), priors)
    if len(own) < FEWEST:
        raise TooFewReadings(f"{len(own)} usable readings of the {side.side} side; {FEWEST} or more are wanted")
    fit = Fit(model, own, priors)
    fitted = fit.fitted()
    mixture, order = _mixture(fit, fitted)
    best = order[0]
    left = fit.left(fitted.z[best][None])[0]
    low, high = mixture.intervals()
    off = _standing_out(fitted, int(best), left)
    return Diagnosis(
        side=side.side, readings=own, apart=apart, keys=priors.keys,
        departures=fit.departures(fitted.z[best]), covariance=_about(mixture, fit, fitted, int(best)),
        low=low, high=high,
        suspects=_suspects(fit, fitted, mixture),
        explanations=_explanations(priors, mixture, order),
        expected=model.at_figures, fitted=fit.read - left * fit.sigma, stands_out=off,
        misfit=float(fitted.misfit[best]), fit=_chance_of(float(fitted.misfit[best]), len(own)),
        alike=alike(fitted.linear, priors), next=next_readings(side, fit, fitted, mixture.weights),
    )  # fmt: skip


def _usable(
    side: SideEvents, readings: tuple[Reading, ...], priors: Priors
) -> tuple[GearModel, tuple[Reading, ...], tuple[tuple[Reading, float], ...]]:
    """The model of the readings that say something of dimensions, these, and those that do not."""
    model = GearModel.of(side, readings, priors.keys)
    expected = model.at_figures.tolist()
    use = [i for i, reading in enumerate(readings) if reading.kind != "lost motion" and np.isfinite(expected[i])]
    own = tuple(readings[i] for i in use)
    return model.only(use), own, tuple((readings[i], expected[i]) for i in range(len(readings)) if i not in use)


def _mixture(fit: Fit, fitted: Fitted) -> tuple[Mixture, NDArray[np.intp]]:
    """All explanations with their probabilities, and their order."""
    log = fitted.log_evidence + fit.log_prior(fitted.sets)
    weights = np.exp(log - np.max(log))
    weights /= np.sum(weights)
    stds = np.sqrt(fitted.linear.spreads(fitted.sets)) * fit.priors.sound
    mixture = Mixture(fitted.sets, weights, fitted.z * fit.priors.sound, stds)
    return mixture, np.argsort(-weights, kind="stable")


def _about(mixture: Mixture, fit: Fit, fitted: Fitted, best: int) -> Array:
    """Mean square of the departures about the likeliest explanation's, over all explanations."""
    sound, total = fit.priors.sound, np.zeros((len(fit.priors.keys),) * 2)
    for h in np.flatnonzero(mixture.weights > 1e-4):
        off = mixture.means[h] - mixture.means[best]
        own = fitted.linear.covariance(fitted.sets[h]) * np.outer(sound, sound)
        total += mixture.weights[h] * (own + np.outer(off, off))
    return np.asarray(fit.priors.moves.T @ total @ fit.priors.moves)


def _suspects(fit: Fit, fitted: Fitted, mixture: Mixture) -> tuple[Suspect, ...]:
    mean, low, high = mixture.if_wrong()
    wrong, seen = mixture.wrong(), detectability(fitted.linear)
    first = mixture.sets[np.argmax(mixture.weights)]
    found = []
    for i, key in enumerate(fit.priors.keys):
        likeliest = float(np.max(mixture.weights[mixture.of(i)]))
        odds = float(np.max(mixture.weights)) / max(likeliest, 1e-300)
        standing = _standing(bool(i in first), float(seen[i]), odds)
        found.append(
            Suspect(key, float(wrong[i]), float(mean[i]), float(low[i]), float(high[i]), odds, float(seen[i]), standing)
        )
    return tuple(sorted(found, key=lambda own: (own.standing != FIRST, -own.probability)))


def _standing(in_first: bool, seen: float, odds: float) -> str:
    if in_first:
        return FIRST
    if seen < SEEN:
        return NOT_SEEN
    return NOT_APART if odds < ODDS else LESS_LIKELY


def _explanations(priors: Priors, mixture: Mixture, order: NDArray[np.intp]) -> tuple[Explanation, ...]:
    worth = [h for h in order if mixture.weights[h] * ODDS >= mixture.weights[order[0]]]
    found = []
    for h in worth:
        members = [int(i) for i in mixture.sets[h] if i != NONE]
        members.sort(key=lambda i: -abs(mixture.means[h, i]) / priors.wrong[i])
        departures = tuple(float(mixture.means[h, i]) for i in members)
        found.append(Explanation(tuple(priors.keys[i] for i in members), float(mixture.weights[h]), departures))
    return tuple(found)


def _standing_out(fitted: Fitted, best: int, left: Array) -> Array:
    """Each reading less what the others say of it, in its uncertainty, in the linear case about the best estimate.

    With B = A_S⁻¹ and ``B r`` the residual of the fit, the reading left out is off by ``(B r)_i / sqrt(B_ii)``.
    """
    linear = fitted.linear
    wide = linear.variances(fitted.sets[best][None])[0]
    inverse = np.linalg.inv((linear.slopes * wide) @ linear.slopes.T + np.eye(len(left)))
    return np.asarray(left / np.sqrt(np.diag(inverse)))


def _chance_of(misfit: float, count: int) -> float:
    """Probability of a sum of squares as large, of so many readings."""
    from scipy.special import chdtrc

    return float(chdtrc(count, misfit))
