"""Ports, laps, and what a valve displacement opens.

Valve displacement is + forward from central. *Outside* admission (common slide valve): the front
port opens to steam when the valve moves back; *inside* (most piston valves): when it moves forward.
Openings are signed: negative is overlap still to be run out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.gears.book import Valve
from linkmotion.linkage import Harmonics

ENDS = ("front", "back")


@dataclass(frozen=True)
class Edge:
    """One working edge: ``opening = sign * displacement - lap``, mm."""

    sign: int
    lap: Any

    def opening(self, displacement: Any) -> Any:
        """Signed opening, mm; negative is overlap, and it is not cut off at the port width.

        Parameters
        ----------
        displacement : float or array
            Of the valve from central, mm, + forward.
        """
        return self.sign * displacement - self.lap


@dataclass(frozen=True)
class Ports:
    """The four working edges of a valve and the width of its ports.

    Examples
    --------
    A slide valve with 1 mm lap, moved back by 3 mm, opens the front port by 2 mm:

    >>> ports = Ports.of(Valve(admission="outside", port_width=30.0, steam_lap=1.0, guide_height=0.0))
    >>> float(ports.edge("steam", "front").opening(-3.0))
    2.0
    """

    edges: dict[tuple[str, str], Edge]
    port_width: Any

    @classmethod
    def of(cls, valve: Valve) -> Ports:
        """From the valve table of an engine.

        Parameters
        ----------
        valve : Valve
            Its laps and port width, mm, may be arrays, one figure for each case.
        """
        sign = -1 if valve.admission == "outside" else 1
        edges = {}
        for end, way in (("front", 1), ("back", -1)):
            edges["steam", end] = Edge(sign * way, valve.laps("steam", end))
            edges["exhaust", end] = Edge(-sign * way, valve.laps("exhaust", end))
        return cls(edges, valve.port_width)

    def edge(self, flow: str, end: str) -> Edge:
        """The edge that lets a flow through at an end.

        Parameters
        ----------
        flow, end : str
            "steam" or "exhaust"; "front" or "back".
        """
        return self.edges[flow, end]

    def effective(self, opening: Any) -> Any:
        """Opening in use: not less than nothing, not more than the port, mm.

        Parameters
        ----------
        opening : float or array
            Signed, mm.
        """
        return np.clip(opening, 0.0, self.port_width)


def displaced(spindle: Harmonics, central: Any) -> Harmonics:
    """Displacement of the valve, mm, + forward from central.

    Parameters
    ----------
    spindle : Harmonics
        Place of the spindle pin along its guide, mm, shape (S, K).
    central : float or array, shape (S,)
        That place with the valve central: one for all, or one for each row.
    """
    c = spindle.c.copy()
    c[..., 0] -= central
    return Harmonics(c)
