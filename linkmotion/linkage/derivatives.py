"""Derivatives of an output to every dimension and to a shift of any joint, at every wheel position.

One sweep backward through the solved steps gives them all (it is the factored transpose of the
loop equations): the wish at the output is resolved along the parts like a force, and what arrives
at a part is the derivative to its dimension. By virtual work the numbers are also the reactions
in the joints per unit load at the output.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any

import numpy as np

from linkmotion.linkage.loops import Loop
from linkmotion.linkage.parts import (
    Abreast,
    Carried,
    Crank,
    Fixed,
    Guide,
    Linkage,
    LinkageError,
    Part,
    Plate,
    Real,
    Rod,
    Slide,
)
from linkmotion.linkage.solve import Solution
from linkmotion.linkage.steps import Points, Shifts, add, dot, place_in


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
        """Derivative of the output to a small shift of a part's hole for a pin, complex (x and y)."""
        return self.shifts.get((part, self.solution.linkage.names[pin]), 0.0)

    def dimension(self, part: str, what: str) -> Any:
        """Derivative to one number of the linkage, keyed as in ``linkage.dimensions``."""
        try:
            return self._found[part, what]()
        except KeyError:
            raise LinkageError(f"no dimension {what!r} of {part!r}") from None

    @cached_property
    def _found(self) -> dict[tuple[str, str], Any]:
        names = list(self.solution.linkage.names)
        found: dict[tuple[str, str], Any] = {}
        for part in self.solution.linkage.parts:
            name = names[part.pin] if isinstance(part, Fixed | Crank) else part.name
            found |= {(name, what): call for what, call in self._of(part, names).items()}
        return found

    def _of(self, part: Part, names: list[str]) -> dict[str, Any]:
        x, shifts = self.solution.points, self.shifts
        match part:
            case Fixed(pin=pin):
                bar = 0j if self.bar[pin] is None else self.bar[pin]
                return {"x": lambda: np.real(bar), "y": lambda: np.imag(bar)}
            case Crank(pin=pin, about=about):
                bar = self.bar[pin]
                if bar is None:  # nothing hangs on it
                    return {"radius": lambda: 0.0, "phase": lambda: 0.0}
                arm = x[pin] - x[about]
                return {"radius": lambda: dot(arm, bar) / part.radius, "phase": lambda: dot(1j * arm, bar)}
            case Rod(name=name, a=a, b=b):
                push = shifts.get((name, b))
                return {"length": lambda: 0.0 if push is None else dot(x[b] - x[a], push) / part.length}
            case Plate():
                return self._of_plate(part, names)
            case Guide(name=name, pin=pin, direction=angle):
                push, line, origin = (
                    shifts.get((name, pin), 0j),
                    np.exp(1j * angle),
                    part.origin[0] + 1j * part.origin[1],
                )
                return {
                    "x": lambda: np.real(push),
                    "y": lambda: np.imag(push),
                    "direction": lambda: dot(line, x[pin] - origin) * dot(1j * line, push),
                }
            case Carried(name=name, pin=pin):
                push = shifts.get((name, pin), 0j)
                return {"x": lambda: np.real(push), "y": lambda: np.imag(push)}
            case Abreast(name=name, pin=pin, by=by, direction=angle):
                push = shifts.get((name, pin), 0j)
                return {
                    "direction": lambda: -dot(1j * np.exp(1j * angle), x[pin] - x[by]) * dot(np.exp(1j * angle), push)
                }
            case Slide(name=name, pin=pin, a=a, b=b):
                arm = x[b] - x[a]
                return {"offset": lambda: dot(1j * arm, shifts.get((name, pin), 0j)) / np.abs(arm)}

    def _of_plate(self, part: Plate, names: list[str]) -> dict[str, Any]:
        """Shifts of the holes turned into the plate's own axes."""
        a, b = part.pins[:2]
        x = self.solution.points

        @cache
        def back() -> Any:
            return (place_in(part, b) - place_in(part, a)) / (x[b] - x[a])

        @cache
        def own(pin: int) -> Any:
            push = self.shifts.get((part.name, pin))
            return 0j if push is None else push * back()

        found: dict[str, Any] = {}
        for pin in part.pins:
            found[f"{names[pin]}.x"] = lambda pin=pin: np.real(own(pin))
            found[f"{names[pin]}.y"] = lambda pin=pin: np.imag(own(pin))
        return found


def dimensions(linkage: Linkage) -> dict[tuple[str, str], Real]:
    """Every number of the linkage, keyed by (part or pin, what)."""
    names = list(linkage.names)
    found: dict[tuple[str, str], Real] = {}
    for part in linkage.parts:
        match part:
            case Fixed(pin=pin, x=x, y=y):
                found |= {(names[pin], "x"): x, (names[pin], "y"): y}
            case Crank(pin=pin, radius=radius, phase=phase):
                found |= {(names[pin], "radius"): radius, (names[pin], "phase"): phase}
            case Rod(name=name, length=length):
                found[name, "length"] = length
            case Plate(name=name, pins=pins, places=places):
                for pin, (x, y) in zip(pins, places, strict=True):
                    found |= {(name, f"{names[pin]}.x"): x, (name, f"{names[pin]}.y"): y}
            case Guide(name=name, origin=(x, y), direction=direction):
                found |= {(name, "x"): x, (name, "y"): y, (name, "direction"): direction}
            case Carried(name=name, offset=(x, y)):
                found |= {(name, "x"): x, (name, "y"): y}
            case Slide(name=name, offset=offset):
                found[name, "offset"] = offset
            case Abreast(name=name, direction=direction):
                found[name, "direction"] = direction
    return found


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
    """
    bar: Points = [None] * len(solution.points)
    for pin, weight in wish.items():
        bar[solution.linkage.names[pin]] = np.asarray(weight, complex)
    found: Shifts = dict(shifts or {})
    for stage in reversed(solution.stages):
        if isinstance(stage, Loop) or bar[stage.pin] is not None:
            stage.adjoint(solution.points, bar, found)
    for part in reversed(solution.linkage.parts):
        if isinstance(part, Crank) and bar[part.pin] is not None:
            add(bar, part.about, bar[part.pin])
    return Gradient(solution, bar, found)


def gradient_along(solution: Solution, guide: str) -> Gradient:
    """Derivatives of ``solution.along(guide)``, the place of a guided pin along its guide."""
    part = solution.guide(guide)
    line = np.exp(1j * part.direction)
    pin = next(name for name, index in solution.linkage.names.items() if index == part.pin)
    return gradient(solution, {pin: line}, {(guide, part.pin): -line})


def chain(gradient: Gradient, varied: Linkage, count: int, step: float) -> list[Any]:
    """Derivatives to ``count`` figures from which the linkage was declared.

    ``varied`` is the linkage declared from figures that are complex arrays of shape (..., count), each
    with ``i * step`` added in its own row: the imaginary parts of its dimensions, over ``step``, are
    the exact derivatives of the dimensions to the figures (complex step; no difference is taken).
    """
    total: list[Any] = [None] * count
    value: Any
    for (part, what), value in dimensions(varied).items():
        if not (isinstance(value, np.ndarray) and value.dtype.kind == "c"):
            continue
        slopes = value.imag / step
        rows = np.flatnonzero(slopes if slopes.ndim == 1 else slopes.reshape(-1, count).any(axis=0))
        if rows.size:
            own = gradient.dimension(part, what)
            for row in rows:
                slope = slopes[..., row]
                add(total, row, own if slope.ndim == 0 and slope == 1.0 else own * slope)
    return [0.0 if each is None else each for each in total]
