"""The link as it is made: its slot, the lugs of its pins, and the die block in it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from linkmotion.elevation.body import Body, Follows, Pinned, Rider, Turning, unit
from linkmotion.elevation.outlines import (
    CENTRE,
    EDGE,
    HIDDEN,
    MARK,
    Area,
    Circle,
    Line,
    Outline,
    Points,
    Shape,
    band,
    block,
    disc,
    filleted,
    line,
    number,
    rounded,
    taper,
    united,
)
from linkmotion.elevation.paths import Paths, plain
from linkmotion.elevation.rods import BUSH, EYE, PIN_SIZE, pin_at
from linkmotion.gears.reverser import DieHeld
from linkmotion.gears.slots import Slot, is_seen

CHEEK = 0.1  # metal beside the slot, parts of the crank radius
SLOT_CENTRE = "centre of the slot"
_STRAIGHT = 1e3  # a slot's radius of so many of its lengths is none


def slot_width(paths: Paths) -> float:
    """Width between the faces, mm."""
    return paths.given.slot_width or 0.17 * paths.r


def die_length(paths: Paths) -> float:
    """Length of the die block along the slot, mm."""
    return paths.given.die_length or 0.3 * paths.r


def reach_of(slot: Slot) -> tuple[float, float]:
    """Lowest and highest place of the die pin along the slot, mm."""
    return -abs(number(slot.bottom)), abs(number(slot.top))


def centre_line(slot: Slot, low: float, high: float) -> Points:
    """The slot's centre line in the link's own axes."""
    x, y = slot.at(np.linspace(low, high, 61))
    both = np.broadcast_arrays(np.asarray(x, float), np.asarray(y, float))
    return np.asarray(both[0] + 1j * both[1])


def link(paths: Paths) -> Iterator[Body]:
    """Each link and its die block; nothing where there is none."""
    for slot in paths.gear.slots:
        if set(slot.pins) <= set(paths.pins):
            seen = {pin: plain(at) for pin, at in slot.pins.items() if is_seen(pin)}
            yield _body(paths, slot, seen, _on(slot))
            yield die(paths, slot)


def name_of(slot: Slot) -> str:
    """What the body that has a slot is called."""
    return slot.word + ("slide" if slot.works else slot.link)


def _body(paths: Paths, slot: Slot, places: dict[str, complex], follows: Follows) -> Body:
    r, half = paths.r, slot_width(paths) / 2
    reach = die_length(paths) / 2
    lowest, highest = reach_of(slot)
    bottom, top = lowest - reach, highest + reach
    opening = band(centre_line(slot, bottom, top), half, flat=True)
    cheeks = band(centre_line(slot, bottom - CHEEK * r, top + CHEEK * r), half + CHEEK * r, flat=True)
    areas = [rounded(cheeks, 0.6 * half)]
    lines: list[Shape] = []
    for pin, at in places.items():
        if pin in paths.standing or disc(at, EYE * r).intersects(opening):
            lines += _bridge(pin, at, half, r)
        else:
            areas.append(_lug(at, areas[0], r))
            lines += [Circle(at, BUSH * r), pin_at(pin, at, PIN_SIZE * r)]
    outline = filleted(united(areas), 0.07 * r).difference(opening)
    middle = centre_line(slot, lowest, highest)
    lines += [Line(middle, CENTRE), *_marks(paths, slot, half)]
    edge = centre_line(slot, bottom, top)
    spine = tuple(complex(p) for p in (edge[-6], edge[5], edge[-14], edge[13], edge[30]))
    return Body(name_of(slot), "link", (Outline(outline), *lines), follows, spine)


def _lug(at: complex, cheeks: Area, r: float) -> Area:
    """An arm from the body of the link to a pin beside it."""
    ring = cheeks.exterior
    near = ring.interpolate(ring.project(_point(at)))
    foot = complex(near.x, near.y)
    inward = unit(foot - at) if abs(foot - at) > 1e-6 else 0j
    return united([taper(foot + 0.03 * r * inward, at, 0.16 * r, 0.1 * r), disc(at, EYE * r)])


def _point(at: complex) -> Area:
    return disc(at, 1e-9).centroid


def _bridge(pin: str, at: complex, half: float, r: float) -> list[Shape]:
    """A pin over the slot is carried on a plate bolted across it; the die passes behind: the plate is outlined."""
    wide, tall = half + CHEEK * r, 0.2 * r
    plate = rounded(block(at.real - wide, at.imag - tall, at.real + wide, at.imag + tall), 0.08 * r)
    rim = np.asarray([complex(*xy) for xy in plate.exterior.coords])
    return [Line(rim, HIDDEN), Circle(at, BUSH * r), pin_at(pin, at, PIN_SIZE * r)]


def _marks(paths: Paths, slot: Slot, half: float) -> Iterator[Shape]:
    """Where the die is held in each notch, where nothing else carries it."""
    for setting in paths.settings:
        if isinstance(setting, DieHeld):
            place = number(setting.place)
            at, square = plain(slot.at(place)), complex(np.ravel(slot.square_at(np.array(place)))[0])
            yield line(at + half * square, at + (half + 0.6 * CHEEK * paths.r) * square, role=MARK)


def die(paths: Paths, slot: Slot) -> Body:
    """The die block, its own x axis square to the slot."""
    r, long, wide = paths.r, die_length(paths), slot_width(paths)
    area = block(-wide / 2, -long / 2, wide / 2, long / 2)
    shapes = (Outline(area), line(-wide / 2 + 0j, wide / 2 + 0j, role=EDGE), pin_at(slot.die, 0j, PIN_SIZE * r))
    return Body(f"{slot.word}die", "die", shapes, _square_to(slot), (0.25j * long, -0.25j * long))


def riders(paths: Paths) -> Iterator[Rider]:
    """The centre of the slot's curve, to which the die turns."""
    for slot in paths.gear.slots:
        if (centre := _curvature(slot)) is not None and set(slot.pins) <= set(paths.pins):
            yield Rider(f"{slot.word}{SLOT_CENTRE}", _on(slot), centre)


def _on(slot: Slot) -> Pinned:
    heel, toe = list(slot.pins)[:2]
    return Pinned(heel, toe, plain(slot.pins[heel]), plain(slot.pins[toe]))


def _square_to(slot: Slot) -> Follows:
    centre = _curvature(slot)
    on = _on(slot)
    if centre is None:
        low, high = plain(slot.at(-1.0)), plain(slot.at(1.0))
        return Turning(slot.die, on.a, on.b, unit((high - low) / (on.at_b - on.at_a)) * -1j)
    ahead = -1 if (centre - plain(slot.at(0.0))).real < 0 else 1
    return Turning(slot.die, slot.die, f"{slot.word}{SLOT_CENTRE}", complex(ahead))


def _curvature(slot: Slot) -> complex | None:
    """Centre of the circle through the slot's ends and middle, in the link's axes; none where it is straight."""
    a, b, c = (plain(slot.at(np.array(place))) for place in (reach_of(slot)[0], 0.0, reach_of(slot)[1]))
    w = (c - a) / (b - a)
    if abs(w.imag) < abs(w) / _STRAIGHT:
        return None
    return (b - a) * (w - abs(w) ** 2) / (2j * w.imag) + a
