"""What the doubts of a gear's figures make of its events and leads, by the model's own derivatives.

The valve stands where it was last set by its rule, so that what is not known of the gear as it was set moves the valve
on its spindle too. What the gauge found, with its doubt, moves dimensions, play and that place likewise
(:mod:`.condition_doubts`). What is neglected: what wear changes of the slopes (of the second order).
"""

from __future__ import annotations

import math
import zlib
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from linkmotion.engine import DRAWING, SET_AFRESH, Engine, SideState
from linkmotion.gears import DieHeight
from linkmotion.gears.sensitivity import Key
from linkmotion.measuring.taken import Part, Source, Taken
from linkmotion.studies.as_taken import Path, as_taken
from linkmotion.studies.assess import SideEvents, assess_side
from linkmotion.studies.doubts.condition_doubts import (
    key_of,
    loosened,
    loosening,
    moved_dimensions,
    moved_valve,
    slopes_with_play,
)
from linkmotion.studies.figures.dimensions import CENTRAL, REVERSER
from linkmotion.studies.figures.figure import Figure, figures_of
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.figures.play import GREATEST
from linkmotion.wear.condition import SOUND
from linkmotion.wear.effects import worn

DRAWN = 2000
"""Gears drawn where slopes bend."""
_BENT = 0.1  # of a figure's doubt: by how much its slopes may be out there
_HELD = 0.95  # 19 in 20
Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class EventDoubts:
    """Doubts of F figures of a side.

    Attributes
    ----------
    model : GearModel
        The side's figures by its D dimensions, the valve's place, the reverser and what loosens it among them.
    slopes : float array, shape (F, D)
        Of the figures, to what loosens it too; NaN where an event does not happen.
    shifts : dict of dict of (float array, shape (D,))
        Notch → source of doubt → by how much one standard uncertainty of it moves each dimension, mm and degrees.
    freedoms : dict of float
        Degrees of freedom of each source.
    """

    model: GearModel
    slopes: Array
    shifts: Mapping[str, Mapping[Source, Array]]
    freedoms: Mapping[Source, float] = field(repr=False)

    def parts(self, figure: Figure) -> dict[Source, Part]:
        """What each source adds to a figure, with its sign; nothing where the event does not happen."""
        row = self.slopes[self.model.figures.index(figure)]
        if not np.all(np.isfinite(row)):
            return {}
        found = {source: float(row @ shift) for source, shift in self.shifts[figure.notch].items()}
        return {source: Part(amount, self.freedoms[source]) for source, amount in found.items() if amount}

    def bends(self, figure: Figure) -> bool:
        """Whether a figure's slopes do not hold over its doubt: its gears really turned are then to be believed."""
        return bool(self._bent[self.model.figures.index(figure)])

    @cached_property
    def _bent(self) -> NDArray[np.bool_]:
        """Of each figure: whether it stands elsewhere than by its slopes, at the ends of its doubt."""
        found = np.zeros(len(self.model.figures), bool)
        for notch in self.shifts:
            ends = {number: self._end(number) for number in self._of(notch)}
            own = [number for number, end in ends.items() if np.any(end)]
            if own:
                most = np.array([ends[number] for number in own])
                by = self.model.only(own).predict(np.vstack([most, -most])) - self.model.at_figures[own]
                ahead, behind = np.diagonal(by[: len(own)]), np.diagonal(by[len(own) :])
                spread = np.array([self._straight(number).doubt for number in own])
                off = np.maximum(np.abs(ahead - spread), np.abs(behind + spread))
                found[own] = ~(off < _BENT * spread)
        return found

    def _end(self, number: int) -> Array:
        """The departures, shape (D,), likeliest among those that by slopes take a figure to the end of its doubt."""
        own = self._straight(number)
        shifts = self.shifts[self.model.figures[number].notch]
        parts = (part.amount / own.standard * shifts[source] for source, part in own.parts.items())
        return np.asarray(sum(parts, np.zeros(len(self.model.keys))) * (own.doubt / own.standard if own.parts else 0.0))

    def _straight(self, number: int) -> Taken:
        return Taken(0.0, self.parts(self.model.figures[number]))

    def doubt(self, figure: Figure) -> float:
        """A figure's doubt, 19 in 20: by its slopes, or by gears drawn at random where they bend; 0 for none."""
        own = self._straight(self.model.figures.index(figure)).doubt
        return bent(own, self.off(figure), self.by_slopes(figure)) if self.bends(figure) else own

    def drawn(self, figure: Figure) -> Array:
        """A figure of gears drawn at random within the doubts, shape (DRAWN,), the same gears for every figure."""
        return self._drawn(figure.notch)[:, self.model.figures.index(figure)]

    def off(self, figure: Figure) -> Array:
        """How far the figure of each gear drawn is off, shape (DRAWN,)."""
        return np.asarray(self.drawn(figure) - self.model.at_figures[self.model.figures.index(figure)])

    def by_slopes(self, figure: Figure) -> Array:
        """How far its slopes alone would take a figure on the same gears, shape (DRAWN,)."""
        parts = self.parts(figure).items()
        own = (part.amount * _draws(source, part.freedom) for source, part in parts)
        return np.asarray(sum(own, np.zeros(DRAWN)))

    def _of(self, notch: str) -> list[int]:
        return [i for i, figure in enumerate(self.model.figures) if figure.notch == notch]

    def _drawn(self, notch: str) -> Array:
        if notch not in self._kept:
            rows = np.zeros((DRAWN, len(self.model.keys)))
            for source, shift in self.shifts[notch].items():
                rows += np.outer(_draws(source, self.freedoms[source]), shift)
            own = self._of(notch)
            found = np.full((DRAWN, len(self.model.figures)), np.nan)
            found[:, own] = self.model.only(own).predict(rows)
            self._kept[notch] = found
        return self._kept[notch]

    _kept: dict[str, Array] = field(default_factory=dict, repr=False)


