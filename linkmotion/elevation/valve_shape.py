"""Where ports, valve and steam stand in a section of the valve: figures for drawing, not a drawing."""

from __future__ import annotations

from dataclasses import dataclass

from linkmotion.gears.book import Valve
from linkmotion.valve import ENDS, Ports

LIVE, OUT, EXPANDING, SQUEEZED = "live steam", "exhaust", "shut in, expanding", "shut in, compressing"
UNTOLD = ""  # nothing is said of a space
LINE = 1e-6  # mm: edges this near stand line and line
Span = tuple[float, float]


@dataclass(frozen=True)
class ValveSection:
    """Ports and valve along the valve's line, mm from midway between the ports, + forward.

    Steam ports, laps and travel are to scale. What an engine file does not hold is drawn in proportion: the bridges
    and the exhaust port of a slide valve, the distance between the heads of a piston valve.

    Attributes
    ----------
    outside : bool
        Whether live steam is outside the valve (common slide valve) or between its heads.
    ports, heads : dict of (low, high)
        By end: the steam port; the valve's face over it, with the valve central.
    middle : float
        Half the width of the exhaust port between them (outside), or of the steam space (inside).
    far : float
        Half the width of the picture: the valve does not run beyond it.

    Examples
    --------
    >>> valve = Valve(admission="outside", port_width=30.0, steam_lap=20.0, exhaust_lap=1.0, guide_height=0.0)
    >>> section = ValveSection.of(valve, half_travel=50.0)
    >>> section.heads["front"][1] - section.ports["front"][1], section.ports["front"][0] - section.heads["front"][0]
    (20.0, 1.0)
    """

    outside: bool
    ports: dict[str, Span]
    heads: dict[str, Span]
    middle: float
    far: float

    @classmethod
    def of(cls, valve: Valve, half_travel: float, inmost: float = 0.0, start: float | None = None) -> ValveSection:
        """From the valve table of an engine.

        Parameters
        ----------
        valve : Valve
            Numbers, mm.
        half_travel : float
            Half the longest travel, mm: so far the valve's faces are clear of what is drawn beside them.
        inmost : float
            How far from the middle the ports of a piston valve stand, mm, or further out where the travel wants it.
        start : float, optional
            Where the ports of any valve stand, mm from the middle.
        """
        port, outside = float(valve.port_width), valve.admission == "outside"
        laps = {flow: [float(valve.laps(flow, end)) for end in ENDS] for flow in ("steam", "exhaust")}
        past = half_travel - port - min(laps["steam"])  # the valve's edge past full opening
        bridge = max(0.8 * port, past + 0.4 * port)
        if outside:  # the exhaust port stays open by a steam port's width with the valve at the end of its travel
            middle = max(0.5 * port, (port + half_travel + max(laps["exhaust"]) - bridge) / 2)
        else:
            middle, bridge = 0.6 * port, half_travel + max(laps["steam"])
        if start is None:
            start = middle + bridge if outside else max(middle + bridge, inmost)
        ports, heads = {}, {}
        for end, way in zip(ENDS, (1, -1), strict=True):
            inner, outer = ("exhaust", "steam") if outside else ("steam", "exhaust")
            ports[end] = _span(way * start, way * (start + port))
            heads[end] = _span(
                way * (start - valve.laps(inner, end)), way * (start + port + float(valve.laps(outer, end)))
            )
        ends = max(abs(edge) for span in heads.values() for edge in span)
        return cls(outside, ports, heads, middle, ends + half_travel + (0.8 if outside else 1.7) * port)

    def steam_edges(self, end: str) -> Span:
        """Steam edge of an end's port, and of the valve's face over it with the valve central, mm.

        Parameters
        ----------
        end : str
            "front" or "back".
        """
        which = 1 if (end == "front") == self.outside else 0
        return self.ports[end][which], self.heads[end][which]

    def exhaust_edges(self, end: str) -> Span:
        """The same of the exhaust edge, mm.

        Parameters
        ----------
        end : str
            "front" or "back".
        """
        which = 0 if (end == "front") == self.outside else 1
        return self.ports[end][which], self.heads[end][which]

    @property
    def reach(self) -> float:
        """Outer edge of the outer port from the middle, mm."""
        return max(abs(edge) for span in self.ports.values() for edge in span)

    @property
    def port(self) -> float:
        """Width of a port, by which everything else is proportioned, mm."""
        return self.ports["front"][1] - self.ports["front"][0]


def _span(one: float, two: float) -> Span:
    return (one, two) if one < two else (two, one)


def space_of(ports: Ports, end: str, displacement: float, toward: bool) -> str:
    """What is in one end of the cylinder: LIVE, OUT, or shut in, EXPANDING or SQUEEZED.

    Parameters
    ----------
    ports, end : Ports, str
        The valve's edges; "front" or "back".
    displacement : float
        Of the valve from central, mm, + forward.
    toward : bool
        Whether the piston comes toward that end.
    """
    if float(ports.edge("steam", end).opening(displacement)) > -LINE:
        return LIVE
    if float(ports.edge("exhaust", end).opening(displacement)) > -LINE:
        return OUT
    return SQUEEZED if toward else EXPANDING
