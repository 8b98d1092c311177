"""The linkage as equations in natural coordinates: how well they are met, and their exact Jacobian.

The coordinates are the places of the pins. A rod is a constant distance, a plate a fixed combination
of two of its pins, a guide a linear equation. The closed-form steps solve these; here they are
written down once as a whole, to report what is left over and to let anyone check the derivatives.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from linkmotion.linkage.linkage import Linkage
from linkmotion.linkage.parts import Driven, Holder
from linkmotion.linkage.plane import Gradient, Points

if TYPE_CHECKING:
    from linkmotion.linkage.solve import Solution


class Equation(NamedTuple):
    """One real equation: the part it belongs to, what is left over (mm), and its gradient to each pin."""

    part: str
    left: Any
    gradient: Gradient


def equations(linkage: Linkage, points: Points) -> Iterator[Equation]:
    """Every equation of a linkage, part by part.

    Parameters
    ----------
    linkage : Linkage
        Whose parts are asked.
    points : list of complex arrays
        Places of the pins by number, mm, of shapes that broadcast together.
    """
    for part in linkage.parts:
        if isinstance(part, Holder):
            for left, gradient in part.equations(points):
                yield Equation(part.name, left, gradient)


def misfit(solution: Solution) -> dict[str, float]:
    """By how much each part misses its pins, at most, over all positions.

    Parameters
    ----------
    solution : Solution
        Of any shape.

    Returns
    -------
    dict
        By part, mm: rounding, in a good solution.
    """
    worst: dict[str, float] = {}
    for part, left, _gradient in equations(solution.linkage, solution.points):
        worst[part] = max(worst.get(part, 0.0), float(np.max(np.abs(left))))
    return worst


def jacobian(linkage: Linkage, points: Points) -> tuple[NDArray[np.float64], list[str], list[str]]:
    """Jacobian of all equations to the coordinates of the free pins.

    Parameters
    ----------
    linkage : Linkage
        Of which the equations are.
    points : list of complex arrays
        Places of the pins by number, mm.

    Returns
    -------
    array, shape (..., equations, 2 * free pins)
        Columns x, y of each free pin in the order of declaration; mm per mm.
    rows, columns : lists of str
        The part of each row; the free pins.
    """
    driven = {part.pin for part in linkage.parts if isinstance(part, Driven)}
    free = {pin: 2 * k for k, pin in enumerate(pin for pin in range(len(points)) if pin not in driven)}
    found = list(equations(linkage, points))
    shape = np.broadcast_shapes(*(np.shape(place) for place in points))
    matrix = np.zeros((*shape, len(found), 2 * len(free)))
    for row, (_part, _left, gradient) in enumerate(found):
        for pin, g in gradient:
            if pin in free:
                matrix[..., row, free[pin]] += np.real(g)
                matrix[..., row, free[pin] + 1] += np.imag(g)
    names = list(linkage.names)
    return matrix, [part for part, _left, _gradient in found], [names[pin] for pin in free]
