r"""The loosest tolerances with which the engine's targets are still met.

The cost rule: a dimension costs (present tolerance)/(new tolerance) to hold, so that halving any one
tolerance costs as much as halving any other; the sum of the costs is made least. With room r for
what is held (limit less its departure as drawn), its slopes g and the standard deviations σ at
the present tolerances, and u the factors by which tolerances are scaled, that is

    least sum(1/u)   where   z² sum over dimensions of (g σ u)² <= r²   for everything held,

so that for one target alone ``u`` goes as ``(g σ)^(-2/3)``: what the target hardly feels may be
loose. All are then scaled alike until the wanted share of engines keeps everything at once: first
on the linear law, then on a part of the gears really turned (Monte Carlo); by how much that part keeps
more or less than all of them do is taken from the linear law of both. All of them have the last word.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import Executor
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from linkmotion.engine import Targets
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.tolerances.limits import Hold, Kept, by_side, holds, kept, targeted
from linkmotion.studies.tolerances.linear import LinearLaw, linear_law
from linkmotion.studies.tolerances.spread import BLOCK, SAMPLES, SEED, Sampled, departures_of, model_of, monte_carlo
from linkmotion.studies.tolerances.tolerance import Tolerance, Tolerances

Array = NDArray[np.float64]
YIELD = 0.95  # share of engines wanted within the targets
MOST = 10.0  # times the present tolerance: no dimension is let go further
_ROUNDS = 8
_PART = 5  # of the gears one in so many is turned while the set is sought
_NEAR = 0.03  # of the set: what is sought is found when it is scaled by no more
_SPARE = 0.997  # of the set: so much below what is expected to do, lest all the gears are turned twice for a hair
_LEAST = 0.1  # of a limit's room, squared: left of it whatever else takes of it
_FELT = 1e-6  # of a limit's room, squared: a tolerance that takes less even at its widest is not scaled down


@dataclass(frozen=True, eq=False)
class Loosest:
    """The loosest set, and how it was checked.

    Attributes
    ----------
    present, tolerances : dict
        By (table, key): as they were, and the loosest that meet the targets.
    wanted : float
        Share of engines wanted within the targets.
    sampled : Sampled
        Monte Carlo with the loosest set: the figures that a target may hold.
    kept : Kept
        What that says of the targets; ``kept.share >= wanted`` when ``met``.
    missed : tuple of (Hold, float)
        Targets that the drawing itself does not meet, with the figure found: left out of the search.
    """

    present: dict[Key, Tolerance]
    tolerances: dict[Key, Tolerance]
    wanted: float
    sampled: Sampled
    kept: Kept
    missed: tuple[tuple[Hold, float], ...]

    @property
    def met(self) -> bool:
        """Whether the wanted share of the engines turned keeps every target looked at."""
        return self.kept.share >= self.wanted

    @property
    def factors(self) -> dict[Key, float]:
        """New tolerance over present one."""
        return {key: self.tolerances[key].within / own.within for key, own in self.present.items()}


def reachable(limits: Iterable[Hold], nominal: Array) -> tuple[tuple[Hold, ...], tuple[tuple[Hold, float], ...]]:
    """Limits that the drawing itself keeps, and those it does not, with the figure.

    Parameters
    ----------
    limits : iterable of Hold
        Of F figures.
    nominal : array, shape (F,)
        The figures as drawn; with NaN, an event that does not happen, a limit is not kept.
    """
    within: list[Hold] = []
    missed: list[tuple[Hold, float]] = []
    for hold in limits:
        size = float(np.max(np.abs(hold.of(nominal, nominal))))
        if size <= hold.limit:  # false for an event that does not happen
            within.append(hold)
        else:
            missed.append((hold, size))
    return tuple(within), tuple(missed)


def loosest(
    side: SideEvents,
    tolerances: Tolerances,
    targets: Targets,
    notches: Iterable[str] | None = None,
    wanted: float = YIELD,
    samples: int = SAMPLES,
    seed: int = SEED,
    executor: Executor | None = None,
    progress: Callable[[int, int], None] | None = None,
    model: GearModel | None = None,
) -> Loosest:
    """Scale tolerances until they are as loose as the targets allow.

    Parameters
    ----------
    side, tolerances, notches, samples, seed, executor, progress, model
        As for :func:`~linkmotion.studies.tolerances.spread.monte_carlo`; the tolerances are the present ones, from
        which costs are counted.
    targets : Targets
        What is to be held.
    wanted : float
        Share of engines that must keep every target, above 0 and below 1.
    """
    names = side.notches if notches is None else tuple(notches)
    model = model or model_of(side, tolerances, names)
    law = linear_law(side, tolerances, names, model)
    held, sides = targeted(law.figures), len(side.gear.sides)
    law, model = law.only(held), model.only(held)
    limits, missed = reachable(holds(targets, law.figures, sides), law.value)
    loads = loads_on(limits, law, tolerances, wanted)
    felt = felt_by(loads)

    def turned(own: Tolerances, count: int) -> Sampled:
        return monte_carlo(side, own, names, count, seed, executor, progress, model)

    search = _Search(tolerances, felt, law, limits, sides, wanted, seed, turned)
    sampled, met = search.proven(search.sought(cheapest(loads), samples), samples)
    return Loosest(dict(tolerances), sampled.tolerances, wanted, sampled, met, missed)


@dataclass(frozen=True, eq=False)
class _Search:
    """Scaling factors (D,) on the present tolerances all alike; ``turned`` is Monte Carlo of so many gears of a set."""

    present: Tolerances
    felt: NDArray[np.bool_]
    law: LinearLaw
    limits: tuple[Hold, ...]
    sides: int
    wanted: float
    seed: int
    turned: Callable[[Tolerances, int], Sampled]

    def sought(self, factors: Array, samples: int) -> Array:
        """What so many gears are expected to keep, from the law and from a part of them turned."""
        part = min(samples, max(samples // _PART, BLOCK))
        factors = np.minimum(factors * self._by_the_law(factors, samples), MOST)
        for _ in range(_ROUNDS):
            some = self.turned(self._set(factors), part)
            by = self._widest(some.nominal, some.values - some.nominal, 2.0)
            factors = np.minimum(factors * max(by, 0.5), MOST)
            if abs(by - 1) < _NEAR:
                break
        all_to_part = self._by_the_law(factors, samples) / self._by_the_law(factors, part)
        return np.asarray(np.minimum(factors * all_to_part * _SPARE, MOST))

    def proven(self, factors: Array, samples: int) -> tuple[Sampled, Kept]:
        """So many gears turned; narrowed and turned again while they do not keep the limits."""
        for _ in range(_ROUNDS):
            sampled = self.turned(self._set(factors), samples)
            met = kept(self.limits, sampled.values, self.sides)
            if met.share >= self.wanted:
                break
            less = self._widest(sampled.nominal, sampled.values - sampled.nominal, 1.0)
            factors = factors * max(less, 0.5) * _SPARE
        return sampled, met

    def _set(self, factors: Array) -> dict[Key, Tolerance]:
        return scaled(self.present, factors, self.felt)

    def _by_the_law(self, factors: Array, count: int) -> float:
        departures = departures_of(self._set(factors), count, self.seed) @ self.law.slope.T
        return self._widest(self.law.value, departures, MOST)

    def _widest(self, nominal: Array, departures: Array, most: float) -> float:
        return widest(self.limits, nominal, departures, self.wanted, most, self.sides)


def loads_on(
    limits: tuple[Hold, ...], law: LinearLaw, tolerances: Tolerances, wanted: float, noise: Array | None = None
) -> Array:
    """What each present tolerance takes of each limit's room, squared, shape (J, D); a clearance's mean too.

    ``noise`` (F, A), what else spreads the figures, makes the room less, but leaves :data:`_LEAST` of it.
    """
    wide = wide_of(wanted)
    std = np.array([np.hypot(tolerance.std, tolerance.mean / wide) for tolerance in tolerances.values()])
    rows = []
    for hold in limits:
        room = max(hold.limit - float(np.max(np.abs(hold.of(law.value, law.value)))), 1e-9)
        two = 2.0 if hold.between == "sides" else 1.0  # both sides depart
        taken = 0.0 if noise is None else two * wide**2 * float(np.sum(hold.along(noise) ** 2))
        rows.append(two * (wide * hold.along(law.slope) * std) ** 2 / max(room**2 - taken, _LEAST * room**2))
    return np.array(rows).reshape(len(rows), len(std))


def wide_of(wanted: float) -> float:
    """Standard deviations either way that hold the share wanted."""
    return NormalDist().inv_cdf((1 + wanted) / 2)


def felt_by(loads: Array) -> NDArray[np.bool_]:
    """Which tolerances take anything of any limit, even at their widest, shape (D,)."""
    return np.asarray(np.max(loads, axis=0, initial=0.0) * MOST**2 > _FELT)


def scaled(present: Tolerances, factors: Array, felt: NDArray[np.bool_]) -> dict[Key, Tolerance]:
    """Tolerances so many times as wide; those that nothing feels as wide as any."""
    own = np.where(felt, factors, MOST)
    return {key: each.scaled(float(u)) for (key, each), u in zip(present.items(), own, strict=True)}


def cheapest(loads: Array, most: float = MOST) -> Array:
    """Factors u (D,) of least ``sum(1/u)`` with ``loads @ u**2 <= 1`` and ``u <= most``.

    With multipliers m of the limits, ``u² = (2 m @ loads)^(-2/3)``; the multipliers of limits that are
    passed are raised, of those that are not reached lowered, until all is still.

    Parameters
    ----------
    loads : array, shape (J, D)
        What each tolerance takes of each limit's room, squared.
    most : float
        No factor is larger.

    Examples
    --------
    One limit, two tolerances that it feels alike: each has half of the room.

    >>> [round(float(u), 4) for u in cheapest(np.array([[1.0, 1.0]]))]
    [0.7071, 0.7071]
    """
    multipliers = np.ones(len(loads))
    square = np.full(loads.shape[1], most**2)
    for _ in range(20_000):
        with np.errstate(divide="ignore"):
            square = np.minimum((2 * multipliers @ loads) ** (-2 / 3), most**2)
        load = loads @ square
        if not load.size or (np.max(load) < 1 + 1e-9 and multipliers @ np.abs(load - 1) < 1e-9 * np.sum(multipliers)):
            break
        multipliers = np.maximum(multipliers * load, 1e-300)
    return np.sqrt(square / max(float(np.max(loads @ square, initial=0.0)), 1.0))


def widest(limits: Iterable[Hold], nominal: Array, departures: Array, wanted: float, most: float, sides: int) -> float:
    """Greatest factor on the figures' departures with which the wanted share of engines keeps the limits.

    Every engine has a greatest factor of its own, with which it comes to the first of its limits.

    Parameters
    ----------
    limits : iterable of Hold
        Of F figures.
    nominal : array, shape (F,)
        The figures as drawn.
    departures : array, shape (S, F)
        From there.
    wanted : float
        The share, 0 to 1.
    most : float
        No factor is larger.
    sides : int
        How many an engine has, as :func:`~.limits.by_side` takes them.
    """
    made = by_side(departures, sides)
    own = np.full(made.shape[1], most)
    for hold in limits:
        still = hold.of(*[nominal] * sides)
        moves = hold.of(*(nominal + made)) - still
        with np.errstate(divide="ignore", invalid="ignore"):
            factor = np.where(moves == 0.0, most, (hold.limit - np.sign(moves) * still) / np.abs(moves))
        own = np.minimum(own, np.min(np.nan_to_num(factor, nan=0.0), axis=-1))
    engines = int(np.ceil(wanted * len(own) - 1e-9))
    return float(np.sort(own)[len(own) - engines])
