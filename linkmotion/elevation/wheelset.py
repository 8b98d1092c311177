"""Wheel, axle and crank; the sheaves of eccentrics."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from linkmotion.elevation.body import Body, Pinned
from linkmotion.elevation.outlines import (
    EDGE,
    Area,
    Circle,
    Outline,
    Shape,
    disc,
    filleted,
    line,
    polygon,
    shank,
    taper,
    united,
)
from linkmotion.elevation.paths import Paths
from linkmotion.elevation.rods import AXLE, CRANK_PIN, pin_at, sheave_radius
from linkmotion.gears.frame import CRANK

_TREAD = 2.05  # crank radii, where the wheel's diameter is not given
_SPOKES = 14


def tread(paths: Paths) -> float:
    """Radius of the tread, mm."""
    least = 1.55 * paths.r
    return max(least, paths.given.wheel / 2) if paths.given.wheel else _TREAD * paths.r


def wheel(paths: Paths) -> Body:
    """The wheel, its own x axis toward the crank pin."""
    r, rim = paths.r, tread(paths)
    axle, pin = CRANK[1], CRANK[2]
    tyre, felloe = 0.15 * r, 0.13 * r
    inside = rim - tyre - felloe
    spokes = [_spoke(turn, 0.4 * r, inside + 0.02 * r, r) for turn in (np.arange(_SPOKES) + 0.5) * 2 * np.pi / _SPOKES]
    boss = united([disc(0j, 0.52 * r), taper(0j, complex(r), 0.42 * r, 0.3 * r)])
    cast = united([disc(0j, rim - tyre).difference(disc(0j, inside)), boss, *spokes, _balance(inside, r)])
    shapes: list[Shape] = [
        Outline(disc(0j, 1.035 * rim).difference(disc(0j, rim - tyre)), "flange"),
        Outline(disc(0j, rim).difference(disc(0j, rim - tyre)), "tyre"),
        Outline(filleted(cast.intersection(disc(0j, rim - tyre)), 0.05 * r)),
        Circle(0j, 0.4 * r),
        pin_at(axle, 0j, AXLE * r),
        Circle(0j, 0.05 * r),
        pin_at(pin, complex(r), CRANK_PIN * r),
    ]
    spine = tuple((rim - 0.5 * tyre) * np.exp(1j * turn) for turn in np.linspace(0, 2 * np.pi, 8, endpoint=False))
    return Body("wheel", "wheel", tuple(shapes), Pinned(axle, pin, 0j, complex(r)), tuple(complex(p) for p in spine))


def _spoke(turn: float, low: float, high: float, r: float) -> Area:
    way = complex(np.exp(1j * turn))
    return shank(low * way, high * way, 0.085 * r, 0.06 * r)


def _balance(inside: float, r: float) -> Area:
    """The balance weight, a segment of the rim opposite the crank."""
    half = 0.2 * np.pi
    turn = np.pi + np.linspace(-half, half, 41)
    outer = (inside + 0.03 * r) * np.exp(1j * turn)
    return polygon([*outer]).buffer(0)


def sheaves(paths: Paths) -> Iterator[Body]:
    """The eccentrics, each own x axis from the axle to its centre."""
    r = paths.r
    for pin, name in paths.sheaves.items():
        throw = float(abs(paths.pins[pin][0, 0] - paths.place(CRANK[1])))
        size = sheave_radius(paths, pin)
        shapes: tuple[Shape, ...] = (
            Outline(disc(complex(throw), size)),
            Circle(complex(throw), 0.93 * size),
            pin_at(CRANK[1], 0j, AXLE * r),
            line(AXLE * r * 1j, (AXLE + 0.07) * r * 1j, role=EDGE),
            pin_at(pin, complex(throw), 0.022 * r),
        )
        spine = tuple(
            complex(throw + 0.8 * size * np.exp(1j * turn)) for turn in np.linspace(0, 2 * np.pi, 8, endpoint=False)
        )
        yield Body(name, "eccentric", shapes, Pinned(CRANK[1], pin, 0j, complex(throw)), spine)
