"""What is put on an image by eye, and what is known beside: points, rigid parts, lengths, ways and places."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FAST, ALONG, LOOSE = "fast", "along", "loose"


@dataclass(frozen=True, eq=False)
class Member:
    """A pin of a rigid part: its name, its place in the part's axes (mm), how that goes with each of K figures."""

    pin: str
    at: complex
    slopes: NDArray[np.complex128]


@dataclass(frozen=True, eq=False)
class Course:
    """A line of a rigid part on which a point lies.

    Attributes
    ----------
    pin : str
        The point.
    at : callable
        From the place along it to the point in the part's axes, mm, and its slopes to each of K figures.
    low, high : float
        Where it is looked for at first.
    """

    pin: str
    at: Callable[[float], tuple[complex, NDArray[np.complex128]]]
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class Solid:
    """A rigid part: its pins and courses, and whether it is fast on the plane's axes, carried along them, or loose."""

    name: str
    members: tuple[Member, ...]
    courses: tuple[Course, ...]
    held: str = LOOSE


@dataclass(frozen=True)
class KnownLength:
    """A length between two points, mm, and its doubt (19 in 20)."""

    a: str
    b: str
    length: float
    doubt: float = 0.0


@dataclass(frozen=True)
class KnownWay:
    """The direction from a point to another, degrees from level ahead, + up; and its doubt (19 in 20)."""

    a: str
    b: str
    degrees: float
    doubt: float = 0.0


@dataclass(frozen=True)
class KnownPlace:
    """The place of a point, mm ahead of the axle and above it, and the doubt (19 in 20) of each."""

    point: str
    x: float
    y: float
    doubt: float = 0.0


@dataclass(frozen=True)
class KnownFigure:
    """A figure of the gear that is known, by its number among the K; and its doubt (19 in 20)."""

    number: int
    value: float
    doubt: float = 0.0


Known = KnownLength | KnownWay | KnownPlace | KnownFigure


@dataclass(frozen=True)
class Picks:
    """What was put on the image.

    Attributes
    ----------
    points : dict
        Every point's takings, pixels, u − iv.
    sigma : float
        Standard deviation of one taking, pixels, of u and of v.
    line : float
        Standard deviation that the drawn lines add, alike in all takings of a point, pixels.
    known : tuple
        Lengths, ways, places and figures.
    paper : float
        Standard deviation of b/a (each part): of a photograph, large.
    leaning : bool
        Whether the plane is seen in perspective.
    """

    points: Mapping[str, tuple[complex, ...]]
    sigma: float
    line: float = 0.0
    known: tuple[Known, ...] = ()
    paper: float = 0.0026
    leaning: bool = False

    def scatter(self, name: str) -> float:
        """By how many standard deviations the worst of a point's takings stands off their mean; 0 of one alone."""
        takings = np.array(self.points[name])
        if len(takings) < 2:
            return 0.0
        off = takings - np.mean(takings)
        return float(np.max(np.abs([off.real, off.imag]))) / (self.sigma * float(np.sqrt(1 - 1 / len(takings))))

    def put(self, name: str) -> tuple[complex, float]:
        """The mean of a point's takings, and its standard deviation."""
        takings = self.points[name]
        return complex(np.mean(takings)), float(np.hypot(self.sigma / np.sqrt(len(takings)), self.line))