def bent(by_slopes: float, drawn: Array, straight: Array) -> float:
    """A doubt where slopes bend, 19 in 20: by how much further than by slopes the gears drawn go.

    The doubt by slopes is known without drawing; what chance has made of the gears drawn is in both, and falls out.

    Parameters
    ----------
    by_slopes : float
        The doubt by slopes alone.
    drawn, straight : arrays, shape (DRAWN,)
        How far each gear drawn is off; and by slopes. NaN where an event does not happen.

    Examples
    --------
    >>> straight = np.linspace(-1.0, 1.0, DRAWN)
    >>> round(bent(0.3, 1.5 * straight, straight), 9)
    0.45
    """
    far, near = (float(np.nanquantile(np.abs(own), _HELD)) for own in (drawn, straight))
    return by_slopes * far / near if near else far


def _draws(source: Source, freedom: float) -> Array:
    """One source's errors in every gear drawn, in standard uncertainties: alike wherever the source is met.

    One in each of DRAWN parts of equal probability, in an order of the source's own.
    """
    from scipy.special import ndtri, stdtrit

    rng = np.random.default_rng(zlib.crc32(repr(source).encode()))
    part = (rng.permutation(DRAWN) + rng.random(DRAWN)) / DRAWN
    return np.asarray(ndtri(part) if math.isinf(freedom) else stdtrit(freedom, part))


def event_doubts(engine: Engine, side: SideEvents) -> EventDoubts | None:
    """Doubts of a side's leads, events, openings and travel; None where the file gives none.

    Raises
    ------
    NotchError
        As :func:`~linkmotion.studies.assess.assess_side`.
    """
    setup = engine.side_state(side.state, side.side)
    placed = setup if side.standing == SET_AFRESH else setup.placed
    known, as_set = (_doubted(engine, own.state, own.side) for own in (setup, placed))
    if not known and not as_set:
        return None
    loose, model = loosening(known), _without_play(setup, side)
    if loose or side.has_play or side.condition.die_offset:
        model = loosened(model, side, loose)
        slopes = slopes_with_play(model, loose)
    else:
        slopes = model.slopes
    by_key = {key: {} for key in model.keys}  # type: dict[Key, dict[Source, float]]
    for path, moves in moved_dimensions(setup.gear, setup.condition, known).items():
        for key, moved in moves.items():
            if key in by_key:
                _add(by_key[key], known[path], moved)
    for path in loose:
        _add(by_key[key_of(path)], loose[path], 1.0)
    for path, moved in moved_valve(placed, side.standing, as_set).items():
        _add(by_key[CENTRAL], as_set[path], moved)
    reverser = REVERSER.get(type(side.settings[0]))
    for key, moved in _valve_moves(placed).items():
        if key == reverser and placed.rule is not None:
            arm = _of_reverser(engine, placed, placed.rule.set_in["notch"], as_set)
            for source, amount in arm.items():
                by_key[CENTRAL][source] = by_key[CENTRAL].get(source, 0.0) + moved * amount
        elif (path := (key[0], *key[1].split("."))) in as_set:
            _add(by_key[CENTRAL], as_set[path], moved)
    shifts: dict[str, dict[Source, Array]] = {}
    for notch in side.notches:
        every = by_key | ({reverser: _of_reverser(engine, setup, notch, known)} if reverser else {})
        found: dict[Source, Array] = defaultdict(lambda: np.zeros(len(model.keys)))
        for number, key in enumerate(model.keys):
            for source, amount in every[key].items():
                found[source][number] += amount
        shifts[notch] = dict(found)
    both = [*known.values(), *as_set.values(), *_doubted(engine, DRAWING, side.side).values()]
    return EventDoubts(
        model, slopes, shifts, {source: part.freedom for own in both for source, part in own.parts.items()}
    )


