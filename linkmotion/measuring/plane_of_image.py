"""An image of a plane: where a place of the plane is seen, and back.

==========  ====================================================  =======  ============================================
quantity    symbol                                                unit     sign or meaning
==========  ====================================================  =======  ============================================
place       z = x + iy                                            mm       in the plane: x ahead, y up
seen at     p = u − iv                                            pixels   u to the right, v down from the upper left
seen        p = (a z + b conj(z) + c) / (1 + Re(conj(k) z))       pixels   z told from ``about``, in its ``size``
==========  ====================================================  =======  ============================================

a alone turns and scales, b/a stretches and shears (a drawing's paper that shrank unevenly), k is a photograph's
perspective: the eight numbers are those of any map of a plane to a plane that keeps straight lines straight.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

NUMBERS = 8  # a, b, c, k: their parts


@dataclass(frozen=True)
class PlaneOfImage:
    """How a plane is seen in an image.

    Attributes
    ----------
    about, size : complex, float
        From which place, and in what length, places are told within, mm: so that all four numbers are of pixels' size.
    turned, stretched, shifted, leaning : complex
        a, b, c and k.
    """

    about: complex
    size: float
    turned: complex
    stretched: complex = 0j
    shifted: complex = 0j
    leaning: complex = 0j

    @property
    def numbers(self) -> NDArray[np.float64]:
        """The eight numbers, as they are estimated."""
        own = (self.turned, self.stretched, self.shifted, self.leaning)
        return np.array([part for each in own for part in (each.real, each.imag)])

    def with_numbers(self, numbers: NDArray[np.float64]) -> PlaneOfImage:
        """The same plane seen otherwise."""
        a, b, c, k = (complex(x, y) for x, y in numbers.reshape(4, 2))
        return PlaneOfImage(self.about, self.size, a, b, c, k)

    @property
    def pixels(self) -> float:
        """Pixels for a millimetre, about."""
        return abs(self.turned) / self.size

    def seen(self, places: Any) -> Any:
        """Where places of the plane are seen, pixels."""
        z = (np.asarray(places) - self.about) / self.size
        over = 1 + self.leaning.real * z.real + self.leaning.imag * z.imag
        return (self.turned * z + self.stretched * np.conj(z) + self.shifted) / over

    def place(self, seen: Any) -> Any:
        """Which places of the plane are seen at some pixels, mm."""
        p = np.asarray(seen)
        x = self.turned + self.stretched - p * self.leaning.real
        y = 1j * (self.turned - self.stretched) - p * self.leaning.imag
        left = p - self.shifted
        whole = x.real * y.imag - x.imag * y.real
        along = (left.real * y.imag - left.imag * y.real) / whole
        up = (x.real * left.imag - x.imag * left.real) / whole
        return self.about + self.size * (along + 1j * up)


def through(places: Sequence[complex], seen: Sequence[complex], leaning: bool) -> PlaneOfImage | None:
    """The plane by points of known places, least squares in the equations made linear: a start for the whole.

    Parameters
    ----------
    places, seen : sequences of complex
        In the plane, mm; in the image, pixels.
    leaning : bool
        Whether the plane may be seen in perspective.

    Returns
    -------
    PlaneOfImage or None
        None where the points do not tell it: fewer than three (four in perspective), or in line.
    """
    z, p = np.asarray(places), np.asarray(seen)
    if len(z) < (4 if leaning else 3):
        return None
    about, size = complex(np.mean(z)), float(np.max(np.abs(z - np.mean(z))))
    if size == 0:
        return None
    w = (z - about) / size
    columns = [w, 1j * w, np.conj(w), 1j * np.conj(w), np.ones_like(w), 1j * np.ones_like(w)]
    columns += [-p * w.real, -p * w.imag] if leaning else []
    rows = np.stack(columns, axis=1)
    scale = np.max(np.abs(rows), axis=0)
    scale = np.where(scale > 0, scale, 1.0)
    real = np.concatenate([(rows / scale).real, (rows / scale).imag])
    found, _left, rank, _sizes = np.linalg.lstsq(real, np.concatenate([p.real, p.imag]), rcond=1e-6)
    if rank < len(columns):
        return None
    numbers = np.zeros(NUMBERS)
    numbers[: len(columns)] = found / scale
    return PlaneOfImage(about, size, 1 + 0j).with_numbers(numbers)
