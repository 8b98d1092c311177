"""Where each dimension of a gear lies in the drawing: its two ends on the bodies, by what the linkage says of its key.

A key of a length lies between two points of one rigid figure, P and Q, if moving the key by 1 mm moves Q from P by 1 mm
in one direction v, and Q stands just the key's figure from P along v:

    |dD/dk| = 1  and  Re(D conj(v)) = k,     D = Q − P,  v = dD/dk

or, where both go round one another too, if ``|D| = k`` and ``d|D|/dk = ±1``. A key of an angle turns D by one degree
for each degree, ``Im(v / D) = ±π/180``, from a line of the same figure. What the linkage does not hold (laps and ports,
the run of a slot) is marked so on the key.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.elevation.body import Pose
from linkmotion.elevation.outlines import number
from linkmotion.elevation.paths import plain
from linkmotion.elevation.rigid_points import MIDDLE, Figure, Point, figures
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.elevation.slotted_link import name_of
from linkmotion.elevation.steam_side import VALVE
from linkmotion.gears import Arm, Stop
from linkmotion.gears.frame import CRANK
from linkmotion.gears.keys import TOWARD
from linkmotion.gears.letters import letters
from linkmotion.gears.sensitivity import Key, declared, numbers, stepped
from linkmotion.gears.slots import CurvedSlot
from linkmotion.valve import ENDS

DISTANCE, OFFSET, ANGLE, RADIUS, ALONG = "distance", "offset", "angle", "radius", "along the slot"
NOTCHES: Key = ("reversing", "notches")
_NEAR = 1e-9  # of a figure, in which it must stand
_RADIAN = np.pi / 180


@dataclass(frozen=True)
class DimensionMark:
    """Where a dimension lies.

    Attributes
    ----------
    key : (table, key)
        Of the engine file.
    letter : str
        As on sheets and in the file's comments.
    body : str
        Name of the body of the drawing to which it belongs.
    kind : str
        DISTANCE between two pins, OFFSET from what stands abreast of it, RADIUS, ALONG the slot, ANGLE.
    start, end : complex
        Its ends, mm in the frame. Of an angle: where its two sides end. Of a radius: the ends of its arc.
    centre : complex or None
        Of an angle, a radius, or a curved slot's run.
    abreast : complex or None
        What the start of an OFFSET stands abreast of, where that is another place.
    turned : float
        Of an angle: from start to end, degrees, + anticlockwise (so it is seen which way round it is told).
    """

    key: Key
    letter: str
    body: str
    kind: str
    start: complex
    end: complex
    centre: complex | None = None
    abreast: complex | None = None
    turned: float = 0.0

    @property
    def size(self) -> float:
        """The dimension as it lies, mm or degrees, without its sign."""
        if self.kind == ANGLE:
            assert self.centre is not None
            within = abs(float(np.degrees(np.angle((self.end - self.centre) / (self.start - self.centre)))))
            return 360.0 - within if abs(self.turned) > 180 else within
        if self.kind == RADIUS:
            assert self.centre is not None
            return abs(self.end - self.centre)
        if self.centre is not None:
            turned = np.angle((self.end - self.centre) / (self.start - self.centre))
            return float(abs(self.end - self.centre) * abs(turned))
        return abs(self.end - self.start)


def dimension_marks(elevation: Elevation, places: Mapping[str, complex], notch: int) -> tuple[DimensionMark, ...]:
    """The marks of every dimension that is given and can be seen, in the order of their letters.

    Parameters
    ----------
    elevation : Elevation
        The drawing.
    places : dict
        Where every pin stands (:meth:`Elevation.places`).
    notch : int
        Number of the notch in which it stands.
    """
    drawing = _Drawing.of(elevation, places, notch)
    found = {mark.key: mark for mark in drawing.marks()}
    return tuple(found[key] for key in letters(type(elevation.paths.gear)) if key in found)


@dataclass(frozen=True, eq=False)
class _Drawing:
    """A drawing at one moment, with the figures that its gear's keys are looked for in."""

    elevation: Elevation
    places: Mapping[str, complex]
    notch: int
    values: dict[Key, float]
    figures: list[Figure]

    @classmethod
    def of(cls, elevation: Elevation, places: Mapping[str, complex], notch: int) -> _Drawing:
        paths = elevation.paths
        keys = list(numbers(paths.gear))
        gear = stepped(paths.gear, keys)
        found: list[Figure] = []
        settings = [paths.settings[notch], *(each for each in gear.notches.values() if isinstance(each, Stop))]
        for setting in settings:  # an eccentric's angle is told by its stop
            found += figures(paths, elevation.bodies, gear, gear.declare(setting), keys)
        return cls(elevation, places, notch, {key: number(value) for key, value in numbers(paths.gear).items()}, found)

    def marks(self) -> Iterator[DimensionMark]:
        gear = self.elevation.paths.gear
        for at, (key, value) in enumerate(self.values.items()):
            said = declared(gear, key)
            if "edge" in said:
                yield from self._edges(key, *said["edge"])
            elif said.get("slot") in ("radius", "top", "bottom", "lean"):
                yield from self._of_slot(key, said["slot"], value)
            elif said["kind"] == "angle":
                yield from self._angle(key, at, value)
            else:
                yield from self._length(key, at, value, said.get("pin"))
        yield from self._arm()

    def _mark(self, key: Key, body: str, kind: str, start: complex, end: complex, **more: Any) -> DimensionMark:
        letter = letters(type(self.elevation.paths.gear))[key]
        return DimensionMark(key, letter, body, kind, complex(start), complex(end), **more)

    # ---- lengths -----------------------------------------------------------------------------------------------------

    def _length(self, key: Key, at: int, value: float, pin: tuple[str, str] | None) -> Iterator[DimensionMark]:
        fits = [fit for figure in self.figures for fit in _fits(figure, at, value, pin)]
        if not fits:
            return
        _rank, figure, p, q, way = min(fits, key=lambda fit: fit[0])
        pose = figure.follows.place(self.places)
        body = self._body(figure, p, q)
        if way is None:
            yield self._mark(key, body, DISTANCE, _at(pose, p.at), _at(pose, q.at))
            return
        start = q.at - way * ((q.at - p.at) * np.conj(way)).real
        other = None if abs(start - p.at) <= _NEAR * (1 + abs(p.at)) else _at(pose, p.at)
        yield self._mark(key, body, OFFSET, _at(pose, start), _at(pose, q.at), abreast=other)

    def _body(self, figure: Figure, p: Point, q: Point) -> str:
        """The arm between two pins of frame or wheel, or on the second; else what shows the figure."""
        if figure.body not in ("frame", "wheel"):
            return figure.body
        shown = {body.name for body in self.elevation.bodies}
        for name, start, end in self.elevation.paths.gear.arms:
            if {start, end} == {p.name, q.name} or (figure.body == "wheel" and end == q.name and name != CRANK[0]):
                return name if name in shown else figure.body
        return figure.body

    # ---- angles ------------------------------------------------------------------------------------------------------

    def _angle(self, key: Key, at: int, value: float) -> Iterator[DimensionMark]:
        for figure in self.figures:
            for p, q in _pairs(figure):
                arm, moved = q.at - p.at, q.slopes[at] - p.slopes[at]
                if abs(arm) < _NEAR or abs(p.slopes[at]) > _NEAR:
                    continue
                turning = (moved / arm).imag / _RADIAN
                if abs(abs(turning) - 1) > _NEAR:
                    continue
                turned = float(np.sign(turning)) * value
                base = _base(figure, p, arm * np.exp(-1j * turned * _RADIAN))
                if base is None:
                    continue
                pose = figure.follows.place(self.places)
                start, end, centre = (_at(pose, each) for each in (base, q.at, p.at))
                yield self._mark(key, self._body(figure, p, q), ANGLE, start, end, centre=centre, turned=turned)
                return

    def _arm(self) -> Iterator[DimensionMark]:
        """The angle at which the reversing arm stands: a notch's."""
        paths, setting = self.elevation.paths, self.elevation.paths.settings[self.notch]
        if paths.reversing_arm is not None and isinstance(setting, Arm):
            name, shaft, pin = paths.reversing_arm
            centre, end = self.places[shaft], self.places[pin]
            turned = number(setting.angle)
            yield self._mark(NOTCHES, name, ANGLE, centre + abs(end - centre), end, centre=centre, turned=turned)

    # ---- slot and valve ----------------------------------------------------------------------------------------------

    def _of_slot(self, key: Key, what: str, value: float) -> Iterator[DimensionMark]:
        slots = self.elevation.paths.gear.slots
        slot = next((each for each in slots if key[0].startswith(each.word.strip())), None)
        link = next((body for body in self.elevation.bodies if slot is not None and body.name == name_of(slot)), None)
        if slot is None or link is None:
            return
        pose = link.follows.place(self.places)
        bottom, middle, top = (_at(pose, plain(slot.at(place))) for place in (-slot.bottom, 0.0, slot.top))
        centre = _at(pose, plain(slot.centre)) if isinstance(slot, CurvedSlot) else None
        if what == "radius":
            yield self._mark(key, link.name, RADIUS, bottom, top, centre=centre)
        elif what in ("top", "bottom"):
            yield self._mark(key, link.name, ALONG, middle, top if what == "top" else bottom, centre=centre)
        else:  # what leans from where it would lie without
            along = 1j * number(slot.top) * pose.turn
            upright = along * np.exp(-1j * value * _RADIAN)
            yield self._mark(key, link.name, ANGLE, middle + upright, middle + along, centre=middle, turned=value)

    def _edges(self, key: Key, which: str, end: str) -> Iterator[DimensionMark]:
        """A port's width, on the face; or a lap, on the valve: that of both ends where an end has none of its own."""
        section, valve = self.elevation.section, self.elevation.paths.gear.valve
        chest, along = section.chest, section.along
        if which == "port":
            low, high = (section.ports_at + along * chest.own(x, -chest.face) for x in chest.valve.ports[end])
            yield self._mark(key, "cylinder", DISTANCE, low, high)
            return
        ends = [end] if end else [each for each in ENDS if getattr(valve, f"{which}_lap_{each}") is None]
        for each in ends[:1]:
            edges = chest.valve.steam_edges(each) if which == "steam" else chest.valve.exhaust_edges(each)
            low, high = (along * chest.own(section.spindle + x, section.lift - chest.face) for x in edges)
            yield self._mark(key, VALVE, OFFSET, self.places[VALVE] + low, self.places[VALVE] + high)


