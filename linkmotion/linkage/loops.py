"""A closed loop: one coordinate is cut, the steps follow from it, and one part must then close.

The coordinate is found by Newton's method at all wheel positions together, with the derivative
carried forward along the steps.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from linkmotion.linkage.parts import Abreast, Guide, Linkage, Plate, Rod, Slide
from linkmotion.linkage.slides import Step
from linkmotion.linkage.steps import Placed, Points, Riding, Shifts, add, cross, dot, length_of, pull

CLOSED = 1e-10  # mm: a loop is closed when its last part fits this well
_ACCEPTED = 5  # times that misfit is still accepted where Newton's steps have died away (short parts magnify rounding)
_ROUNDING = 1e-13  # of the longest part: what rounding alone may leave
_SLOPE_KEPT = 0.02  # mm: after a Newton step this small the slope is good to 1 in 10,000
_STEP_LAST = 1e-11  # mm: nothing is gained by another step
_STEP_DONE = 1e-6  # mm: after a Newton step this small the error is its square over a length


class GuideCut:
    """The cut coordinate is a pin's place along its guide, mm."""

    def __init__(self, linkage: Linkage, pin: int, guide: int) -> None:
        part = linkage.parts[guide]
        assert isinstance(part, Guide)
        self.pin, self.part, self.reach = pin, part.name, 1.0
        self.origin = part.origin[0] + 1j * part.origin[1]
        self.line = np.exp(1j * part.direction)
        self.start = dot(self.line, linkage.sketch(pin) - self.origin)

    def place(self, x: Points, q: Any) -> None:
        x[self.pin] = self.origin + self.line * q

    def move(self, x: Points) -> Any:
        return self.line

    def adjoint(self, x: Points, bar: Points, shifts: Shifts) -> None:
        add(shifts, (self.part, self.pin), bar[self.pin])


class TurnCut:
    """The cut coordinate is the direction of a rod from a placed pin, radians."""

    def __init__(self, linkage: Linkage, pin: int, rod: int, a: int) -> None:
        part = linkage.parts[rod]
        assert isinstance(part, Rod | Plate)
        self.pin, self.a, self.part = pin, a, part.name
        self.reach = length_of(part, a, pin)
        self.start = np.angle(linkage.sketch(pin) - linkage.sketch(a))

    def place(self, x: Points, q: Any) -> None:
        turn = np.empty(np.shape(q), complex)  # exp(i q), by parts: a third cheaper
        turn.real, turn.imag = np.cos(q), np.sin(q)
        x[self.pin] = x[self.a] + self.reach * turn

    def move(self, x: Points) -> Any:
        return 1j * (x[self.pin] - x[self.a])

    def adjoint(self, x: Points, bar: Points, shifts: Shifts) -> None:
        e = (x[self.pin] - x[self.a]) / self.reach
        pull(self.part, self.a, self.pin, e * dot(bar[self.pin], e), bar, shifts)


Gradient = tuple[tuple[int, Any], ...]
"""Of what is left over at the part that closes a loop (``residual``, mm), to each of its pins."""


class RodCloses:
    """The last part is a rod (or two pins of a plate): its length must fit."""

    def __init__(self, linkage: Linkage, rod: int, a: int, b: int) -> None:
        part = linkage.parts[rod]
        assert isinstance(part, Rod | Plate)
        self.a, self.b, self.part, self.length = a, b, part.name, length_of(part, a, b)

    def residual(self, x: Points) -> Any:
        arm = x[self.b] - x[self.a]
        return np.sqrt(arm.real**2 + arm.imag**2) - self.length

    def gradient(self, x: Points) -> Gradient:
        arm = x[self.b] - x[self.a]
        unit = arm / np.abs(arm)
        return (self.b, unit), (self.a, -unit)


class GuideCloses:
    """The last part is a guide: its pin must lie on it."""

    def __init__(self, linkage: Linkage, guide: int, pin: int) -> None:
        part = linkage.parts[guide]
        assert isinstance(part, Guide)
        self.pin, self.part = pin, part.name
        self.origin, self.square = part.origin[0] + 1j * part.origin[1], 1j * np.exp(1j * part.direction)

    def residual(self, x: Points) -> Any:
        return dot(self.square, x[self.pin] - self.origin)

    def gradient(self, x: Points) -> Gradient:
        return ((self.pin, self.square),)


class SlideCloses:
    """The last part is a straight slot or swivel block: its pin must lie on the line a-b."""

    def __init__(self, linkage: Linkage, slide: int) -> None:
        part = linkage.parts[slide]
        assert isinstance(part, Slide)
        self.pin, self.a, self.b, self.part, self.offset = part.pin, part.a, part.b, part.name, part.offset

    def residual(self, x: Points) -> Any:
        base, arm = x[self.b] - x[self.a], x[self.pin] - x[self.a]
        return cross(base, arm) / np.sqrt(base.real**2 + base.imag**2) - self.offset

    def gradient(self, x: Points) -> Gradient:
        base, arm = x[self.b] - x[self.a], x[self.pin] - x[self.a]
        size = np.abs(base)
        line = base / size
        square, share = 1j * line, dot(line, arm) / size
        return (self.pin, square), (self.a, -square * (1 - share)), (self.b, -square * share)


