"""Finding the order in which a linkage is solved, once per kind of linkage.

Pins are placed by closed-form steps while that is possible. Where it is not, every coordinate that
could be cut is tried, on the linkage itself; the cut with the best conditioning (the least
movement of any pin per unit of misfit, over the revolution) is kept, the others stand by.
The order depends on what is joined to what, and is kept under that key.
"""

from __future__ import annotations

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
    Rod,
    Slide,
)
from linkmotion.linkage.placing import LoopRecipe, Placing, Recipe, make_step
from linkmotion.linkage.slides import Step
from linkmotion.linkage.steps import Points

Order = tuple[Recipe | LoopRecipe, ...]


def topology(linkage: Linkage) -> tuple[Any, ...]:
    """What is joined to what, without any dimension: the key under which an order is kept."""
    return (tuple(linkage.names), tuple(_joined(part) for part in linkage.parts))


def _joined(part: Part) -> tuple[Any, ...]:
    match part:
        case Fixed(pin=pin):
            return ("fixed", pin)
        case Crank(pin=pin, about=about):
            return ("crank", pin, about)
        case Rod(name=name, a=a, b=b):
            return ("rod", name, a, b)
        case Plate(name=name, pins=pins):
            return ("plate", name, *pins, part.huddled)
        case Guide(name=name, pin=pin):
            return ("guide", name, pin)
        case Carried(name=name, pin=pin, by=by):
            return ("carried", name, pin, by)
        case Slide(name=name, pin=pin, a=a, b=b):
            return ("slide", name, pin, a, b)
        case Abreast(name=name, pin=pin, by=by):
            return ("abreast", name, pin, by)


def make(linkage: Linkage, order: Order) -> list[Step | Loop]:
    """The stages of a linkage, with its dimensions, in solving order."""
    return [r.make(linkage) if isinstance(r, LoopRecipe) else make_step(linkage, r) for r in order]


def _looseness(loop: Loop, x: Points) -> tuple[int, float]:
    """At how many positions a loop does not close, and the greatest movement of a pin per unit of misfit elsewhere."""
    x = list(x)
    shape = np.broadcast_shapes(*(np.shape(p) for p in x if p is not None), np.shape(loop.cut.start))
    q, residual, closed = loop.close_round(x, shape)
    shape = np.broadcast_shapes(np.shape(q), np.shape(residual))
    fit = np.broadcast_to(True if closed else loop.fits(x, residual), shape)
    if not fit.any():
        return fit.size, np.inf
    with np.errstate(all="ignore"):  # where it does not close anything may come out; those places are not looked at
        slope, moves = loop.slope(x)
        widest = max(np.max(np.abs(np.broadcast_to(m, shape)[fit])) for m in moves if m is not None)
        slope = np.broadcast_to(slope, shape)[fit]
        if np.min(slope) * np.max(slope) <= 0:  # this cut passes a dead point of its own
            return fit.size, np.inf
        steepest = np.min(np.abs(slope))
        return int(fit.size - fit.sum()), float(max(widest, np.max(loop.cut.reach)) / steepest)


def find_order(linkage: Linkage, x: Points, choices: tuple[int, ...] = ()) -> tuple[Order, bool]:
    """An order of solution; ``x`` holds the fixed and driven pins at some positions.

    Parameters
    ----------
    linkage, x
        The linkage, with numbers for dimensions, and the pins that need no solving.
    choices : tuple of int
        For each cut in turn: 0 for the best loop, 1 for the second best, and so on; the best where none is said.

    Returns
    -------
    order : Order
        The stages.
    sure : bool
        Whether every loop closed at every position, so that the choice is well founded.

    Raises
    ------
    LinkageError
        When the linkage is held too little or too much, or no single cut opens a loop.
    """
    state = Placing(linkage, frozenset(i for i, p in enumerate(x) if p is not None))
    order: list[Recipe | LoopRecipe] = []
    sure, x, wanted = True, list(x), iter(choices)
    while not state.closures() and len(state.known) < len(x):
        step = next(state.steps(), None)
        if step is not None:
            order.append(step)
            state = state.after(step)
            with np.errstate(all="ignore"):  # pins of a loop that does not close may stand anywhere
                make_step(linkage, step).place(x)
            continue
        ranked = _ranked(linkage, state, x)
        choice = next(wanted, 0)
        if choice >= len(ranked):
            raise LinkageError("no further order")
        (unclosed, _loose), loop = ranked[choice]
        sure = sure and unclosed == 0
        order.append(loop)
        state = state.after_loop(loop)
        made = loop.make(linkage)
        made.close_round(x, np.broadcast_shapes(*(np.shape(p) for p in x if p is not None)))
    if any(wanted):
        raise LinkageError("no further order")
    if state.closures():
        raise LinkageError(f"{_part_name(linkage, state.closures()[0])}: held too much, nothing is left to move")
    return tuple(order), sure


def _ranked(linkage: Linkage, state: Placing, x: Points) -> list[tuple[tuple[int, float], LoopRecipe]]:
    """The loops that can be cut, the best conditioned first."""
    loops = list(dict.fromkeys(loop for cut in state.cuts() for loop in state.loops(cut)))
    if not loops:
        lost = [name for name, pin in linkage.names.items() if pin not in state.known]
        raise LinkageError(f"nothing determines {', '.join(lost)}: a part is missing")
    return sorted(((_looseness(loop.make(linkage), x), loop) for loop in loops), key=lambda pair: pair[0])


def _part_name(linkage: Linkage, closure: Recipe) -> str:
    part = linkage.parts[closure[1]]
    assert isinstance(part, Rod | Plate | Guide | Slide | Abreast)
    return part.name
