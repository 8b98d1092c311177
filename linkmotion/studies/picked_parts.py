"""The rigid parts of a gear as points put on an image see them: which pins stand on each, and by which figures."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.elevation.body import Along, Fast, Follows
from linkmotion.elevation.outlines import number
from linkmotion.elevation.rigid_points import MIDDLE, Figure, figures
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.gears import Gear, Stop
from linkmotion.gears.sensitivity import STEP, Key, declared, numbers, stepped, with_numbers
from linkmotion.gears.slots import is_seen
from linkmotion.linkage.parts import Guide
from linkmotion.measuring.picks import ALONG, FAST, LOOSE, Course, Member, Solid

Real = NDArray[np.float64]
SLOT_POINT = re.compile(r"slot \d+")  # points of the slot's centre line, anywhere along it
SLOT_MIDDLE, SLOT_TOP, SLOT_BOTTOM = "slot middle", "slot top", "slot bottom"  # and where the die pin can reach
LENGTH_LOOSE, ANGLE_LOOSE = 10.0, 60.0  # cranks, degrees: the drawing says nothing
_BEYOND = 1.5  # of a slot's reach, of a guide's length: where a point on it is looked for


@dataclass(frozen=True, eq=False)
class PickedParts:
    """The parts of a gear on which some points lie.

    Attributes
    ----------
    elevation : Elevation
        Of the drawing.
    points : tuple of str
        Those that were put on the image.
    """

    elevation: Elevation
    points: tuple[str, ...]

    @property
    def gear(self) -> Gear:
        """The gear as drawn."""
        return self.elevation.paths.gear

    @property
    def keys(self) -> list[Key]:
        """Every figure of the gear, in the order in which slopes have them."""
        return list(numbers(self.gear))

    @property
    def drawn(self) -> Real:
        """The drawing's figures, mm and degrees."""
        return np.array([number(value) for value in numbers(self.gear).values()])

    @property
    def loose(self) -> Real:
        """How loosely each is held to the drawing's."""
        far = LENGTH_LOOSE * self.elevation.paths.r
        angles = [declared(self.gear, key)["kind"] == "angle" for key in self.keys]
        return np.where(angles, ANGLE_LOOSE, far)

    def solids(self, about: Real) -> list[Solid]:
        """The parts with the gear's figures about some others: those on which enough was put to say anything."""
        gear = with_numbers(self.gear, dict(zip(self.keys, (float(each) for each in about), strict=True)))
        found = list(self._solids(stepped(gear, self.keys)))
        return [solid for solid in found if _tells(solid)]

    def told_by(self, key: Key) -> tuple[str, ...]:
        """The points that tell a figure: those on the rigid parts whose pins move with it.

        Parameters
        ----------
        key : (table, key)
            Of the engine file.
        """
        number, found = self.keys.index(key), list[str]()
        for solid in self.solids(self.drawn):
            moved = [member for member in solid.members if abs(member.slopes[number]) > 0]
            along = [course for course in solid.courses if np.any(np.abs(course.at(course.low)[1][number]) > 0)]
            if solid.held == FAST and moved:
                found += [member.pin for member in moved]
            elif moved or along:
                found += [member.pin for member in solid.members]
            found += [course.pin for course in along]
        return tuple(dict.fromkeys(found))

    def nameable(self) -> list[str]:
        """Pins that can be put on an image, by name."""
        pins = [pin for pin in self.elevation.paths.names if is_seen(pin)]
        slot = [SLOT_MIDDLE, SLOT_TOP, SLOT_BOTTOM, "slot 1", "slot 2", "slot 3"]
        return pins + (slot if self.gear.slot is not None else [])

    def _solids(self, gear: Gear) -> Iterator[Solid]:
        paths, count = self.elevation.paths, len(self.keys)
        setting = paths.settings[0]
        linkage = gear.declare(setting)
        shaft = paths.reversing_arm
        for figure in figures(paths, self.elevation.bodies, gear, linkage, self.keys):
            members = (*self._members(figure), *self._of_slot(figure, gear))
            courses = tuple(self._courses(figure, gear, linkage, count))
            yield Solid(figure.body, members, courses, _held(figure.follows))
            if figure.body == "frame" and shaft is not None:
                yield from self._arm(figure, *shaft)

    def _members(self, figure: Figure) -> Iterator[Member]:
        """Pins of a figure; on the frame those that the reverser does not shift, of a wheel those that keep to it."""
        moving = set(self.elevation.paths.frame_pins) - set(self.elevation.paths.standing)
        if figure.body == "wheel" and sum(isinstance(each, Stop) for each in self.elevation.paths.settings) > 1:
            moving = {point.name for point in figure.points} - {"axle", "crank pin"}
        for point in figure.points:
            if point.pinned and point.name in self.points and (figure.body not in ("frame", "wheel") or
                                                               point.name not in moving):  # fmt: skip
                yield Member(point.name, point.at, point.slopes)

    def _of_slot(self, figure: Figure, gear: Gear) -> Iterator[Member]:
        """Places of the slot that its figures tell: its middle, and the ends of the die pin's reach."""
        if not self._has_slot(figure):
            return
        slot: Any = gear.slot
        at = _slot(slot, len(self.keys))
        for name, place in ((SLOT_MIDDLE, 0.0), (SLOT_TOP, slot.top), (SLOT_BOTTOM, -slot.bottom)):
            if name in self.points:
                yield Member(name, *at(place))

    def _has_slot(self, figure: Figure) -> bool:
        """Whether a figure is the link, with its slot."""
        return self.gear.slot is not None and any(point.name == MIDDLE for point in figure.points)

    def _arm(self, frame: Figure, name: str, shaft: str, end: str) -> Iterator[Solid]:
        """The reversing arm: how far its end stands from its shaft, at whatever angle it is."""
        at = {point.name: point for point in frame.points if point.name in (shaft, end)}
        if {shaft, end} <= set(self.points) and len(at) == 2:
            arm, moved = at[end].at - at[shaft].at, at[end].slopes - at[shaft].slopes
            slopes = (np.conj(arm) / abs(arm) * moved).real.astype(complex)
            members = Member(shaft, 0j, np.zeros_like(slopes)), Member(end, complex(abs(arm)), slopes)
            yield Solid(name, members, (), LOOSE)

    def _courses(self, figure: Figure, gear: Gear, linkage: Any, count: int) -> Iterator[Course]:
        """Guides on the frame; the slot of the link."""
        names = list(linkage.names)
        at = {point.name: point for point in figure.points}
        if figure.body == "frame":
            for guide in (part for part in linkage.parts if isinstance(part, Guide)):
                pin = names[guide.pin]
                start, ahead = at.get(f"{guide.name}, its start"), at.get(f"{guide.name}, ahead")
                if pin in self.points and start is not None and ahead is not None:
                    reach = 6.0 * self.elevation.box[2] / self.elevation.paths.r
                    yield Course(pin, lru_cache(_line(start, ahead)), -reach, reach)
        if self._has_slot(figure):
            slot: Any = gear.slot
            low, high = -_BEYOND * number(slot.bottom), _BEYOND * number(slot.top)
            for pin in self.points:
                if pin == slot.die or SLOT_POINT.fullmatch(pin):
                    yield Course(pin, lru_cache(_slot(slot, count)), low, high)


