"""The steam chest and the valve in it, in section: in axes along the spindle, from midway between the ports.

Ports, laps and travel are to scale; the walls, the height of a valve and the like are no dimensions of a gear.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from linkmotion.elevation.body import Along, Body, Fast
from linkmotion.elevation.outlines import (
    EDGE,
    SECTION,
    SPACE,
    Area,
    Line,
    Outline,
    Shape,
    block,
    line,
    placed,
    rounded,
    united,
)
from linkmotion.elevation.valve_shape import ValveSection

GLAND = 0.3  # length of a gland, crank radii
DEPTH = 1.6  # by which ports are drawn below the face where no cylinder is, port widths


@dataclass(frozen=True)
class Chest:
    """A chest with its ports.

    Attributes
    ----------
    valve : ValveSection
        Ports and valve along the spindle.
    r : float
        Crank radius, by which castings are proportioned, mm.
    side : int
        +1 where the cylinder lies below it, −1 above: heights are measured away from the cylinder.
    """

    valve: ValveSection
    r: float
    side: int = 1

    def own(self, x: float, y: float) -> complex:
        """A point so far along the spindle's line and, away from the cylinder, off it."""
        return complex(x, self.side * y)

    def oblong(self, x0: float, y0: float, x1: float, y1: float) -> Area:
        """An oblong in those axes."""
        return block(x0, self.side * y0, x1, self.side * y1)

    @property
    def port(self) -> float:
        """Width of a port, mm."""
        return self.valve.port

    @property
    def face(self) -> float:
        """Depth of the port face below the spindle's line, mm."""
        return below_spindle(self.port, self.r)

    @property
    def top(self) -> float:
        """Height of the inside above the spindle's line, mm."""
        return 1.15 * self.port if self.valve.outside else self.face

    @property
    def wall(self) -> float:
        """Thickness of the walls, mm."""
        return max(0.3 * self.port, 0.07 * self.r)

    @property
    def spindle(self) -> float:
        """Half the spindle's diameter, mm."""
        return min(0.05 * self.r, 0.3 * self.port)

    @property
    def back(self) -> float:
        """From midway between the ports to the back of the gland, mm."""
        return self.valve.far + self.wall + GLAND * self.r

    def room(self) -> Area:
        """The inside."""
        return self.oblong(-self.valve.far, -self.face, self.valve.far, self.top)

    def walls(self) -> Area:
        """The casting about it, solid, with its cover or its steam inlet, and the spindle's gland."""
        far, wall, top = self.valve.far, self.wall, self.top + self.wall
        thick, back, r = self.spindle, self.back, self.r
        gland = [
            block(-back, -thick - 0.08 * r, -far, thick + 0.08 * r),
            block(-back, -thick - 0.13 * r, -back + 0.06 * r, thick + 0.13 * r),
        ]
        shell = self.oblong(-far - wall, -self.face - wall, far + wall, top)
        inlet = self.valve.middle + 0.25 * self.port
        if self.valve.outside:
            above = self.oblong(-far - 1.6 * wall, top - 0.2 * wall, far + 1.6 * wall, top + 0.7 * wall)
        else:
            above = self.oblong(-inlet, 0.0, inlet, top + 0.9 * self.port)
        return united([shell, above, *gland])

    def spindle_hole(self) -> Area:
        """The hole of the spindle."""
        return block(-self.back - 0.1 * self.r, -self.spindle, 0.0, self.spindle)

    def pit(self) -> Area:
        """The exhaust port under the middle of a slide valve; the steam inlet over that of a piston valve."""
        half, one = self.valve.middle, self.port
        if not self.valve.outside:
            return self.oblong(-half, self.top, half, self.top + self.wall + 0.9 * one)
        deep = rounded(self.oblong(-half, -self.face - 1.05 * one, half, -self.face), 0.2 * one)
        return united([deep, self.oblong(-half, -self.face - 0.5 * one, half, -self.face)])

    def belts(self) -> dict[str, Area]:
        """Ports run all round a piston valve: what is cut of them on the far side of its spindle, by end."""
        if self.valve.outside:
            return {}
        high = self.top + 0.55 * self.wall
        return {end: self.oblong(x0, self.top, x1, high) for end, (x0, x1) in self.valve.ports.items()}

    def valve_shapes(self, at: complex) -> Iterator[Shape]:
        """The valve, its middle at a point."""
        for shape in self._slide() if self.valve.outside else self._heads():
            if isinstance(shape, Outline):
                yield Outline(placed(shape.area, at, 1 + 0j), shape.role, shape.space)
            else:
                yield line(*(complex(point) + at for point in shape.points), role=EDGE)

    def _slide(self) -> Iterator[Outline]:
        """A slide valve: its soles over the ports, and the cavity that leads from one port to the exhaust."""
        one, face = self.port, -self.face
        (outer_back, back), (front, outer_front) = self.valve.heads["back"], self.valve.heads["front"]
        low, high = max(outer_back, back - 0.4 * one), min(outer_front, front + 0.4 * one)
        sole = self.oblong(outer_back, face, outer_front, face + 0.45 * one)
        crown = rounded(self.oblong(low, face + 0.5 * one, high, face + 1.85 * one), 0.3 * one)
        body = united([sole, crown, self.oblong(low, face, high, face + 1.2 * one)])
        arch = rounded(self.oblong(back, face + 0.2 * one, front, face + 1.4 * one), 0.3 * one)
        cavity = united([arch, self.oblong(back, face, front, face + 0.6 * one)])
        yield Outline(body.difference(cavity), SECTION)
        yield Outline(cavity, SPACE, "exhaust")

    def _heads(self) -> Iterator[Outline | Line]:
        """A piston valve: two heads, live steam between them."""
        radius, thick = self.face, 1.6 * self.spindle
        (outer_back, back), (front, outer_front) = self.valve.heads["back"], self.valve.heads["front"]
        yield Outline(block(back, -radius, front, radius), SPACE, "steam")
        yield Outline(block(back, -thick, front, thick))
        for low, high in ((outer_back, back), (front, outer_front)):
            yield Outline(block(low, -radius, high, radius), SECTION)
            for x in (low + 0.12 * self.port, high - 0.12 * self.port):
                for way in (-1, 1):
                    yield line(complex(x, way * radius), complex(x, way * 0.8 * radius))


