"""Plots of the valve's motion and events. Each takes a result and axes, and returns the axes.

Front end solid, back end dashed, in every plot; notches run from dark to light in the order of the
file; colours are told apart by lightness too.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from linkmotion.events import BACKWARD, EVENTS, FORWARD
from linkmotion.files.lengths import UNITS
from linkmotion.studies.assess import SideEvents
from linkmotion.valve import ENDS

INK, PAPER, GRID = "#22303a", "#fffdf8", "#d9d4c7"
STEAM, EXHAUST, FLAG = "#b5482a", "#2f6f8f", "#8a1c4a"
DASHES = {"front": "-", "back": (0, (5, 2))}
MARKS = dict(zip(EVENTS, ("o", "s", "^", "D"), strict=True))
STYLE = {
    "font.size": 9, "axes.edgecolor": INK, "axes.labelcolor": INK, "text.color": INK, "xtick.color": INK, "ytick.color": INK,
    "axes.grid": True, "grid.color": GRID, "grid.linewidth": 0.6, "axes.spines.top": False, "axes.spines.right": False,
    "figure.facecolor": PAPER, "axes.facecolor": PAPER, "savefig.facecolor": PAPER, "legend.frameon": False,
    "axes.titlesize": 10, "axes.titleweight": "bold", "axes.titlelocation": "left", "svg.fonttype": "none",
}
_COUNT = 720


def _axes(ax: Any) -> Any:
    if ax is not None:
        return ax
    import matplotlib.pyplot as plt

    return plt.subplots(layout="constrained")[1]


def notch_colour(index: int, count: int) -> tuple[float, float, float]:
    """Colour of a notch: dark teal to light ochre along the file's order."""
    dark, light = np.array([0.07, 0.26, 0.33]), np.array([0.88, 0.62, 0.20])
    part = index / max(count - 1, 1)
    return tuple(dark + (light - dark) * part)


def _run(side: SideEvents, notch: int, running: str) -> Any:
    """Valve displacement (mm) over a revolution in the direction of running, first point repeated."""
    series = side.displacement[notch : notch + 1]
    values = (series if running == FORWARD else series.reversed()).on_grid(_COUNT)[0]
    return np.append(values, values[0])


def _piston(side: SideEvents, running: str) -> Any:
    """Piston's distance from its front limit, percent of stroke, over the same revolution."""
    angle = np.linspace(0.0, 2 * np.pi, _COUNT + 1)
    return 100 * side.gear.crank.fraction(angle if running == FORWARD else -angle)


def _dead(side: SideEvents, end: str, running: str) -> float:
    """Crank angle of an end's dead centre in the direction of running, degrees."""
    if end == "front":
        return 0.0
    back = float(np.degrees(side.gear.crank.back))
    return back if running == FORWARD else 360.0 - back


def _scale(unit: str) -> float:
    return 1.0 / float(UNITS[unit])


def plot_displacement(side: SideEvents, notch: int, running: str = FORWARD, unit: str = "mm", ax: Any = None) -> Any:
    """Valve displacement from central against crank angle, with the steam laps and the events marked."""
    ax, scale = _axes(ax), _scale(unit)
    angle, v = np.linspace(0.0, 360.0, _COUNT + 1), _run(side, notch, running)
    ax.plot(angle, v * scale, color=INK, lw=1.6)
    for end in ENDS:
        edge = side.ports.edge("steam", end)
        line = edge.sign * edge.lap
        ax.axhline(line * scale, color=STEAM, lw=0.9, ls=DASHES[end])
        ax.fill_between(angle, v * scale, line * scale, where=edge.sign * v > edge.lap, color=STEAM, alpha=0.14, lw=0)
        clear = (_dead(side, "front" if end == "back" else "back", running) + 60) % 360  # the valve is far off there
        ax.annotate(f"{end} port opens to steam", (clear, line * scale), textcoords="offset points", ha="center",
                    xytext=(0, 3 * edge.sign), va="bottom" if edge.sign > 0 else "top", fontsize=7.5, color=STEAM)
    _mark_events(side, notch, running, ax, scale, against_piston=False, of_valve=True)
    _crank_axis(side, running, ax)
    ax.set_ylabel(f"valve from central, {unit} (+ forward)")
    return ax


