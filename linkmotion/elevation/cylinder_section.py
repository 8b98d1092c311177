"""Where cylinder and steam chest stand.

No dimension of a gear says how long piston rod and spindle are, so they are made such that the chest stands abreast
of the cylinder. Where the spindle's line passes too near the cylinder's for a chest to lie between (the chest is then
beside the cylinder, not over it), the section is drawn clear of it, square to the spindle's line, and a thin line
ties it to the spindle; along the line it stands where it is.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from linkmotion.elevation.body import direction
from linkmotion.elevation.crosshead import ROD_END
from linkmotion.elevation.outlines import Area, Points, number, placed, polygon
from linkmotion.elevation.paths import Paths, plain
from linkmotion.elevation.steam_chest import GLAND, Chest, below_spindle
from linkmotion.elevation.valve_shape import ValveSection
from linkmotion.gears.slots import is_seen
from linkmotion.valve import ENDS

WAYS = dict(zip(ENDS, (1, -1), strict=True))
WALL, COVER = 0.1, 0.14  # thickness of barrel and covers, crank radii
PISTON, FREE = 0.13, 0.05  # half the piston's thickness; between it and a cover
_EYE = 0.2  # of a spindle, with what works on it
BORE, _LEAST_BORE = 1.5, 1.1  # cylinder bore in crank radii, where it is not given


@dataclass(frozen=True, eq=False)
class Section:
    """Where cylinder and chest stand.

    Attributes
    ----------
    paths : Paths
        The gear.
    way, along : complex
        Directions of the cylinder's line and of the spindle's.
    rod, spindle : float
        From the crosshead pin to the middle of the piston, and from the spindle pin to that of the valve, mm.
    chest : Chest
        The chest and the valve in it.
    lift : float
        By how much it is drawn clear of its place, mm; 0 where it stands true.
    middle, bore : float
        Place of the cylinder's middle along its line; its bore, mm.
    """

    paths: Paths
    way: complex
    along: complex
    rod: float
    spindle: float
    chest: Chest
    lift: float
    middle: float
    bore: float

    @classmethod
    def of(cls, paths: Paths) -> Section:
        """From a gear's paths."""
        crank, r = paths.gear.crank, paths.r
        guide = paths.valve_guide
        way, along = direction(number(crank.slope)), direction(number(guide.direction))
        half = cls.half_inside(paths)
        port = float(paths.gear.valve.port_width)
        valve = ValveSection.of(paths.gear.valve, paths.reach, max(0.72 * half, half - 3.0 * port))
        stroke = number(crank.limits[0]) - number(crank.limits[1])
        rod = stroke / 2 + ROD_END * r + 0.06 * r + (GLAND + COVER) * r + half
        rod = max(rod, cls.clear_of_the_gear(paths, way) - (stroke / 2 + number(crank.limits[1])) + COVER * r + half)
        least = Chest(valve, r).back + _EYE * r + paths.reach
        pin = plain(guide.origin) + along * paths.central_at  # the spindle pin with the valve central
        middle = (number(crank.limits[0]) + number(crank.limits[1])) / 2
        abreast = (middle + rod - float((pin / way).real)) / float((along / way).real)
        spindle = max(abreast, least)
        rod += (spindle - abreast) * float((along / way).real)
        off = float(((pin + along * spindle) / way).imag) - number(crank.height)
        between, wide = cls.between(paths, port), bore(paths)
        if (
            paths.given.bore is None and abs(off) - between > _LEAST_BORE * r / 2
        ):  # a smaller one lets the chest lie true
            wide = min(wide, 2 * (abs(off) - between))
        need = wide / 2 + between
        side = -1 if off < -need / 2 else 1
        lift = max(0.0, need - side * off)
        chest = Chest(valve, r, side)
        return cls(paths, way, along, rod, spindle, chest, lift if lift > 1e-6 else 0.0, middle + rod, wide)

    def like(self, paths: Paths) -> Section:
        """The section of another gear with cylinder and ports where they are here, and rod as long as here."""
        crank = paths.gear.crank
        start = min(abs(edge) for edge in self.chest.valve.ports["front"])
        valve = ValveSection.of(paths.gear.valve, self.paths.reach, start=start)
        spindle = self.spindle + self.paths.central_at - paths.central_at
        way, along = direction(number(crank.slope)), direction(number(paths.valve_guide.direction))
        chest = replace(self.chest, valve=replace(valve, far=self.chest.valve.far, middle=self.chest.valve.middle))
        return Section(paths, way, along, self.rod, spindle, chest, self.lift, self.middle, self.bore)

    @staticmethod
    def clear_of_the_gear(paths: Paths, way: complex) -> float:
        """Place along the cylinder's line of the foremost pin beside the cylinder, and room for its eye, mm."""
        level, beside = number(paths.gear.crank.height), bore(paths) / 2 + paths.r
        spindle = paths.names[paths.valve_guide.pin]
        found = [0.0]
        for pin, path in paths.pins.items():
            seen = path / way
            if is_seen(pin) and pin != spindle and float(np.min(np.abs(seen.imag - level))) < beside:
                found.append(float(seen.real.max()) + 0.22 * paths.r)
        return max(found)

    @staticmethod
    def half_inside(paths: Paths) -> float:
        """Half the length between the covers, mm."""
        front, back = (number(limit) for limit in paths.gear.crank.limits)
        return (front - back) / 2 + (PISTON + FREE) * paths.r

    @staticmethod
    def between(paths: Paths, port: float) -> float:
        """From the bore to the spindle's line, at least, for a chest to lie between, mm."""
        passages = (1.0 if paths.gear.valve.admission == "outside" else 0.4) * port
        return (WALL + 0.22) * paths.r + below_spindle(port, paths.r) + passages

    @cached_property
    def half(self) -> float:
        """Half the length between the covers, mm."""
        return self.half_inside(self.paths)

    @cached_property
    def centre(self) -> complex:
        """Middle of the cylinder."""
        return self.way * complex(self.middle, number(self.paths.gear.crank.height))

    @cached_property
    def cover(self) -> float:
        """Place of the back cover's outer face along the cylinder's line, mm."""
        return float((self.centre / self.way).real) - self.half - COVER * self.paths.r

    @cached_property
    def ports_at(self) -> complex:
        """Midway between the ports, on the spindle's line as drawn."""
        pin = plain(self.paths.valve_guide.origin) + self.along * self.paths.central_at
        return pin + self.along * self.chest.own(self.spindle, self.lift)

    def on_frame(self, area: Area) -> Area:
        """An area given from midway between the ports, in the frame's axes."""
        return placed(area, self.ports_at, self.along)

    def on_cylinder(self, area: Area) -> Area:
        """An area given from the middle of the cylinder, in the frame's axes."""
        return placed(area, self.centre, self.way)

    @property
    def mouth(self) -> float:
        """Half the width of a passage where it opens into the cylinder, mm."""
        return min(self.chest.valve.port / 2, 0.075 * self.paths.r)

    def passage(self, end: str) -> Points:
        """Middle line of the steam passage of an end, from the port face into the bore, in the frame's axes."""
        low, high = self.chest.valve.ports[end]
        down = -1j * self.chest.side * self.along
        start = self.ports_at + self.along * self.chest.own((low + high) / 2, -self.chest.face)
        into = -1j * self.chest.side * self.way
        reach = WAYS[end] * (self.half - self.mouth)
        finish = self.centre + self.way * complex(reach, self.chest.side * self.bore / 2)
        pull = 0.55 * abs(finish - start)
        t = np.linspace(0.0, 1.0, 41)
        corners = (start, start + pull * down, finish - pull * into, finish)
        shares = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
        return np.asarray(sum(share * corner for share, corner in zip(shares, corners, strict=True)))

    def passage_area(self, end: str) -> Area:
        """The steam passage: as wide as the port at the face, and square to it there."""
        middle = self.passage(end)
        count = len(middle)
        widths = np.linspace(self.chest.valve.port / 2, self.mouth, count)
        ways = np.gradient(middle)
        square = 1j * ways / np.abs(ways)
        square[0] = self.along * (1 if (square[0] / self.along).real > 0 else -1)
        left, right = middle + widths * square, middle - widths * square
        return polygon([*left, *right[::-1]]).buffer(0)


def bore(paths: Paths) -> float:
    """Cylinder bore as given, or as a cylinder of such a stroke has it, mm."""
    return paths.given.bore or BORE * paths.r
