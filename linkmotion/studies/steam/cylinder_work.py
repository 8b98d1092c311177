"""What the steam does: diagrams of both ends of both cylinders, and the turning effort around the wheel.

By virtual work each end turns the wheel with ``torque = p A ds/dθ``, p above the atmosphere, A the piston's area
on that side and ds/dθ the piston's speed by the exact geometry of crank and rod (offset line included); so the
torque summed over a turn is the area of the diagrams.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import EVENTS, FORWARD
from linkmotion.gears.steam import Steam
from linkmotion.studies.assess import Assessment, SideEvents
from linkmotion.studies.steam.indicator import ATMOSPHERE, Conditions, EndDiagram, fault_of
from linkmotion.valve import ENDS

POSITIONS = 1440
JOULES = 1e-4  # of bar · mm² · mm
_BESIDE = 1e-9  # radians: just before and just after an event


@dataclass(frozen=True)
class EndWork:
    """One end of one cylinder.

    Attributes
    ----------
    side, end : str
        Which.
    diagram : EndDiagram or None
        None where the events make none.
    told : str
        Why there is none; or what is unusual.
    area : float
        Piston's area at this end, mm² (of a bore of unit area where the bore is not known).
    stroke : float
        Piston's stroke, mm.
    angle : dict
        Event → degrees from the end's dead centre in the direction of running, play taken up; NaN where it does not
        happen.
    """

    side: str
    end: str
    diagram: EndDiagram | None
    told: str
    area: float
    stroke: float
    angle: Mapping[str, float]

    @property
    def mean(self) -> float:
        """Mean effective pressure, bar; 0 without a diagram."""
        return self.diagram.mean if self.diagram else 0.0

    @property
    def work(self) -> float:
        """Work in a turn, J (in parts of a unit area where the bore is not known)."""
        return self.mean * self.area * self.stroke * JOULES


@dataclass(frozen=True)
class CylinderWork:
    """An engine in one state, notch and direction of running.

    Attributes
    ----------
    state, notch, direction : str
        Which.
    ends : tuple of EndWork
        Left front, left back, right front, right back (or of one side).
    steam : Conditions
        Pressures and clearance.
    bore : float or None
        Cylinder bore, mm; without it torques are in parts of their mean only.
    ahead : dict
        Side → its crank ahead of the left one in the direction of running, degrees.
    """

    state: str
    notch: str
    direction: str
    ends: tuple[EndWork, ...]
    steam: Conditions
    bore: float | None
    ahead: Mapping[str, float]

    @cached_property
    def work(self) -> float:
        """Work of all ends in a turn, J."""
        return float(sum(end.work for end in self.ends))

    @property
    def mean(self) -> float:
        """Mean effective pressure of all ends, weighed by their areas, bar."""
        return float(sum(end.mean * end.area for end in self.ends) / sum(end.area for end in self.ends))

    @property
    def steam_taken(self) -> float:
        """Steam let in by all ends in a turn, as pressure times volume, J."""
        return float(sum(e.diagram.taken * e.area * e.stroke * JOULES for e in self.ends if e.diagram is not None))

    @property
    def of_unit_steam(self) -> float:
        """Work over that of the same steam let in without expansion (NaN when none is let in, or does no work)."""
        return self.work / self.steam_taken if min(self.steam_taken, self.work) > 0 else float("nan")

    @property
    def shares(self) -> tuple[float, ...]:
        """Each end's work over the mean of the ends: 1 when all do alike (NaN when none does any)."""
        return tuple(end.work * len(self.ends) / self.work if self.work else float("nan") for end in self.ends)

    def power(self, revolutions: float) -> float:
        """Power, W.

        Parameters
        ----------
        revolutions : float
            Of the wheel per minute.
        """
        return self.work * revolutions / 60

    def torque(self, angle: Any, side: str = "") -> Any:
        """Turning effort, N·m; in parts of a unit area of piston where the bore is not known.

        Parameters
        ----------
        angle : float or array
            Of the left crank from its front dead centre in the direction of running, radians.
        side : str
            "left" or "right"; "" for all.
        """
        total = np.zeros(np.shape(angle))
        for end in self.ends:
            if end.diagram is not None and side in ("", end.side):
                own = np.asarray(angle) + np.radians(self.ahead[end.side]) - end.diagram.dead
                pressure = end.diagram.pressure(own) - ATMOSPHERE
                total = total + pressure * end.diagram.way_rate(own) * end.area * end.stroke * JOULES
        return total

    @cached_property
    def corners(self) -> NDArray[Any]:
        """Angles of the left crank at which a port opens or closes or a piston turns, radians, in order."""
        found = []
        for end in self.ends:
            if end.diagram is not None:
                own = np.array([*end.diagram.angle.values(), 0.0])
                found.append(own + end.diagram.dead - np.radians(self.ahead[end.side]))
        angles = np.unique(np.concatenate([np.zeros(0), *found]) % (2 * np.pi))
        return angles[np.diff(angles, prepend=-1.0) > _BESIDE]  # those of both sides may fall together

    @cached_property
    def effort(self) -> Effort:
        """Turning effort around the wheel, the corners kept sharp."""
        beside = np.concatenate([self.corners - _BESIDE, self.corners + _BESIDE]) % (2 * np.pi)
        angle = np.sort(np.concatenate([np.linspace(0.0, 2 * np.pi, POSITIONS + 1), beside]))
        sides = tuple(dict.fromkeys(end.side for end in self.ends))
        return Effort(np.degrees(angle), {side: self.torque(angle, side) for side in sides}, self.work / (2 * np.pi))


