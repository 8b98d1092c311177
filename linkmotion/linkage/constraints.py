"""The linkage as equations in natural coordinates: how well they are met, and their exact Jacobian.

The coordinates are the places of the pins. A rod is a constant distance, a plate a fixed combination
of two of its pins, a guide a linear equation. The closed-form steps solve these; here they are
written down once as a whole, to report what is left over and to let anyone check the derivatives.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.linkage.parts import Abreast, Carried, Crank, Fixed, Guide, Plate, Rod, Slide
from linkmotion.linkage.solve import Solution
from linkmotion.linkage.steps import cross, dot, place_in


@dataclass(frozen=True)
class Equation:
    """One real equation: the part it belongs to, what is left over (mm), and its gradient to each pin.

    The gradient to a pin is the complex number g with ``d(left over) = Re(conj(g) * d(pin))``.
    """

    part: str
    left: Any
    gradient: tuple[tuple[int, Any], ...]


def equations(solution: Solution) -> Iterator[Equation]:
    """Every equation of the linkage at every wheel position."""
    x = solution.points
    for part in solution.linkage.parts:
        match part:
            case Rod(name=name, a=a, b=b, length=length):
                yield _distance(name, x, a, b, length)
            case Plate():
                yield from _plate(part, x)
            case Guide(name=name, pin=pin, origin=origin, direction=direction):
                square = 1j * np.exp(1j * direction)
                yield Equation(name, dot(square, x[pin] - (origin[0] + 1j * origin[1])), ((pin, square),))
            case Carried(name=name, pin=pin, by=by, offset=offset):
                left = x[pin] - x[by] - (offset[0] + 1j * offset[1])
                yield Equation(name, left.real, ((pin, 1.0 + 0j), (by, -1.0 + 0j)))
                yield Equation(name, left.imag, ((pin, 1j), (by, -1j)))
            case Abreast(name=name, pin=pin, by=by, direction=direction):
                along = np.exp(1j * direction)
                yield Equation(name, dot(along, x[pin] - x[by]), ((pin, along), (by, -along)))
            case Slide(name=name, pin=pin, a=a, b=b, offset=offset):
                base, arm = x[b] - x[a], x[pin] - x[a]
                size = np.abs(base)
                line = base / size
                square, share = 1j * line, dot(line, arm) / size
                yield Equation(
                    name, cross(line, arm) - offset, ((pin, square), (a, -square * (1 - share)), (b, -square * share))
                )


def _distance(name: str, x: list[Any], a: int, b: int, length: Any) -> Equation:
    arm = x[b] - x[a]
    size = np.abs(arm)
    return Equation(name, size - length, ((b, arm / size), (a, -arm / size)))


def _plate(plate: Plate, x: list[Any]) -> Iterator[Equation]:
    a, b = plate.pins[:2]
    base = place_in(plate, b) - place_in(plate, a)
    yield _distance(plate.name, x, a, b, np.abs(base))
    for pin in plate.pins[2:]:
        turn = (place_in(plate, pin) - place_in(plate, a)) / base
        left = x[pin] - x[a] - (x[b] - x[a]) * turn
        for unit, part in ((1.0 + 0j, left.real), (1j, left.imag)):
            back = unit * np.conj(turn)
            yield Equation(plate.name, part, ((pin, unit), (a, -unit + back), (b, -back)))


def misfit(solution: Solution) -> dict[str, float]:
    """Greatest amount, mm, by which each part misses its pins over all positions."""
    worst: dict[str, float] = {}
    for equation in equations(solution):
        worst[equation.part] = max(worst.get(equation.part, 0.0), float(np.max(np.abs(equation.left))))
    return worst


def jacobian(solution: Solution) -> tuple[NDArray[np.float64], list[str], list[str]]:
    """Jacobian of all equations to the coordinates of the free pins.

    Returns
    -------
    array, shape (..., equations, 2 * free pins)
        Columns x, y of each free pin in the order of declaration; mm per mm.
    rows, columns : lists of str
        The part of each row; the free pins.
    """
    driven = {p.pin for p in solution.linkage.parts if isinstance(p, Fixed | Crank)}
    free = {pin: 2 * k for k, pin in enumerate(i for i in range(len(solution.points)) if i not in driven)}
    found = list(equations(solution))
    matrix = np.zeros((*solution.shape, len(found), 2 * len(free)))
    for row, equation in enumerate(found):
        for pin, g in equation.gradient:
            if pin in free:
                matrix[..., row, free[pin]] += np.real(g)
                matrix[..., row, free[pin] + 1] += np.imag(g)
    names = list(solution.linkage.names)
    return matrix, [equation.part for equation in found], [names[pin] for pin in free]
