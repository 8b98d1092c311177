"""The expansion link in card, or the slide that the weighshaft tilts.

A link's pins often stand where its die must pass: the trunnion in the middle of the slot, a saddle pin on it, rod
pins at its ends. Real links carry them on brackets beside the slot. So does the card one: a *pin plate* behind, a
*slot plate* in front, held apart by pads so that the heads of die and pins pass one another between the two.
Where every pin is clear of the slot one plate is enough.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from linkmotion.elevation.outlines import Area, band, disc, number, ring_points, united
from linkmotion.gears.slots import PART, Slot
from linkmotion.linkage.parts import Carried, Plate
from linkmotion.studies.card.cut_out import filled, one_piece
from linkmotion.studies.card.motion import Motion
from linkmotion.studies.card.shapes import (
    HALF,
    HOLE,
    LEAST,
    SLIT,
    STICK,
    Hole,
    Mark,
    Moving,
    Piece,
    Points,
    Shape,
    Slit,
    around,
    unit,
)

SLOT_PLATE, PIN_PLATE, PAD = "slot plate", "pin plate", "slot pad"
CHANNEL = 7.0  # half the width kept free between the plates for the heads
CHEEK = 13.5  # from the slot's line to the edge of a plate that has pads
PADS = 3.0  # thickness of the pads, mm
_BEYOND = 1.0  # slot longer than what the die uses, mm


@dataclass(frozen=True, eq=False)
class Link:
    """The link's plates, its pads and where they stand (in its axes), and notches for which it has no hole."""

    moving: tuple[Moving, ...]
    pads: tuple[Piece, ...] = ()
    pad_places: Points = field(default_factory=lambda: np.array([], complex))
    left_out: tuple[str, ...] = ()


def link(motion: Motion) -> Link | None:
    """The link of a gear that has one, or its slide; None of any other.

    Parameters
    ----------
    motion : Motion
        At the model's scale.
    """
    slot = motion.gear.slot
    if slot is None:
        return None
    k = 1 / motion.scale
    pins = {name: complex(number(x) * k, number(y) * k) for name, (x, y) in slot.pins.items()}
    heel, toe = list(pins)[:2]
    turn = unit(motion.pins[toe] - motion.pins[heel]) / unit(pins[toe] - pins[heel])
    where = Moving(Piece(PART, None), motion.pins[heel] - turn * pins[heel], turn)
    drawn = filled(motion, next(body for body in motion.drawn.bodies if body.kind == "link"), 0j, 1 + 0j)
    holders = (*motion.parts(Plate), *motion.parts(Carried))
    if any(p.name == PART and slot.die in (motion.names[pin] for pin in p.pins) for p in holders):
        return _held(motion, slot, pins, where, drawn)
    pins = {name: place for name, place in pins.items() if not name.startswith("slot ")}
    die = where.seen(motion.pins[slot.die])
    slit = Slit(slot.die, _slot_line(slot, motion.scale, die))
    crowded = [pin for pin, place in pins.items() if _near(slit, place) < HOLE + 2 * LEAST]
    if not crowded:
        outline = one_piece([drawn, slit.shape.buffer(HALF + 1), *(disc(p, HALF) for p in pins.values())])
        return Link((_at(where, Piece(PART, outline, _holes(pins), (slit,), (_centre_line(slit),))),))
    return _two_plates(where, slit, pins, drawn)


def _slot_line(slot: Slot, scale: float, die: Points) -> Points:
    """The slot's centre line in the link's axes, mm of card, from the lowest to the highest place of the die."""
    used = slot.place_of(die * scale)
    low = min(-float(np.real(slot.bottom)), float(np.min(used))) - _BEYOND * scale
    high = max(float(np.real(slot.top)), float(np.max(used))) + _BEYOND * scale
    x, y = map(np.asarray, slot.at(np.linspace(low, high, 121)))
    line = x + 1j * y
    return np.asarray(line, np.complex128) / scale


def _held(motion: Motion, slot: Slot, pins: dict[str, complex], where: Moving, drawn: Area) -> Link:
    """A link whose die is held: a hole for each notch that has room."""
    places = where.seen(motion.pins[slot.die])[:, 0]
    holes, left_out = list(_holes(pins)), []
    for notch, place in zip(motion.side.notches, places, strict=True):
        if all(abs(place - hole.at) > 2 * HOLE + LEAST for hole in holes):
            holes.append(Hole(slot.die, complex(place), note=notch))
        else:
            left_out.append(notch)
    outline = one_piece([drawn, around(places, CHEEK + 5.0), *(disc(hole.at, HALF) for hole in holes)])
    return Link((_at(where, Piece(slot.link, outline, tuple(holes))),), left_out=tuple(left_out))


def _two_plates(where: Moving, slit: Slit, pins: dict[str, complex], drawn: Area) -> Link:
    front = band(slit.line, CHEEK)
    back = one_piece([front, drawn, *(disc(place, HALF) for place in pins.values())])
    line = slit.line
    ends = [line[0] + 30.0 * unit(line[0] - line[1]), line[-1] + 30.0 * unit(line[-1] - line[-2])]
    channel = band([ends[0], *line, ends[1]], CHANNEL)
    taken = united([channel, *(disc(place, HOLE + 4.0) for place in pins.values())])
    glue = [p for p in _polygons(front.buffer(-0.6).difference(taken)) if p.area > 30.0]
    pegs = [Hole("", complex(*p.representative_point().coords[0]), STICK) for p in glue]
    slotted = Piece(SLOT_PLATE, front, tuple(pegs), (slit,), (_centre_line(slit),))
    pinned = Piece(PIN_PLATE, back, (*_holes(pins), *pegs))
    pads = tuple(Piece(f"{PAD} {i + 1}", p, (pegs[i],), made_of="box card") for i, p in enumerate(glue))
    places = np.concatenate([ring_points(p.simplify(0.5).exterior) for p in glue])
    return Link((_at(where, pinned), _at(where, slotted)), pads, places)


def with_glue_marks(lower: Moving, upper: Moving, pads: Iterable[Piece]) -> Moving:
    """The lower of two plates, with what is glued on it printed on its face: the pads, and the upper's outline.

    Parameters
    ----------
    lower, upper, pads : Moving, Moving, iterable of Piece
        In the same axes.
    """
    marks = [Mark(ring_points(pad.outline.exterior), "glue") for pad in pads]
    marks.append(Mark(ring_points(upper.piece.outline.exterior), "dash"))
    marks += [Mark(ring_points(slit.shape.exterior), "dash") for slit in upper.piece.slits]
    return replace(lower, piece=replace(lower.piece, marks=(*lower.piece.marks, *marks)))


def _at(where: Moving, piece: Piece) -> Moving:
    return Moving(piece, where.origin, where.turn)


def _holes(pins: dict[str, complex]) -> tuple[Hole, ...]:
    return tuple(Hole(pin, place) for pin, place in pins.items())


def _near(slit: Slit, place: complex) -> float:
    """Distance of a place from the slit's edge."""
    return float(disc(place, 1e-6).distance(band(slit.line, SLIT / 2)))


def _centre_line(slit: Slit) -> Mark:
    return Mark(slit.line, "fine")


def _polygons(shape: Shape) -> Iterator[Shape]:
    yield from getattr(shape, "geoms", (shape,))
