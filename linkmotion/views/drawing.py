"""The gear drawn to scale at one crank angle, from the linkage itself: any gear draws alike."""

from __future__ import annotations

from typing import Any

import numpy as np

from linkmotion.gears import Slot
from linkmotion.linkage import Solution, Wheel, solve
from linkmotion.linkage.parts import Carried, Crank, Fixed, Guide, Plate, Rod, Slide
from linkmotion.studies.assess import SideEvents
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
    _wheel(solution, ax)
    for part in solution.linkage.parts:
        match part:
            case Rod(name=name, a=a, b=b) if name != "slot":
                _bar(ax, [_at(solution, a), _at(solution, b)], _ROD, name if names else None)
            case Plate(name=name, pins=pins):
                _plate(ax, solution, part, name if names else None, [p for p in pins if _drawn(solution, p)])
            case Guide():
                _guide(ax, solution, part)
            case Carried(pin=pin, by=by):
                _bar(ax, [_at(solution, by), _at(solution, pin)], INK, None)
            case Slide(pin=pin, a=a, b=b):
                _tail(ax, _at(solution, pin), _at(solution, a), _at(solution, b))
    for bar, *ends in side.gear.arms:
        if set(ends) <= set(solution.linkage.names):
            _bar(
                ax,
                [_at(solution, solution.linkage.names[end]) for end in ends],
                INK,
                None if bar in _PLAIN or not names else bar,
            )
    if side.gear.slot is not None:
        _slot(ax, side.gear.slot, solution)
    _pins(ax, solution)
    ax.set_aspect("equal")
    ax.grid(False)
    ax.set(xlabel="mm ahead of the axle", ylabel="mm above the axle")
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


def _bar(ax: Any, ends: list[complex], colour: str, name: str | None, width: float = 2.2) -> None:
    ends_ = np.array(ends)
    ax.plot(ends_.real, ends_.imag, color=colour, lw=width, solid_capstyle="round", zorder=2)
    if name:
        way = ends_[-1] - ends_[0]
        middle = ends_[0] + 0.4 * way  # short of the middle, where rods cross most
        turn = np.degrees(np.angle(way if way.real >= 0 else -way))
        ax.annotate(
            name,
            (middle.real, middle.imag),
            fontsize=6.5,
            rotation=turn,
            rotation_mode="anchor",
            ha="center",
            va="bottom",
            xytext=(0, 2),
            textcoords="offset points",
            color=colour,
        )


def _plate(ax: Any, solution: Solution, plate: Plate, name: str | None, pins: list[int]) -> None:
    points = [_at(solution, p) for p in pins]
    longest = max(((a, b) for a in points for b in points), key=lambda pair: abs(pair[1] - pair[0]))
    _bar(ax, list(longest), _LINK if "link" in plate.name else _ROD, name)
    for point in points:
        if point not in longest:
            along = longest[1] - longest[0]
            share = np.clip(((point - longest[0]) * along.conjugate()).real / abs(along) ** 2, 0, 1)
            _bar(ax, [longest[0] + share * along, point], _LINK if "link" in plate.name else _ROD, None)


def _guide(ax: Any, solution: Solution, guide: Guide) -> None:
    """Two lines beside a guided pin, in proportion to the crank."""
    crank = next(part for part in solution.linkage.parts if isinstance(part, Crank))
    size = abs(_at(solution, crank.pin) - _at(solution, crank.about))
    place, line = _at(solution, guide.pin), complex(np.exp(1j * guide.direction))
    for offset in (-1, 1):
        ends = place + size * line * (np.array([-0.6, 0.6]) + 0.05j * offset)
        ax.plot(ends.real, ends.imag, color=GRID, lw=2.0, zorder=1)


def _tail(ax: Any, block: complex, a: complex, b: complex) -> None:
    """The swivel block and as much of the rod's line as runs to it."""
    nearer = a if abs(block - a) < abs(block - b) else b
    _bar(ax, [block, nearer], _ROD, None)
    ax.plot(block.real, block.imag, "s", color=FLAG, ms=7, zorder=3)


def _slot(ax: Any, slot: Slot, solution: Solution) -> None:
    """The slot's centre line between its ends, and the die in it."""
    (heel, at), turn = next(iter(slot.pins.items())), complex(np.ravel(slot.turn(solution))[0])
    x, y = slot.at(np.linspace(-slot.bottom, slot.top, 41))
    line = _at(solution, solution.linkage.names[heel]) + turn * (x + 1j * y - (at[0] + 1j * at[1]))
    ax.plot(line.real, line.imag, color=_LINK, lw=7, alpha=0.35, solid_capstyle="butt", zorder=1)
    ax.plot(line.real, line.imag, color=_LINK, lw=0.8, zorder=3)
    die = complex(np.ravel(solution[slot.die])[0])
    ax.plot(die.real, die.imag, "s", color=STEAM, ms=6, zorder=6)


def _pins(ax: Any, solution: Solution) -> None:
    for part in solution.linkage.parts:
        if isinstance(part, Fixed):
            place = _at(solution, part.pin)
            ax.plot(place.real, place.imag, "o", mfc=PAPER, mec=EXHAUST, mew=1.6, ms=6, zorder=6)
    for name, pin in solution.linkage.names.items():
        if name != "axle" and _drawn(solution, pin):
            place = _at(solution, pin)
            ax.plot(place.real, place.imag, "o", color=INK, ms=2.6, zorder=7)
