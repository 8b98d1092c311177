"""The wheel in card: its disc with a crank-angle scale, and what is carried beyond the connecting rod.

The connecting rod turns on a boss glued to the wheel at the crank pin. Whatever the wheel drives besides is carried
by a web glued on that boss, so that the connecting rod passes under it, as a return crank is carried on a real crank
pin: the return crank itself, the pin of a single eccentric, or two eccentrics as round sheaves with straps round them.
All pieces of the wheel are drawn in the same axes: axle at the origin, crank pin along x.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from linkmotion.elevation.outlines import Area, band, disc, united
from linkmotion.elevation.rods import sheave_radius
from linkmotion.gears.frame import CRANK
from linkmotion.studies.card.cut_out import filled, one_piece
from linkmotion.studies.card.motion import Motion
from linkmotion.studies.card.shapes import (
    HALF,
    HOLE,
    LEAST,
    STICK,
    Hole,
    Mark,
    Moving,
    Note,
    Piece,
    Points,
    around,
    unit,
)

BOSS, RUNNING = 7.0, 0.25  # radius of the crank-pin boss; play of a strap or big end on what it turns on
EYE = 11.75  # radius of the connecting rod's big end
RIM = 14.0  # wheel beyond the crank pin
STRAP = 5.5  # card of a strap round its sheave
SPREAD = 15.0  # from the axle to the hole by which the web is set square
WHEEL, WEB, BOSS_DISC, SHEAVE = "wheel", "web", "boss disc", "sheave"


@dataclass(frozen=True, eq=False)
class WheelSet:
    """The wheel's pieces.

    Attributes
    ----------
    moving : tuple of Moving
        The wheel, and the web if there is one.
    loose : tuple of Piece
        Glued on: boss discs, sheaves, keepers.
    ends : dict
        Of a rod's end on a pin of the wheel: radius of the hole and of the eye, where it is no fastener's.
    members : dict
        Pins that are carried by the web without a hole in it.
    """

    moving: tuple[Moving, ...]
    loose: tuple[Piece, ...] = ()
    ends: dict[str, tuple[float, float]] = field(default_factory=dict)
    members: dict[str, str] = field(default_factory=dict)


def wheel_set(motion: Motion) -> WheelSet:
    """Make the wheel of a gear.

    Parameters
    ----------
    motion : Motion
        At the model's scale.
    """
    others = motion.cranks[1:]
    if not others:
        return WheelSet((_wheel(motion, HOLE, ()),))
    bases = {end: (start, name) for name, start, end in motion.gear.arms}
    ends = {CRANK[2]: (BOSS + RUNNING, EYE)}
    boss = Piece(BOSS_DISC, disc(0j, BOSS), (Hole("", 0j, STICK),), copies=2)
    if len(others) > 1:
        sizes = {pin: sheave_radius(motion.drawn.paths, pin) / motion.scale for pin in others}
        ends |= {pin: (size + RUNNING, size + RUNNING + STRAP) for pin, size in sizes.items()}
        web, sheaves = _web_with_sheaves(motion, sizes)
        guide = min((hole.at for hole in web.piece.holes), key=lambda at: at.real)
        return WheelSet((_wheel(motion, STICK, (guide,)), web), (boss, *sheaves), ends, dict.fromkeys(others, WEB))
    base, name = bases.get(others[0], (CRANK[1], others[0]))
    overhung = base == CRANK[2]
    web, guides = _plain_web(motion, others[0], name if overhung else "eccentric arm", overhung)
    return WheelSet((_wheel(motion, STICK, guides), web), (boss,), ends)


def _places(motion: Motion, pin: str) -> list[tuple[complex, tuple[str, ...]]]:
    """Where a pin stands on the wheel, and in which notches (a slip eccentric stands in two places)."""
    seen = (motion.pins[pin] - motion.pins[CRANK[1]])[:, 0] * np.conj(motion.wheel[:, 0])
    found: list[tuple[complex, tuple[str, ...]]] = []
    for place, notch in zip(seen, motion.side.notches, strict=True):
        for i, (old, notches) in enumerate(found):
            if abs(old - place) < 0.01:
                found[i] = (old, (*notches, notch))
                break
        else:
            found.append((complex(place), (notch,)))
    return found


def _moving(motion: Motion, piece: Piece) -> Moving:
    return Moving(piece, motion.pins[CRANK[1]], motion.wheel)


def _crank(motion: Motion) -> complex:
    return complex(np.abs(motion.pins[CRANK[2]] - motion.pins[CRANK[1]])[0, 0])


def _wheel(motion: Motion, crank_hole: float, guides: tuple[complex, ...]) -> Moving:
    """The disc, its scale read against a pointer on the board above it."""
    crank = _crank(motion)
    radius = crank.real + RIM
    holes = (Hole(CRANK[1], 0j), Hole(CRANK[2], crank, crank_hole), *(Hole("", g, STICK) for g in guides))
    front = float(np.angle(motion.wheel[0, 0]))
    marks, notes = [Mark(np.array([11.0 - radius + 0j, crank - BOSS]), "dash")], []
    if crank_hole == STICK:
        marks.append(_ring(crank, BOSS, "glue"))
    for degrees in range(0, 360, 5):
        ray = np.exp(1j * (np.pi / 2 - front + np.radians(degrees)))
        long = 3.2 if degrees % 30 == 0 else 2.2 if degrees % 10 == 0 else 1.4
        marks.append(Mark(np.array([radius, radius - long]) * ray, "line" if degrees % 30 == 0 else "fine"))
        if degrees % 30 == 0:
            turn = float(np.degrees(np.angle(ray))) - 90.0
            notes.append(Note(f"{degrees}", complex(ray * (radius - 5.2)), 2.2, turn))
            if degrees % 180:  # where running backward reads otherwise
                notes.append(Note(f"{360 - degrees}", complex(ray * (radius - 8.8)), 1.5, turn))
    return _moving(motion, Piece(WHEEL, disc(0j, radius), holes, marks=tuple(marks), notes=tuple(notes)))


def _plain_web(motion: Motion, pin: str, name: str, overhung: bool) -> tuple[Moving, tuple[complex, ...]]:
    """An arm glued on the boss that carries one pin; also gives the places of the wheel by which it is set."""
    crank, places = _crank(motion), _places(motion, pin)
    several = len(places) > 1
    holes = [Hole(CRANK[2], crank, STICK)]
    holes += [Hole(pin, place, note=", ".join(notches) if several else "") for place, notches in places]
    guides = tuple(place for place, _notches in places) if overhung else (-SPREAD + 0j,)
    arms = [_arm(motion, name, crank, place) if overhung else band([crank, place], HALF) for place, _notches in places]
    if not overhung:
        holes.append(Hole("", guides[0], STICK))
        arms.append(band([crank, guides[0]], HALF))
        arms.append(around([0j, *(place for place, _notches in places)], HALF + (4.0 if several else 0.5)))
    eyes = [disc(hole.at, HALF) for hole in holes]
    outline = one_piece([*arms, *eyes, disc(crank, BOSS + 3.0)])
    marks = (_ring(crank, BOSS, "dash"),)
    return _moving(motion, Piece(name, outline, tuple(holes), marks=marks)), guides


def _arm(motion: Motion, name: str, crank: complex, place: complex) -> Area:
    """The return crank as it is drawn, from the crank pin to its own."""
    return filled(motion, motion.drawn.body(name), crank, complex(unit(place - crank)))


def _web_with_sheaves(motion: Motion, sizes: dict[str, float]) -> tuple[Moving, list[Piece]]:
    """A web across the wheel, and for each eccentric its sheave (of two thicknesses) and a keeper over the strap."""
    crank = _crank(motion)
    centres = {pin: _places(motion, pin)[0][0] for pin in sizes}
    peg = _common_peg(centres, sizes)
    guide = peg if peg.real < -LEAST * 10 else -SPREAD + 0j
    pegs = (Hole("", 0j, STICK), Hole("", peg, STICK))
    outline = united([band([crank, guide], HALF + 2.0), disc(crank, BOSS + 3.0), around([0j, *centres.values()], 9.0)])
    holes = (Hole(CRANK[2], crank, STICK), *pegs, *([] if guide == peg else [Hole("", guide, STICK)]))
    marks = (_ring(crank, BOSS, "dash"), Mark(np.array([guide - HALF, crank + BOSS]), "dash"))
    web = _moving(motion, Piece(WEB, outline, holes, marks=marks))
    return web, list(_sheaves(centres, sizes, pegs))


def _sheaves(centres: dict[str, complex], sizes: dict[str, float], pegs: tuple[Hole, ...]) -> Iterator[Piece]:
    for pin, centre in centres.items():
        radius = sizes[pin]
        holes = (Hole(pin, centre, 0.4), *pegs)
        line = Mark(np.array([0j, centre]), "line")
        toward = Mark(np.array([0j, radius / 2 + 0j]), "dash")
        yield Piece(f"{pin} {SHEAVE}", disc(centre, radius), holes, marks=(line, toward), copies=2)
        yield Piece(f"{pin} keeper", disc(centre, radius + 3.5), holes, marks=(line, toward))


def _common_peg(centres: dict[str, complex], sizes: dict[str, float]) -> complex:
    """A place on the crank's line, as far from the axle as all sheaves allow, for a second peg through them."""
    most = max(sizes.values())
    trial = np.linspace(-most, most, 201) + 0j
    room = np.min([sizes[pin] - np.abs(trial - centre) for pin, centre in centres.items()], axis=0) - STICK - 2 * LEAST
    return complex(max(trial[room >= 0], key=abs))


def _ring(centre: complex, radius: float, style: str) -> Mark:
    ring: Points = centre + radius * np.exp(2j * np.pi * np.arange(49) / 48)
    return Mark(ring, style)
