"""Bodies of the elevation as pieces of card: their own outlines, so strong that they can be cut out and pinned."""

from __future__ import annotations

from collections.abc import Mapping

from linkmotion.elevation.body import Body, Pinned
from linkmotion.elevation.outlines import (
    PIN,
    Area,
    Circle,
    Outline,
    disc,
    filleted,
    parts_of,
    placed,
    polygon,
    ring_points,
    united,
)
from linkmotion.elevation.rods import HALF as DRAWN_HALF
from linkmotion.studies.card.motion import Motion
from linkmotion.studies.card.shapes import HALF, HOLE, Hole, Mark, Moving, Piece, Points, unit

LEAST_BAR = 4.0  # half the width of the narrowest rod, mm of card
_FILLET = 3.0  # radius of a hollow corner, mm
_COARSE = 0.02  # mm: what an outline may be off when points are left out that no scissors follow

Ends = Mapping[str, tuple[float, float]]
"""Radius of the hole and of the eye round it, mm, by pin, where it is no fastener's."""


def cut_out(motion: Motion, name: str, ends: Ends) -> Moving:
    """A body that hangs on two pins as a piece, its first pin at the origin and its second on the x axis.

    Parameters
    ----------
    motion, name, ends : Motion, str, Ends
        At the model's scale; the body's name; where a pin goes through a hole of its own size.
    """
    body = motion.drawn.body(name)
    follows = body.follows
    assert isinstance(follows, Pinned)
    turn = complex(unit(follows.at_b - follows.at_a)).conjugate()
    places = {pin: (at - follows.at_a) * turn / motion.scale for pin, at in pins_on(body, follows).items()}
    holes = tuple(Hole(pin, at, ends.get(pin, (HOLE, HALF))[0]) for pin, at in places.items())
    drawn = filled(motion, body, -follows.at_a * turn / motion.scale, turn)
    eyes = [disc(at, ends.get(pin, (HOLE, HALF))[1]) for pin, at in places.items()]
    way = motion.pins[follows.b] - motion.pins[follows.a]
    marks = tuple(
        Mark((ring - follows.at_a) * turn / motion.scale, "fine")
        for ring in openings(body)
        if not any(pin in ends for pin in places)
    )
    return Moving(Piece(name, one_piece([drawn, *eyes]), holes, marks=marks), motion.pins[follows.a], unit(way))


def openings(body: Body) -> list[Points]:
    """Edges of what is open in a body, in its own axes: of a strap, the sheave's."""
    areas = (shape.area for shape in body.shapes if isinstance(shape, Outline))
    return [ring_points(inner) for area in areas for part in parts_of(area) for inner in part.interiors]


def pins_on(body: Body, follows: Pinned) -> dict[str, complex]:
    """The pins of a body and their places in its own axes, mm, those first by which it is placed."""
    others = {shape.pin: shape.at for shape in body.shapes if isinstance(shape, Circle) and shape.role == PIN}
    return {follows.a: follows.at_a, follows.b: follows.at_b} | others


def filled(motion: Motion, body: Body, origin: complex, turn: complex) -> Area:
    """A body's outline, its openings filled, thickened as card needs, as it stands on a piece."""
    return thickened(motion, united(shape.area for shape in body.shapes if isinstance(shape, Outline)), origin, turn)


def thickened(motion: Motion, area: Area, origin: complex, turn: complex) -> Area:
    """An area of the engine at the model's scale, wider all round by what the narrowest rod lacks."""
    whole = united(polygon(complex(*xy) for xy in part.exterior.coords) for part in parts_of(area))
    grown = max(0.0, LEAST_BAR - DRAWN_HALF * motion.drawn.paths.r / motion.scale)
    return placed(whole, origin, turn / motion.scale).buffer(grown)


def one_piece(areas: list[Area]) -> Area:
    """Areas as one piece, its hollow corners rounded."""
    return filleted(united(areas), _FILLET).simplify(_COARSE)