class AbreastCloses:
    """The last part keeps two placed pins abreast."""

    def __init__(self, linkage: Linkage, block: int) -> None:
        part = linkage.parts[block]
        assert isinstance(part, Abreast)
        self.pin, self.by, self.part, self.along = part.pin, part.by, part.name, np.exp(1j * part.direction)

    def residual(self, x: Points) -> Any:
        return dot(self.along, x[self.pin] - x[self.by])

    def gradient(self, x: Points) -> Gradient:
        return (self.pin, self.along), (self.by, -self.along)


Cut = GuideCut | TurnCut
Closure = RodCloses | GuideCloses | SlideCloses | AbreastCloses


class Loop:
    """A cut, the steps that follow from it, and the part that must close."""

    def __init__(self, cut: Cut, steps: list[Step], closure: Closure) -> None:
        self.cut, self.steps, self.closure = cut, steps, closure
        sizes = (getattr(stage, name, 0.0) for stage in (*steps, closure) for name in ("l2", "length"))
        largest = max(size if isinstance(size, float) else float(np.max(size)) for size in sizes)
        self.closed = max(CLOSED, _ROUNDING * largest)

    def place(self, x: Points, q: Any) -> tuple[Any, bool]:
        """Place every pin of the loop for the cut coordinate q; residual (mm) and whether all steps meet."""
        self.cut.place(x, q)
        meets = True
        for step in self.steps:
            meets &= step.place(x)
        return self.closure.residual(x), meets

    def slope(self, x: Points) -> tuple[Any, Points]:
        """Derivative of the residual to the cut coordinate, and of every pin of the loop to it."""
        moves: Points = [None] * len(x)
        moves[self.cut.pin] = self.cut.move(x)
        for step in self.steps:
            step.tangent(x, moves)
        self.gradient = self.closure.gradient(x)
        return sum(dot(g, moves[pin]) for pin, g in self.gradient if moves[pin] is not None), moves

    def close(self, x: Points, q: Any, most: int = 25) -> tuple[Any, Any, bool]:
        """Newton from q at all positions at once; the coordinate found, the residual, and whether it closes.

        Once the steps are small the slope is kept: it has changed less than they matter.
        """
        reach = 0.2 * np.max(self.cut.reach) if isinstance(self.cut, TurnCut) else np.inf
        widest = np.inf
        with np.errstate(all="ignore"):  # a step that cannot meet may divide by zero; the residual tells
            residual, meets = self.place(x, q)
            for _ in range(most):
                if not widest < _SLOPE_KEPT:
                    self.last_slope, _moves = self.slope(x)
                step = residual / self.last_slope
                if np.isfinite(reach):
                    step = np.clip(step, -reach, reach)
                q = q - step
                residual, meets = self.place(x, q)
                widest = float(np.abs(step * self.cut.reach).max())
                if widest < _STEP_DONE and (np.abs(residual).max() < self.closed / 10 or widest < _STEP_LAST):
                    break
        return q, residual, meets and bool(np.abs(residual).max() < _ACCEPTED * self.closed)

    def fits(self, x: Points, residual: Any) -> Any:
        """Where the loop is closed: its last part fits and every step meets."""
        with np.errstate(invalid="ignore"):
            fit = np.abs(residual) < _ACCEPTED * self.closed
            for step in self.steps:
                if not isinstance(step, Placed | Riding):
                    fit = fit & (step.short(x) == 0)
        return fit

    def close_round(self, x: Points, shape: tuple[int, ...]) -> tuple[Any, Any, bool]:
        """Close at every position of a revolution, from the sketch.

        Positions far from the sketch may be missed by Newton's method; they are reached by following the
        assembly round the wheel from their neighbours.
        """
        shape = np.broadcast_shapes(shape, np.shape(self.cut.start))
        start = np.broadcast_to(self.cut.start, shape).astype(float)
        q, residual, closed = self.close(x, start)
        shape = np.broadcast_shapes(np.shape(q), np.shape(residual))  # dimensions of the loop itself may hold variants
        for _ in range(0 if closed else shape[-1]):
            good = np.broadcast_to(self.fits(x, residual), shape)
            before, after = np.roll(good, 1, -1), np.roll(good, -1, -1)
            if good.all() or not (~good & (before | after)).any():
                break
            beside = np.where(before, np.roll(q, 1, -1), np.where(after, np.roll(q, -1, -1), start))
            q, residual, closed = self.close(x, np.where(good, q, beside), most=12)
            if closed:
                break
        return q, residual, closed

    def adjoint(self, x: Points, bar: Points, shifts: Shifts) -> None:
        """Pass wishes at the loop's pins back to the pins before it, through the part that closes."""
        if all(bar[pin] is None for pin in (self.cut.pin, *(step.pin for step in self.steps))):
            return
        slope, moves = self.slope(x)
        gain = sum(dot(bar[pin], move) for pin, move in enumerate(moves) if move is not None and bar[pin] is not None)
        weight = -gain / slope
        for pin, g in self.gradient:
            add(bar, pin, g * weight)
            add(shifts, (self.closure.part, pin), -g * weight)
        for step in reversed(self.steps):
            if bar[step.pin] is not None:
                step.adjoint(x, bar, shifts)
        self.cut.adjoint(x, bar, shifts)
