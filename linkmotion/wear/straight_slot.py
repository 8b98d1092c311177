"""A straight slot as drawn, and the parallel lines that its faces may be given."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from linkmotion.wear.slot_drawing import FRONT, Floats, Line, SlotDrawing, SlotError, pair


@dataclass(frozen=True)
class StraightDrawing(SlotDrawing):
    """A straight slot as drawn, square to the link's x axis; lengths mm, as of :class:`SlotDrawing`.

    Examples
    --------
    >>> slot = StraightDrawing(width=50.0, top=120.0, bottom=120.0)
    >>> slot.point("front", 10.0, 2.0)  # the metal of the front face is ahead
    array([27., 10.])
    >>> slot.depth("back", 10.0, Line(-26.0, 0.01)).round(3)
    np.float64(0.9)
    """

    width: float
    top: float
    bottom: float
    die_length: float = 0.0
    about: ClassVar[str] = "line"
    course: ClassVar[str] = "line"
    free: ClassVar[tuple[int, ...]] = (1,)
    span: float = 1.0

    def __post_init__(self) -> None:
        figures = (self.width, self.top, self.bottom, self.die_length)
        if not np.all(np.isfinite(figures)) or not self.width > 0:
            raise SlotError("this width makes no slot", "give the width between the faces")
        self._refuse()

    @property
    def still(self) -> Floats:
        """No lean."""
        return np.zeros(1)

    @property
    def line(self) -> Line:
        """The drawn centre line."""
        return Line(0.0)

    @property
    def room(self) -> Floats:
        """Of lean alone."""
        return np.array([0.0, 1.0])

    def sign(self, face: str) -> int:
        """+1 for the front face, which stands further ahead with wear, −1 for the back one."""
        return 1 if face == FRONT else -1

    def size(self, face: str) -> float:
        """How far ahead a face stands as drawn."""
        return self.sign(face) * self.width / 2

    def fitted(self, figures: Any, size: Any) -> Line:
        """The line of a lean."""
        return Line(size, figures[..., 0])

    def point(self, face: str, place: Any, depth: Any = 0.0) -> Any:
        """Point of a face, or below it by a depth, shape (..., 2)."""
        return pair(self.sign(face) * (self.width / 2 + np.asarray(depth)) + 1j * np.asarray(place))

    def line_point(self, place: Any) -> Any:
        """Point of the drawn centre line, shape (..., 2)."""
        return pair(1j * np.asarray(place))

    def place_of(self, point: Any) -> Any:
        """Place along the slot of a point (complex)."""
        return np.asarray(point).imag

    def depth(self, face: str, place: Any, course: Line) -> Any:
        """Depth of a line below the drawn face at a place, mm, square to the drawn face."""
        return self.sign(face) * (course.ahead + course.lean * np.asarray(place)) - self.width / 2

    def slopes(self, face: str, place: Any, course: Line) -> Any:
        """Derivative of a line's depth: nothing along x, its lean, how far ahead it stands; shape (..., 3)."""
        place = np.asarray(place) + 0.0 * np.asarray(course.lean)
        return self.sign(face) * np.stack([0.0 * place, place, 1.0 + 0.0 * place], axis=-1)

    def farthest(self, face: str, places: Floats, depths: Any, shift: complex, outward: int) -> float:
        """How far ahead a line of a lean meets a surface, at most or at least: at one of the places."""
        ahead = self.sign(face) * (self.width / 2 + np.asarray(depths)) - shift.imag * places
        return float(outward * np.max(outward * ahead))

    def beside(self, course: Line, ahead: float) -> Line:
        """The parallel so much further ahead, square to itself."""
        return Line(course.ahead + ahead / course.square, course.lean)

    def apart(self, course: Line, behind: Line) -> float:
        """How far a line lies ahead of a parallel, square to both."""
        return float((course.ahead - behind.ahead) * course.square)

    def strays(self, course: Line) -> tuple[float, float]:
        """How far a line lies ahead of the drawn centre line, square to itself: at the ends."""
        away = np.sort((course.ahead + course.lean * self.pin_reach) * course.square)
        return float(away[0]), float(away[1])