def _line(start: Any, ahead: Any) -> Callable[[float], tuple[complex, NDArray[np.complex128]]]:
    def at(place: float) -> tuple[complex, NDArray[np.complex128]]:
        return (1 - place) * start.at + place * ahead.at, (1 - place) * start.slopes + place * ahead.slopes

    return at


def _slot(slot: Any, count: int) -> Callable[[Any], tuple[complex, NDArray[np.complex128]]]:
    def at(place: Any) -> tuple[complex, NDArray[np.complex128]]:
        x, y = (np.broadcast_to(np.asarray(each, complex), (count,)) for each in slot.at(place))
        return complex(x[0].real, y[0].real), np.asarray((x.imag + 1j * y.imag) / STEP)

    return at


def _held(follows: Follows) -> str:
    match follows:
        case Fast():
            return FAST
        case Along(turn=turn) if abs(turn - 1) < 1e-12:
            return ALONG
        case _:
            return LOOSE


def _tells(solid: Solid) -> bool:
    """Whether enough was put on a part: on the frame one point, on what is loose or carried two."""
    put = len(solid.members) + len(solid.courses)
    return put >= (1 if solid.held == FAST else 2)


def seen(values: Sequence[float], doubts: Sequence[float], angles: Sequence[bool], crank: float) -> list[bool]:
    """Which figures the image tells: those whose doubt (19 in 20) is less than a fifth of crank or figure, or 10°."""
    return [
        doubt < (_ANGLE if angle else _PART * max(crank, abs(value)))
        for value, doubt, angle in zip(values, doubts, angles, strict=True)
    ]


_ANGLE, _PART = 10.0, 0.2