@dataclass(frozen=True, eq=False)
class Effort:
    """Turning effort around the wheel.

    Attributes
    ----------
    angle : array, shape (N,)
        Left crank from its front dead centre in the direction of running, degrees.
    sides : dict of array, shape (N,)
        Torque of each side, N·m.
    mean : float
        Over a turn, N·m: the work of the diagrams over 2π.
    """

    angle: NDArray[Any]
    sides: Mapping[str, NDArray[Any]]
    mean: float

    @cached_property
    def total(self) -> NDArray[Any]:
        """Torque of all sides, N·m."""
        return np.asarray(sum(self.sides.values()))

    @property
    def least(self) -> float:
        """Least torque over the mean (over its size, where the engine is held back)."""
        return float(self.total.min() / abs(self.mean)) if self.mean else float("nan")

    @property
    def greatest(self) -> float:
        """Greatest torque over the mean."""
        return float(self.total.max() / abs(self.mean)) if self.mean else float("nan")

    @property
    def fluctuation(self) -> float:
        """Greatest less least, over the mean."""
        return self.greatest - self.least


def cylinder_work(a: Assessment, notch: int, direction: str) -> CylinderWork:
    """Diagrams and turning effort of an engine in one notch and direction of running.

    Play that the gauge found is taken up by the load that it was assessed with; steam and cylinders are
    those of the engine's ``steam`` and ``wheels``. What is neglected: see :data:`~.indicator.LIMITS`.

    Parameters
    ----------
    a : Assessment
        Of one side or both.
    notch : int
        Its number.
    direction : str
        "forward" or "backward".
    """
    steam = Conditions.of(a.engine.steam)
    way = 1 if direction == FORWARD else -1
    ends = tuple(_end(side, notch, direction, end, a.engine.steam, steam) for side in a.sides for end in ENDS)
    ahead = {side.side: a.engine.wheels.ahead(side.side, way) for side in a.sides}
    return CylinderWork(a.state, a.sides[0].notches[notch], direction, ends, steam, a.engine.steam.bore, ahead)


def _end(
    side: SideEvents,
    notch: int,
    direction: str,
    end: str,
    given: Steam,
    steam: Conditions,
) -> EndWork:
    front, back = side.gear.crank.limits
    area, stroke = _area_of(given, end), float(front - back)
    own = side.events[direction][end]
    angle = {event: float(own.angle[event][notch]) for event in EVENTS}
    radians = {event: float(np.radians(at)) for event, at in angle.items()}
    fault = fault_of(radians)
    if fault:
        return EndWork(side.side, end, None, _why(side, notch, direction, end) or fault, area, stroke, angle)
    diagram = EndDiagram(end, direction, side.gear.crank, radians, steam)
    return EndWork(side.side, end, diagram, "; ".join(diagram.remarks), area, stroke, angle)


def _why(side: SideEvents, notch: int, direction: str, end: str) -> str:
    missing = side.events[direction][end].missing
    return "; ".join(f"{flow} port {told[notch]}" for flow, told in missing.items() if told[notch])


def _area_of(steam: Steam, end: str) -> float:
    """Piston's area at an end, mm², less the rod that stands in it; 1 where the bore is not known."""
    if steam.bore is None:
        return 1.0
    rod = (steam.tail_rod if end == "front" else steam.piston_rod) or 0.0
    return float(np.pi / 4 * (steam.bore**2 - rod**2))
