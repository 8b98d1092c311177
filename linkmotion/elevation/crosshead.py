"""The crosshead on its slide bars, and other pins that are led straight: in guides, on rods, across a spindle."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from linkmotion.elevation.body import Along, Body, Fast, Turning, direction
from linkmotion.elevation.outlines import (
    EDGE,
    Area,
    Circle,
    Outline,
    Shape,
    block,
    disc,
    filleted,
    line,
    number,
    placed,
    polygon,
    rounded,
    taper,
    united,
)
from linkmotion.elevation.paths import Paths, plain
from linkmotion.elevation.rods import BUSH, EYE, HALF, PIN_SIZE, pin_at
from linkmotion.gears.frame import CROSSHEAD_PIN
from linkmotion.gears.slots import is_tie
from linkmotion.linkage.parts import Abreast, Carried, Guide, Slide

HALF_LONG, HALF_HIGH, BAR = 0.38, 0.24, 0.13  # of the crosshead's block; depth of a slide bar: of the crank radius
ROD_END = 0.62  # from the crosshead pin to the end of its boss on the piston rod


def crosshead(paths: Paths, cover: float) -> Iterator[Body]:
    """The slide bars, which run to the cylinder's back cover at ``cover`` along its line, and the crosshead."""
    crank, r = paths.gear.crank, paths.r
    way = direction(number(crank.slope))
    start = number(crank.limits[1]) - (HALF_LONG + 0.1) * r
    level = 1j * number(crank.height)
    over = HALF_HIGH * r
    rear = start - 0.04 * r, start + 0.12 * r  # the plate that holds their rear ends
    holder = [block(rear[0], side * over, rear[1], side * (over + 0.55 * r)) for side in (-1, 1)]
    bars = [block(start, side * over, cover, side * (over + BAR * r)) for side in (-1, 1)]
    shapes = [Outline(placed(area, way * level, way)) for area in (*holder, *bars)]
    spine = tuple(
        way * (level + start + share * (cover - start) + 1j * side * (over + BAR * r / 2))
        for share in (0.1, 0.5)
        for side in (1, -1)
    )
    yield Body("slidebars", "slide bar", tuple(shapes), Fast(), spine)
    yield _block(paths, way)


def _block(paths: Paths, way: complex) -> Body:
    r = paths.r
    long, high = HALF_LONG * r, HALF_HIGH * r
    middle = rounded(block(-0.3 * r, -0.21 * r, 0.34 * r, 0.21 * r), 0.06 * r)
    neck = polygon([0.2 * r + 0.17j * r, ROD_END * r + 0.11j * r, ROD_END * r - 0.11j * r, 0.2 * r - 0.17j * r])
    areas: list[Area] = [block(-long, side * (high - 0.1 * r), long, side * high) for side in (-1, 1)]
    areas += [middle, neck]
    lines: list[Shape] = [
        line(-long + side * 1j * (high - 0.1 * r), long + side * 1j * (high - 0.1 * r)) for side in (-1, 1)
    ]
    lines.append(line(complex(0.46 * r, 0.045 * r), complex(0.46 * r, -0.045 * r)))  # the cotter
    arms: list[Shape] = []
    for part in paths.parts(Carried):
        if paths.names[part.by] == CROSSHEAD_PIN:
            at, pin = plain(part.offset) / way, paths.names[part.pin]
            arms += [Outline(arm(at, r)), Circle(at, BUSH * r), pin_at(pin, at, PIN_SIZE * r)]
    shapes = (
        *arms,
        Outline(filleted(united(areas), 0.03 * r)),
        *lines,
        Circle(0j, 0.15 * r),
        pin_at(CROSSHEAD_PIN, 0j, 0.095 * r),
    )
    return Body(
        "crosshead",
        "crosshead",
        shapes,
        Along(CROSSHEAD_PIN, way),
        (complex(-0.8 * long, 0.8 * high), complex(0.8 * long, -0.8 * high)),
    )


def arm(at: complex, r: float) -> Area:
    """The crosshead's arm to a pin at a place in its own axes, for a crank of radius ``r``."""
    foot = complex(float(np.clip(at.real, -0.6 * HALF_LONG * r, 0.6 * HALF_LONG * r)), 0.0)
    return filleted(united([taper(foot, at, 0.16 * r, 0.085 * r), disc(at, EYE * r)]), 0.05 * r)


def guides(paths: Paths) -> Iterator[Body]:
    """Guides of a gear's own: two bars and a block between them."""
    r = paths.r
    for guide in paths.parts(Guide):
        pin = paths.names[guide.pin]
        if guide is paths.valve_guide or pin == CROSSHEAD_PIN:
            continue
        way = direction(number(guide.direction))
        origin = plain(guide.origin)
        run = np.real((paths.pins[pin] - origin) / way)
        low, high = float(run.min()) - 0.3 * r, float(run.max()) + 0.3 * r
        bars = [placed(block(low, side * 0.1 * r, high, side * 0.16 * r), origin, way) for side in (-1, 1)]
        yield Body(guide.name, "slide bar", tuple(Outline(bar) for bar in bars), Fast(), (origin + way * low,))
        yield Body(pin, "block", _little_block(pin, r), Along(pin, way))


def _little_block(pin: str, r: float) -> tuple[Shape, ...]:
    area = rounded(block(-0.16 * r, -0.1 * r, 0.16 * r, 0.1 * r), 0.02 * r)
    return Outline(area), Circle(0j, BUSH * r), pin_at(pin, 0j, PIN_SIZE * r)


def swivel_blocks(paths: Paths) -> Iterator[Body]:
    """Blocks that slide along a rod, turning with it."""
    r = paths.r
    for slide in paths.parts(Slide):
        if is_tie(slide.name):
            continue
        pin, a, b = (paths.names[each] for each in (slide.pin, slide.a, slide.b))
        area = rounded(block(-0.2 * r, -0.13 * r, 0.2 * r, 0.13 * r), 0.03 * r)
        bars: list[Shape] = [
            line(-0.2 * r + side * 1j * HALF * r, 0.2 * r + side * 1j * HALF * r, role=EDGE) for side in (-1, 1)
        ]
        shapes = (Outline(area), *bars, Circle(0j, BUSH * r), pin_at(pin, 0j, PIN_SIZE * r))
        yield Body(slide.name, "block", shapes, Turning(pin, a, b), (0.1j * r, -0.1j * r))


def yokes(paths: Paths) -> Iterator[Body]:
    """A yoke with an upright slot on one pin, and on the other the block that works in it."""
    r = paths.r
    for part in paths.parts(Abreast):
        pin, by = paths.names[part.pin], paths.names[part.by]
        way = direction(number(part.direction))
        run = np.imag((paths.pins[by] - paths.pins[pin]) / way)
        low, high = min(float(run.min()), 0.0) - 0.17 * r, max(float(run.max()), 0.0) + 0.17 * r
        body = rounded(block(-0.14 * r, low - 0.07 * r, 0.14 * r, high + 0.07 * r), 0.04 * r)
        yoke = body.difference(block(-0.085 * r, low, 0.085 * r, high))
        yield Body(
            part.name, "yoke", (Outline(yoke), pin_at(pin, 0j, 0.02 * r)), Along(pin, way), (1j * low, 1j * high)
        )
        area = block(-0.085 * r, -0.13 * r, 0.085 * r, 0.13 * r)
        shapes = (Outline(area), pin_at(by, 0j, PIN_SIZE * r))
        yield Body(f"{part.name}'s die", "die", shapes, Along(by, way))
