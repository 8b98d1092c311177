"""The slot drawn to scale as it is to be cut, and the cut along each face magnified. Each returns its axes."""

from __future__ import annotations

from typing import Any

import numpy as np

from linkmotion.linkage.parts import XY
from linkmotion.studies.slot.cleanup import CleanUp
from linkmotion.studies.slot.parts import Proposal
from linkmotion.views.style import EXHAUST, FLAG, GRID, INK, PAPER, STEAM, axes_or_new, scale_of
from linkmotion.wear.slot_drawing import BACK, FACES, FRONT, SlotDrawing

_POINTS = 121


def plot_cleanup(
    done: CleanUp, proposal: Proposal | None = None, origin: XY = (0.0, 0.0), unit: str = "mm", ax: Any = None
) -> Any:
    """Draw a slot to scale: as drawn, as read, as it is to be cut, and the die block in it.

    Parameters
    ----------
    done, proposal : CleanUp, Proposal
        The last one of ``done`` when not given.
    origin : (x, y)
        Datum from mid slot, mm: the origin of the axes.
    unit : str
        Of lengths on the axes.
    ax : matplotlib axes, optional
        New ones unless given; returned.
    """
    ax, scale, drawing = axes_or_new(ax), scale_of(unit), done.drawing
    proposal = proposal or done.proposals[-1]
    places = np.linspace(-drawing.bottom, drawing.top, _POINTS)
    datum = np.array(origin)

    def shown(points: Any) -> tuple[Any, Any]:
        at = (points - datum) * scale
        return at[..., 0], at[..., 1]

    edges = [drawing.point(c.face, places, drawing.depth(c.face, places, c.course)) for c in proposal.faces]
    ax.fill(*shown(np.concatenate([edges[0], edges[1][::-1]])), color=GRID, alpha=0.45, lw=0)
    for face, edge in zip(FACES, edges, strict=True):
        ax.plot(*shown(drawing.point(face, places)), color=INK, lw=0.6, ls=(0, (4, 2)))
        ax.plot(*shown(edge), color=EXHAUST, lw=1.6)
        own = done.readings.on(face)
        ax.plot(*shown(drawing.point(face, own.places, own.losses)), ".", color=STEAM, ms=4)
    ax.plot(*shown(drawing.line_point(places)), color=INK, lw=0.6, ls=(0, (8, 2, 1, 2)))
    _die(ax, drawing, proposal, shown)
    ax.plot(0.0, 0.0, "+", color=INK, ms=13, mew=1.3)
    ax.set_aspect("equal")
    ax.set(xlabel=f"x from datum, {unit}", ylabel=f"y from datum, {unit}")
    return ax


def _die(ax: Any, drawing: SlotDrawing, proposal: Proposal, shown: Any) -> None:
    """The die block at mid slot, its pin centre on the pin's path."""
    if drawing.die_length:
        span = np.linspace(-0.5, 0.5, 25) * drawing.die_length
        die = proposal.die
        outline = [
            drawing.point(face, span, drawing.depth(face, span, course))
            for face, course in ((FRONT, die.front), (BACK, die.back))
        ]
        ring = np.concatenate([outline[0], outline[1][::-1], outline[0][:1]])
        ax.plot(*shown(ring), color=FLAG, lw=0.9)
    on_path = drawing.point(FRONT, 0.0, drawing.depth(FRONT, 0.0, proposal.path))  # the front face, were it on the path
    ax.plot(*shown(on_path), "o", color=FLAG, mfc=PAPER, ms=4)


def plot_face_cut(done: CleanUp, proposal: Proposal, face: str, unit: str = "mm", ax: Any = None) -> Any:
    """One face of a proposal magnified across: worn surface, finished surface, cut, and what stays low.

    Depth below the drawn face goes to the right for the front face and to the left for the back face, as in the link.

    Parameters
    ----------
    done, proposal, unit, ax
        As for :func:`plot_cleanup`.
    face : str
        "front" or "back".
    """
    ax, scale = axes_or_new(ax), scale_of(unit)
    cut = proposal.faces[FACES.index(face)]
    own, places = done.readings.on(face), cut.places * scale
    finished = done.drawing.depth(face, cut.places, cut.course) * scale
    loss = finished - (cut.cut - cut.hollow) * scale
    ax.fill_betweenx(places, loss, finished, where=finished >= loss, color=EXHAUST, alpha=0.25, lw=0, label="to be cut")
    if not cut.clean:
        ax.fill_betweenx(places, loss, finished, where=finished < loss, color=FLAG, alpha=0.35, lw=0, label="left low")
    ax.plot(loss, places, color=STEAM, lw=1.0)
    ax.errorbar(
        own.losses * scale, own.places * scale, xerr=2 * done.readings.uncertainty * scale,
        fmt=".", color=STEAM, ms=4, lw=0.7, label="read, ± two sigma",
    )  # fmt: skip
    ax.plot(finished, places, color=EXHAUST, lw=1.6, label="finished")
    ax.axvline(0.0, color=INK, lw=0.6, ls=(0, (4, 2)))
    ax.set(xlabel=f"depth below the drawn {face} face, {unit}", ylabel=f"place from mid slot, {unit}")
    ax.locator_params(axis="x", nbins=4)  # figures of four places do not stand closer
    if face == BACK:
        ax.invert_xaxis()
    ax.legend(loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=2)
    return ax
