"""Tolerances on the dimensions and clearances of a gear: what they are, what they move, the general workshop rule."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears import Gear, ReverserPosition
from linkmotion.gears.book import RADIAN
from linkmotion.gears.sensitivity import Key, declared
from linkmotion.studies.figures.dimensions import CENTRAL, REVERSER, dimensions_of
from linkmotion.studies.figures.play import CLEARANCE

Distribution = Literal["normal", "uniform"]
DISTRIBUTIONS: tuple[str, ...] = get_args(Distribution)
GENERAL = 0.25  # mm either way: a length worked to rule and scriber; common practice, no source
GENERAL_ANGLE = 0.1  # degrees either way: likewise, no source
MEASURED = {"length": 0.15, "angle": 0.15}  # mm, degrees, 19 in 20: a part by vernier on the bench; likewise, no source
_SPREAD = {"normal": 1 / 2, "uniform": 1 / np.sqrt(3.0)}
_CUT = 0.8796256610342399  # of a normal law cut off at two standard deviations either way: what is left of one
GUIDE: Key = ("valve", "guide_inclination")


class ToleranceError(ValueError):
    """A tolerance that cannot be used.

    Attributes
    ----------
    path : tuple of str
        Table and key, as in the file.
    problem, remedy : str
        What is wrong; what to do.
    """

    def __init__(self, path: tuple[str, ...], problem: str, remedy: str) -> None:
        self.path, self.problem, self.remedy = path, problem, remedy
        super().__init__(f"tolerances.{'.'.join(path)}: {problem}\n  {remedy}")


@dataclass(frozen=True)
class Tolerance:
    """How far a dimension may be from its figure.

    Attributes
    ----------
    within : float
        Half-width, mm or degrees: the dimension is its figure ± this.
    distribution : str
        "uniform": anywhere within, alike. "normal": the half-width is two standard deviations, and one
        piece in 22 lies outside it.
    assumed : bool
        True where it comes from the general rule and not from the user.
    from_nothing : bool
        True for a clearance: anywhere from nothing to ``within``. "normal" is then about the middle, with the
        whole range four standard deviations, and none is made outside it.
    """

    within: float
    distribution: Distribution = "normal"
    assumed: bool = False
    from_nothing: bool = False

    @property
    def std(self) -> float:
        """Standard deviation, mm or degrees.

        >>> Tolerance(0.3).std, round(Tolerance(0.3, "uniform").std, 4)
        (0.15, 0.1732)
        """
        if self.from_nothing:
            return float(self.within / 2 * _SPREAD[self.distribution] * (_CUT if self.distribution == "normal" else 1))
        return float(self.within * _SPREAD[self.distribution])

    @property
    def mean(self) -> float:
        """Mean departure from the figure, mm or degrees: nothing, or half of a clearance."""
        return self.within / 2 if self.from_nothing else 0.0

    def scaled(self, factor: float) -> Tolerance:
        """The same, so many times as wide.

        Parameters
        ----------
        factor : float
            Not negative.
        """
        return replace(self, within=self.within * factor)


Tolerances = Mapping[Key, Tolerance]


def draws(tolerances: Tolerances, count: int, seed: np.random.SeedSequence) -> NDArray[np.float64]:
    """Departures of gears from their figures at random, shape (count, D), mm and degrees.

    Parameters
    ----------
    tolerances : dict
        D of them; each departs by itself.
    count : int
        How many gears.
    seed : SeedSequence
        The same one gives the same gears.
    """
    if not tolerances:
        return np.zeros((count, 0))
    own = tolerances.values()
    forms = tuple((each.distribution, each.from_nothing) for each in own)
    return np.array([_width(each) for each in own]) * _of_one_width(forms, count, seed.entropy, seed.spawn_key)


def _width(tolerance: Tolerance) -> float:
    if tolerance.from_nothing:
        return tolerance.within / 2
    return tolerance.within if tolerance.distribution == "uniform" else tolerance.std


@lru_cache(maxsize=32)
def _of_one_width(
    forms: tuple[tuple[Distribution, bool], ...], count: int, entropy: Any, key: tuple[int, ...]
) -> NDArray[np.float64]:
    """The draws of any widths, each by its own: a search draws the same gears at many widths."""
    rng = np.random.default_rng(np.random.SeedSequence(entropy, spawn_key=key))
    columns = []
    for distribution, from_nothing in forms:
        if distribution == "uniform":
            own = rng.uniform(-1.0, 1.0, count)
        else:
            own = _cut_off(rng, count) if from_nothing else rng.standard_normal(count)
        columns.append(1.0 + own if from_nothing else own)
    return np.stack(columns, axis=-1)


def _cut_off(rng: np.random.Generator, count: int) -> NDArray[np.float64]:
    """Places from -1 to 1 of clearances within their range, by a normal law cut off at its two deviations."""
    from scipy.special import ndtr, ndtri

    return np.asarray(ndtri(rng.uniform(ndtr(-2.0), ndtr(2.0), count)) / 2)


def general_tolerances(
    gear: Gear,
    setting: ReverserPosition,
    length: float = GENERAL,
    angle: float = GENERAL_ANGLE,
    distribution: Distribution = "normal",
    assumed: bool = True,
) -> dict[Key, Tolerance]:
    """One tolerance for every length and one for every angle of a gear.

    The cylinder's line is set by a wire through the axle's place, not by an angle: it is taken to be within the
    length's tolerance at the far end of the connecting rod. The reverser's arm on its shaft is among the angles; the
    valve's place on its spindle is among the lengths only where the file gives it (a rule by which the valve is set is
    taken to be followed).

    Parameters
    ----------
    gear, setting : Gear, ReverserPosition
        Whose dimensions they are.
    length, angle : float
        Half-widths, mm and degrees; what has none is left out.
    distribution, assumed
        As of :class:`Tolerance`.
    """
    wide = {"length": length, "angle": angle}
    found = {
        key: Tolerance(wide[kind_of(gear, key)], distribution, assumed)
        for key in dimensions_of(gear, setting)
        if key != CENTRAL or gear.valve.central_at is not None
    }
    line = ("cylinder", "inclination")
    found[line] = replace(found[line], within=min(angle, float(np.degrees(length / gear.connecting_rod.length))))
    return {key: tolerance for key, tolerance in found.items() if tolerance.within > 0}


def kind_of(gear: Gear, key: Key) -> str:
    """Whether a dimension is a "length" (mm) or an "angle" (degrees).

    Parameters
    ----------
    gear, key : Gear, (table, key)
        One of the gear's own, of its reverser or of its clearances.
    """
    if key[0] == CLEARANCE:
        return "length"
    if key in REVERSER.values():
        return "angle" if key[1] == "arm angle" else "length"
    return str(declared(gear, key)["kind"])


def moved_by(key: Key, gear: Gear, central_at: float) -> dict[Key, float]:
    """Dimensions that a tolerance moves, per mm or degree of it: its own, and what goes with it.

    The guide's inclination turns the guide about the middle of the spindle pin's travel: how high it stands there is
    ``guide_height``'s own tolerance. About x = 0, from which the file counts that height, a tenth of a degree would be
    millimetres at the pin.

    Parameters
    ----------
    key, gear : (table, key), Gear
        Whose tolerance it is.
    central_at : float
        Place of the spindle pin with the valve central, mm along its guide.
    """
    if key != GUIDE:
        return {key: 1.0}
    away = central_at * RADIAN / np.cos(gear.valve.guide_inclination * RADIAN)
    return {key: 1.0, ("valve", "guide_height"): -float(away)}


def moves(tolerances: Tolerances, gear: Gear, central_at: float) -> tuple[tuple[Key, ...], NDArray[np.float64]]:
    """Dimensions that vary under D tolerances, and how far each tolerance moves them, shape (D, dimensions).

    Parameters
    ----------
    tolerances, gear, central_at
        D of them, by (table, key); the others as for :func:`moved_by`.
    """
    moved = [moved_by(key, gear, central_at) for key in tolerances]
    keys = tuple(dict.fromkeys((*tolerances, *(own for each in moved for own in each))))
    return keys, np.array([[each.get(own, 0.0) for own in keys] for each in moved]).reshape(len(moved), len(keys))
