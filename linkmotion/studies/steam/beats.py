"""Exhaust beats: when each end lets go its steam, and how evenly that comes round.

Even beats fall 360°/n apart (n ends: four of a two-cylinder engine). The even places are laid where they suit
the beats best, so that what is early and what is late add up to nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from linkmotion.events import FORWARD
from linkmotion.piston import dead_centre
from linkmotion.studies.assess import Assessment, SideEvents
from linkmotion.studies.steam.cylinder_work import CylinderWork, EndWork, cylinder_work

LEAST = 0.05  # degrees: less is no difference
_SILENT = float("nan")
_PART = 1 / 8  # of the port: opened that far, the beat is taken as at its full


@dataclass(frozen=True)
class Beat:
    """One beat.

    Attributes
    ----------
    side, end : str
        Whose.
    angle : float
        Left crank from its front dead centre in the direction of running, degrees in [0, 360); NaN when silent.
    interval : float
        Since the beat before, degrees.
    late : float
        After its even place, degrees; negative: early.
    strength : float
        Pressure let go, bar above the back pressure.
    rise : float
        Wheel angle in which an eighth of the port opens, degrees.
    told : str
        Why it is silent, or "".
    """

    side: str
    end: str
    angle: float
    interval: float
    late: float
    strength: float
    rise: float
    told: str = ""

    @property
    def name(self) -> str:
        """Side and end: "left front" and so on."""
        return f"{self.side} {self.end}"

    @property
    def silent(self) -> bool:
        """Whether there is no release."""
        return bool(np.isnan(self.angle))

    @property
    def words(self) -> str:
        """How it comes, in plain words."""
        if self.silent:
            return f"the {self.name} beat is silent: {self.told}"
        if abs(self.late) < LEAST:
            return f"the {self.name} beat comes in its place"
        return f"the {self.name} beat comes {abs(self.late):.1f}° {'late' if self.late > 0 else 'early'}"


@dataclass(frozen=True)
class Beats:
    """The beats of an engine in one state, notch and direction of running.

    Attributes
    ----------
    state, notch, direction : str
        Which.
    beats : tuple of Beat
        In the order in which they come round.
    even : float
        Even spacing, degrees.
    work : CylinderWork
        The diagrams from which the strengths come.
    """

    state: str
    notch: str
    direction: str
    beats: tuple[Beat, ...]
    even: float
    work: CylinderWork

    @property
    def sounding(self) -> tuple[Beat, ...]:
        """Those that are heard."""
        return tuple(beat for beat in self.beats if not beat.silent)

    @property
    def worst(self) -> float:
        """Greatest distance of a beat from its even place, degrees; 0 with fewer than two beats."""
        return max((abs(beat.late) for beat in self.sounding), default=0.0)


def beats(a: Assessment, notch: int, direction: str) -> Beats:
    """Beats of an engine in one notch and direction of running.

    Parameters
    ----------
    a, notch, direction
        As for :func:`~.cylinder_work.cylinder_work`.
    """
    way = 1 if direction == FORWARD else -1
    found: list[tuple[float, Beat]] = []
    work = cylinder_work(a, notch, direction)
    for side in a.sides:
        for own in (end for end in work.ends if end.side == side.side):
            turned = _dead_centre(side, own.end, direction) - a.engine.wheels.ahead(side.side, way)
            found.append((turned % 360.0, _beat(side, notch, direction, own)))
    found.sort(key=lambda pair: pair[0])
    even = 360.0 / len(found)
    return Beats(a.state, work.notch, direction, _placed(found, even), even, work)


def _beat(side: SideEvents, notch: int, direction: str, own: EndWork) -> Beat:
    """A beat with the angle from its own end's dead centre; its place comes later."""
    angle, end = own.angle["release"], own.end
    if np.isnan(angle):
        return Beat(side.side, end, _SILENT, _SILENT, _SILENT, 0.0, _SILENT, own.told)
    strength = own.diagram.released - own.diagram.steam.back if own.diagram else 0.0
    series = side.displacement[notch : notch + 1]
    at = _dead_centre(side, end, direction) + angle
    speed = (series if direction == FORWARD else series.reversed()).rate()(np.radians(at))
    opening = abs(float(np.ravel(speed)[0])) * np.pi / 180  # mm a degree
    rise = min(float(side.ports.port_width) * _PART / max(opening, 1e-9), 30.0)
    return Beat(side.side, end, angle, _SILENT, _SILENT, strength, rise, own.told if own.diagram is None else "")


def _placed(found: list[tuple[float, Beat]], even: float) -> tuple[Beat, ...]:
    """Beats with their places round the wheel, from their ends' dead centres in order."""
    heard = [(k, turned, beat) for k, (turned, beat) in enumerate(found) if not beat.silent]
    if not heard:
        return tuple(beat for _, beat in found)
    first = heard[0][2].angle
    after = [first + (beat.angle - first + 180.0) % 360.0 - 180.0 for _, _, beat in heard]
    off = np.array([turned + own - k * even for (k, turned, _), own in zip(heard, after, strict=True)])
    late = off - off.mean()
    places = np.array([(turned + beat.angle) % 360.0 for _, turned, beat in heard])
    order = np.argsort(places)
    since = np.diff(places[order], prepend=places[order[-1]] - 360.0)
    made = [
        replace(heard[i][2], angle=float(places[i]), interval=float(gap), late=float(late[i]))
        for i, gap in zip(order, since, strict=True)
    ]
    return (*made, *(beat for _, beat in found if beat.silent))


def _dead_centre(side: SideEvents, end: str, direction: str) -> float:
    return float(np.degrees(dead_centre(side.gear.crank, end, direction == FORWARD)))
