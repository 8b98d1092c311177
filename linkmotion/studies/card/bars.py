"""Rods and rigid parts of a gear in card, from its linkage: whatever the gear, each part becomes a piece."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from linkmotion.gears.slots import PART
from linkmotion.linkage.parts import Fixed, Plate, Rod, Slide
from linkmotion.studies.card.motion import Motion
from linkmotion.studies.card.shapes import (
    HALF,
    HOLE,
    SLIT,
    Hole,
    Moving,
    Piece,
    Points,
    Slit,
    around,
    rod,
    unit,
    united,
)

Ends = dict[str, tuple[float, float]]
_PLAIN = (HOLE, HALF)
_BEYOND = 2.0  # mm by which a slit is longer than what its pin uses


def bars(motion: Motion, ends: Ends) -> Iterator[Moving]:
    """Every rod and rigid part but the link.

    Parameters
    ----------
    motion, ends : Motion, dict
        At the model's scale; radius of hole and eye of a rod's end, mm, by pin, where it is no fastener's.
    """
    for part in motion.linkage.parts:
        if isinstance(part, Rod) and part.name != "slot":
            yield _rod(motion, part, ends)
        elif isinstance(part, Plate) and part.name != PART:
            yield _plate(motion, part)


def _rod(motion: Motion, part: Rod, ends: Ends) -> Moving:
    a, b = motion.names[part.a], motion.names[part.b]
    length = motion.short(part.length)
    eyes = (ends.get(a, _PLAIN), ends.get(b, _PLAIN))
    holes = (Hole(a, 0j, eyes[0][0]), Hole(b, complex(length), eyes[1][0]))
    return Moving(Piece(part.name, rod(length, eyes), holes), motion.pins[a], unit(motion.pins[b] - motion.pins[a]))


def _plate(motion: Motion, part: Plate) -> Moving:
    """A rigid part with its holes, and a slit for whatever slides along it; its longest line lies along x."""
    pins = [motion.names[pin] for pin in part.pins]
    places = {pin: motion.short(x) + 1j * motion.short(y) for pin, (x, y) in zip(pins, part.places, strict=True)}
    heel, toe = max(
        ((a, b) for i, a in enumerate(pins) for b in pins[i + 1 :]),
        key=lambda pair: abs(places[pair[1]] - places[pair[0]]),
    )
    base = places[heel]
    turn = np.conj(unit(places[toe] - base))
    own = {pin: complex((place - base) * turn) for pin, place in places.items()}
    where = Moving(Piece(part.name, None), motion.pins[heel], unit(motion.pins[toe] - motion.pins[heel]))
    slits = tuple(_slits(motion, part, where))
    outline = around([*own.values(), *(p for slit in slits for p in slit.line)], HALF)
    if slits:
        outline = united([outline, *(slit.shape.buffer(HALF - SLIT / 4) for slit in slits)]).convex_hull
    piece = Piece(part.name, outline, tuple(Hole(pin, place) for pin, place in own.items()), slits)
    return Moving(piece, where.origin, where.turn)


def _slits(motion: Motion, part: Plate, where: Moving) -> Iterator[Slit]:
    for slide in motion.parts(Slide):
        if slide.a in part.pins and slide.b in part.pins and slide.name != "slot":
            pin = motion.names[slide.pin]
            yield Slit(pin, _straight_path(where.seen(motion.pins[pin])))


def _straight_path(path: Points) -> Points:
    """The two ends of the straight line along which a pin moves, with a little beyond, shape (2,)."""
    points = np.ravel(np.asarray(path))
    middle = points.mean()
    spread = np.cov(np.vstack([points.real, points.imag]))
    values, vectors = np.linalg.eigh(spread)
    along = vectors[0, np.argmax(values)] + 1j * vectors[1, np.argmax(values)]
    reach = np.real((points - middle) * np.conj(along))
    ends = np.array([reach.min() - _BEYOND, reach.max() + _BEYOND])
    return np.asarray(middle + along * ends)


def arms(motion: Motion) -> Iterator[Moving]:
    """The reverser's arms: pins of the frame that it shifts, gathered on the shafts they turn about.

    Parameters
    ----------
    motion : Motion
        At the model's scale.
    """
    shifted = [pin for pin in motion.fixed if not motion.stands(pin)]
    groups: dict[str, list[tuple[str, str]]] = {}
    for name, start, end in motion.gear.arms:
        if end in shifted and start in motion.fixed and motion.stands(start):
            groups.setdefault(start, []).append((name, end))
    for shaft, held in groups.items():
        turn = unit(motion.pins[held[0][1]] - motion.pins[shaft])
        where = Moving(Piece(held[0][0], None), motion.pins[shaft], turn)
        places = {end: complex(where.seen(motion.pins[end])[0, 0]) for _name, end in held}
        outline = united(around([0j, place], HALF) for place in places.values())
        holes = (Hole(shaft, 0j), *(Hole(pin, place) for pin, place in places.items()))
        yield Moving(Piece(held[0][0], outline, holes), where.origin, where.turn)


def board_pins(motion: Motion) -> dict[str, complex]:
    """Pins that stand on the board for good, by name, complex mm of card.

    Parameters
    ----------
    motion : Motion
        At the model's scale.
    """
    found = {}
    for part in motion.parts(Fixed):
        pin = motion.names[part.pin]
        if motion.stands(pin):
            found[pin] = complex(motion.pins[pin][0, 0])
    return found
