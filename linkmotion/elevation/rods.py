"""Rods with their eyes, forked ends, big ends and eccentric straps; levers and other rigid parts; arms on shafts."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from itertools import combinations

import numpy as np

from linkmotion.elevation.body import Along, Body, Pinned
from linkmotion.elevation.outlines import (
    HIDDEN,
    MARK,
    PIN,
    Area,
    Circle,
    Line,
    Outline,
    Shape,
    band,
    block,
    disc,
    filleted,
    line,
    number,
    rounded,
    shank,
    taper,
    united,
)
from linkmotion.elevation.paths import Paths, plain
from linkmotion.gears.frame import CRANK, CROSSHEAD_PIN
from linkmotion.gears.slots import PART, is_seen, is_tie
from linkmotion.linkage.parts import Carried, Part, Plate, Rod, Slide

EYE, BUSH, PIN_SIZE, HALF = (
    0.14,
    0.095,
    0.062,
    0.062,
)  # radii of an eye, its bush and its pin, half a rod's depth: parts of the crank radius
CRANK_PIN = 0.15
AXLE = 0.25
SECTOR = 0.26  # from an arm's end pin to the graduation that it points to
STRAP, CLEAR = 0.085, 0.1  # thickness of a strap; metal of a sheave beyond the axle


def sheave_radius(paths: Paths, pin: str) -> float:
    """Radius of an eccentric's sheave, which holds the axle."""
    throw = float(abs(paths.pins[pin][0, 0] - paths.place(CRANK[1])))
    return throw + (AXLE + CLEAR) * paths.r


def pin_at(pin: str, at: complex, radius: float) -> Circle:
    """A pin in its hole."""
    return Circle(at, radius, PIN, pin)


def rods(paths: Paths) -> Iterator[Body]:
    """Every rod, its own x axis along it from its first pin."""
    for part in paths.parts(Rod):
        if not is_tie(part.name):
            yield rod(paths, part, {paths.names[part.a]: 0j, paths.names[part.b]: complex(number(part.length))})


def rod(paths: Paths, part: Rod | Plate, pins: dict[str, complex]) -> Body:
    """A rod from the first of its pins to the second, along its own x axis; others stand on it, or beside it."""
    (a, _), (b, end), *others = pins.items()
    long, r = end.real, paths.r
    main = {a, b} == {CRANK[2], CROSSHEAD_PIN}
    areas: list[Area] = []
    lines: list[Shape] = []
    half = 0.105 * r if main else HALF * r
    grown = [half * (1.25 if main and pin == CRANK[2] else 1.0) for pin in (a, b)]
    if not main and long > 2.5 * r:  # deeper in the middle, as rods are that must not whip
        areas.append(shank(0j, complex(long / 2), half, 1.25 * half))
        areas.append(shank(complex(long / 2), complex(long), 1.25 * half, half))
    else:
        areas.append(shank(0j, complex(long), *grown))
    openings: list[Area] = []
    for pin, x, way in ((a, 0.0, 1), (b, long, -1)):
        if pin in paths.sheaves:
            size = sheave_radius(paths, pin)
            areas += strap(x, way, size, r)
            openings.append(disc(complex(x), size))
            lines += [line(x + 1j * s * (size + 0.17 * r), x + 1j * s * size) for s in (-1, 1)]
        elif pin == CRANK[2]:
            areas.append(rounded(block(x - 0.3 * r, -0.27 * r, x + 0.3 * r, 0.27 * r), 0.05 * r))
            lines += [line(x + way * 0.2 * r + 0.27j * r, x + way * 0.2 * r - 0.27j * r)]
            lines += [Circle(complex(x), 0.2 * r), pin_at(pin, complex(x), CRANK_PIN * r)]
        elif main:
            areas.append(disc(complex(x), 0.2 * r))
            lines += [Circle(complex(x), 0.13 * r), pin_at(pin, complex(x), 0.095 * r)]
        else:
            areas.append(disc(complex(x), EYE * r))
            lines += eye(paths, part, pin, complex(x), way, half)
    for pin, at in others:
        areas.append(disc(at, EYE * r))
        areas.append(taper(complex(at.real), at, 0.11 * r, 0.09 * r))
        lines += eye(paths, part, pin, at, 1, half)
    if main:
        lines += flute(long, half, r, a == CRANK[2])
    outline = filleted(united(areas), 0.08 * r)
    if openings:
        outline = outline.difference(united(openings))
    spine = tuple(complex(long * share) for share in (0.5, 0.35, 0.65, 0.25, 0.75))
    return Body(
        part.name, "main rod" if main else "rod", (Outline(outline), *lines), Pinned(a, b, 0j, long + 0j), spine
    )


