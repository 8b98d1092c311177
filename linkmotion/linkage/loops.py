"""A closed loop: one coordinate is cut, the steps follow from it, and one part must then close.

The coordinate is found by Newton's method at all wheel positions together, with the derivative
carried forward along the steps.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from linkmotion.linkage.parts import Tie
from linkmotion.linkage.parts.part import Circle
from linkmotion.linkage.periodic import onward
from linkmotion.linkage.plane import Points, Shifts, add, dot, greatest
from linkmotion.linkage.steps import Carrying, Step, answer, pull_at

CLOSED = 1e-10  # mm: a loop is closed when its last part fits this well
_ACCEPTED = 5  # times that misfit is still accepted where Newton's steps have died away (short parts magnify rounding)
_ROUNDING = 1e-13  # of the longest part: what rounding alone may leave
_SECANT = 0.5  # mm: after a step this small the slope is taken from how the residual has changed in it
_SEEN = 1e-5  # mm: of a smaller step that would tell rounding
_STEP_LAST = 1e-11  # mm: nothing is gained by another step
_STEP_DONE = 1e-6  # mm: after a Newton step this small the error is its square over a length


class Cut:
    """The cut coordinate: how far a pin is led along the circle (radians) or line (mm) to which a part holds it.

    Parameters
    ----------
    pin : int
        Which pin.
    tie : Tie
        The part's equation, which leads it.
    sketch : list of complex numbers
        Places of all pins in the sketch, mm; the coordinate starts from there (``start``).
    """

    def __init__(self, pin: int, tie: Tie, sketch: Points) -> None:
        self.pin, self.tie, self.locus = pin, tie, tie.locus(pin, sketch)
        drawn = self.locus(sketch)
        self.turns = isinstance(drawn, Circle)
        self.reach = drawn[1] if self.turns else 1.0
        away = sketch[pin] - drawn[0]
        self.start = np.angle(away) if self.turns else dot(drawn[1], away)

    def place(self, x: Points, q: Any) -> None:
        """Place the pin.

        Parameters
        ----------
        x : list
            Places of the pins, mm; the pin's is written.
        q : array
            The coordinate, radians or mm, of a shape that broadcasts against the positions.
        """
        where, way = self.locus(x)[:2]
        if self.turns:
            turn = np.empty(np.shape(q), complex)  # exp(i q), by parts: a third cheaper
            turn.real, turn.imag = np.cos(q), np.sin(q)
            x[self.pin] = where + way * turn
        else:
            x[self.pin] = where + way * q

    def move(self, x: Points) -> Any:
        """Movement of the pin per unit of the coordinate, complex: mm per radian, or per mm.

        Parameters
        ----------
        x : list
            Places of the pins, mm, this one's too.
        """
        where, way = self.locus(x)[:2]
        return 1j * (x[self.pin] - where) if self.turns else way

    def tangent(self, x: Points, moves: Points) -> None:
        """A movement of the pin with which its part keeps up, the other pins moving: as ``Meeting.tangent``."""
        pull, along = self.tie.drift(self.pin, x, moves)
        if along is not None:
            moves[self.pin] = pull * (along / dot(pull, pull))

    def adjoint(self, x: Points, bar: Points, shifts: Shifts) -> None:
        """Pass a wish at the pin back to the pins before it, as ``Meeting.adjoint`` does."""
        pulls = self.tie.pulls(x)
        pull = pull_at(pulls, self.pin)
        answer(self.tie, pulls, self.pin, dot(bar[self.pin], pull) / dot(pull, pull), bar, shifts)


class Loop:
    """A cut, the steps that follow from it, and the part that must close.

    Parameters
    ----------
    cut : Cut
        The coordinate.
    steps : list of Step
        In the order in which they place pins.
    closure : Tie
        The equation that is met when the loop is closed.
    """

    def __init__(self, cut: Cut, steps: list[Step], closure: Tie) -> None:
        self.cut, self.steps, self.closure = cut, steps, closure
        ties = (tie for step in steps if not isinstance(step, Carrying) for tie in (step.first, step.second))
        sizes = (tie.size for tie in (*ties, closure))
        self.closed = max(CLOSED, _ROUNDING * max(map(greatest, sizes)))

    @property
    def pins(self) -> list[int]:
        """The pins that it places."""
        return [self.cut.pin, *(step.pin for step in self.steps)]

    def place(self, x: Points, q: Any) -> tuple[Any, bool]:
        """Place every pin of the loop for the cut coordinate.

        Parameters
        ----------
        x : list
            Places of the pins, mm; the loop's are written.
        q : array
            The coordinate, radians or mm.

        Returns
        -------
        residual : array
            What is left over of the closing part, mm.
        meets : bool
            Whether all steps meet at every position.
        """
        self.cut.place(x, q)
        meets = True
        for step in self.steps:
            meets &= step.place(x)
        return self.closure.left(x), meets

    def slope(self, x: Points) -> tuple[Any, Points]:
        """Derivative of the residual to the cut coordinate, and of every pin of the loop to it.

        Parameters
        ----------
        x : list
            Places of the pins, mm, the loop's too.

        Returns
        -------
        slope : array
            mm per radian, or per mm; of both signs over a revolution: a dead point was passed.
        moves : list of complex arrays
            By pin; None for those that the coordinate does not move.
        """
        moves: Points = [None] * len(x)
        moves[self.cut.pin] = self.cut.move(x)
        for step in self.steps:
            step.tangent(x, moves)
        self.gradient = self.closure.gradient(x)
        return sum(dot(g, moves[pin]) for pin, g in self.gradient if moves[pin] is not None), moves

    def close(self, x: Points, q: Any, most: int = 25) -> tuple[Any, Any, bool]:
        """Newton's method at all positions at once.

        Once the steps are small the slope is the secant's: the error is then that of the last step times the one before
        over a length, and the way to it is placing alone.

        Parameters
        ----------
        x : list
            Places of the pins, mm; the loop's are written.
        q : array
            The coordinate to start from, radians or mm.
        most : int
            Steps.

        Returns
        -------
        q, residual : arrays
            The coordinate found; what is left over, mm.
        closed : bool
            Whether the loop closes at every position.
        """
        reach = 0.2 * np.max(self.cut.reach) if self.cut.turns else np.inf
        with np.errstate(all="ignore"):  # a step that cannot meet may divide by zero; the residual tells
            residual, meets = self.place(x, q)
            self.last_slope, _moves = self.slope(x)
            for _ in range(most):
                step = residual / self.last_slope
                if np.isfinite(reach):
                    step = np.clip(step, -reach, reach)
                q, before = q - step, residual
                residual, meets = self.place(x, q)
                far = np.abs(step * self.cut.reach)
                widest = float(far.max())
                if widest < _STEP_DONE and (np.abs(residual).max() < self.closed / 10 or widest < _STEP_LAST):
                    break
                if widest < _SECANT:
                    self.last_slope = np.where(far > _SEEN, (before - residual) / step, self.last_slope)
                else:
                    self.last_slope, _moves = self.slope(x)
        return q, residual, meets and bool(np.abs(residual).max() < _ACCEPTED * self.closed)

    def fits(self, x: Points, residual: Any) -> Any:
        """Where the loop is closed: its last part fits and every step meets.

        Parameters
        ----------
        x : list
            Places of the pins, mm.
        residual : array
            What is left over of the last part, mm.

        Returns
        -------
        bool array
            By position.
        """
        with np.errstate(invalid="ignore"):
            fit = np.abs(residual) < _ACCEPTED * self.closed
            for step in self.steps:
                if step.parts:
                    fit = fit & (step.short(x) == 0)
        return fit

    def close_round(self, x: Points, shape: tuple[int, ...]) -> tuple[Any, Any, bool]:
        """Close at every position of a revolution, from the sketch.

        Positions far from the sketch may be missed by Newton's method; they are reached by following the
        assembly round the wheel from their neighbours.

        Parameters
        ----------
        x : list
            Places of the pins, mm, the last axis round the wheel; the loop's are written.
        shape : tuple of int
            Of the positions: (N,) or (S, N).

        Returns
        -------
        q, residual, closed
            As of :meth:`close`.
        """
        shape = np.broadcast_shapes(shape, np.shape(self.cut.start))
        start = np.broadcast_to(self.cut.start, shape).astype(float)
        q, residual, closed = self.close(x, start)
        shape = np.broadcast_shapes(np.shape(q), np.shape(residual))  # dimensions of the loop itself may hold variants
        reached = np.zeros(shape, bool)
        for _ in range(0 if closed else shape[-1]):
            good = np.broadcast_to(self.fits(x, residual), shape)
            before, after = np.roll(good, 1, -1), np.roll(good, -1, -1)
            if (good == reached).all() or not (~good & (before | after)).any():  # no further: it would go on alike
                break
            reached = good
            q, residual, closed = self.close(x, onward(np.where(good, q, start), good), most=12)
            if closed:
                break
        return q, residual, closed

    def rates(self, x: Points, moves: Points) -> None:
        """Movement of the loop's pins as those before it move.

        Parameters
        ----------
        x, moves : lists
            Places of the pins, mm; their movements, mm per unit of anything, into which the loop's are written.
        """
        slope, own = self.slope(x)
        self.cut.tangent(x, moves)
        for step in self.steps:
            step.tangent(x, moves)
        gap = sum(dot(g, moves[pin]) for pin, g in self.gradient if moves[pin] is not None)
        for pin, move in enumerate(own):
            if move is not None:
                moves[pin] = (0.0 if moves[pin] is None else moves[pin]) - move * (gap / slope)

    def adjoint(self, x: Points, bar: Points, shifts: Shifts) -> None:
        """Pass wishes at the loop's pins back to the pins before it, through the part that closes.

        Parameters
        ----------
        x, bar, shifts
            As for ``Meeting.adjoint`` (:mod:`linkmotion.linkage.steps`).
        """
        if all(bar[pin] is None for pin in self.pins):
            return
        slope, moves = self.slope(x)
        gain = sum(dot(bar[pin], move) for pin, move in enumerate(moves) if move is not None and bar[pin] is not None)
        weight = -gain / slope
        for pin, g in self.gradient:
            add(bar, pin, g * weight)
            add(shifts, (self.closure.name, pin), -g * weight)
        for step in reversed(self.steps):
            if bar[step.pin] is not None:
                step.adjoint(x, bar, shifts)
        self.cut.adjoint(x, bar, shifts)


Stage = Step | Loop
