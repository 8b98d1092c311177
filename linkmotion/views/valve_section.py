"""Valve, ports, cylinder and piston in section, at one crank angle: where the steam is, in words and hatching too."""

from __future__ import annotations

from typing import Any

import numpy as np

from linkmotion.elevation.valve_shape import EXPANDING, LINE, LIVE, OUT, SQUEEZED, ValveSection, space_of
from linkmotion.events import FORWARD
from linkmotion.files.lengths import format_length
from linkmotion.gears.book import Valve
from linkmotion.studies.assess import SideEvents
from linkmotion.valve import ENDS, Ports
from linkmotion.views.style import EXHAUST, GRID, INK, PAPER, STEAM, axes_or_new

_LOOK: dict[str, dict[str, Any]] = {
    LIVE: {"facecolor": STEAM + "45", "edgecolor": STEAM, "hatch": "..."},
    OUT: {"facecolor": EXHAUST + "30", "edgecolor": EXHAUST, "hatch": "///"},
    EXPANDING: {"facecolor": STEAM + "20", "edgecolor": STEAM, "hatch": "."},
    SQUEEZED: {"facecolor": EXHAUST + "20", "edgecolor": EXHAUST, "hatch": "xx"},
}
_METAL = "#c9c4b8"


def plot_valve_on_ports(
    valve: Valve, displacement: float = 0.0, half_travel: float | None = None, unit: str = "mm", ax: Any = None
) -> Any:
    """Draw a valve over its ports, its steam edges' distances from the ports' edges marked.

    Parameters
    ----------
    valve : Valve
        The valve table of an engine.
    displacement : float
        Of the valve from central, mm, + forward.
    half_travel : float
        Half the longest travel, mm, for which room is left; lap and port together when not given.
    """
    ax = axes_or_new(ax)
    reach = float(valve.port_width) + max(float(valve.laps("steam", end)) for end in ENDS)
    section = ValveSection.of(valve, half_travel or reach)
    spaces = {end: space_of(Ports.of(valve), end, displacement, toward=False) for end in ENDS}
    spaces = {end: "" if space in (EXPANDING, SQUEEZED) else space for end, space in spaces.items()}
    _casting(ax, section, spaces, depth=1.3 * section.port)
    _valve(ax, section, displacement)
    for end in ENDS:
        _mark_edges(ax, section, end, displacement, Ports.of(valve), unit)
    return _bare(ax, section, -1.3 * section.port)


_SOON = 1e-4  # radians: by where the valve is so much later it is seen which way it goes


def plot_valve_section(
    side: SideEvents,
    notch: int = 0,
    crank_angle: float = 0.0,
    direction: str = FORWARD,
    unit: str = "mm",
    ax: Any = None,
) -> Any:
    """Draw valve, ports and piston in section, the front to the right; arrows show which way they are moving.

    Parameters
    ----------
    side, notch
        A side, and which of its notches.
    crank_angle : float
        Degrees from front dead centre in the direction of running.
    """
    ax = axes_or_new(ax)
    way, turn = 1 if direction == FORWARD else -1, np.radians(crank_angle)
    v, soon = (float(side.valve_at(notch, turn + by, direction)) for by in (0.0, _SOON))
    pace = (soon - v) / _SOON
    gone = float(side.gear.crank.fraction(way * turn))
    to_back = float(side.gear.crank.fraction(way * (turn + 1e-6))) >= gone
    section = ValveSection.of(side.gear.valve, float(side.travel[direction].max()) / 2)
    spaces = {end: space_of(side.ports, end, v, toward=(end == "back") == to_back) for end in ENDS}
    bottom = _cylinder(ax, section, spaces, gone, to_back)
    _casting(ax, section, spaces, depth=1.0 * section.port)
    _valve(ax, section, v, pace)
    for end in ENDS:
        flow = {LIVE: "steam", OUT: "exhaust"}.get(spaces[end])
        told = f"{end} end:\n{spaces[end]}"
        if flow:
            opening = float(side.ports.effective(side.ports.edge(flow, end).opening(v)))
            told += "\nport line and line" if opening < LINE else f"\nport open {_length(opening, unit)}"
        x = section.far * (1 if end == "front" else -1)
        ax.text(x, bottom - 0.15 * section.port, told, ha="right" if end == "front" else "left", va="top", fontsize=8)
    return _bare(ax, section, bottom - 1.6 * section.port)


def _length(mm: Any, unit: str) -> str:
    return format_length(float(mm), unit, digits={"mm": 1, "in": 3}.get(unit))


def _polygon(ax: Any, x: Any, y: Any, **look: Any) -> None:
    ax.fill(x, y, **({"facecolor": PAPER, "edgecolor": INK, "lw": 0.8} | look))


def _space(ax: Any, x: Any, y: Any, space: str) -> None:
    """A space filled as what is in it (nothing said: left as paper), over paper so that the metal is hidden."""
    _polygon(ax, x, y, edgecolor="none")
    if space:
        _polygon(ax, x, y, **_LOOK[space] | {"lw": 0.0})