def eye(paths: Paths, part: Part, pin: str, at: complex, way: complex, half: float) -> list[Shape]:
    """What is seen in an eye: the pin, its bush, and the bottom of the fork that spans a lever or a link."""
    r = paths.r
    shapes: list[Shape] = [Circle(at, BUSH * r), pin_at(pin, at, PIN_SIZE * r)]
    if any(isinstance(mate, Plate | Carried) for mate in paths.mates(pin, part)) and isinstance(part, Rod):
        turn = np.linspace(-0.42 * np.pi, 0.42 * np.pi, 13)
        jaw = at + way * (2.0 * EYE * r + 0.0j) + way * half * (np.cos(turn) - 1.0 + 1j * np.sin(turn))
        shapes.append(Line(jaw, HIDDEN))
    return shapes


def flute(long: float, half: float, r: float, from_crank: bool) -> list[Shape]:
    """The channel milled along a connecting rod."""
    big, small = 0.55 * r, 0.4 * r
    low, high = (big, long - small) if from_crank else (small, long - big)
    inner = 0.55 * half
    return [
        line(*(complex(x, y) for x, y in ((low, inner), (high, inner), (high, -inner), (low, -inner), (low, inner))))
    ]


def strap(x: float, way: int, size: float, r: float) -> Iterator[Area]:
    """The strap about a sheave, with the lugs of its bolts and the foot of its rod."""
    outer = size + STRAP * r
    yield disc(complex(x), outer)
    for side in (-1, 1):
        yield rounded(block(x - 0.07 * r, side * (size + 0.02 * r), x + 0.07 * r, side * (outer + 0.09 * r)), 0.02 * r)
    yield taper(complex(x + way * size), complex(x + way * (outer + 0.3 * r)), 0.19 * r, 0.07 * r)


def plates(paths: Paths, but: Collection[str]) -> Iterator[Body]:
    """Every rigid part but those named."""
    for part in paths.parts(Plate):
        if part.name in but:
            continue
        places = {
            paths.names[pin]: plain(place)
            for pin, place in zip(part.pins, part.places, strict=True)
            if is_seen(paths.names[pin])
        }
        yield (
            rod(paths, part, _along(places)) if {CRANK[2], CROSSHEAD_PIN} <= set(places) else plate(paths, part, places)
        )


def _along(places: dict[str, complex]) -> dict[str, complex]:
    """The pins of a connecting rod that carries others, in axes along it from the crank pin; its ends first."""
    start, line = places[CRANK[2]], places[CROSSHEAD_PIN] - places[CRANK[2]]
    own = {pin: (at - start) * abs(line) / line for pin, at in places.items()}
    return {pin: own[pin] for pin in dict.fromkeys((CRANK[2], CROSSHEAD_PIN, *own))}


def plate(paths: Paths, part: Plate, places: dict[str, complex]) -> Body:
    """A rigid part: arms from its bearing on the frame, or its longest line with what branches from that."""
    r = paths.r
    heel, toe = max(combinations(places, 2), key=lambda pair: abs(places[pair[1]] - places[pair[0]]))
    hub = next((pin for pin in places if pin in paths.frame_pins), None)
    like_a_rod = "rod" in part.name
    if hub is not None:
        areas = [taper(places[hub], at, 0.15 * r, 0.09 * r) for pin, at in places.items() if pin != hub]
        areas.append(disc(places[hub], 0.19 * r))
    else:
        areas = list(_branches(places, heel, toe, r, like_a_rod))
    tail = list(_tails(paths, part, places))
    areas += tail
    lines: list[Shape] = []
    for pin, at in places.items():
        areas.append(disc(at, EYE * r))
        centre = (places[heel] + places[toe]) / 2
        way = centre - at if abs(centre - at) > 1e-9 else 1.0
        way = way / abs(way)
        lines += eye(paths, part, pin, at, way, HALF * r)
    outline = Outline(filleted(united(areas), 0.06 * r))
    a, b = places[heel], places[toe]
    spine = tuple(a + share * (b - a) for share in (0.5, 0.35, 0.65, 0.2, 0.8))
    kind = "rod" if like_a_rod else "lever"
    return Body(part.name, kind, (outline, *lines), Pinned(heel, toe, a, b), spine)


