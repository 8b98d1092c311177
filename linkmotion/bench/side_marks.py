"""Dimensions on the page's drawing: where each lies, for the page's script to write its letter and figure at."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
from markupsafe import Markup

from linkmotion.elevation.dimension_marks import ANGLE, NOTCHES, RADIUS, DimensionMark, dimension_marks
from linkmotion.elevation.side_elevation import Elevation

_ARC = 0.45  # of the crank radius: radius of an angle's arc, at most
_POINTS = 17


def marks_svg(elevation: Elevation, places: Mapping[str, complex], notch: int) -> Markup:
    """A group for each dimension that can be seen, in the SVG's own axes (y down).

    ``data-figure`` names the figure as the page does; the line that is drawn for it is the group's path.
    """
    found = dimension_marks(elevation, places, notch)
    name = elevation.paths.notches[notch]
    made = (_group(mark, name, elevation.paths.r) for mark in found)
    return Markup('<g class="dims" aria-hidden="true">{}</g>').format(Markup("").join(made))


def _group(mark: DimensionMark, notch: str, r: float) -> Markup:
    figure = ".".join((*mark.key, notch) if mark.key == NOTCHES else mark.key)
    runs = Markup("").join(Markup('<path d="M{}"/>').format(_run(points)) for points in _lines(mark, r))
    return Markup('<g class="dim" data-figure="{}" data-letter="{}">{}</g>').format(figure, mark.letter, runs)


def _lines(mark: DimensionMark, r: float) -> Iterator[list[complex]]:
    """Its lines; the first is the dimension's own."""
    start, end, centre = mark.start, mark.end, mark.centre
    if mark.kind == ANGLE and centre is not None:
        out = min(_ARC * r, 0.6 * abs(end - centre)) or _ARC * r
        unit = (start - centre) / (abs(start - centre) or 1.0)
        turned = np.radians(mark.turned) * np.linspace(0, 1, _POINTS)
        yield [complex(centre + out * unit * np.exp(1j * angle)) for angle in turned]
        yield [centre, centre + 1.25 * out * unit]
        yield [centre, centre + 1.25 * out * unit * complex(np.exp(1j * np.radians(mark.turned)))]
    elif centre is not None:
        ratio = (end - centre) / (start - centre)
        yield [complex(centre + (start - centre) * ratio**share) for share in np.linspace(0, 1, _POINTS)]
        if mark.kind == RADIUS:
            middle = centre + (start - centre) * ratio**0.5
            yield [middle, middle + (centre - middle) * min(1.0, r / abs(centre - middle))]
    else:
        yield [start, end]
        if mark.abreast is not None:
            yield [mark.abreast, start]


def _run(points: list[complex]) -> str:
    return "L".join(f"{p.real:.1f} {-p.imag:.1f}" for p in points)
