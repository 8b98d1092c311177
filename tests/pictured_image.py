"""An example engine drawn by the program to an image: its paper sheared or a camera's perspective, and blurred.

    python -m tests.pictured_image FOLDER

writes the picture of ``examples/pictures`` anew, with the points that a hand put on it.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter, map_coordinates

from linkmotion.elevation.valve_shape import UNTOLD
from linkmotion.engine import DRAWING
from linkmotion.files.engine_file import read_engine
from linkmotion.studies.assess import assess_side
from linkmotion.studies.side_drawing import elevation_of
from linkmotion.views.elevation_axes import Sheet, lay
from tests.bad_engines.changed import EXAMPLES
from tests.pictured_engines import Matrix, drawn_on_paper, pictured, through_matrix

BLUR = 1.2  # pixels
FINE = 1.5  # pixels of the flat drawing for one of the image
Grey = NDArray[np.float64]


def flat_drawing(name: str, notch: int, crank_angle: float, pixels: float) -> tuple[Grey, Matrix]:
    """The engine's left side in elevation, white to black 1 to 0; and the matrix from mm to its pixels."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    engine = read_engine(EXAMPLES / name)
    side = assess_side(engine.side_state(DRAWING, "left"))
    elevation = elevation_of(side, engine)
    left, low, right, high = elevation.box
    rim = 100.0
    left, low, right, high = left - rim, low - rim, right + rim, high + rim
    dpi = 100.0
    figure = Figure(figsize=((right - left) * pixels / dpi, (high - low) * pixels / dpi), dpi=dpi)
    canvas = FigureCanvasAgg(figure)
    ax = figure.add_axes((0, 0, 1, 1))
    ax.set_xlim(left, right)
    ax.set_ylim(low, high)
    ax.set_axis_off()
    sheet = Sheet(ax, 1.0, dict.fromkeys(("front", "back", "steam", "exhaust"), UNTOLD), 1.0)
    lay(sheet, elevation, elevation.places(notch, crank_angle))
    canvas.draw()
    grey = np.asarray(canvas.buffer_rgba())[:, :, :3].mean(axis=2) / 255.0
    base = grey.shape[0] + low * pixels - 0.5  # whole pixels, told from below; a pixel's own place is its middle
    matrix = np.array([[pixels, 0.0, -left * pixels - 0.5], [0.0, -pixels, base], [0.0, 0.0, 1.0]])
    return grey, matrix


def seen_through(grey: Grey, flat: Matrix, matrix: Matrix, shape: tuple[int, int], blur: float = BLUR) -> Grey:
    """The flat drawing as another view of the plane has it, blurred."""
    v, u = np.mgrid[: shape[0], : shape[1]].astype(float)
    there = flat @ np.linalg.inv(matrix) @ np.stack([u.ravel(), v.ravel(), np.ones(u.size)])
    at = there[:2] / there[2]
    warped = map_coordinates(grey, [at[1], at[0]], order=1, cval=1.0).reshape(shape)
    return np.asarray(gaussian_filter(warped, blur))


def framed(matrix: Matrix, box: tuple[float, float, float, float]) -> tuple[Matrix, tuple[int, int]]:
    """A view moved so that a part of the plane lies within its image, and the image's rows and columns."""
    left, low, right, high = box
    corners = np.array([[left, right, right, left], [low, low, high, high], [1.0] * 4])
    seen = matrix @ corners
    u, v = seen[:2] / seen[2]
    shift = np.array([[1.0, 0.0, 20 - u.min()], [0.0, 1.0, 20 - v.min()], [0.0, 0.0, 1.0]])
    return shift @ matrix, (int(np.ptp(v)) + 40, int(np.ptp(u)) + 40)


HEAD = """\
# The general arrangement of an INVENTED engine, drawn by linkmotion and spoilt as old paper is: points put on it by a
# hand that is right to 3 pixels 19 times in 20.
#
#   linkmotion trace dock_sister.toml pictures/dock_arrangement-picks.toml --picture over.svg

[picture]
file = "dock_arrangement.png"
kind = "drawing"
within = 3                     # pixels, 19 in 20
line = 2                       # pixels
paper = 1                      # percent

[[known]]                      # the wheel over its tread, along and upright: two lengths, for paper shrunk unevenly
between = ["tread, back", "tread, front"]
length = "42 in"

[[known]]
between = ["tread, rail", "tread, top"]
length = "42 in"

[[known]]
level = ["rail, back", "rail, front"]

[points]
"""


def main(folder: Path) -> None:
    """Write the picture and its points."""
    from matplotlib.image import imsave

    name, rng = "dock_shunter.toml", np.random.default_rng(4)
    grey, flat = flat_drawing(name, 0, 0.0, 1.0)
    matrix, shape = framed(drawn_on_paper(rng, 0.7), (-680.0, -620.0, 2750.0, 860.0))
    image = seen_through(grey, flat, matrix, shape)
    imsave(folder / "dock_arrangement.png", image, cmap="gray", vmin=0.0, vmax=1.0)
    half = 21 * 25.4
    marks = {"tread, back": -half + 0j, "tread, front": half + 0j, "tread, rail": -half * 1j, "tread, top": half * 1j,
             "rail, back": -600 - half * 1j, "rail, front": 2600 - half * 1j}  # fmt: skip
    lines = []
    for point, at in (pictured(name, 0, "front").pins | marks).items():
        put = through_matrix(matrix, at) + 3 / 1.959964 * complex(*rng.standard_normal(2))
        lines.append(f'"{point}" = [{put.real:.1f}, {-put.imag:.1f}]\n')
    (folder / "dock_arrangement-picks.toml").write_text(HEAD + "".join(lines), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
