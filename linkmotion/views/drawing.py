"""The gear drawn to scale at one crank angle, from the linkage itself: any gear draws alike."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from linkmotion.gears import Slot
from linkmotion.linkage import Solution, Wheel, solve
from linkmotion.linkage.parts import Carried, Crank, Fixed, Guide, Part, Plate, Rod, Slide
from linkmotion.studies.assess import SideEvents
from linkmotion.views.labels import Bar, write_names
from linkmotion.views.style import EXHAUST, FLAG, GRID, INK, PAPER, STEAM, axes_or_new

_PLAIN = ("crank", "forward eccentric", "backward eccentric", "eccentric")  # need no name beside them
_LINK, _ROD = "#7a5c1e", "#3d5a4c"


def plot_gear(side: SideEvents, notch: int, crank_angle: float = 45.0, ax: Any = None, names: bool = True) -> Any:
    """Draw the gear to scale, in millimetres, axle at the origin and the front to the right.

    Parameters
    ----------
    side : SideEvents
        The side and its notches.
    notch : int
        Number of the notch.
    crank_angle : float
        Degrees from front dead centre, running forward.
    names : bool
        Name the parts beside them.
    """
    ax = axes_or_new(ax)
    solution = solve(side.gear.declare(side.settings[notch]), Wheel.at(-np.radians(crank_angle)))
    pins = solution.linkage.names
    _wheel(solution, ax)
    bars = [bar for part in solution.linkage.parts for bar in _bars(solution, part)]
    bars += [
        Bar(_at(solution, pins[start]), _at(solution, pins[end]), INK, "" if name in _PLAIN else name)
        for name, start, end in side.gear.arms
        if start in pins and end in pins
    ]
    for bar in bars:
        ends_ = np.array([bar.start, bar.end])
        ax.plot(ends_.real, ends_.imag, color=bar.colour, lw=2.2, solid_capstyle="round", zorder=2)
    for part in solution.linkage.parts:
        if isinstance(part, Guide):
            _guide(ax, solution, part)
        if isinstance(part, Slide):
            place = _at(solution, part.pin)
            ax.plot(place.real, place.imag, "s", color=FLAG, ms=7, zorder=3)
    slot = [] if side.gear.slot is None else _slot(ax, side.gear.slot, solution)
    _pins(ax, solution)
    ax.set_aspect("equal")
    ax.grid(False)
    ax.set(xlabel="mm ahead of the axle", ylabel="mm above the axle")
    if names:
        write_names(ax, bars, slot)
    return ax


def _at(solution: Solution, pin: int) -> complex:
    return complex(np.ravel(solution.points[pin])[0])


def _drawn(solution: Solution, pin: int) -> bool:
    return not list(solution.linkage.names)[pin].startswith("slot ")


def _wheel(solution: Solution, ax: Any) -> None:
    """The circles in which the wheel's pins turn."""
    for part in solution.linkage.parts:
        if isinstance(part, Crank):
            centre, pin = _at(solution, part.about), _at(solution, part.pin)
            ring = centre + abs(pin - centre) * np.exp(1j * np.linspace(0, 2 * np.pi, 181))
            ax.plot(ring.real, ring.imag, color=GRID, lw=0.9, zorder=0)


def _bars(solution: Solution, part: Part) -> Iterator[Bar]:
    """The straight lines as which a part is drawn."""
    match part:
        case Rod(name=name, a=a, b=b) if name != "slot":
            yield Bar(_at(solution, a), _at(solution, b), _ROD, name)
        case Plate(name=name, pins=pins):
            points = [_at(solution, p) for p in pins if _drawn(solution, p)]
            yield from _plate(points, name, _LINK if "link" in name else _ROD)
        case Carried(pin=pin, by=by):
            yield Bar(_at(solution, by), _at(solution, pin), INK)
        case Slide(pin=pin, a=a, b=b):  # as much of the rod's line as runs to its block
            block = _at(solution, pin)
            yield Bar(block, min((_at(solution, a), _at(solution, b)), key=lambda end: abs(block - end)), _ROD)


def _plate(points: list[complex], name: str, colour: str) -> Iterator[Bar]:
    """The longest line between two of its pins, and from it to each other pin."""
    start, end = max(((a, b) for a in points for b in points), key=lambda pair: abs(pair[1] - pair[0]))
    yield Bar(start, end, colour, name)
    along = end - start
    for point in points:
        if point not in (start, end):
            share = np.clip(((point - start) * along.conjugate()).real / abs(along) ** 2, 0, 1)
            yield Bar(start + share * along, point, colour)


def _guide(ax: Any, solution: Solution, guide: Guide) -> None:
    """Two lines beside a guided pin, in proportion to the crank."""
    crank = next(part for part in solution.linkage.parts if isinstance(part, Crank))
    size = abs(_at(solution, crank.pin) - _at(solution, crank.about))
    place, line = _at(solution, guide.pin), complex(np.exp(1j * guide.direction))
    for offset in (-1, 1):
        ends = place + size * line * (np.array([-0.6, 0.6]) + 0.05j * offset)
        ax.plot(ends.real, ends.imag, color=GRID, lw=2.0, zorder=1)


def _slot(ax: Any, slot: Slot, solution: Solution) -> list[complex]:
    """Draw the slot's centre line between its ends, and the die in it; gives the places along it."""
    (heel, at), turn = next(iter(slot.pins.items())), complex(np.ravel(slot.turn(solution))[0])
    x, y = slot.at(np.linspace(-slot.bottom, slot.top, 41))
    line = _at(solution, solution.linkage.names[heel]) + turn * (x + 1j * y - (at[0] + 1j * at[1]))
    ax.plot(line.real, line.imag, color=_LINK, lw=7, alpha=0.35, solid_capstyle="butt", zorder=1)
    ax.plot(line.real, line.imag, color=_LINK, lw=0.8, zorder=3)
    die = complex(np.ravel(solution[slot.die])[0])
    ax.plot(die.real, die.imag, "s", color=STEAM, ms=6, zorder=6)
    return [complex(place) for place in np.ravel(line)]


def _pins(ax: Any, solution: Solution) -> None:
    for part in solution.linkage.parts:
        if isinstance(part, Fixed):
            place = _at(solution, part.pin)
            ax.plot(place.real, place.imag, "o", mfc=PAPER, mec=EXHAUST, mew=1.6, ms=6, zorder=6)
    for name, pin in solution.linkage.names.items():
        if name != "axle" and _drawn(solution, pin):
            place = _at(solution, pin)
            ax.plot(place.real, place.imag, "o", color=INK, ms=2.6, zorder=7)
