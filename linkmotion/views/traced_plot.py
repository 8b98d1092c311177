"""A gear drawn over an image of it, as the image sees it, and the points that were put."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from linkmotion.elevation.body import Places
from linkmotion.elevation.outlines import Circle, Line, Outline
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.gears.slots import is_seen
from linkmotion.measuring.plane_of_image import PlaneOfImage
from linkmotion.views.labels import Call, Names
from linkmotion.views.style import FLAG, INK, axes_or_new

_UNDER = ("frame", "wheel", "cylinder", "valve", "rail", "sector", "piston", "bracket")  # drawn thinner
_ROUND = np.exp(2j * np.pi * np.arange(49) / 48)
_GEAR = "#0b5fa5"


def plot_traced(
    image: Any, view: PlaneOfImage, points: Mapping[str, complex], gear: tuple[Elevation, Places] | None, ax: Any = None
) -> Any:
    """Draw the image, the gear over it, and each point with its name.

    Parameters
    ----------
    image : array
        As matplotlib reads it.
    view : PlaneOfImage
        How the plane is seen.
    points : dict
        Where points were put, pixels, u − iv.
    gear : (Elevation, places) or None
        What is laid over; None where the gear does not close.
    ax : Axes, optional
    """
    ax = axes_or_new(ax)
    ax.imshow(image, cmap="gray", interpolation="bilinear")
    ax.set_axis_off()
    size = 0.004 * np.shape(image)[1]
    taken = [(shapely.Point(at.real, -at.imag).buffer(size), 1.0) for at in points.values()]
    if gear is not None:
        elevation, places = gear
        for body in elevation.bodies:
            thick = 0.35 if body.kind in _UNDER else 0.9
            pose = body.follows.place(places)
            for line in _lines(body.shapes):
                seen = view.seen(pose.origin + pose.turn * line)
                ax.plot(seen.real, -seen.imag, color=_GEAR, lw=thick, alpha=0.9, zorder=3)
                if body.kind not in _UNDER and len(seen) > 1:
                    line = shapely.LineString(np.stack([seen.real, -seen.imag], axis=1))
                    taken.append((line.buffer(size), 1.0))
    for at in points.values():
        ax.plot([at.real], [-at.imag], "+", color=FLAG, ms=7, mew=0.9, zorder=5)
    height, width = np.shape(image)[:2]
    ax.set_xlim(-0.5, width - 0.5)
    ax.set_ylim(height - 0.5, -0.5)
    calls = [Call(name, (complex(at.real, -at.imag),), INK) for name, at in points.items() if not _beside(name)]
    ax.add_artist(Names(ax, calls, taken))
    return ax


def read_image(path: Path) -> Any:
    """An image's pixels."""
    from matplotlib.image import imread

    return imread(path)


def _beside(name: str) -> bool:
    """Whether a point is one of several that stand too close together for names."""
    return not is_seen(name)


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