def _without_play(setup: SideState, side: SideEvents) -> GearModel:
    """The figures of a side on its gear without play; its greatest lost motion in each notch too, where it is loose."""
    gear = worn(setup.gear, setup.condition.cold)
    sound = replace(assess_side(setup.altered(gear, SOUND), side.notches), central_at=side.central_at)
    lost = [Figure(kind=GREATEST, notch=notch) for notch in side.notches] if side.has_play else []
    return GearModel.of(sound, (*figures_of(side), *lost))


def _doubted(engine: Engine, state: str, side: str) -> dict[Path, Taken]:
    return {path: own for path, own in as_taken(engine, state, side).items() if own.parts}


def _add(found: dict[Source, float], taken: Taken, slope: float) -> None:
    for source, part in taken.parts.items():
        found[source] = found.get(source, 0.0) + slope * part.amount


def _of_reverser(engine: Engine, setup: SideState, notch: str, known: Mapping[Path, Taken]) -> dict[Source, float]:
    """What each source moves the reverser by in a notch.

    A notch given by its arm angle moves by that angle's own doubt. One given by a die height has the arm angle that
    brings the die there on the rack's gear: what is not known of that gear moves it too.
    """
    found: dict[Source, float] = {}
    path = ("reversing", "notches", notch)
    if not isinstance(setup.notches[notch], DieHeight):
        if path in known:
            _add(found, known[path], 1.0)
        return found
    on_rack = notch not in setup.own_notches
    own = engine.side_state(DRAWING, setup.side) if on_rack else setup
    rack = _doubted(engine, own.state, own.side)
    sound = assess_side(own.altered(condition=SOUND), [notch])
    model = GearModel.of(sound, [Figure(kind="die height", notch=notch)])
    slopes = dict(zip(model.keys, model.slopes[0], strict=True))
    per_arm = slopes.pop(REVERSER[type(sound.settings[0])])
    for key, slope in slopes.items():
        if (own_path := (key[0], *key[1].split("."))) in rack:
            _add(found, rack[own_path], -float(slope / per_arm))
    if path in rack:
        _add(found, rack[path], float(1.0 / per_arm))
    return found


def _valve_moves(placed: SideState) -> dict[Key, float]:
    """By how much the valve moves on its spindle for each dimension of the gear on which its rule is followed."""
    rule = placed.rule
    if rule is None or placed.gear.valve.central_at is not None:
        return {}
    notch, way = rule.set_in["notch"], rule.set_in["direction"]
    sound = assess_side(placed.altered(replace(placed.gear, valve=rule), SOUND), [notch], SET_AFRESH)
    lead = Figure(kind="lead", notch=notch, direction=way, end="front")
    still, followed = GearModel.of(sound, [lead]), GearModel.of(sound, [lead], afresh=True)
    per_shift = still.slopes[0, still.keys.index(CENTRAL)]
    moves = dict(zip(followed.keys, followed.slopes[0], strict=True))
    return {
        key: float((moves[key] - own) / per_shift)
        for key, own in zip(still.keys, still.slopes[0], strict=True)
        if key in moves and key != CENTRAL
    }
