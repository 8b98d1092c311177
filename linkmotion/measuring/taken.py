"""A figure as it was taken: its value, and what its doubt is made of.

A doubt is kept as the parts that its sources add, each with its sign, so that figures that rest on one source (two
heights from the rail, on one wheel's diameter) are known to err together.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

import numpy as np

Source = Any  # hashable
MM, DEGREES = "mm", "degrees"
Exact = Fraction | float
_STEP = 1e-30  # of the complex step: no difference is taken, so it can be as small as you like
_SURE = 0.975  # 19 in 20, both tails
NORMAL = 1.959963984540054  # the normal distribution's 0.975 quantile: doubt by standard uncertainty


@dataclass(frozen=True)
class Part:
    """What one source adds: slope times standard uncertainty, with its sign, and its degrees of freedom."""

    amount: float
    freedom: float = math.inf


@dataclass(frozen=True)
class Taken:
    """A figure as it was taken.

    Attributes
    ----------
    exact : Fraction or float
        The value, unrounded where it is a sum or the like.
    parts : dict of Part
        What each source adds to its doubt; empty where no doubt is known.
    how : str
        How it was taken, in words.
    unit : str
        "mm" or "degrees".

    Examples
    --------
    >>> plain = Taken(Fraction(769), {"rule": Part(0.15)})
    >>> plain.value, round(plain.doubt, 3)
    (769.0, 0.294)
    """

    exact: Exact
    parts: Mapping[Source, Part] = field(default_factory=dict)
    how: str = ""
    unit: str = MM

    @classmethod
    def within(cls, exact: Exact, doubt: Exact, source: Source, how: str = "") -> Taken:
        """A figure with a doubt given, 19 in 20."""
        return cls(exact, {source: Part(float(doubt) / NORMAL)} if doubt else {}, how)

    @property
    def value(self) -> float:
        """Rounded once."""
        return float(self.exact)

    @property
    def standard(self) -> float:
        """Standard uncertainty."""
        return math.hypot(*(part.amount for part in self.parts.values()))

    @property
    def freedom(self) -> float:
        """Effective degrees of freedom, by Welch and Satterthwaite (JCGM 100:2008, G.4.1)."""
        return freedom_of(self.parts)

    @property
    def doubt(self) -> float:
        """Half width of the interval that is right 19 times in 20; 0 where no doubt is known."""
        return coverage(self.freedom) * self.standard

    def of_source(self, named: Callable[[Source], Source]) -> Taken:
        """The same with its sources under other names."""
        return replace(self, parts={named(source): part for source, part in self.parts.items()})


def freedom_of(parts: Mapping[Source, Part]) -> float:
    """Effective degrees of freedom of a sum of parts."""
    whole = math.hypot(*(part.amount for part in parts.values()))
    least = sum((part.amount / whole) ** 4 / part.freedom for part in parts.values()) if whole else 0.0
    return 1.0 / least if least else math.inf


def coverage(freedom: float) -> float:
    """How many standard uncertainties make the doubt, by Student's t.

    >>> round(coverage(math.inf), 3), round(coverage(2), 3)
    (1.96, 4.303)
    """
    if math.isinf(freedom):
        return NORMAL
    from scipy.special import stdtrit

    return float(stdtrit(freedom, _SURE))


def added(terms: Sequence[tuple[float, Taken]], exact: Exact, how: str = "") -> Taken:
    """A figure of which the slopes to others are known.

    Parameters
    ----------
    terms : sequence of (float, Taken)
        Slope to each figure that it is worked from.
    exact : Fraction or float
        Its value.
    """
    amounts: dict[Source, float] = defaultdict(float)
    freedoms: dict[Source, float] = {}
    for slope, term in terms:
        for source, part in term.parts.items():
            amounts[source] += slope * part.amount
            freedoms[source] = part.freedom
    return Taken(exact, {source: Part(amount, freedoms[source]) for source, amount in amounts.items()}, how)


def worked(law: Callable[..., Any], figures: Sequence[Taken], how: str = "") -> Taken:
    """A figure worked from others by a law, its slopes exact by a complex step.

    Parameters
    ----------
    law : callable
        Of as many numbers as there are figures, in operations that fractions and complex numbers have alike (or
        numpy's analytic functions, where the figures are no fractions).

    Examples
    --------
    >>> a, b = Taken(Fraction(3), {"a": Part(0.3)}), Taken(Fraction(4), {"b": Part(0.4)})
    >>> round(worked(lambda a, b: a * b, [a, b]).standard, 9)  # sqrt((4 × 0.3)² + (3 × 0.4)²)
    1.697056275
    """
    exact = law(*(figure.exact for figure in figures))
    values = [complex(figure.value) for figure in figures]
    terms = []
    for number, figure in enumerate(figures):
        if figure.parts:
            stepped = [value + 1j * _STEP * (i == number) for i, value in enumerate(values)]
            terms.append((float(np.imag(law(*stepped)) / _STEP), figure))
    return added(terms, exact if isinstance(exact, Fraction) else float(exact), how)


def mean_of(takings: Sequence[Taken], source: Callable[[], Source], how: str = "") -> Taken:
    """The mean of takings of one figure, its scatter as type A (JCGM 100:2008, 4.2).

    What each taking's own doubt adds is the gauge's, alike in all of them: no repeating lessens it (4.3).

    Parameters
    ----------
    takings : sequence of Taken
        Two or more.
    source : callable
        A name for a source not named before.

    Examples
    --------
    >>> found = mean_of([Taken(Fraction(x, 10)) for x in (7692, 7695, 7690)], lambda: "scatter")
    >>> round(found.value, 3), round(found.standard, 4), found.freedom, round(found.doubt, 3)
    (769.233, 0.1453, 2.0, 0.625)
    """
    count = len(takings)
    mean = sum((Fraction(taking.exact) for taking in takings), Fraction(0)) / count
    square = sum(((Fraction(taking.exact) - mean) ** 2 for taking in takings), Fraction(0)) / (count - 1)
    scatter = math.sqrt(square / count)
    gauge = sum(taking.standard for taking in takings) / count
    parts: dict[Source, Part] = {source(): Part(scatter, count - 1)} if scatter else {}
    if gauge:
        parts[source()] = Part(gauge)
    return Taken(mean, parts, how)