def _fits(figure: Figure, at: int, value: float, pin: tuple[str, str] | None) -> Iterator[tuple[Any, ...]]:
    """Pairs of points between which a length lies: rank, figure, both points, and the way along which it is, if any.

    The rank: pins before other places, lengths from pin to pin before those along an axis, first what does not move.
    """
    near = _NEAR * (1 + abs(value))
    for count, (p, q) in enumerate(_pairs(figure)):
        apart, moved = q.at - p.at, q.slopes[at] - p.slopes[at]
        if pin is not None and abs(moved) < _NEAR and q.name == pin[0] and figure.points[-1].name == MIDDLE:
            moved = TOWARD[pin[1]]  # two keys of the link name one pin's place: either could be the one that moves it
        if abs(moved) < _NEAR:
            continue
        straight = p.pinned and q.pinned and abs(apart) > near and abs(abs(apart) - abs(value)) < near
        if straight and abs(abs((apart * np.conj(moved)).real / abs(apart)) - 1) < _NEAR:
            yield (0, abs(p.slopes[at]) > _NEAR, count), figure, p, q, None
        elif abs(abs(moved) - 1) < _NEAR and abs((apart * np.conj(moved)).real - value) < near:
            yield (1, abs(p.slopes[at]) > _NEAR, count), figure, p, q, moved


def _pairs(figure: Figure) -> Iterator[tuple[Point, Point]]:
    return ((p, q) for p in figure.points for q in figure.points if p is not q)


def _base(figure: Figure, p: Point, wanted: complex) -> complex | None:
    """A place on the line, through a point of a figure, from which an angle is told: another point's, or an axis'."""
    way = wanted / abs(wanted)
    lines = [point.at - p.at for point in figure.points if point is not p and abs(point.at - p.at) > _NEAR]
    for line in (*lines, 1 + 0j, 1j, -1 + 0j, -1j):
        for side in (1, -1):
            if abs(side * line / abs(line) - way) < _NEAR:
                return p.at + side * line / abs(line) * abs(wanted)
    return None


def _at(pose: Pose, point: complex) -> complex:
    return complex(pose.origin + pose.turn * point)
