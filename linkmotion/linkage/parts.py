"""Declaring a planar linkage: pins, and the parts that hold them.

A pin is a point of the plane, written as the complex number ``x + iy`` in millimetres.
A part is a statement about pins: a rod keeps two at a distance, a plate keeps any number in one
rigid figure, a guide keeps one on a straight line. Nothing here solves anything.

Every dimension may be a number or an array that broadcasts against the wheel angles (shape
``(samples, 1)`` for many variants at once). The *assembly* is chosen by a sketch: each free pin is
declared ``near`` the place where it stands in the intended assembly, and every pair of rods bends
the way it bends in the sketch.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import combinations
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

_TELLING = 1e-3  # of a part's size: pins nearer each other than that would magnify rounding a thousandfold
Real = float | NDArray[Any]
XY = tuple[Real, Real]


class LinkageError(ValueError):
    """A linkage that is wrongly declared, cannot be ordered, or cannot be assembled."""


class UnreachableError(LinkageError):
    """The parts do not meet at some wheel angle.

    Attributes
    ----------
    parts : tuple of str
        The parts that fall short (or foul, being too long), as declared.
    short : float
        By how much, mm: positive when the parts are too short to meet, negative when too long.
    wheel : float
        Wheel angle of the worst position, radians anticlockwise.
    """

    def __init__(self, parts: tuple[str, ...], short: float, wheel: float) -> None:
        self.parts, self.short, self.wheel = parts, short, wheel
        way = "too short to meet" if short > 0 else "too long to fit"
        super().__init__(f"{' and '.join(parts)}: {way} by {abs(short):.3g} mm at wheel angle {wheel:.4f} rad")


@dataclass(frozen=True, slots=True)
class Fixed:
    """A pin that stands still on the frame."""

    pin: int
    x: Real
    y: Real


@dataclass(frozen=True, slots=True)
class Crank:
    """A pin turned by the wheel: ``about + radius * exp(i (wheel + phase))``; phase in radians."""

    pin: int
    about: int
    radius: Real
    phase: Real


@dataclass(frozen=True, slots=True)
class Rod:
    """Two pins at a constant distance (also a pin in a curved slot: distance from its centre)."""

    name: str
    a: int
    b: int
    length: Real


@dataclass(frozen=True, slots=True)
class Plate:
    """A rigid part with its pin holes at ``places`` in its own axes."""

    name: str
    pins: tuple[int, ...]
    places: tuple[XY, ...]

    @property
    def huddled(self) -> frozenset[tuple[int, int]]:
        """Pairs of pins, both ways round, too near each other (or at one place) to tell how the part is turned."""
        if len(self.pins) == 2:
            return frozenset()
        holes = [real_point(*place) for place in self.places]
        apart = [abs(one - two) for one, two in combinations(holes, 2)]
        if not all(isinstance(distance, float) for distance in apart):  # of variants: the least of each distance
            apart = [float(np.min(distance)) for distance in apart]
        least = _TELLING * max(apart)
        if min(apart) >= least:
            return frozenset()
        pairs = zip(combinations(self.pins, 2), apart, strict=True)
        near = {pair for pair, distance in pairs if distance < least}
        return frozenset(near | {(b, a) for a, b in near})


@dataclass(frozen=True, slots=True)
class Guide:
    """A pin on a straight line of the frame through ``origin``, ``direction`` in radians."""

    name: str
    pin: int
    origin: XY
    direction: Real


@dataclass(frozen=True, slots=True)
class Carried:
    """A pin carried by another without turning (an arm on a crosshead): ``by + offset``."""

    name: str
    pin: int
    by: int
    offset: XY


@dataclass(frozen=True, slots=True)
class Slide:
    """A pin that slides along the straight line a-b of a part, ``offset`` to the left of it."""

    name: str
    pin: int
    a: int
    b: int
    offset: Real


@dataclass(frozen=True, slots=True)
class Abreast:
    """A pin kept level with another along a ``direction`` (a block square to a spindle): the same place along it."""

    name: str
    pin: int
    by: int
    direction: Real


class Way(NamedTuple):
    """Pin b stands ahead of pin a on the way ``toward``; ``along`` (c, d, drawn) turns it with the line c-d."""

    part: str
    a: int
    b: int
    toward: XY
    along: tuple[int, int, XY] | None


Holder = Rod | Plate | Guide | Carried | Slide | Abreast
Part = Fixed | Crank | Holder


@dataclass
class Linkage:
    """A planar linkage under declaration.

    Examples
    --------
    A crank, a connecting rod and a crosshead:

    >>> engine = Linkage()
    >>> engine.fixed("axle", 0.0, 0.0)
    >>> engine.crank("crank pin", about="axle", radius=300.0)
    >>> engine.pin("crosshead", near=(1500.0, 0.0))
    >>> engine.rod("connecting rod", "crank pin", "crosshead", 1500.0)
    >>> engine.guide("slidebars", "crosshead", origin=(0.0, 0.0), direction=0.0)
    """

    names: dict[str, int] = field(default_factory=dict)
    near: list[XY] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)
    ways: list[Way] = field(default_factory=list)

    def _new(self, name: str, near: XY) -> int:
        if name in self.names:
            raise LinkageError(f"pin {name!r} is declared twice")
        self.names[name] = len(self.near)
        self.near.append(near)
        return self.names[name]

    def _old(self, name: str) -> int:
        try:
            return self.names[name]
        except KeyError:
            raise LinkageError(f"pin {name!r} is not declared; declared are {', '.join(self.names)}") from None

    def fixed(self, name: str, x: Real, y: Real) -> None:
        """Declare a pin fixed to the frame at (x, y), mm."""
        self.parts.append(Fixed(self._new(name, (x, y)), x, y))

    def crank(self, name: str, about: str, radius: Real, phase: Real = 0.0) -> None:
        """Declare a pin turned by the wheel about another; phase in radians ahead of the wheel angle."""
        centre = self._old(about)
        self.parts.append(Crank(self._new(name, self.near[centre]), centre, radius, phase))

    def pin(self, name: str, near: XY) -> None:
        """Declare a free pin and the place where it stands in the sketch of the assembly, mm."""
        self._new(name, near)

    def rod(self, name: str, a: str, b: str, length: Real) -> None:
        """Keep pins a and b at the distance ``length``, mm."""
        self.parts.append(Rod(name, self._old(a), self._old(b), length))

    def plate(self, name: str, places: dict[str, XY]) -> None:
        """Hold pins in one rigid figure: pin name to (x, y) in the part's own axes, mm."""
        if len(places) < 2:
            raise LinkageError(f"{name}: a rigid part needs two pins at least")
        self.parts.append(Plate(name, tuple(self._old(p) for p in places), tuple(places.values())))

    def guide(self, name: str, pin: str, origin: XY, direction: Real) -> None:
        """Keep a pin on the fixed line through ``origin`` (mm) with ``direction`` (radians)."""
        self.parts.append(Guide(name, self._old(pin), origin, direction))

    def carried(self, name: str, pin: str, by: str, offset: XY) -> None:
        """Keep a pin at a constant offset (mm, frame axes) from another."""
        self.parts.append(Carried(name, self._old(pin), self._old(by), offset))

    def slide(self, name: str, pin: str, a: str, b: str, offset: Real = 0.0) -> None:
        """Keep a pin on the line from a to b, ``offset`` mm to the left of it."""
        self.parts.append(Slide(name, self._old(pin), self._old(a), self._old(b), offset))

    def abreast(self, name: str, pin: str, by: str, direction: Real) -> None:
        """Keep a pin at the same place along ``direction`` (radians) as another."""
        self.parts.append(Abreast(name, self._old(pin), self._old(by), direction))

    def runs(self, part: str, a: str, b: str, toward: XY, along: tuple[str, str, XY] | None = None) -> None:
        """Say that a part runs from pin a to pin b, within a right angle of the way ``toward`` in the frame.

        With ``along`` (two pins of a moving part and the vector between them as drawn) it is a way in that part's
        own axes. Where bends alone leave two assemblies this tells which; a solution that runs otherwise is refused.
        """
        own = None if along is None else (self._old(along[0]), self._old(along[1]), along[2])
        self.ways.append(Way(part, self._old(a), self._old(b), toward, own))

    def picked(self, most: int = 1, first: int = 0) -> Linkage:
        """The linkage with no more than ``most`` of its variants, spread over those from ``first`` on."""

        def some(value: Any) -> Any:
            if isinstance(value, tuple):
                return tuple(some(v) for v in value)
            if not isinstance(value, np.ndarray) or value.ndim == 0:
                return value
            value = value[..., :1]  # a figure that varies round the wheel: as at the first position
            if value.ndim < 2 or value.shape[0] == 1:
                return value
            count = value.shape[0]
            return value[np.unique(np.linspace(first, count - 1, min(most, count)).astype(int))]

        parts = [type(p)(**{f: some(getattr(p, f)) for f in p.__dataclass_fields__}) for p in self.parts]
        ways = [way._replace(toward=some(way.toward), along=some(way.along)) for way in self.ways]
        return Linkage(dict(self.names), [some(n) for n in self.near], parts, ways)

    def sketch(self, pin: int) -> Any:
        """Place of a pin in the sketch, complex mm (real parts only, so that complex steps pass)."""
        return real_point(*self.near[pin])


def real_point(x: Any, y: Any) -> Any:
    """A place as a complex number, real parts alone (where a complex step may pass)."""
    if isinstance(x, float) and isinstance(y, float):
        return complex(x, y)
    return np.real(x) + 1j * np.real(y)
