"""What is known to be off its drawing: what an adjustment puts back, and what must be mended otherwise."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from linkmotion.engine import DRAWING, Engine
from linkmotion.gears.reverser import figure
from linkmotion.gears.sensitivity import Key, numbers
from linkmotion.sides import BOTH
from linkmotion.studies.assess import SideEvents, assess_side
from linkmotion.studies.diagnosis.result import Diagnosis, Explanation
from linkmotion.studies.figures.dimensions import CENTRAL, REVERSER, dimensions_of
from linkmotion.studies.setting.adjustments import Adjustment
from linkmotion.studies.setting.problem import SettingProblem
from linkmotion.studies.setting.side import Array, Off, Steps, Undecided, model_of
from linkmotion.studies.tolerances.tolerance import MEASURED, kind_of
from linkmotion.wear.condition import SOUND
from linkmotion.wear.effects import worn

SURE = 0.5  # probability from which a diagnosis is held to name a dimension, or one that it cannot tell from it
NEARLY = 5.0  # times as likely as another: no more is nearly alike
_LEAST = 1e-6  # mm or degrees: a dimension that is nearer is as drawn
_TOLD = 0.1  # of a target: a part that bears on none by as much is not worth a repair
_FELT = 0.5  # of a target: what takes as much of one by itself is told, even where no vernier shows it on the part


@dataclass(frozen=True)
class PutBack:
    """A part put back to its drawing by an adjustment: so many steps of it undo what it is off by.

    Attributes
    ----------
    number : int
        Of the adjustment.
    steps : int
        As near as its steps and limits allow.
    off : Off
        What it undoes.
    """

    number: int
    steps: int
    off: Off


@dataclass(frozen=True)
class Repair:
    """A part off its drawing that no adjustment puts back.

    Attributes
    ----------
    side : str
        Which.
    off : Off
        What; where an adjustment takes a part of it, what is left.
    part : bool
        Whether an adjustment takes a part of it.
    felt : float
        What it does, in the target on which it bears most.
    """

    side: str
    off: Off
    part: bool
    felt: float


def off_drawing(engine: Engine, state: str, side: SideEvents) -> tuple[Off, ...]:
    """The dimensions of a side that differ from the drawing as the file has the state: changed, bent, slipped.

    A rise of the axle moves every height alike and is no part's fault; the valve's place on its spindle has no figure.

    Parameters
    ----------
    engine, state : Engine, str
        As read; by its name.
    side : SideEvents
        Which, assessed in that state.
    """
    setup, drawing = engine.side_state(state, side.side), engine.side_state(DRAWING, side.side)
    condition = replace(setup.condition.cold, axle_height=0.0)
    now, drawn = numbers(worn(setup.gear, condition).as_set()), numbers(drawing.gear.as_set())
    off = {key: value - own for key, value in now.items() if (own := _drawn(drawn, key)) is not None}
    off |= _arms(side, sound_drawing(engine, side.side, side.notches))
    felt = set(dimensions_of(side.gear.as_set(), side.settings[0])) - {CENTRAL}
    return tuple(Off(key, float(by)) for key, by in off.items() if abs(by) > _LEAST and key in felt)


def _drawn(drawn: Mapping[Key, float], key: Key) -> float | None:
    """The drawing's figure; of one end, where it gives both ends one."""
    table, name = key
    return drawn.get(key, drawn.get((table, name.removesuffix("_front").removesuffix("_back"))))


def _arms(side: SideEvents, drawing: SideEvents) -> dict[Key, float]:
    """The lifting arms' angle, where every notch is off by the same."""
    kind = type(side.settings[0])
    if kind not in REVERSER:
        return {}
    own = dict(zip(side.notches, side.settings, strict=True))
    pairs = [(own[notch], drawn) for notch, drawn in zip(drawing.notches, drawing.settings, strict=True)]
    by = np.array([float(np.ravel(figure(now))[0]) - float(np.ravel(figure(drawn))[0]) for now, drawn in pairs])
    return {REVERSER[kind]: float(by.mean())} if np.ptp(by) < _LEAST else {}


