"""Which wear matters: every item alone, all together, and what renewing each would gain.

Everything is compared with the drawing, the valve left where the drawing's rule set it, or where the state says that
it is on its spindle (no setting afresh hides a fault): the same figures as the side has as it stands. Items are ranked
by the greatest change they make alone, as a multiple of the target it offends: a lead or a lead difference against the
lead target, a cutoff or a cutoff difference against the cutoff target, the difference from the other side against the
targets between the sides, lost motion against its own. An item alone is looked at with the other side as drawn;
everything together, and what is left when an item is renewed, with the other side as it was found.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from linkmotion.engine import AS_IT_STANDS, DRAWING, IN_SERVICE, Engine, SideState, Targets
from linkmotion.events import DIRECTIONS
from linkmotion.gears.sensitivity import Key, numbers, with_numbers
from linkmotion.sides import side_words
from linkmotion.studies.assess import SideEvents, assess_side
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.in_motion import in_motion
from linkmotion.studies.steps_told import StepsTold
from linkmotion.valve_setting import staying
from linkmotion.wear.condition import SOUND
from linkmotion.wear.running import Load

NEAR = 1e-9  # mm: valves nearer than this stand at the same place
LOST, PLACE = "lost motion", "valve's place on its spindle"


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
    gains : dict
        Figure → by how much the greatest change that everything together makes of it falls when this alone is
        renewed (negative: grows), mm or percent of stroke.
    heat : bool
        Whether it is heat: no wear, and looked at in service.
    """

    name: str
    changes: dict[str, tuple[float, str]]
    lost: float
    weight: float
    gain: float
    worst: str = ""
    gains: dict[str, float] = field(default_factory=dict)
    heat: bool = False

    def renewed(self, everything: WornItem, rest: WornItem) -> WornItem:
        """With what its renewal gains.

        Parameters
        ----------
        everything, rest : WornItem
            All that differs together; what is left of it without this.
        """
        left = {figure: abs(rest.changes.get(figure, (0.0, ""))[0]) for figure in everything.changes}
        gains = {figure: abs(size) - left[figure] for figure, (size, _notch) in everything.changes.items()}
        return replace(self, gain=everything.weight - rest.weight, gains=gains)


