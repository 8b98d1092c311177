"""One revolution of a gear, in any number of notches at once, as exact series.

The gear is solved at a few dozen crank positions; everything that is periodic (valve, die, link)
is kept as a Fourier series in the forward crank angle, whose tail is watched.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from linkmotion.gears import Gear, Slot
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.gears.reverser import ReverserPosition
from linkmotion.linkage import Harmonics, LinkageError, Solution, Wheel, solve
from linkmotion.linkage.many import MOST_NODES
from linkmotion.linkage.order import Order
from linkmotion.linkage.solve import NODES
from linkmotion.linkage.turning_points import extremes
from linkmotion.valve import displaced

TAIL = 1e-10  # mm: more positions are taken while the series' last coefficients are larger
ROUNDING = 1e-13  # of the spindle's distance from the axle: what rounding alone may leave


@dataclass(frozen=True, eq=False)
class Revolution:
    """What a gear does over one revolution, in S notches.

    Attributes
    ----------
    gear : Gear
        The dimensions.
    spindle : Harmonics
        Valve-spindle pin along its guide, mm, shape (S, K).
    solution : Solution
        Every pin at the positions solved.
    """

    gear: Gear
    spindle: Harmonics
    solution: Solution

    @cached_property
    def die(self) -> Harmonics:
        """Die place along the slot from its middle, mm, + up, shape (S, K)."""
        return Harmonics.through(_rows(self.slot.die_place(self.solution), self.solution))

    @property
    def slot(self) -> Slot:
        """The link's slot; ask ``gear.slot`` first where there may be no link."""
        if self.gear.slot is None:
            raise LinkageError(f"a {self.gear.name} gear has no link")
        return self.gear.slot

    @cached_property
    def swing(self) -> Harmonics:
        """Link angle from upright, degrees, shape (S, K)."""
        return Harmonics.through(_rows(self.slot.swing(self.solution), self.solution))

    def displacement(self, central_at: Any) -> Harmonics:
        """Valve displacement from central, mm, + forward, as a series in the forward crank angle.

        Parameters
        ----------
        central_at : float or array, shape (S,)
            Place of the spindle pin along its guide with the valve central, mm.
        """
        return displaced(self.spindle, central_at)

    @cached_property
    def extremes(self) -> tuple[Any, Any]:
        """Rearmost and foremost place of the spindle pin, mm, shape (S,) each."""
        return extremes(self.spindle)

    @cached_property
    def travel(self) -> Any:
        """Valve travel, mm, shape (S,)."""
        return np.ptp(self.extremes, axis=0)

    @cached_property
    def die_reach(self) -> tuple[Any, Any]:
        """Lowest and highest die place, mm, shape (S,) each."""
        return extremes(self.die)

    @cached_property
    def die_slip(self) -> Any:
        """Movement of the die along the slot in a revolution, mm, shape (S,)."""
        return np.ptp(self.die_reach, axis=0)

    @cached_property
    def link_swing(self) -> Any:
        """Total angle of the link, degrees, shape (S,)."""
        return np.ptp(extremes(self.swing), axis=0)


def revolve(gear: Gear, setting: ReverserPosition, nodes: int = NODES, known: Order | None = None) -> Revolution:
    """Turn the wheel once with the reverser as set.

    Parameters
    ----------
    gear : Gear
        The dimensions, mm and degrees.
    setting : ReverserPosition
        Where the reverser stands; its figures numbers, or arrays of shape (S, 1) for S notches at once.
    nodes : int
        Crank positions solved at first; doubled while the series of the spindle leaves out more than 1e-10 mm.
    known : Order, optional
        In which a gear much like this one was solved; as of :func:`~linkmotion.linkage.solve.solve`.

    Raises
    ------
    UnreachableError
        The parts do not meet at some crank angle.
    LinkageError
        The motion is not smooth: a part stands at a dead point.
    """
    linkage = gear.declare(setting)
    while True:
        solution = solve(linkage, Wheel.revolution(nodes), known=known)
        spindle = Harmonics.through(_rows(solution.along(VALVE_GUIDE), solution))
        if spindle.tail <= TAIL + ROUNDING * np.max(np.abs(spindle.c)):
            break
        nodes *= 2
        if nodes > MOST_NODES:
            raise LinkageError(f"the valve's motion is not smooth (a part is at a dead point): {spindle.tail:.1e} mm")
    return Revolution(gear, spindle, solution)


def _rows(values: Any, solution: Solution) -> Any:
    """Values as (S, N), also for one notch."""
    shape = solution.shape if len(solution.shape) > 1 else (1, *solution.shape)
    return np.broadcast_to(values, shape)
