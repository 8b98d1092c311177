"""What runs on a straight line, in card: the crosshead with its piston, the valve, and any other guided pin.

Each is a strip that runs under straps glued to the board. The strips reach ahead to a cylinder and a valve chest
printed on the board, so that the class sees piston and ports; where the spindle's line would fall on the cylinder,
the chest is set off to one side by an arm, which moves exactly alike.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from linkmotion.elevation.crosshead import arm as drawn_arm
from linkmotion.elevation.outlines import band, block, disc, united
from linkmotion.gears.frame import CROSSHEAD_PIN, VALVE_GUIDE
from linkmotion.linkage.parts import Abreast, Carried, Guide
from linkmotion.studies.card.chest import Chest
from linkmotion.studies.card.cut_out import one_piece, thickened
from linkmotion.studies.card.motion import Motion
from linkmotion.studies.card.shapes import (
    HALF,
    LEAST,
    SLIT,
    Hole,
    Mark,
    Moving,
    Note,
    Piece,
    Points,
    Shape,
    Slit,
    oblong,
)
from linkmotion.studies.card.track import BORE, EYE, FOOT, FREE, STRAP, Track

PISTON = 4.0  # half the piston's thickness


@dataclass(frozen=True, eq=False)
class Slider:
    """A strip, what is printed on the board about it, and where its straps hold it.

    Attributes
    ----------
    straps : tuple of (float, float)
        Middle of each strap on the track: along it, and off it to the left.
    half : float
        Half the strip's width.
    """

    moving: Moving
    track: Track
    straps: tuple[tuple[float, float], ...]
    half: float
    marks: tuple[Mark, ...] = ()
    notes: tuple[Note, ...] = ()

    @property
    def feet(self) -> Points:
        """Places of the straps' feet on the board."""
        ends = [s + 1j * (h + way * (self.half + 3.0)) + d for s, h in self.straps for way in (-1, 1) for d in (-3, 3)]
        return self.track.board(np.array(ends, complex))

    @property
    def foot_middles(self) -> list[complex]:
        """Middle of each strap's foot on the board."""
        off = self.half + 0.7 + FOOT / 2
        return [complex(self.track.board(s + 1j * (h + way * off))) for s, h in self.straps for way in (-1, 1)]

    @property
    def strap_marks(self) -> list[Mark]:
        """Where the straps' feet are glued."""
        found = []
        for s, h in self.straps:
            for way in (-1, 1):
                near, far = h + way * (self.half + 0.7), h + way * (self.half + 0.7 + FOOT)
                found.append(Mark(self.track.board(oblong(s - STRAP / 2, near, s + STRAP / 2, far)), "glue"))
        return found


def sliders(motion: Motion) -> list[Slider]:
    """All guided pins' strips; the valve's chest and the cylinder are brought abreast of one another.

    Parameters
    ----------
    motion : Motion
        At the model's scale.
    """
    guides = list(motion.parts(Guide))
    cross = next(g for g in guides if motion.names[g.pin] == CROSSHEAD_PIN)
    valve = next((g for g in guides if g.name == VALVE_GUIDE), None)
    found = []
    line = _track(motion, cross)
    reach = _piston_reach(motion, cross, line)
    chest = None
    if valve is not None:
        chest = Chest.of(motion, _track(motion, valve), line, (line.travel[0] + line.travel[1]) / 2 + reach)
        reach = max(reach, chest.abreast(line) - (line.travel[0] + line.travel[1]) / 2)
    found.append(_crosshead(motion, cross, line, reach))
    if valve is not None and chest is not None:
        piston = [line.board(s + reach + way * (PISTON + 2)) for s, way in zip(line.travel, (-1, 1), strict=True)]
        found.append(_valve(motion, valve, chest, piston))
    found += [_plain(motion, guide) for guide in guides if guide not in (cross, valve)]
    return found


def _track(motion: Motion, guide: Guide) -> Track:
    along = complex(np.exp(1j * motion.short(guide.direction) * motion.scale))
    origin = complex(motion.short(guide.origin[0]), motion.short(guide.origin[1]))
    s = np.real((motion.pins[motion.names[guide.pin]] - origin) / along)
    return Track(origin, along, (float(s.min()), float(s.max())))


def _moving(motion: Motion, guide: Guide, track: Track, piece: Piece) -> Moving:
    origin = motion.pins[motion.names[guide.pin]]
    return Moving(piece, origin, np.broadcast_to(track.along, origin.shape))


def _arms(motion: Motion, guide: Guide, track: Track) -> dict[str, complex]:
    """Pins carried by a guided pin without turning, in the strip's axes."""
    return {
        motion.names[part.pin]: (motion.short(part.offset[0]) + 1j * motion.short(part.offset[1])) / track.along
        for part in motion.parts(Carried)
        if part.by == guide.pin
    }


def _cross_slits(motion: Motion, guide: Guide, track: Track) -> tuple[Slit, ...]:
    """A slit square to the track for a pin that keeps abreast of the guided one."""
    found = []
    for part in motion.parts(Abreast):
        if part.pin == guide.pin:
            pin = motion.names[part.by]
            seen = (motion.pins[pin] - motion.pins[motion.names[guide.pin]]) / track.along
            low, high = float(seen.imag.min()) - 2.0, float(seen.imag.max()) + 2.0
            found.append(Slit(pin, np.array([1j * low, 1j * high])))
    return tuple(found)


