"""The engine's frame, the brackets on it, and the sector that shows where the reverser stands."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from linkmotion.elevation.body import Body, Fast
from linkmotion.elevation.outlines import (
    EDGE,
    MARK,
    Circle,
    Outline,
    Shape,
    block,
    curve,
    disc,
    line,
    polygon,
    rounded,
    united,
)
from linkmotion.elevation.paths import Paths
from linkmotion.elevation.rods import SECTOR, pin_at
from linkmotion.elevation.wheelset import tread
from linkmotion.gears.frame import CRANK
from linkmotion.gears.slots import is_seen

SECTOR_NAME = "notches"  # its spine has the place of every notch, in their order
_TOP, _BOTTOM = 0.95, 0.3  # of the frame above the axle, crank radii


def frame(paths: Paths, ahead: float) -> Iterator[Body]:
    """The frame from behind the wheel to ``ahead`` (mm), its horns about the axle, and every bracket on it."""
    r = paths.r
    rear = -1.15 * tread(paths)
    plate = united(
        [
            block(rear, _BOTTOM * r, ahead, _TOP * r),
            polygon([-0.95 * r + 0.5j * r, 0.95 * r + 0.5j * r, 0.75 * r - 0.55j * r, -0.75 * r - 0.55j * r]),
        ]
    )
    horns = block(-0.45 * r, -0.75 * r, 0.45 * r, 0.5 * r)
    shapes: list[Shape] = [Outline(plate.difference(horns))]
    box = block(-0.43 * r, -0.4 * r, 0.43 * r, 0.42 * r)
    shapes += [Outline(box), Circle(0j, 0.33 * r), line(-0.43 * r + 0j, 0.43 * r + 0j)]
    yield Body("frame", "frame", tuple(shapes), Fast(), (complex(rear + 0.2 * r, 0.6 * r),))
    yield from brackets(paths)


def brackets(paths: Paths) -> Iterator[Body]:
    """What carries the pins that stand still; those near one another share one."""
    r = paths.r
    pins = sorted((pin for pin in paths.standing if pin != CRANK[1]), key=lambda pin: paths.place(pin).real)
    groups: list[list[str]] = []
    for pin in pins:
        if groups and paths.place(pin).real - paths.place(groups[-1][-1]).real < 0.9 * r:
            groups[-1].append(pin)
        else:
            groups.append([pin])
    for group in groups:
        yield _bracket(paths, group)


def _bracket(paths: Paths, group: list[str]) -> Body:
    r = paths.r
    places = {pin: paths.place(pin) for pin in group}
    discs = [disc(at, 0.2 * r) for at in places.values()]
    x0, x1 = min(at.real for at in places.values()), max(at.real for at in places.values())
    seat = _TOP if max(at.imag for at in places.values()) > _TOP * r else _BOTTOM
    foot = block(x0 - 0.32 * r, seat * r - 0.06 * r, x1 + 0.32 * r, seat * r + 0.06 * r)
    body = united([*discs, foot]).convex_hull
    window = body.buffer(-0.17 * r).difference(united(disc(at, 0.34 * r) for at in places.values()))
    window = rounded(window, 0.07 * r)
    shapes: list[Shape] = [Outline(body.difference(window) if window.area > 0.2 * r * r else body)]
    seen = {pin: at for pin, at in places.items() if is_seen(pin)}  # a link bolted to the frame covers its own
    for pin, at in seen.items():
        shapes += [Circle(at, 0.14 * r), pin_at(pin, at, 0.085 * r)]
    return Body(f"bracket of {' and '.join(seen) or 'the link'}", "bracket", tuple(shapes), Fast())


def shafts(paths: Paths) -> Iterator[Body]:
    """The pins that stand still, each to be named by itself, seen from this side."""
    for pin in paths.standing:
        if pin != CRANK[1] and is_seen(pin):
            at = paths.place(pin)
            yield Body(pin, "bearing", (pin_at(pin, at, 0.07 * paths.r),), Fast(), (at,))


def sector(paths: Paths) -> Iterator[Body]:
    """The notches, as the reverser's own arm has them: a sector about its shaft."""
    if paths.reversing_arm is not None:
        _name, shaft, end = paths.reversing_arm
        yield _sector(paths, paths.place(shaft), paths.pins[end][:, 0] - paths.place(shaft))


def _sector(paths: Paths, shaft: complex, arm: NDArray[np.complex128]) -> Body:
    r = paths.r
    middle = complex(np.mean(arm / np.abs(arm)))
    turns = np.angle(arm / middle) + np.angle(middle)
    radius = float(np.abs(arm[0])) + SECTOR * r
    ends = np.linspace(turns.min(), turns.max(), 41)
    arc = [curve(shaft + (radius + out * r) * np.exp(1j * ends), MARK) for out in (0.0, 0.03)]
    ways = np.exp(1j * turns)
    teeth = [line(*(shaft + (radius + out * r) * complex(way) for out in (0.0, 0.12)), role=MARK) for way in ways]
    return Body(
        SECTOR_NAME, "sector", (*arc, *teeth), Fast(), tuple(shaft + (radius + 0.12 * r) * complex(way) for way in ways)
    )


def rail(paths: Paths, ahead: float) -> Iterator[Body]:
    """The rail, where the wheel's diameter is known."""
    if paths.given.wheel:
        low = -tread(paths)
        yield Body("rail", "rail", (line(complex(-1.3 * tread(paths), low), complex(ahead, low), role=EDGE),), Fast())
