"""Which wear matters: every item alone, all together, and what renewing each would gain.

Everything is compared with the drawing, the valve left where the drawing's rule set it (no setting afresh
hides a fault). Items are ranked by the greatest change they make alone, as a multiple of the target it offends:
a lead or a lead difference against the lead target, a cutoff or a cutoff difference against the cutoff target, the
difference from the other side against the targets between the sides. An item alone is looked at with the other side as
drawn; everything together, and what is left when an item is renewed, with the other side as it was found.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from linkmotion.engine import DRAWING, SIDES, Engine, SideState, Targets
from linkmotion.events import DIRECTIONS
from linkmotion.gears.sensitivity import Key, numbers, with_numbers
from linkmotion.studies.assess import SideEvents, assess_side
from linkmotion.studies.in_motion import in_motion
from linkmotion.valve_setting import staying
from linkmotion.wear.condition import SOUND
from linkmotion.wear.running import Load

DIFFERENCE = {"lead": "lead_difference", "cutoff": "cutoff_difference"}


@dataclass(frozen=True)
class WornItem:
    """One thing that is not as drawn.

    Attributes
    ----------
    name : str
        In plain words.
    changes : dict
        Figure → (greatest change it makes alone, notch where): mm or percent of stroke. Beside the figures in
        motion "lead between sides" and "cutoff between sides": this side's less the other's.
    lost : float
        Greatest lost motion it makes alone, mm.
    weight : float
        Its greatest change as a multiple of the target offended.
    gain : float
        By how much the weight of everything together falls when this alone is renewed.
    worst : str
        The figure that gives the weight.
    """

    name: str
    changes: dict[str, tuple[float, str]]
    lost: float
    weight: float
    gain: float
    worst: str = ""


@dataclass(frozen=True)
class WhichWear:
    """Items in order of weight, and everything together.

    Attributes
    ----------
    side, state : str
        Which.
    items : tuple of WornItem
        Greatest weight first.
    together : WornItem
        Everything together.
    load : Load
        What takes up the play.
    found : SideEvents
        The side as it was found, its valve where the drawing set it.
    ways : tuple of tuples of str
        Directions looked at in each notch.
    """

    side: str
    state: str
    items: tuple[WornItem, ...]
    together: WornItem
    load: Load
    found: SideEvents
    ways: tuple[tuple[str, ...], ...]


def which_wear(
    engine: Engine,
    state: str,
    side: str,
    notches: Iterable[str] | None = None,
    load: Load | None = None,
    direction: str = "driven",
) -> WhichWear:
    """Weigh everything in which one side of a state differs from the drawing.

    Parameters
    ----------
    notches : iterable of str, optional
        Those looked at; all, if not given.
    load : Load, optional
        What takes up the play: a little drag, if not given.
    direction : str
        Direction of running: "driven" (that in which a notch drives), "forward", "backward" or "both".
    """
    load = load or Load()
    drawn, found = engine.side_state(DRAWING, side), engine.side_state(state, side)
    base = assess_side(replace(drawn, condition=SOUND), notches)
    weigh = _Weigh(base, state, engine.targets, load, direction)
    beside = weigh.figures(weigh.kept(engine.side_state(state, SIDES[1 - SIDES.index(side)])))
    as_found = weigh.kept(found)
    all_of_it = weigh("everything together", as_found, beside)
    items = []
    for name, alone, without in differences(drawn, found):
        own, rest = weigh(name, weigh.kept(alone), weigh.drawn), weigh(name, weigh.kept(without), beside)
        items.append(replace(own, gain=all_of_it.weight - rest.weight))
    items.sort(key=lambda item: -item.weight)
    together = replace(all_of_it, gain=all_of_it.weight)
    return WhichWear(side, state, tuple(items), together, load, as_found, weigh.ways)


def differences(drawn: SideState, found: SideState) -> list[tuple[str, SideState, SideState]]:
    """(name, the drawing with it alone, what was found without it) for everything that differs."""
    before, now = numbers(drawn.gear), numbers(found.gear)
    listed = []
    for key in {**before, **now}:
        if before.get(key) != now.get(key):
            name = f"{key[0]}, {key[1]}".replace("_", " ")
            listed.append((name, _with_key(drawn, found, key), _with_key(found, drawn, key)))
    for name, item in found.condition.items():
        listed.append((name, replace(drawn, condition=item), replace(found, condition=found.condition.without(item))))
    return listed


def _with_key(setup: SideState, other: SideState, key: Key) -> SideState:
    value: Any = numbers(other.gear).get(key)
    return replace(setup, gear=with_numbers(setup.gear, {key: value}))


class _Weigh:
    """Figures of a setup against the drawing's, the valve left where it was."""

    def __init__(self, base: SideEvents, state: str, targets: Targets, load: Load, direction: str) -> None:
        self.base, self.state, self.targets, self.load = base, state, targets, load
        fixed = {"driven": None, "both": DIRECTIONS}.get(direction, (direction,))
        self.ways = tuple(fixed or base.driven(i) for i in range(len(base.notches)))
        self.wanted = [(i, direction) for i, ways in enumerate(self.ways) for direction in ways]
        self.drawn = self.figures(base)

    def kept(self, setup: SideState) -> SideEvents:
        """A setup assessed with its valve where the drawing's rule set it."""
        gear = staying(setup.gear, self.base.central_at)
        return assess_side(replace(setup, gear=gear, state=self.state), self.base.notches)

    def figures(self, side: SideEvents) -> list[dict[str, float]]:
        """Figures in motion in every notch and direction looked at."""
        return [in_motion(side, i, direction, self.load).figures() for i, direction in self.wanted]

    def __call__(self, name: str, side: SideEvents, beside: list[dict[str, float]]) -> WornItem:
        """Changes that a side shows, ``beside`` the figures of the engine's other side."""
        changes: dict[str, tuple[float, str]] = {}
        lost, weight, worst = 0.0, 0.0, ""
        found = zip(self.wanted, self.drawn, self.figures(side), beside, strict=True)
        for (i, _way), was, now, other in found:
            lost = max(lost, now["lost motion"])
            for figure, change, target in _changes(was, now, other):
                if np.isfinite(change):
                    if abs(change) >= abs(changes.get(figure, (0.0, ""))[0]):
                        changes[figure] = (float(change), self.base.notches[i])
                    own = abs(change) / getattr(self.targets, target) if target else 0.0
                    weight, worst = (own, figure) if own > weight else (weight, worst)
        return WornItem(name, changes, lost, weight, 0.0, worst)


def _changes(
    was: dict[str, float], now: dict[str, float], other: dict[str, float]
) -> Iterator[tuple[str, float, str | None]]:
    """Each figure's change, and how far leads and cutoffs stand from the other side's; with the target offended."""
    for figure, value in now.items():
        what = figure.split()[0]
        yield figure, value - was[figure], DIFFERENCE.get(what)
        if what in DIFFERENCE and not figure.endswith("difference"):
            yield f"{what} between sides", value - other[figure], f"side_{DIFFERENCE[what]}"
