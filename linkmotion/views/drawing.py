"""The gear from the side, to scale, in any notch and at any place of the wheel, with the steam where it is."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from matplotlib.patches import Rectangle

from linkmotion.elevation.body import Body, Places
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.engine import Engine
from linkmotion.events import FORWARD
from linkmotion.files.lengths import format_length
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.side_drawing import elevation_of, standing_at
from linkmotion.views.elevation_axes import ALWAYS, Ghost, Sheet, lay
from linkmotion.views.elevation_colours import ink_of
from linkmotion.views.elevation_furniture import furnish
from linkmotion.views.labels import Call, Names
from linkmotion.views.style import FLAG, INK, PAPER, axes_or_new, label, scale_of

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
    engine: Engine | None = None,
    elevation: Elevation | None = None,
    ghost: Ghost | None = None,
    marked: Mapping[str, str] | None = None,
    around: Collection[str] = (),
) -> Any:
    """Draw the gear to scale, the front to the right, and cylinder and valve in section.

    Parameters
    ----------
    side : SideEvents
        The side and its notches.
    notch : int
        Number of the notch.
    crank_angle : float
        Degrees from front dead centre, in the direction of running.
    names : bool
        Name the parts beside them.
    direction : str
        "forward" or "backward".
    unit : str
        In which the axes measure, from the axle.
    engine : Engine, optional
        Whose file gives wheel, bore and the like; without it they are in proportion to the crank.
    elevation : Elevation, optional
        The drawing, where it was made before.
    ghost : Ghost, optional
        What is laid over it as outlines, its difference enlarged.
    marked : dict, optional
        Parts that are drawn heavier, and what is to be said of each.
    around : collection of str, optional
        Parts to which the picture is held, with room for them in every notch all round the wheel.
    """
    ax = axes_or_new(ax)
    ax.set_axis_off()
    ax.figure.figure.draw_without_rendering()  # so that its size is known
    own = elevation_of(side, engine) if elevation is None else elevation
    now, scale, marked = standing_at(own, side, notch, crank_angle, direction), scale_of(unit), dict(marked or {})
    sheet = Sheet(ax, scale, ALWAYS | now.spaces)
    lay(sheet, own, now.places, marked=tuple(marked))
    told = [_words(side, notch, crank_angle, direction)]
    if ghost is not None:
        sheet.ghost(own, now.places, ghost)
        told.append(ghost.told(side.state))
    if now.overrun > LEAST_OVERRUN:
        told.append(f"the die stands {format_length(now.overrun, unit)} beyond the slot's end")
    if own.section.lift:
        told.append("the steam chest lies beside the cylinder and is drawn clear of it, tied to its spindle")
    left, low, right, high = (scale * edge for edge in _with_margin(own, around))
    steam = own.extent([own.body("cylinder")])[0] * scale < right  # or there is nothing to be told of it
    contents = (ALWAYS | now.spaces).values() if steam else ()
    written = furnish(ax, unit, "; ".join(told) + ".", contents, (left, low, right, high))
    if around:
        _cut_off_below(ax, low, written)
    if names or marked:
        calls = [_call(body, now.places, scale, marked) for body in _named(own) if names or body.name in marked]
        calls += _notch_calls(own, side.notches, notch, scale) if names else []
        calls = [call for call in calls if not around or _seen(ax, call.places, low)]
        ax.add_artist(Names(ax, calls, sheet.taken, written))
    return ax


def height_for(elevation: Elevation, width: float) -> float:
    """How high a picture so wide must be, with what stands below the drawing; alike in any one unit (inches)."""
    left, low, right, high = _with_margin(elevation)
    return width * (high - low) / (right - left) + (0.72 if elevation.section.lift else 0.57)


def _with_margin(elevation: Elevation, around: Collection[str] = ()) -> tuple[float, float, float, float]:
    wanted = [body for body in elevation.bodies if body.name in around]
    left, low, right, high = elevation.extent(wanted) if wanted else elevation.box
    rim = 0.3 * elevation.paths.r
    return left - rim, low - 0.2 * rim, right + rim, high + rim


def _cut_off_below(ax: Any, low: float, written: list[Any]) -> None:
    """What is drawn ends at the foot of the picture, above what is written there."""
    (left, right), foot = ax.get_xlim(), ax.get_ylim()[0]
    ax.add_patch(Rectangle((left, foot), right - left, low - foot, fc=PAPER, ec="none", zorder=42))
    for text in written:
        text.set_zorder(45)


def _seen(ax: Any, places: tuple[complex, ...], low: float) -> bool:
    (left, right), high = ax.get_xlim(), ax.get_ylim()[1]
    return any(left < at.real < right and low < at.imag < high for at in places)


def _words(side: SideEvents, notch: int, crank_angle: float, direction: str) -> str:
    where = f"State: {side.state}, {side.standing}; {side.side} side; notch: {side.notches[notch]}"
    return f"{where}; crank {crank_angle:g}° from front dead centre, running {direction}"


def _named(elevation: Elevation) -> list[Body]:
    """Bodies that have a name beside them, those first that are most wanted."""
    found = {body.name: body for body in elevation.bodies if body.spine and body.kind not in _UNNAMED}
    rank = {kind: number for number, kind in enumerate(_RANK)}
    return sorted(found.values(), key=lambda body: rank.get(body.kind, len(rank)))


def _notch_calls(elevation: Elevation, notches: tuple[str, ...], notch: int, scale: float) -> list[Call]:
    """The notch that the reverser stands in, and the outermost two, at their marks on the sector."""
    body = next((body for body in elevation.bodies if body.kind == "sector"), None)
    if body is None:
        return []
    shown = dict.fromkeys((notch, 0, len(notches) - 1))
    return [Call(label(notches[i], 24).strip(), (scale * body.spine[i],), INK) for i in shown]


def _call(body: Body, places: Places, scale: float, marked: Mapping[str, str]) -> Call:
    origin, turn = body.follows.place(places)
    at = tuple(scale * (origin + turn * point) for point in body.spine)
    if body.name in marked:
        return Call(f"{body.name}: {marked[body.name]}", at, FLAG)
    return Call(body.name, at, ink_of("rod"))