def _casting(ax: Any, section: ValveSection, spaces: dict[str, str], depth: float) -> None:
    """The chest above the port face, and the ports below it down to ``depth``."""
    one, far, top = section.port, section.far, _TOP[section.outside] * section.port
    chest = LIVE if section.outside else OUT
    _space(ax, [-far, far, far, -far], [0, 0, top, top], chest)
    _polygon(ax, [-far, far, far, -far], [-depth, -depth, 0, 0], facecolor=_METAL, edgecolor="none")
    for end in ENDS:
        low, high = section.ports[end]
        _space(ax, [low, high, high, low], [-depth, -depth, 0, 0], spaces[end])
    if section.outside:
        m = section.middle
        _space(ax, [-m, m, m, -m], [-0.75 * one, -0.75 * one, 0, 0], OUT)
    else:
        _polygon(ax, [-far, far, far, -far], [top, top, top + 0.3 * one, top + 0.3 * one], facecolor=_METAL, lw=0.0)
    for end, (low, high) in section.ports.items():
        place = section.reach + 0.8 * one
        ax.text(place if end == "front" else -place, -0.5 * one, end, ha="center", va="center", fontsize=8)
        ax.plot([low, low], [-depth, 0], color=INK, lw=0.9)
        ax.plot([high, high], [-depth, 0], color=INK, lw=0.9)
    ax.plot([-far, far], [0, 0], color=INK, lw=0.6)
    ax.text(0.98 * far, top - 0.17 * one, chest, ha="right", va="top", fontsize=8, bbox=_PLATE)


_TOP = {True: 2.1, False: 1.2}  # of the space about the valve, outside and inside admission, in port widths
_PLATE = {"facecolor": PAPER, "edgecolor": "none", "pad": 1.2}


def _valve(ax: Any, section: ValveSection, v: float, pace: float = 0.0) -> None:
    """The valve at a displacement, its spindle to the back, an arrow along its movement."""
    one = section.port
    (back, inner_back), (inner, front) = ((a + v, b + v) for a, b in (section.heads["back"], section.heads["front"]))
    spindle = [-section.far - 0.8 * one, inner]
    if section.outside:
        _polygon(ax, [back, front, front, back], [0, 0, 1.45 * one, 1.45 * one], facecolor=INK)
        _space(ax, [inner_back, inner, inner, inner_back], [0, 0, 0.8 * one, 0.8 * one], OUT)
        height, word = 1.1 * one, OUT
        ax.plot([spindle[0], back], [height, height], color=INK, lw=4, solid_capstyle="butt")
    else:
        height, word = 0.6 * one, LIVE
        _space(ax, [inner_back, inner, inner, inner_back], [0, 0, 1.2 * one, 1.2 * one], LIVE)
        ax.plot(spindle, [height, height], color=INK, lw=4, solid_capstyle="butt")
        for low, high in ((back, inner_back), (inner, front)):
            _polygon(ax, [low, high, high, low], [0, 0, 1.2 * one, 1.2 * one], facecolor=INK)
    ax.text(v, 0.4 * one, word, ha="center", va="center", fontsize=8, bbox=_PLATE)
    _arrow(ax, v, (_TOP[section.outside] - 0.35) * one if section.outside else 1.85 * one, pace, one)


def _arrow(ax: Any, x: float, y: float, pace: float, one: float) -> None:
    """An arrow along a movement; nothing when it stands still."""
    if pace:
        half = 0.9 * one * np.sign(pace)
        ax.annotate(
            "", (x + half, y), (x - half, y), arrowprops={"arrowstyle": "-|>", "color": INK, "lw": 1.6}, zorder=8
        )


def _cylinder(ax: Any, section: ValveSection, spaces: dict[str, str], gone: float, to_back: bool) -> float:
    """Cylinder and piston below the ports, the stroke shortened to the picture's width; gives its lower edge."""
    one, far = section.port, section.far
    top, bottom, thick = -1.0 * one, -3.4 * one, 0.55 * one
    end = section.reach  # inside of the covers
    travel = 2 * (end - 0.16 * one) - thick
    piston = end - 0.16 * one - thick - gone * travel  # the piston's back face
    _polygon(ax, [-far, far, far, -far], [bottom - 0.4 * one] * 2 + [top] * 2, facecolor=_METAL, edgecolor="none")
    for name, low, high in (("back", -end, piston), ("front", piston + thick, end)):
        _space(ax, [low, high, high, low], [bottom, bottom, top, top], spaces[name])
    inner = end - one
    for x, y in (([-inner, inner], [top, top]), ([-end, -end, end, end], [top, bottom, bottom, top])):
        ax.plot(x, y, color=INK, lw=0.9)
    middle = (top + bottom) / 2
    ax.plot([-far - 0.8 * one, piston], [middle, middle], color=INK, lw=6, solid_capstyle="butt")
    _polygon(ax, [piston, piston + thick, piston + thick, piston], [bottom] * 2 + [top] * 2, facecolor=INK)
    _arrow(ax, 0.0, bottom - 0.75 * one, -1.0 if to_back else 1.0, one)
    return bottom - 0.4 * one


def _mark_edges(ax: Any, section: ValveSection, end: str, v: float, ports: Ports, unit: str) -> None:
    """Opening or overlap of a steam edge, as a dimension above the face."""
    port, edge = section.steam_edges(end)
    opening, one = float(ports.edge("steam", end).opening(v)), section.port
    word = "open" if opening > LINE else "line and line" if opening > -LINE else "lap" if v == 0 else "covered"
    y, middle = -1.55 * one, (port + edge + v) / 2
    for x in (port, edge + v):
        ax.plot([x, x], [0, y], color=GRID if x == port else INK, lw=0.7, ls=(0, (3, 2)), zorder=6)
    told = word if word == "line and line" else f"{word} {_length(abs(opening), unit)}"
    ax.text(middle, y - 0.1 * one, told, ha="center", va="top", fontsize=8, color=STEAM)


def _bare(ax: Any, section: ValveSection, bottom: float) -> Any:
    """No axes: the picture is its own scale."""
    far = section.far + 0.8 * section.port
    ax.set(xlim=(-far, far), ylim=(bottom - 0.5 * section.port, 2.2 * section.port), aspect="equal")
    ax.set_axis_off()
    return ax