def accused(found: Diagnosis, hours: Mapping[Key, float]) -> tuple[Off, ...]:
    """What a diagnosis holds to be off: of explanations nearly alike in likelihood the one undone with least work.

    Rods and brackets are altered in every shop, the pins of a link in none: where the readings cannot tell the two, the
    part that can be put back is the one to measure first, of several the cheapest, of equals the likeliest. Nothing is
    accused where nothing may be wrong: where that is not much less likely than all that may be, together.

    Parameters
    ----------
    found : Diagnosis
        Of a side.
    hours : dict
        By (table, key): what adjustments alter there, and what each costs.
    """
    likely = _likely(found)
    if not likely or _may_be_sound(found):
        return ()
    undone = [each for each in likely if set(each.keys) <= set(hours)]
    named = min(undone, key=lambda each: sum(hours[key] for key in each.keys), default=likely[0])
    off = []
    for key, by in zip(named.keys, named.departures, strict=True):
        others = tuple(dict.fromkeys(k for each in likely if key not in each.keys for k in each.keys))
        instead = tuple(other for other in others if other not in named.keys)
        idle = any(set(each.keys) <= set(named.keys) - {key} for each in likely)
        sure = found.suspect(key).probability
        of_all = sure + (0.0 if idle else sum(found.suspect(other).probability for other in instead))
        if key != CENTRAL and of_all >= SURE:
            off.append(Off(key, by, min(sure, 1.0), instead))
    return tuple(off)


def undecided(found: Diagnosis) -> Undecided | None:
    """What may well be off by a diagnosis that accuses nothing, since nothing may be wrong; None where nothing may.

    Parameters
    ----------
    found : Diagnosis
        Of a side.
    """
    keys = tuple(dict.fromkeys(key for each in _likely(found) for key in each.keys))
    sure = 1.0 - found.sound
    return Undecided(sure, keys) if keys and sure >= SURE and _may_be_sound(found) else None


def _likely(found: Diagnosis) -> list[Explanation]:
    """The explanations by which something is off, nearly as likely as the likeliest of these, which is first."""
    own = [each for each in found.explanations if each.keys]
    return [each for each in own if each.probability * NEARLY >= own[0].probability]


def _may_be_sound(found: Diagnosis) -> bool:
    return found.sound * NEARLY >= 1.0 - found.sound


def together(by_file: Sequence[Off], by_readings: Sequence[Off]) -> tuple[Off, ...]:
    """What the file has off and what the readings add to it.

    Parameters
    ----------
    by_file, by_readings : sequences of Off
        Of one side; of a dimension in both the amounts are added.
    """
    found = {own.key: own for own in by_file}
    for own in by_readings:
        found[own.key] = replace(own, by=own.by + (found[own.key].by if own.key in found else 0.0))
    return tuple(found.values())


def put_back(problem: SettingProblem) -> tuple[PutBack, ...]:
    """What adjustments can put back, in order of work; what is nearer its drawing than half a step stands at it.

    Parameters
    ----------
    problem : SettingProblem
        With what is off on each side.
    """
    found = []
    for number, each in enumerate(problem.adjustments):
        own = None if each.trims else _off(problem, each)
        steps = 0 if own is None else int(np.clip(round(-own.by / each.per_step), each.least, each.most))
        if own is not None and steps:
            found.append(PutBack(number, steps, own))
    return tuple(found)


def _off(problem: SettingProblem, adjustment: Adjustment) -> Off | None:
    """By how much what an adjustment alters is off: of what alters both sides, only what both are off alike."""
    found = [
        next((off for off in estimate.off if off.key == adjustment.key), None)
        for estimate in problem.estimates
        if adjustment.on(estimate.side.side)
    ]
    known = [off for off in found if off is not None]
    if len(known) < len(found):
        return None
    by = np.array([off.by for off in known])
    apart = float(np.ptp(by)) > abs(adjustment.per_step) / 2
    return None if apart else replace(known[0], by=float(by.mean()))


