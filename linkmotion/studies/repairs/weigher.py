"""What an engine is like after any set of its repairs: targets out, the worst of them, lost motion.

A set is laid over the state layer by layer, what a repair needs before it. Each side is turned once for each set of
repairs that touch it, so that n repairs of one side cost no more than 2 to the power of n turnings, whatever is done
on the other.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from linkmotion.engine import AS_IT_STANDS, DRAWING, Engine, SideState, State
from linkmotion.linkage import LinkageError
from linkmotion.repair import Repair, with_needs
from linkmotion.studies.assess import Assessment, SideEvents, assess_side
from linkmotion.studies.compared import every_compared
from linkmotion.studies.findings import findings
from linkmotion.studies.notch_error import NotchError

Chosen = frozenset[str]
_DIGITS = 9  # to which results are compared: what differs by less differs by rounding


@dataclass(frozen=True)
class Result:
    """How an engine stands after a set of repairs.

    Attributes
    ----------
    out : int
        Findings out of target.
    worst : float
        The greatest difference of leads, cutoffs or lost motion, as a multiple of its target.
    lost : float
        The greatest lost motion at a spindle, mm.
    assessment : Assessment
        The events.
    """

    out: int
    worst: float
    lost: float
    assessment: Assessment = field(compare=False, repr=False)

    @property
    def rank(self) -> tuple[int, float, float]:
        """By which results are compared: the less the better."""
        return self.out, round(self.worst, _DIGITS), round(self.lost, _DIGITS)


class Weigher:
    """Results of sets of repairs, each side turned once for what touches it.

    Parameters
    ----------
    engine, state : Engine, str
        With its repairs; in which it is before any.
    notches : iterable of str, optional
        Those looked at; all unless given.
    """

    def __init__(self, engine: Engine, state: str, notches: Iterable[str] | None = None) -> None:
        self.engine, self.state = engine, state
        self.notches = None if notches is None else tuple(notches)
        setups = [engine.side_state(state, side) for side in engine.sides]
        self.standing = AS_IT_STANDS if any(own.rule is None for own in setups) else setups[0].on_reassembly
        self._sides: dict[tuple[str, tuple[str, ...]], SideEvents] = {}
        self._results: dict[Chosen, Result | None] = {}

    @property
    def turned(self) -> int:
        """How many times a side has been turned."""
        return len(self._sides)

    def result(self, chosen: Iterable[str]) -> Result | None:
        """What a set leaves; None where the gear cannot be put together so.

        Parameters
        ----------
        chosen : iterable of str
            Repairs by name, with all that they need.
        """
        own = frozenset(chosen)
        if own not in self._results:
            self._results[own] = self._worked_out(own)
        return self._results[own]

    def _worked_out(self, chosen: Chosen) -> Result | None:
        order = in_order(self.engine.repairs, chosen)
        try:
            sides = self._turned(order)
        except (NotchError, LinkageError):
            return None
        assessment = Assessment(self.engine, self.state, sides, self.standing)
        out = sum(own.out for own in findings(assessment))
        targets = self.engine.targets
        apart = [own.finding.size / own.finding.limit for own in every_compared(assessment) if own.finding.limit > 0]
        lost = max(float(np.max(side.lost)) for side in sides)
        worst = max([*apart, lost / targets.lost_motion if targets.lost_motion > 0 else 0.0])
        return Result(out, worst, lost, assessment)

    def _turned(self, order: tuple[str, ...]) -> tuple[SideEvents, ...]:
        engine, last = repaired(self.engine, self.state, order)
        found: list[SideEvents] = []
        first: SideState | None = None
        for side in engine.sides:
            setup = engine.side_state(last, side)
            if first is not None and setup.alike(first) and setup.notches == first.notches:
                found.append(replace(found[0], side=side))
                continue
            touching = tuple(name for name in order if self.engine.repairs[name].touches(side))
            found.append(self._side(side, touching, setup))
            first = first or setup
        return tuple(found)

    def _side(self, side: str, touching: tuple[str, ...], setup: SideState) -> SideEvents:
        key = (side, touching)
        if key not in self._sides:
            self._sides[key] = assess_side(setup, self.notches, self.standing)
        return self._sides[key]


def in_order(repairs: Mapping[str, Repair], chosen: Iterable[str]) -> tuple[str, ...]:
    """A set in the order in which it is laid over the state: as the file has it, what is needed first.

    Parameters
    ----------
    repairs, chosen : mapping, iterable of str
        By name; which.
    """
    own = set(chosen)
    found: dict[str, None] = {}
    for name in repairs:
        if name in own:
            found |= dict.fromkeys(each for each in with_needs(repairs, name) if each in own)
    return tuple(found)


def repaired(engine: Engine, state: str, order: Iterable[str]) -> tuple[Engine, str]:
    """The engine with further states, one on another, after each repair of a row; and the last one's name.

    Parameters
    ----------
    engine, state, order : Engine, str, iterable of str
        As read; before any; repairs in order.
    """
    states, last = dict(engine.states), state
    for name in order:
        own, made = engine.repairs[name], f"{last} + {name}"
        states[made] = State(made, None if last == DRAWING else last, "", own.layers, own.wear)
        last = made
    return replace(engine, states=states), last
