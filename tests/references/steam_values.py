"""What the diagram of one end gives for printed arithmetic of expansion, compression and clearance."""

from __future__ import annotations

from collections.abc import Callable
from math import sqrt

import numpy as np
from scipy.optimize import brentq

from linkmotion.valve import ENDS
from tests.references.doors import Numbers, Routes, loop, pressure_at

SMALL = 0.004  # clearance, of the volume swept: what is asked does not hang on it


def compressed_over(n: Numbers) -> Routes:
    """Back pressure squeezed from a part of the return into the clearance, over so many back pressures."""
    return {
        end: loop(end, 10.0, 1.0, n["clearance"], 0.5, 1 - n["left"]).compressed / n["times"] * n.get("over", 1.0)
        for end in ENDS
    }


def compression_gain(n: Numbers) -> Routes:
    """Work gained by squeezing to the first pressure, steam used being alike, over the clearance filled with steam.

    Where no back pressure is given the steam expands to it.
    """
    full, ratio = 1.0, n["expansion"]
    back = n["back"] / n["pressure"] if "back" in n else 1 / ratio
    found = {}
    for end in ENDS:
        space = SMALL  # of the whole volume at the end of the stroke, the stroke's and the clearance together
        plain = 1 / ratio  # volume at cutoff
        with_it = plain + space * (1 - back)  # as much steam is saved as the clearance no longer takes
        works = []
        for cutoff, shut in ((plain, 1.0), (with_it, None)):
            swept = cutoff * ratio - space
            closes = shut if shut is not None else 1 - space * (1 / back - 1) / swept
            made = loop(end, full, back, space / swept, (cutoff - space) / swept, closes)
            works.append(made.mean * swept)
        found[end] = (works[1] - works[0]) / ((full - back) * space)
    return found


def cutoff_expanding_to(n: Numbers) -> Routes:
    """Cutoff, of the stroke, at which steam expands to a pressure."""
    return {
        end: float(
            brentq(
                lambda k, end=end: loop(end, n["pressure"], 0.0, n["clearance"], k).released - n["to"], 1e-4, 0.9,
                xtol=1e-14,
            )
        )
        for end in ENDS
    }  # fmt: skip


def shut_after(n: Numbers) -> Routes:
    """Part of the return stroke after which the exhaust is shut to squeeze what is left to a pressure."""

    def short(closes: float, end: str) -> float:
        return loop(end, n["pressure"], n["back"], n["clearance"], 0.5, closes).compressed - n["pressure"]

    return {end: float(brentq(short, 0.01, 0.99, args=(end,), xtol=1e-14)) for end in ENDS}


def expansion_ordinate(n: Numbers) -> Routes:
    """Pressure on the expansion line at a part of the stroke, the law p + shift over volume (Navier's)."""
    shift = n["shift"]
    return {
        end: pressure_at(loop(end, n["pressure"] + shift, 0.0, n["clearance"], n["cutoff"]), n["place"]) - shift
        for end in ENDS
    }


def mean_less(n: Numbers) -> Routes:
    """Mean effective pressure without clearance or compression."""
    return {end: loop(end, n["pressure"], n["back"], 1e-9, n["cutoff"]).mean for end in ENDS}


def construction_error(n: Numbers) -> Routes:
    """How far Rankine's construction is from the mean pressure at most, percent of the first pressure."""
    found = {}
    for end in ENDS:
        cutoffs = np.linspace(n["from"], 0.99, 95)
        built = [(sqrt(25 - 24 * (1 - k) ** 2) - 1) / 4 for k in cutoffs]
        exact = [loop(end, 1.0, 0.0, 1e-9, float(k)).mean for k in cutoffs]
        found[end] = 100 * max(abs(one - other) for one, other in zip(built, exact, strict=True))
    return found


VALUES: dict[str, Callable[[Numbers], Routes]] = {
    "compressed into the clearance": compressed_over,
    "gain by compression": compression_gain,
    "cutoff that expands to a pressure": cutoff_expanding_to,
    "exhaust shut for a pressure": shut_after,
    "ordinate of expansion": expansion_ordinate,
    "mean effective pressure of a cutoff": mean_less,
    "error of Rankine's construction": construction_error,
}
