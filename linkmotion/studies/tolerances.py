"""Tolerances on the dimensions of a gear: as given, or by a general workshop rule."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields, replace
from difflib import get_close_matches
from typing import Any, Literal, get_args, get_type_hints

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears import Gear, Setting
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.event_figures import CENTRAL, REVERSER, dimensions_of

Distribution = Literal["normal", "uniform"]
DISTRIBUTIONS: tuple[str, ...] = get_args(Distribution)
GENERAL = 0.25  # mm either way: a length worked to rule and scriber; common practice, no source
GENERAL_ANGLE = 0.1  # degrees either way: likewise, no source
_SPREAD = {"normal": 1 / 2, "uniform": 1 / np.sqrt(3.0)}


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
    """

    within: float
    distribution: Distribution = "normal"
    assumed: bool = False

    @property
    def std(self) -> float:
        """Standard deviation, mm or degrees.

        >>> Tolerance(0.3).std, round(Tolerance(0.3, "uniform").std, 4)
        (0.15, 0.1732)
        """
        return float(self.within * _SPREAD[self.distribution])

    def scaled(self, factor: float) -> Tolerance:
        """The same, so many times as wide."""
        return replace(self, within=self.within * factor)


Tolerances = Mapping[Key, Tolerance]


def draws(tolerances: Tolerances, count: int, seed: np.random.SeedSequence) -> NDArray[np.float64]:
    """Departures of ``count`` gears from their figures, shape (count, D), mm and degrees."""
    rng = np.random.default_rng(seed)
    columns = []
    for tolerance in tolerances.values():
        if tolerance.distribution == "uniform":
            columns.append(tolerance.within * rng.uniform(-1.0, 1.0, count))
        else:
            columns.append(tolerance.std * rng.standard_normal(count))
    return np.stack(columns, axis=-1) if columns else np.zeros((count, 0))


def general_tolerances(
    gear: Gear,
    setting: Setting,
    length: float = GENERAL,
    angle: float = GENERAL_ANGLE,
    distribution: Distribution = "normal",
    assumed: bool = True,
) -> dict[Key, Tolerance]:
    """One tolerance for every length (mm) and one for every angle (degrees) of a gear.

    A line's inclination turns it about the place below the axle from which it is measured, a metre or more from
    where the parts are: a tenth of a degree there is millimetres at the guide, so give that tolerance by itself.
    The reverser's arm on its shaft is among the angles; the valve's place on its spindle is among the
    lengths only where the file gives it (a rule by which the valve is set is taken to be followed).
    """
    wide = {"length": length, "angle": angle}
    found = {
        key: Tolerance(wide[kind_of(gear, key)], distribution, assumed)
        for key in dimensions_of(gear, setting)
        if key != CENTRAL or gear.valve.central_at is not None
    }
    return {key: tolerance for key, tolerance in found.items() if tolerance.within > 0}


def tolerances_from(
    tables: Mapping[str, Any], gear: Gear, setting: Setting, length: Callable[[Any], float] = float
) -> dict[Key, Tolerance]:
    """Tolerances from nested tables written like the drawing's.

    Parameters
    ----------
    tables : mapping
        ``general`` and ``general_angle``, the rule for whatever is not named (:data:`GENERAL` and
        :data:`GENERAL_ANGLE` unless given; 0 for none); ``distribution`` of all; and tables such as
        ``{"eccentric_rod": {"length": 0.4}}``. A figure is a half-width, or ``{"within": 0.4,
        "distribution": "uniform"}``; 0 means exact. ``reversing.arm_angle`` (or ``die_place``) is the
        reverser's own.
    gear, setting
        Whose dimensions they are.
    length : callable
        Reads a length as written, to mm.

    Raises
    ------
    ToleranceError
        An unknown key, or a figure that is no tolerance.
    """
    shape = _distribution(tables, ("distribution",))
    rule = {
        "length": _figure(tables["general"], ("general",), length) if "general" in tables else GENERAL,
        "angle": _figure(tables.get("general_angle", GENERAL_ANGLE), ("general_angle",), float),
    }
    found = general_tolerances(gear, setting, rule["length"], rule["angle"], shape)
    known = {_spelt(key): key for key in dimensions_of(gear, setting)}
    for path, value in _leaves(tables):
        if path not in known:
            names = {".".join(spelt): spelt for spelt in known}
            close = get_close_matches(".".join(path), names, n=1, cutoff=0.6)
            told = f"did you mean {close[0]!r}?" if close else "name a table and a length or angle of the drawing"
            raise ToleranceError(path, "this gear's drawing has no such length or angle", told)
        key = known[path]
        own = value if isinstance(value, Mapping) else {"within": value}
        read = length if kind_of(gear, key) == "length" else float
        found[key] = Tolerance(_figure(own["within"], path, read), _distribution(own, path, shape))
    order = dimensions_of(gear, setting)
    return {key: found[key] for key in order if key in found and found[key].within > 0}


def _leaves(tables: Mapping[str, Any]) -> Iterator[tuple[tuple[str, ...], Any]]:
    for name, value in tables.items():
        if name in ("general", "general_angle", "distribution"):
            continue
        if not isinstance(value, Mapping):
            raise ToleranceError((name,), "this is no table of the drawing", "write [tolerances.TABLE] and its keys")
        yield from _below((name,), value)


def _below(path: tuple[str, ...], table: Mapping[str, Any]) -> Iterator[tuple[tuple[str, ...], Any]]:
    for name, value in table.items():
        if isinstance(value, Mapping) and "within" not in value:
            yield from _below((*path, name), value)
        else:
            yield (*path, name), value


def _spelt(key: Key) -> tuple[str, ...]:
    """A dimension's key as a file spells it."""
    return (key[0], *key[1].replace(" ", "_").split("."))


def _figure(value: Any, path: tuple[str, ...], read: Callable[[Any], float]) -> float:
    try:
        if isinstance(value, bool):
            raise ValueError
        figure = read(value)
    except (TypeError, ValueError) as error:
        remedy = "give the half-width: a figure of 0.2 means ± 0.2"
        raise ToleranceError(path, str(error) or f"read {value!r}", remedy) from None
    if not (np.isfinite(figure) and figure >= 0):
        raise ToleranceError(path, f"read {value!r}", "a tolerance is 0 or more, and finite")
    return figure


def _distribution(table: Mapping[str, Any], path: tuple[str, ...], default: Distribution = "normal") -> Distribution:
    read = table.get("distribution", default)
    if read not in DISTRIBUTIONS:
        raise ToleranceError(path, f"read distribution {read!r}", f"wanted: {' or '.join(DISTRIBUTIONS)}")
    return read  # type: ignore[no-any-return]


def kind_of(gear: Gear, key: Key) -> str:
    """Whether a dimension is a "length" (mm) or an "angle" (degrees)."""
    if key in REVERSER.values():
        return "angle" if key[1] == "arm angle" else "length"
    table = get_type_hints(type(gear))[key[0]]
    *inner, name = key[1].split(".")
    for step in inner:
        table = next(f.metadata["table"] for f in fields(table) if f.name == step)
    return next(str(f.metadata["kind"]) for f in fields(table) if f.name == name)
