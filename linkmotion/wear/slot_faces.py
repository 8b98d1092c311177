"""The two faces of a curved slot: as drawn, as read with a depth gauge, and as a true arc would leave them.

Axes of this module: origin on the drawn centre line at mid slot, x forward and y up with the link upright. A
place along the slot is measured on the drawn centre line from its middle, + up, mm. A loss or a depth is
measured square to the drawn face, that is along the line to the drawn centre of curvature, + into the metal:

    point = centre + (face radius + sign · depth) · ray(place),      sign = +1 on the face far from the centre, else −1

so that a worn face is a function of the place, and whether an arc about any centre lies below it is an exact
comparison of distances from that centre.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.linkage.parts import XY

FRONT, BACK = "front", "back"
FACES = (FRONT, BACK)
_STATIONS = 201  # along a face, beside the readings' own places; between them the extremes are found exactly
_ONE_PLACE = 0.1  # mm: no gauge foot is set nearer than this
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


class ReadingError(SlotError):
    """Readings that cannot be used."""


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
class SlotDrawing:
    """A curved slot as drawn, lengths mm.

    Attributes
    ----------
    radius, width : float
        Of the slot's centre line; between its faces.
    concave_forward : bool
        True when the centre of curvature is ahead of the slot.
    top, bottom : float
        Reach of the faces above and below mid slot, along the centre line.
    die_length : float
        Of the die block along the slot: the pin reaches half of it less than the faces.

    Examples
    --------
    >>> slot = SlotDrawing(radius=900.0, width=50.0, concave_forward=True, top=120.0, bottom=120.0)
    >>> slot.centre, slot.face_radius("front"), slot.face_radius("back")
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

    def __post_init__(self) -> None:
        figures = (self.radius, self.width, self.top, self.bottom, self.die_length)
        if not np.all(np.isfinite(figures)) or not 0 < self.width < self.radius:
            raise SlotError("radius and width do not make a slot", "give 0 < width < radius")
        if self.length <= self.die_length or self.die_length < 0:
            raise SlotError("the slot is not longer than the die block", "look at top, bottom and die_length")
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
    def length(self) -> float:
        """Of the faces, along the centre line."""
        return self.top + self.bottom

    def sign(self, face: str) -> int:
        """+1 for the face far from the centre of curvature, whose radius grows with wear; −1 for the near one.

        Parameters
        ----------
        face : str
            "front" or "back", here and below.
        """
        return -self.forth if face == FRONT else self.forth

    def face_radius(self, face: str) -> float:
        """Radius of a face as drawn."""
        return self.radius + self.sign(face) * self.width / 2

    def ray(self, place: Any) -> Any:
        """Direction from the drawn centre of curvature to a place of the slot, unit complex.

        Parameters
        ----------
        place : float or array
            Along the drawn centre line from mid slot, + up, mm; here and below.
        """
        angle = np.asarray(place) / self.radius
        return -self.forth * np.cos(angle) + 1j * np.sin(angle)

    def point(self, face: str, place: Any, depth: Any = 0.0) -> Any:
        """Point of a face, or below it by a depth (mm, into the metal), shape (..., 2)."""
        z = complex(*self.centre) + (self.face_radius(face) + self.sign(face) * depth) * self.ray(place)
        return np.stack([z.real, z.imag], axis=-1)

    def line_point(self, place: Any) -> Any:
        """Point of the drawn centre line, shape (..., 2)."""
        z = complex(*self.centre) + self.radius * self.ray(place)
        return np.stack([z.real, z.imag], axis=-1)

    def depth(self, face: str, place: Any, arc: Arc) -> Any:
        """Depth of an arc below the drawn face at a place, mm, square to the drawn face; negative: above it."""
        shift, ray = arc.place - complex(*self.centre), self.ray(place)
        turned = shift * np.conj(ray)  # along the ray, and across it
        along = turned.real + np.sqrt(arc.radius**2 - turned.imag**2)
        return self.sign(face) * (along - self.face_radius(face))