@dataclass(frozen=True)
class WhichWear:
    """Items in order of weight, and everything together.

    Attributes
    ----------
    side, state : str
        Which.
    items : tuple of WornItem
        Greatest weight first, heat after what is worn.
    together : WornItem
        Everything together.
    load : Load
        What takes up the play.
    found : SideEvents
        The side as it stands.
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

    @property
    def whose(self) -> str:
        """Of what it is told, in words."""
        return side_words(self.side)


def which_wear(
    engine: Engine,
    state: str,
    side: str,
    notches: Iterable[str] | None = None,
    load: Load | None = None,
    direction: str = "driven",
    progress: Callable[[int, int | None], None] | None = None,
) -> WhichWear:
    """Weigh everything in which one side of a state differs from the drawing.

    Parameters
    ----------
    engine, state, side
        As read; by name; one of the engine's own.
    notches : iterable of str, optional
        Those looked at; all, if not given.
    load : Load, optional
        What takes up the play: a little drag, if not given.
    direction : str
        Direction of running: "driven" (that in which a notch drives), "forward", "backward" or "both".
    progress : callable, optional
        Called with the number of items weighed, and how many there are.

    Raises
    ------
    NotchError
        The gear cannot pass with one of the differences alone, or without it.
    """
    drawn, found = engine.side_state(DRAWING, side), engine.side_state(state, side)
    base = assess_side(drawn.altered(condition=SOUND), notches)
    stands = assess_side(found, notches, load=load)
    weigh = _Weigh(base, stands, engine.targets, direction)
    others = [engine.side_state(state, other) for other in engine.sides if other != side]
    beside = assess_side(others[0], notches, load=load) if others else None
    step = StepsTold(len(differences(drawn, found)) + 1, progress)
    items = sorted(map(step, weigh.items(drawn, found, beside)), key=lambda item: (item.heat, -item.weight))
    together = weigh("everything together", stands, beside)
    whole = replace(together, gain=together.weight)
    return WhichWear(side, state, tuple(items), whole, stands.load, stands, weigh.ways)


def differences(drawn: SideState, found: SideState) -> list[tuple[str, SideState, SideState]]:
    """Everything that differs, but for heat and for the valve's place on its spindle: they are no wear.

    Parameters
    ----------
    drawn, found : SideState
        One side: of the drawing, and as found.

    Returns
    -------
    list of (str, SideState, SideState)
        Name, the drawing with it alone, what was found without it.
    """
    before, now = numbers(drawn.gear), numbers(found.gear)
    listed = []
    for key in {**before, **now}:
        if before.get(key) != now.get(key) and key != CENTRAL:
            name = f"{key[0]}, {key[1]}".replace("_", " ")
            listed.append((name, _with_key(drawn, found, key), _with_key(found, drawn, key)))
    for name, item in found.condition.cold.items():
        listed.append((name, drawn.altered(condition=item), found.altered(condition=found.condition.without(item))))
    return listed


def _with_key(setup: SideState, other: SideState, key: Key) -> SideState:
    value: Any = numbers(other.gear).get(key)
    return setup.altered(with_numbers(setup.gear, {key: value}))


class _Weigh:
    """Figures of a side against the drawing's; every valve stands where the drawing, or the state, has it."""

    def __init__(self, base: SideEvents, stands: SideEvents, targets: Targets, direction: str) -> None:
        self.base, self.stands, self.targets = base, stands, targets
        fixed = {"driven": None, "both": DIRECTIONS}.get(direction, (direction,))
        self.ways = tuple(fixed or base.driven(i) for i in range(len(base.notches)))
        self.wanted = [(i, direction) for i, ways in enumerate(self.ways) for direction in ways]
        self.drawn = self.figures(base)

    def items(self, drawn: SideState, found: SideState, beside: SideEvents | None) -> Iterator[WornItem]:
        """Everything that differs, each weighed alone, and what its renewal takes off the weight of all."""
        all_of_it = self("", self.stands, beside)
        drawn_beside = None if beside is None else self.base
        here, there = self.base.central_at, self.stands.central_at
        for name, alone, without in differences(drawn, found):
            own = self(name, self.kept(alone, here), drawn_beside)
            yield own.renewed(all_of_it, self("", self.kept(without, there), beside))
        if abs(there - here) > NEAR:
            own = self(PLACE, self.kept(drawn.altered(condition=SOUND), there), drawn_beside)
            yield own.renewed(all_of_it, self("", self.kept(found, here), beside))
        heat = found.condition.heat
        warm = self("", self.kept(found, there, IN_SERVICE), beside) if any(heat.values()) else all_of_it
        for name, item in found.condition.items():
            if item.heat:  # the state is cold as it stands; what its heat does is told of it in service
                own = self(
                    f"{name}, in service", self.kept(replace(drawn, condition=item), here, IN_SERVICE), drawn_beside
                )
                cool = self.kept(replace(found, condition=found.condition.without(item)), there, IN_SERVICE)
                yield replace(own.renewed(warm, self("", cool, beside)), heat=True)

    def kept(self, setup: SideState, place: float, standing: str = AS_IT_STANDS) -> SideEvents:
        """A side assessed with its valve so placed on its spindle, mm."""
        own = replace(setup, gear=staying(setup.gear, place), state=self.stands.state)
        return assess_side(own, self.base.notches, standing, self.stands.load)

    def figures(self, side: SideEvents) -> list[dict[str, float]]:
        """Figures in motion in every notch and direction looked at."""
        return [in_motion(side, i, direction).figures() for i, direction in self.wanted]

    def __call__(self, name: str, side: SideEvents, beside: SideEvents | None) -> WornItem:
        """Changes that a side shows, ``beside`` the engine's other side, where there is one."""
        changes: dict[str, tuple[float, str]] = {}
        lost, weight, worst = 0.0, 0.0, ""
        others = [None] * len(self.wanted) if beside is None else self.figures(beside)
        found = zip(self.wanted, self.drawn, self.figures(side), others, strict=True)
        for (i, _way), was, now, other in found:
            lost = max(lost, now["lost motion"])
            for figure, change, target in _changes(was, now, other, self.targets, self.base.drives[i]):
                if np.isfinite(change):
                    if abs(change) >= abs(changes.get(figure, (0.0, ""))[0]):
                        changes[figure] = (float(change), self.base.notches[i])
                    own = abs(change) / target if target else 0.0
                    weight, worst = (own, figure) if own > weight else (weight, worst)
        return WornItem(name, changes, lost, weight, 0.0, worst)


def _changes(
    was: dict[str, float], now: dict[str, float], other: dict[str, float] | None, targets: Targets, drives: str
) -> Iterator[tuple[str, float, float | None]]:
    """Each figure's change, and how far leads and cutoffs stand from any other side's; with the target offended."""
    for figure, value in now.items():
        what = figure.split()[0]
        known = figure if figure == LOST else what if what in ("lead", "cutoff") else ""
        target = targets.lost_motion if known == LOST else targets.apart(what, "ends", drives) if known else None
        yield figure, value - was[figure], target
        if other is not None and known and known != LOST and not figure.endswith("difference"):
            yield f"{what} between sides", value - other[figure], targets.apart(what, "sides", drives)
