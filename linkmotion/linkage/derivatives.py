"""Derivatives of an output to every dimension and to a shift of any joint, at every wheel position.

One sweep backward through the solved steps gives them all (it is the factored transpose of the
loop equations): the wish at the output is resolved along the parts like a force, and what arrives
at a part is the derivative to its dimension. By virtual work the numbers are also the reactions
in the joints per unit load at the output.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from linkmotion.linkage.errors import LinkageError
from linkmotion.linkage.linkage import Linkage
from linkmotion.linkage.loops import Loop
from linkmotion.linkage.parts import Driven, Part
from linkmotion.linkage.parts.part import Push
from linkmotion.linkage.plane import Points, Real, Shifts, add
from linkmotion.linkage.solve import Solution


@dataclass(frozen=True, eq=False)
class Gradient:
    """Derivatives of one output.

    Attributes
    ----------
    solution : Solution
        Where it was taken.
    bar : list of complex arrays or None
        Derivative to a shift of each pin, as passed to it (mm per mm).
    shifts : dict
        (part, pin number) to complex array: derivative to a shift of that part's hole for the pin,
        real part for x, imaginary for y (mm per mm).
    """

    solution: Solution
    bar: Points
    shifts: Shifts

    def joint(self, part: str, pin: str) -> Any:
        """Derivative of the output to a small shift of a part's hole for a pin.

        Parameters
        ----------
        part, pin : str
            The part by its name, and one of its pins.

        Returns
        -------
        complex array, shape (N,) or (S, N)
            To a shift along x and, as imaginary part, along y; of a joint with a gap g (x + iy) the output moves by
            ``Re(conj(found) g)``, to first order. Zero where the part does not have the pin.
        """
        return self.shifts.get((part, self.solution.linkage.names[pin]), 0.0)

    def dimension(self, part: str, what: str) -> Any:
        """Derivative of the output to one number of the linkage.

        Parameters
        ----------
        part, what : str
            As :func:`dimensions` has them: ``("coupler", "length")``, say.

        Returns
        -------
        array, shape (N,) or (S, N)
            Per mm, or per radian of an angle.

        Raises
        ------
        LinkageError
            No such number.
        """
        try:
            return self._found[part, what]()
        except KeyError:
            raise LinkageError(f"no dimension {what!r} of {part!r}") from None

    @cached_property
    def _found(self) -> dict[tuple[str, str], Any]:
        names, x = list(self.solution.linkage.names), self.solution.points
        return {
            (part.owner(names), what): slope
            for part in self.solution.linkage.parts
            for what, slope in part.slopes(names, x, _push(part, self.bar, self.shifts)).items()
        }


def _push(part: Part, bar: Points, shifts: Shifts) -> Push:
    """Derivative to a shift of the part's hole for a pin; it knows no Gradient, so that one is freed when let go."""
    if isinstance(part, Driven):
        return lambda pin: 0j if bar[pin] is None else bar[pin]
    return lambda pin: shifts.get((part.name, pin), 0j)


def dimensions(linkage: Linkage) -> dict[tuple[str, str], Real]:
    """Every number of a linkage.

    Parameters
    ----------
    linkage : Linkage
        As declared.

    Returns
    -------
    dict
        By (part or pin, what): lengths in mm, angles in radians.
    """
    names = list(linkage.names)
    return {
        (part.owner(names), what): value for part in linkage.parts for what, value in part.dimensions(names).items()
    }


def gradient(solution: Solution, wish: dict[str, Any], shifts: Shifts | None = None) -> Gradient:
    """Derivatives of ``Re(sum of conj(wish) * pin)`` at every position.

    Parameters
    ----------
    solution : Solution
        The solved linkage.
    wish : dict
        Pin name to complex weight: ``{"valve pin": 1}`` for its x, ``1j`` for its y.
    shifts : dict, optional
        What the output depends on besides the pins.

    Examples
    --------
    A crosshead's place goes one for one with its rod where both lie in line:

    >>> from linkmotion.linkage import Linkage, Wheel, solve
    >>> engine = Linkage()
    >>> engine.fixed("axle", 0.0, 0.0)
    >>> engine.crank("crank pin", about="axle", radius=300.0)
    >>> engine.pin("crosshead", near=(1500.0, 0.0))
    >>> engine.rod("rod", "crank pin", "crosshead", 1500.0)
    >>> engine.guide("bars", "crosshead", origin=(0.0, 0.0), direction=0.0)
    >>> found = gradient(solve(engine, Wheel.at([0.0])), {"crosshead": 1.0})
    >>> print(found.dimension("rod", "length"))
    [1.]
    """
    bar: Points = [None] * len(solution.points)
    for pin, weight in wish.items():
        bar[solution.linkage.names[pin]] = np.asarray(weight, complex)
    found: Shifts = dict(shifts or {})
    for stage in reversed(solution.stages):
        if isinstance(stage, Loop) or bar[stage.pin] is not None:
            stage.adjoint(solution.points, bar, found)
    for part in reversed(solution.linkage.parts):
        if isinstance(part, Driven) and bar[part.pin] is not None:
            for about in part.pins[1:]:
                add(bar, about, bar[part.pin])
    return Gradient(solution, bar, found)


def gradient_along(solution: Solution, guide: str) -> Gradient:
    """Derivatives of the place of a guided pin along its guide, at every position.

    Parameters
    ----------
    solution : Solution
        The linkage solved at N positions (of S variants).
    guide : str
        By its name; the output is ``solution.along(guide)``, mm.

    Raises
    ------
    LinkageError
        No such guide.
    """
    part = solution.guide(guide)
    line = np.exp(1j * part.direction)
    pin = next(name for name, index in solution.linkage.names.items() if index == part.pin)
    return gradient(solution, {pin: line}, {(guide, part.pin): -line})


def chain(gradient: Gradient, varied: Linkage, count: int, step: float) -> list[Any]:
    """Derivatives to ``count`` figures from which the linkage was declared.

    By the chain rule over the linkage's own dimensions, ``d(output)/d(figure) = sum of d(output)/d(dimension)
    d(dimension)/d(figure)``; the second factor by complex step (exact; no difference is taken).

    Parameters
    ----------
    gradient : Gradient
        Of the output, at N positions (of S variants).
    varied : Linkage
        Declared from figures that are complex arrays of shape (..., count), each with ``i * step`` added in its
        own row.
    count : int
        How many figures.
    step : float
        So small that its square is nothing beside a figure.

    Returns
    -------
    list of arrays, shape (N,) or (S, N)
        One for each figure, in the output's unit per unit of the figure; 0.0 where nothing goes with it.
    """
    total: list[Any] = [None] * count
    value: Any
    for (part, what), value in dimensions(varied).items():
        if not (isinstance(value, np.ndarray) and value.dtype.kind == "c"):
            continue
        slopes = value.imag / step
        moved: Any = slopes if slopes.ndim == 1 else slopes.reshape(-1, count).any(axis=0)
        rows = moved.nonzero()[0].tolist()
        own: Any = gradient.dimension(part, what) if rows else None
        for row in rows:
            slope = slopes[..., row]
            add(total, row, own if slope.ndim == 0 and slope == 1.0 else own * slope)
    return [0.0 if each is None else each for each in total]
