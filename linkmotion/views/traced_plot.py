"""A gear drawn over an image of it, as the image sees it, and the points that were put."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from linkmotion.elevation.body import Places
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.gears.slots import is_seen
from linkmotion.measuring.plane_of_image import PlaneOfImage
from linkmotion.views.labels import Call, Names
from linkmotion.views.style import FLAG, INK, axes_or_new
from linkmotion.views.traced_lines import seen_lines

_GEAR = "#0b5fa5"
_PLAIN = ("L", "RGB", "RGBA", "I", "I;16", "F")  # of pixels that are drawn as they are


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
        for seen, of_gear in seen_lines(view, *gear):
            ax.plot(seen.real, -seen.imag, color=_GEAR, lw=0.9 if of_gear else 0.35, alpha=0.9, zorder=3)
            if of_gear and len(seen) > 1:
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
    """An image's pixels, upright as it is seen: a camera held on its side notes so beside them."""
    from PIL import Image, ImageOps

    with Image.open(path) as read:
        upright = ImageOps.exif_transpose(read)
        return np.asarray(upright if upright.mode in _PLAIN else upright.convert("RGB"))


def _beside(name: str) -> bool:
    """Whether a point is one of several that stand too close together for names."""
    return not is_seen(name)