def plot_openings(side: SideEvents, notch: int, running: str = FORWARD, unit: str = "mm", ax: Any = None) -> Any:
    """Port openings to steam and exhaust at both ends against crank angle, with the events marked."""
    ax, scale = _axes(ax), _scale(unit)
    angle, v = np.linspace(0.0, 360.0, _COUNT + 1), _run(side, notch, running)
    for flow, colour in (("steam", STEAM), ("exhaust", EXHAUST)):
        for end in ENDS:
            opening = side.ports.effective(side.ports.edge(flow, end).opening(v))
            ax.plot(angle, np.where(opening > 0, opening, np.nan) * scale, color=colour, ls=DASHES[end], lw=1.5,
                    label=f"{end}, to {flow}")
    ax.axhline(side.ports.port_width * scale, color=GRID, lw=1.2)
    ax.annotate("port full open", (358, side.ports.port_width * scale), xytext=(0, 2), textcoords="offset points",
                ha="right", fontsize=7.5)
    _mark_events(side, notch, running, ax, scale, against_piston=False)
    _crank_axis(side, running, ax)
    ax.set(ylabel=f"port opening, {unit}", ylim=(0, side.ports.port_width * scale * 1.12))
    ax.legend(loc="upper center", bbox_to_anchor=(0.5, -0.16), ncols=4, fontsize=8)
    return ax


def plot_openings_by_piston(side: SideEvents, notch: int, end: str, running: str = FORWARD, unit: str = "mm",
                            ax: Any = None) -> Any:
    """Port openings of one end against piston position, out and return stroke, with the events marked."""
    ax, scale = _axes(ax), _scale(unit)
    v, piston = _run(side, notch, running), _piston(side, running)
    x = piston if end == "front" else 100 - piston
    for flow, colour in (("steam", STEAM), ("exhaust", EXHAUST)):
        opening = side.ports.effective(side.ports.edge(flow, end).opening(v))
        ax.plot(x, np.where(opening > 0, opening, np.nan) * scale, color=colour, lw=1.5, label=f"to {flow}")
    _mark_events(side, notch, running, ax, scale, against_piston=True, only=end)
    ax.set(xlabel=f"piston from {end} end, % of stroke", ylabel=f"{end} port opening, {unit}",
           xlim=(-2, 102), ylim=(0, side.ports.port_width * scale * 1.12))
    ax.legend(loc="upper right", bbox_to_anchor=(1.0, 1.13), ncols=2, fontsize=8)
    return ax


def plot_ellipses(side: SideEvents, unit: str = "mm", ax: Any = None) -> Any:
    """Valve displacement against piston position for every notch: the valve ellipse."""
    ax, scale = _axes(ax), _scale(unit)
    count = len(side.notches)
    for i, name in enumerate(side.notches):
        running = BACKWARD if side.drives[i] == BACKWARD else FORWARD
        ax.plot(_piston(side, running), _run(side, i, running) * scale, color=notch_colour(i, count), lw=1.4,
                ls="-" if running == FORWARD else (0, (6, 2, 1, 2)), label=name)
    for end in ENDS:
        edge = side.ports.edge("steam", end)
        ax.axhline(edge.sign * edge.lap * scale, color=STEAM, lw=0.9, ls=DASHES[end])
        ax.annotate(f"{end} port opens", (101, edge.sign * edge.lap * scale), ha="right", fontsize=7.5, color=STEAM,
                    xytext=(0, 3 * edge.sign), va="bottom" if edge.sign > 0 else "top", textcoords="offset points")
    ax.set(xlabel="piston from front end, % of stroke", ylabel=f"valve from central, {unit} (+ forward)", xlim=(-2, 102))
    ax.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), fontsize=8, title="notch")
    return ax


def plot_events_by_notch(side: SideEvents, ax: Any = None) -> Any:
    """The four events of both ends, percent of stroke, notch by notch in the direction it drives."""
    ax = _axes(ax)
    x = np.arange(len(side.notches))
    for event, colour in zip(EVENTS, (FLAG, STEAM, EXHAUST, INK), strict=True):
        for end in ENDS:
            y = [side.events[side.driven(i)[0]][end].percent[event][i] for i in x]
            ax.plot(x, y, color=colour, ls=DASHES[end], marker=MARKS[event], ms=4.5, lw=1.3,
                    mfc=colour if end == "front" else PAPER, label=f"{event}, {end}")
    _notch_axis(side, ax)
    ax.set(ylabel="piston from that end's dead centre, % of stroke", ylim=(-2, 102))
    ax.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), fontsize=8)
    return ax


