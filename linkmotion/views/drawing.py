"""The gear from the side, to scale, in any notch and at any place of the wheel, with the steam where it is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from linkmotion.elevation.body import Body, Places
from linkmotion.elevation.side_elevation import Elevation, outer_points
from linkmotion.engine import Engine
from linkmotion.events import FORWARD
from linkmotion.files.lengths import format_length
from linkmotion.sides import side_words
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.side_drawing import Standing, elevation_of, standing_at
from linkmotion.views.elevation_axes import ALWAYS, Ghost, Sheet, lay
from linkmotion.views.elevation_furniture import Box, furnish
from linkmotion.views.labels import Call, Names
from linkmotion.views.style import FLAG, INK, axes_or_new, label, scale_of

_WHOLE = 430.0  # points: axes on which lines have their full weight
LEAST_OVERRUN = 0.01  # mm
_UNNAMED = ("frame", "sector", "bracket", "wheel", "rail", "piston rod", "block", "eccentric")
_RANK = ("link", "die", "rod", "lever", "arm", "main rod", "crosshead", "valve", "bearing", "cylinder")


def plot_gear(
    side: SideEvents,
    notch: int,
    crank_angle: float = 45.0,
    ax: Any = None,
    names: bool = True,
    *,
    direction: str = FORWARD,
    unit: str = "mm",
    view: Box | None = None,
    engine: Engine | None = None,
    elevation: Elevation | None = None,
    ghost: Ghost | None = None,
    marked: Mapping[str, str] | None = None,
) -> Any:
    """Draw the gear to scale, the front to the right, and cylinder and valve in section.

    Parameters
    ----------
    side, notch : SideEvents, int
        The side, and the number of the notch.
    crank_angle, direction : float, str
        Degrees from front dead centre in the direction of running, "forward" or "backward".
    names : bool
        Name the parts beside them.
    unit, view : str, (left, low, right, high)
        In what the axes measure, from the axle; what of the drawing is shown, the whole unless given.
    engine, elevation : optional
        Whose file gives wheel, bore and the like (else in proportion to the crank); the drawing, if made before.
    ghost, marked : optional
        What is laid over it as outlines; parts to be drawn heavier, with what is to be said of each.
    """
    ax = axes_or_new(ax)
    ax.set_axis_off()
    ax.figure.figure.draw_without_rendering()  # so that its size is known
    own = elevation_of(side, engine) if elevation is None else elevation
    now = standing_at(own, side, notch, crank_angle, direction)
    sheet = Sheet(ax, scale_of(unit), ALWAYS | now.spaces, fineness(ax), view)
    lay(sheet, own, now.places, marked=tuple(marked or ()))
    if ghost is not None:
        sheet.ghost(own, now.places, ghost)
    words = [_words(side, notch, crank_angle, direction), *_remarks(own, now, unit, ghost, side.state)]
    box = view or _scaled(_with_margin(own), sheet.scale)
    written = furnish(ax, unit, "; ".join(words) + ".", sheet.held, box)
    calls = list(_calls(own, now.places, sheet.scale, marked or {}, names))
    calls += _notch_calls(own, side.notches, notch, sheet.scale) if names else []
    ax.add_artist(Names(ax, [seen for call in calls if (seen := call.within(box)).places], sheet.taken, written))
    return ax


def _remarks(own: Elevation, now: Standing, unit: str, ghost: Ghost | None, state: str) -> Iterator[str]:
    """What else must be said for the picture to be true."""
    if ghost is not None:
        yield ghost.told(state)
    if now.overrun > LEAST_OVERRUN:
        yield f"the die stands {format_length(now.overrun, unit)} beyond the slot's end"
    if own.section.lift:
        yield "the steam chest lies beside the cylinder and is drawn clear of it, tied to its spindle"


def fineness(ax: Any) -> float:
    """By what lines are to be thinner than on a whole sheet, for axes so wide."""
    return float(np.clip(ax.get_window_extent().width * 72 / ax.figure.dpi / _WHOLE, 0.4, 1.0))


def height_for(elevation: Elevation, width: float) -> float:
    """How high a picture so wide must be, with what stands below the drawing; alike in any one unit (inches)."""
    left, low, right, high = _with_margin(elevation)
    return width * (high - low) / (right - left) + (0.72 if elevation.section.lift else 0.57)


def _scaled(box: Box, scale: float) -> Box:
    left, low, right, high = box
    return scale * left, scale * low, scale * right, scale * high


def _with_margin(elevation: Elevation) -> Box:
    left, low, right, high = elevation.box
    rim = 0.3 * elevation.paths.r
    return left - rim, low - 0.2 * rim, right + rim, high + rim


def _words(side: SideEvents, notch: int, crank_angle: float, direction: str) -> str:
    where = f"State: {side.state}, {side.standing}; {side_words(side.side)}; notch: {side.notches[notch]}"
    return f"{where}; crank {crank_angle:g}° from front dead centre, running {direction}"


def _named(elevation: Elevation, marked: Mapping[str, str]) -> list[Body]:
    """Bodies that have a name beside them, those first that are most wanted; what is marked has one in any case."""
    found = {
        body.name: body
        for body in elevation.bodies
        if body.name in marked or (body.spine and body.kind not in _UNNAMED)
    }
    rank = {kind: number for number, kind in enumerate(_RANK)}
    return sorted(found.values(), key=lambda body: rank.get(body.kind, len(rank)))


def _notch_calls(elevation: Elevation, notches: tuple[str, ...], notch: int, scale: float) -> list[Call]:
    """The notch that the reverser stands in, and the outermost two, at their marks on the sector."""
    body = next((body for body in elevation.bodies if body.kind == "sector"), None)
    if body is None:
        return []
    shown = dict.fromkeys((notch, 0, len(notches) - 1))
    return [Call(label(notches[i], 24).strip(), (scale * body.spine[i],), INK) for i in shown]


def _calls(
    elevation: Elevation, places: Places, scale: float, marked: Mapping[str, str], names: bool
) -> Iterator[Call]:
    """Names of parts where they stand, and what is said of those that are marked."""
    for body in _named(elevation, marked):
        pose = body.follows.place(places)
        points = [pose.origin + pose.turn * point for point in body.spine] or [complex(outer_points(body, pose).mean())]
        at = tuple(scale * point for point in points)
        if body.name in marked:
            yield Call(": ".join(filter(None, (body.name, marked[body.name].strip()))), at, FLAG)
        elif names:
            yield Call(body.name, at, INK)
