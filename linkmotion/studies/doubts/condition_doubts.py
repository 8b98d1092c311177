"""What is not known of what the gauge found: the dimensions, the play and the valve's place that it moves.

A bow, a bend, a slip or the axle's height changes dimensions; a clearance, a worn face, the die's fit or its offset
lets the valve lag or carries it ahead (:class:`~linkmotion.studies.figures.play.Play`). What neither does (twist, side
clearance) has no part in events, and heat none as it stands.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.engine import SideState
from linkmotion.gears import Gear
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.gears.sensitivity import Key, numbers, with_numbers
from linkmotion.linkage import Wheel, solve
from linkmotion.linkage.derivatives import gradient_along
from linkmotion.measuring.taken import NORMAL, Taken
from linkmotion.studies.as_taken import Path
from linkmotion.studies.assess import SideEvents, place_of
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.figures.play import POSITIONS, Play, WornThere
from linkmotion.wear.condition import Condition
from linkmotion.wear.effects import carried_by_slot, worn
from linkmotion.wear.lost_motion import free_by_joint

WEAR = "wear"
_SHAPES, _LOOSENS = ("bow", "bent", "angle_slip", "axle_height"), (
    "clearance", "slot", "die_clearance", "die_offset", "die_length",
)  # fmt: skip
_NEVER_LESS = ("clearance", "die_clearance", "die_length")  # than nothing
_STEP = 0.05  # mm, degrees: the least step by which slopes are taken
Array = NDArray[np.float64]


def found_by_gauge(known: Mapping[Path, Taken], kinds: Sequence[str]) -> dict[Path, Taken]:
    """Figures of the wear table with doubts, of some kinds."""
    return {path: own for path, own in known.items() if path[0] == WEAR and path[1] in kinds}


def key_of(path: Path) -> Key:
    """The name under which what loosens a gear stands among its dimensions."""
    return (WEAR, ".".join(path[1:]))


def loosening(known: Mapping[Path, Taken]) -> dict[Path, Taken]:
    """Those that let the valve lag or carry it ahead."""
    return found_by_gauge(known, _LOOSENS)


def altered(condition: Condition, path: Path, by: float) -> Condition:
    """A condition with one of its figures so much more, mm or degrees.

    Parameters
    ----------
    condition : Condition
        What the gauge found.
    path : tuple of str
        In the file, from "wear" on; of the slot's readings by their row there.
    by : float
        mm or degrees.
    """
    what, *inner = path[1:]
    own: Any = getattr(condition, what)
    if what == "slot":
        row, side = int(inner[0]), inner[1]
        changed = (replace(each, **{side: getattr(each, side) + by}) if each.row == row else each for each in own)
        return replace(condition, slot=tuple(sorted(changed, key=lambda each: each.at)))
    if what == "bent":
        pin, way = inner
        ahead, up = own[pin]
        return replace(condition, bent={**own, pin: (ahead + by, up) if way == "ahead" else (ahead, up + by)})
    changes: dict[str, Any] = {what: {**own, inner[0]: own[inner[0]] + by} if inner else own + by}
    return replace(condition, **changes)


def _on_both_hands(condition: Condition, path: Path, taken: Taken) -> tuple[Condition, Condition, float]:
    """A condition with a figure more and less by its doubt, and how far these are apart."""
    up, down = _steps(path, taken)
    return altered(condition, path, up), altered(condition, path, -down), up + down


def _steps(path: Path, taken: Taken) -> tuple[float, float]:
    """How far a figure is moved up and down to see what it does, mm or degrees."""
    step = max(NORMAL * taken.standard, _STEP)
    return step, min(step, taken.value) if path[1] in _NEVER_LESS else step


def moved_dimensions(gear: Gear, condition: Condition, known: Mapping[Path, Taken]) -> dict[Path, dict[Key, float]]:
    """What one more mm or degree of each figure moves of the dimensions of the gear as worn, mm or degrees.

    Of a bow, bend, slip or height what it changes; of a dimension itself, and what else wear makes go with it.

    Parameters
    ----------
    gear, condition : Gear, Condition
        The gear by its figures, and what the gauge found.
    known : mapping
        Figures with doubts, of any kind.
    """
    shapes = shaping(known)
    found = {path: _differences(gear, _on_both_hands(condition, path, own)) for path, own in shapes.items()}
    given = numbers(gear)
    as_drawn = numbers(worn(gear, condition)) == given
    for path in known:
        key = (path[0], ".".join(path[1:]))
        if key not in given:
            continue
        more, less = (worn(with_numbers(gear, {key: given[key] + by}), condition) for by in (_STEP, -_STEP))
        found[path] = {key: 1.0} if as_drawn else _apart(more, less, 2 * _STEP)
    return found


def _differences(gear: Gear, hands: tuple[Condition, Condition, float]) -> dict[Key, float]:
    return _apart(worn(gear, hands[0]), worn(gear, hands[1]), hands[2])


def _apart(more: Gear, less: Gear, by: float) -> dict[Key, float]:
    one, other = numbers(more), numbers(less)
    return {key: (one[key] - other[key]) / by for key in one if key in other and one[key] != other[key]}


def shaping(known: Mapping[Path, Taken]) -> dict[Path, Taken]:
    """Those that change dimensions."""
    return found_by_gauge(known, _SHAPES)


def moved_valve(placed: SideState, standing: str, known: Mapping[Path, Taken]) -> dict[Path, float]:
    """By how much the valve is set elsewhere on its spindle for one more mm or degree of what the gauge found.

    Parameters
    ----------
    placed : SideState
        The side as its valve got its place, by the rule.
    standing : str
        As of an assessment.
    known : mapping
        Figures as taken in that state.
    """
    if placed.rule is None or placed.gear.valve.central_at is not None:
        return {}
    found = {}
    for path, taken in found_by_gauge(known, (*_SHAPES, *_LOOSENS)).items():
        more, less, apart = _on_both_hands(placed.condition, path, taken)
        one, other = (place_of(replace(placed, condition=own), standing) for own in (more, less))
        found[path] = (one - other) / apart
    return found


def loosened(model: GearModel, side: SideEvents, known: Mapping[Path, Taken]) -> GearModel:
    """The model of a sound gear with the play and worn slot of a side, and what is not known of them as dimensions.

    Parameters
    ----------
    model : GearModel
        Of the gear without its play.
    side : SideEvents
        Whose condition it is.
    known : mapping
        Figures of that condition with doubts, of those that loosen; may be none.
    """
    gear, condition, moved = model.gear, side.condition, model.moved
    hands = [_on_both_hands(condition, path, taken) for path, taken in known.items()]
    free, ahead, frees, carried = {}, {}, {}, {}
    for notch in moved.notches:
        round_wheel = _RoundWheel(gear, moved.varied.settings[notch])
        free[notch], ahead[notch] = round_wheel.of(condition)
        by_path = np.empty((2, len(hands), POSITIONS))
        for number, (more, less, apart) in enumerate(hands):
            by_path[:, number] = (round_wheel.of(more) - round_wheel.of(less)) / apart
        frees[notch], carried[notch] = by_path
    least = [-own.value if path[1] in _NEVER_LESS else -np.inf for path, own in known.items()]
    keys = tuple(map(key_of, known))
    play = Play(keys, frees, model.play.lost, WornThere(np.array(least), free, ahead, carried))
    varied = replace(moved.varied, keys=(*moved.varied.keys, *keys))
    return replace(model, moved=replace(moved, varied=varied), play=play)


class _RoundWheel:
    """A gear turned in a notch, and what any condition does to its valve."""

    def __init__(self, gear: Gear, setting: Any) -> None:
        self.gear = gear
        self.solution = solve(gear.declare(setting), Wheel.revolution(POSITIONS))
        self.gradient = gradient_along(self.solution, VALVE_GUIDE)
        self.place, self.carried = None, 0.0
        if gear.slot is not None:
            self.place = gear.slot.die_place(self.solution)
            self.carried = carried_by_slot(gear, self.solution, setting)

    def of(self, condition: Condition) -> Array:
        """Lost motion, and how far the valve is carried ahead, mm, shape (2, POSITIONS)."""
        ways = free_by_joint(self.gear, condition, self.solution, self.gradient)
        free = sum((np.abs(way) for way in ways.values()), np.zeros(POSITIONS))
        ahead = 0.0 if self.place is None else self.carried * condition.slot_shift(self.place)
        return np.stack(np.broadcast_arrays(free, ahead))


def slopes_with_play(model: GearModel, known: Mapping[Path, Taken]) -> Array:
    """What one more mm or degree of each of D dimensions makes of F figures, the play in motion, shape (F, D).

    By differences: an event stands elsewhere than on the gear without its play, and its slopes with it.

    Parameters
    ----------
    model, known : GearModel, mapping
        As :func:`loosened` gives it, and was given.
    """
    up, down = np.full(len(model.keys), _STEP), np.full(len(model.keys), _STEP)
    for path, taken in known.items():
        at = model.keys.index(key_of(path))
        up[at], down[at] = _steps(path, taken)
    found = model.predict(np.vstack([np.diag(up), -np.diag(down)]))
    return np.asarray((found[: up.size] - found[up.size :]) / (up + down)[:, None]).T
