"""The polar valve diagram: the circles of the equivalent eccentric, with the exact curve over them."""

from __future__ import annotations

from typing import Any

import numpy as np

from linkmotion.events import EVENTS, FORWARD
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.virtual_eccentric import of_side
from linkmotion.valve import ENDS
from linkmotion.views.style import (
    COUNT,
    DASHES,
    EXHAUST,
    INK,
    MARKS,
    PAPER,
    STEAM,
    dead_centre,
    displacement_of,
    scale_of,
)


def plot_polar(side: SideEvents, notch: int, direction: str = FORWARD, unit: str = "mm", ax: Any = None) -> Any:
    """Valve displacement set off along the crank, direction of running anticlockwise from front dead centre.

    Thin circles: the equivalent eccentric alone. Heavy curve: the exact motion. Arcs: the steam laps; the part
    of a curve outside its arc is steam opening. ``ax`` must be polar.
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
        for values, width in ((alike, 0.9), (v, 1.8)):
            out = edge.sign * values
            ax.plot(
                angle,
                np.where(out >= 0, out, np.nan),
                color=INK,
                lw=width,
                ls=DASHES[end] if width > 1 else "-",
                label=f"valve, {end} port" if width > 1 else None,
            )
        ax.plot(
            angle, np.full_like(angle, edge.lap * scale), color=STEAM, lw=0.9, ls=DASHES[end], label=f"steam lap, {end}"
        )
        _mark(side, notch, direction, end, ax, scale)
    ax.set_theta_zero_location("E")
    ax.set_xticks(np.radians(np.arange(0, 360, 45)))
    ax.set_ylim(0, None)
    ax.set_yticklabels([])
    ax.legend(loc="center left", bbox_to_anchor=(1.12, 0.5), fontsize=8)
    return ax


def _mark(side: SideEvents, notch: int, direction: str, end: str, ax: Any, scale: float) -> None:
    own = side.events[direction][end]
    for event in EVENTS:
        if np.isnan(own.angle[event][notch]):
            continue
        steam = event in ("admission", "cutoff")
        edge = side.ports.edge("steam" if steam else "exhaust", end)
        colour = STEAM if steam else EXHAUST
        at = np.radians(own.angle[event][notch] + dead_centre(side, end, direction))
        ax.plot(
            at,
            abs(edge.lap) * scale,
            MARKS[event],
            color=colour,
            mfc=colour if end == "front" else PAPER,
            ms=5,
            zorder=5,
        )
