"""The rules as printed (misprints put right), worked out in plain arithmetic to check the data files."""

from __future__ import annotations

from collections.abc import Callable
from math import asin, cos, degrees, sqrt

Numbers = dict[str, float]


def bourne_190(n: Numbers) -> float:
    """Cut-off c/S for which lap = T/2 sqrt((S - c)/S) - lead/2."""
    cutoff = 1 - ((n["lap"] + n["lead"] / 2) / (n["travel"] / 2)) ** 2
    assert abs(n["travel"] / 2 * sqrt(1 - cutoff) - n["lead"] / 2 - n["lap"]) < 1e-12
    return cutoff


def bourne_191(n: Numbers) -> float:
    """Piston from the end of its stroke at compression, over the stroke."""
    return (1 - cos(_advance(n) + asin(2 * n["exhaust_lap"] / n["travel"]))) / 2


def bourne_192(n: Numbers) -> float:
    """Piston from the end of its stroke at release, over the stroke."""
    return (1 - cos(_advance(n) - asin(2 * n["exhaust_lap"] / n["travel"]))) / 2


def _advance(n: Numbers) -> float:
    return asin(2 * (n["lap"] + n["lead"]) / n["travel"])


def advance(n: Numbers) -> float:
    """Angle of advance, degrees."""
    return degrees(asin((n["lap"] + n["lead"]) / n["throw"]))


def van_cleve(n: Numbers) -> float:
    """Port that the stroke of the valve just opens."""
    return (n["travel"] - 2 * n["lap"]) / 2


def half_the_difference(n: Numbers) -> float:
    """By how much the rod is shortened to equal the leads."""
    return (n["back"] - n["front"]) / 2


RULES: dict[str, Callable[[Numbers], float]] = {
    "bourne 190": bourne_190,
    "bourne 191": bourne_191,
    "bourne 192": bourne_192,
    "advance": advance,
    "van cleve": van_cleve,
    "half the difference": half_the_difference,
}
