"""What is known of each dimension of a side before anything is measured on the gear put together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from linkmotion.engine import DRAWING, Engine
from linkmotion.gears.layout_rules import BY_RULE
from linkmotion.gears.sensitivity import Key, numbers, with_numbers
from linkmotion.measuring.taken import NORMAL, Source, Taken, coverage
from linkmotion.studies.as_taken import as_taken
from linkmotion.studies.assess import SideEvents, assess_side
from linkmotion.studies.diagnosis.priors import Priors
from linkmotion.studies.figures.dimensions import CENTRAL, LAPS, by_end, lap_keys
from linkmotion.studies.tolerances.tolerance import GENERAL, GENERAL_ANGLE, kind_of

Array = NDArray[np.float64]
_UNKNOWN = 3.0  # usual faults: how far a figure that no drawing gives may be from what is put for it
_LEAST = 1e-3  # mm, degrees: nobody measures nearer


@dataclass(frozen=True)
class Part:
    """A dimension as it was measured on the part by itself.

    Attributes
    ----------
    key : (table, key)
        Which.
    value : float
        mm or degrees.
    sigma : float
        Standard uncertainty that is this figure's own.
    shared : dict of float
        By source, what it shares with other figures (a wheel's diameter with every height from the rail).
    assumed : bool
        Whether its doubt was not given, and is taken as the general workshop tolerance.
    """

    key: Key
    value: float
    sigma: float
    shared: Mapping[Source, float] = field(default_factory=dict)
    assumed: bool = False

    @property
    def doubt(self) -> float:
        """Half width of what holds it 19 times in 20, by this measuring alone."""
        return NORMAL * float(np.hypot(self.sigma, np.linalg.norm(list(self.shared.values()))))


@dataclass(frozen=True, eq=False)
class Known:
    """D dimensions of a side before the gear put together is looked at.

    Attributes
    ----------
    keys : tuple of (table, key)
        The dimensions.
    drawn : dict of float
        Figures of the drawing, mm and degrees; none for a dimension that was only ever measured.
    ruled : frozenset of (table, key)
        Dimensions that nobody has, for which a rule of the trade stands in.
    parts : tuple of Part
        As measured.
    reference : float array, shape (D,)
        The drawing's figure, or what stands for one: what every estimate departs from. Nothing of the valve on its
        spindle and of the reverser, which are shifts.
    spread : float array, shape (D,)
        Standard deviation about it of a dimension that is as it should be.
    ratio : float array, shape (D,)
        Variance of a usual fault over that; nothing where no drawing is to be at fault.
    moves : float array, shape (D, D)
        As of the priors: what a departure of each moves of every dimension.
    """

    keys: tuple[Key, ...]
    drawn: Mapping[Key, float]
    parts: tuple[Part, ...]
    ruled: frozenset[Key]
    reference: Array
    spread: Array
    ratio: Array
    moves: Array

    def part(self, key: Key) -> Part | None:
        """A dimension as measured by itself."""
        return next((own for own in self.parts if own.key == key), None)


def as_drawn(engine: Engine, state: str, side: str, notches: Iterable[str] | None = None) -> SideEvents:
    """A side in the condition and the notches of a state, but every dimension as drawn: from there measurings depart.

    Parameters
    ----------
    engine : Engine
        As read.
    state, side : str
        By name.
    notches : iterable of str, optional
        All unless given.

    Raises
    ------
    NotchError
        The gear as drawn cannot pass.
    """
    setup = engine.side_state(state, side)
    laps = [key for lap in LAPS for key in lap_keys(lap)]
    gear, drawn = by_end(setup.gear, laps), numbers(by_end(engine.gear(DRAWING, side), laps))
    own = {key: drawn[key] for key in numbers(gear) if key in drawn and key != CENTRAL}
    return assess_side(setup.altered(with_numbers(gear, own)), notches)


def known_of(engine: Engine, side: SideEvents, priors: Priors) -> Known:
    """What drawing and measured parts say of a side.

    Parameters
    ----------
    engine, side : Engine, SideEvents
        Whose state holds the measured parts.
    priors : Priors
        Of the side's dimensions.
    """
    keys = priors.keys
    on_drawing = _by_key(as_taken(engine, DRAWING, side.side))
    ruled = {key: own for key, own in on_drawing.items() if key in keys and _by_rule(own)}
    taken = {key: own for key, own in _by_key(as_taken(engine, side.state, side.side)).items() if key in keys}
    drawn = numbers(by_end(engine.gear(DRAWING, side.side), keys))
    as_state = numbers(by_end(engine.gear(side.state, side.side), keys))
    parts, undrawn = [], set()
    taken = {key: own for key, own in taken.items() if not _by_rule(own)}
    every = [own for own in taken.values() if own.parts]
    for key in keys:
        if key in taken and taken[key].parts:
            parts.append(_measured(key, taken[key], every))
        elif key != CENTRAL and key in as_state and (key in taken or as_state[key] != drawn.get(key)):
            parts.append(_without_doubt(key, as_state[key], side))
        if key in on_drawing and (on_drawing[key].parts or on_drawing[key] == taken.get(key)):
            undrawn.add(key)  # what was taken is no drawing
    undrawn |= {key for key in as_state if key not in drawn}  # a state may give other figures of a table's choice
    stands_for = {key: own for key, own in {**as_state, **drawn}.items() if key != CENTRAL}
    reference = np.array([stands_for.get(key, 0.0) for key in keys])
    wrong = priors.wrong
    bare = np.array([key in undrawn or key in ruled for key in keys])
    spread = np.where(bare, _UNKNOWN * np.maximum(wrong, priors.sound), priors.sound)
    spread = np.array([ruled[key].standard if key in ruled else own for key, own in zip(keys, spread, strict=True)])
    ratio = np.where(bare | (wrong == 0.0), 0.0, priors.ratio)
    figures = {key: drawn[key] for key in keys if key in drawn and key not in undrawn and key != CENTRAL}
    return Known(keys, figures, tuple(parts), frozenset(ruled), reference, spread, ratio, priors.moves)


def _by_rule(taken: Taken) -> bool:
    return taken.how.startswith(BY_RULE)


def _by_key(taken: Mapping[tuple[str, ...], Taken]) -> dict[Key, Taken]:
    """Figures as taken by the dimensions that they are of: a lap for both ends is one of each."""
    found: dict[Key, Taken] = {}
    for path, own in taken.items():
        key = (path[0], ".".join(path[1:]))
        both = key[1] if key[0] == "valve" and key[1] in LAPS else ""
        found |= dict.fromkeys(lap_keys(both) if both else (key,), own)
    return found


def _measured(key: Key, taken: Taken, every: list[Taken]) -> Part:
    """Its own doubt, and what it shares with others; of few takings by Student's t."""
    grown = coverage(taken.freedom) / NORMAL
    common = {source for source in taken.parts if sum(source in own.parts for own in every) > 1}
    own = [part.amount for source, part in taken.parts.items() if source not in common]
    shared = {source: grown * taken.parts[source].amount for source in common}
    return Part(key, taken.value, max(grown * float(np.linalg.norm(own)), _LEAST), shared)


def _without_doubt(key: Key, value: float, side: SideEvents) -> Part:
    """What was taken without a doubt, or stands so in a state: by rule, as near as a part is made by rule."""
    within = GENERAL if kind_of(side.gear, key) == "length" else GENERAL_ANGLE
    return Part(key, value, within / NORMAL, assumed=True)