def _branches(places: dict[str, complex], heel: str, toe: str, r: float, like_a_rod: bool) -> Iterator[Area]:
    """The longest line, deepest at its middle pin where it is a lever, and from it a branch to every other pin."""
    a, b = places[heel], places[toe]
    along = b - a
    others = [at for pin, at in places.items() if pin not in (heel, toe)]
    feet = [a + float(np.clip(((at - a) * along.conjugate()).real / abs(along) ** 2, 0, 1)) * along for at in others]
    if like_a_rod or not feet:
        yield shank(a, b, HALF * r, HALF * r)
    else:
        middle = max(feet, key=lambda foot: min(abs(foot - a), abs(foot - b)))
        yield taper(middle, a, 0.12 * r, 0.075 * r)
        yield taper(middle, b, 0.12 * r, 0.075 * r)
    for foot, at in zip(feet, others, strict=True):
        yield taper(foot, at, 0.11 * r, 0.09 * r)


def _tails(paths: Paths, part: Plate, places: dict[str, complex]) -> Iterator[Area]:
    """What of a part runs on to the blocks that slide along it."""
    for slide in paths.parts(Slide):
        ends = [paths.names[pin] for pin in (slide.a, slide.b)]
        if is_tie(slide.name) or not set(ends) <= set(places):
            continue
        a, b = (paths.pins[end] for end in ends)
        along = (places[ends[1]] - places[ends[0]]) / abs(places[ends[1]] - places[ends[0]])
        run = np.real((paths.pins[paths.names[slide.pin]] - a) * np.conj(b - a) / np.abs(b - a))
        far = abs(places[ends[1]] - places[ends[0]])
        low = min(float(run.min()) - 0.3 * paths.r, 0.0)
        high = max(float(run.max()) + 0.3 * paths.r, far) if run.max() > far else far
        off = 1j * along * number(slide.offset)
        yield band([places[ends[0]] + off + along * low, places[ends[0]] + off + along * high], HALF * paths.r)
        if abs(off) > 1e-6:
            yield taper(places[ends[0]], places[ends[0]] + off, HALF * paths.r, HALF * paths.r)


def arms(paths: Paths) -> Iterator[Body]:
    """Stiff arms that are no rods: return crank, lifting arms, whatever the gear tells but crank and eccentrics."""
    r = paths.r
    for name, start, end in paths.gear.arms:
        if name == CRANK[0] or end in paths.sheaves or not {start, end} <= set(paths.pins):
            continue
        if any(
            isinstance(part, Plate) and {start, end} <= {paths.names[pin] for pin in part.pins}
            for part in paths.linkage.parts
        ):
            continue
        long = float(abs(paths.pins[end][0, 0] - paths.pins[start][0, 0]))
        on_wheel = start in paths.wheel_pins
        boss = 0.22 * r if on_wheel else 0.16 * r
        eye_size = 0.13 * r if on_wheel else EYE * r
        area = united(
            [taper(0j, complex(long), 0.8 * boss, 0.75 * eye_size), disc(0j, boss), disc(complex(long), eye_size)]
        )
        shapes: list[Shape] = [Outline(filleted(area, 0.08 * r))]
        shapes += [pin_at(start, 0j, 0.11 * r if on_wheel else 0.085 * r), Circle(complex(long), BUSH * r)]
        shapes.append(pin_at(end, complex(long), PIN_SIZE * r))
        if (name, start, end) == paths.reversing_arm:
            shapes.append(line(long + eye_size + 0j, long + (SECTOR + 0.06) * r + 0j, role=MARK))
        spine = (complex(0.5 * long), complex(0.3 * long), complex(0.7 * long))
        yield Body(name, "arm", tuple(shapes), Pinned(start, end, 0j, complex(long)), spine)


def carried(paths: Paths, but: str) -> Iterator[Body]:
    """Arms that stand on another part without turning, but those on the pin named (they are the crosshead's own)."""
    r = paths.r
    for part in paths.parts(Carried):
        by, pin = paths.names[part.by], paths.names[part.pin]
        if by == but or part.name == PART:  # a link that carries its die is drawn as the link
            continue
        at = plain(part.offset)
        area = united([taper(0j, at, 0.1 * r, 0.075 * r), disc(0j, EYE * r), disc(at, EYE * r)])
        shapes = (Outline(area), Circle(at, BUSH * r), pin_at(pin, at, PIN_SIZE * r))
        yield Body(part.name, "lever", shapes, Along(by), (at / 2,))