def plot_leads(side: SideEvents, unit: str = "mm", allowed: float | None = None, ax: Any = None) -> Any:
    """Lead of both ends against notch; the band shows the difference allowed about their mean."""
    ax, scale = _axes(ax), _scale(unit)
    x = np.arange(len(side.notches))
    leads = {end: side.events[FORWARD][end].lead * scale for end in ENDS}  # alike in both directions of running
    for end in ENDS:
        ax.plot(x, leads[end], color=INK, ls=DASHES[end], marker="o", ms=5, mfc=INK if end == "front" else PAPER, label=end)
    if allowed is not None:
        mean = (leads["front"] + leads["back"]) / 2
        ax.fill_between(x, mean - allowed * scale / 2, mean + allowed * scale / 2, color=STEAM, alpha=0.15, lw=0,
                        label="allowed difference")
    ax.axhline(0, color=INK, lw=0.8)
    _notch_axis(side, ax)
    ax.set_ylabel(f"lead, {unit}")
    ax.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), fontsize=8)
    return ax


def plot_die(side: SideEvents, unit: str = "mm", ax: Any = None) -> Any:
    """Place of the die along the slot against crank angle for every notch, with the slot's ends."""
    ax, scale = _axes(ax), _scale(unit)
    angle = np.linspace(0.0, 360.0, _COUNT + 1)
    places = side.turned.die.on_grid(_COUNT)
    for i, name in enumerate(side.notches):
        y = np.append(places[i], places[i][0]) * scale
        ax.plot(angle, y, color=notch_colour(i, len(side.notches)), lw=1.4)
        ax.annotate(f"{name}: slip {side.turned.die_slip[i] * scale:.3g}", (361, y[-1]), fontsize=7.5, va="center",
                    annotation_clip=False)
    slot = side.gear.slot
    for end, place in (("top", slot.top), ("bottom", -slot.bottom)):
        ax.axhline(place * scale, color=FLAG, lw=1.4)
        ax.annotate(f"{end} of slot", (3, place * scale), xytext=(0, -3 if end == "top" else 3), fontsize=7.5, color=FLAG,
                    textcoords="offset points", va="top" if end == "top" else "bottom")
    _crank_axis(side, FORWARD, ax)
    ax.set_ylabel(f"die along the slot, {unit} (+ up)")
    return ax


def _mark_events(side: SideEvents, notch: int, running: str, ax: Any, scale: float, against_piston: bool,
                 only: str | None = None, of_valve: bool = False) -> None:
    """Mark the events of a notch where the edges pass, with their names."""
    for end in ENDS if only is None else (only,):
        own = side.events[running][end]
        for event in EVENTS:
            angle, percent = own.angle[event][notch], own.percent[event][notch]
            if np.isnan(angle):
                continue
            edge = side.ports.edge("steam" if event in ("admission", "cutoff") else "exhaust", end)
            x = percent if against_piston else (angle + _dead(side, end, running)) % 360
            y = edge.sign * edge.lap * scale if of_valve else 0.0
            colour = STEAM if event in ("admission", "cutoff") else EXHAUST
            ax.plot(x, y, MARKS[event], color=colour, mfc=colour if end == "front" else PAPER, ms=5, clip_on=False, zorder=5)
            if not of_valve:
                aside = {"release": -5, "compression": 6}.get(event, 0)  # these two often fall together
                ax.annotate(event, (x, y), xytext=(aside, 6), textcoords="offset points", rotation=90, fontsize=7,
                            va="bottom", ha="center", color=colour)


def _crank_axis(side: SideEvents, running: str, ax: Any) -> None:
    back = _dead(side, "back", running)
    ax.axvline(back, color=GRID, lw=1.2)
    ax.set(xlim=(0, 360), xticks=range(0, 361, 45), xlabel=f"crank angle from front dead centre, degrees, running {running}")


def _notch_axis(side: SideEvents, ax: Any) -> None:
    ax.set_xticks(range(len(side.notches)), side.notches, rotation=35, ha="right")
    ax.set_xlim(-0.3, len(side.notches) - 0.7)