@dataclass(frozen=True, eq=False)
class FaceReadings:
    """Readings on one face.

    Attributes
    ----------
    places : float array, shape (n,)
        Along the slot from its middle, + up, mm, in any order; readings at one place, or within a tenth of a
        millimetre of the next, are averaged.
    losses : float array, shape (n,)
        Loss of metal, square to the face, mm; a little below zero is a burr.
    """

    places: Any
    losses: Any

    def __post_init__(self) -> None:
        places, losses = np.atleast_1d(np.asarray(self.places, float)), np.atleast_1d(np.asarray(self.losses, float))
        if places.ndim != 1 or places.shape != losses.shape or not places.size:
            raise ReadingError("a face wants as many losses as places, one at least", "give a loss to every place")
        if not (np.all(np.isfinite(places)) and np.all(np.isfinite(losses))):
            raise ReadingError("a reading is not a number", "leave the reading out")
        object.__setattr__(self, "places", places)
        object.__setattr__(self, "losses", losses)

    @cached_property
    def averaged(self) -> tuple[Floats, Floats]:
        """Places in order, each once, and the mean loss at each."""
        order = np.argsort(self.places, kind="stable")
        which = np.cumsum(np.diff(self.places[order], prepend=-np.inf) > _ONE_PLACE) - 1
        count = np.bincount(which)
        return tuple(np.bincount(which, weights=each[order]) / count for each in (self.places, self.losses))  # type: ignore[return-value]


@dataclass(frozen=True, eq=False)
class SlotReadings:
    """Depth readings along both faces, and how sure the gauge is; one sigma each, mm.

    Attributes
    ----------
    front, back : FaceReadings
        What was read.
    uncertainty : float
        Of one reading by itself.
    zero, tilt : float
        Of what all readings of a face share: the gauge's zero; and a tilt of what it was read from (a straightedge, a
        template), as what it makes at an end of the slot, mid slot true. Each as large as ``uncertainty`` if not given.
    """

    front: FaceReadings
    back: FaceReadings
    uncertainty: float
    zero: float = np.nan
    tilt: float = np.nan

    def __post_init__(self) -> None:
        for key in ("zero", "tilt"):
            if np.isnan(getattr(self, key)):
                object.__setattr__(self, key, self.uncertainty)
            if not (np.isfinite(getattr(self, key)) and getattr(self, key) >= 0):
                raise SlotError(f"the gauge's {key} is uncertain by less than nothing", "give one sigma, or 0")
        if not (np.isfinite(self.uncertainty) and self.uncertainty > 0):
            raise SlotError("the gauge's uncertainty must be above zero", "give one sigma, such as 0.02 mm")

    def on(self, face: str) -> FaceReadings:
        """Readings of one face."""
        return self.front if face == FRONT else self.back


@dataclass(frozen=True, eq=False)
class WornFace:
    """A face as worn: straight lines of loss between the readings, level beyond the last ones.

    A burr (loss below zero) is taken as dressed off.
    """

    drawing: SlotDrawing
    face: str
    readings: FaceReadings

    @property
    def sign(self) -> int:
        """+1 for the face far from the centre of curvature, −1 for the near one."""
        return self.drawing.sign(self.face)

    def loss(self, place: Any) -> Any:
        """Loss at a place, mm, none below zero."""
        places, losses = self.readings.averaged
        return np.interp(place, places, np.maximum(losses, 0.0))

    @cached_property
    def stations(self) -> Floats:
        """Places at which the face is looked at: evenly along it, and at the readings."""
        even = np.linspace(-self.drawing.bottom, self.drawing.top, _STATIONS)
        return np.unique(np.concatenate([even, self.readings.averaged[0]]))

    def farthest(self, places: Floats, depths: Any, shift: complex, outward: int) -> float:
        """Greatest or least distance of a surface from a centre, mm, exact.

        Between two places the squared distance has one turning point at most, found by Newton's method.

        Parameters
        ----------
        places, depths : arrays, shape (n,)
            Of the surface, in order: along the slot, and below the drawn face, mm; straight lines of depth between.
        shift : complex
            Of the centre from the drawn one, mm.
        outward : int
            +1 for the greatest distance, −1 for the least.
        """
        forth = self.drawing.forth
        angle = places / self.drawing.radius
        radius = self.drawing.face_radius(self.face) + self.sign * np.asarray(depths)
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
        at = r * self.drawing.ray(np.concatenate([places, turn * self.drawing.radius])) - shift
        return float(outward * np.max(outward * np.abs(at)))
