"""One side of an engine in elevation: every body, from the hindmost to the foremost, and where it stands.

Made from the gear's own linkage, so that a gear that is added draws itself. Nothing here knows a colour, a unit or a
file; the axes are the frame's: origin at the axle, the front to the right, millimetres.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from linkmotion.elevation import crosshead, framing, rods, slotted_link, steam_side, wheelset
from linkmotion.elevation.body import Along, Body, Pose, Rider
from linkmotion.elevation.cylinder_section import COVER, Section
from linkmotion.elevation.outlines import Area, Circle, Line, Outline, Shape
from linkmotion.elevation.paths import Paths
from linkmotion.gears.frame import CROSSHEAD_PIN
from linkmotion.gears.slots import PART, is_seen
from linkmotion.linkage import Wheel, solve

Box = tuple[float, float, float, float]
_SEEN = 24  # wheel positions looked at for the room that the drawing takes


@dataclass(frozen=True, eq=False)
class Elevation:
    """A side in elevation.

    Attributes
    ----------
    paths : Paths
        What it was made from.
    section : Section
        Where cylinder and chest stand.
    bodies : tuple of Body
        From the hindmost to the foremost.
    riders : tuple of Rider
        Points that go with pins, and by which bodies are placed as by pins.
    regions : dict
        Areas of the frame in which a body is seen, by name.
    """

    paths: Paths
    section: Section
    bodies: tuple[Body, ...]
    riders: tuple[Rider, ...]
    regions: Mapping[str, Area]

    @classmethod
    def of(cls, paths: Paths, like: Elevation | None = None) -> Elevation:
        """From a gear's paths; with cylinder and ports where another drawing has them, to be laid over that."""
        section = Section.of(paths) if like is None else like.section.like(paths)
        bodies = list(_bodies(paths, section))
        shown = {shape.pin for body in bodies for shape in body.shapes if isinstance(shape, Circle)}
        for pin in paths.pins:
            if is_seen(pin) and pin not in shown:
                at = rods.pin_at(pin, 0j, rods.PIN_SIZE * paths.r)
                bodies.append(Body(pin, "bearing", (at,), Along(pin)))
        return cls(paths, section, tuple(bodies), tuple(slotted_link.riders(paths)), steam_side.regions(section))

    def places(self, notch: int, crank_angle: float, lag: float = 0.0) -> dict[str, complex]:
        """Where every pin stands in a notch, and whatever else bodies are placed by.

        Parameters
        ----------
        notch : int
            Number of the notch.
        crank_angle : float
            Degrees from front dead centre, running forward.
        lag : float
            Of the valve behind its spindle pin, + ahead of it, mm: what play makes of it.

        Raises
        ------
        LinkageError
            The parts do not meet there.
        """
        gear = self.paths.gear
        solution = solve(gear.declare(self.paths.settings[notch]), Wheel.at(-np.radians(crank_angle)))
        found = {name: complex(np.ravel(solution[name])[0]) for name in solution.linkage.names}
        return self.completed(found, lag)

    def completed(self, pins: Mapping[str, complex], lag: float = 0.0) -> dict[str, complex]:
        """Places of the pins with those of the riders and of the valve."""
        found = dict(pins)
        found |= {rider.name: rider.place(found) for rider in self.riders}
        found[steam_side.VALVE] = steam_side.valve_point(self.section, found, lag)
        return found

    def body(self, name: str) -> Body:
        """A body by its name."""
        return next(body for body in self.bodies if body.name == name)

    @cached_property
    def box(self) -> Box:
        """What the drawing takes in every notch all round the wheel: left, low, right, high, mm."""
        return self.extent(body for body in self.bodies if not body.within)

    def extent(self, bodies: Iterable[Body]) -> Box:
        """What some bodies take in every notch all round the wheel: left, low, right, high, mm."""
        low, high = complex(np.inf, np.inf), complex(-np.inf, -np.inf)
        count = next(iter(self.paths.pins.values())).shape[1]
        notches = sorted({0, len(self.paths.notches) - 1, len(self.paths.notches) // 2})
        own = [(body, outer_points(body, Pose(0j, 1 + 0j))) for body in bodies]
        for notch in notches:
            for at in range(0, count, max(1, count // _SEEN)):
                places = self.completed({pin: complex(path[notch, at]) for pin, path in self.paths.pins.items()})
                for body, shape in own:
                    origin, turn = body.follows.place(places)
                    points = origin + turn * shape
                    low = complex(min(low.real, points.real.min()), min(low.imag, points.imag.min()))
                    high = complex(max(high.real, points.real.max()), max(high.imag, points.imag.max()))
        return low.real, low.imag, high.real, high.imag


def outer_points(body: Body, pose: Pose) -> NDArray[np.complex128]:
    """Points between which a body lies, as it stands."""
    return np.concatenate([pose.origin + pose.turn * points for shape in body.shapes for points in _points(shape)])


def _points(shape: Shape) -> Iterator[NDArray[np.complex128]]:
    match shape:
        case Outline():
            yield from shape.rings()
        case Line(points=points):
            yield points
        case Circle(at=at, radius=radius):
            yield np.asarray(at + radius * np.array([1, 1j, -1, -1j]), np.complex128)


def _bodies(paths: Paths, section: Section) -> Iterator[Body]:
    """All bodies, from the hindmost to the foremost: frame and wheel, cylinder, main motion, valve gear."""
    ahead = float((section.centre + section.way * (section.half + COVER * paths.r)).real)
    yield from framing.rail(paths, ahead)
    yield from framing.frame(paths, ahead)
    yield wheelset.wheel(paths)
    yield from framing.sector(paths)
    yield steam_side.cylinder(section)
    yield from steam_side.piston(section)
    yield from crosshead.crosshead(paths, section.cover)
    links = {PART, *(f"{slot.word}{PART}" for slot in paths.gear.slots)}
    loose = {body.name: body for body in chain(rods.rods(paths), rods.plates(paths, links))}
    main = next(name for name, body in loose.items() if body.kind == "main rod")
    yield loose.pop(main)
    yield steam_side.valve(section)
    yield from crosshead.guides(paths)
    yield from _eccentrics(paths, loose)
    yield from _behind_the_link(paths, loose)
    yield from slotted_link.link(paths)
    yield from rods.carried(paths, CROSSHEAD_PIN)
    yield from crosshead.yokes(paths)
    yield from framing.shafts(paths)
    yield from rods.arms(paths)
    yield from loose.values()
    yield from crosshead.swivel_blocks(paths)


def _eccentrics(paths: Paths, loose: dict[str, Body]) -> Iterator[Body]:
    """Each sheave under its own strap, the hindmost first."""
    for sheave in reversed(list(wheelset.sheaves(paths))):
        yield sheave
        pin = next(shape.pin for shape in reversed(sheave.shapes) if isinstance(shape, Circle) and shape.pin)
        for name in [name for name, body in loose.items() if pin in pins_of(body)]:
            yield loose.pop(name)


def _behind_the_link(paths: Paths, loose: dict[str, Body]) -> Iterator[Body]:
    """What the die drives, seen through the slot."""
    for slot in paths.gear.slots:
        for name in [name for name, body in loose.items() if slot.die in pins_of(body)]:
            yield loose.pop(name)


def pins_of(body: Body) -> set[str]:
    """The pins that a body has holes for."""
    return {shape.pin for shape in body.shapes if isinstance(shape, Circle) and shape.pin} | {
        pin for pin in (getattr(body.follows, "a", ""), getattr(body.follows, "b", "")) if pin
    }
