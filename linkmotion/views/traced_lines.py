"""The lines of a gear as an image sees them: what is laid over a drawing or a photograph."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from linkmotion.elevation.body import Places
from linkmotion.elevation.outlines import Circle, Line, Outline
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.measuring.plane_of_image import PlaneOfImage

_UNDER = ("frame", "wheel", "cylinder", "valve", "rail", "sector", "piston", "bracket")  # drawn thinner
_ROUND = np.exp(2j * np.pi * np.arange(49) / 48)
_FAR = 1e5  # pixels: what is seen beyond lies behind the camera, or nearly


def seen_lines(
    view: PlaneOfImage, elevation: Elevation, places: Places
) -> Iterator[tuple[NDArray[np.complex128], bool]]:
    """Every line as it is seen, pixels u − iv, and whether it is of the gear itself.

    Parameters
    ----------
    view, elevation, places
        How the plane is seen; what is drawn; where its pins stand, mm.
    """
    for body in elevation.bodies:
        pose = body.follows.place(places)
        for line in _lines(body.shapes):
            seen = np.asarray(view.seen(pose.origin + pose.turn * line))
            if np.all(np.abs(seen) < _FAR):
                yield seen, body.kind not in _UNDER


def lines_svg(view: PlaneOfImage, elevation: Elevation, places: Places) -> Markup:
    """The same as SVG in the image's pixels: what stands behind, and the gear with a paler line round each of its own.

    Parameters
    ----------
    view, elevation, places
        As for :func:`seen_lines`.
    """
    paths: dict[bool, list[str]] = {False: [], True: []}
    for line, of_gear in seen_lines(view, elevation, places):
        paths[of_gear].append("M" + "L".join(f"{at.real:.1f} {-at.imag:.1f}" for at in line))
    drawn = Markup('<path class="behind-it" d="{}"/><defs><path id="gear-seen" d="{}"/></defs>')
    used = Markup('<use href="#gear-seen" class="paler"/><use href="#gear-seen" class="of-gear"/>')
    return drawn.format("".join(paths[False]), "".join(paths[True])) + used


def _lines(shapes: Any) -> Iterator[NDArray[np.complex128]]:
    for shape in shapes:
        match shape:
            case Outline(space=space):
                if not space:
                    yield from shape.rings()
            case Line(points=points):
                yield points
            case Circle(at=at, radius=radius):
                yield at + radius * _ROUND
