"""Which wear matters: every item alone, all together, and what renewing each would gain.

Everything is compared with the drawing, the valve left where the drawing's rule set it (no setting afresh
hides a fault). Items are ranked by the greatest change they make alone, as a multiple of the target it offends:
a lead or a lead difference against the lead target, a cutoff or a cutoff difference against the cutoff target.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from linkmotion.engine import DRAWING, Engine, Setup, Targets
from linkmotion.gears.sensitivity import Key, numbers, with_numbers
from linkmotion.studies.assess import SideEvents, assess_side
from linkmotion.studies.in_motion import in_motion
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
        Figure → (greatest change it makes alone, notch where): mm or percent of stroke.
    lost : float
        Greatest lost motion it makes alone, mm.
    weight : float
        Its greatest change as a multiple of the target offended.
    gain : float
        By how much the weight of everything together falls when this alone is renewed.
    """

    name: str
    changes: dict[str, tuple[float, str]]
    lost: float
    weight: float
    gain: float


@dataclass(frozen=True)
class WhichWear:
    """Items in order of weight, and everything together."""

    side: str
    state: str
    items: tuple[WornItem, ...]
    together: WornItem
    load: Load


def which_wear(
    engine: Engine, state: str, side: str, notches: Iterable[str] | None = None, load: Load | None = None
) -> WhichWear:
    """Weigh everything in which one side of a state differs from the drawing."""
    load = load or Load()
    drawn, found = engine.setup(DRAWING, side), engine.setup(state, side)
    base = assess_side(replace(drawn, condition=SOUND), notches)
    weigh = _Weigh(base, engine.targets, load)
    parts = _items(drawn, found)
    all_of_it = weigh("everything together", found)
    items = []
    for name, alone, without in parts:
        own, rest = weigh(name, alone), weigh(name, without)
        items.append(replace(own, gain=all_of_it.weight - rest.weight))
    items.sort(key=lambda item: -item.weight)
    return WhichWear(side, state, tuple(items), replace(all_of_it, gain=all_of_it.weight), load)


def _items(drawn: Setup, found: Setup) -> list[tuple[str, Setup, Setup]]:
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


def _with_key(setup: Setup, other: Setup, key: Key) -> Setup:
    value: Any = numbers(other.gear).get(key)
    return replace(setup, gear=with_numbers(setup.gear, {key: value}))


class _Weigh:
    """Figures of a setup against the drawing's, the valve left where it was."""

    def __init__(self, base: SideEvents, targets: Targets, load: Load) -> None:
        self.base, self.targets, self.load = base, targets, load
        self.wanted = [(i, way) for i in range(len(base.notches)) for way in base.driven(i)]
        self.figures = [in_motion(base, i, way, load).figures() for i, way in self.wanted]

    def __call__(self, name: str, setup: Setup) -> WornItem:
        valve = replace(setup.gear.valve, central_at=self.base.central_at, set_by=None, set_in=None)
        gear = replace(setup.gear, valve=valve)
        side = assess_side(replace(setup, gear=gear, state=DRAWING), self.base.notches)
        changes: dict[str, tuple[float, str]] = {}
        lost = weight = 0.0
        for (i, way), was in zip(self.wanted, self.figures, strict=True):
            now = in_motion(side, i, way, self.load).figures()
            lost = max(lost, now["lost motion"])
            for figure, value in now.items():
                change = value - was[figure]
                if np.isfinite(change) and abs(change) >= abs(changes.get(figure, (0.0, ""))[0]):
                    changes[figure] = (float(change), self.base.notches[i])
                target = DIFFERENCE.get(figure.split()[0])
                if target is not None and np.isfinite(change):
                    weight = max(weight, abs(change) / getattr(self.targets, target))
        return WornItem(name, changes, lost, weight, 0.0)
