"""A curved slot as drawn, and the arcs about one centre that its faces may be given."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from linkmotion.linkage.parts import XY
from linkmotion.wear.slot_drawing import FRONT, Arc, Floats, SlotDrawing, SlotError, pair

_LEAN = 0.1  # mm each mm: an arc however flat may lean so much


@dataclass(frozen=True)
class CurvedDrawing(SlotDrawing):
    """A curved slot as drawn, lengths mm.

    Attributes
    ----------
    radius, width : float
        Of the slot's centre line; between its faces.
    concave_forward : bool
        True when the centre of curvature is ahead of the slot.
    top, bottom, die_length : float
        As of :class:`SlotDrawing`.

    Examples
    --------
    >>> slot = CurvedDrawing(radius=900.0, width=50.0, concave_forward=True, top=120.0, bottom=120.0)
    >>> slot.centre, slot.size("front"), slot.size("back")
    ((900.0, 0.0), 875.0, 925.0)
    >>> slot.point("front", 0.0, 2.0)  # the metal of the front face is ahead
    array([27.,  0.])
    """

    radius: float
    width: float
    concave_forward: bool
    top: float
    bottom: float
    die_length: float = 0.0
    about: ClassVar[str] = "centre"
    course: ClassVar[str] = "arc"
    free: ClassVar[tuple[int, ...]] = (0, 1)

    def __post_init__(self) -> None:
        figures = (self.radius, self.width, self.top, self.bottom, self.die_length)
        if not np.all(np.isfinite(figures)) or not 0 < self.width < self.radius:
            raise SlotError("radius and width do not make a slot", "give 0 < width < radius")
        self._refuse()
        if max(abs(self.top), abs(self.bottom)) > self.radius:
            raise SlotError("the slot reaches past a radian of its own arc", "look at radius, top and bottom")

    @property
    def forth(self) -> int:
        """+1 when the centre of curvature is ahead of the slot, −1 when behind."""
        return 1 if self.concave_forward else -1

    @property
    def centre(self) -> XY:
        """The drawn centre of curvature."""
        return self.forth * self.radius, 0.0

    @property
    def still(self) -> Floats:
        """The drawn centre."""
        return np.array(self.centre)

    @property
    def line(self) -> Arc:
        """The drawn centre line."""
        return Arc(self.centre, self.radius)

    @property
    def span(self) -> float:  # type: ignore[override]
        """The radius."""
        return self.radius

    @property
    def room(self) -> Floats:
        """A centre moved fore and aft tells by the square of the half angle, up and down by the half angle itself."""
        return np.array([self.radius, max(self.length / 2, _LEAN * self.radius)])

    def sign(self, face: str) -> int:
        """+1 for the face far from the centre of curvature, −1 for the near one."""
        return -self.forth if face == FRONT else self.forth

    def size(self, face: str) -> float:
        """Radius of a face as drawn."""
        return self.radius + self.sign(face) * self.width / 2

    def fitted(self, figures: Any, size: Any) -> Arc:
        """The arc about a centre."""
        return Arc((figures[..., 0], figures[..., 1]), size)

    def ray(self, place: Any) -> Any:
        """Direction from the drawn centre of curvature to a place of the slot, unit complex."""
        angle = np.asarray(place) / self.radius
        return -self.forth * np.cos(angle) + 1j * np.sin(angle)

    def point(self, face: str, place: Any, depth: Any = 0.0) -> Any:
        """Point of a face, or below it by a depth, shape (..., 2)."""
        return pair(complex(*self.centre) + (self.size(face) + self.sign(face) * depth) * self.ray(place))

    def line_point(self, place: Any) -> Any:
        """Point of the drawn centre line, shape (..., 2)."""
        return pair(complex(*self.centre) + self.radius * self.ray(place))

    def place_of(self, point: Any) -> Any:
        """Place along the slot of a point (complex), by the angle seen from the drawn centre."""
        arm = np.asarray(point) - complex(*self.centre)
        return self.radius * np.arctan2(arm.imag, -self.forth * arm.real)

    def depth(self, face: str, place: Any, course: Arc) -> Any:
        """Depth of an arc below the drawn face at a place, mm, square to the drawn face."""
        turned = (course.place - complex(*self.centre)) * np.conj(self.ray(place))  # along the ray, and across it
        along = turned.real + np.sqrt(course.radius**2 - turned.imag**2)
        return self.sign(face) * (along - self.size(face))

    def slopes(self, face: str, place: Any, course: Arc) -> Any:
        """Derivative of an arc's depth to its centre's x, y and to its radius, shape (..., 3)."""
        ray = self.ray(place)
        across = ((course.place - complex(*self.centre)) * np.conj(ray)).imag
        reach = np.sqrt(course.radius**2 - across**2)
        move = ray - across / reach * (1j * ray)
        return self.sign(face) * np.stack([move.real, move.imag, course.radius / reach], axis=-1)

    def farthest(self, face: str, places: Floats, depths: Any, shift: complex, outward: int) -> float:
        """Greatest distance of a surface from a centre, or least; between two places by Newton's method.

        The squared distance has one turning point there at most.
        """
        forth, sign = self.forth, self.sign(face)
        angle = places / self.radius
        radius = self.size(face) + sign * np.asarray(depths)
        slope = np.diff(radius) / np.diff(angle)
        low, high, base = angle[:-1], angle[1:], radius[:-1]
        turn = (low + high) / 2
        for _ in range(4):
            along = -forth * shift.real * np.cos(turn) + shift.imag * np.sin(turn)
            across = forth * shift.real * np.sin(turn) + shift.imag * np.cos(turn)
            r = base + slope * (turn - low)
            rate, bend = slope * (r - along) - r * across, slope**2 - 2 * slope * across + r * along
            step = np.divide(rate, bend, out=np.zeros_like(rate), where=bend != 0)
            turn = np.clip(turn - step, low, high)
        r = np.concatenate([radius, base + slope * (turn - low)])
        at = r * self.ray(np.concatenate([places, turn * self.radius])) - shift
        return float(outward * np.max(outward * np.abs(at)))

    def beside(self, course: Arc, ahead: float) -> Arc:
        """The arc about the same centre so much further ahead."""
        return Arc(course.centre, course.radius - self.forth * ahead)

    def apart(self, course: Arc, behind: Arc) -> float:
        """How far an arc lies ahead of another about the same centre."""
        return float(self.forth * (behind.radius - course.radius))

    def strays(self, course: Arc) -> tuple[float, float]:
        """How far an arc lies ahead of the drawn centre line: at the ends, or abreast of the shift."""
        ends = self.pin_reach
        x, y = course.centre[0] - self.centre[0], course.centre[1] - self.centre[1]
        abreast = self.radius * np.arctan(-self.forth * y / x) if x else ends[0]
        places = np.append(ends, np.clip(abreast, *ends))
        away = self.forth * (np.hypot(*(self.line_point(places) - np.array(course.centre)).T) - course.radius)
        return float(away.min()), float(away.max())
