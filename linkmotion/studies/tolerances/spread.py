"""What tolerances make of the events: the spread of each, and the share of every tolerance in it.

*Linear*: with slopes g of an event to the dimensions and standard deviations σ of these, the event's is
``sqrt(sum (g σ)^2)`` and a tolerance's share of the variance is its own term. *Monte Carlo*: gears with
dimensions drawn at random are turned, block by block; shares are by least squares of the events on the
departures. Dimensions are taken to be independent of one another. A clearance is never below nothing: it moves the
mean too (:mod:`linkmotion.studies.figures.play`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from linkmotion.engine import SET_AFRESH, SideState
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.assess import SideEvents, assess_side
from linkmotion.studies.figures.figure import Figure, figures_of
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.tolerances.linear import LinearLaw, linear_law
from linkmotion.studies.tolerances.tolerance import Tolerance, Tolerances, draws, moves
from linkmotion.studies.tolerances.turned_in_blocks import turned_in_blocks
from linkmotion.wear.condition import SOUND

Array = NDArray[np.float64]
BLOCK = 1000  # variants turned in one call, whatever the number of processes
SAMPLES, SEED = 10_000, 1
_WIDE = 1.959963984540054  # standard deviations either way that hold 95 % of a normal distribution


@dataclass(frozen=True, eq=False)
class Spread:
    """Spread of F figures under D tolerances.

    Attributes
    ----------
    figures : tuple of Figure, length F
        Which: mm, or percent of stroke.
    tolerances : dict
        By (table, key), D of them.
    nominal, mean, std : float array, shape (F,)
        The figure with every dimension as drawn and no clearance; mean and standard deviation with tolerances.
    low, high : float array, shape (F,)
        Between them lie 95 % (linear: taken as normal).
    share : float array, shape (F, D)
        Share of each tolerance in the variance of each figure, 0 to 1.
    effect : float array, shape (F, D)
        What one standard deviation of each dimension does to each figure, signed.
    """

    figures: tuple[Figure, ...]
    tolerances: dict[Key, Tolerance]
    nominal: Array
    mean: Array
    std: Array
    low: Array
    high: Array
    share: Array
    effect: Array

    def of(self, figure: Figure) -> int:
        """Number of a figure."""
        return self.figures.index(figure)

    def shares(self, figure: Figure) -> list[tuple[Key, float]]:
        """Tolerances by their share in a figure's variance, greatest first; the first one governs.

        Parameters
        ----------
        figure : Figure
            One of ``figures``.

        Returns
        -------
        list of ((table, key), float)
            Shares from 0 to 1.
        """
        row = self.share[self.of(figure)]
        keys = list(self.tolerances)
        return [(keys[j], float(row[j])) for j in np.argsort(-row, kind="stable")]


@dataclass(frozen=True, eq=False)
class Sampled(Spread):
    """Spread found by Monte Carlo.

    Attributes
    ----------
    values : float array, shape (S, F)
        Every variant's figures; NaN all along where it cannot be assembled, and where an event does not happen.
    causes : Counter
        Number of variants that cannot be assembled, by the reason.
    happens : float array, shape (F,)
        Share of the variants that can be assembled in which the event happens.
    unexplained : float array, shape (F,)
        Share of the variance that no linear law of the departures accounts for.
    """

    values: Array
    causes: Counter[str]
    happens: Array
    unexplained: Array

    @property
    def failed(self) -> int:
        """Number of variants that cannot be assembled."""
        return self.causes.total()


def toleranced_side(setup: SideState, notches: Iterable[str] | None = None) -> SideEvents:
    """Assess a side in the notches wanted, and in the one in which its valve is set.

    Tolerances are for parts to be made: play, worn faces and heat of the state are left out.

    Parameters
    ----------
    setup : SideState
        The side in a state.
    notches : iterable of str, optional
        By name; all of the side's unless given.
    """
    setup = replace(setup, condition=SOUND)
    names = list(setup.notches if notches is None else notches)
    valve = setup.gear.valve
    if valve.central_at is not None:
        return assess_side(setup, names)
    return assess_side(setup, [*names, valve.set_in["notch"]], SET_AFRESH)


def linear_spread(
    side: SideEvents,
    tolerances: Tolerances,
    notches: Iterable[str] | None = None,
    model: GearModel | None = None,
) -> Spread:
    """Spread by the derivatives: exact in the limit of small tolerances.

    Parameters
    ----------
    side : SideEvents
        As given by :func:`toleranced_side`.
    tolerances : mapping
        (table, key) to :class:`Tolerance`.
    notches : iterable of str, optional
        Notches wanted; all of the side's, if not given.
    model : GearModel, optional
        As given by :func:`model_of` for the same, where it serves more than once.
    """
    return spread_by(linear_law(side, tolerances, notches, model), tolerances)


def spread_by(law: LinearLaw, tolerances: Tolerances, noise: Array | None = None) -> Spread:
    """The same of a law, and of what else spreads the figures: ``noise`` (F, A), a column for each cause."""
    own = law.slope * np.array([tolerance.std for tolerance in tolerances.values()])
    variance = np.sum(own**2, axis=-1)
    if noise is not None:
        variance = variance + np.sum(noise**2, axis=-1)
    std = np.sqrt(variance)
    share = np.divide(own**2, variance[:, None], out=np.zeros_like(own), where=variance[:, None] > 0)
    mean = law.value + law.change
    low, high = mean - _WIDE * std, mean + _WIDE * std
    return Spread(law.figures, dict(tolerances), law.value, mean, std, low, high, share, own)


def monte_carlo(
    side: SideEvents,
    tolerances: Tolerances,
    notches: Iterable[str] | None = None,
    samples: int = SAMPLES,
    seed: int = SEED,
    executor: Executor | None = None,
    progress: Callable[[int, int], None] | None = None,
    model: GearModel | None = None,
) -> Sampled:
    """Spread by turning gears with dimensions drawn at random.

    Every block of variants is turned by itself, so that the result is the same to the last digit in one process and in
    any number of them.

    Parameters
    ----------
    side, tolerances, notches
        As for :func:`linear_spread`.
    samples, seed : int
        How many variants, and the seed of their dimensions.
    executor : Executor, optional
        Runs the blocks: a ``ProcessPoolExecutor``, a cluster's own executor, any other. Here and now, if
        not given.
    progress : callable, optional
        Called with (variants done, variants in all) after each block.
    model : GearModel, optional
        As given by :func:`model_of` for the same side, notches and dimensions, where they serve more than once.
    """
    names = side.notches if notches is None else tuple(notches)
    tolerances, (_keys, by) = dict(tolerances), moves(tolerances, side.gear, side.central_at)
    model = model or model_of(side, tolerances, names)
    nominal, _angles, _starts = model.at_figures, model.angles, model.starts  # found once, they go to every process
    departures = departures_of(tolerances, samples, seed)
    jobs = [(model, departures[start : start + BLOCK] @ by) for start in range(0, samples, BLOCK)]
    found = turned_in_blocks(jobs, executor, progress or (lambda _done, _all: None))
    values = np.concatenate([own for own, _why in found])
    causes = sum((why for _own, why in found), Counter[str]())
    return summed(model.figures, tolerances, nominal, values, departures, causes)


def departures_of(tolerances: Tolerances, samples: int, seed: int) -> Array:
    """Departures of the gears that :func:`monte_carlo` turns, shape (samples, D), mm and degrees.

    Every block has a stream of random numbers of its own: the gears of fewer whole blocks are the first of more. At
    other widths of the tolerances all departures are so many times as large.

    Parameters
    ----------
    tolerances : dict
        D of them.
    samples, seed : int
        As for :func:`monte_carlo`.
    """
    counts = [min(BLOCK, samples - start) for start in range(0, samples, BLOCK)]
    parts = np.random.SeedSequence(seed).spawn(len(counts))
    return np.concatenate([draws(tolerances, count, part) for count, part in zip(counts, parts, strict=True)])


def model_of(side: SideEvents, tolerances: Tolerances, notches: Iterable[str] | None = None) -> GearModel:
    """What :func:`monte_carlo` turns, made ready for any widths of these tolerances.

    Parameters
    ----------
    side, tolerances, notches
        As for :func:`linear_spread`.
    """
    names = side.notches if notches is None else tuple(notches)
    return GearModel.of(side, figures_of(side, names), moves(tolerances, side.gear, side.central_at)[0], afresh=True)


def summed(
    figures: tuple[Figure, ...],
    tolerances: dict[Key, Tolerance],
    nominal: Array,
    values: Array,
    departures: Array,
    causes: Counter[str],
) -> Sampled:
    """Mean, deviation, interval and shares of each figure, over the variants in which it happens."""
    assembled = ~np.all(np.isnan(values), axis=-1)
    shape = (len(figures), len(tolerances))
    mean, std, low, high, rest = (np.full(shape[0], np.nan) for _ in range(5))
    share, effect = np.zeros(shape), np.zeros(shape)
    there = ~np.isnan(values)
    happens = np.sum(there, axis=0) / max(np.sum(assembled), 1)
    alike: dict[bytes, list[int]] = {}  # figures that happen in the same variants go together
    for number in range(shape[0]):
        alike.setdefault(there[:, number].tobytes(), []).append(number)
    for columns in alike.values():
        rows = there[:, columns[0]]
        own = values[rows][:, columns]
        if len(own) <= shape[1] + 1:
            continue
        mean[columns], std[columns] = np.mean(own, axis=0), np.std(own, axis=0, ddof=1)
        low[columns], high[columns] = np.quantile(own, (0.025, 0.975), axis=0)
        share[columns], effect[columns], rest[columns] = _regressed(departures[rows], own)
    return Sampled(figures, tolerances, nominal, mean, std, low, high, share, effect, values, causes, happens, rest)


def _regressed(departures: Array, values: Array) -> tuple[Array, Array, Array]:
    """Shares and effects (F, D) and what is unexplained (F,), by least squares on the departures."""
    x, y = departures - np.mean(departures, axis=0), values - np.mean(values, axis=0)
    slope = np.linalg.lstsq(x, y, rcond=None)[0]
    variance = np.mean(y**2, axis=0)
    moves = variance > 1e-24  # mm² and percent²: less is rounding
    part = np.where(moves, variance, 1.0)
    effect = (slope * np.std(x, axis=0)[:, None] * moves).T
    left = np.mean((y - x @ slope) ** 2, axis=0) / part * moves
    return effect**2 / part[:, None], effect, left
