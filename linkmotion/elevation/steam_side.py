"""Bodies of cylinder, piston, chest and valve, in section."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from linkmotion.elevation.body import Along, Body, Fast, Places
from linkmotion.elevation.cylinder_section import COVER, PISTON, WALL, Section
from linkmotion.elevation.outlines import (
    SECTION,
    SPACE,
    TIE,
    Area,
    Circle,
    Outline,
    Shape,
    block,
    disc,
    filleted,
    line,
    rounded,
    united,
)
from linkmotion.elevation.rods import BUSH, EYE
from linkmotion.elevation.steam_chest import GLAND
from linkmotion.gears.frame import CROSSHEAD_PIN
from linkmotion.valve import ENDS

BORE_REGION = "bore"
VALVE = "valve"  # where the valve stands: at its spindle pin, but for what play keeps it back


def regions(section: Section) -> dict[str, Area]:
    """Parts of the frame's plane in which a body is seen, by name."""
    return {BORE_REGION: section.on_cylinder(_bore(section))}


def _bore(section: Section) -> Area:
    return block(-section.half, -section.bore / 2, section.half, section.bore / 2)


def cylinder(section: Section) -> Body:
    """Castings cut through, ports, passages and chest, fast on the frame."""
    chest, bore = section.chest, section.on_cylinder(_bore(section))
    passages = {end: section.passage_area(end) for end in ENDS}
    room, pit = section.on_frame(chest.room()), section.on_frame(chest.pit())
    casting = united([section.on_cylinder(_barrel(section)), _saddle(section), section.on_frame(chest.walls())])
    hollow = united([bore, room, pit, *passages.values(), *_rod_holes(section)])
    shapes: list[Shape] = [Outline(filleted(casting, 0.04 * section.paths.r).difference(hollow), SECTION)]
    steam, used = ("steam", "exhaust") if chest.valve.outside else ("exhaust", "steam")
    shapes += [Outline(room, SPACE, steam), Outline(pit, SPACE, used)]
    shapes += [Outline(passages[end], SPACE, end) for end in ENDS]
    shapes += [Outline(section.on_frame(area), SPACE, end) for end, area in chest.belts().items()]
    shapes.append(Outline(bore, SPACE, "back"))
    low = section.centre - 1j * chest.side * section.way * (section.bore / 2 + WALL * section.paths.r)
    return Body("cylinder", "cylinder", tuple(shapes), Fast(), (low, low + section.way * 0.5 * section.half))


def _barrel(section: Section) -> Area:
    """Barrel, covers with their flanges, and the gland of the piston rod."""
    r, half, radius = section.paths.r, section.half, section.bore / 2
    outer = radius + WALL * r
    rod = rod_radius(section)
    flanges = [
        block(way * (half - 0.1 * r), -outer - 0.08 * r, way * (half + COVER * r), outer + 0.08 * r) for way in (-1, 1)
    ]
    gland = block(-half - (COVER + GLAND) * r, -rod - 0.11 * r, -half, rod + 0.11 * r)
    collar = block(-half - (COVER + GLAND) * r, -rod - 0.17 * r, -half - (COVER + GLAND - 0.08) * r, rod + 0.17 * r)
    nose = rounded(block(half, -0.5 * radius, half + (COVER + 0.06) * r, 0.5 * radius), 0.05 * r)
    return united([block(-half, -outer, half, outer), *flanges, gland, collar, nose])


def rod_radius(section: Section) -> float:
    """Half the piston rod's diameter, mm."""
    given = section.paths.given.piston_rod
    return given / 2 if given else 0.1 * section.paths.r


def _rod_holes(section: Section) -> Iterator[Area]:
    r, rod = section.paths.r, rod_radius(section)
    back = section.half + (COVER + GLAND + 0.1) * r
    yield section.on_cylinder(block(-back, -rod, 0.0, rod))
    yield section.on_frame(section.chest.spindle_hole())


def _saddle(section: Section) -> Area:
    """The casting between chest and barrel."""
    r, own = section.paths.r, section.chest
    wide = own.valve.far + own.wall
    corners = [(x, -own.face - y) for x in (-wide, wide) for y in (0.0, own.wall)]
    chest = [section.ports_at + section.along * own.own(*corner) for corner in corners]
    reach, height = section.half - 0.1 * r, own.side * section.bore * 0.3
    foot = [section.centre + section.way * complex(way * reach, height) for way in (-1, 1)]
    return shapely.MultiPoint([(p.real, p.imag) for p in (*chest, *foot)]).convex_hull


def piston(section: Section) -> Iterator[Body]:
    """The piston in its bore, with what is ahead of it, and its rod."""
    r, radius = section.paths.r, section.bore / 2
    follows = Along(CROSSHEAD_PIN, section.way)
    rod = rod_radius(section)
    head = rounded(block(section.rod - PISTON * r, -radius, section.rod + PISTON * r, radius), 0.02 * r)
    rings = [
        line(complex(section.rod + x * r, side * radius), complex(section.rod + x * r, side * (radius - 0.07 * r)))
        for x in (-0.06, 0.06)
        for side in (-1, 1)
    ]
    ahead = block(section.rod, -radius, section.rod + 2 * section.half + r, radius)
    shapes: tuple[Shape, ...] = (Outline(ahead, SPACE, "front"), Outline(head, SECTION), *rings)
    yield Body("piston", "piston", shapes, follows, (complex(section.rod, 0.5 * radius),), BORE_REGION)
    bar = block(0.5 * r, -rod, section.rod - PISTON * r, rod)
    yield Body("piston rod", "piston rod", (Outline(bar),), follows, (complex(section.rod * 0.5),))


def valve(section: Section) -> Body:
    """The valve on its spindle, its own x axis along the spindle from its pin."""
    chest = section.chest
    at = chest.own(section.spindle, section.lift)
    shapes = [*_spindle(section, at), *chest.valve_shapes(at)]
    shapes += [Outline(disc(0j, EYE * section.paths.r)), Circle(0j, BUSH * section.paths.r)]
    spine = (at + chest.own(0.0, 0.6 * chest.port), at)
    return Body(VALVE, "valve", tuple(shapes), Along(VALVE, section.along), spine)


def _spindle(section: Section, at: complex) -> Iterator[Shape]:
    """The spindle, or as much of it as its pin carries and a thin line from there to where the section is drawn."""
    r, chest, thick = section.paths.r, section.chest, section.chest.spindle
    outer, inner = chest.valve.heads["back"]
    stop = at.real + (inner - 0.4 * chest.port if chest.valve.outside else outer)
    if not section.lift:
        yield Outline(block(0.0, -thick, stop, thick))
        return
    room = at.real - chest.back - section.paths.reach - 0.25 * r
    pin = float(((section.ports_at - section.along * at) / section.way).real)
    stub = max(min(room, max(1.2 * r, section.cover - pin - section.paths.reach - 0.15 * r)), 0.45 * r)
    yield Outline(block(0.0, -thick, stub, thick))
    broken = ((0.0, 2.0), (0.4, 0.7), (-0.4, -0.7), (0.0, -2.0))
    yield line(*(complex(stub + x * thick, y * thick) for x, y in broken))
    yield Outline(block(stub, at.imag - thick, stop, at.imag + thick))
    yield line(complex(stub, chest.side * 2 * thick), complex(stub, at.imag), role=TIE)


def valve_point(section: Section, places: Places, lag: float = 0.0) -> complex:
    """Where the valve stands: its spindle pin, moved along by what play keeps it back, mm."""
    return places[section.paths.names[section.paths.valve_guide.pin]] + lag * section.along
