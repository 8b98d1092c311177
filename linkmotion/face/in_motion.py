"""A notch of a worn gear in motion: where its valve is, and the events that follow."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linkmotion.events import EVENTS
from linkmotion.face.tables import Table, one_line, table
from linkmotion.studies.in_motion import InMotion as Figures
from linkmotion.studies.in_motion import in_motion
from linkmotion.valve import ENDS
from linkmotion.wear.running import Load

if TYPE_CHECKING:
    from linkmotion.face.notch import Notch


@dataclass(frozen=True)
class EndInMotion:
    """One end of the cylinder in motion.

    Attributes
    ----------
    name : str
        "front" or "back".
    lead, opening : float
        In the engine file's unit.
    admission, cutoff, release, compression : float or None
        Percent of the stroke from the end's own dead centre; None where the event does not happen.
    """

    name: str
    lead: float
    opening: float
    admission: float | None
    cutoff: float | None
    release: float | None
    compression: float | None


@dataclass(frozen=True, eq=False, repr=False)
class InMotion:
    """A notch in motion under a load; lengths in the engine file's unit.

    Attributes
    ----------
    notch : Notch
        Which, and in which direction.
    load : Load
        Drag, N; moving mass, kg; revolutions a minute.
    found : linkmotion.studies.in_motion.InMotion
        Its figures, mm.
    """

    notch: Notch
    load: Load
    found: Figures

    @property
    def front(self) -> EndInMotion:
        """The front end of the cylinder."""
        return self._end("front")

    @property
    def back(self) -> EndInMotion:
        """The back end of the cylinder."""
        return self._end("back")

    @property
    def travel(self) -> float:
        """Travel of the valve in motion."""
        return self.found.travel / self.notch.scale

    def valve_path(self, crank_angles: ArrayLike) -> NDArray[np.float64]:
        """Valve from central, + forward, in the engine file's unit.

        Between the places that were reckoned (every quarter of a degree) it is read off in straight lines.

        Parameters
        ----------
        crank_angles : array of any shape
            From front dead centre in the direction of running, degrees; the result has that shape.
        """
        own = self.notch
        valve = own.side.valve_at(own.number, np.radians(np.asarray(crank_angles, float)), own.direction)
        return np.asarray(valve / own.scale)

    def table(self) -> Table:
        """One row for an end."""
        headings = dict.fromkeys(("end", "lead", "opening", *EVENTS), "% of stroke")
        headings |= {"end": "", "lead": self.notch.unit, "opening": self.notch.unit}
        rows = [{"end": end} | {key: getattr(self._end(end), key) for key in list(headings)[1:]} for end in ENDS]
        return table(f"{self.notch.name}, {self.notch.direction}: in motion", headings, rows)

    def rows(self) -> list[dict[str, Any]]:
        """The ends, a dict each."""
        return self.table().rows()

    def to_frame(self) -> Any:
        """The ends as a pandas DataFrame."""
        return self.table().to_frame()

    def _end(self, end: str) -> EndInMotion:
        lengths = (own[end] / self.notch.scale for own in (self.found.lead, self.found.opening))
        percent = (self.found.percent[end, event] for event in EVENTS)
        return EndInMotion(end, *lengths, *(None if np.isnan(at) else float(at) for at in percent))

    def __repr__(self) -> str:
        """In one line."""
        load = f"drag {self.load.drag:g} N, {self.load.mass:g} kg, {self.load.revolutions:g} revolutions a minute"
        return one_line("InMotion", self.notch.name, [load, f"travel {self.travel:.4g} {self.notch.unit}"])

    def _repr_html_(self) -> str:
        return self.table()._repr_html_()


def in_motion_of(notch: Notch, drag: float, mass: float, revolutions: float) -> InMotion:
    """A notch under a load; see :meth:`linkmotion.Notch.in_motion`.

    Parameters
    ----------
    notch : Notch
        In the direction in which it is looked at.
    drag, mass, revolutions : float
        N, kg, per minute.

    Raises
    ------
    ValueError
        One of them is negative or no number.
    """
    for name, size, unit in (("drag", drag, "N"), ("mass", mass, "kg"), ("revolutions", revolutions, "a minute")):
        if not 0 <= size < np.inf:
            raise ValueError(f"{name}={size!r}: nothing or more is wanted, {unit}")
    under = replace(notch, side=replace(notch.side, load=Load(drag, mass, revolutions)))
    return InMotion(under, under.side.load, in_motion(under.side, under.number, under.direction))