def repairs(problem: SettingProblem) -> tuple[Repair, ...]:
    """What no adjustment puts back and what is felt, what bears most on a target first.

    Felt is what takes up half of a target by itself; or a tenth of one, where the part measured by vernier would show
    it (:data:`MEASURED`). What is less could not be found on the part nor be made right: a rod of 700 mm bowed by
    3 mm is 0.03 mm short, a seventh of a usual target of lead, and no rod is measured, nor made, as near as that.

    Parameters
    ----------
    problem : SettingProblem
        With what is off on each side.
    """
    undone = np.zeros(len(problem.adjustments), int)
    for own in put_back(problem):
        undone[own.number] = own.steps
    found: list[Repair] = []
    for which, estimate in enumerate(problem.estimates):
        left = [(off, *_left(problem, estimate.side.side, off, undone)) for off in estimate.off]
        keys = [off.key for off, by, _part in left if by]
        felt = dict(zip(keys, _felt(problem, which, keys), strict=True))
        for off, by, part in left:
            shows = by and abs(by) >= MEASURED[kind_of(estimate.side.gear, off.key)]
            if by and (size := float(felt[off.key] * abs(by))) >= (_TOLD if shows else _FELT):
                found.append(Repair(estimate.side.side, replace(off, by=by), part, size))
    return tuple(sorted(found, key=lambda own: -own.felt))


def _left(problem: SettingProblem, side: str, off: Off, undone: Steps) -> tuple[float, bool]:
    """What is left of a dimension that is off once it is put back, and whether an adjustment took any of it."""
    own = [n for n, each in enumerate(problem.adjustments) if each.key == off.key and each.on(side)]
    number = next((n for n in own if undone[n]), None)
    if number is None:
        steps = [abs(each.per_step) for each in (problem.adjustments[n] for n in own) if each.side != BOTH]
        return (0.0 if abs(off.by) <= min(steps, default=0.0) / 2 else off.by), False
    left = off.by + undone[number] * problem.adjustments[number].per_step
    return (0.0 if abs(left) <= abs(problem.adjustments[number].per_step) / 2 + _LEAST else left), True


def _felt(problem: SettingProblem, which: int, keys: Sequence[Key]) -> Array:
    """By how much of a target each dimension of a side moves that which it moves most, per mm or degree, shape (D,)."""
    start, count = sum(len(side.figures) for side in problem.sides[:which]), len(problem.sides[which].figures)
    every = np.zeros((sum(len(side.figures) for side in problem.sides), len(keys)))
    kept, filed = problem.sides[which].side, problem.estimates[which].side
    others = numbers(filed.gear).keys() - numbers(kept.gear).keys()  # told by the file's figures, not by those set
    for side, theirs in ((kept, False), (filed, True)):
        at = [number for number, key in enumerate(keys) if (key in others) is theirs]
        if at:
            slopes = model_of(side, [keys[number] for number in at]).slopes
            every[start : start + count, at] = np.nan_to_num(slopes)
    moved = np.abs(problem.along(every)[: len(problem.goals)]) / problem.scale[: len(problem.goals), None]
    return np.asarray(moved.max(axis=0, initial=0.0))


def sound_drawing(engine: Engine, side: str, notches: Sequence[str]) -> SideEvents:
    """A side of the drawing as if nothing of it were worn, in those of some notches that it has.

    Parameters
    ----------
    engine, side : Engine, str
        As read; "left" or "right".
    notches : sequence of str
        By name.
    """
    setup = engine.side_state(DRAWING, side)
    return assess_side(replace(setup, condition=SOUND), [notch for notch in notches if notch in setup.notches])
