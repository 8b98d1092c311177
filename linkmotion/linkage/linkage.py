"""Declaring a planar linkage: pins, and the parts that hold them. Nothing here solves anything."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import Any, NamedTuple

import numpy as np

from linkmotion.linkage.errors import LinkageError
from linkmotion.linkage.parts import Abreast, Carried, Crank, Fixed, Guide, Holder, Part, Plate, Rod, Slide
from linkmotion.linkage.plane import XY, Points, Real, real_point


class Facing(NamedTuple):
    """Pin b stands ahead of pin a on the way ``toward``; ``along`` (c, d, drawn) turns it with the line c-d."""

    part: str
    a: int
    b: int
    toward: XY
    along: tuple[int, int, XY] | None


@dataclass
class Linkage:
    """A planar linkage under declaration.

    Lengths are millimetres (any one unit does), angles radians anticlockwise. Every dimension may be a number, or
    an array of shape (variants, 1) by which many linkages are solved together. The *assembly* is chosen by a
    sketch: each free pin is declared ``near`` the place where it stands in the intended assembly with the wheel
    about its mean position, and every pair of parts bends the way it bends there.

    Attributes
    ----------
    names : dict
        Pin name to number, in the order of declaration.
    near : list of (x, y)
        Place of each pin in the sketch, mm.
    parts : list of Part
        What was declared, in order; the parts name pins by number.
    facings : list of Facing
        The ways that parts are said to face.

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
    facings: list[Facing] = field(default_factory=list)

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

    # ---- pins -------------------------------------------------------------------------------------------------------

    def fixed(self, name: str, x: Real, y: Real) -> None:
        """Declare a pin fixed to the frame.

        Parameters
        ----------
        name : str
            Of the pin; each name once (else LinkageError).
        x, y : float or array, shape (variants, 1)
            Its place, mm.
        """
        self.parts.append(Fixed(self._new(name, (x, y)), x, y))

    def crank(self, name: str, about: str, radius: Real, phase: Real = 0.0) -> None:
        """Declare a pin turned by the wheel: at ``about + radius * exp(i (wheel angle + phase))``.

        Parameters
        ----------
        name, about : str
            The pin; the pin it turns about, declared before (else LinkageError).
        radius : float or array, shape (variants, 1)
            Of its circle, mm.
        phase : float or array, shape (variants, 1)
            Ahead of the wheel angle, radians anticlockwise.
        """
        centre = self._old(about)
        self.parts.append(Crank(self._new(name, self.near[centre]), centre, radius, phase))

    def pin(self, name: str, near: XY) -> None:
        """Declare a free pin.

        Parameters
        ----------
        name : str
            Of the pin; each name once (else LinkageError).
        near : (x, y)
            Where it stands in the sketch of the assembly, mm; a few per cent of the linkage are near enough.
        """
        self._new(name, near)

    # ---- parts ------------------------------------------------------------------------------------------------------

    def add(self, kind: type[Holder], name: str, *pins: str, **figures: Any) -> None:
        """Declare a part of any kind, a kind of your own included.

        Parameters
        ----------
        kind : type
            The class of the part; it is made with the name, the numbers of the pins in order, and the figures.
        name : str
            Of the part.
        *pins : str
            The pins that it joins, declared before (else LinkageError).
        **figures
            Its dimensions.
        """
        self.parts.append(kind(name, *(self._old(pin) for pin in pins), **figures))  # type: ignore[call-arg]

    def rod(self, name: str, a: str, b: str, length: Real) -> None:
        """Keep two pins at a distance: ``|b - a| = length``.

        Parameters
        ----------
        name : str
            Of the part.
        a, b : str
            Its pins.
        length : float or array, shape (variants, 1)
            mm.

        Raises
        ------
        LinkageError
            A pin that is not declared.
        """
        self.add(Rod, name, a, b, length=length)

    def plate(self, name: str, places: dict[str, XY]) -> None:
        """Hold pins in one rigid figure.

        Parameters
        ----------
        name : str
            Of the part.
        places : dict
            Pin name to (x, y) in the part's own axes, mm; two pins at least (else LinkageError). A figure turned
            over is another figure: the part moves in its plane only.
        """
        if len(places) < 2:
            raise LinkageError(f"{name}: a rigid part needs two pins at least")
        self.parts.append(Plate(name, tuple(self._old(p) for p in places), tuple(places.values())))

    def guide(self, name: str, pin: str, origin: XY, direction: Real) -> None:
        """Keep a pin on a fixed line.

        Parameters
        ----------
        name, pin : str
            Of the guide; the pin that it leads.
        origin : (float, float)
            A point of the line, x and y, mm; places along it are measured from there.
        direction : float or array
            Which way it runs, radians anticlockwise from x.

        Raises
        ------
        LinkageError
            A pin that is not declared.
        """
        self.add(Guide, name, pin, origin=origin, direction=direction)

    def carried(self, name: str, pin: str, by: str, offset: XY) -> None:
        """Keep a pin at a constant offset from another, which does not turn it.

        Parameters
        ----------
        name, pin, by : str
            Of the part; the pin that is carried; the pin that carries it.
        offset : (float, float)
            From ``by`` to ``pin``, x and y of the frame, mm.

        Raises
        ------
        LinkageError
            A pin that is not declared.
        """
        self.add(Carried, name, pin, by, offset=offset)

    def slide(self, name: str, pin: str, a: str, b: str, offset: Real = 0.0) -> None:
        """Keep a pin on a line that moves: the one from pin a to pin b of a part.

        Parameters
        ----------
        name, pin : str
            Of the slide; the pin in it.
        a, b : str
            Pins of the line.
        offset : float or array
            Of the pin's path to the left of the line, looking from a to b, mm.

        Raises
        ------
        LinkageError
            A pin that is not declared.
        """
        self.add(Slide, name, pin, a, b, offset=offset)

    def abreast(self, name: str, pin: str, by: str, direction: Real) -> None:
        """Keep a pin abreast of another: at the same place along a direction.

        Parameters
        ----------
        name, pin, by : str
            Of the part; the pin that is kept; the other.
        direction : float or array
            Radians anticlockwise from x.

        Raises
        ------
        LinkageError
            A pin that is not declared.
        """
        self.add(Abreast, name, pin, by, direction=direction)

    def facing(self, part: str, a: str, b: str, toward: XY, along: tuple[str, str, XY] | None = None) -> None:
        """Say that a part faces from pin a to pin b, within a right angle of the way ``toward``.

        Where bends alone leave two assemblies this tells which; a solution that faces otherwise is refused.

        Parameters
        ----------
        part, a, b : str
            The part, by which a refusal names it, and two of its pins.
        toward : (x, y)
            A way in the frame, of any length.
        along : (pin, pin, (x, y)), optional
            Two pins of a moving part and the vector between them as drawn: ``toward`` is then a way in that
            part's own axes.
        """
        own = None if along is None else (self._old(along[0]), self._old(along[1]), along[2])
        self.facings.append(Facing(part, self._old(a), self._old(b), toward, own))

    # ---- as the solver sees it --------------------------------------------------------------------------------------

    @property
    def variants(self) -> int:
        """How many linkages are declared together."""
        figures = [value for place in self.near for value in place]
        figures += [value for part in self.parts for value in part.dimensions(list(self.names)).values()]
        return max((np.shape(value)[0] for value in figures if np.ndim(value) == 2), default=1)

    def picked(self, rows: Any) -> Linkage:
        """The linkage with some of its variants.

        Parameters
        ----------
        rows : index
            Their numbers: an int array or list, a slice or a bool mask. A dimension that varies round the wheel is
            taken as at the first position.
        """

        def some(value: Any) -> Any:
            if isinstance(value, tuple):
                return tuple(some(v) for v in value)
            if not isinstance(value, np.ndarray) or value.ndim == 0:
                return value
            value = value[..., :1]  # a figure that varies round the wheel: as at the first position
            return value if value.ndim < 2 or value.shape[0] == 1 else value[rows]

        parts = [type(p)(**{f.name: some(getattr(p, f.name)) for f in fields(p)}) for p in self.parts]  # type: ignore[arg-type]
        facings = [each._replace(toward=some(each.toward), along=some(each.along)) for each in self.facings]
        return Linkage(dict(self.names), [some(n) for n in self.near], parts, facings)

    @property
    def sketch(self) -> Points:
        """Places of the pins in the sketch, complex mm (real parts only, so that complex steps pass)."""
        return [real_point(*place) for place in self.near]
