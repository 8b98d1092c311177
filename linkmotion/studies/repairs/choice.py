"""Which repairs to choose: every set that can be done, weighed; the best for the hours there are; what each adds.

Up to :data:`MOST_SETS` sets every one is weighed, so that the best is the best. Of more, every set up to a size is,
and the larger ones are grown from the best of those, a repair at a time: it is told up to which size nothing can be
better, and how few targets no set whatever can leave out, since no repair touches the sides that they are of.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from linkmotion.repair import Repair, with_needs
from linkmotion.studies.repairs.weigher import Chosen, Result, Weigher

MOST_SETS = 2048
_GROWN = 6  # of each size, how many of the best sets are grown further

Progress = Callable[[int, int], None]


@dataclass(frozen=True)
class Weighed:
    """A set of repairs and what it leaves.

    Attributes
    ----------
    chosen : frozenset of str
        By name.
    hours, cost, metal : float
        Of all of it; metal in mm.
    result : Result or None
        None where the gear cannot be put together so.
    """

    chosen: Chosen
    hours: float
    cost: float
    metal: float
    result: Result | None


@dataclass(frozen=True)
class Gain:
    """What one repair gains.

    Attributes
    ----------
    name : str
        Of the repair.
    whole : tuple of str
        It, with all that it needs.
    hours : float
        Of the whole.
    alone : Result or None
        With nothing else done.
    without : Result or None
        The best set, but for it and what needs it; None where it is not in that set, or the gear does not go so.
    """

    name: str
    whole: tuple[str, ...]
    hours: float
    alone: Result | None
    without: Result | None


@dataclass(frozen=True)
class Choices:
    """All that was weighed.

    Attributes
    ----------
    before : Weighed
        Nothing done.
    best : Weighed
        The best set for the hours.
    cheapest : tuple of Weighed
        By hours: each is better than every set of fewer hours.
    gains : tuple of Gain
        Of each repair.
    weighed : int
        How many sets.
    exact_up_to : int or None
        Every set of as many repairs was weighed; None where every set was.
    least_out : int
        Targets out that no set can mend, since no repair touches their sides.
    """

    before: Weighed
    best: Weighed
    cheapest: tuple[Weighed, ...]
    gains: tuple[Gain, ...]
    weighed: int
    exact_up_to: int | None
    least_out: int


def choose(
    weigher: Weigher, hours: float | None = None, wish: Iterable[str] = (), progress: Progress | None = None,
    most: int = MOST_SETS,
) -> Choices:  # fmt: skip
    """Weigh the sets of an engine's repairs.

    Parameters
    ----------
    weigher : Weigher
        Of the engine in its state.
    hours : float, optional
        That there are; without it the best set at whatever hours.
    wish : iterable of str
        Repairs that are to be in the best set.
    progress : callable, optional
        Told how many sets are done, of how many.
    most : int
        Sets that are weighed one by one.
    """
    repairs = weigher.engine.repairs
    sets, complete = _possible(repairs, hours, most)
    found = []
    for number, own in enumerate(sets):
        found.append(_weighed(weigher, own))
        if progress is not None:
            progress(number + 1, len(sets))
    if complete is not None:
        found += _grown(weigher, found, hours, complete)
    wanted = frozenset(each for name in wish for each in with_needs(repairs, name))
    fitting = [own for own in found if own.chosen >= wanted and own.result is not None]
    if not fitting:
        fitting = [own for own in (_weighed(weigher, wanted), found[0]) if own.result is not None] or [found[0]]
    best = min(fitting, key=_order)
    gains = tuple(_gain(weigher, name, best) for name in repairs)
    return Choices(found[0], best, tuple(_cheapest(found)), gains, len(found), complete, _least_out(weigher, found[0]))


def _order(own: Weighed) -> tuple[float, ...]:
    """The better a set the less: what it leaves, then hours, cost and metal."""
    rank = (float("inf"),) * 3 if own.result is None else own.result.rank
    return (*rank, own.hours, own.cost, own.metal, len(own.chosen))


def _weighed(weigher: Weigher, chosen: Chosen) -> Weighed:
    own = [weigher.engine.repairs[name] for name in chosen]
    hours, cost, metal = (sum(getattr(each, key) for each in own) for key in ("hours", "cost", "metal"))
    return Weighed(chosen, hours, cost, metal, weigher.result(chosen))


def _possible(repairs: Mapping[str, Repair], hours: float | None, most: int) -> tuple[list[Chosen], int | None]:
    """Sets that can be done, by size; and up to which size they are all there, None where they are."""
    found: list[Chosen] = [frozenset()]
    layer, size = [frozenset[str]()], 0
    while layer:
        size += 1
        layer = list(dict.fromkeys(own for before in layer for own in _larger(repairs, before, hours)))
        if len(found) + len(layer) > most:
            return found, size - 1
        found += layer
    return found, None


def _larger(repairs: Mapping[str, Repair], before: Chosen, hours: float | None) -> Iterator[Chosen]:
    """Sets with one repair more, whose needs are there, and that nothing excludes."""
    spent = sum(repairs[name].hours for name in before)
    for name, own in repairs.items():
        barred = any(name in repairs[other].excludes or other in own.excludes for other in before)
        if name in before or barred or not before.issuperset(own.needs):
            continue
        if hours is None or spent + own.hours <= hours + 1e-9:
            yield before | {name}


def _grown(weigher: Weigher, found: list[Weighed], hours: float | None, size: int) -> list[Weighed]:
    """Larger sets, grown from the best of those that were weighed one by one."""
    repairs, more = weigher.engine.repairs, []
    layer = sorted((own for own in found if len(own.chosen) == size), key=_order)[:_GROWN]
    while layer:
        larger = dict.fromkeys(own for before in layer for own in _larger(repairs, before.chosen, hours))
        weighed = [_weighed(weigher, own) for own in larger]
        more += weighed
        layer = sorted(weighed, key=_order)[:_GROWN]
    return more


def _cheapest(found: list[Weighed]) -> Iterator[Weighed]:
    """By hours, every set that is better than all of fewer hours."""
    best: tuple[float, ...] | None = None
    for own in sorted(found, key=lambda each: (each.hours, _order(each))):
        if own.result is not None and (best is None or own.result.rank < best):
            best = own.result.rank
            yield own


def _gain(weigher: Weigher, name: str, best: Weighed) -> Gain:
    repairs = weigher.engine.repairs
    whole = with_needs(repairs, name)
    without = None
    if name in best.chosen:
        rest = frozenset(other for other in best.chosen if name not in with_needs(repairs, other))
        without = weigher.result(rest)
    return Gain(name, whole, sum(repairs[each].hours for each in whole), weigher.result(whole), without)


def _least_out(weigher: Weigher, before: Weighed) -> int:
    """Targets out on sides that no repair touches."""
    if before.result is None:
        return 0
    from linkmotion.studies.findings import findings

    sides, repairs = weigher.engine.sides, weigher.engine.repairs.values()
    still = {side for side in sides if not any(own.touches(side) for own in repairs)}
    told = findings(before.result.assessment)
    between = len(still) == len(sides)
    return sum(own.out and (own.side in still or (between and own.side in ("", "both"))) for own in told)
