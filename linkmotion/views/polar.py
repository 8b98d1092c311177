"""The polar valve diagram: the circles of the equivalent eccentric, with the exact curve over them."""

from __future__ import annotations

from typing import Any

import numpy as np

from linkmotion.events import FORWARD
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.virtual_eccentric import of_side
from linkmotion.valve import ENDS
from linkmotion.views.lettering import key
from linkmotion.views.style import (
    COUNT,
    DASHES,
    INK,
    MARKS,
    PAPER,
    SMALL,
    STEAM,
    dead_centre,
    displacement_of,
    scale_of,
)

_SCALE_AT = 22.5  # degrees: where the figures of the scale stand, between two rays
_STEAM_EVENTS = ("admission", "cutoff")


def plot_polar(
    side: SideEvents, notch: int, direction: str = FORWARD, unit: str = "mm", ax: Any = None, reach: float = 0.0
) -> Any:
    """Valve displacement set off along the crank, direction of running anticlockwise from front dead centre.

    Thin circles: the equivalent eccentric alone. Heavy curve: the exact motion. Arcs: the steam laps; the part
    of a curve outside its arc is steam opening. ``ax`` must be polar; it reaches to ``reach`` (mm) at least.
    """
    if ax is None:
        import matplotlib.pyplot as plt

        ax = plt.subplots(layout="constrained", subplot_kw={"projection": "polar"})[1]
    scale = scale_of(unit)
    angle = np.linspace(0.0, 2 * np.pi, COUNT + 1)
    v = displacement_of(side, notch, direction) * scale
    fit = of_side(side)
    way = 1 if direction == FORWARD else -1
    alike = fit.throw[notch] * scale * np.cos(angle + way * np.radians(fit.angle[notch]))
    for end in ENDS:
        edge = side.ports.edge("steam", end)
        for values, heavy in ((alike, 0.7), (v, 1.6)):
            out = edge.sign * values
            ax.plot(angle, np.where(out >= 0, out, np.nan), color=INK, lw=heavy, ls=DASHES[end])
        ax.plot(angle, np.full_like(angle, edge.lap * scale), color=STEAM, lw=1.0, ls=DASHES[end])
        _mark(side, notch, direction, end, ax, scale)
    _scales(ax, unit, 1.04 * max(float(np.max(np.abs([v, alike]))), reach * scale))
    key(ax, _said(), 35.0)
    return ax


def _said() -> list[tuple[str, dict[str, Any]]]:
    valve = [(f"valve, {end} port", {"color": INK, "lw": 1.6, "ls": DASHES[end]}) for end in ENDS]
    lap = [(f"lap, {end}", {"color": STEAM, "lw": 1.0, "ls": DASHES[end]}) for end in ENDS]
    marks = [(event, {"marker": MARKS[event], "color": STEAM, "ms": 4.5, "ls": "none"}) for event in _STEAM_EVENTS]
    return [*valve, *lap, *marks, ("equivalent eccentric", {"color": INK, "lw": 0.7})]


def _scales(ax: Any, unit: str, most: float) -> None:
    """Rings with their figures, and the crank's angles."""
    ax.set_theta_zero_location("E")
    ax.set_xticks(np.radians(np.arange(0, 360, 45)))
    step = 10.0 ** np.floor(np.log10(most / 2))
    step *= next(times for times in (1, 2, 5, 10) if most / (times * step) <= 4)
    rings = np.arange(1, int(most / step) + 1) * step
    ax.set_ylim(0, most)
    ax.set_yticks(rings, [f"{ring:g}" for ring in rings], fontsize=SMALL)
    ax.set_rlabel_position(_SCALE_AT)
    ax.tick_params(axis="x", pad=0)
    ax.set_xlabel(f"rings: valve from central, {unit}; rays: crank, degrees")


def _mark(side: SideEvents, notch: int, direction: str, end: str, ax: Any, scale: float) -> None:
    own = side.events[direction][end]
    for event in _STEAM_EVENTS:
        if np.isnan(own.angle[event][notch]):
            continue
        edge = side.ports.edge("steam", end)
        at = np.radians(own.angle[event][notch] + dead_centre(side, end, direction))
        fill = STEAM if end == "front" else PAPER
        ax.plot(at, abs(edge.lap) * scale, MARKS[event], color=STEAM, mfc=fill, ms=4.5, zorder=5)
