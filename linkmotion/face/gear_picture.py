"""The one drawing of a side, as it is asked for in a notebook."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from linkmotion.elevation.side_elevation import Elevation
from linkmotion.face.names import known
from linkmotion.face.notched import NotchedSide, StudiedSide
from linkmotion.studies.side_drawing import elevation_of, standing_at
from linkmotion.views.drawing import plot_gear
from linkmotion.views.elevation_axes import Ghost
from linkmotion.views.elevation_furniture import Box
from linkmotion.views.style import scale_of

_RIM = 0.3  # of the crank radius: what is left free about the parts that a picture is held to


def gear_picture(
    side: NotchedSide,
    notch: str,
    crank_angle: float,
    names: bool,
    ax: Any,
    around: Collection[str],
    marked: dict[str, str],
    ghost: NotchedSide | None,
    factor: float,
) -> Any:
    """Draw a side in a notch, what is asked for by name being known to it."""
    engine = getattr(side, "engine", None)  # a side that a study made has no file
    elevation = elevation_of(side.assessed, engine)
    parts = sorted({body.name for body in elevation.bodies})
    for part in (*around, *marked):
        known("part", part, parts)
    over = None
    if ghost is not None:
        own = elevation_of(ghost.assessed, engine, like=elevation)
        places = standing_at(own, ghost.assessed, ghost[notch].number, crank_angle).places
        over = Ghost(own, places, _called(ghost), factor)
    return plot_gear(
        side.assessed,
        side[notch].number,
        crank_angle,
        ax,
        names,
        unit=side.unit,
        engine=engine,
        elevation=elevation,
        ghost=over,
        marked=marked,
        view=_about(elevation, around, scale_of(side.unit)) if around else None,
    )


def _about(elevation: Elevation, parts: Collection[str], scale: float) -> Box:
    """Room for some parts in every notch all round the wheel: left, low, right, high, in the axes' unit."""
    left, low, right, high = elevation.extent(body for body in elevation.bodies if body.name in parts)
    rim = _RIM * elevation.paths.r
    return scale * (left - rim), scale * (low - rim), scale * (right + rim), scale * (high + rim)


def _called(side: NotchedSide) -> str:
    """What a side is, in a word or two."""
    if isinstance(side, StudiedSide):
        return side.what
    return side.assessed.state + ", changed" * bool(getattr(side, "changes", None))