def chest_alone(valve: ValveSection) -> tuple[Body, Body]:
    """A chest by itself, its ports cut off below the face, and the valve, which stands at the pin "valve"."""
    chest = Chest(valve, 5.0 * valve.port)
    wide, deep = valve.far + chest.wall, -chest.face - DEPTH * valve.port
    bed = united([chest.walls(), block(-wide, deep, wide, -chest.face)])
    ports = {end: block(low, deep, high, -chest.face) for end, (low, high) in valve.ports.items()}
    steam, used = ("steam", "exhaust") if valve.outside else ("exhaust", "steam")
    hollow = united([chest.room(), chest.pit(), chest.spindle_hole(), *ports.values()])
    shapes: list[Shape] = [Outline(bed.difference(hollow), SECTION), Outline(chest.room(), SPACE, steam)]
    shapes += [Outline(chest.pit(), SPACE, used), *(Outline(area, SPACE, end) for end, area in ports.items())]
    shapes += [Outline(area, SPACE, end) for end, area in chest.belts().items()]
    outer, inner = valve.heads["back"]
    stop = inner - 0.4 * chest.port if valve.outside else outer
    spindle = Outline(block(-2.0 * chest.back, -chest.spindle, stop, chest.spindle))
    moving = Body("valve", "valve", (spindle, *chest.valve_shapes(0j)), Along("valve"))
    return Body("cylinder", "cylinder", tuple(shapes), Fast()), moving


def below_spindle(port: float, r: float) -> float:
    """From the spindle's line down to the port face, mm."""
    return max(1.15 * port, 0.1 * r)