def _piston_reach(motion: Motion, guide: Guide, track: Track) -> float:
    """From crosshead pin to piston, at least."""
    front = max([EYE, *(arm.real + HALF + 2 for arm in _arms(motion, guide, track).values())])
    return track.length + front + FREE + STRAP + 2 * PISTON + 6.0


def _crosshead(motion: Motion, guide: Guide, track: Track, reach: float) -> Slider:
    arms = _arms(motion, guide, track)
    front = max([EYE, *(arm.real + HALF + 2 for arm in arms.values())])
    rear = max([EYE, *(-arm.real + HALF + 2 for arm in arms.values())])
    low, high = track.travel
    straps = ((low - rear - FREE - STRAP / 2, 0.0), (high + front + FREE + STRAP / 2, 0.0))
    tail = high - straps[0][0] + STRAP / 2 + FREE
    shapes = [block(-tail, -HALF, reach, HALF), disc(0j, HALF + 1), block(reach - PISTON, -BORE, reach + PISTON, BORE)]
    r = motion.drawn.paths.r
    shapes += [thickened(motion, drawn_arm(at * motion.scale, r), 0j, 1 + 0j) for at in arms.values()]
    shapes += [disc(at, HALF) for at in arms.values()]
    holes = (Hole(CROSSHEAD_PIN, 0j), *(Hole(pin, arm) for pin, arm in arms.items()))
    marks = (
        Mark(oblong(reach - PISTON, -BORE, reach + PISTON, BORE), "tint"),
        Mark(np.array([reach - 1j * BORE, reach + 1j * BORE]), "line"),
    )
    piece = Piece("crosshead and piston", one_piece(shapes), holes, marks=marks)
    moving = _moving(motion, guide, track, piece)
    printed, notes = _cylinder(track, reach)
    return Slider(moving, track, straps, HALF, tuple(printed), tuple(notes))


def _cylinder(track: Track, reach: float) -> tuple[list[Mark], list[Note]]:
    """The cylinder's outline (its bore is no dimension of the gear) and the piston's place in percent of the stroke."""
    back, front = (s + reach for s in track.travel)
    inside = oblong(back - PISTON - 2, -BORE - 1, front + PISTON + 2, BORE + 1)
    marks = [Mark(track.board(inside), "heavy")]
    turn, middle = track.turn, (back + front) / 2
    notes = [Note("cylinder (bore not to scale)", complex(track.board(middle - 1j * (BORE + 13))), 2.0, turn)]
    for percent in range(0, 101, 10):
        place = front + (back - front) * percent / 100
        long = 2.6 if percent % 50 == 0 else 1.6
        marks.append(Mark(track.board(np.array([place - 1j * (BORE + 2), place - 1j * (BORE + 2 + long)])), "fine"))
        if percent % 20 == 0:
            notes.append(Note(f"{percent}", complex(track.board(place - 1j * (BORE + 7))), 1.7, turn))
    notes.append(Note("% of stroke from the front", complex(track.board(middle - 1j * (BORE + 10))), 1.7, turn))
    return marks, notes


def _valve(motion: Motion, guide: Guide, chest: Chest, cylinder_ends: list[Points]) -> Slider:
    track, pin = chest.track, motion.names[guide.pin]
    slits = _cross_slits(motion, guide, track)
    shapes: list[Shape] = [*chest.strip(), *(band(slit.line, SLIT / 2 + HALF - LEAST) for slit in slits)]
    arms = _arms(motion, guide, track)
    shapes += [band([0j, arm], HALF) for arm in arms.values()]
    own = {} if slits else {pin: 0j}
    holes = tuple(Hole(name, at) for name, at in (own | arms).items())
    piece = Piece("valve and spindle", united(shapes), holes, slits, tuple(chest.valve_marks()))
    marks, notes = chest.printed(cylinder_ends)
    moving = _moving(motion, guide, track, piece)
    return Slider(moving, track, chest.straps, chest.half, tuple(marks), tuple(notes))


def _plain(motion: Motion, guide: Guide) -> Slider:
    """A guided pin of a gear's own: a strip with a strap before and behind."""
    track, pin = _track(motion, guide), motion.names[guide.pin]
    reach = track.length + EYE + STRAP + 2 * FREE
    straps = tuple((s + way * (EYE + FREE + STRAP / 2), 0.0) for s, way in zip(track.travel, (-1, 1), strict=True))
    arms = _arms(motion, guide, track)
    shapes = [block(-reach, -HALF, reach, HALF), *(band([0j, arm], HALF) for arm in arms.values())]
    holes = (Hole(pin, 0j), *(Hole(name, arm) for name, arm in arms.items()))
    piece = Piece(guide.name, united(shapes), holes, _cross_slits(motion, guide, track))
    return Slider(_moving(motion, guide, track, piece), track, straps, HALF)


def strap_name(slider: str) -> str:
    """Name of a slider's straps."""
    return f"strap for {slider}"


def strap_pieces(found: list[Slider]) -> Iterator[Piece]:
    """Straps to be cut."""
    for slider in found:
        long = 2 * (slider.half + 0.7 + FOOT) + 2.0
        yield Piece(strap_name(slider.moving.name), block(0, 0, long, STRAP), copies=len(slider.straps))
