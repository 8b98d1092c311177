"""Figures: what can be looked at on a gear; and readings: figures with what was read on the engine."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from linkmotion.events import BACKWARD, EVENTS, FORWARD
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.spots import Spot
from linkmotion.valve import ENDS

MM, DEGREES, PERCENT = "mm", "degrees", "percent"
UNITS_OF: dict[str, tuple[str, ...]] = {  # kinds that can be read on the engine, and the units of each
    "lead": (MM,),
    "valve": (MM,),
    "opening": (MM,),
    **{event: (PERCENT, DEGREES, MM) for event in EVENTS},
    "lost motion": (MM,),
    "die height": (MM,),
}
KINDS = tuple(UNITS_OF)
TRAVEL = "travel"
DISTANCE, PLACE = SPOTTED = ("distance", "place")
"""Kinds that trammel and tape measure, at a dead centre or at a crank angle; each has its ``spot``."""
BOTH_WAYS = "both ways"
PUSHED = {"pushed forward": 1, "pushed back": -1}
"""The spindle pushed as far as the play lets it, wheel held, and which way along the guide that is."""
TURNED = (FORWARD, BACKWARD, BOTH_WAYS, *PUSHED)
"""How the play was taken up: wheel turned one way, so that the valve lags; both ways, the mean taken; or pushed."""
END_FIGURES = ("lead", *EVENTS, "opening")


@dataclass(frozen=True, kw_only=True)
class Figure:
    """Something that can be looked at on a gear in one notch.

    Attributes
    ----------
    kind : str
        "lead": steam opening at that end's dead centre, mm, negative when the edge still overlaps.
        "valve": place of the valve ahead of the middle between its two line-and-line marks, mm, at a dead
        centre (``end``) or at a crank angle (``at``).
        "opening": greatest steam opening, mm, not more than the port's width; negative where the port stays shut, of
        which nothing is read.
        "admission", "cutoff", "release", "compression": where the port opens or closes, as ``unit`` says:
        the piston's distance from that end's dead centre in percent of the stroke or in mm, or the crank
        angle past that dead centre in the direction of running, degrees (negative: before it).
        "lost motion": free movement of the spindle, wheel held at ``at``, mm.
        "die height": height of the die above the trunnion (with eccentrics: its place along the slot from mid
        link, + up), mm, on front dead centre or at ``at``.
        "travel": of the valve, mm.
        "distance", "place": of two pins from one another, and of one along a line, mm, as ``spot`` says.
    notch : str
        Position of the reverser.
    direction : str
        "forward" or "backward", where the kind asks for it (events, crank angles); else "" or, where a study looks at
        both directions apart, either.
    end : str
        "front", "back", or "".
    unit : str
        "mm", "degrees" or "percent" (of the stroke).
    at : float or None
        Crank angle from front dead centre in the direction of running, degrees.
    spot : Spot or None
        Of a distance or a place: between which pins, and along what.

    Examples
    --------
    >>> str(Figure(kind="cutoff", notch="mid", direction="forward", end="front", unit="percent"))
    'front cutoff, mid, running forward'
    """

    kind: str
    notch: str
    direction: str = ""
    end: str = ""
    unit: str = MM
    at: float | None = None
    spot: Spot | None = None

    @property
    def forward(self) -> int:
        """+1 when the crank angle counts in forward running, −1 in backward."""
        return -1 if self.direction == BACKWARD else 1

    @property
    def what(self) -> str:
        """Its kind, and of a distance or place between which pins."""
        return self.kind if self.spot is None else f"{self.kind}: {self.spot}"

    def __str__(self) -> str:
        """In words: end, kind, notch, direction, crank angle."""
        if self.spot is not None:
            return self._spotted(self.spot)
        words = f"{self.end} {self.kind}, {self.notch}".strip()
        words += f", running {self.direction}" if self.direction else ""
        return words if self.at is None else f"{words}, crank at {self.at:g}°"

    def _spotted(self, spot: Spot) -> str:
        if self.at is None:
            return f"{spot}, {self.notch}, {self.end or 'front'} dead centre"
        return f"{spot}, {self.notch}, crank at {self.at:g}°{f' {self.direction}' if self.direction else ''}"


@dataclass(frozen=True, kw_only=True)
class Reading(Figure):
    """A figure as it was read on the engine: its value, and how near that is.

    Attributes
    ----------
    side : str
        "left" or "right".
    value, sigma : float
        The reading and its uncertainty (one standard deviation), in ``unit``.
    line : int
        Line of the readings file; 0 if none.
    turned : str
        How the wheel was turned to it, or the spindle pushed there, one of :data:`TURNED`; "" where nothing is said:
        an event and a crank angle then in their own direction, a dead centre either way.
    """

    side: str
    value: float
    sigma: float
    line: int = 0
    turned: str = ""

    @property
    def came(self) -> str:
        """How the wheel came to it: as ``turned`` says, else the direction of running that goes with it, or ""."""
        return self.turned or self.direction


def end_figure(kind: str, notch: str, direction: str, end: str) -> Figure:
    """A lead or opening (mm) or an event (percent of the stroke) of one end in a direction of running.

    Parameters
    ----------
    kind, notch, direction, end : str
        As of :class:`Figure`.
    """
    return Figure(kind=kind, notch=notch, direction=direction, end=end, unit=PERCENT if kind in EVENTS else MM)


def figures_of(side: SideEvents, notches: Iterable[str] | None = None) -> tuple[Figure, ...]:
    """What is looked at in some notches of a side.

    In each notch and in each direction in which it drives the engine, at each end: the lead (mm), the four events
    (percent of the stroke) and the greatest opening (mm); and the travel (mm).

    Parameters
    ----------
    side : SideEvents
        As assessed.
    notches : iterable of str, optional
        By name; all of the side's unless given.
    """
    found: list[Figure] = []
    for notch in side.notches if notches is None else notches:
        found += [
            end_figure(kind, notch, way, end)
            for way in side.driven(side.notches.index(notch))
            for end in ENDS
            for kind in END_FIGURES
        ]
        found.append(Figure(kind=TRAVEL, notch=notch))
    return tuple(found)


def as_assessed(side: SideEvents, figure: Figure) -> float:
    """One of the figures of :func:`figures_of` as the side was assessed; NaN for an event that does not happen.

    Parameters
    ----------
    side : SideEvents
        With the figure's notch.
    figure : Figure
        In percent of the stroke, if an event.
    """
    notch = side.notches.index(figure.notch)
    if figure.kind == TRAVEL:
        return float(side.travel[side.driven(notch)[0]][notch])
    events = side.events[figure.direction][figure.end]
    found = events.percent[figure.kind] if figure.kind in EVENTS else getattr(events, figure.kind)
    return float(found[notch])
