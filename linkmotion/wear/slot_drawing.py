"""A slot as drawn, curved or straight, and the courses that its faces may be given: arcs about one centre, or lines.

Axes of this module: origin on the drawn centre line at mid slot, x forward and y up with the link upright. A
place along the slot is measured on the drawn centre line from its middle, + up, mm. A loss or a depth is measured
square to the drawn face, + into the metal, so that a worn face is a function of the place:

    curved      point = centre + (face radius + sign · depth) · ray(place),   sign = +1 on the face far from the centre
    straight    point = (sign · (width/2 + depth), place),                    sign = +1 on the front face

Both finished faces are courses of one family, which a ``shift`` tells (complex), and each has a ``size`` of its own:
arcs whose common centre stands ``shift`` from the drawn one, the size being the radius; or lines that lean ``shift``'s
imaginary part ahead for each mm up, the size being how far ahead they stand at mid slot. Such a line is what the arc
becomes as its radius grows: about a centre higher by dy the arc leans by dy/radius, and that the centre stands further
off can no longer be told from the radius. A size grows with wear where the sign is +1.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from linkmotion.linkage.parts import XY

FRONT, BACK = "front", "back"
FACES = (FRONT, BACK)
REACH = 0.5  # how far a centre may move, of the slot's radius; how far a line may lean, mm each mm
Floats = NDArray[np.float64]


class SlotError(ValueError):
    """Figures of a slot, or readings, that cannot be used.

    Attributes
    ----------
    words, remedy : str
        What is wrong, with ``{0}``, ``{1}`` … where ``sizes`` go in the reader's units; what to do.
    sizes : tuple of float
        mm.
    """

    def __init__(self, words: str, remedy: str, *sizes: float) -> None:
        self.words, self.remedy, self.sizes = words, remedy, sizes
        super().__init__(f"slot: {words.format(*(f'{size:g} mm' for size in sizes))}\n  {remedy}")


@dataclass(frozen=True)
class Arc:
    """A true arc (its figures numbers, or arrays of variants).

    Attributes
    ----------
    centre : (x, y)
        mm from mid slot, forward and up.
    radius : float
        mm.
    """

    centre: XY
    radius: Any

    @property
    def place(self) -> Any:
        """The centre as a complex number."""
        return self.centre[0] + 1j * self.centre[1]


@dataclass(frozen=True)
class Line:
    """A true line (its figures numbers, or arrays of variants).

    Attributes
    ----------
    ahead : float
        How far it stands ahead of mid slot there, mm.
    lean : float
        How much further ahead it stands for each mm up.
    """

    ahead: Any
    lean: Any = 0.0

    @property
    def square(self) -> Any:
        """What is square to the line of what lies along x: the cosine of its angle from upright."""
        return 1 / np.sqrt(1 + self.lean**2)

    @property
    def degrees(self) -> Any:
        """Its angle from upright, + leaning ahead at the top."""
        return np.degrees(np.arctan(self.lean))


Course = Arc | Line


class SlotDrawing(ABC):
    """A slot as drawn, lengths mm.

    Attributes
    ----------
    width : float
        Between its faces.
    top, bottom : float
        Reach of the faces above and below mid slot, along the centre line.
    die_length : float
        Of the die block along the slot: the pin reaches half of it less than the faces.
    about : str
        What both faces are struck from: "centre" or "line".
    course : str
        What a finished face is: "arc" or "line".
    free : tuple of int
        Which parts of a shift there are: 0 along x, 1 along y.
    span : float
        What a shift of one part in one is measured by: the radius; 1 for a lean.
    """

    width: float
    top: float
    bottom: float
    die_length: float
    about: ClassVar[str]
    course: ClassVar[str]
    free: ClassVar[tuple[int, ...]]
    span: float

    def _refuse(self) -> None:
        """Refuse what makes no slot; the first of what is looked at by all."""
        if self.length <= self.die_length or self.die_length < 0:
            raise SlotError("the slot is not longer than the die block", "look at top, bottom and die_length")

    @property
    def length(self) -> float:
        """Of the faces, along the centre line."""
        return self.top + self.bottom

    @property
    def pin_reach(self) -> Floats:
        """Places of the pin at the ends of its reach."""
        return np.array([self.die_length / 2 - self.bottom, self.top - self.die_length / 2])

    @property
    @abstractmethod
    def still(self) -> Floats:
        """The free figures of a course that is not shifted: the drawn centre; no lean."""

    @property
    @abstractmethod
    def line(self) -> Course:
        """The drawn centre line."""

    @property
    @abstractmethod
    def room(self) -> Floats:
        """How far a shift may go along x and along y to tell about alike on a face; nothing where there is none."""

    @abstractmethod
    def sign(self, face: str) -> int:
        """+1 for a face whose size grows with wear, else −1."""

    @abstractmethod
    def size(self, face: str) -> float:
        """Size of a face as drawn."""

    @abstractmethod
    def fitted(self, figures: Any, size: Any) -> Any:
        """The course by its free figures, shape (..., number of them), and its size, shape (...)."""

    @abstractmethod
    def point(self, face: str, place: Any, depth: Any = 0.0) -> Any:
        """Point of a face, or below it by a depth, shape (..., 2)."""

    @abstractmethod
    def line_point(self, place: Any) -> Any:
        """Point of the drawn centre line, shape (..., 2)."""

    @abstractmethod
    def place_of(self, point: Any) -> Any:
        """Place along the slot of a point (complex, from mid slot), mm."""

    @abstractmethod
    def depth(self, face: str, place: Any, course: Any) -> Any:
        """Depth of a course below the drawn face at a place, mm, square to the drawn face."""

    @abstractmethod
    def slopes(self, face: str, place: Any, course: Any) -> Any:
        """Derivative of a course's depth to its shift along x and along y and to its size, shape (..., 3)."""

    @abstractmethod
    def farthest(self, face: str, places: Floats, depths: Any, shift: complex, outward: int) -> float:
        """Greatest size (``outward`` +1), or least (−1), with which a course of a shift meets a surface, exact.

        The surface has ``depths`` at ``places`` and straight lines of depth between them.
        """

    @abstractmethod
    def beside(self, course: Any, ahead: float) -> Any:
        """The course of the same shift so much further ahead, mm."""

    @abstractmethod
    def apart(self, course: Any, behind: Any) -> float:
        """How far a course lies ahead of another of the same shift, mm."""

    @abstractmethod
    def strays(self, course: Any) -> tuple[float, float]:
        """How far a course lies ahead of the drawn centre line within the pin's reach, least and greatest, mm."""

    def shifted(self, shift: complex, size: float) -> Course:
        """The course of a shift and a size."""
        own = np.array([(shift.real, shift.imag)[i] for i in self.free])
        found: Course = self.fitted(self.still + own, size)
        return found

    def nearest_path(self, course: Any) -> tuple[Any, float]:
        """Course of the same shift nearest to the drawn centre line within the pin's reach; its greatest distance."""
        low, high = self.strays(course)
        return self.beside(course, -(low + high) / 2), (high - low) / 2


def pair(z: Any) -> Any:
    """Complex places as (x, y), shape (..., 2)."""
    return np.stack([z.real, z.imag], axis=-1)
