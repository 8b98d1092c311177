"""Finding the order in which a linkage is solved, once per kind of linkage.

Pins are placed by closed-form steps while that is possible. Where it is not, every coordinate that
could be cut is tried, on the linkage itself; the cut with the best conditioning (the least
movement of any pin per unit of misfit, over the revolution) is kept, the others stand by.
The order depends on what is joined to what, and is kept under that key.
"""

from __future__ import annotations

import numpy as np

from linkmotion.linkage.loops import Loop
from linkmotion.linkage.parts import Abreast, Crank, Fixed, Guide, Linkage, LinkageError, Plate, Rod, Slide
from linkmotion.linkage.placing import LoopRecipe, Placing, Recipe, make_step
from linkmotion.linkage.slides import Step
from linkmotion.linkage.steps import Points

Order = tuple[Recipe | LoopRecipe, ...]


def make(linkage: Linkage, order: Order) -> list[Step | Loop]:
    """The stages of a linkage, with its dimensions, in solving order."""
    return [r.make(linkage) if isinstance(r, LoopRecipe) else make_step(linkage, r) for r in order]


def _looseness(loop: Loop, x: Points) -> float:
    """Greatest movement of a pin per unit of misfit over the positions; infinite when it does not close."""
    x = list(x)
    _q, _residual, closed = loop.close(x, loop.cut.start)
    if not closed:
        return np.inf
    slope, moves = loop.slope(x)
    widest = max(np.max(np.abs(m)) for m in moves if m is not None)
    return float(max(widest, np.max(loop.cut.reach)) / np.min(np.abs(slope)))


def find_orders(linkage: Linkage, x: Points) -> list[Order]:
    """Orders of solution, best first; ``x`` holds the fixed and driven pins at some positions.

    Raises
    ------
    LinkageError
        When the linkage is held too little or too much, or no single cut opens a loop.
    """
    state = Placing(linkage, frozenset(i for i, p in enumerate(x) if p is not None))
    order: list[Recipe | LoopRecipe] = []
    spare: list[Order] = []
    x = list(x)
    while len(state.known) < len(x):
        if state.closures():
            raise LinkageError(f"{_part_name(linkage, state.closures()[0])}: held too much, nothing is left to move")
        step = next(state.steps(), None)
        if step is not None:
            order.append(step)
            state = state.after(step)
            make_step(linkage, step).place(x)
            continue
        loops = list(dict.fromkeys(loop for cut in state.cuts() for loop in state.loops(cut)))
        if not loops:
            lost = [name for name, pin in linkage.names.items() if pin not in state.known]
            raise LinkageError(f"nothing determines {', '.join(lost)}: a part is missing")
        loops.sort(key=lambda loop: _looseness(loop.make(linkage), x))
        spare = [(*order, loop) for loop in loops[1:3]]
        order.append(loops[0])
        state = state.after_loop(loops[0])
        best = loops[0].make(linkage)
        best.close(x, best.cut.start)
    return [tuple(order), *(complete(linkage, begun) for begun in spare)]


def complete(linkage: Linkage, begun: Order) -> Order:
    """Finish an order whose last stage is a loop with closed-form steps."""
    state = Placing(linkage, frozenset(p.pin for p in linkage.parts if isinstance(p, Fixed | Crank)))
    for stage in begun:
        state = state.after_loop(stage) if isinstance(stage, LoopRecipe) else state.after(stage)
    order = list(begun)
    while (step := next(state.steps(), None)) is not None:
        order.append(step)
        state = state.after(step)
    return tuple(order)


def _part_name(linkage: Linkage, closure: Recipe) -> str:
    part = linkage.parts[closure[1]]
    assert isinstance(part, Rod | Plate | Guide | Slide | Abreast)
    return part.name
