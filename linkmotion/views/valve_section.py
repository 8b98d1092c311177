"""Valve, ports, cylinder and piston in section, at one crank angle: where the steam is, in words and patterns too."""

from __future__ import annotations

from typing import Any

import numpy as np

from linkmotion.elevation.body import Places
from linkmotion.elevation.outlines import Outline
from linkmotion.elevation.steam_chest import DEPTH, Chest, chest_alone
from linkmotion.elevation.valve_shape import EXPANDING, LINE, LIVE, OUT, SQUEEZED, UNTOLD, ValveSection, space_of
from linkmotion.events import FORWARD
from linkmotion.files.lengths import format_length
from linkmotion.gears.book import Valve
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.side_drawing import elevation_of, standing_at
from linkmotion.valve import ENDS, Ports
from linkmotion.views.elevation_axes import ALWAYS, Sheet, lay
from linkmotion.views.style import GRID, INK, PAPER, STEAM, axes_or_new

_SOON = 1e-4  # radians: by where the valve is so much later it is seen which way it goes
_IN_SECTION = ("cylinder", "piston", "piston rod", "valve")
_PLATE = {"facecolor": PAPER, "edgecolor": "none", "pad": 1.0}
_SIZE = 8  # points: letters
Box = tuple[float, float, float, float]


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
    spaces = {end: UNTOLD if space in (EXPANDING, SQUEEZED) else space for end, space in spaces.items()}
    sheet = Sheet(ax, 1.0, ALWAYS | spaces)
    chest = Chest(section, 5.0 * section.port)
    for body in chest_alone(section):
        sheet.lay(body, {"valve": complex(displacement)}, {})
    low, wide = -chest.face - DEPTH * section.port, section.far + 1.7 * chest.wall
    for end in ENDS:
        _mark_edges(ax, section, end, displacement, Ports.of(valve), unit, (-chest.face, low))
    _words_on_ports(ax, chest, displacement, low)
    one = section.port
    return _bare(ax, (-chest.back - 0.3 * one, low - 0.75 * one, wide, chest.top + 1.6 * one))


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
    own = elevation_of(side)
    now = standing_at(own, side, notch, crank_angle, direction)
    soon = standing_at(own, side, notch, crank_angle + np.degrees(_SOON), direction)
    lay(Sheet(ax, 1.0, ALWAYS | now.spaces), own, now.places, _IN_SECTION)
    casting = own.body("cylinder").shapes[0]
    assert isinstance(casting, Outline)
    left, low, right, high = casting.area.bounds
    r = own.paths.r
    for end in ENDS:
        told = f"{end} end:\n{now.spaces[end]}" + _opening(side, end, now.spaces[end], now.displacement, unit)
        x, ha = (right, "right") if end == "front" else (left, "left")
        ax.text(x, low - 0.3 * r, told, ha=ha, va="top", fontsize=_SIZE)
    section, chest = own.section, own.section.chest
    over = section.ports_at + section.along * chest.own(0.0, chest.top + 2.2 * chest.wall + 0.15 * r)
    _arrow(ax, over.real, over.imag, soon.displacement - now.displacement, 0.35 * r)
    _arrow(ax, section.centre.real, low - 0.15 * r, _ahead(soon.places) - _ahead(now.places), 0.35 * r)
    return _bare(ax, (left - 0.25 * r, low - 1.25 * r, right + 0.1 * r, high + 0.3 * r))


def _ahead(places: Places) -> float:
    return places["crosshead pin"].real


def _opening(side: SideEvents, end: str, space: str, displacement: float, unit: str) -> str:
    """How far the port is open to what is in its end, in words on a line of their own."""
    flow = {LIVE: "steam", OUT: "exhaust"}.get(space)
    if flow is None:
        return ""
    opening = float(side.ports.effective(side.ports.edge(flow, end).opening(displacement)))
    return "\nport line and line" if opening < LINE else f"\nport open {_length(opening, unit)}"


def _length(mm: Any, unit: str) -> str:
    return format_length(float(mm), unit, digits={"mm": 1, "in": 3}.get(unit))


def _words_on_ports(ax: Any, chest: Chest, displacement: float, low: float) -> None:
    """What is about the valve and under it, and which port is which end's."""
    outside, one = chest.valve.outside, chest.port
    about, under = (LIVE, OUT) if outside else (OUT, LIVE)
    height = -chest.face + 0.7 * one if outside else 0.6 * chest.face
    told = [(0.98 * chest.valve.far, chest.top - 0.3 * one, about, "right"), (displacement, height, under, "center")]
    ends = zip(ENDS, (1, -1), strict=True)
    told += [(way * (chest.valve.reach + 0.7 * one), low + 0.4 * one, end, "center") for end, way in ends]
    for x, y, words, ha in told:
        ax.text(x, y, words, ha=ha, va="center", fontsize=_SIZE, bbox=_PLATE, zorder=50)


def _mark_edges(
    ax: Any, section: ValveSection, end: str, v: float, ports: Ports, unit: str, heights: tuple[float, float]
) -> None:
    """Opening or overlap of a steam edge, as a dimension below the ports."""
    port, edge = section.steam_edges(end)
    opening, one = float(ports.edge("steam", end).opening(v)), section.port
    word = "open" if opening > LINE else "line and line" if opening > -LINE else "lap" if v == 0 else "covered"
    face, foot = heights
    y, middle = foot - 0.15 * one, (port + edge + v) / 2
    for x in (port, edge + v):
        ax.plot([x, x], [face, y], color=GRID if x == port else INK, lw=0.7, ls=(0, (3, 2)), zorder=46)
    told = word if word == "line and line" else f"{word} {_length(abs(opening), unit)}"
    ax.text(middle, y - 0.08 * one, told, ha="center", va="top", fontsize=_SIZE, color=STEAM)


def _arrow(ax: Any, x: float, y: float, pace: float, half: float) -> None:
    """An arrow along a movement; nothing when it stands still."""
    if pace:
        way = float(half * np.sign(pace))
        look = {"arrowstyle": "-|>", "color": INK, "lw": 1.4}
        ax.annotate("", (x + way, y), (x - way, y), arrowprops=look, zorder=48)


def _bare(ax: Any, box: Box) -> Any:
    """No axes: the picture is its own scale."""
    left, low, right, high = box
    ax.set(xlim=(left, right), ylim=(low, high), aspect="equal")
    ax.set_axis_off()
    return ax
