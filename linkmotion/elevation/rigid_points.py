"""Points of each rigid figure of a gear in its own axes, and how they go with every key: what a dimension lies between.

The gear is declared once with a complex step in every key (:func:`linkmotion.gears.sensitivity.stepped`), so its own
parts say which points a key moves, which way and how far.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.elevation.body import Along, Body, Fast, Follows, Pinned
from linkmotion.elevation.paths import Paths
from linkmotion.elevation.slotted_link import name_of
from linkmotion.gears import Gear
from linkmotion.gears.frame import CRANK, VALVE_GUIDE, in_frame_axes
from linkmotion.gears.sensitivity import STEP, Key
from linkmotion.gears.slots import PART, Slot, is_tie
from linkmotion.linkage import Linkage
from linkmotion.linkage.parts import Carried, Crank, Fixed, Guide, Plate, Rod, Slide

ORIGIN, MIDDLE = "origin", "middle of the slot"
_SHOWN = 0.8  # crank radii: so far along a guide stands the point that shows its slope


@dataclass(frozen=True, eq=False)
class Point:
    """A point of a figure.

    Attributes
    ----------
    name : str
        Of its pin, or what else it is.
    at : complex
        In the figure's axes, mm.
    slopes : array, shape (D,)
        By how much it moves with each key, complex mm per mm or per degree.
    pinned : bool
        Whether a pin stands there.
    """

    name: str
    at: complex
    slopes: NDArray[np.complex128]
    pinned: bool = True


@dataclass(frozen=True, eq=False)
class Figure:
    """A rigid figure: the body that shows it, its points, and how it follows the pins."""

    body: str
    points: tuple[Point, ...]
    follows: Follows


def figures(paths: Paths, bodies: Sequence[Body], gear: Gear, linkage: Linkage, keys: Sequence[Key]) -> list[Figure]:
    """The figures of a gear: frame and wheel, rods and plates, what is carried, the link with its slot.

    Parameters
    ----------
    paths, bodies
        Of the drawing.
    gear, linkage : Gear, Linkage
        With a complex step in each of D keys; what was declared of it.
    keys : sequence of D (table, key)
        In the order of the steps.
    """
    made = _Stepped(gear, linkage, len(keys), list(linkage.names))
    found = [_frame(made, paths), _wheel(made)]
    links = {body.name: body for body in bodies if body.kind == "link"}
    found += [_link(made, links[name], slot) for slot in gear.slots if (name := name_of(slot)) in links]
    drawn = {f"{slot.word}{PART}" for slot in gear.slots} if links else set()
    for part in linkage.parts:
        match part:
            case Rod() if not is_tie(part.name):
                found.append(_rod(made, part))
            case Plate() if part.name not in drawn:
                found.append(_plate(made, part))
            case Carried():
                points = made.point(made.names[part.by], (0.0, 0.0)), made.point(made.names[part.pin], part.offset)
                found.append(Figure(part.name, points, Along(made.names[part.by])))
    return found


@dataclass(frozen=True, eq=False)
class _Stepped:
    """A gear with its steps, and the linkage declared of it."""

    gear: Gear
    linkage: Linkage
    count: int
    names: list[str]

    def point(self, name: str, place: tuple[Any, Any], pinned: bool = True) -> Point:
        """A point from its x and y, each with the steps in it."""
        x, y = (np.broadcast_to(np.asarray(each, complex), (self.count,)) for each in place)
        return Point(name, complex(x[0].real, y[0].real), np.asarray((x.imag + 1j * y.imag) / STEP), pinned)


def _frame(made: _Stepped, paths: Paths) -> Figure:
    """What stands on the frame: fixed pins, the lines of guides, the limits of the stroke, the central valve."""
    crank, reach = made.gear.crank, _SHOWN * paths.r
    points = [
        made.point(made.names[part.pin], (part.x, part.y)) for part in made.linkage.parts if isinstance(part, Fixed)
    ]
    for guide in made.linkage.parts:
        if not isinstance(guide, Guide):
            continue
        (x, y), turn = guide.origin, guide.direction
        points.append(made.point(f"{guide.name}, its start", (x, y), pinned=False))
        ahead = (x + reach * np.cos(turn), y + reach * np.sin(turn))
        points.append(made.point(f"{guide.name}, ahead", ahead, pinned=False))
        central = made.gear.valve.central_at
        if guide.name == VALVE_GUIDE and central is not None:
            place = (x + central * np.cos(turn), y + central * np.sin(turn))
            points.append(made.point("valve pin, valve central", place, pinned=False))
    for end, limit in zip(("back", "front"), reversed(crank.limits), strict=True):
        points.append(made.point(f"crosshead pin, {end}", in_frame_axes(crank, limit, crank.height), pinned=False))
    return Figure("frame", tuple(points), Fast())


def _wheel(made: _Stepped) -> Figure:
    """What turns with the wheel, in axes along the crank."""
    cranks = [part for part in made.linkage.parts if isinstance(part, Crank)]
    zero = next(part.phase for part in cranks if made.names[part.pin] == CRANK[2])
    points = [made.point(CRANK[1], (0.0, 0.0))]
    for part in cranks:
        turn = part.phase - zero
        points.append(made.point(made.names[part.pin], (part.radius * np.cos(turn), part.radius * np.sin(turn))))
    at_crank = next(point.at for point in points if point.name == CRANK[2])
    return Figure("wheel", tuple(points), Pinned(CRANK[1], CRANK[2], 0j, at_crank))


def _rod(made: _Stepped, part: Rod) -> Figure:
    a, b = made.names[part.a], made.names[part.b]
    points = made.point(a, (0.0, 0.0)), made.point(b, (part.length, 0.0))
    return Figure(part.name, points, Pinned(a, b, 0j, points[1].at))


def _plate(made: _Stepped, part: Plate) -> Figure:
    points = [made.point(made.names[pin], place) for pin, place in zip(part.pins, part.places, strict=True)]
    places = dict(zip(part.pins, part.places, strict=True))
    for slide in made.linkage.parts:
        if isinstance(slide, Slide) and {slide.a, slide.b} <= set(places):
            (x, y), (to_x, to_y) = places[slide.a], places[slide.b]
            far = np.sqrt((to_x - x) ** 2 + (to_y - y) ** 2)
            aside = (x - (to_y - y) / far * slide.offset, y + (to_x - x) / far * slide.offset)
            points.append(made.point(f"{slide.name}'s line", aside, pinned=False))
    if all(abs(point.at) > 0 for point in points):
        points.insert(0, made.point(ORIGIN, (0.0, 0.0), pinned=False))
    return Figure(part.name, tuple(points), _pinned(points))


def _link(made: _Stepped, body: Body, slot: Slot) -> Figure:
    """The link in its own axes: its pins, and the middle of its slot."""
    pins = [made.point(pin, place) for pin, place in slot.pins.items()]
    at_origin = [point for point in pins if point.at == 0] or [made.point(ORIGIN, (0.0, 0.0), pinned=False)]
    others = [point for point in pins if point is not at_origin[0]]
    middle = made.point(MIDDLE, slot.at(0.0), pinned=False)
    return Figure(body.name, (at_origin[0], *others, middle), body.follows)


def _pinned(points: Sequence[Point]) -> Pinned:
    """By the two pins that stand farthest apart."""
    pins = [point for point in points if point.pinned]
    a, b = max(((a, b) for a in pins for b in pins), key=lambda pair: abs(pair[1].at - pair[0].at))
    return Pinned(a.name, b.name, a.at, b.at)
